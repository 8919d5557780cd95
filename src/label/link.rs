//! GS1 Digital Link: a web address that carries a device identifier.
//!
//! Invariant: a link is data and is never opened.
//!
//! Source: @gs1-digital-link.

use super::carrier::{Ch, text_of};
use super::gs1_elements::Elements;
use super::gs1_table;
use super::symbol::{not_a_label, personal_data, refuse};
use super::{LabelCode, Refusal};

pub(super) fn is_link(text: &str) -> bool {
    scheme(text).is_some()
}

/// The length of the scheme and its slashes.
fn scheme(text: &str) -> Option<usize> {
    ["https://", "http://"]
        .into_iter()
        .find(|s| text.get(..s.len()).is_some_and(|head| head.eq_ignore_ascii_case(s)))
        .map(str::len)
}

/// Reads an address: `scheme://host[/stem]/01/GTIN[/22/…][/10/…][/21/…][?17=…]`.
///
/// # Errors
/// A person's data, and `not-a-label` for an address that names no product.
pub(super) fn read(chars: &[Ch], end: usize, year: i32) -> Result<Elements, Refusal> {
    let start = chars.first().map_or(0, |ch| ch.at);
    let from = scheme(&text_of(chars)).ok_or_else(|| not_a_label(start))?;
    let no_fragment = before(&chars[from..], '#');
    let address = before(no_fragment, '?');
    let query = no_fragment.get(address.len() + 1..).unwrap_or(&[]);
    let mut path = address.split(|ch| ch.c == '/');
    if path.next().is_none_or(<[Ch]>::is_empty) {
        return Err(not_a_label(start));
    }
    let path: Vec<&[Ch]> = path.collect();
    let names: Vec<String> = path.iter().map(|piece| text_of(piece)).collect();
    let words: Vec<(String, &[Ch], usize)> = query
        .split(|ch| ch.c == '&' || ch.c == ';')
        .filter_map(|word| {
            let key = before(word, '=');
            Some((text_of(key), word.get(key.len() + 1..).unwrap_or(&[]), key.first()?.at))
        })
        .collect();
    let personal = |name: &String| gs1_table::find(name).is_some_and(gs1_table::Ai::personal);
    // A value may look like such an identifier; one that is followed by a value is taken for one.
    let key_places = first_key(&names).map_or(0, |key| key % 2);
    if names.iter().enumerate().any(|(i, name)| i % 2 == key_places && i + 1 < names.len() && personal(name))
        || words.iter().any(|(key, _, _)| personal(key))
    {
        return Err(personal_data());
    }
    let mut all = Elements::default();
    let Some(key) = first_key(&names) else {
        if names.iter().any(|name| name.eq_ignore_ascii_case("gtin")) {
            all.fail(unknown(start));
            return Ok(all);
        }
        return Err(not_a_label(start));
    };
    let mut order: &[&str] = &["22", "10", "21", "235"];
    let mut at = key;
    while at < path.len() {
        let place = path[at].first().map_or(end, |ch| ch.at);
        // A slash behind the last value.
        if names[at].is_empty() && at + 1 == path.len() && at > key {
            break;
        }
        if at > key {
            match order.iter().position(|code| *code == names[at]) {
                Some(next) => order = if names[at] == "235" { &[] } else { &order[next + 1..] },
                None => {
                    all.fail(unknown(place));
                    break;
                }
            }
            if names[at] == "235" && at > key + 2 {
                all.fail(unknown(place));
                break;
            }
            if names[at] != "235" {
                order = order.strip_suffix(&["235"]).unwrap_or(order);
            }
        }
        let Some(ai) = gs1_table::find(&names[at]) else {
            all.fail(unknown(place));
            break;
        };
        let raw = path.get(at + 1).copied().unwrap_or(&[]);
        let behind = raw.last().map_or(end, |ch| ch.at + 1);
        all.take(ai, place, &decoded(raw, false), behind, year);
        at += 2;
    }
    for (key, raw, place) in words {
        if key.is_empty() || !key.bytes().all(|b| b.is_ascii_digit()) {
            continue;
        }
        let Some(ai) = gs1_table::find(&key) else {
            all.fail(unknown(place));
            continue;
        };
        let behind = raw.last().map_or(end, |ch| ch.at + 1);
        all.take(ai, place, &decoded(raw, true), behind, year);
    }
    Ok(all)
}

/// Where `01` and its number stand: before fourteen digits if possible, else wherever something follows.
fn first_key(names: &[String]) -> Option<usize> {
    let followed =
        |accept: fn(&str) -> bool| names.windows(2).position(|pair| pair[0] == "01" && accept(&pair[1]));
    followed(|value| value.len() == 14 && value.bytes().all(|b| b.is_ascii_digit()))
        .or_else(|| followed(|_| true))
        .or_else(|| names.last().filter(|name| *name == "01").map(|_| names.len() - 1))
}

fn before(chars: &[Ch], stop: char) -> &[Ch] {
    let at = chars.iter().position(|ch| ch.c == stop).unwrap_or(chars.len());
    &chars[..at]
}

fn unknown(at: usize) -> Refusal {
    refuse(
        LabelCode::UnknownAi,
        at,
        format!(
            "At byte {at} this link has no identifier that belongs there: type the printed text of the label."
        ),
    )
}

/// Takes the percent signs out. What they hide beyond ASCII, or a percent sign without two digits behind it,
/// becomes U+FFFD, which no field holds. `+` is a plus in a path, a space in a query.
fn decoded(chars: &[Ch], query: bool) -> Vec<Ch> {
    let mut clean = Vec::new();
    let mut rest = chars;
    while let Some((first, behind)) = rest.split_first() {
        rest = behind;
        let mut c = first.c;
        if c == '%' {
            let digit = |at: usize| behind.get(at).and_then(|ch| ch.c.to_digit(16));
            c = '\u{fffd}';
            if let (Some(high), Some(low)) = (digit(0), digit(1)) {
                rest = &behind[2..];
                c = char::from_u32(high * 16 + low).filter(char::is_ascii).unwrap_or(c);
            }
        } else if c == '+' && query {
            c = ' ';
        }
        clean.push(Ch { c, at: first.at });
    }
    clean
}

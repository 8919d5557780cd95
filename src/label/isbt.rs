//! ISBT 128: structures of fixed length, one behind the other, in any order.
//!
//! Invariant: no separators and no check character are inside.
//!
//! Sources: @imdrf-udi-guide, @isbt-identifiers.

use super::carrier::{Ch, text_of, trim};
use super::symbol::{Symbol, bad_charset, not_a_label, personal_data, refuse};
use super::{LabelCode, Refusal, System, dates, place};
use crate::udi::DeviceId;

/// Reads one segment that begins with `=` or `&`. The flag says that small letters were raised.
///
/// # Errors
/// A person's data. Every other fault is in the symbol.
pub(super) fn read(chars: &[Ch], end: usize) -> Result<(Symbol, bool), Refusal> {
    let lower = chars.iter().any(|ch| ch.c.is_ascii_lowercase());
    let text: Vec<Ch> = trim(chars).iter().map(|ch| Ch { c: ch.c.to_ascii_uppercase(), at: ch.at }).collect();
    // `#` stands nowhere else in these labels, so this finds a patient's data behind any fault.
    let opens = |ch: &Ch| ch.c == '=' || ch.c == '&';
    if text.windows(2).any(|pair| opens(&pair[0]) && pair[1].c == '#') {
        return Err(personal_data());
    }
    let mut symbol = Symbol::new(System::Isbt128);
    symbol.printed = text_of(&text);
    let mut rest = text.as_slice();
    while let Some(first) = rest.first() {
        let Some((id, skip, length)) = structure(rest) else {
            symbol.fail(refuse(
                LabelCode::UnknownAi,
                first.at,
                format!("At byte {} there is no ISBT 128 identifier that is known: scan again.", first.at),
            ));
            break;
        };
        let body = &rest[skip..];
        let taken = &body[..length.min(body.len())];
        let dated = id.ends_with(['>', '}']) || id == "=+";
        let fits = |ch: &Ch| ch.c.is_ascii_digit() || (!dated && ch.c.is_ascii_uppercase());
        if let Some(bad) = taken.iter().find(|ch| !fits(ch)) {
            symbol.fail(if opens(bad) {
                truncated(id, bad.at)
            } else {
                bad_charset(&place::isbt(id), bad.at)
            });
            break;
        }
        if taken.len() < length {
            symbol.fail(truncated(id, end));
            break;
        }
        take(&mut symbol, id, &text_of(taken), first.at);
        rest = &body[length..];
    }
    Ok((symbol, lower))
}

fn truncated(id: &str, at: usize) -> Refusal {
    let name = place::first_word(&place::isbt(id));
    refuse(
        LabelCode::Truncated,
        at,
        format!("{name} is cut short at byte {at}: scan again, or type the printed text."),
    )
}

/// The identifier with which these characters begin, how many of them to skip, and the length of the data.
fn structure(chars: &[Ch]) -> Option<(&'static str, usize, usize)> {
    let pair: String = text_of(chars.get(..2)?);
    Some(match pair.as_str() {
        "=/" => ("=/", 2, 16),
        "=," => ("=,", 2, 6),
        "=>" => ("=>", 2, 6),
        "=}" => ("=}", 2, 6),
        "&>" => ("&>", 2, 10),
        "&}" => ("&}", 2, 10),
        "=)" => ("=)", 2, 10),
        "&)" => ("&)", 2, 10),
        "=+" => ("=+", 2, 5),
        "&," if chars.get(2).is_some_and(|ch| ch.c == '1') => ("&,1", 3, 18),
        // The donation number: its first character is part of the number.
        _ if pair.starts_with('=')
            && pair.ends_with(|c: char| matches!(c, 'A'..='N' | 'P'..='Z' | '1'..='9')) =>
        {
            ("=", 1, 15)
        }
        _ => return None,
    })
}

fn take(symbol: &mut Symbol, id: &str, value: &str, at: usize) {
    symbol.field(id, value);
    // One name for what two structures can say, and the day alone of a date with its time: these may not differ.
    let (what, claimed) = match id {
        "=/" => ("device identifier", value),
        "&,1" | "&)" => ("lot", value),
        "=>" | "&>" => ("use-by date", &value[..6]),
        "=}" | "&}" => ("date made", &value[..6]),
        _ => (id, value),
    };
    symbol.claim(what, claimed, at);
    match id {
        "=/" => match DeviceId::parse(value) {
            Ok(di) => symbol.di = Some(di),
            Err(_) => symbol.fail(not_a_label(at)),
        },
        "=," => symbol.serial = Some(value.into()),
        "&,1" | "&)" => symbol.lot = Some(value.into()),
        "=>" | "&>" | "=}" | "&}" => {
            // Digits only, so bytes are characters.
            let (day, time) = value.split_at(6);
            let date = dates::cyyjjj(day).filter(|_| time.is_empty() || dates::is_time(time));
            if date.is_none() {
                symbol.bad_date(&place::isbt(id));
            }
            if id.ends_with('>') {
                symbol.use_by = date;
            } else {
                symbol.made = date;
            }
        }
        _ => {}
    }
}

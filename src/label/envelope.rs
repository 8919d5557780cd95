//! The envelope of @iso-15434: `[)>` RS, a format, its fields, RS EOT. Format 05 carries GS1 identifiers, 06 data identifiers.
//!
//! Invariant: takes the envelope off; format 05 is then read as GS1.

use super::carrier::{Ch, GS, text_of};
use super::symbol::{Symbol, bad_charset, cut_short, empty, refuse};
use super::{LabelCode, PossibleReading, Refusal, System, dates, place};

const RS: char = '\x1e';

pub(super) fn is_envelope(text: &str) -> bool {
    text.starts_with("[)>")
}

pub(super) enum Inside {
    Gs1(Vec<Ch>),
    DataIdentifiers(Vec<Ch>),
}

/// Takes the envelope off. A keyboard may drop RS and EOT: then the format digits behind `[)>` tell. Where the
/// first RS came through, the closing one must have come too.
///
/// # Errors
/// `truncated`, or `unknown-ai` for another format.
pub(super) fn open(chars: &[Ch], end: usize) -> Result<Inside, Refusal> {
    let mut rest = &chars[3..];
    let with_rs = rest.first().is_some_and(|ch| ch.c == RS);
    if with_rs {
        rest = &rest[1..];
    }
    let format = text_of(&rest[..rest.len().min(2)]);
    let place = rest.first().map_or(end, |ch| ch.at);
    let cut = || {
        let message = format!("The envelope of this label is not closed at byte {end}: scan again.");
        refuse(LabelCode::Truncated, end, message)
    };
    if format.len() < 2 {
        return Err(cut());
    }
    if format != "05" && format != "06" {
        let unknown = "The envelope of this label has a format that is not known";
        let message = format!("{unknown}, at byte {place}: type the printed text.");
        return Err(refuse(LabelCode::UnknownAi, place, message));
    }
    let mut body = &rest[2..];
    let closed = body.iter().position(|ch| ch.c == RS);
    if with_rs && closed.is_none() {
        return Err(cut());
    }
    if let Some(closed) = closed {
        if let Some(over) = body.get(closed + 1) {
            let message =
                format!("A second part follows in the envelope at byte {}: scan one box at a time.", over.at);
            return Err(refuse(LabelCode::UnknownAi, over.at, message));
        }
        body = &body[..closed];
    }
    Ok(if format == "05" { Inside::Gs1(body.to_vec()) } else { Inside::DataIdentifiers(body.to_vec()) })
}

/// Format 06: `1T` lot, `S` serial, `14D` use-by, `16D` made, `Q` quantity. No device identifier is there.
pub(super) fn data_identifiers(chars: &[Ch], end: usize, separators: bool) -> Symbol {
    let mut symbol = Symbol::new(System::Hibc);
    let mut fields = chars.split(|ch| ch.c == GS).filter(|field| !field.is_empty()).peekable();
    if fields.peek().is_none() {
        let message = format!("The envelope of this label is empty at byte {end}: scan again.");
        symbol.fail(refuse(LabelCode::Truncated, end, message));
    }
    let whole = !separators && !chars.iter().any(|ch| ch.c == GS);
    for field in fields {
        let text = text_of(field);
        let at = field[0].at;
        let Some(id) = ["14D", "16D", "1T", "S", "Q"].into_iter().find(|id| text.starts_with(id)) else {
            let message =
                format!("At byte {at} there is no data identifier that is known: type the printed text.");
            symbol.fail(refuse(LabelCode::UnknownAi, at, message));
            return symbol;
        };
        let value = &field[id.len()..];
        let behind = field.last().map_or(end, |ch| ch.at + 1);
        if whole && value.iter().skip(1).any(|ch| ch.c == 'S' || ch.c == 'Q' || ch.c == 'D' || ch.c == 'T') {
            symbol.readings = vec![PossibleReading { fields: vec![(id.into(), text_of(value))] }];
            return symbol;
        }
        take(&mut symbol, id, value, at, behind);
    }
    symbol
}

fn take(symbol: &mut Symbol, id: &str, value: &[Ch], at: usize, end: usize) {
    let what = match id {
        "1T" => "lot",
        "S" => "serial",
        "14D" => "use-by date",
        "16D" => "date made",
        _ => "quantity",
    };
    let place = format!("the {what} ({id})");
    let name = place::first_word(&place);
    let digits = id != "1T" && id != "S";
    let fits = |ch: &Ch| ch.c.is_ascii_digit() || (!digits && ch.c.is_ascii_uppercase());
    let greatest = if id.ends_with('D') { 8 } else { 18 };
    if let Some(bad) = value.iter().take(greatest).find(|ch| !fits(ch)) {
        return symbol.fail(bad_charset(&place, bad.at));
    }
    if value.is_empty() {
        return symbol.fail(empty(&place, end));
    }
    if let Some(over) = value.get(greatest) {
        let message = format!("{name} is too long at byte {}: scan again.", over.at);
        return symbol.fail(refuse(LabelCode::TooLong, over.at, message));
    }
    if id.ends_with('D') && value.len() < 8 {
        return symbol.fail(cut_short(&place, end));
    }
    let text = text_of(value);
    match id {
        "1T" => symbol.lot = Some(text.clone()),
        "S" => symbol.serial = Some(text.clone()),
        "14D" => symbol.use_by = dates::yyyymmdd(&text),
        "16D" => symbol.made = dates::yyyymmdd(&text),
        _ => {}
    }
    if id.ends_with('D') && dates::yyyymmdd(&text).is_none() {
        symbol.bad_date(&place);
    }
    let claimed = match (what, symbol.use_by) {
        ("use-by date", Some(date)) => date.to_string(),
        _ => text.clone(),
    };
    symbol.claim(what, &claimed, at);
    symbol.field(id, &text);
    symbol.printed.push_str(&format!("{id}{text} "));
}

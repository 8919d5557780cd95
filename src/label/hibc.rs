//! HIBC: primary, secondary, both in one symbol, and the symbols of a burst without terminators.
//!
//! Invariant: the check character is tried before anything is trimmed or split, for it can be a space, `/`, `+`,
//! `$` or `%`.
//!
//! Sources: @hibc-structures, @hibc-examples, @imdrf-udi-guide.

use super::carrier::{Ch, text_of, trim};
use super::hibc_data;
use super::symbol::{Symbol, bad_charset, cut_short, not_a_label, personal_data, refuse};
use super::{LabelCode, Refusal, System};
use crate::udi::{DeviceId, mod43_check};

/// `+`, a labeler of four, a product of one, a unit and the check.
const SHORTEST: usize = 8;

/// The first four characters behind `+`.
const LABELER: &str = "the labeler code behind the +";

/// What follows them, up to the unit.
const PRODUCT: &str = "the product number";

/// Longer than several symbols of the greatest length together.
const LONGEST: usize = 512;

/// Reads one segment that begins with `+` or with a printed star before it; it can hold several symbols.
/// The flag says that small letters were raised.
///
/// # Errors
/// A person's data. Every other fault is in the symbol.
pub(super) fn read(chars: &[Ch], end: usize, year: i32) -> Result<(Vec<Symbol>, bool), Refusal> {
    let lower = chars.iter().any(|ch| ch.c.is_ascii_lowercase());
    let mut text: Vec<Ch> = chars
        .iter()
        .map(|ch| Ch { c: if ch.c == '_' { ' ' } else { ch.c.to_ascii_uppercase() }, at: ch.at })
        .collect();
    strip_stars(&mut text);
    if is_provider(&text) {
        return Err(personal_data());
    }
    if text.len() > LONGEST {
        let at = text.first().map_or(end, |ch| ch.at);
        return Ok((vec![Symbol::failed(System::Hibc, not_a_label(at))], lower));
    }
    // The check can be a space, so one space is tried first; more spaces, or one that makes no check hold, go.
    let drawn = text.iter().rposition(|ch| ch.c != ' ').map_or(0, |at| at + 1);
    let mut tries = vec![text[..drawn].to_vec()];
    if drawn < text.len() {
        tries.insert(0, text[..=drawn].to_vec());
    }
    let mut first_fault: Option<Vec<Symbol>> = None;
    for attempt in &tries {
        let mut steps = 0;
        match parts(attempt, year, &mut steps) {
            Some(Split::Personal) => return Err(personal_data()),
            Some(Split::Parts(symbols)) => {
                if symbols.iter().all(|s| s.fault.is_none()) {
                    return Ok((symbols, lower));
                }
                first_fault.get_or_insert(symbols);
            }
            None => {}
        }
    }
    if let Some(symbols) = first_fault {
        return Ok((symbols, lower));
    }
    // With no check to tell where a symbol ends, this may be one of the provider standard.
    if text.windows(2).enumerate().any(|(at, pair)| is_provider(pair) && at + 6 < text.len()) {
        return Err(personal_data());
    }
    Ok((vec![Symbol::failed(System::Hibc, why(trim(&text), end))], lower))
}

/// `+/` opens the standard for patients, staff and places.
fn is_provider(text: &[Ch]) -> bool {
    matches!(text, [plus, slash, ..] if plus.c == '+' && slash.c == '/')
}

/// Printed stars at both ends are no data.
fn strip_stars(text: &mut Vec<Ch>) {
    if text.first().is_some_and(|ch| ch.c == '*') {
        text.remove(0);
        let spaces = text.iter().rev().take_while(|ch| ch.c == ' ').count();
        let inner = text.len() - spaces;
        if inner > 0 && text[inner - 1].c == '*' {
            text.truncate(inner - 1);
        }
    }
}

enum Split {
    Parts(Vec<Symbol>),
    Personal,
}

/// Does the last character check the others?
fn holds(part: &[Ch]) -> bool {
    match part.split_last() {
        Some((last, body)) => mod43_check(&text_of(body)) == Some(last.c),
        None => false,
    }
}

/// The symbols of which the text is made: each begins with `+` and ends with a check that holds. A way without a
/// fault is taken before one with a fault; `None` if the checks hold in no way.
fn parts(text: &[Ch], year: i32, steps: &mut usize) -> Option<Split> {
    *steps += 1;
    if is_provider(text) {
        return Some(Split::Personal);
    }
    if *steps > 64 || text.first().is_none_or(|ch| ch.c != '+') {
        return None;
    }
    let mut faulty = None;
    if text.len() > 3 && holds(text) {
        let symbol = one(text, year);
        if symbol.fault.is_none() {
            return Some(Split::Parts(vec![symbol]));
        }
        faulty = Some(Split::Parts(vec![symbol]));
    }
    for cut in 4..text.len() {
        if text[cut].c != '+' || !holds(&text[..cut]) {
            continue;
        }
        let head = one(&text[..cut], year);
        if head.fault.is_some() {
            continue;
        }
        match parts(&text[cut..], year, steps) {
            Some(Split::Personal) => return Some(Split::Personal),
            Some(Split::Parts(tail)) => {
                let good = tail.iter().all(|s| s.fault.is_none());
                let joined = Split::Parts(std::iter::once(head).chain(tail).collect());
                if good {
                    return Some(joined);
                }
                faulty = Some(joined);
            }
            None => {}
        }
    }
    faulty
}

/// Why the checks hold in no way.
fn why(text: &[Ch], end: usize) -> Refusal {
    if let Some(bad) = text.iter().find(|ch| mod43_check(&ch.c.to_string()).is_none()) {
        return bad_charset("this HIBC label", bad.at);
    }
    let trimmed = mod43_check(&text_of(text)) == Some(' ');
    if text.len() < SHORTEST || trimmed {
        return cut_short("This HIBC label", end);
    }
    let at = text.last().map_or(end, |ch| ch.at);
    let wrong = format!("The check character, the last one, at byte {at}, does not fit this HIBC label");
    refuse(LabelCode::CheckDigit, at, format!("{wrong}: scan again or type the printed text."))
}

/// One symbol whose check holds.
fn one(part: &[Ch], year: i32) -> Symbol {
    let mut symbol = Symbol::new(System::Hibc);
    symbol.printed = text_of(part).replace(' ', "_");
    // The check and the plus are no data.
    let data = &part[1..part.len() - 1];
    let Some(first) = data.first() else { return symbol };
    if first.c.is_ascii_uppercase() && !supplement_alone(data) {
        primary(&mut symbol, data, year);
    } else if let Some((link, rest)) = data.split_last() {
        symbol.link = Some((link.c, link.at));
        if first.c.is_ascii_uppercase() && unit_is_digit(data) {
            both_ways(&mut symbol, data, rest);
        } else {
            hibc_data::section(&mut symbol, rest, link.at, year, true);
        }
    }
    symbol
}

/// A supplement in a symbol of its own: `S` and the serial, then the link.
fn supplement_alone(data: &[Ch]) -> bool {
    let serial = data.len().saturating_sub(2);
    data.first().is_some_and(|ch| ch.c == 'S')
        && (1..=18).contains(&serial)
        && data[1..data.len() - 1].iter().all(|ch| hibc_data::plain(ch.c))
}

fn unit_is_digit(data: &[Ch]) -> bool {
    (6..=23).contains(&data.len())
        && data.iter().all(|ch| hibc_data::plain(ch.c))
        && data.last().is_some_and(|ch| ch.c.is_ascii_digit())
}

/// `+S…` whose place of the unit is a digit: a primary of a labeler with S, or a serial with its link.
/// `resolve` asks the other symbols of the burst; here both are kept open.
fn both_ways(symbol: &mut Symbol, data: &[Ch], rest: &[Ch]) {
    let reading = |id: &str, value: String| super::PossibleReading { fields: vec![(id.into(), value)] };
    symbol.readings = vec![reading("+", text_of(data)), reading("S", text_of(&rest[1..]))];
    symbol.own_check = mod43_check(&format!("+{}", text_of(data)));
}

/// LIC, PCN, U/M, and sections behind `/`.
fn primary(symbol: &mut Symbol, data: &[Ch], year: i32) {
    let mut sections = data.split(|ch| ch.c == '/');
    let head = sections.next().unwrap_or(&[]);
    let at = head.first().map_or(0, |ch| ch.at);
    let behind = head.last().map_or(at, |ch| ch.at + 1);
    if let Some((place, bad)) = head.iter().enumerate().find(|(_, ch)| !hibc_data::plain(ch.c)) {
        return symbol.fail(bad_charset(if place < 4 { LABELER } else { PRODUCT }, bad.at));
    }
    if head.len() < 6 {
        return symbol.fail(cut_short("This HIBC identifier", behind));
    }
    if let Some(over) = head.get(23) {
        let message =
            format!("This HIBC identifier is longer than 23 characters, at byte {}: scan again.", over.at);
        return symbol.fail(refuse(LabelCode::TooLong, over.at, message));
    }
    if let Some(unit) = head.last().filter(|ch| !ch.c.is_ascii_digit()) {
        return symbol.fail(bad_charset("the unit of measure behind the product number", unit.at));
    }
    let text = text_of(head);
    let Ok(di) = DeviceId::parse(&text) else {
        return symbol.fail(bad_charset(LABELER, at));
    };
    symbol.own_check = mod43_check(&format!("+{text}"));
    symbol.claim("device identifier", &text, at);
    symbol.field("+", &text);
    symbol.di = Some(di);
    let mut from = behind;
    for section in sections {
        let end = section.last().map_or(from + 1, |ch| ch.at + 1);
        hibc_data::section(symbol, section, end, year, false);
        from = end;
    }
}

/// A serial in a symbol of its own can look like a primary: the other symbols of the burst may tell. If its link
/// is their primary's check character, it is a serial; if theirs is its own check character, it is the primary.
pub(super) fn resolve(symbols: &mut [Symbol]) {
    for place in 0..symbols.len() {
        let open = &symbols[place];
        let Some((link, at)) = open.link.filter(|_| open.system == System::Hibc && open.readings.len() == 2)
        else {
            continue;
        };
        let others = || symbols.iter().enumerate().filter(|(other, _)| *other != place).map(|(_, s)| s);
        let serial = others().any(|s| s.di.is_some() && s.own_check == Some(link));
        let primary = !others().any(|s| s.di.is_some())
            && others().any(|s| s.link.is_some() && s.link.map(|l| l.0) == open.own_check);
        if serial == primary {
            continue;
        }
        let mut fields = open.readings.iter().flat_map(|reading| reading.fields.iter().cloned());
        let (Some((_, id)), Some((_, name))) = (fields.next(), fields.next()) else { continue };
        let symbol = &mut symbols[place];
        symbol.readings.clear();
        if serial {
            symbol.own_check = None;
            symbol.claim("serial", &name, at.saturating_sub(name.len()));
            symbol.field("S", &name);
            symbol.serial = Some(name);
        } else {
            symbol.link = None;
            symbol.claim("device identifier", &id, (at + 1).saturating_sub(id.len()));
            symbol.field("+", &id);
            symbol.di = DeviceId::parse(&id).ok();
        }
    }
}

/// A secondary belongs to the primary whose check character is its link. A symbol that is still open must fit the
/// others in one of its two ways.
///
/// # Errors
/// `link-mismatch`.
pub(super) fn links(symbols: &[Symbol]) -> Result<(), Refusal> {
    let mismatch = |at: usize| {
        let message =
            format!("The symbols belong to two boxes, says the link at byte {at}: scan one box at a time.");
        refuse(LabelCode::LinkMismatch, at, message)
    };
    let (settled, open): (Vec<&Symbol>, Vec<&Symbol>) = symbols.iter().partition(|s| s.readings.is_empty());
    let primary = settled.iter().find_map(|s| s.own_check.filter(|_| s.di.is_some()));
    let linked: Vec<(char, usize)> = settled.iter().filter_map(|s| s.link).collect();
    let wanted = primary.or(linked.first().map(|first| first.0));
    if let Some((_, at)) = linked.iter().find(|(link, _)| Some(*link) != wanted) {
        return Err(mismatch(*at));
    }
    for symbol in open.iter().filter(|s| s.system == System::Hibc) {
        let Some((link, at)) = symbol.link else { continue };
        let as_serial = wanted.is_none_or(|check| check == link);
        let as_primary = primary.is_none() && wanted.is_none_or(|check| Some(check) == symbol.own_check);
        if !as_serial && !as_primary {
            return Err(mismatch(at));
        }
    }
    Ok(())
}

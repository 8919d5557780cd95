//! From a burst of bytes to one label: cut it into symbols, read each by its standard, join them.
//!
//! Invariant: knows which standard reads what; the standards' own rules are in their files.

use super::carrier::{self, Ch, GS, Segment, text_of, trim};
use super::gs1::{self, Manner};
use super::symbol::{Symbol, not_a_label, refuse};
use super::{Label, Refusal, System};
use crate::measure::Caution;
use crate::udi::DeviceId;

/// What the reader must know that the bytes don't say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// The year in which the label is read: two-digit years are taken from 49 years before it to 50 after.
    pub year: i32,
    /// The sign that this scanner has been set to send for GS; letters, digits and round brackets can't be set.
    pub separator: Option<char>,
    /// This scanner has sent a separator since the start, so a separator that is absent is absent.
    pub sends_separators: bool,
}

impl Settings {
    /// Nothing is known of the scanner.
    pub fn of_year(year: i32) -> Self {
        Settings { year, separator: None, sends_separators: false }
    }
}

/// Longer input is no label; the largest symbol that carries one holds about 2,300 characters.
const LONGEST: usize = 4096;

/// Soft codes, the gravest first.
const SOFT: [&str; 7] = [
    "bad-date",
    "ambiguous-no-separator",
    "secondary-only",
    "packaging-level",
    "caps-lock",
    "not-gs1-marked",
    "contents-not-item",
];

/// Reads what a scanner sent, or a person typed, for one box.
///
/// A soft code leaves the doubtful field empty and is a warning of the label; a hard one takes nothing.
///
/// Errors: the gravest hard code, with the byte (from 0) at which it was met.
pub fn read(bytes: &[u8], settings: &Settings) -> Result<Label, Refusal> {
    if bytes.len() > LONGEST {
        return Err(not_a_label(LONGEST));
    }
    let mut chars = carrier::decode(bytes);
    let mut segments = carrier::segments(&chars);
    let caps = segments.iter().any(Segment::caps_lock);
    if caps {
        carrier::turn_case(&mut chars);
        segments = carrier::segments(&chars);
    }
    let symbols = symbols(&segments, settings, bytes.len());
    join(symbols?, caps)
}

/// Every symbol of the burst. Errors: the gravest of the refusals that end the reading at once.
fn symbols(segments: &[Segment], settings: &Settings, end: usize) -> Result<Vec<Symbol>, Refusal> {
    let mut manner = Manner { year: settings.year, separators: settings.sends_separators };
    let prepared: Vec<Vec<Ch>> =
        segments.iter().map(|s| carrier::with_separators(trim(&s.text), settings.separator)).collect();
    manner.separators |= prepared.iter().flatten().any(|ch| ch.c == GS);
    let mut found = Vec::new();
    let mut refused: Option<Refusal> = None;
    for (segment, clean) in segments.iter().zip(&prepared) {
        match gs1_segment(segment, clean, end, &manner) {
            Ok(symbol) => found.push(symbol),
            Err(refusal) if refusal.code == "personal-data" => return Err(refusal),
            Err(refusal) => refused = refused.or(Some(refusal)),
        }
    }
    match refused {
        Some(refusal) => Err(refusal),
        None => Ok(found),
    }
}

/// A segment that is no other standard's: element strings, the line under the bars, or a bare number.
fn gs1_segment(segment: &Segment, clean: &[Ch], end: usize, manner: &Manner) -> Result<Symbol, Refusal> {
    let end = segment.text.last().map_or(end, |ch| ch.at + ch.c.len_utf8());
    let leading = clean.iter().take_while(|ch| ch.c == GS).count();
    let body = &clean[leading..];
    let text = text_of(body);
    let digits_only = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    match segment.id {
        Some(['E', kind @ ('0' | '4')]) => return bare(segment, body, if kind == '0' { 13 } else { 8 }, end),
        Some(['I', _]) => return bare(segment, body, 14, end),
        _ => {}
    }
    let marked = segment.gs1_marked() || leading > 0;
    if body.is_empty() {
        let mut symbol = Symbol::new(System::Gs1);
        symbol.fail(refuse(
            "truncated",
            end,
            format!("Nothing follows the symbology identifier at byte {}: scan again.", segment.at),
        ));
        return if segment.id.is_some() { Ok(symbol) } else { Err(not_a_label(segment.at)) };
    }
    if gs1::is_readable_line(body) {
        if gs1::opens_with_bracket(body) {
            return Ok(gs1::read_line(body, end, manner.year)?.symbol(System::Gs1, manner.year));
        }
        return Err(not_a_label(segment.at));
    }
    if digits_only && !marked {
        match text.len() {
            12..=14 => return bare(segment, body, text.len(), end),
            0..16 => return Err(not_a_label(segment.at)),
            _ => {}
        }
    }
    let elements = gs1::read(body, end, manner)?;
    if !marked && elements.fault_in_first {
        // A word or a number that happens to begin like a field is no label.
        let in_di = text.starts_with("01") && text.len() >= 16;
        let grave = elements.fault.as_ref().is_some_and(|f| matches!(f.code.as_str(), "too-long" | "empty-field"));
        if !in_di && !(grave && gs1::begins(body)) {
            return Err(not_a_label(segment.at));
        }
    }
    let mut symbol = elements.symbol(System::Gs1, manner.year);
    if !marked && segment.id.is_some() {
        symbol.warn(
            "not-gs1-marked",
            "The symbol is not marked as GS1, though it holds GS1 fields: compare every field with the box.",
        );
    }
    Ok(symbol)
}

/// A number without identifiers, as EAN, UPC and ITF carry it, or as people type it.
fn bare(segment: &Segment, body: &[Ch], length: usize, end: usize) -> Result<Symbol, Refusal> {
    let mut symbol = Symbol::new(System::Gs1);
    let text = text_of(body);
    if let Some(bad) = body.iter().take(length).find(|ch| !ch.c.is_ascii_digit()) {
        symbol.fail(refuse(
            "bad-charset",
            bad.at,
            format!("This number has a sign that is no digit, at byte {}: scan again.", bad.at),
        ));
        return Ok(symbol);
    }
    if body.len() < length {
        symbol.fail(refuse(
            "truncated",
            end,
            format!("This number should have {length} digits and ends at byte {end}: scan again."),
        ));
        return Ok(symbol);
    }
    if let Some(over) = body.get(length) {
        symbol.fail(refuse(
            "too-long",
            over.at,
            format!("This number should have {length} digits and goes on at byte {}: scan again.", over.at),
        ));
        return Ok(symbol);
    }
    match DeviceId::parse(&text) {
        Ok(di) => {
            let at = body.first().map_or(segment.at, |ch| ch.at);
            symbol.claim("device identifier", di.as_str(), at);
            symbol.field("01", di.as_str());
            symbol.printed = format!("(01){di}");
            symbol.di = Some(di);
            Ok(symbol)
        }
        Err(crate::udi::Fault::CheckDigit) => {
            let at = body.last().map_or(end, |ch| ch.at);
            symbol.fail(refuse(
                "check-digit",
                at,
                format!("The check digit of this number is wrong, at byte {at}: scan again or compare with the box."),
            ));
            Ok(symbol)
        }
        Err(_) => Err(not_a_label(segment.at)),
    }
}

/// Joins the symbols of one box, and judges what holds over all of them.
fn join(symbols: Vec<Symbol>, caps: bool) -> Result<Label, Refusal> {
    let Some(first) = symbols.first() else { return Err(not_a_label(0)) };
    let mut label = Label::blank(first.system);
    apart(&symbols)?;
    if let Some(fault) = symbols.iter().find_map(|s| s.fault.clone().filter(|f| f.code == "not-a-label")) {
        return Err(fault);
    }
    if let Some(fault) = symbols.iter().find_map(|s| s.fault.clone()) {
        return Err(fault);
    }
    for symbol in &symbols {
        conflict(symbol)?;
    }
    super::gs1_item::pairs(&symbols)?;
    let mut warnings: Vec<Caution> = Vec::new();
    for symbol in symbols {
        if !label.printed.contains(&symbol.printed) {
            label.printed.push_str(&symbol.printed);
        }
        for field in symbol.fields {
            if !label.fields.contains(&field) {
                label.fields.push(field);
            }
        }
        label.di = label.di.or(symbol.di);
        label.lot = label.lot.or(symbol.lot);
        label.serial = label.serial.or(symbol.serial);
        label.use_by = label.use_by.or(symbol.use_by);
        label.made = label.made.or(symbol.made);
        label.readings.extend(symbol.readings);
        for warning in symbol.warnings {
            if !warnings.contains(&warning) {
                warnings.push(warning);
            }
        }
    }
    warn(&label, caps, &mut warnings);
    warnings.sort_by_key(|w| SOFT.iter().position(|code| *code == w.code));
    label.warnings = warnings;
    Ok(label)
}

/// Two boxes in one burst: a field with two values in two symbols.
fn apart(symbols: &[Symbol]) -> Result<(), Refusal> {
    for (place, symbol) in symbols.iter().enumerate() {
        for claim in &symbol.claims {
            let mut others = symbols[..place].iter().flat_map(|other| &other.claims);
            if others.any(|other| other.what == claim.what && other.value != claim.value) {
                return Err(refuse(
                    "two-labels",
                    claim.at,
                    format!("At byte {} a second box begins: scan one box at a time.", claim.at),
                ));
            }
        }
    }
    Ok(())
}

/// One symbol that contradicts itself.
fn conflict(symbol: &Symbol) -> Result<(), Refusal> {
    for (place, claim) in symbol.claims.iter().enumerate() {
        let mut others = symbol.claims[..place].iter();
        if others.any(|other| other.what == claim.what && other.value != claim.value) {
            return Err(refuse(
                "duplicate-ai-conflict",
                claim.at,
                format!(
                    "{} stands twice with two values, the second at byte {}: this label can't be used as it is.",
                    claim.what, claim.at
                ),
            ));
        }
    }
    Ok(())
}

fn warn(label: &Label, caps: bool, warnings: &mut Vec<Caution>) {
    let contents = label.system == System::Gs1 && label.fields.iter().any(|(id, _)| id == "02");
    let mut add = |code, message: &str| warnings.push(Caution::new(code, message));
    if !label.readings.is_empty() {
        add(
            "ambiguous-no-separator",
            "The scanner dropped a separator, so where a field ends is not known: type the printed text.",
        );
    }
    if contents {
        add("contents-not-item", "(02) names what is inside a carton, not this box: scan the box itself.");
    } else if label.di.is_none() {
        add("secondary-only", "This symbol has no device identifier: scan the other symbol of the same box.");
    }
    if let Some(level) = label.di.as_ref().and_then(DeviceId::packaging_level).filter(|level| *level > 0) {
        add(
            "packaging-level",
            &format!("This identifier names a package of level {level}, not the single unit: scan the unit's box."),
        );
    }
    if caps {
        add("caps-lock", "Caps lock is on, so the case of every letter was turned back: switch caps lock off.");
    }
}

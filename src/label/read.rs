//! From a burst of bytes to one label: cut it into symbols, read each by its standard, join them.
//!
//! Invariant: knows which standard reads what; the standards' own rules are in their files.

use super::carrier::{self, Ch, GS, Segment, text_of, trim};
use super::envelope::{self, Inside};
use super::gs1::{self, Gs1Context};
use super::gs1_item;
use super::symbol::{Symbol, not_a_label, personal_data, refuse};
use super::{Label, LabelCode, Refusal, System, hibc, isbt, join, layout, link};
use crate::udi::DeviceId;
use crate::units::counted;

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

/// Longer input is not a label; the largest symbol that carries one holds about 2,300 characters.
const LONGEST: usize = 4096;

/// Reads what a scanner sent, or a person typed, for one box.
///
/// A soft code leaves the doubtful field empty and is a warning of the label; a hard one takes nothing.
///
/// # Errors
/// The gravest hard code, with the byte (from 0) at which it was met.
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
    let (symbols, raised) = symbols(&segments, settings, bytes.len())?;
    join::join(symbols, caps || raised)
}

/// Does this scan show that the scanner sends separators? Ask it of labels that were read, and keep the answer in
/// [`Settings::sends_separators`] for the scans that follow.
pub fn holds_separator(bytes: &[u8], settings: &Settings) -> bool {
    let segments = carrier::segments(&carrier::decode(bytes));
    segments.iter().enumerate().any(|(place, segment)| {
        let clean = carrier::with_separators(trim(&segment.text), settings.separator);
        shows_separators(&segments, place, &clean)
    })
}

fn shows_separators(segments: &[Segment], place: usize, clean: &[Ch]) -> bool {
    let segment = &segments[place];
    matches!(standard(segment), Standard::Gs1 | Standard::Envelope)
        // The bar that parts an EAN from its composite is not a separator.
        && !matches!(segment.id, Some(['E', _]))
        && (clean.iter().any(|ch| ch.c == GS) || stands_for_separator(segments, place))
}

/// Every symbol of the burst, and whether small letters were raised.
///
/// # Errors
/// The gravest of what ends the reading at once.
fn symbols(segments: &[Segment], settings: &Settings, end: usize) -> Result<(Vec<Symbol>, bool), Refusal> {
    let mut context = Gs1Context { year: settings.year, separators: settings.sends_separators };
    let mut jobs = Vec::new();
    for (place, segment) in segments.iter().enumerate() {
        let standard = standard(segment);
        let clean = match standard {
            Standard::Gs1 | Standard::Envelope => {
                carrier::with_separators(trim(&segment.text), settings.separator)
            }
            _ => segment.text.clone(),
        };
        context.separators |= shows_separators(segments, place, &clean);
        jobs.push((segment, standard, clean));
    }
    let mut found = Vec::new();
    let mut raised = false;
    let mut refusals: Vec<Refusal> = Vec::new();
    for (segment, standard, clean) in &jobs {
        let end = segment.text.last().map_or(end, |ch| ch.at + ch.c.len_utf8());
        let text = text_of(&segment.text);
        if ["+/", "*+/", "=#", "&#"].iter().any(|opening| text.starts_with(opening)) {
            return Err(personal_data());
        }
        if let Some(at) = layout::sign(segment) {
            // Only a person's data are looked for.
            gs1::read(layout::behind_identifier(segment), end, &context)?;
            refusals.push(layout::refusal(at));
            continue;
        }
        let read = match standard {
            Standard::Hibc => hibc::read(clean, end, context.year),
            Standard::Isbt => isbt::read(clean, end).map(|(symbol, lower)| (vec![symbol], lower)),
            Standard::Link => link::read(trim(clean), end, context.year)
                .map(|e| (vec![e.symbol(System::Gs1DigitalLink, context.year)], false)),
            Standard::Envelope => enveloped(clean, end, &context).map(|symbol| (vec![symbol], false)),
            Standard::Gs1 => {
                gs1_segment(segment, clean, end, &context, jobs.len() == 1).map(|symbols| (symbols, false))
            }
        };
        match read {
            Ok((symbols, lower)) => {
                found.extend(symbols);
                raised |= lower;
            }
            Err(refusal) if refusal.is_of_a_person() => return Err(refusal),
            Err(refusal) => refusals.push(refusal),
        }
    }
    if let Some(layout) = refusals.iter().find(|refusal| refusal.code == LabelCode::KeyboardLayout) {
        return Err(layout.clone());
    }
    join::apart(&found)?;
    let gravest = refusals.iter().position(|refusal| refusal.code == LabelCode::NotALabel).unwrap_or(0);
    match refusals.get(gravest) {
        Some(refusal) => Err(refusal.clone()),
        None => Ok((found, raised)),
    }
}

/// The symbology identifier that some scanners send again at each FNC1: it stands directly behind a field that
/// needs a separator.
fn stands_for_separator(segments: &[Segment], place: usize) -> bool {
    let Some(before) = place.checked_sub(1).and_then(|at| segments.get(at)) else { return false };
    let segment = &segments[place];
    !segment.apart
        && segment.gs1_marked()
        && before.gs1_marked()
        && (segment.id == before.id || segment.id == Some(['C', '1']))
        && gs1::ends_open(&before.text)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standard {
    Gs1,
    Hibc,
    Isbt,
    Link,
    Envelope,
}

/// Told by the first characters; what is marked as GS1 is GS1, but for an envelope.
fn standard(segment: &Segment) -> Standard {
    let text = text_of(&segment.text);
    if envelope::is_envelope(&text) {
        Standard::Envelope
    } else if segment.gs1_marked() || matches!(segment.id, Some(['E' | 'I', _])) {
        Standard::Gs1
    } else if link::is_link(&text) {
        Standard::Link
    } else if text.starts_with('+') || text.starts_with("*+") {
        Standard::Hibc
    } else if text.starts_with(['=', '&']) {
        Standard::Isbt
    } else {
        Standard::Gs1
    }
}

fn enveloped(clean: &[Ch], end: usize, context: &Gs1Context) -> Result<Symbol, Refusal> {
    let inside = match envelope::open(clean, end) {
        Ok(inside) => inside,
        Err(refusal) => {
            // Only a person's data are looked for.
            let from = clean.iter().position(|ch| ch.c == GS).unwrap_or(clean.len());
            gs1::read(&clean[from..], end, context)?;
            return Err(refusal);
        }
    };
    Ok(match inside {
        Inside::Gs1(body) => {
            let elements = gs1::read(&body, end, context)?;
            if elements.found.is_empty() && elements.fault.is_none() && elements.readings.is_empty() {
                let message = format!("The envelope is empty at byte {end}: scan again.");
                return Ok(Symbol::failed(System::Gs1, refuse(LabelCode::Truncated, end, message)));
            }
            elements.symbol(System::Gs1, context.year)
        }
        Inside::DataIdentifiers(body) => envelope::data_identifiers(&body, end, context.separators),
    })
}

/// A segment that is no other standard's: element strings, the line under the bars, or a bare number. `alone` where
/// no other came with it.
fn gs1_segment(
    segment: &Segment,
    clean: &[Ch],
    end: usize,
    context: &Gs1Context,
    alone: bool,
) -> Result<Vec<Symbol>, Refusal> {
    let leading = clean.iter().take_while(|ch| ch.c == GS).count();
    let body = &clean[leading..];
    let text = text_of(body);
    let digits_only = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    match segment.id {
        Some(['E', kind @ ('0' | '4')]) => {
            // `|` parts an EAN from its composite, and became a separator above.
            let parted = body.iter().position(|ch| ch.c == GS).unwrap_or(body.len());
            let length = if kind == '0' { 13 } else { 8 };
            let mut symbols = vec![bare(segment, &body[..parted], length, end)?];
            if body.len() > parted + 1 {
                symbols.push(gs1::read(&body[parted..], end, context)?.symbol(System::Gs1, context.year));
            }
            return Ok(symbols);
        }
        Some(['E', _]) => return Err(not_a_label(segment.at)),
        Some(['I', _]) => return Ok(vec![bare(segment, body, 14, end)?]),
        _ => {}
    }
    let marked = segment.gs1_marked() || leading > 0;
    if body.is_empty() {
        let message = format!("Nothing follows the symbology identifier at byte {}: scan again.", segment.at);
        let symbol = Symbol::failed(System::Gs1, refuse(LabelCode::Truncated, end, message));
        return if segment.id.is_some() { Ok(vec![symbol]) } else { Err(not_a_label(segment.at)) };
    }
    if gs1::is_readable_line(body) {
        let elements = gs1::read_line(body, end, context.year)?;
        if gs1::opens_with_bracket(body) {
            return Ok(vec![elements.symbol(System::Gs1, context.year)]);
        }
        return Err(not_a_label(segment.at));
    }
    if digits_only && !marked {
        match text.len() {
            12..=14 => return Ok(vec![bare(segment, body, text.len(), end)?]),
            0..16 => return Err(not_a_label(segment.at)),
            _ => {}
        }
    }
    let elements = gs1::read(body, end, context)?;
    if !marked && elements.fault_in_first {
        // A word or a number that happens to begin like a field is not a label.
        let in_di = text.starts_with("01") && text.len() >= 16;
        let grave = elements
            .fault
            .as_ref()
            .is_some_and(|f| matches!(f.code, LabelCode::TooLong | LabelCode::EmptyField));
        let is_field = in_di || (grave && gs1::begins(body));
        if !is_field {
            return Err(not_a_label(segment.at));
        }
    }
    if !marked && alone && elements.fault.is_none() && !gs1_item::speaks_of_an_item(&elements) {
        return Err(not_a_label(segment.at));
    }
    let mut symbol = elements.symbol(System::Gs1, context.year);
    if !marked && segment.id.is_some() {
        symbol.warn(
            LabelCode::NotGs1Marked,
            "The symbol is not marked as GS1, though it holds GS1 fields: compare every field with the box.",
        );
    }
    Ok(vec![symbol])
}

/// A number without identifiers, as EAN, UPC and ITF carry it, or as people type it.
fn bare(segment: &Segment, body: &[Ch], length: usize, end: usize) -> Result<Symbol, Refusal> {
    let failed = |refusal| Ok(Symbol::failed(System::Gs1, refusal));
    let digits = || counted(length, "digit");
    if let Some(at) = body.iter().take(length).find(|ch| !ch.c.is_ascii_digit()).map(|bad| bad.at) {
        let message = format!("This number has a character that is not a digit, at byte {at}: scan again.");
        return failed(refuse(LabelCode::BadCharset, at, message));
    }
    if body.len() < length {
        let message = format!("This number should have {} and ends at byte {end}: scan again.", digits());
        return failed(refuse(LabelCode::Truncated, end, message));
    }
    if let Some(at) = body.get(length).map(|over| over.at) {
        let message = format!("This number should have {} and goes on at byte {at}: scan again.", digits());
        return failed(refuse(LabelCode::TooLong, at, message));
    }
    match DeviceId::parse(&text_of(body)) {
        Ok(di) => {
            let mut symbol = Symbol::new(System::Gs1);
            let at = body.first().map_or(segment.at, |ch| ch.at);
            symbol.claim("device identifier", di.as_str(), at);
            symbol.field("01", di.as_str());
            symbol.di = Some(di);
            Ok(symbol)
        }
        Err(crate::udi::DiError::CheckDigit) => {
            let at = body.last().map_or(end, |ch| ch.at);
            let wrong = format!("The check digit of this number is wrong, at byte {at}");
            failed(refuse(LabelCode::CheckDigit, at, format!("{wrong}: scan again or compare with the box.")))
        }
        Err(_) => Err(not_a_label(segment.at)),
    }
}

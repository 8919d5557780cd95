//! Two codes of one label, scanned one after the other: the identifier on one, lot and date on the other.
//!
//! Invariant: joins what the standards tie together, and nothing else; reads no bytes.
//!
//! HIBC ties the second symbol to the first by a link, the first one's check character. GS1 and ISBT 128 have no
//! such link: what joins two of their symbols is that nothing contradicts, so people compare the lot with the box.

use super::symbol::{Symbol, refuse};
use super::{Label, LabelCode, PossibleReading, Refusal, System, Warning, gs1_table, join};
use crate::udi::mod43_check;

/// What [`join()`] finds out again over both.
const FOUND_AGAIN: [LabelCode; 3] =
    [LabelCode::SecondaryOnly, LabelCode::PackagingLevel, LabelCode::ContentsNotItem];

/// One label of two that were read one after the other, in either order. The same label twice is one label.
///
/// # Errors
/// All of them name both labels by the lines under their bars: `two-labels` (two device identifiers, a field
/// with two values, or two standards), `link-mismatch` (HIBC), `secondary-only` (neither names a device),
/// `ambiguous-no-separator` (one of them is itself in doubt), `missing-pair` and `forbidden-pair` (GS1).
pub fn join(first: &Label, second: &Label) -> Result<Label, Refusal> {
    let both = |code: LabelCode, why: &str| Refusal {
        position: None,
        ..refuse(
            code,
            0,
            format!(
                "{why} ({} and {}): scan both codes of one box, one directly after the other.",
                first.printed, second.printed
            ),
        )
    };
    if !first.readings.is_empty() || !second.readings.is_empty() {
        return Err(both(LabelCode::AmbiguousNoSeparator, "One of these codes can be read in several ways"));
    }
    if first.di.is_none() && second.di.is_none() {
        return Err(both(LabelCode::SecondaryOnly, "Neither of these codes names a device"));
    }
    let symbols = vec![symbol(first), symbol(second)];
    join::join(symbols, false).map_err(|refusal| {
        let why = match refusal.code {
            LabelCode::LinkMismatch => "These codes belong to two boxes, says the link",
            LabelCode::MissingPair | LabelCode::ForbiddenPair => {
                "These codes have fields that may not stand together"
            }
            _ => "These codes are of two boxes",
        };
        both(refusal.code, why)
    })
}

/// A label as the joiner takes it. Places are unknown by now: all are 0.
fn symbol(label: &Label) -> Symbol {
    let mut symbol = Symbol::new(label.system);
    let gs1 = matches!(label.system, System::Gs1 | System::Gs1DigitalLink);
    if gs1 {
        // One claim a field, in the same order: the joiner counts on it.
        for (code, value) in &label.fields {
            symbol.claim(if code == "01" { "device identifier" } else { code }, value, 0);
        }
    } else {
        let date = |day: Option<chrono::NaiveDate>| day.map(|day| day.to_string());
        let claims = [
            ("device identifier", label.di.as_ref().map(ToString::to_string)),
            ("lot", label.lot.clone()),
            ("serial", label.serial.clone()),
            ("use-by date", date(label.use_by)),
            ("date made", date(label.made)),
        ];
        for (what, value) in claims {
            if let Some(value) = value {
                symbol.claim(what, &value, 0);
            }
        }
    }
    if label.system == System::Hibc {
        match &label.di {
            Some(di) => symbol.own_check = mod43_check(&format!("+{di}")),
            // The line ends with the link and the check; a space is written `_`.
            None => {
                let link = label.printed.chars().rev().nth(1);
                symbol.link = link.map(|c| (if c == '_' { ' ' } else { c }, 0));
            }
        }
    }
    symbol.fields = label.fields.clone();
    symbol.di = label.di.clone();
    symbol.lot = label.lot.clone();
    symbol.serial = label.serial.clone();
    symbol.use_by = label.use_by;
    symbol.made = label.made;
    symbol.printed = label.printed.clone();
    let kept = |warning: &&Warning| !FOUND_AGAIN.contains(&warning.code);
    symbol.warnings = label.warnings.iter().filter(kept).cloned().collect();
    symbol
}

/// What the caller's knowledge leaves of the readings of a label that lost a separator.
#[derive(Debug, Clone, PartialEq)]
pub enum Supported {
    /// One reading alone is supported. It stays doubtful: the label keeps the code `ambiguous-no-separator` and all
    /// readings, and is offered for people to compare with the box, never taken.
    One(Box<Label>),
    /// No reading is.
    None,
    /// More than one is: nothing may be preferred.
    Several,
}

/// Asks of each reading whether the caller's catalogue, lots and dates support it. GS1 only: a label of HIBC in doubt
/// is settled by its other symbol, and gives `None` here.
///
/// `year` is the year of reading, as in [`super::Settings`].
pub fn support(label: &Label, year: i32, known: &dyn Fn(&PossibleReading) -> bool) -> Supported {
    let mut supported = label.readings.iter().filter(|reading| known(reading));
    let Some(reading) = supported.next() else { return Supported::None };
    if supported.next().is_some() {
        return Supported::Several;
    }
    let gs1 = matches!(label.system, System::Gs1 | System::Gs1DigitalLink);
    let Some(mut symbol) = filled(label.system, reading, year).filter(|_| gs1) else {
        return Supported::None;
    };
    symbol.readings = label.readings.clone();
    match join::join(vec![symbol], label.has_warning(LabelCode::CapsLock)) {
        Ok(label) => Supported::One(Box::new(label)),
        Err(_) => Supported::None,
    }
}

fn filled(system: System, reading: &PossibleReading, year: i32) -> Option<Symbol> {
    let mut elements = super::gs1_elements::Elements::default();
    for (code, value) in &reading.fields {
        let ai = gs1_table::find(code)?;
        let value: Vec<super::carrier::Ch> = value.chars().map(|c| super::carrier::Ch { c, at: 0 }).collect();
        elements.take(ai, 0, &value, 0, year);
    }
    Some(elements.symbol(system, year))
}

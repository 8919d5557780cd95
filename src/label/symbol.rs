//! What one symbol says, before the symbols of a burst are joined.
//!
//! Invariant: keeps what a standard's reader found; knows no standard.

use super::{LabelCode, PossibleReading, Refusal, System, Warning, place};
use crate::udi::DeviceId;
use chrono::NaiveDate;

/// A field that must not be on one box with two values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Claim {
    /// The field in words of the label, such as `(17)` or `lot`.
    pub what: String,
    pub value: String,
    pub at: usize,
}

#[derive(Debug, Clone)]
pub(super) struct Symbol {
    pub system: System,
    pub fields: Vec<(String, String)>,
    pub claims: Vec<Claim>,
    pub di: Option<DeviceId>,
    pub lot: Option<String>,
    pub serial: Option<String>,
    pub use_by: Option<NaiveDate>,
    pub made: Option<NaiveDate>,
    /// The first thing wrong, in reading order.
    pub fault: Option<Refusal>,
    pub warnings: Vec<Warning>,
    pub readings: Vec<PossibleReading>,
    /// HIBC: the check character that the primary has, or would have if it was alone.
    pub own_check: Option<char>,
    /// HIBC: the check character of the primary to which a secondary belongs, and where it stands.
    pub link: Option<(char, usize)>,
    /// The line under the bars.
    pub printed: String,
}

impl Symbol {
    pub(super) fn new(system: System) -> Self {
        Symbol {
            system,
            fields: Vec::new(),
            claims: Vec::new(),
            di: None,
            lot: None,
            serial: None,
            use_by: None,
            made: None,
            fault: None,
            warnings: Vec::new(),
            readings: Vec::new(),
            own_check: None,
            link: None,
            printed: String::new(),
        }
    }

    /// One of which nothing but what is wrong with it was read.
    pub(super) fn failed(system: System, refusal: Refusal) -> Self {
        Symbol { fault: Some(refusal), ..Symbol::new(system) }
    }

    pub(super) fn claim(&mut self, what: &str, value: &str, at: usize) {
        self.claims.push(Claim { what: what.into(), value: value.into(), at });
    }

    pub(super) fn field(&mut self, identifier: &str, value: &str) {
        self.fields.push((identifier.into(), value.into()));
    }

    /// Keeps the first fault only.
    pub(super) fn fail(&mut self, refusal: Refusal) {
        self.fault.get_or_insert(refusal);
    }

    pub(super) fn warn(&mut self, code: LabelCode, message: impl Into<String>) {
        self.warnings.push(Warning { code, message: message.into() });
    }

    /// `place` in words, such as `the use-by date (17)`.
    pub(super) fn bad_date(&mut self, place: &str) {
        self.warn(
            LabelCode::BadDate,
            format!(
                "{} is not in the calendar, so it is left empty: read it off the box.",
                place::first_word(place)
            ),
        );
    }
}

/// The refusal that names nothing: no byte of a person's data may be echoed.
pub(super) fn personal_data() -> Refusal {
    Refusal {
        code: LabelCode::PersonalData,
        message: "This holds data of a person, so nothing of it was kept: scan the label of the box.".into(),
        position: None,
    }
}

pub(super) fn refuse(code: LabelCode, at: usize, message: impl Into<String>) -> Refusal {
    Refusal { code, message: message.into(), position: Some(at) }
}

/// `place` in words, such as `the lot`.
pub(super) fn cut_short(place: &str, end: usize) -> Refusal {
    let what = place::first_word(place);
    refuse(LabelCode::Truncated, end, format!("{what} is cut short at byte {end}: scan again."))
}

/// `place` in words, such as `the lot`.
pub(super) fn empty(place: &str, at: usize) -> Refusal {
    refuse(
        LabelCode::EmptyField,
        at,
        format!("{} is empty at byte {at}: scan again.", place::first_word(place)),
    )
}

/// `place` in words, such as `the lot`.
pub(super) fn bad_charset(place: &str, at: usize) -> Refusal {
    let message = format!(
        "A character of {place} can't stand there, at byte {at}: scan again, or type the printed text."
    );
    refuse(LabelCode::BadCharset, at, message)
}

pub(super) fn not_a_label(at: usize) -> Refusal {
    refuse(
        LabelCode::NotALabel,
        at,
        "This is not the label of a device: scan the box again, or type the printed text.",
    )
}

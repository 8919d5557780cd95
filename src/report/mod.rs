//! What is handed over at the end of a case: Markdown, CSV, JSON, FHIR. No patient identity anywhere.
//!
//! Invariant: a folded case and values in, text out; looks up nothing, rounds nothing in JSON. Pure.

mod csv;
mod fhir;
mod json;
mod markdown;
mod wall;

pub use csv::csv;
pub use fhir::fhir;
pub use json::{Record, json, record};
pub use markdown::markdown;
pub use wall::Wall;

use crate::case::{Case, Item};
use crate::shelf::{Owed, Refill};
use chrono::{DateTime, FixedOffset};

/// Stands on everything that is handed over.
pub const CAUTION: &str = "Not a certified medical device. It shows arithmetic, rules and their sources; the operator \
                           decides. Local protocol and the instructions for use come first.";

/// Everything that a record is made of.
#[derive(Debug, Clone)]
pub struct CaseReport<'a> {
    pub case: &'a Case,
    /// The policy's, shown as it stands.
    pub currency: &'a str,
    pub refill: Vec<Refill>,
    pub consigned: Vec<Owed<'a>>,
    pub to_return: Vec<Owed<'a>>,
    /// Name and version of the program.
    pub program: &'a str,
    /// The journal's last hash when the record was written, in hexadecimal.
    pub head: &'a str,
    pub written: DateTime<FixedOffset>,
}

/// The call that a box was opened for, in words; "without a call" where there was none.
fn asked_as(case: &Case, item: &Item) -> String {
    match item.call.map(|number| (number, case.call(number))) {
        None if item.is_opened() => "without a call".into(),
        None => String::new(),
        Some((number, None)) => format!("call {number}, struck out"),
        Some((number, Some(call))) => format!("call {number}: {}", crate::case::wanted_words(&call.wanted)),
    }
}

fn verdict_at_call(case: &Case, item: &Item) -> String {
    let call = item.call.and_then(|number| case.call(number));
    match call.map(|call| (&call.verdict, &call.why)) {
        Some((Some(verdict), Some(why))) => format!("{verdict}: {why}"),
        Some((Some(verdict), None)) => verdict.clone(),
        Some((None, _)) => "not judged".into(),
        None => String::new(),
    }
}

fn lesions(item: &Item) -> String {
    item.lesions.iter().map(u8::to_string).collect::<Vec<_>>().join(", ")
}

//! What is handed over at the end of a case: Markdown, CSV, JSON, FHIR. No patient identity anywhere.
//!
//! Invariant: a folded case and values in, text out; looks up nothing, rounds nothing in JSON. Pure.

mod csv;
mod csv_cell;
mod fhir;
mod json;
mod layout;
mod long_texts;
mod markdown;
mod review;
mod schema;
mod timeline;
mod escape;
mod time;
mod totals;
mod udi;
mod wall;

pub use csv::csv;
pub use fhir::fhir;
pub use json::json;
pub use long_texts::{LINE, long_texts};
pub use markdown::markdown;
pub use review::{CaseStory, Section, review, told};
pub use schema::SCHEMA;
pub use totals::{totals_csv, totals_table};
pub use wall::Wall;

use crate::case::{Call, Case, Item, verdict_words};
use crate::journal::chain::Link;
use crate::journal::{Anchor, Statement};
use crate::shelf::{Owed, Refill};
use chrono::{DateTime, FixedOffset};

/// Everything that a record is made of.
#[derive(Debug, Clone)]
pub struct CaseReport<'a> {
    /// Folded from its entries.
    pub case: &'a Case,
    /// The policy's, shown as it stands.
    pub currency: &'a str,
    /// In cupboard order.
    pub refill: Vec<Refill>,
    /// Opened boxes on consignment.
    pub consigned: Vec<Owed<'a>>,
    /// Opened boxes that were borrowed.
    pub to_return: Vec<Owed<'a>>,
    /// Name and version of the program.
    pub program: &'a str,
    /// The journal's last hash when the record was written, in hexadecimal.
    pub head: &'a str,
    /// The journal's last entry at that moment, to be compared with the journal later.
    pub anchor: Anchor,
    /// The anchor as a code to scan, drawn in characters; empty where none is drawn.
    pub anchor_to_scan: &'a str,
    /// What was found out about the journal before the record was written.
    pub journal: &'a Statement,
    /// The case code as a code to scan, drawn in characters; empty where none is drawn.
    pub code_to_scan: &'a str,
    /// The case's entries as they are stored and hashed, in order.
    pub links: &'a [Link],
    /// When the record is written.
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
    let words = |call: &Call| match &call.verdict {
        Some(verdict) => verdict_words(verdict, call.why.as_deref()),
        None => "not judged".into(),
    };
    call.map(words).unwrap_or_default()
}

fn lesions(item: &Item) -> String {
    item.lesions.iter().map(u8::to_string).collect::<Vec<_>>().join(", ")
}

//! What happened: the entries and their hash chain. Append-only: a correction is a later entry that strikes out.
//!
//! Invariant: entries in, entries out; knows no disk and no clock. The case, the shelf and the ledger are folds
//! over what is here.

mod answer;
pub mod chain;
mod day;
mod fact;
mod finding;
mod statement;
mod strike;

pub use answer::{same_text, text_key};
pub use day::{Doubt, LastDay, Today, is_far};
pub use fact::{Areas, BoxRead, Certainty, Fact, Fate, Inflation, Overlap, Readiness, Unused, Wanted};
pub use finding::{Finding, Headline, Recorded};
pub use statement::{Anchor, Statement};
pub use strike::struck;

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Five characters without look-alikes: the only tie between a trace and a person, who is never named here.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct CaseCode(String);

impl CaseCode {
    /// No 0 O 1 I L 2 Z 5 S 8 B U V: none is taken for another when written by hand or said aloud.
    pub const ALPHABET: &'static [u8] = b"ACDEFGHJKMNPQRTWXY34679";

    /// A code out of five numbers, each reduced to a place in the alphabet.
    pub fn from_random(numbers: [u8; 5]) -> Self {
        CaseCode(
            numbers
                .iter()
                .map(|&number| Self::ALPHABET[number as usize % Self::ALPHABET.len()] as char)
                .collect(),
        )
    }

    /// Reads a code as somebody typed it: case does not matter.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim().to_ascii_uppercase();
        let good = text.len() == 5 && text.bytes().all(|byte| Self::ALPHABET.contains(&byte));
        good.then_some(CaseCode(text))
    }

    /// In capitals, as it is shown.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for CaseCode {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// One thing that happened. Its JSON is the body that the journal stores and hashes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// From 1, without a gap: the order of things is this number, not the clock.
    pub seq: u64,
    /// By the clock of the machine that wrote it, with its offset.
    pub at: DateTime<FixedOffset>,
    /// Made before the commit, so that after a kill "committed, but never confirmed" can be recognized.
    pub command: String,
    /// The case that it belongs to; none for what belongs to the room.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub case: Option<CaseCode>,
    /// What happened, and in the body the word that tells its kind.
    pub fact: Fact,
}

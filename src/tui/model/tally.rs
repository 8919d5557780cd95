//! Boxes that are being received, counted, moved or pulled.

use crate::shelf::Tally;

/// The boxes so far, and how the last scan went.
#[derive(Debug, Clone, PartialEq)]
pub struct Scanning {
    pub tally: Tally,
    pub last: LastScan,
    /// What would change; none while boxes are still scanned.
    pub sum: Option<Vec<SumRow>>,
    pub scroll: usize,
    pub leaving: bool,
}

/// How the last scan went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LastScan {
    Nothing,
    Counted,
    Half,
    /// And why.
    NotCounted(String),
    TakenBack(String),
}

/// One row of the sum: pieces alike, before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SumRow {
    pub words: String,
    pub before: u32,
    pub after: u32,
}

impl Scanning {
    pub fn new(tally: Tally) -> Self {
        Scanning { tally, last: LastScan::Nothing, sum: None, scroll: 0, leaving: false }
    }

    pub fn changes_something(&self) -> bool {
        self.sum.as_ref().is_some_and(|rows| !rows.is_empty())
    }
}

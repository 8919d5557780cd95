//! What became of every row.

use super::Part;
use crate::intake::spreadsheet::text;
use crate::intake::table;
use serde::Serialize;
use std::fmt;

crate::measure::words! {
    /// What became of a row.
    Outcome {
        Read = "read",
        /// Wanted, and not certain.
        Doubtful = "doubtful",
        /// Not wanted, or nothing that is used.
        Skipped = "skipped",
    }
}

/// The rows of one file: the three add up to all of them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Count {
    /// Lines but for the header and empty ones.
    pub rows: u64,
    /// Wanted, certain and taken.
    pub read: u64,
    /// Wanted, and not certain: each has a [`Note`].
    pub doubtful: u64,
    /// Not wanted, or nothing that is used.
    pub skipped: u64,
}

impl Count {
    pub(super) fn add(&mut self, outcome: Outcome) {
        self.rows += 1;
        match outcome {
            Outcome::Read => self.read += 1,
            Outcome::Doubtful => self.doubtful += 1,
            Outcome::Skipped => self.skipped += 1,
        }
    }
}

/// A wanted row that was not read, and why.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Note {
    /// The file that it is in.
    #[serde(rename = "file")]
    pub part: Part,
    /// From 1, the header being line 1.
    pub line: u64,
    /// The device that it belongs to, as the release writes its primary identifier.
    pub di: String,
    /// [`Outcome::Doubtful`] or [`Outcome::Skipped`].
    pub outcome: Outcome,
    /// In words.
    pub reason: String,
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let Note { part, line, di, outcome, reason } = self;
        write!(f, "{part}:{line}: {di}: {outcome}: {reason}")
    }
}

/// What became of every row of a release.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    counts: [Count; Part::ALL.len()],
    /// In the order of the files and their lines.
    pub notes: Vec<Note>,
}

impl Report {
    /// What became of the rows of this file.
    pub fn count(&self, part: Part) -> Count {
        self.counts[part as usize]
    }

    pub(super) fn add(&mut self, part: Part, outcome: Outcome) {
        self.counts[part as usize].add(outcome);
    }

    /// Counts a wanted row, and notes why it was not read.
    pub(super) fn tell(&mut self, part: Part, line: u64, di: &str, outcome: Outcome, reason: &str) {
        self.add(part, outcome);
        if outcome != Outcome::Read {
            self.notes.push(Note { part, line, di: di.into(), outcome, reason: reason.into() });
        }
    }

    /// The report as CSV, one row a note.
    pub fn csv(&self) -> String {
        let rows = self.notes.iter().map(|note| {
            let Note { part, line, di, outcome, reason } = note;
            [part.to_string(), line.to_string(), text(di), outcome.to_string(), text(reason)]
        });
        table::write(["file", "line", "di", "outcome", "reason"], rows)
    }
}

//! What was found out about a journal before anything is answered from it. It goes with every answer and document.

use super::chain::GENESIS;
use serde::Serialize;
use std::fmt;

/// Whether the journal holds, and how much of it was checked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Statement {
    /// Every entry that was checked says what was written, none is missing that was there before, and tables and
    /// guards are as they were made.
    pub holds: bool,
    /// The first entry that was checked; 1: all of them were.
    pub checked_from: u64,
    /// How many entries there are; null where one does not hold.
    pub entries: Option<u64>,
    /// The last entry's hash in hexadecimal; null where one does not hold.
    pub head: Option<String>,
    /// The first entry that does not hold, from 1; 0 where the file around the entries does not; null where all hold.
    pub entry: Option<u64>,
    /// Why it does not hold.
    pub message: Option<String>,
}

impl Statement {
    /// What was checked holds.
    pub fn holding(checked_from: u64, entries: u64, head: [u8; 32]) -> Statement {
        Statement {
            holds: true,
            checked_from,
            entries: Some(entries),
            head: Some(hex::encode(head)),
            entry: None,
            message: None,
        }
    }

    /// Nothing was ever written.
    pub fn of_nothing() -> Statement {
        Statement::holding(1, 0, GENESIS)
    }

    /// This entry does not hold; 0: the file around the entries.
    pub fn broken(checked_from: u64, entry: u64, message: String) -> Statement {
        Statement {
            holds: false,
            checked_from,
            entries: None,
            head: None,
            entry: Some(entry),
            message: Some(message),
        }
    }

    /// In capitals where the journal does not hold: the line before an answer.
    pub fn warning(&self) -> Option<String> {
        (!self.holds).then(|| format!("{self}. What is answered from it may be wrong or not all there is"))
    }
}

impl fmt::Display for Statement {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let message = self.message.as_deref().unwrap_or_default();
        match (self.entry, self.entries.unwrap_or(0)) {
            (Some(0), _) => write!(f, "THE JOURNAL DOES NOT HOLD: its file does not hold: {message}"),
            (Some(entry), _) => {
                write!(f, "THE JOURNAL DOES NOT HOLD: entry {entry} does not hold: {message}")
            }
            (None, 0) => write!(f, "the journal holds: no entry yet"),
            (None, last) => write!(f, "the journal holds: entries {} to {last} checked", self.checked_from),
        }
    }
}

/// An entry's number and hash in one word, to be kept outside the room's folder: it proves later that this entry is in
/// the journal and none before it was changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Anchor {
    /// The entry's number, from 1.
    pub entry: u64,
    /// Its hash.
    pub hash: [u8; 32],
}

const WORD: &str = "journal-head:";
const HEX: usize = 64;

impl Anchor {
    /// Every anchor that is in a text, in order.
    pub fn all_in(text: &str) -> Vec<Anchor> {
        text.match_indices(WORD).filter_map(|(at, word)| Anchor::parse(&text[at + word.len()..])).collect()
    }

    fn parse(rest: &str) -> Option<Anchor> {
        let (entry, rest) = rest.split_once(':')?;
        let mut hash = [0; 32];
        hex::decode_to_slice(rest.get(..HEX)?, &mut hash).ok()?;
        Some(Anchor { entry: entry.parse().ok()?, hash })
    }
}

impl fmt::Display for Anchor {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{WORD}{}:{}", self.entry, hex::encode(self.hash))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn an_anchor_is_found_in_any_text(entry: u64, hash: [u8; 32], before in ".{0,40}", after in ".{0,40}") {
            let anchor = Anchor { entry, hash };
            let text = format!("{before}{anchor}{after}");
            prop_assert_eq!(Anchor::all_in(&text).last().copied(), Some(anchor));
        }

        #[test]
        fn what_is_no_anchor_is_none(text in ".{0,200}") {
            prop_assert_eq!(Anchor::all_in(&format!("{WORD}12:{text}")), vec![]);
        }
    }
}

//! The shelf of screens that have just been opened: it is read behind the first frame, and then follows the journal
//! entry by entry. Until it is read it says so, and nobody may take its silence for an empty cupboard.

use super::{Shelf, builder};
use crate::journal::{CaseCode, Entry, Fact, struck};
use std::ops::Deref;

/// A shelf that was read out of the journal.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ReadShelf {
    /// As it is after entry `upto`.
    pub shelf: Shelf,
    /// The entry at which the fold began: what the boxes of earlier cases took is not known.
    pub from: u64,
    /// The last entry that is folded in.
    pub upto: u64,
}

/// How far the shelf is known.
#[derive(Debug, Clone, PartialEq)]
enum Known {
    BeingRead,
    Read,
    Unreadable(String),
}

/// The shelf, as far as it is known. It stands for an empty one where it is not: ask [`OnHand::unread`] before anything
/// is said of what is not there.
#[derive(Debug, Clone, PartialEq)]
pub struct OnHand {
    reading: ReadShelf,
    known: Known,
    /// What came while the shelf was being read.
    waiting: Vec<Entry>,
    pending: Pending,
}

/// What entries that are not saved yet make of the shelf.
#[derive(Debug, Clone, Default, PartialEq)]
enum Pending {
    /// There are none, or the shelf is not known.
    #[default]
    Nothing,
    /// The shelf with them.
    Shelf(Box<Shelf>),
    /// It can't be known before they are saved.
    Unknown,
}

impl Deref for OnHand {
    type Target = Shelf;

    fn deref(&self) -> &Shelf {
        match &self.pending {
            Pending::Shelf(shelf) => shelf,
            Pending::Nothing | Pending::Unknown => &self.reading.shelf,
        }
    }
}

impl Default for OnHand {
    /// Still being read.
    fn default() -> Self {
        OnHand { known: Known::BeingRead, ..OnHand::from(ReadShelf::default()) }
    }
}

impl From<ReadShelf> for OnHand {
    fn from(reading: ReadShelf) -> Self {
        OnHand { reading, known: Known::Read, waiting: Vec::new(), pending: Pending::Nothing }
    }
}

impl OnHand {
    /// Why nothing may be said of the shelf; none when it is known.
    pub fn unread(&self) -> Option<String> {
        match &self.known {
            Known::Read if self.pending == Pending::Unknown => {
                Some("THE SHELF CAN'T BE READ: a box is struck out, and that waits to be saved".into())
            }
            Known::Read => None,
            Known::BeingRead => Some("The shelf is still being read".into()),
            Known::Unreadable(why) => Some(format!("THE SHELF CAN'T BE READ: {why}")),
        }
    }

    /// It is on its way.
    pub fn is_being_read(&self) -> bool {
        self.known == Known::BeingRead
    }

    /// Takes in what is on disk now. `first` gives a case's first entry, `find` an entry by its number where it is at
    /// hand. False: the shelf has to be read again, since the fold can't go back.
    #[must_use]
    pub fn absorb<'a>(
        &mut self,
        entries: &'a [Entry],
        first: impl Fn(&CaseCode) -> Option<u64>,
        find: impl Fn(u64) -> Option<&'a Entry>,
    ) -> bool {
        if self.known != Known::Read {
            self.waiting.extend(entries.iter().filter(|entry| entry.seq > self.reading.upto).cloned());
            return true;
        }
        let from = self.reading.from;
        let upto = self.reading.upto;
        // What comes and is struck out again here never moved anything.
        let come_and_gone = struck(entries.iter().filter(|entry| entry.seq > upto));
        for (place, entry) in entries.iter().enumerate() {
            if entry.seq <= self.reading.upto {
                continue;
            }
            let goes_on = match &entry.fact {
                Fact::StruckOut { entry: target, .. } if come_and_gone.contains(target) => true,
                // What was struck out does not matter where it never moved anything.
                Fact::StruckOut { entry: target, .. } => find(*target)
                    .or_else(|| entries.iter().find(|entry| entry.seq == *target))
                    .is_some_and(|struck| !builder::matters(&struck.fact)),
                fact if builder::is_of_box(fact) => {
                    entry.case.as_ref().and_then(&first).is_none_or(|first| first >= from)
                }
                _ => true,
            };
            if !goes_on {
                self.read_again();
                self.waiting = entries[place..].to_vec();
                return false;
            }
            if !come_and_gone.contains(&entry.seq) {
                self.reading.shelf.apply(entry);
            }
            self.reading.upto = entry.seq;
        }
        true
    }

    /// Shows it as it will be when these are saved: what is pending, all of it, with numbers behind the last entry taken
    /// in. `first` and `find` as in [`OnHand::absorb`].
    pub fn show_with<'a>(
        &mut self,
        pending: &'a [Entry],
        first: impl Fn(&CaseCode) -> Option<u64>,
        find: impl Fn(u64) -> Option<&'a Entry>,
    ) {
        self.pending = Pending::Nothing;
        if pending.is_empty() || self.known != Known::Read {
            return;
        }
        let mut with = OnHand::from(self.reading.clone());
        // What a fold can't follow is not on the disk either: reading there again would not bring it.
        let goes_on = with.absorb(pending, first, find);
        self.pending = if goes_on { Pending::Shelf(Box::new(with.reading.shelf)) } else { Pending::Unknown };
    }

    /// It was read, and what came meanwhile is taken in. False as in [`OnHand::absorb`].
    #[must_use]
    pub fn arrived(&mut self, reading: ReadShelf, first: impl Fn(&CaseCode) -> Option<u64>) -> bool {
        let waiting = std::mem::take(&mut self.waiting);
        *self = OnHand::from(reading);
        self.absorb(&waiting, first, |_| None)
    }

    /// It can't be read, for this reason: the screens go on without it and say so.
    pub fn failed(&mut self, why: String) {
        (self.known, self.pending) = (Known::Unreadable(why), Pending::Nothing);
    }

    /// Whether what the boxes of a case that began with this entry took is known.
    pub fn covers(&self, first: u64) -> bool {
        self.known != Known::Read || first >= self.reading.from
    }

    /// It is read once more.
    pub fn read_again(&mut self) {
        (self.known, self.pending) = (Known::BeingRead, Pending::Nothing);
    }
}

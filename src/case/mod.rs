//! One case folded from its entries, and the read-back of a label against a call.
//!
//! Invariant: entries in, a case out; the same entries give the same case. No clock, no file, no terminal.

mod fold;
mod laid;
pub mod readback;
mod readback_lines;
mod settle;
mod show;
mod signal;
pub mod spoken;
mod words;

pub use laid::Laid;
pub use settle::{Cost, Totals, Unsettled};
pub use signal::{Bearing, Beside, Glance, Heard, Reading, Signal, size_letters};
pub use words::{
    entry_words, fate_words, label_words, overlap_words, size_words, unused_words, wanted_words,
};

use crate::journal::{Areas, BoxRead, CaseCode, Fate, Inflation, Overlap, Readiness, Wanted};
use crate::lesion::Measurements;
use chrono::{DateTime, FixedOffset};
use std::collections::BTreeMap;

/// One case as its entries tell it, struck-out ones left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    pub code: CaseCode,
    pub begun: DateTime<FixedOffset>,
    /// What was measured last of each lesion.
    pub lesions: BTreeMap<u8, Measurements>,
    /// In the order in which they were called.
    pub calls: Vec<Call>,
    /// In the order in which they came into the room.
    pub items: Vec<Item>,
    /// What was said last of each two devices, in the order in which it was written down.
    pub overlaps: Vec<OverlapKept>,
    pub signed: Option<SignOff>,
    /// Every entry of the case in words, struck-out ones and strikes included.
    pub story: Vec<StoryLine>,
    /// Entries that speak of a box or a call that is not there (any more): never dropped in silence.
    pub loose: Vec<Loose>,
    highest_call: u32,
    highest_item: u32,
    undoable: Option<(u64, String)>,
}

/// A size that has been asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Call {
    pub number: u32,
    pub seq: u64,
    pub at: DateTime<FixedOffset>,
    pub lesion: Option<u8>,
    pub wanted: Wanted,
    pub readiness: Readiness,
    /// The engine's verdict when it was called; none where nothing was measured.
    pub verdict: Option<String>,
    pub why: Option<String>,
    pub state: CallState,
}

/// Where the box of a call is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CallState {
    Waiting,
    /// In the room, unopened.
    AtHand {
        item: u32,
    },
    /// The seal is broken. A call that was cancelled and opened all the same is opened.
    Opened {
        item: u32,
    },
    Cancelled,
}

/// One physical box that came into the room.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub number: u32,
    /// The entry that tells its state.
    pub seq: u64,
    pub label: BoxRead,
    pub call: Option<u32>,
    pub state: ItemState,
    pub at_hand_at: Option<DateTime<FixedOffset>>,
    /// When the seal was broken: minutes that went by before it was written down are taken off.
    pub opened_at: Option<DateTime<FixedOffset>>,
    /// Where it was used, in order, none twice.
    pub lesions: Vec<u8>,
    pub inflations: Vec<Inflated>,
    /// Its balloon is up by the clock, since then.
    pub up_since: Option<DateTime<FixedOffset>>,
    /// Its balloon came down after so many seconds, and the pressure is not written down yet.
    pub pressure_open: Option<u32>,
    /// What was measured inside it, in order.
    pub areas: Vec<AreasKept>,
    pub fate: Option<FateKept>,
    /// It would not cross once and came back on the table.
    pub tried: bool,
    /// The read-back's headline when it came in or was opened.
    pub finding: String,
    /// Why it went on although it was not what was called.
    pub reason: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ItemState {
    AtHand,
    Opened,
    PutBack,
}

/// An inflation and when it was written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Inflated {
    pub seq: u64,
    pub at: DateTime<FixedOffset>,
    pub inflation: Inflation,
}

/// Areas measured, and when that was written down.
#[derive(Debug, Clone, PartialEq)]
pub struct AreasKept {
    pub seq: u64,
    pub at: DateTime<FixedOffset>,
    pub areas: Areas,
}

/// How two devices lie, and when that was written down.
#[derive(Debug, Clone, PartialEq)]
pub struct OverlapKept {
    pub seq: u64,
    pub at: DateTime<FixedOffset>,
    pub overlap: Overlap,
}

/// What became of an opened box, and when it was written down.
#[derive(Debug, Clone, PartialEq)]
pub struct FateKept {
    pub seq: u64,
    pub at: DateTime<FixedOffset>,
    pub fate: Fate,
    /// As given, else the one lesion that it can only be.
    pub lesion: Option<u8>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SignOff {
    pub seq: u64,
    pub at: DateTime<FixedOffset>,
    /// How many were unsettled when it was signed.
    pub unsettled: u32,
    pub why: Option<String>,
}

/// One entry in words.
#[derive(Debug, Clone, PartialEq)]
pub struct StoryLine {
    pub seq: u64,
    pub at: DateTime<FixedOffset>,
    pub words: String,
    pub struck: bool,
    /// The entry that this one strikes out.
    pub strikes: Option<u64>,
}

/// An entry that has nothing to hold on to, such as a fate whose opening was struck out.
#[derive(Debug, Clone, PartialEq)]
pub struct Loose {
    pub seq: u64,
    pub words: String,
}

impl Case {
    /// One more than any number that was ever given, struck out or not: a number means one call for good.
    pub fn next_call_number(&self) -> u32 {
        self.highest_call.saturating_add(1)
    }

    /// One more than any number that was ever given, struck out or not: a number means one box for good.
    pub fn next_item_number(&self) -> u32 {
        self.highest_item.saturating_add(1)
    }

    pub fn call(&self, number: u32) -> Option<&Call> {
        self.calls.iter().find(|call| call.number == number)
    }

    pub fn item(&self, number: u32) -> Option<&Item> {
        self.items.iter().find(|item| item.number == number)
    }

    /// Oldest first.
    pub fn waiting_calls(&self) -> Vec<&Call> {
        self.calls.iter().filter(|call| call.state == CallState::Waiting).collect()
    }

    /// In the order in which the seals were broken.
    pub fn opened(&self) -> Vec<&Item> {
        let mut opened: Vec<_> = self.items.iter().filter(|item| item.is_opened()).collect();
        opened.sort_by_key(|item| (item.opened_at, item.seq));
        opened
    }

    /// The boxes whose balloon is up by the clock, and since when, the longest first. None once the case is signed.
    pub fn balloons_up(&self) -> Vec<(&Item, DateTime<FixedOffset>)> {
        let items = self.items.iter().filter(|_| self.signed.is_none());
        let mut up: Vec<_> = items.filter_map(|item| Some((item, item.up_since?))).collect();
        up.sort_by_key(|(item, since)| (*since, item.number));
        up
    }

    /// The latest entry that one key may strike out, and its words. None once the case is signed.
    pub fn last_undoable(&self) -> Option<(u64, String)> {
        self.undoable.clone()
    }
}

impl Item {
    pub fn is_opened(&self) -> bool {
        self.state == ItemState::Opened
    }
}

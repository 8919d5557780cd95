//! One case folded from its entries, and the read-back of a label against a call.
//!
//! Invariant: entries in, a case out; the same entries give the same case. No clock, no file, no terminal.

pub mod compared;
pub mod finding;
mod fold;
mod stent_layout;
pub mod readback;
mod readback_lines;
mod settle;
mod show;
mod signal;
pub mod spoken;
mod words;

pub use settle::{Cost, Totals, Unsettled};
pub use signal::{Bearing, LiveStatus, RoomStatus, SideBySide, Signal, UndecidedReadBack, size_letters};
pub use stent_layout::StentLayout;
pub use words::{
    entry_words, fate_words, label_words, overlap_words, size_words, unused_words, verdict_words,
    wanted_words,
};

use crate::fit::Verdict;
use crate::journal::{
    Areas, BoxRead, CaseCode, Fate, Finding, Inflation, Overlap, Readiness, Recorded, Wanted,
};
use crate::lesion::Measurements;
use chrono::{DateTime, FixedOffset};
use serde::Serialize;
use std::collections::BTreeMap;

/// One case as its entries tell it, struck-out ones left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Of the first entry that belongs to a case.
    pub code: CaseCode,
    /// The time of its first fact, a notice of the store apart.
    pub begun: DateTime<FixedOffset>,
    /// What was measured last of each lesion.
    pub lesions: BTreeMap<u8, Measurements>,
    /// In the order in which they were called.
    pub calls: Vec<Call>,
    /// In the order in which they came into the room.
    pub items: Vec<Item>,
    /// What was said last of each two devices, in the order in which it was written down.
    pub overlaps: Vec<OverlapKept>,
    /// The last sign-off that stands. None: never signed, or every sign-off was struck out.
    pub signed: Option<SignOff>,
    /// Every entry of the case in words, struck-out ones and strikes included.
    pub story: Vec<StoryLine>,
    /// Entries that speak of a box or a call that is not there (any more): never dropped in silence.
    pub orphans: Vec<OrphanEntry>,
    /// The clock of the machine was set back while it went on: times do not tell the order, entries do.
    pub clock_went_back: bool,
    highest_call: u32,
    highest_item: u32,
    undoable: Option<(u64, String)>,
}

/// A size that has been asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Call {
    /// From 1 in each case; no other call ever gets it.
    pub number: u32,
    /// The entry that made the call.
    pub seq: u64,
    /// When it was called.
    pub at: DateTime<FixedOffset>,
    /// The lesion that it was called for.
    pub lesion: Option<u8>,
    /// As it was asked for.
    pub wanted: Wanted,
    /// The last that was said.
    pub readiness: Readiness,
    /// The engine's verdict when it was called; none where nothing was measured.
    pub verdict: Option<Recorded<Verdict>>,
    /// The verdict's first reason in words, or the span that it is part of.
    pub why: Option<String>,
    /// By the boxes that were brought for it; a cancellation counts until one is opened.
    pub state: CallState,
    /// When it was cancelled, whatever was opened for it since.
    pub cancelled_at: Option<DateTime<FixedOffset>>,
}

/// Where the box of a call is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CallState {
    /// Nothing has been brought, or what was brought went back.
    Waiting,
    /// In the room, unopened.
    AtHand {
        /// The last box that was brought for it.
        item: u32,
    },
    /// The seal is broken. A call that was cancelled and opened all the same is opened.
    Opened {
        /// The last box that was opened for it, or the open balloon that was used again instead.
        item: u32,
    },
    /// Cancelled, and nothing was opened for it.
    Cancelled,
}

/// One physical box that came into the room. In JSON as the record's schema (`report::SCHEMA`) has it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Item {
    /// From 1 in each case; no other box ever gets it.
    #[serde(rename = "box")]
    pub number: u32,
    /// The entry that tells its state.
    #[serde(rename = "entry")]
    pub seq: u64,
    /// The last that was said of it; once opened it stays opened.
    pub state: ItemState,
    /// When it was last kept in the room unopened. None: it never was.
    pub at_hand_at: Option<DateTime<FixedOffset>>,
    /// When the seal was broken: minutes that went by before it was written down are taken off.
    pub opened_at: Option<DateTime<FixedOffset>>,
    /// The call that it was brought for, whatever it turned out to be. None: for none.
    pub call: Option<u32>,
    /// As read or typed last; every field may be missing.
    pub label: BoxRead,
    /// The read-back's when it came in or was opened.
    #[serde(rename = "read_back")]
    pub finding: Finding,
    /// Why it went on although it was not what was called, as typed.
    pub reason: Option<String>,
    /// Where it was used, in order, none twice.
    pub lesions: Vec<u8>,
    /// In the order in which they were written down.
    pub inflations: Vec<Inflated>,
    /// Its balloon is up by the clock, since then.
    #[serde(skip)]
    pub up_since: Option<DateTime<FixedOffset>>,
    /// Its balloon came down after so many seconds, and the pressure is not written down yet.
    #[serde(skip)]
    pub pressure_open: Option<u32>,
    /// What was measured inside it, in order.
    pub areas: Vec<AreasKept>,
    /// It would not cross once and came back on the table.
    pub tried: bool,
    /// The last that was given. None: not opened, or open on the table.
    pub fate: Option<FateKept>,
}

crate::measure::words! {
    /// Where a box is.
    ItemState {
        /// In the room, unopened.
        AtHand = "at hand",
        /// The seal is broken, whatever became of the device.
        Opened = "opened",
        /// Back in the cupboard, unopened.
        PutBack = "put back",
    }
}

/// An inflation and when it was written down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inflated {
    /// The entry that tells of it.
    #[serde(rename = "entry")]
    pub seq: u64,
    /// When it was written down, not when the balloon went up.
    pub at: DateTime<FixedOffset>,
    /// As it was typed.
    #[serde(flatten)]
    pub inflation: Inflation,
}

/// Areas measured, and when that was written down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AreasKept {
    /// The entry that tells of them.
    #[serde(rename = "entry")]
    pub seq: u64,
    /// When they were written down.
    pub at: DateTime<FixedOffset>,
    /// As they were typed.
    #[serde(flatten)]
    pub areas: Areas,
}

/// How two devices lie, and when that was written down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OverlapKept {
    /// The entry that tells of it.
    #[serde(rename = "entry")]
    pub seq: u64,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
    /// As it was typed; both boxes are open ones of this case.
    #[serde(flatten)]
    pub overlap: Overlap,
}

/// What became of an opened box, and when it was written down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FateKept {
    /// The entry that tells of it.
    #[serde(rename = "entry")]
    pub seq: u64,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
    /// As it was given.
    #[serde(flatten)]
    pub fate: Fate,
    /// As given, else the one lesion that it can only be.
    pub lesion: Option<u8>,
}

/// The team's sign-off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SignOff {
    /// The entry that tells of it.
    #[serde(skip)]
    pub seq: u64,
    /// When it was signed.
    pub at: DateTime<FixedOffset>,
    /// How many were unsettled when it was signed.
    pub unsettled: u32,
    /// Why it was signed unsettled. None where nobody said, or nothing was unsettled.
    pub why: Option<String>,
}

/// One entry in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StoryLine {
    /// The entry's number in the journal.
    #[serde(rename = "entry")]
    pub seq: u64,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
    /// As [`entry_words`] has them.
    pub words: String,
    /// A later entry strikes it out: it changed nothing in the case.
    #[serde(rename = "struck_out")]
    pub struck: bool,
    /// The entry that this one strikes out.
    #[serde(skip)]
    pub strikes: Option<u64>,
    /// The store wrote it by itself: the clock was set back, or what follows came late.
    #[serde(skip)]
    pub notice: bool,
}

/// An entry that has nothing to hold on to, such as a fate whose opening was struck out.
#[derive(Debug, Clone, PartialEq)]
pub struct OrphanEntry {
    /// The entry's number in the journal.
    pub seq: u64,
    /// What it says, and why it has nothing to hold on to.
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

    /// The call of this number; none where it was never made or was struck out.
    pub fn call(&self, number: u32) -> Option<&Call> {
        self.calls.iter().find(|call| call.number == number)
    }

    /// The box of this number; none where it never came or was struck out.
    pub fn item(&self, number: u32) -> Option<&Item> {
        self.items.iter().find(|item| item.number == number)
    }

    /// Oldest first.
    pub fn waiting_calls(&self) -> Vec<&Call> {
        self.calls.iter().filter(|call| call.state == CallState::Waiting).collect()
    }

    /// In the order in which the seals were broken; where the clock was set back, in that of the entries.
    pub fn opened(&self) -> Vec<&Item> {
        let mut opened: Vec<_> = self.items.iter().filter(|item| item.is_opened()).collect();
        opened.sort_by_key(|item| (item.opened_at.filter(|_| !self.clock_went_back), item.seq));
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
    /// The seal is broken: it counts among the opened boxes, whatever its fate.
    pub fn is_opened(&self) -> bool {
        self.state == ItemState::Opened
    }
}

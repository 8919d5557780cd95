//! The kinds of things that can happen.

use crate::catalogue::{Owner, Piece};
use crate::label::{Raw, System};
use crate::lesion::Measurements;
use crate::measure::{Kind, Method};
use crate::udi::DeviceId;
use crate::units::{self, Area, Diameter, Length, Pressure};
use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};

crate::measure::words! {
    /// How soon a called box is wanted.
    Readiness {
        /// Fetch it and open it.
        Asked = "asked",
        /// Have it in the room, unopened.
        HaveReady = "have-ready",
    }
}

crate::measure::words! {
    /// Why a box was opened and not used.
    Unused {
        Dropped = "dropped-or-unsterile",
        WrongSize = "wrong-size",
        WouldNotCross = "would-not-cross",
        Damaged = "damaged",
        NotNeeded = "not-needed",
    }
}

/// What became of an opened box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "fate", rename_all = "kebab-case")]
pub enum Fate {
    Implanted,
    /// A balloon, a wire: used and taken out.
    Used,
    OpenedNotUsed {
        why: Unused,
    },
    LostInPatient,
    NotFound,
}

/// What a call asks for. Nothing measured is needed; a missing product means any product.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Wanted {
    /// Catalogue id of the product.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// The product's name at that moment: the record stands without the catalogue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Diameter>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// The kind of device; with a size and without a product it narrows what may answer the call.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<Kind>,
    /// The catalogue number, where the box has no size.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
}

/// One physical box as far as it was read or typed. Every field may be missing: recording is never refused.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct BoxRead {
    /// Catalogue id of the product, where the identifier is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// The product's name at that moment, or what somebody typed of an unknown box.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<Kind>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    /// By the catalogue, or as typed from the box.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Diameter>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub di: Option<DeviceId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub use_by: Option<NaiveDate>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made: Option<NaiveDate>,
    /// The standard of the label; none where nothing was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub system: Option<System>,
    /// GS1: the label's fields as they are printed under the symbol, identifiers in brackets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub printed: Option<String>,
    /// Price at that moment, in the policy's currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// Whose piece it was by the shelf at that moment: what is consigned is paid for when it is opened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<Owner>,
    /// Where it lay by the shelf at that moment: a refill list follows the cupboard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shelf: Option<String>,
    /// The label's bytes and how they came; none where nothing was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raw: Option<Raw>,
}

/// A balloon went up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Inflation {
    pub at_atm: Pressure,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seconds: Option<u32>,
    /// By the product's chart, in water, at that moment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chart_mm: Option<Diameter>,
    /// The product's rated burst pressure at that moment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_burst_atm: Option<Pressure>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lesion: Option<u8>,
}

impl Inflation {
    /// Above what the product bore when it was written down; false where that is not known.
    pub fn is_past_rated_burst(&self) -> bool {
        self.rated_burst_atm.is_some_and(|burst| !units::at_most(self.at_atm.atm(), burst.atm()))
    }
}

/// What was measured inside an implanted device: its minimal stent area and both reference lumens.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Areas {
    pub msa_mm2: Area,
    pub proximal_mm2: Area,
    pub distal_mm2: Area,
    pub method: Method,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub segment: Option<String>,
}

crate::measure::words! {
    /// How a length inside the vessel is known.
    Certainty {
        /// On intravascular imaging.
        Measured = "measured",
        /// By eye on the angiogram.
        Estimated = "estimated",
    }
}

/// How two implanted devices of one lesion lie to each other.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Overlap {
    pub lesion: u8,
    /// The box whose device lies nearer to the end of the vessel.
    pub distal: u32,
    pub proximal: u32,
    /// In mm, 0 or more: what both cover, or what lies bare between them where `gap` is true.
    pub mm: Length,
    /// They do not meet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gap: bool,
    pub how: Certainty,
}

/// One kind of thing that can happen. `item` numbers the physical boxes of a case, `call` its calls, `lesion`
/// its lesions, each from 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Fact {
    /// Replaces what is on hand.
    StockLoaded {
        from: String,
        pieces: Vec<Piece>,
    },
    /// Laid to what is on hand.
    StockReceived {
        from: String,
        pieces: Vec<Piece>,
    },
    /// These, as they lay, lie there now.
    StockMoved {
        pieces: Vec<Piece>,
        to: String,
    },
    /// Everything in this place was counted: what was found replaces what was thought to lie there.
    StockCounted {
        shelf: String,
        pieces: Vec<Piece>,
    },
    /// These, as they lay, were taken off the shelf, unopened, and not for a case.
    StockPulled {
        why: String,
        pieces: Vec<Piece>,
    },
    /// A lot is not to be used. Without an identifier it is that lot of any product.
    LotRecalled {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        di: Option<DeviceId>,
        lot: String,
    },
    /// The size printed on the box of this identifier was read by eye and typed in this room.
    PrintedSizeTyped {
        di: DeviceId,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        diameter: Option<Diameter>,
        length: Length,
        agrees: bool,
    },
    CaseBegun,
    /// Replaces what was measured of this lesion before.
    LesionMeasured {
        lesion: u8,
        measured: Measurements,
    },
    Called {
        call: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lesion: Option<u8>,
        wanted: Wanted,
        readiness: Readiness,
        /// The engine's verdict and first reason at that moment; none where nothing was measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        verdict: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    ReadinessChanged {
        call: u32,
        readiness: Readiness,
    },
    CallCancelled {
        call: u32,
    },
    /// The box is in the room, unopened, and was read back. `finding` is the read-back's headline.
    BoxAtHand {
        item: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        call: Option<u32>,
        label: BoxRead,
        finding: String,
        /// Why it goes on although it is not what was called.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
    /// The seal is broken. An item that was at hand keeps its number.
    BoxOpened {
        item: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        call: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lesion: Option<u8>,
        label: BoxRead,
        finding: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
        /// Written down so long after it happened.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes_ago: Option<u32>,
    },
    /// Back in the cupboard, unopened.
    BoxPutBack {
        item: u32,
        label: BoxRead,
        finding: String,
    },
    /// The item's balloon goes up: the clock runs from the time of this entry, on every screen of the room.
    BalloonUp {
        item: u32,
    },
    /// It is down again. The pressure follows as an inflation, when somebody types it.
    BalloonDown {
        item: u32,
        /// By the clock of the screen on which it came down.
        seconds: u32,
    },
    /// The item's balloon went up.
    Inflated {
        item: u32,
        #[serde(flatten)]
        inflation: Inflation,
    },
    /// The expansion reached was measured.
    AreasMeasured {
        item: u32,
        #[serde(flatten)]
        areas: Areas,
    },
    FateGiven {
        item: u32,
        #[serde(flatten)]
        fate: Fate,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lesion: Option<u8>,
    },
    /// Two devices as they lie in the vessel; replaces what was said of the same two before.
    OverlapPlaced {
        #[serde(flatten)]
        overlap: Overlap,
    },
    /// It would not cross and lies on the table again; its fate is open.
    BackOnTable {
        item: u32,
    },
    /// An item that is already open is used on this lesion as well.
    UsedAgain {
        item: u32,
        lesion: u8,
        /// The call that it answers instead of a new box.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        call: Option<u32>,
    },
    /// The entry with this number is to be read as if it had not been written.
    StruckOut {
        entry: u64,
        why: String,
    },
    SignedOff {
        unsettled: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    /// The clock of the machine stands before the time of an entry that is already there, by more than two
    /// programs that write at once could explain. The store writes it before the entry that it noticed it at.
    ClockWentBack {
        /// The latest time that had been written down.
        before: DateTime<FixedOffset>,
    },
    /// What the same command goes on to say was entered at this time and could not be saved then.
    HeldBack {
        entered: DateTime<FixedOffset>,
    },
}

impl Fact {
    /// Written by the store by itself: how the entry beside it came, nothing that somebody did.
    pub const fn is_notice(&self) -> bool {
        matches!(self, Fact::ClockWentBack { .. } | Fact::HeldBack { .. })
    }
}

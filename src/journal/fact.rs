//! The kinds of things that can happen.

use super::finding::{Finding, Recorded};
use crate::catalogue::{Owner, Piece};
use crate::fit::Verdict;
use crate::label::{Raw, System};
use crate::lesion::Measurements;
use crate::measure::{Kind, Method};
use crate::udi::DeviceId;
use crate::units::{self, Area, Diameter, Length, Pressure};
use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};
use serde_with::skip_serializing_none;

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
    /// Left in the vessel: a stent or a scaffold.
    Implanted,
    /// A balloon, a wire: used and taken out.
    Used,
    /// It left the patient, if it went in at all, and did nothing there. Its cost counts as waste.
    OpenedNotUsed {
        /// One reason, even where several are true.
        why: Unused,
    },
    /// It stayed in the patient where nobody wanted it: a stent that slipped off, a part that broke off.
    LostInPatient,
    /// Nobody knows where it is: the count at the end of the case does not come out.
    NotFound,
}

/// What a call asks for. Nothing measured is needed; a missing product means any product.
#[skip_serializing_none]
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Wanted {
    /// Catalogue id of the product.
    pub product: Option<String>,
    /// The product's name at that moment: the record stands without the catalogue.
    pub name: Option<String>,
    /// Labelled diameter, in mm. None: any, or a box without a size.
    pub diameter: Option<Diameter>,
    /// Labelled length, in mm. None: any, or a box without a size.
    pub length: Option<Length>,
    /// The kind of device; with a size and without a product it narrows what may answer the call.
    pub kind: Option<Kind>,
    /// The catalogue number, where the box has no size.
    pub reference: Option<String>,
}

/// One physical box as far as it was read or typed. Every field may be missing: recording is never refused.
#[skip_serializing_none]
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct BoxRead {
    /// Catalogue id of the product, where the identifier is known.
    pub product: Option<String>,
    /// The product's name at that moment, or what somebody typed of an unknown box.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The product's maker at that moment, by the catalogue: a patient's implant card names it (@mdr-18).
    pub maker: Option<String>,
    /// By the catalogue. None where no product has the identifier, or nothing was read.
    pub kind: Option<Kind>,
    /// The catalogue number (REF) by the catalogue, or as typed from the box.
    pub reference: Option<String>,
    /// By the catalogue, or as typed from the box.
    pub diameter: Option<Diameter>,
    /// Labelled length, in mm, from the same place as the diameter.
    pub length: Option<Length>,
    /// The device identifier (UDI-DI) by the label.
    pub di: Option<DeviceId>,
    /// Batch or lot number as the label has it, at most 20 characters by GS1; None where the label has none
    /// or it is doubtful.
    pub lot: Option<String>,
    /// Serial number as the label has it. With the identifier it means one physical box and no other.
    pub serial: Option<String>,
    /// The last day on which the box is in date.
    pub use_by: Option<NaiveDate>,
    /// The day on which it was made, where the label says so.
    pub made: Option<NaiveDate>,
    /// The standard of the label; none where nothing was read.
    pub system: Option<System>,
    /// GS1: the label's fields as they are printed under the symbol, identifiers in brackets.
    pub printed: Option<String>,
    /// Price at that moment, in the policy's currency.
    pub price: Option<f64>,
    /// Whose piece it was by the shelf at that moment: what is consigned is paid for when it is opened.
    pub owner: Option<Owner>,
    /// Where it lay by the shelf at that moment: a refill list follows the cupboard.
    pub shelf: Option<String>,
    /// The label's bytes and how they came; none where nothing was read.
    pub raw: Option<Raw>,
}

/// A balloon went up.
#[skip_serializing_none]
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Inflation {
    /// The highest pressure that it was held at, in atm, as typed.
    pub at_atm: Pressure,
    /// How long it was up, in seconds. None where nobody said.
    pub seconds: Option<u32>,
    /// By the product's chart, in water, at that moment.
    pub chart_mm: Option<Diameter>,
    /// The product's rated burst pressure at that moment.
    pub rated_burst_atm: Option<Pressure>,
    /// The lesion in which it went up.
    pub lesion: Option<u8>,
}

impl Inflation {
    /// Above what the product bore when it was written down; false where that is not known.
    pub fn is_past_rated_burst(&self) -> bool {
        self.rated_burst_atm.is_some_and(|burst| !units::at_most(self.at_atm.atm(), burst.atm()))
    }
}

/// What was measured inside an implanted device: its minimal stent area and both reference lumens.
#[skip_serializing_none]
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Areas {
    /// Minimal stent area: the smallest lumen inside the device, in mm².
    pub msa_mm2: Area,
    /// Lumen at the proximal reference, in mm².
    pub proximal_mm2: Area,
    /// Lumen at the distal reference, in mm².
    pub distal_mm2: Area,
    /// IVUS or OCT: no criterion is made for an angiogram.
    pub method: Method,
    /// The segment's number or name, as typed; 5, the left main, has criteria of its own.
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
    /// The lesion in which both were implanted.
    pub lesion: u8,
    /// The box whose device lies nearer to the end of the vessel.
    pub distal: u32,
    /// The box whose device lies nearer to the ostium. Never the same as `distal`.
    pub proximal: u32,
    /// In mm, 0 or more: what both cover, or what lies bare between them where `gap` is true.
    pub mm: Length,
    /// They do not meet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gap: bool,
    /// What `mm` rests on.
    pub how: Certainty,
}

/// One kind of thing that can happen. `item` numbers the physical boxes of a case, `call` its calls, `lesion`
/// its lesions, each from 1.
#[skip_serializing_none]
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Fact {
    /// Replaces what is on hand.
    StockLoaded {
        /// Where the pieces were listed: a file's name, or words.
        from: String,
        /// Every row of the list, those with a count of 0 included: their place stays known.
        pieces: Vec<Piece>,
    },
    /// Laid to what is on hand.
    StockReceived {
        /// A file's name, or `scanned`.
        from: String,
        /// What came, with the place where each is laid.
        pieces: Vec<Piece>,
    },
    /// These, as they lay, are there now.
    StockMoved {
        /// With the place that they are taken from. Of what is not there nothing is moved.
        pieces: Vec<Piece>,
        /// The place where they lie from now on.
        to: String,
    },
    /// Everything in this place was counted: what was found replaces what was thought to be there.
    StockCounted {
        /// The place, spelt as in the rows of the stock.
        shelf: String,
        /// All that was found there; none: the place is empty.
        pieces: Vec<Piece>,
    },
    /// These, as they lay, were taken off the shelf, unopened, and not for a case.
    StockPulled {
        /// In the words of whoever pulled them.
        why: String,
        /// With the place that they are taken from.
        pieces: Vec<Piece>,
    },
    /// A lot is not to be used. Without an identifier it is that lot of any product.
    LotRecalled {
        /// At any packaging level: a recall may name the carton.
        di: Option<DeviceId>,
        /// Compared without case and without blanks around it.
        lot: String,
    },
    /// The size printed on the box of this identifier was read by eye and typed in this room.
    PrintedSizeTyped {
        /// The identifier that the label carried.
        di: DeviceId,
        /// In mm, as typed. None where the box prints none.
        diameter: Option<Diameter>,
        /// In mm, as typed.
        length: Length,
        /// Both are those of the catalogue. If not, later boxes of this identifier say CHECK BY EYE.
        agrees: bool,
    },
    /// The first fact of a case, which tells its code. It can't be struck out: the code may already be on
    /// paper.
    CaseBegun,
    /// Replaces what was measured of this lesion before.
    LesionMeasured {
        /// From 1.
        lesion: u8,
        /// As typed, not checked; what was not given is not there.
        measured: Measurements,
    },
    /// A size was asked for. Its box is brought, read back and opened under the call's number.
    Called {
        /// Never given twice in a case, not even after a strike.
        call: u32,
        /// The lesion that it was called for.
        lesion: Option<u8>,
        /// As it was asked for, before any box was read.
        wanted: Wanted,
        /// Until a change of readiness says otherwise.
        readiness: Readiness,
        /// The engine's verdict and first reason at that moment; none where nothing was measured.
        verdict: Option<Recorded<Verdict>>,
        /// The first reason in words, or the span that the device is part of.
        why: Option<String>,
    },
    /// The same call is wanted sooner, or can wait.
    ReadinessChanged {
        /// A call of the same case.
        call: u32,
        /// From now on.
        readiness: Readiness,
    },
    /// It is not wanted any more. A box that comes and is opened all the same is still its box.
    CallCancelled {
        /// A call of the same case.
        call: u32,
    },
    /// The box is in the room, unopened, and was read back.
    BoxAtHand {
        /// A new number, or that of the same box at hand.
        item: u32,
        /// The call that it was brought for. None: it answers none.
        call: Option<u32>,
        /// As read, or as typed where nothing could be read.
        label: BoxRead,
        /// What the screen showed in big letters.
        finding: Finding,
        /// Why it goes on although it is not what was called.
        reason: Option<String>,
    },
    /// The seal is broken. An item that was at hand keeps its number.
    BoxOpened {
        /// A new number, or that of the box at hand.
        item: u32,
        /// The call that it answers. None: opened without a call.
        call: Option<u32>,
        /// The lesion that it was opened for; else that of its call counts.
        lesion: Option<u8>,
        /// As read, or as typed. Empty: what was written down when it came into the room stays.
        label: BoxRead,
        /// What the screen showed in big letters.
        finding: Finding,
        /// Why it was opened although the read-back did not say SAME.
        reason: Option<String>,
        /// Written down so long after it happened.
        minutes_ago: Option<u32>,
    },
    /// Back in the cupboard, unopened.
    BoxPutBack {
        /// A new number where it was never at hand: a wrong box that was read and went back.
        item: u32,
        /// As read.
        label: BoxRead,
        /// What the screen showed in big letters when it was read.
        finding: Finding,
    },
    /// The item's balloon goes up: the clock runs from the time of this entry, on every screen of the room.
    BalloonUp {
        /// An opened balloon, or a stent on its balloon.
        item: u32,
    },
    /// It is down again. The pressure follows as an inflation, when somebody types it.
    BalloonDown {
        /// The one that was up.
        item: u32,
        /// By the clock of the screen on which it came down.
        seconds: u32,
    },
    /// The item's balloon went up.
    Inflated {
        /// An opened balloon, or a stent on its balloon.
        item: u32,
        /// Its fields are beside `item` in the body.
        #[serde(flatten)]
        inflation: Inflation,
    },
    /// The expansion reached was measured.
    AreasMeasured {
        /// The opened box whose device was measured.
        item: u32,
        /// Its fields are beside `item` in the body.
        #[serde(flatten)]
        areas: Areas,
    },
    /// What became of an opened box; a later fate replaces an earlier one.
    FateGiven {
        /// An opened box.
        item: u32,
        /// Its fields are beside `item` in the body.
        #[serde(flatten)]
        fate: Fate,
        /// Where it was used, as somebody said. None: an implant counts for the only lesion that it can be.
        lesion: Option<u8>,
    },
    /// Two devices as they are in the vessel; replaces what was said of the same two before.
    OverlapPlaced {
        /// Its fields are at the top of the body.
        #[serde(flatten)]
        overlap: Overlap,
    },
    /// It would not cross and is on the table again; its fate is open.
    BackOnTable {
        /// An opened box.
        item: u32,
    },
    /// An item that is already open is used on this lesion as well.
    UsedAgain {
        /// The opened box, mostly a balloon.
        item: u32,
        /// The lesion in which it goes up now.
        lesion: u8,
        /// The call that it answers instead of a new box.
        call: Option<u32>,
    },
    /// The entry with this number is to be read as if it had not been written.
    StruckOut {
        /// Its `seq`; an earlier entry of the same journal. A strike and the beginning of a case stay as
        /// they are.
        entry: u64,
        /// In the words of whoever struck it out.
        why: String,
    },
    /// The team closed the case. It may be signed again, after something was settled or struck out.
    SignedOff {
        /// How many answers the case still owed, as `Case::unsettled` lists them.
        unsettled: u32,
        /// Why it was signed unsettled. None with 0 unsettled.
        why: Option<String>,
    },
    /// The clock of the machine is before the time of an entry that is already there, by more than two
    /// programs that write at once could explain. The store writes it before the entry that it noticed it at.
    ClockWentBack {
        /// The latest time that had been written down.
        before: DateTime<FixedOffset>,
    },
    /// The clock of the machine stands more than thirty days after the time of the entry before. The store writes it
    /// before the entry that it noticed it at.
    ClockWentAhead {
        /// The latest time that had been written down.
        before: DateTime<FixedOffset>,
    },
    /// Somebody has looked, and the computer's date is right. From here on it is the last day of the journal, whatever
    /// was written before.
    DateConfirmed {
        /// As it was typed: the day of the computer.
        day: NaiveDate,
        /// In the words of whoever confirmed it.
        why: String,
    },
    /// What the same command goes on to say was entered at this time and could not be saved then.
    HeldBack {
        /// By the clock of the machine that held it back.
        entered: DateTime<FixedOffset>,
    },
}

impl Fact {
    /// Written by the store by itself: how the entry beside it came, nothing that somebody did.
    pub const fn is_notice(&self) -> bool {
        matches!(self, Fact::ClockWentBack { .. } | Fact::ClockWentAhead { .. } | Fact::HeldBack { .. })
    }
}

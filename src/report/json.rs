//! The record for other programs. Its shape is a promise: fields are added, never renamed.

use super::csv::{owner_words, state_words};
use super::{CAUTION, CaseReport};
use crate::case::{CallState, Case, Cost, Item, Laid, wanted_words};
use crate::journal::chain::{Link, hex};
use crate::journal::{Areas, BoxRead, Fate, Inflation, Overlap, Readiness, Unused, Wanted};
use crate::lesion::Measurements;
use chrono::{DateTime, FixedOffset};
use serde::Serialize;
use std::collections::BTreeMap;

/// One case. Times are RFC 3339 with their offset; lengths and diameters in mm, pressures in atm; numbers are
/// not rounded; a field without a value is null or left out as each says.
#[derive(Debug, Clone, Serialize)]
pub struct Record<'a> {
    /// The shape's number: 1.
    pub schema: u32,
    /// The case code: five characters, the only tie to a person.
    pub case: &'a str,
    /// When the case was begun.
    pub begun: DateTime<FixedOffset>,
    /// Null while it is open.
    pub signed: Option<Signed<'a>>,
    /// The policy's, as it stands there; every cost is in it.
    pub currency: &'a str,
    /// By the lesion's number; measures that were not given are left out.
    pub lesions: BTreeMap<u8, &'a Measurements>,
    /// In the order in which they were called, cancelled ones among them.
    pub calls: Vec<CallRecord<'a>>,
    /// In the order in which they came into the room, those put back among them.
    pub boxes: Vec<BoxRecord<'a>>,
    /// Every box counted.
    pub totals: TotalsRecord,
    /// By the product's name, or what else a box is called.
    pub totals_by_product: BTreeMap<String, TotalsRecord>,
    /// Of what was opened and not used, in `currency`; `unpriced` boxes are not in it.
    pub opened_not_used: WasteRecord,
    /// Of everything that was opened, the same way.
    pub opened_cost: WasteRecord,
    /// What was said last of each two devices.
    pub overlaps: Vec<OverlapRecord<'a>>,
    /// Lesions with two implanted stents or more: how they lie.
    pub placed: Vec<PlacedRecord>,
    /// What was opened, to be brought back, in cupboard order.
    pub refill: Vec<RefillRecord<'a>>,
    /// Opened boxes on consignment: they are paid for.
    pub consigned_used: Vec<OwedRecord>,
    /// Opened boxes that were borrowed: one of each is owed.
    pub to_return: Vec<OwedRecord>,
    /// In words, the most pressing first; empty when everything is settled.
    pub unsettled: Vec<String>,
    /// Every entry of the case in words, struck-out ones among them.
    pub story: Vec<StoryRecord<'a>>,
    /// What is stored of the case, so that anybody can check it: `hash` is the SHA-256 of `previous` (its bytes) and
    /// `body`; where two numbers follow each other, the `previous` of the second is the `hash` of the first.
    pub entries: Vec<EntryRecord<'a>>,
    /// Name and version of the program that wrote the record.
    pub program: &'a str,
    /// The hash of the journal's last entry at that moment, in hexadecimal.
    pub journal_head: &'a str,
    /// When this record was written.
    pub written: DateTime<FixedOffset>,
    /// [`CAUTION`].
    pub caution: &'static str,
}

#[derive(Debug, Clone, Serialize)]
pub struct Signed<'a> {
    pub at: DateTime<FixedOffset>,
    pub unsettled: u32,
    pub why: Option<&'a str>,
}

/// `state` is `waiting`, `at-hand`, `opened` or `cancelled`; `box` the number of its box in the middle two.
#[derive(Debug, Clone, Serialize)]
pub struct CallRecord<'a> {
    pub call: u32,
    pub entry: u64,
    pub at: DateTime<FixedOffset>,
    pub lesion: Option<u8>,
    pub wanted: &'a Wanted,
    pub words: String,
    pub readiness: Readiness,
    pub verdict: Option<&'a str>,
    pub why: Option<&'a str>,
    pub state: &'static str,
    #[serde(rename = "box")]
    pub item: Option<u32>,
}

/// `state` is `at hand`, `opened` or `put back`; `label` leaves out what was not read.
#[derive(Debug, Clone, Serialize)]
pub struct BoxRecord<'a> {
    #[serde(rename = "box")]
    pub item: u32,
    pub entry: u64,
    pub state: &'static str,
    pub at_hand_at: Option<DateTime<FixedOffset>>,
    pub opened_at: Option<DateTime<FixedOffset>>,
    pub call: Option<u32>,
    pub label: &'a BoxRead,
    pub read_back: &'a str,
    pub reason: Option<&'a str>,
    pub lesions: &'a [u8],
    pub inflations: Vec<InflationRecord<'a>>,
    /// Expansion measured inside it, in order.
    pub areas: Vec<AreasRecord<'a>>,
    /// It would not cross once and came back on the table.
    pub tried: bool,
    /// Null while it is not settled.
    pub fate: Option<FateRecord>,
}

#[derive(Debug, Clone, Serialize)]
pub struct AreasRecord<'a> {
    pub entry: u64,
    pub at: DateTime<FixedOffset>,
    #[serde(flatten)]
    pub areas: &'a Areas,
}

#[derive(Debug, Clone, Serialize)]
pub struct InflationRecord<'a> {
    pub entry: u64,
    pub at: DateTime<FixedOffset>,
    #[serde(flatten)]
    pub inflation: &'a Inflation,
}

#[derive(Debug, Clone, Serialize)]
pub struct FateRecord {
    pub entry: u64,
    pub at: DateTime<FixedOffset>,
    #[serde(flatten)]
    pub fate: Fate,
    pub lesion: Option<u8>,
}

/// `opened` = `implanted` + `used` + the sum of `opened_not_used` + `lost` + `not_found` + `unsettled`.
#[derive(Debug, Clone, Serialize)]
pub struct TotalsRecord {
    pub opened: u32,
    pub implanted: u32,
    pub used: u32,
    /// By reason; reasons that did not occur are left out.
    pub opened_not_used: BTreeMap<Unused, u32>,
    pub lost: u32,
    pub not_found: u32,
    pub unsettled: u32,
    pub put_back: u32,
    pub at_hand: u32,
}

#[derive(Debug, Clone, Serialize)]
pub struct WasteRecord {
    pub cost: f64,
    pub unpriced: u32,
}

/// `distal` and `proximal` are numbers of boxes; `mm` is what both cover, or what lies bare between them where `gap`
/// is true.
#[derive(Debug, Clone, Serialize)]
pub struct OverlapRecord<'a> {
    pub entry: u64,
    pub at: DateTime<FixedOffset>,
    #[serde(flatten)]
    pub overlap: &'a Overlap,
}

/// `boxes` stand distal first where they are known to lie in a row; else `end_to_end_mm` is null and `not_known` says
/// why.
#[derive(Debug, Clone, Serialize)]
pub struct PlacedRecord {
    pub lesion: u8,
    pub boxes: Vec<u32>,
    pub end_to_end_mm: Option<f64>,
    pub not_known: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub struct RefillRecord<'a> {
    pub place: &'a str,
    pub words: &'a str,
    #[serde(rename = "ref")]
    pub reference: &'a str,
    pub count: u32,
}

#[derive(Debug, Clone, Serialize)]
pub struct OwedRecord {
    #[serde(rename = "box")]
    pub item: u32,
    pub owner: String,
}

#[derive(Debug, Clone, Serialize)]
pub struct StoryRecord<'a> {
    pub entry: u64,
    pub at: DateTime<FixedOffset>,
    pub words: &'a str,
    pub struck_out: bool,
}

/// One entry as the journal holds it; hashes in hexadecimal.
#[derive(Debug, Clone, Serialize)]
pub struct EntryRecord<'a> {
    pub entry: u64,
    pub previous: String,
    pub hash: String,
    pub body: &'a str,
}

/// The record as JSON, indented, with a line end.
pub fn json(report: &CaseReport) -> String {
    // The record holds no map with keys that aren't text or numbers, so it can always be written.
    serde_json::to_string_pretty(&record(report)).map(|text| text + "\n").unwrap_or_default()
}

/// The same as values, for whoever writes them into something larger.
pub fn record<'a>(report: &'a CaseReport) -> Record<'a> {
    let case = report.case;
    let totals = case.totals();
    let cost = |cost: Cost| WasteRecord { cost: cost.cost, unpriced: cost.unpriced };
    let owed = |list: &[crate::shelf::Owed]| {
        list.iter()
            .map(|owed| OwedRecord { item: owed.item.number, owner: owner_words(&owed.owner) })
            .collect()
    };
    let refill = report.refill.iter().map(|refill| RefillRecord {
        place: &refill.place,
        words: &refill.words,
        reference: &refill.reference,
        count: refill.count,
    });
    let story = case.story.iter().map(|line| StoryRecord {
        entry: line.seq,
        at: line.at,
        words: &line.words,
        struck_out: line.struck,
    });
    Record {
        schema: 1,
        case: case.code.as_str(),
        begun: case.begun,
        signed: case.signed.as_ref().map(|signed| Signed {
            at: signed.at,
            unsettled: signed.unsettled,
            why: signed.why.as_deref(),
        }),
        currency: report.currency,
        lesions: case.lesions.iter().map(|(number, measured)| (*number, measured)).collect(),
        calls: calls(case),
        boxes: case.items.iter().map(box_record).collect(),
        totals: totals_record(totals),
        totals_by_product: case
            .totals_by_product()
            .into_iter()
            .map(|(name, totals)| (name, totals_record(totals)))
            .collect(),
        opened_not_used: cost(case.waste()),
        opened_cost: cost(case.cost()),
        overlaps: case
            .overlaps
            .iter()
            .map(|kept| OverlapRecord { entry: kept.seq, at: kept.at, overlap: &kept.overlap })
            .collect(),
        placed: case.laid().iter().map(placed).collect(),
        refill: refill.collect(),
        consigned_used: owed(&report.consigned),
        to_return: owed(&report.to_return),
        unsettled: case.unsettled().iter().map(|one| one.words().to_string()).collect(),
        story: story.collect(),
        entries: report.links.iter().map(entry_record).collect(),
        program: report.program,
        journal_head: report.head,
        written: report.written,
        caution: CAUTION,
    }
}

fn placed(laid: &Laid) -> PlacedRecord {
    PlacedRecord {
        lesion: laid.lesion,
        boxes: laid.stents.iter().map(|item| item.number).collect(),
        end_to_end_mm: laid.end_to_end.as_ref().ok().map(|whole| whole.mm()),
        not_known: laid.end_to_end.as_ref().err().cloned(),
    }
}

fn totals_record(totals: crate::case::Totals) -> TotalsRecord {
    TotalsRecord {
        opened: totals.opened,
        implanted: totals.implanted,
        used: totals.used,
        opened_not_used: totals.unused,
        lost: totals.lost,
        not_found: totals.not_found,
        unsettled: totals.unsettled,
        put_back: totals.put_back,
        at_hand: totals.at_hand,
    }
}

fn entry_record(link: &Link) -> EntryRecord<'_> {
    EntryRecord { entry: link.seq, previous: hex(&link.previous), hash: hex(&link.hash), body: &link.body }
}

fn calls(case: &Case) -> Vec<CallRecord<'_>> {
    case.calls
        .iter()
        .map(|call| {
            let (state, item) = call_state(call.state);
            CallRecord {
                call: call.number,
                entry: call.seq,
                at: call.at,
                lesion: call.lesion,
                wanted: &call.wanted,
                words: wanted_words(&call.wanted),
                readiness: call.readiness,
                verdict: call.verdict.as_deref(),
                why: call.why.as_deref(),
                state,
                item,
            }
        })
        .collect()
}

fn call_state(state: CallState) -> (&'static str, Option<u32>) {
    match state {
        CallState::Waiting => ("waiting", None),
        CallState::AtHand { item } => ("at-hand", Some(item)),
        CallState::Opened { item } => ("opened", Some(item)),
        CallState::Cancelled => ("cancelled", None),
    }
}

fn box_record(item: &Item) -> BoxRecord<'_> {
    let inflations = item.inflations.iter();
    BoxRecord {
        item: item.number,
        entry: item.seq,
        state: state_words(item.state),
        at_hand_at: item.at_hand_at,
        opened_at: item.opened_at,
        call: item.call,
        label: &item.label,
        read_back: &item.finding,
        reason: item.reason.as_deref(),
        lesions: &item.lesions,
        inflations: inflations
            .map(|one| InflationRecord { entry: one.seq, at: one.at, inflation: &one.inflation })
            .collect(),
        areas: item
            .areas
            .iter()
            .map(|kept| AreasRecord { entry: kept.seq, at: kept.at, areas: &kept.areas })
            .collect(),
        tried: item.tried,
        fate: item.fate.as_ref().map(|kept| FateRecord {
            entry: kept.seq,
            at: kept.at,
            fate: kept.fate,
            lesion: kept.lesion,
        }),
    }
}

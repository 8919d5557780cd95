//! The record for other programs. Its shape is a promise: fields are added, never renamed.

use super::CaseReport;
use super::csv::state_words;
use crate::case::{CallState, Case, Cost, Item, Laid, wanted_words};
use crate::deference::LONG;
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
    /// The same as `deference`: kept, for a field is never taken away.
    pub caution: &'static str,
    /// [`LONG`]: who decides.
    pub deference: &'static str,
}

/// The last sign-off that was not struck out.
#[derive(Debug, Clone, Serialize)]
pub struct Signed<'a> {
    /// When it was signed, by the room's clock.
    pub at: DateTime<FixedOffset>,
    /// How many things were unsettled then: from 0. What is unsettled now stands in [`Record::unsettled`].
    pub unsettled: u32,
    /// Why it was signed all the same, as typed. Null with 0 unsettled, or where nobody said.
    pub why: Option<&'a str>,
}

/// A size that was asked for.
#[derive(Debug, Clone, Serialize)]
pub struct CallRecord<'a> {
    /// Its number in the case: from 1, never given twice.
    pub call: u32,
    /// The journal's entry that made it: from 1.
    pub entry: u64,
    /// When it was called.
    pub at: DateTime<FixedOffset>,
    /// The lesion's number, from 1. Null: called for none.
    pub lesion: Option<u8>,
    /// What was asked for; mm. What was not asked is left out: any will do.
    pub wanted: &'a Wanted,
    /// The same in words, as `3.00 × 29 Fell`.
    pub words: String,
    /// `asked` or `have-ready`, as it was said last.
    pub readiness: Readiness,
    /// The size's verdict when it was called, as `fit` names them. Null: nothing was measured.
    pub verdict: Option<&'a str>,
    /// The verdict's first reason in words, or the span that the device is part of. Null: neither.
    pub why: Option<&'a str>,
    /// `waiting`, `at-hand`, `opened` or `cancelled`.
    pub state: &'static str,
    /// The number of its box where `state` is `at-hand` or `opened`; else null.
    #[serde(rename = "box")]
    pub item: Option<u32>,
}

/// A box that came into the room.
#[derive(Debug, Clone, Serialize)]
pub struct BoxRecord<'a> {
    /// Its number in the case: from 1, never given twice.
    #[serde(rename = "box")]
    pub item: u32,
    /// The journal's entry that tells its state: from 1.
    pub entry: u64,
    /// `at hand`, `opened` or `put back`.
    pub state: &'static str,
    /// When it was last kept in the room unopened. Null: it never was.
    pub at_hand_at: Option<DateTime<FixedOffset>>,
    /// When its seal was broken: minutes that went by before it was written down are taken off. Null: it was not.
    pub opened_at: Option<DateTime<FixedOffset>>,
    /// The call that it was brought for, whatever it turned out to be. Null: none.
    pub call: Option<u32>,
    /// As read, or as typed where nothing could be read; mm. What was not read is left out.
    pub label: &'a BoxRead,
    /// The headline of the read-back, as `SAME AS CALL 1` or `STOP: EXPIRED`.
    pub read_back: &'a str,
    /// Why it went on although it was not what was called, as typed. Null: nobody had to say.
    pub reason: Option<&'a str>,
    /// The numbers of the lesions in which it was used, in order, none twice.
    pub lesions: &'a [u8],
    /// How often its balloon went up, in the order in which that was written down.
    pub inflations: Vec<InflationRecord<'a>>,
    /// Expansion measured inside it, in order.
    pub areas: Vec<AreasRecord<'a>>,
    /// It would not cross once and came back on the table.
    pub tried: bool,
    /// Null while it is not settled.
    pub fate: Option<FateRecord>,
}

/// Areas measured inside an implanted device, in mm².
#[derive(Debug, Clone, Serialize)]
pub struct AreasRecord<'a> {
    /// The journal's entry: from 1.
    pub entry: u64,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
    /// Its fields stand beside `entry`: `msa_mm2`, `proximal_mm2`, `distal_mm2`, `method`, `segment`.
    #[serde(flatten)]
    pub areas: &'a Areas,
}

/// A balloon went up once.
#[derive(Debug, Clone, Serialize)]
pub struct InflationRecord<'a> {
    /// The journal's entry: from 1.
    pub entry: u64,
    /// When it was written down, not when the balloon went up.
    pub at: DateTime<FixedOffset>,
    /// Its fields stand beside `entry`: `at_atm` and `rated_burst_atm` in atm, `seconds` from 0, `chart_mm` in mm by the
    /// product's chart, in water, `lesion`. What nobody said or knew is left out.
    #[serde(flatten)]
    pub inflation: &'a Inflation,
}

/// What became of an opened box, as it was said last.
#[derive(Debug, Clone, Serialize)]
pub struct FateRecord {
    /// The journal's entry: from 1.
    pub entry: u64,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
    /// `fate`: `implanted`, `used`, `opened-not-used`, `lost-in-patient` or `not-found`; with `opened-not-used` a `why`.
    #[serde(flatten)]
    pub fate: Fate,
    /// As said, else the only lesion that it can be. Null: not known.
    pub lesion: Option<u8>,
}

/// Boxes counted, each from 0: `opened` = `implanted` + `used` + the sum of `opened_not_used` + `lost` + `not_found` +
/// `unsettled`.
#[derive(Debug, Clone, Serialize)]
pub struct TotalsRecord {
    /// Every box whose seal was broken.
    pub opened: u32,
    /// Stents and scaffolds left in the vessel.
    pub implanted: u32,
    /// Balloons and wires: used and taken out.
    pub used: u32,
    /// By reason; reasons that did not occur are left out.
    pub opened_not_used: BTreeMap<Unused, u32>,
    /// Lost in the patient.
    pub lost: u32,
    /// Nobody knows where they are.
    pub not_found: u32,
    /// Opened, and nobody has said what became of them.
    pub unsettled: u32,
    /// Back in the cupboard, unopened: no part of `opened`.
    pub put_back: u32,
    /// In the room, unopened: no part of `opened`.
    pub at_hand: u32,
}

/// What boxes cost, by the prices at their openings.
#[derive(Debug, Clone, Serialize)]
pub struct WasteRecord {
    /// In [`Record::currency`]: from 0; of the boxes with a price.
    pub cost: f64,
    /// Boxes without a price: the cost is at least as high as it says.
    pub unpriced: u32,
}

/// How two devices of one lesion lie to each other.
#[derive(Debug, Clone, Serialize)]
pub struct OverlapRecord<'a> {
    /// The journal's entry: from 1.
    pub entry: u64,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
    /// Its fields stand beside `entry`: `lesion`; `distal` and `proximal`, numbers of boxes; `mm` from 0, what both cover,
    /// or what lies bare between them where `gap` is true; `how`: `measured` or `estimated`.
    #[serde(flatten)]
    pub overlap: &'a Overlap,
}

/// The stents of one lesion, two or more.
#[derive(Debug, Clone, Serialize)]
pub struct PlacedRecord {
    /// The lesion's number, from 1.
    pub lesion: u8,
    /// Numbers of boxes: distal first where they are known to lie in a row, else in the order of their openings.
    pub boxes: Vec<u32>,
    /// From the distal edge of the first to the proximal edge of the last, in mm. Null: not known.
    pub end_to_end_mm: Option<f64>,
    /// What is missing to say it, in words. Null: it is known.
    pub not_known: Option<String>,
}

/// So many boxes of one kind, to be laid into one place.
#[derive(Debug, Clone, Serialize)]
pub struct RefillRecord<'a> {
    /// As the stock spells it; empty where it is not known.
    pub place: &'a str,
    /// `3.00 × 29 Fell`, or what else is known of the box.
    pub words: &'a str,
    /// Its catalogue number (REF); empty where it is not known.
    #[serde(rename = "ref")]
    pub reference: &'a str,
    /// How many of it were opened: from 1.
    pub count: u32,
}

/// An opened box that is not the room's own.
#[derive(Debug, Clone, Serialize)]
pub struct OwedRecord {
    /// Its number in the case.
    #[serde(rename = "box")]
    pub item: u32,
    /// `consigned`, or `borrowed from` and whom.
    pub owner: String,
}

/// One entry in words.
#[derive(Debug, Clone, Serialize)]
pub struct StoryRecord<'a> {
    /// The journal's entry: from 1.
    pub entry: u64,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
    /// What it says; texts that somebody typed stand as they were typed.
    pub words: &'a str,
    /// A later entry strikes it out: it changed nothing in the case.
    pub struck_out: bool,
}

/// One entry as the journal holds it.
#[derive(Debug, Clone, Serialize)]
pub struct EntryRecord<'a> {
    /// Its number: from 1.
    pub entry: u64,
    /// The hash of the entry before it, 64 hexadecimal digits; zeros before the first.
    pub previous: String,
    /// SHA-256 of the bytes of `previous` and `body`, 64 hexadecimal digits.
    pub hash: String,
    /// Its JSON, byte for byte.
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
        list.iter().map(|owed| OwedRecord { item: owed.item.number, owner: owed.owner.to_string() }).collect()
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
        caution: LONG,
        deference: LONG,
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

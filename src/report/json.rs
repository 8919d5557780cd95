//! The record for other programs. Its shape is a promise: fields are added, never renamed.

use super::CaseReport;
use crate::case::{
    Call, CallState, Cost, Item, OverlapKept, SignOff, StentLayout, StoryLine, Totals, wanted_words,
};
use crate::deference::LONG;
use crate::fit::Verdict;
use crate::journal::chain::Link;
use crate::journal::{Readiness, Recorded, Statement, Wanted};
use crate::lesion::Measurements;
use crate::shelf::{Owed, Refill};
use chrono::{DateTime, FixedOffset};
use serde::Serialize;
use std::collections::BTreeMap;

/// One case. Times are RFC 3339 with their offset; lengths and diameters in mm, pressures in atm; numbers are
/// not rounded; a field without a value is null or left out as each says.
#[derive(Debug, Serialize)]
struct Record<'a> {
    /// The shape's number: 1.
    schema: u32,
    /// The case code: five characters, the only tie to a person.
    case: &'a str,
    /// When the case was begun.
    begun: DateTime<FixedOffset>,
    /// Null while it is open.
    signed: Option<&'a SignOff>,
    /// The policy's, as it is there; every cost is in it.
    currency: &'a str,
    /// By the lesion's number; measures that were not given are left out.
    lesions: BTreeMap<u8, &'a Measurements>,
    /// In the order in which they were called, cancelled ones among them.
    calls: Vec<CallRecord<'a>>,
    /// In the order in which they came into the room, those put back among them.
    boxes: &'a [Item],
    /// Every box counted.
    totals: Totals,
    /// By the product's name, or what else a box is called.
    totals_by_product: BTreeMap<String, Totals>,
    /// Of what was opened and not used, in `currency`; `unpriced` boxes are not in it.
    opened_not_used: Cost,
    /// Of everything that was opened, the same way.
    opened_cost: Cost,
    /// What was said last of each two devices.
    overlaps: &'a [OverlapKept],
    /// Lesions with two implanted stents or more: how they lie.
    placed: Vec<PlacedRecord>,
    /// What was opened, to be brought back, in cupboard order.
    refill: &'a [Refill],
    /// Opened boxes on consignment: they are paid for.
    consigned_used: Vec<OwedRecord>,
    /// Opened boxes that were borrowed: one of each is owed.
    to_return: Vec<OwedRecord>,
    /// In words, the most pressing first; empty when everything is settled.
    unsettled: Vec<String>,
    /// Every entry of the case in words, struck-out ones among them.
    story: &'a [StoryLine],
    /// What is stored of the case, so that anybody can check it: `hash` is the SHA-256 of `previous` (its bytes) and
    /// `body`; where two numbers follow each other, the `previous` of the second is the `hash` of the first.
    entries: &'a [Link],
    /// Name and version of the program that wrote the record.
    program: &'a str,
    /// The hash of the journal's last entry at that moment, in hexadecimal.
    journal_head: &'a str,
    /// Number and hash of that entry in one word, as `journal check --against` reads it.
    journal_anchor: String,
    /// What was found out about the journal before the record was written.
    journal: &'a Statement,
    /// When this record was written.
    written: DateTime<FixedOffset>,
    /// The same as `deference`: kept, for a field is never taken away.
    caution: &'static str,
    /// [`LONG`]: who decides.
    deference: &'static str,
}

/// A size that was asked for.
#[derive(Debug, Serialize)]
struct CallRecord<'a> {
    /// Its number in the case: from 1, never given twice.
    call: u32,
    /// The journal's entry that made it: from 1.
    entry: u64,
    at: DateTime<FixedOffset>,
    /// The lesion's number, from 1. Null: called for none.
    lesion: Option<u8>,
    /// What was asked for; mm. What was not asked is left out: any will do.
    wanted: &'a Wanted,
    /// The same in words, as `3.00 × 29 Fell`.
    words: String,
    /// As it was said last.
    readiness: Readiness,
    /// The size's verdict when it was called, as `fit` names them. Null: nothing was measured.
    verdict: Option<&'a Recorded<Verdict>>,
    /// The verdict's first reason in words, or the span that the device is part of. Null: neither.
    why: Option<&'a str>,
    /// `waiting`, `at-hand`, `opened` or `cancelled`.
    state: &'static str,
    /// The number of its box where `state` is `at-hand` or `opened`; else null.
    #[serde(rename = "box")]
    item: Option<u32>,
}

/// The stents of one lesion, two or more.
#[derive(Debug, Serialize)]
struct PlacedRecord {
    lesion: u8,
    /// Numbers of boxes: distal first where they are known to be in a row, else in the order of their openings.
    boxes: Vec<u32>,
    /// From the distal edge of the first to the proximal edge of the last, in mm. Null: not known.
    end_to_end_mm: Option<f64>,
    /// What is missing to say it, in words. Null: it is known.
    not_known: Option<String>,
}

/// An opened box that is not the room's own.
#[derive(Debug, Serialize)]
struct OwedRecord {
    /// Its number in the case.
    #[serde(rename = "box")]
    item: u32,
    /// `consigned`, or `borrowed from` and whom.
    owner: String,
}

/// The record as JSON, indented, with a line end.
pub fn json(report: &CaseReport) -> String {
    let case = report.case;
    let record = Record {
        schema: 1,
        case: case.code.as_str(),
        begun: case.begun,
        signed: case.signed.as_ref(),
        currency: report.currency,
        lesions: case.lesions.iter().map(|(number, measured)| (*number, measured)).collect(),
        calls: case.calls.iter().map(call).collect(),
        boxes: &case.items,
        totals: case.totals(),
        totals_by_product: case.totals_by_product(),
        opened_not_used: case.waste(),
        opened_cost: case.cost(),
        overlaps: &case.overlaps,
        placed: case.laid().iter().map(placed).collect(),
        refill: &report.refill,
        consigned_used: report.consigned.iter().map(owed).collect(),
        to_return: report.to_return.iter().map(owed).collect(),
        unsettled: case.unsettled().iter().map(|one| one.words().to_string()).collect(),
        story: &case.story,
        entries: report.links,
        program: report.program,
        journal_head: report.head,
        journal_anchor: report.anchor.to_string(),
        journal: report.journal,
        written: report.written,
        caution: LONG,
        deference: LONG,
    };
    // The record holds no map with keys that aren't text or numbers, so it can always be written.
    serde_json::to_string_pretty(&record).map(|text| text + "\n").unwrap_or_default()
}

fn placed(laid: &StentLayout) -> PlacedRecord {
    PlacedRecord {
        lesion: laid.lesion,
        boxes: laid.stents.iter().map(|item| item.number).collect(),
        end_to_end_mm: laid.end_to_end.as_ref().ok().map(|whole| whole.mm()),
        not_known: laid.end_to_end.as_ref().err().cloned(),
    }
}

fn owed(owed: &Owed) -> OwedRecord {
    OwedRecord { item: owed.item.number, owner: owed.owner.to_string() }
}

fn call(call: &Call) -> CallRecord<'_> {
    let (state, item) = match call.state {
        CallState::Waiting => ("waiting", None),
        CallState::AtHand { item } => ("at-hand", Some(item)),
        CallState::Opened { item } => ("opened", Some(item)),
        CallState::Cancelled => ("cancelled", None),
    };
    CallRecord {
        call: call.number,
        entry: call.seq,
        at: call.at,
        lesion: call.lesion,
        wanted: &call.wanted,
        words: wanted_words(&call.wanted),
        readiness: call.readiness,
        verdict: call.verdict.as_ref(),
        why: call.why.as_deref(),
        state,
        item,
    }
}

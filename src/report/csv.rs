//! The record as a table: one row a box, safe to open in a spreadsheet.

use super::csv_cell::{day, moment, number, text};
use super::udi::printed;
use super::{CaseReport, asked_as, lesions, verdict_at_call};
use crate::case::{Item, ItemState, fate_words};
use crate::intake::table;
use crate::journal::Inflation;
use chrono::{DateTime, FixedOffset};

const WIDTH: usize = 42;

const HEADER: [&str; WIDTH] = [
    "case", "box", "state", "at_hand_at", "opened_at", "product", "name", "kind", "ref", "diameter_mm",
    "length_mm", "di", "lot", "serial", "use_by", "asked_as", "verdict_at_call", "read_back", "reason",
    "lesions", "inflations_atm", "fate", "fate_lesion", "price", "currency", "owner", "shelf", "entry",
    "utc_offset_min", "inflations_s", "inflations_chart_mm", "inflations_lesion", "above_rated_burst",
    "distal_box", "overlap_mm", "gap_mm", "made", "udi_system", "udi_printed", "maker", "journal",
    "journal_head",
];

/// One row a box, put back and unopened ones included. Numbers are not rounded; days and times stand as
/// spreadsheets read them, times in the offset that the case began in (`utc_offset_min`, minutes east of UTC).
pub fn csv(report: &CaseReport) -> String {
    table::write(HEADER, report.case.items.iter().map(|item| row(report, item)))
}

fn row(report: &CaseReport, item: &Item) -> [String; WIDTH] {
    let label = &item.label;
    let read = |read: &Option<String>| text(read.as_deref().unwrap_or_default());
    let offset = *report.case.begun.offset();
    let time = |at: Option<DateTime<FixedOffset>>| moment(at, offset);
    let pressures: Vec<String> =
        item.inflations.iter().map(|one| one.inflation.at_atm.atm().to_string()).collect();
    let fate = item.fate.as_ref();
    // The device that lies distal to it; the first that was said, should there be two.
    let joint = report.case.overlaps.iter().find(|kept| kept.overlap.proximal == item.number);
    let joint = joint.map(|kept| kept.overlap);
    let opened = item.state == ItemState::Opened;
    [
        text(report.case.code.as_str()),
        item.number.to_string(),
        item.state.to_string(),
        time(item.at_hand_at),
        time(item.opened_at),
        read(&label.product),
        text(&label.name),
        label.kind.map(|kind| kind.to_string()).unwrap_or_default(),
        read(&label.reference),
        number(label.diameter.map(|diameter| diameter.mm())),
        number(label.length.map(|length| length.mm())),
        label.di.as_ref().map(|di| text(di.as_str())).unwrap_or_default(),
        read(&label.lot),
        read(&label.serial),
        day(label.use_by),
        text(&asked_as(report.case, item)),
        text(&verdict_at_call(report.case, item)),
        text(&item.finding.to_string()),
        read(&item.reason),
        list(&item.lesions, lesions(item)),
        list(&item.inflations, pressures.join(" ")),
        fate.map(|kept| fate_words(kept.fate)).unwrap_or(if opened { "not settled" } else { "" }.into()),
        fate.and_then(|kept| kept.lesion).map(|lesion| lesion.to_string()).unwrap_or_default(),
        number(label.price),
        label.price.map(|_| text(report.currency)).unwrap_or_default(),
        label.owner.as_ref().map(|owner| text(&owner.to_string())).unwrap_or_default(),
        read(&label.shelf),
        item.seq.to_string(),
        (offset.local_minus_utc() / 60).to_string(),
        each(item, |one| one.seconds.map(|seconds| seconds.to_string())),
        each(item, |one| one.chart_mm.map(|mm| mm.mm().to_string())),
        each(item, |one| one.lesion.map(|lesion| lesion.to_string())),
        item.inflations.iter().filter(|one| one.inflation.is_past_rated_burst()).count().to_string(),
        joint.map(|overlap| overlap.distal.to_string()).unwrap_or_default(),
        number(joint.filter(|overlap| !overlap.gap).map(|overlap| overlap.mm.mm())),
        number(joint.filter(|overlap| overlap.gap).map(|overlap| overlap.mm.mm())),
        day(label.made),
        label.system.map(|system| system.name().to_string()).unwrap_or_default(),
        printed(label).map(|line| text(&line)).unwrap_or_default(),
        read(&label.maker),
        text(&report.journal.to_string()),
        text(&report.anchor.to_string()),
    ]
}

/// One of each inflation, in order, `-` where it was not said, so that the columns of a box go together.
fn each(item: &Item, value: impl Fn(&Inflation) -> Option<String>) -> String {
    let values: Vec<Option<String>> = item.inflations.iter().map(|one| value(&one.inflation)).collect();
    match &values[..] {
        [] => String::new(),
        [only] => only.clone().unwrap_or_default(),
        more => text(&more.iter().map(|one| one.as_deref().unwrap_or("-")).collect::<Vec<_>>().join(" ")),
    }
}

/// One value is a number; several are a text, or `11 12` would be taken for something else.
fn list<T>(values: &[T], joined: String) -> String {
    if values.len() > 1 { text(&joined) } else { joined }
}

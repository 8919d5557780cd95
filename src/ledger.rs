//! Over all cases: where a lot or a serial number went, and what it all came to.
//!
//! Invariant: entries in, lists out; folds each case as `case` does and adds nothing to it. Pure.

use crate::case::{Case, Item, ItemState, Totals, Waste};
use crate::journal::{BoxRead, CaseCode, Entry, Fact, Fate, same_text, struck};
use crate::udi::DeviceId;
use chrono::{DateTime, FixedOffset};
use std::collections::BTreeMap;

/// What is looked for. Case and blanks around a lot or a serial number don't matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Query {
    Lot(String),
    Serial(String),
    Di(DeviceId),
}

impl Query {
    fn finds(&self, label: &BoxRead) -> bool {
        let same =
            |text: &Option<String>, wanted: &str| text.as_deref().is_some_and(|text| same_text(text, wanted));
        match self {
            Query::Lot(lot) => same(&label.lot, lot),
            Query::Serial(serial) => same(&label.serial, serial),
            Query::Di(di) => label.di.as_ref() == Some(di),
        }
    }
}

/// One box that was found, and the case that it came into.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    pub case: CaseCode,
    pub item: u32,
    /// The entry that tells of it.
    pub seq: u64,
    /// When its seal was broken, else when it came into the room or went back.
    pub at: DateTime<FixedOffset>,
    pub state: ItemState,
    pub label: BoxRead,
    pub lesions: Vec<u8>,
    /// None while it is not settled, and for a box that was not opened.
    pub fate: Option<Fate>,
}

/// What all cases came to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    pub cases: u32,
    pub signed: u32,
    pub totals: Totals,
    pub waste: Waste,
}

/// Every box of every case that the query finds, put back and unopened ones included, oldest first. What was
/// struck out is not found.
pub fn trace<'a>(entries: impl IntoIterator<Item = &'a Entry>, query: &Query) -> Vec<Traced> {
    let mut list = Vec::new();
    for entries in by_case(entries).into_values() {
        // Most cases have nothing of it; folding them would only cost time.
        let of_box = |entry: &&Entry| label_of(&entry.fact).is_some_and(|label| query.finds(label));
        if !entries.iter().any(of_box) {
            continue;
        }
        let Some(case) = Case::fold(entries.iter().copied()) else { continue };
        let at =
            |seq: u64| entries.iter().find(|entry| entry.seq == seq).map_or(case.begun, |entry| entry.at);
        let found = case.items.iter().filter(|item| query.finds(&item.label));
        list.extend(found.map(|item| traced(&case, item, at(item.seq))));
        list.extend(loose_openings(&case, &entries).filter(|traced| query.finds(&traced.label)));
    }
    list.sort_by_key(|traced: &Traced| (traced.at, traced.seq));
    list
}

/// The first box of this identifier and serial number that was opened, in any case.
pub fn serial_opened_before<'a>(
    entries: impl IntoIterator<Item = &'a Entry>,
    di: &DeviceId,
    serial: &str,
) -> Option<Traced> {
    let found = trace(entries, &Query::Serial(serial.to_string()));
    found.into_iter().find(|traced| traced.state == ItemState::Opened && traced.label.di.as_ref() == Some(di))
}

/// Every case, in the order in which they began.
pub fn cases<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Vec<Case> {
    let mut cases: Vec<Case> = by_case(entries).into_values().filter_map(Case::fold).collect();
    cases.sort_by_key(|case| (case.begun, case.story.first().map(|line| line.seq)));
    cases
}

pub fn tally<'a>(cases: impl IntoIterator<Item = &'a Case>) -> Tally {
    let mut tally = Tally::default();
    for case in cases {
        let waste = case.waste();
        tally.cases += 1;
        tally.signed += u32::from(case.signed.is_some());
        tally.totals.add(&case.totals());
        tally.waste.cost += waste.cost;
        tally.waste.unpriced += waste.unpriced;
    }
    tally
}

/// Strikes of the room stand with every case: one may strike out an entry of any.
fn by_case<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> BTreeMap<CaseCode, Vec<&'a Entry>> {
    let mut cases: BTreeMap<CaseCode, Vec<&Entry>> = BTreeMap::new();
    let mut strikes = Vec::new();
    for entry in entries {
        match &entry.case {
            Some(case) => cases.entry(case.clone()).or_default().push(entry),
            None if matches!(entry.fact, Fact::StruckOut { .. }) => strikes.push(entry),
            None => {}
        }
    }
    if !strikes.is_empty() {
        for entries in cases.values_mut() {
            entries.extend(&strikes);
            entries.sort_by_key(|entry| entry.seq);
        }
    }
    cases
}

/// Openings that the case could not take in, such as a second box under one number: a recall must find them.
fn loose_openings<'a>(case: &'a Case, entries: &'a [&Entry]) -> impl Iterator<Item = Traced> + 'a {
    let struck = struck(entries.iter().copied());
    entries.iter().filter_map(move |entry| {
        let Fact::BoxOpened { item, label, lesion, .. } = &entry.fact else { return None };
        let loose = case.loose.iter().any(|loose| loose.seq == entry.seq) && !struck.contains(&entry.seq);
        loose.then(|| Traced {
            case: case.code.clone(),
            item: *item,
            seq: entry.seq,
            at: entry.at,
            state: ItemState::Opened,
            label: label.clone(),
            lesions: lesion.iter().copied().collect(),
            fate: None,
        })
    })
}

fn traced(case: &Case, item: &Item, told_at: DateTime<FixedOffset>) -> Traced {
    Traced {
        case: case.code.clone(),
        item: item.number,
        seq: item.seq,
        at: item.opened_at.or(item.at_hand_at).unwrap_or(told_at),
        state: item.state,
        label: item.label.clone(),
        lesions: item.lesions.clone(),
        fate: item.fate.as_ref().map(|kept| kept.fate),
    }
}

fn label_of(fact: &Fact) -> Option<&BoxRead> {
    match fact {
        Fact::BoxAtHand { label, .. } | Fact::BoxOpened { label, .. } | Fact::BoxPutBack { label, .. } => {
            Some(label)
        }
        _ => None,
    }
}

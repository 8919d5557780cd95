//! Over all cases: where a lot or a serial number went, and what it all came to.
//!
//! Invariant: entries in, lists out; folds each case as `case` does and adds nothing to it. Pure.

mod known;
mod sums;

pub use known::Known;
pub use sums::{Missing, SizeUsed, Sums, Wasted, sums};

use crate::case::{Case, Item, ItemState};
use crate::catalogue::{Catalogue, Piece};
use crate::journal::{BoxRead, CaseCode, Entry, Fact, Fate, same_text, struck};
use crate::shelf::recall::RecalledLot;
use crate::store::{Field, Sought};
use crate::udi::DeviceId;
use chrono::{DateTime, FixedOffset};
use std::collections::BTreeMap;

/// What is looked for. Case and blanks around a lot or a serial number don't matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Query {
    /// This batch or lot number, of any product.
    Lot(String),
    /// This serial number, of any product.
    Serial(String),
    /// Any of these identifiers.
    Di(Vec<DeviceId>),
    /// A lot that was recalled: of any box where no identifier is here. A box of this lot whose identifier was not
    /// read is found too, and a box of this identifier whose lot was not read: the worst that may be true.
    Recalled {
        /// Every identifier of the recalled box; empty: whatever box carries the lot.
        di: Vec<DeviceId>,
        /// The lot that was recalled.
        lot: String,
    },
}

impl Query {
    /// A box by one of its identifiers: by every other that the catalogue has for it too, and by those of its cartons.
    /// What was asked for is first.
    pub fn of_box(di: &DeviceId, catalogue: &Catalogue) -> Query {
        Query::Di(identifiers(di, catalogue))
    }

    /// Recalled lots, each with every identifier that its box has in the catalogue, and those of its cartons.
    pub fn of_recalls<'a>(
        list: &'a [RecalledLot],
        catalogue: &'a Catalogue,
    ) -> impl Iterator<Item = Query> + 'a {
        list.iter().map(|(di, lot)| {
            let all = |di: &DeviceId| identifiers(di, catalogue);
            Query::Recalled { di: di.as_ref().map(all).unwrap_or_default(), lot: lot.clone() }
        })
    }

    /// What has to be looked for on the disk, so that nothing is missed that one of these finds. None where nothing
    /// is asked.
    pub fn sought(queries: &[Query]) -> Option<Sought> {
        let by_di = |all: &[DeviceId]| Sought::new(Field::Di, all.iter().map(DeviceId::as_str));
        let of = |query: &Query| match query {
            Query::Lot(lot) => Sought::new(Field::Lot, [lot.as_str()]),
            Query::Recalled { di, lot } => Sought::new(Field::Lot, [lot.as_str()]).or(by_di(di)),
            Query::Serial(serial) => Sought::new(Field::Serial, [serial.as_str()]),
            Query::Di(all) => by_di(all),
        };
        queries.iter().map(of).reduce(Sought::or)
    }

    fn finds(&self, label: &BoxRead) -> bool {
        self.meets(label.di.as_ref(), label.lot.as_deref(), label.serial.as_deref())
    }

    /// Whether it finds a row of the shelf.
    pub fn finds_piece(&self, piece: &Piece) -> bool {
        self.meets(Some(&piece.di), Some(&piece.lot), piece.serial.as_deref())
    }

    fn meets(&self, di: Option<&DeviceId>, lot: Option<&str>, serial: Option<&str>) -> bool {
        let same = |text: Option<&str>, wanted: &str| {
            !wanted.trim().is_empty() && text.is_some_and(|text| same_text(text, wanted))
        };
        match self {
            Query::Lot(wanted) => same(lot, wanted),
            Query::Serial(wanted) => same(serial, wanted),
            Query::Di(wanted) => di.is_some_and(|di| wanted.contains(di)),
            Query::Recalled { di: of, lot: wanted } => match lot {
                Some(_) => same(lot, wanted) && (of.is_empty() || di.is_none_or(|di| of.contains(di))),
                None => di.is_some_and(|di| of.contains(di)),
            },
        }
    }
}

fn identifiers(di: &DeviceId, catalogue: &Catalogue) -> Vec<DeviceId> {
    let mut all = di.levels();
    let found: Vec<_> = all.iter().filter_map(|di| catalogue.find(di)).collect();
    for other in found.iter().flat_map(|found| found.di()).flat_map(DeviceId::levels) {
        if !all.contains(&other) {
            all.push(other);
        }
    }
    all
}

/// One box that was found, and the case that it came into.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    /// Its code: on the patient's record it names the person.
    pub case: CaseCode,
    /// The box's number in that case.
    pub item: u32,
    /// The entry that tells of it.
    pub seq: u64,
    /// When its seal was broken, else when it came into the room or went back.
    pub at: DateTime<FixedOffset>,
    /// By the case; [`ItemState::Opened`] for an opening that was struck out.
    pub state: ItemState,
    /// As read or typed when it came.
    pub label: BoxRead,
    /// Where it was used, in order.
    pub lesions: Vec<u8>,
    /// None while it is not settled, and for a box that was not opened.
    pub fate: Option<Fate>,
    /// Why its opening was struck out, where it was: somebody wrote once that this box was opened, and whoever asks
    /// for it must hear that.
    pub struck: Option<String>,
}

impl Traced {
    /// Its seal was broken, and nobody took that back.
    pub fn was_opened(&self) -> bool {
        self.state == ItemState::Opened && self.struck.is_none()
    }
}

/// Every box of every case that at least one of the queries finds, each told once, put back and unopened ones
/// included, oldest first. Of what was struck out only openings are reported, and that they were struck.
pub fn trace<'a>(entries: impl IntoIterator<Item = &'a Entry>, queries: &[Query]) -> Vec<Traced> {
    let finds = |label: &BoxRead| queries.iter().any(|query| query.finds(label));
    let mut list = Vec::new();
    for entries in by_case(entries).into_values() {
        // Most cases have nothing of it; folding them would only cost time.
        let of_box = |entry: &&Entry| label_of(&entry.fact).is_some_and(finds);
        if !entries.iter().any(of_box) {
            continue;
        }
        let Some(case) = Case::fold(entries.iter().copied()) else { continue };
        let at =
            |seq: u64| entries.iter().find(|entry| entry.seq == seq).map_or(case.begun, |entry| entry.at);
        let found = case.items.iter().filter(|item| finds(&item.label));
        list.extend(found.map(|item| traced(&case, item, at(item.seq))));
        list.extend(other_openings(&case, &entries).filter(|traced| finds(&traced.label)));
    }
    list.sort_by_key(|traced: &Traced| (traced.at, traced.seq));
    list
}

/// Every case, in the order in which they began.
pub fn cases<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Vec<Case> {
    let mut cases: Vec<Case> = by_case(entries).into_values().filter_map(Case::fold).collect();
    cases.sort_by_key(|case| (case.begun, case.story.first().map(|line| line.seq)));
    cases
}

/// A strike of the room stands with the case whose entry it strikes out; most strike out an entry of the room.
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
            let own = |strike: &&&Entry| match strike.fact {
                Fact::StruckOut { entry: target, .. } => {
                    entries.binary_search_by_key(&target, |entry| entry.seq).is_ok()
                }
                _ => false,
            };
            let own: Vec<&Entry> = strikes.iter().filter(own).copied().collect();
            if !own.is_empty() {
                entries.extend(own);
                entries.sort_by_key(|entry| entry.seq);
            }
        }
    }
    cases
}

/// Openings that the case could not take in, such as a second box under one number, and those that were struck out:
/// a recall must find them.
fn other_openings<'a>(case: &'a Case, entries: &'a [&Entry]) -> impl Iterator<Item = Traced> + 'a {
    let struck = struck(entries.iter().copied());
    entries.iter().filter_map(move |entry| {
        let Fact::BoxOpened { item, label, lesion, .. } = &entry.fact else { return None };
        let why = struck.contains(&entry.seq).then(|| why_struck(entries, entry.seq));
        let orphan = case.orphans.iter().any(|orphan| orphan.seq == entry.seq);
        (crate::control::holds("struck-openings-are-traced") && (orphan || why.is_some())).then(|| Traced {
            case: case.code.clone(),
            item: *item,
            seq: entry.seq,
            at: entry.at,
            state: ItemState::Opened,
            label: label.clone(),
            lesions: lesion.iter().copied().collect(),
            fate: None,
            struck: why,
        })
    })
}

fn why_struck(entries: &[&Entry], struck: u64) -> String {
    let why = |entry: &&Entry| match &entry.fact {
        Fact::StruckOut { entry, why } if *entry == struck => Some(why.clone()),
        _ => None,
    };
    entries.iter().rev().find_map(why).unwrap_or_default()
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
        struck: None,
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

//! Over all cases: where a lot or a serial number went, and what it all came to.
//!
//! Invariant: entries in, lists out; folds each case as `case` does and adds nothing to it. Pure.

mod known;
mod notice;
mod sums;

pub use known::Known;
pub use notice::{Meant, Notice};
pub use sums::{Missing, SizeUsed, Sums, Wasted, sums};

use crate::case::{Case, Item, ItemState};
use crate::journal::{BoxRead, CaseCode, Entry, Fact, Fate, struck};
use chrono::{DateTime, FixedOffset};
use std::collections::{BTreeMap, BTreeSet};

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
    /// Why it is not sure that this box is meant; none where it is.
    pub doubt: Option<String>,
}

/// What a notice finds in the cases, each box once, oldest first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// Boxes that are meant, put back and unopened ones included: by any identifier of the box or its cartons, and by
    /// any reading of a doubtful label.
    pub had: Vec<Traced>,
    /// Opened boxes that may be meant: nothing that is known of them speaks against it, and not all that is asked for is
    /// known. And boxes that are meant whose opening was struck out.
    pub may_have_had: Vec<Traced>,
    /// So many other boxes came into a case.
    pub ruled_out: usize,
}

impl Found {
    /// Both lists together, oldest first.
    pub fn boxes(&self) -> Vec<&Traced> {
        let mut boxes: Vec<&Traced> = self.had.iter().chain(&self.may_have_had).collect();
        boxes.sort_by_key(|traced| (traced.at, traced.seq));
        boxes
    }

    /// Nothing was found.
    pub fn is_empty(&self) -> bool {
        self.had.is_empty() && self.may_have_had.is_empty()
    }

    /// The other boxes, of all that came into a case.
    pub fn rule_out(&mut self, boxes: &BTreeSet<(CaseCode, u32)>) {
        let found: BTreeSet<_> = self.boxes().iter().map(|one| (one.case.clone(), one.item)).collect();
        self.ruled_out = boxes.difference(&found).count();
    }
}

impl Traced {
    /// Its seal was broken, and nobody took that back.
    pub fn was_opened(&self) -> bool {
        self.state == ItemState::Opened && self.struck.is_none()
    }
}

/// What the best of several notices says of a label.
pub fn meant(notices: &[Notice], label: &BoxRead, at: DateTime<FixedOffset>) -> Meant {
    let mut best = Meant::No;
    for notice in notices {
        match notice.means(label, notice::year(at)) {
            Meant::Yes => return Meant::Yes,
            perhaps @ Meant::Perhaps(_) if best == Meant::No => best = perhaps,
            Meant::Perhaps(_) | Meant::No => {}
        }
    }
    best
}

/// Every box of every case that at least one of the notices means, or may mean. Of what was struck out only openings
/// are listed, and that they were struck.
pub fn trace<'a>(entries: impl IntoIterator<Item = &'a Entry>, notices: &[Notice]) -> Found {
    let mut found = Found::default();
    let mut boxes = BTreeSet::new();
    for (code, entries) in by_case(entries) {
        let labels = entries.iter().copied();
        let labels: Vec<_> = labels
            .filter_map(|entry| label_of(&entry.fact).map(|(item, label)| (item, label, entry.at)))
            .collect();
        boxes.extend(labels.iter().map(|(item, ..)| (code.clone(), *item)));
        // Most cases have nothing of it; folding them would only cost time.
        if labels.iter().all(|(_, label, at)| meant(notices, label, *at) == Meant::No) {
            continue;
        }
        let Some(case) = Case::fold(entries.iter().copied()) else { continue };
        let at =
            |seq: u64| entries.iter().find(|entry| entry.seq == seq).map_or(case.begun, |entry| entry.at);
        let items = case.items.iter().map(|item| traced(&case, item, at(item.seq)));
        for mut traced in items.chain(other_openings(&case, &entries)) {
            match meant(notices, &traced.label, traced.at) {
                Meant::Yes if traced.struck.is_none() => found.had.push(traced),
                Meant::Yes => {
                    traced.doubt = Some("its opening was struck out".into());
                    found.may_have_had.push(traced);
                }
                Meant::Perhaps(why) if traced.state == ItemState::Opened => {
                    traced.doubt = Some(why);
                    found.may_have_had.push(traced);
                }
                Meant::Perhaps(_) | Meant::No => {}
            }
        }
    }
    found.had.sort_by_key(|traced| (traced.at, traced.seq));
    found.may_have_had.sort_by_key(|traced| (traced.at, traced.seq));
    found.rule_out(&boxes);
    found
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
            doubt: None,
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
        doubt: None,
    }
}

fn label_of(fact: &Fact) -> Option<(u32, &BoxRead)> {
    match fact {
        Fact::BoxAtHand { item, label, .. }
        | Fact::BoxOpened { item, label, .. }
        | Fact::BoxPutBack { item, label, .. } => Some((*item, label)),
        _ => None,
    }
}

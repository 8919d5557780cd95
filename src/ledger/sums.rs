//! Over many cases: sizes used, sizes that were missing when they were asked for, waste by reason.

use super::cases;
use crate::case::{ItemState, size_words, wanted_words};
use crate::catalogue::{Catalogue, Found};
use crate::journal::{BoxRead, Entry, Fact, Fate, Unused, struck};
use crate::shelf::{Shelf, answering};
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What the cases that began on or after a day came to.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Sums {
    /// None: all cases.
    pub since: Option<NaiveDate>,
    /// Begun on or after `since`, whatever their state.
    pub cases: u32,
    /// Those of them that are signed off.
    pub signed: u32,
    /// Most opened first.
    pub sizes: Vec<SizeUsed>,
    /// Calls for which no piece in date was on the shelf, most often missing first. The catalogue of today says
    /// which boxes answer a call.
    pub missing: Vec<Missing>,
    /// Calls that were made; those before any stock was loaded, received or counted are in `calls_unknown`, and never in `missing`.
    pub calls: u32,
    /// Calls made before any stock was loaded, received or counted: nobody knows what lay there.
    pub calls_unknown: u32,
    /// Opened and not used, by reason, most often first.
    pub waste: Vec<Wasted>,
}

/// One size of one product, or what else is known of a box.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct SizeUsed {
    /// Catalogue id. None: no product has its identifier, or nothing was read.
    pub product: Option<String>,
    /// The product's name at the opening, what was typed, or `not known`.
    pub name: String,
    /// Labelled diameter, in mm. None: without a size, or not known.
    pub diameter_mm: Option<f64>,
    /// Labelled length, in mm. None: without a size, or not known.
    pub length_mm: Option<f64>,
    /// The sum of the others.
    pub opened: u32,
    /// Stents and scaffolds left in the vessel.
    pub implanted: u32,
    /// Balloons and wires: used and taken out.
    pub used: u32,
    /// Opened and not used, over all reasons.
    pub not_used: u32,
    /// Lost in the patient.
    pub lost: u32,
    /// Nobody knows where they are.
    pub not_found: u32,
    /// Nobody has said what became of them.
    pub unsettled: u32,
}

/// What was asked for and was not on the shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Missing {
    /// As it was asked for.
    pub words: String,
    /// Calls, at least 1.
    pub count: u32,
}

/// Boxes that were opened and not used for one reason.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wasted {
    /// The reason.
    pub why: Unused,
    /// At least 1.
    pub count: u32,
    /// Without those of which no price was known.
    pub cost: f64,
    /// Those of which no price was known: the cost is at least as high as it says.
    pub unpriced: u32,
}

impl SizeUsed {
    /// `3.00 × 29 Fell`.
    pub fn words(&self) -> String {
        let size = size_words(
            self.diameter_mm.map(crate::units::Diameter::from_mm),
            self.length_mm.map(crate::units::Length::from_mm),
        );
        format!("{size} {}", self.name).trim().to_string()
    }
}

/// Folds the whole journal: the shelf as it was at each call depends on all that came before.
pub fn sums(entries: &[Entry], catalogue: &Catalogue, since: Option<NaiveDate>) -> Sums {
    let mut sums = Sums { since, ..Sums::default() };
    let mut sizes: BTreeMap<(String, String), SizeUsed> = BTreeMap::new();
    let mut waste: BTreeMap<Unused, Wasted> = BTreeMap::new();
    let mut counted = BTreeSet::new();
    for case in
        cases(entries).iter().filter(|case| since.is_none_or(|since| case.begun.date_naive() >= since))
    {
        counted.insert(case.code.clone());
        sums.cases += 1;
        sums.signed += u32::from(case.signed.is_some());
        for item in case.items.iter().filter(|item| item.state == ItemState::Opened) {
            let label = &item.label;
            let fresh = size_of(label);
            let size =
                sizes.entry((fresh.words(), fresh.product.clone().unwrap_or_default())).or_insert(fresh);
            let fate = item.fate.as_ref().map(|kept| kept.fate);
            size.opened += 1;
            *match fate {
                Some(Fate::Implanted) => &mut size.implanted,
                Some(Fate::Used) => &mut size.used,
                Some(Fate::OpenedNotUsed { .. }) => &mut size.not_used,
                Some(Fate::LostInPatient) => &mut size.lost,
                Some(Fate::NotFound) => &mut size.not_found,
                None => &mut size.unsettled,
            } += 1;
            if let Some(Fate::OpenedNotUsed { why }) = fate {
                let wasted = waste.entry(why).or_insert(Wasted { why, count: 0, cost: 0.0, unpriced: 0 });
                wasted.count += 1;
                match label.price {
                    Some(price) => wasted.cost += price,
                    None => wasted.unpriced += 1,
                }
            }
        }
    }
    let struck = struck(entries);
    let mut shelf = Shelf::fold_with(catalogue, []);
    let mut loaded = false;
    let mut missing: BTreeMap<String, u32> = BTreeMap::new();
    let mut boxes: BTreeMap<String, Vec<Found>> = BTreeMap::new();
    for entry in entries.iter().filter(|entry| !struck.contains(&entry.seq)) {
        loaded |= matches!(
            entry.fact,
            Fact::StockLoaded { .. } | Fact::StockReceived { .. } | Fact::StockCounted { .. }
        );
        // What was struck out was left out already, so that nothing has to be folded again.
        shelf.apply(entry);
        let Fact::Called { wanted, .. } = &entry.fact else { continue };
        if !entry.case.as_ref().is_some_and(|case| counted.contains(case)) {
            continue;
        }
        sums.calls += 1;
        if !loaded {
            sums.calls_unknown += 1;
            continue;
        }
        let day = entry.at.date_naive();
        // The same size is asked for again and again: the catalogue is gone through once for each.
        let boxes = boxes.entry(format!("{wanted:?}")).or_insert_with(|| answering(wanted, catalogue));
        if !boxes.iter().any(|found| shelf.on_hand(found.di(), day) > 0) {
            *missing.entry(wanted_words(wanted)).or_default() += 1;
        }
    }
    sums.sizes = sizes.into_values().collect();
    // Stable: sizes opened equally often stay in their order.
    sums.sizes.sort_by_key(|size| std::cmp::Reverse(size.opened));
    sums.missing = missing.into_iter().map(|(words, count)| Missing { words, count }).collect();
    sums.missing.sort_by_key(|missing| std::cmp::Reverse(missing.count));
    sums.waste = waste.into_values().collect();
    sums.waste.sort_by_key(|wasted| std::cmp::Reverse(wasted.count));
    sums
}

fn size_of(label: &BoxRead) -> SizeUsed {
    let name = match (&label.product, label.name.as_str()) {
        (Some(product), "") => product.clone(),
        (None, "") => "not known".into(),
        (_, name) => name.to_string(),
    };
    SizeUsed {
        product: label.product.clone(),
        name,
        diameter_mm: label.diameter.map(|diameter| diameter.mm()),
        length_mm: label.length.map(|length| length.mm()),
        ..SizeUsed::default()
    }
}

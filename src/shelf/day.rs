//! The start of the day: what is ready for a bail-out, what is missing, what is to be used up, what is the last of its
//! kind. One set of facts for the page on the wall and for the screens.

use super::{BailOut, Gap, Shelf, Short, SizeOnHand};
use crate::catalogue::{Catalogue, Found, Piece};
use crate::journal::same_text;
use crate::lesion::segment;
use crate::measure::Kind;
use crate::policy::Policy;
use crate::units::French;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Days ahead that are looked at, each from the day after the one before. Common practice, no source.
pub const AHEAD: [u32; 3] = [30, 60, 90];

/// Days ahead that the page for the wall tells apart. Common practice, no source.
pub const THIS_WEEK: u32 = 7;

/// Pieces of one row, and what they are.
#[derive(Debug, Clone, PartialEq)]
pub struct Lying<'a> {
    /// The row as the shelf has it; its `count` is at least 1.
    pub piece: &'a Piece,
    /// `3.00 × 29 Fell (FL30029)`, or the identifier where the catalogue does not know it.
    pub what: String,
    /// Until the use-by date: 0 on it, negative past it; none where the label shows none.
    pub days: Option<i64>,
}

/// A catalogue number that has a par.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ParItem {
    /// How many there are and how many there should be; the catalogue number is in `item`.
    pub level: Short,
    /// The product's name; none where no product has this number.
    pub name: Option<String>,
    /// The product's kind; none where no product has this number.
    pub kind: Option<Kind>,
}

/// Whether the room can go on when it goes wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ready {
    /// At least one covered stent in date, and every catalogue number of the policy at its par.
    Complete,
    /// What is missing.
    Missing(Vec<String>),
    /// A covered stent is there, but the policy names nothing else that has to.
    NotSaid,
}

/// What one morning has to know of a shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Day<'a> {
    /// The day of which all the rest is true.
    pub today: NaiveDate,
    /// Whether the room is ready for a bail-out.
    pub ready: Ready,
    /// Covered stents in date, by size, each with the guide that it needs.
    pub bail_out: Vec<BailOut<'a>>,
    /// Catalogue numbers with a par: coils, a large balloon, a drainage set.
    pub items: Vec<ParItem>,
    /// Segments for whose normal lumens no drug-eluting stent in date is labelled.
    pub gaps: Vec<Gap>,
    /// Sizes and catalogue numbers below par, in cupboard order.
    pub short: Vec<Short>,
    /// Past their date and still there, longest ago first.
    pub expired: Vec<Lying<'a>>,
    /// In date for the last time, or up to [`AHEAD`] days more: in the order to use them up.
    pub expires: Vec<Lying<'a>>,
    /// Recalled and still there, in cupboard order.
    pub recalled: Vec<Lying<'a>>,
    /// One piece in date of this size, whatever the product; of the kinds that the policy judges.
    pub last: Vec<SizeOnHand>,
}

impl<'a> Day<'a> {
    /// `guide` is the one in use, where a case says so.
    pub fn new(
        shelf: &'a Shelf,
        catalogue: &'a Catalogue,
        policy: &Policy,
        guide: Option<French>,
        today: NaiveDate,
    ) -> Day<'a> {
        let lying =
            |pieces: Vec<&'a Piece>| pieces.into_iter().map(|piece| lying(piece, catalogue, today)).collect();
        let levels = shelf.par_levels(&policy.par, catalogue, today);
        let items = items(&levels, catalogue, policy);
        let bail_out = shelf.bail_out(catalogue, guide, today);
        Day {
            today,
            ready: ready(&bail_out, &items),
            bail_out,
            items,
            gaps: shelf.gaps(catalogue, today, &bands()),
            short: levels.into_iter().filter(|level| level.have < level.wanted).collect(),
            expired: lying(shelf.expired(today)),
            expires: lying(shelf.expiring(today, AHEAD[AHEAD.len() - 1] + 1)),
            recalled: lying(shelf.recalled_pieces()),
            last: last(shelf, catalogue, policy, today),
        }
    }

    /// Those of `expires` from so many days ahead up to so many, both within.
    pub fn expires_in(&self, from: u32, to: u32) -> impl Iterator<Item = &Lying<'a>> {
        let days = i64::from(from)..=i64::from(to);
        self.expires.iter().filter(move |lying| lying.days.is_some_and(|left| days.contains(&left)))
    }

    /// The sizes among those below par.
    pub fn short_sizes(&self) -> impl Iterator<Item = &Short> {
        self.short.iter().filter(|short| self.items.iter().all(|item| item.level.item != short.item))
    }
}

impl ParItem {
    /// Fewer in date than the policy wants there.
    pub const fn is_missing(&self) -> bool {
        self.level.have < self.level.wanted
    }
}

/// Segments with a published band, and the band, in mm.
pub fn bands() -> Vec<(&'static str, f64, f64)> {
    let band = |name: &&'static str| segment::band(name, None).map(|[from, to]| (*name, from, to));
    segment::NAMES.iter().filter_map(band).collect()
}

/// Those of the levels whose par is of a catalogue number.
fn items(levels: &[Short], catalogue: &Catalogue, policy: &Policy) -> Vec<ParItem> {
    let is_size = |item: &str| policy.par.iter().any(|par| par.item == item && par.size().is_some());
    let numbers = levels.iter().filter(|level| !is_size(&level.item));
    let item = |level: &Short| {
        let found = box_of(&level.item, catalogue);
        let product = found.as_ref().map(Found::product);
        ParItem {
            level: level.clone(),
            name: product.map(|product| product.name.clone()),
            kind: product.map(|product| product.kind),
        }
    };
    numbers.map(item).collect()
}

fn lying<'a>(piece: &'a Piece, catalogue: &Catalogue, today: NaiveDate) -> Lying<'a> {
    let what = super::box_words(piece, catalogue);
    Lying { piece, what, days: piece.use_by.map(|day| (day - today).num_days()) }
}

fn ready(bail_out: &[BailOut], items: &[ParItem]) -> Ready {
    let mut missing = Vec::new();
    if bail_out.is_empty() {
        missing.push("no covered stent in date".to_string());
    }
    missing.extend(items.iter().filter(|item| item.is_missing()).map(|ParItem { level, name, .. }| {
        let name = name.as_ref().map(|name| format!("{name} ")).unwrap_or_default();
        format!("{name}{}: {} of {}", level.item, level.have, level.wanted)
    }));
    match (missing.is_empty(), items.is_empty()) {
        (false, _) => Ready::Missing(missing),
        (true, true) => Ready::NotSaid,
        (true, false) => Ready::Complete,
    }
}

fn box_of<'a>(reference: &str, catalogue: &'a Catalogue) -> Option<Found<'a>> {
    super::look::every_box(catalogue).find(|found| same_text(found.reference(), reference))
}

/// One line a size that has one piece in date, by diameter and length.
fn last(shelf: &Shelf, catalogue: &Catalogue, policy: &Policy, today: NaiveDate) -> Vec<SizeOnHand> {
    let mut by_size: BTreeMap<(String, String), Vec<SizeOnHand>> = BTreeMap::new();
    for one in shelf.on_hand_by_size(catalogue, today) {
        let Some((diameter, length)) = one.diameter.zip(one.length) else { continue };
        if policy.judged.contains(&one.kind) && one.in_date > 0 {
            // Padded, so that words are in the order of numbers.
            by_size.entry((format!("{diameter:>6}"), format!("{length:>6}"))).or_default().push(one);
        }
    }
    let single = |ones: &Vec<SizeOnHand>| ones.iter().map(|one| u64::from(one.in_date)).sum::<u64>() == 1;
    by_size.into_values().filter(single).filter_map(|ones| ones.into_iter().next()).collect()
}

impl Shelf {
    /// What the policy wants there for a bail-out beside covered stents, in cupboard order: coils, a large balloon, a
    /// drainage set, also where the catalogue does not know the number.
    pub fn sundries(&self, catalogue: &Catalogue, policy: &Policy, today: NaiveDate) -> Vec<ParItem> {
        let mut items = items(&self.par_levels(&policy.par, catalogue, today), catalogue, policy);
        items.retain(|item| item.kind != Some(Kind::CoveredStent));
        items
    }

    /// Every box of the catalogue of which something is there, in date or not.
    pub fn on_hand_by_size(&self, catalogue: &Catalogue, today: NaiveDate) -> Vec<SizeOnHand> {
        let lies = |found: &Found| self.rows_of(found.di()).any(|piece| piece.count > 0);
        super::look::every_box(catalogue).filter(lies).map(|found| self.size_on_hand(found, today)).collect()
    }

    /// Rows of which no product has the identifier, in cupboard order.
    pub fn not_in_catalogue(&self, catalogue: &Catalogue) -> Vec<&Piece> {
        self.pieces().into_iter().filter(|piece| catalogue.find(&piece.di).is_none()).collect()
    }
}

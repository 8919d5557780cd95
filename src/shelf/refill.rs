//! What a case took from the cupboard: what to bring back, what is paid for, what is owed.

use super::{Shelf, order};
use crate::case::{Case, Item, label_words};
use crate::catalogue::Owner;
use crate::journal::BoxRead;
use serde::Serialize;
use std::collections::BTreeMap;

/// So many boxes to put into one place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refill {
    /// Empty where the box was not on the shelf's list.
    pub place: String,
    /// `3.00 × 29 Fell`, or what else is known of the box.
    pub words: String,
    /// Its catalogue number (REF); empty where it is not known.
    #[serde(rename = "ref")]
    pub reference: String,
    /// How many of it were opened.
    pub count: u32,
}

/// An opened box that is not the room's own.
#[derive(Debug, Clone, PartialEq)]
pub struct Owed<'a> {
    /// The opened box, as the case has it.
    pub item: &'a Item,
    /// Never [`Owner::Own`].
    pub owner: Owner,
}

impl Shelf {
    /// One line a box and place, in cupboard order: everything that was opened, whatever became of it.
    pub fn refill(&self, case: &Case) -> Vec<Refill> {
        let mut lines: BTreeMap<(String, String, String), u32> = BTreeMap::new();
        for item in case.opened() {
            let label = &item.label;
            let place = self.place_of(case, item);
            let reference = label.reference.clone().unwrap_or_default();
            *lines.entry((place, label_words(label), reference)).or_default() += 1;
        }
        let mut list: Vec<Refill> = lines
            .into_iter()
            .map(|((place, words, reference), count)| Refill { place, words, reference, count })
            .collect();
        list.sort_by(|a, b| order::place(&a.place, &b.place).then_with(|| a.words.cmp(&b.words)));
        list
    }

    /// Opened boxes on consignment: paid for because they were opened.
    pub fn consigned_used<'a>(&self, case: &'a Case) -> Vec<Owed<'a>> {
        self.owned(case, |owner| *owner == Owner::Consigned)
    }

    /// Opened boxes that were borrowed: one of each is to be returned.
    pub fn to_return<'a>(&self, case: &'a Case) -> Vec<Owed<'a>> {
        self.owned(case, |owner| matches!(owner, Owner::Borrowed(_)))
    }

    fn owned<'a>(&self, case: &'a Case, wanted: impl Fn(&Owner) -> bool) -> Vec<Owed<'a>> {
        let opened = case.opened().into_iter();
        opened
            .filter_map(|item| {
                let owner = self.owner_of(case, item)?;
                wanted(&owner).then_some(Owed { item, owner })
            })
            .collect()
    }

    /// As written down when the box was read, else as the shelf had it when it was taken.
    fn owner_of(&self, case: &Case, item: &Item) -> Option<Owner> {
        let taken = || self.taken_by(&case.code, item.number).map(|piece| piece.owner.clone());
        item.label.owner.clone().or_else(taken)
    }

    fn place_of(&self, case: &Case, item: &Item) -> String {
        let BoxRead { shelf, .. } = &item.label;
        let taken = || self.taken_by(&case.code, item.number).map(|piece| piece.shelf.clone());
        shelf.clone().or_else(taken).unwrap_or_default()
    }
}

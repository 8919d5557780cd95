//! What a case still owes an answer to, and what it comes to.

#![allow(clippy::cast_possible_truncation, reason = "boxes of one case")]

use super::words::{label_words, wanted_words};
use super::{Case, Item, ItemState};
use crate::journal::{Fate, Unused};
use crate::measure::Kind;
use serde::Serialize;
use std::collections::BTreeMap;

/// One thing that has to be settled before the case is.
#[derive(Debug, Clone, PartialEq)]
pub enum Unsettled {
    /// An opened box of which nobody has said what became of it.
    Fate {
        /// Its number in the case.
        item: u32,
        /// `box 3 opened, fate not known: 3.00 × 29 Fell`.
        words: String,
    },
    /// A box in the room, neither opened nor put back.
    AtHand {
        /// Its number in the case.
        item: u32,
        /// `box 3 neither opened nor put back: 3.00 × 29 Fell`.
        words: String,
    },
    /// A call that waits.
    Call {
        /// Its number in the case.
        call: u32,
        /// `call 2 waits: 3.00 × 29 Fell`.
        words: String,
    },
    /// An entry that speaks of a box or a call that is not there.
    Orphan {
        /// Its number in the journal.
        entry: u64,
        /// What it says, and why it has nothing to hold on to.
        words: String,
    },
}

/// What the boxes of a case came to. `opened` is the sum of `implanted`, `used`, all of `unused`, `lost`,
/// `not_found` and `unsettled`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Totals {
    /// Every box whose seal was broken, whatever became of it.
    pub opened: u32,
    /// Stents and scaffolds left in the vessel.
    pub implanted: u32,
    /// Balloons, wires: used and taken out.
    pub used: u32,
    /// Opened, not used, by reason.
    #[serde(rename = "opened_not_used")]
    pub unused: BTreeMap<Unused, u32>,
    /// Lost in the patient.
    pub lost: u32,
    /// Nobody knows where they are.
    pub not_found: u32,
    /// Opened, no fate yet.
    pub unsettled: u32,
    /// Unopened, so no part of `opened`.
    pub put_back: u32,
    /// In the room, unopened.
    pub at_hand: u32,
}

/// What boxes cost, in the policy's currency as it was at each opening.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Cost {
    /// Of the boxes with a known price; 0 where there are none.
    pub cost: f64,
    /// Boxes of which no price was known: the cost is at least as high as it says.
    pub unpriced: u32,
}

impl Unsettled {
    /// One line that says what is unsettled and names the box, call or entry.
    pub fn words(&self) -> &str {
        match self {
            Unsettled::Fate { words, .. }
            | Unsettled::AtHand { words, .. }
            | Unsettled::Call { words, .. }
            | Unsettled::Orphan { words, .. } => words,
        }
    }
}

impl Totals {
    /// `opened 2 = implanted 1 + used 1 + …`: every opened box under one head.
    pub fn words(&self) -> String {
        format!(
            "opened {} = implanted {} + used {} + not used {} + lost {} + not found {} + open {}",
            self.opened,
            self.implanted,
            self.used,
            self.unused_in_all(),
            self.lost,
            self.not_found,
            self.unsettled
        )
    }

    /// Opened and not used, over all reasons.
    pub fn unused_in_all(&self) -> u32 {
        self.unused.values().sum()
    }

    /// Adds what another case or box came to, field by field.
    pub fn add(&mut self, other: &Totals) {
        self.opened += other.opened;
        self.implanted += other.implanted;
        self.used += other.used;
        for (why, count) in &other.unused {
            *self.unused.entry(*why).or_default() += count;
        }
        self.lost += other.lost;
        self.not_found += other.not_found;
        self.unsettled += other.unsettled;
        self.put_back += other.put_back;
        self.at_hand += other.at_hand;
    }
}

impl Case {
    /// Opened boxes without a fate first, then boxes at hand, then waiting calls, then loose entries.
    pub fn unsettled(&self) -> Vec<Unsettled> {
        let mut list = Vec::new();
        for item in self.items.iter().filter(|item| item.is_opened() && item.fate.is_none()) {
            let tried = if item.tried { ", would not cross, on the table" } else { "" };
            let words =
                format!("box {} opened, fate not known: {}{tried}", item.number, label_words(&item.label));
            list.push(Unsettled::Fate { item: item.number, words });
        }
        for item in self.items.iter().filter(|item| item.state == ItemState::AtHand) {
            let words =
                format!("box {} neither opened nor put back: {}", item.number, label_words(&item.label));
            list.push(Unsettled::AtHand { item: item.number, words });
        }
        for call in self.waiting_calls() {
            let words = format!("call {} waits: {}", call.number, wanted_words(&call.wanted));
            list.push(Unsettled::Call { call: call.number, words });
        }
        for orphan in &self.orphans {
            list.push(Unsettled::Orphan { entry: orphan.seq, words: orphan.words.clone() });
        }
        list
    }

    /// Signed, and nothing is left to settle.
    pub fn is_closed(&self) -> bool {
        self.signed.is_some() && self.unsettled().is_empty()
    }

    /// Opened balloons that can go up again: not lost, not found missing, not dropped, not damaged. A
    /// drug-coated one gives its drug once (common practice, no source).
    pub fn open_balloons(&self) -> Vec<&Item> {
        self.items.iter().filter(|item| item.is_opened() && item.is_usable_balloon()).collect()
    }

    /// Opened devices that can be used, once more or at last: what became of them is not said, or it is a balloon.
    pub fn in_play(&self) -> Vec<&Item> {
        self.items
            .iter()
            .filter(|item| item.is_opened() && (item.fate.is_none() || item.is_usable_balloon()))
            .collect()
    }

    /// Every box of the case counted, unopened ones under their own heads.
    pub fn totals(&self) -> Totals {
        let mut totals = Totals::default();
        self.items.iter().for_each(|item| totals.add(&item.totals()));
        totals
    }

    /// The same by product, or by what else a box is called; put back and unopened ones included.
    pub fn totals_by_product(&self) -> BTreeMap<String, Totals> {
        let mut list: BTreeMap<String, Totals> = BTreeMap::new();
        for item in &self.items {
            let label = &item.label;
            let name = match (label.name.as_str(), &label.product) {
                ("", Some(product)) => product.clone(),
                ("", None) => "not known".into(),
                (name, _) => name.to_string(),
            };
            list.entry(name).or_default().add(&item.totals());
        }
        list
    }

    /// Opened boxes whose fate is "opened, not used".
    pub fn opened_not_used(&self) -> Vec<&Item> {
        let unused = |item: &&Item| {
            item.fate.as_ref().is_some_and(|kept| matches!(kept.fate, Fate::OpenedNotUsed { .. }))
        };
        self.items.iter().filter(|item| item.is_opened()).filter(unused).collect()
    }

    /// What was opened and not used cost.
    pub fn waste(&self) -> Cost {
        cost_of(&self.opened_not_used())
    }

    /// Of everything that was opened, whatever became of it.
    pub fn cost(&self) -> Cost {
        cost_of(&self.opened())
    }
}

fn cost_of(items: &[&Item]) -> Cost {
    Cost {
        // From 0.0: the sum of nothing is -0.0 otherwise.
        cost: items.iter().filter_map(|item| item.label.price).fold(0.0, |sum, price| sum + price),
        unpriced: items.iter().filter(|item| item.label.price.is_none()).count() as u32,
    }
}

impl Item {
    /// This one box, counted.
    fn totals(&self) -> Totals {
        let mut totals = Totals::default();
        match self.state {
            ItemState::PutBack => totals.put_back = 1,
            ItemState::AtHand => totals.at_hand = 1,
            ItemState::Opened => {
                totals.opened = 1;
                match self.fate.as_ref().map(|kept| kept.fate) {
                    None => totals.unsettled = 1,
                    Some(Fate::Implanted) => totals.implanted = 1,
                    Some(Fate::Used) => totals.used = 1,
                    Some(Fate::OpenedNotUsed { why }) => {
                        totals.unused.insert(why, 1);
                    }
                    Some(Fate::LostInPatient) => totals.lost = 1,
                    Some(Fate::NotFound) => totals.not_found = 1,
                }
            }
        }
        totals
    }

    fn is_usable_balloon(&self) -> bool {
        let Some(kind) = self.label.kind.filter(|kind| kind.is_balloon()) else { return false };
        let fate = self.fate.as_ref().map(|kept| kept.fate);
        let gone = matches!(
            fate,
            Some(
                Fate::LostInPatient
                    | Fate::NotFound
                    | Fate::Implanted
                    | Fate::OpenedNotUsed { why: Unused::Dropped | Unused::Damaged }
            )
        );
        let spent =
            kind == Kind::DrugCoatedBalloon && (!self.inflations.is_empty() || fate == Some(Fate::Used));
        !gone && !spent
    }
}

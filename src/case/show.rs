//! Case, call and box in the words that every screen uses for them.

use super::words::{fate_words, label_words, wanted_words};
use super::{Call, Case, Item, ItemState};

impl Case {
    /// Boxes in the room, unopened, in the order in which they came.
    pub fn at_hand(&self) -> Vec<&Item> {
        self.items.iter().filter(|item| item.state == ItemState::AtHand).collect()
    }
}

impl Call {
    /// `3.00 × 29 Fell`.
    pub fn words(&self) -> String {
        wanted_words(&self.wanted)
    }
}

impl Item {
    /// `3.00 × 29 Fell`.
    pub fn words(&self) -> String {
        label_words(&self.label)
    }

    /// What became of it, or where it is.
    pub fn fate_in_words(&self) -> String {
        match &self.fate {
            Some(kept) => fate_words(kept.fate),
            None if self.tried => "on the table, would not cross".into(),
            None => "open".into(),
        }
    }
}

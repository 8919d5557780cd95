//! What a label is held against in the read-back, and one field of the comparison.

use super::Case;
use crate::catalogue::{Catalogue, Piece};
use crate::journal::{BoxRead, Today};
use crate::udi::DeviceId;
use chrono::NaiveDate;

/// What the read-back asks of the shelf, which folds the whole journal.
pub trait Cupboard {
    /// The lot was recalled. Without an identifier a recall of that lot for any box counts.
    fn recalled(&self, di: Option<&DeviceId>, lot: &str) -> bool;
    /// Some lot of this identifier, or of every box, was recalled.
    fn any_recall(&self, di: &DeviceId) -> bool;
    /// The piece to take next: first expired, first out, in date and not recalled.
    fn first_out(&self, di: &[DeviceId], today: NaiveDate) -> Option<&Piece>;
    /// The piece on hand that this label belongs to.
    fn piece_of(&self, label: &BoxRead) -> Option<&Piece>;
    /// The size printed on a box of this identifier was typed in this room: whether it agreed with the catalogue.
    fn printed_size(&self, di: &DeviceId) -> Option<bool>;
    /// A box of this identifier and serial number was opened before, in any case.
    fn serial_opened(&self, di: &DeviceId, serial: &str) -> bool;
}

/// What a label is held against.
#[derive(Clone, Copy)]
pub struct Context<'a> {
    /// Tells product and size of an identifier.
    pub catalogue: &'a Catalogue,
    /// The room's `Shelf`.
    pub shelf: &'a dyn Cupboard,
    /// None where no case is open: then nothing waits.
    pub case: Option<&'a Case>,
    /// A use-by date before its day has passed.
    pub today: Today,
}

crate::measure::words! {
    /// A field of a label.
    LabelField {
        Product = "product",
        Diameter = "diameter, by the catalogue",
        Length = "length, by the catalogue",
        Reference = "REF",
        Lot = "lot",
        UseBy = "use by",
        Serial = "serial",
    }
}

impl LabelField {
    /// The field in a word: `diameter`.
    pub const fn word(self) -> &'static str {
        match self {
            LabelField::Diameter => "diameter",
            LabelField::Length => "length",
            _ => self.name(),
        }
    }
}

/// One field of the label beside the call.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LabelLine {
    /// What is compared.
    pub field: LabelField,
    /// None where the call does not say. Of a use-by date the day on which it is looked at: `today 2026-11-25`.
    pub called: Option<String>,
    /// None where the label does not say.
    pub on_box: Option<String>,
    /// None where there is nothing to compare.
    pub same: Option<bool>,
}

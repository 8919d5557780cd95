//! Whether a box is what a call asks for.

use super::{BoxRead, Wanted};
use crate::measure::Kind;
use crate::units;

impl Wanted {
    /// Every field that was asked for is the box's own. A reference asks for nothing else. Without product and
    /// kind any stent answers but a covered one: a covered stent is never meant where nobody says so (common
    /// practice, no source).
    pub fn answered_by(&self, label: &BoxRead) -> bool {
        self.device_answered_by(label)
            && self.reference.as_deref().is_none_or(|wanted| {
                label.reference.as_deref().is_some_and(|reference| same_text(wanted, reference))
            })
            && self.diameter_answered_by(label)
            && self.length_answered_by(label)
    }

    /// Product or kind alone.
    pub fn device_answered_by(&self, label: &BoxRead) -> bool {
        if let Some(product) = &self.product {
            return label.product.as_ref() == Some(product);
        }
        match (self.kind, label.kind) {
            (Some(wanted), kind) => kind == Some(wanted),
            (None, _) if self.reference.is_some() => true,
            (None, Some(kind)) => kind.is_stent() && kind != Kind::CoveredStent,
            (None, None) => false,
        }
    }

    /// Labelled diameters alike to 1e-9 mm, or none asked for.
    pub fn diameter_answered_by(&self, label: &BoxRead) -> bool {
        !crate::control::holds("call-compared-field-by-field")
            || self
                .diameter
                .is_none_or(|wanted| label.diameter.is_some_and(|d| units::same(d.mm(), wanted.mm())))
    }

    /// Labelled lengths alike to 1e-9 mm, or none asked for.
    pub fn length_answered_by(&self, label: &BoxRead) -> bool {
        self.length.is_none_or(|wanted| label.length.is_some_and(|l| units::same(l.mm(), wanted.mm())))
    }
}

impl BoxRead {
    /// What tells one physical box from another: certain with a serial number, else by its lot.
    pub fn is_same_piece(&self, other: &BoxRead) -> bool {
        self.di.is_some() && self.di == other.di && self.serial == other.serial && self.lot == other.lot
    }

    /// The same serial number of the same identifier: one physical box and no other.
    pub fn is_same_serial(&self, other: &BoxRead) -> bool {
        self.di.is_some() && self.serial.is_some() && self.di == other.di && self.serial == other.serial
    }
}

/// Catalogue numbers and lots: neither case nor blanks around them tell two apart.
pub fn same_text(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

/// What all texts that are the same by [`same_text`] share: a key to find them by.
pub fn text_key(text: &str) -> String {
    text.trim().to_ascii_lowercase()
}

//! The label of a piece on the shelf, as a scanner in keyboard mode sends it: for the demo and for tests.

use super::Shelf;
use crate::catalogue::Piece;
use chrono::NaiveDate;

/// A GS1 DataMatrix: identifier, use-by date, lot, and the serial number behind a separator.
pub fn scan_of(piece: &Piece) -> Vec<u8> {
    let mut text = format!("]d201{}", piece.di);
    if let Some(use_by) = piece.use_by {
        text.push_str(&use_by.format("17%y%m%d").to_string());
    }
    text.push_str(&format!("10{}", piece.lot));
    if let Some(serial) = &piece.serial {
        text.push_str(&format!("\u{1d}21{serial}"));
    }
    text.into_bytes()
}

impl Shelf {
    /// A box of another identifier, in date: the next in cupboard order. For practice with a wrong box.
    pub fn beside(&self, piece: &Piece, today: NaiveDate) -> Option<&Piece> {
        let pieces = self.pieces();
        let here = pieces.iter().position(|other| *other == piece)?;
        let mut after = pieces.iter().skip(here).chain(&pieces).copied();
        after.find(|other| other.di != piece.di && other.in_date(today))
    }
}

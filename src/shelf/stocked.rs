//! The shelf between cases: what is received, moved, counted and pulled, and what each changes.

use super::{Shelf, order};
use crate::catalogue::Piece;
use chrono::NaiveDate;

/// Pieces alike in everything but their number, before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its `count` is the one after.
    pub piece: Piece,
    pub before: u32,
}

/// Alike in everything but the number.
fn alike(a: &Piece, b: &Piece) -> bool {
    let Piece { di, lot, serial, use_by, shelf, count: _, owner } = a;
    (di, lot, serial, use_by, shelf, owner) == (&b.di, &b.lot, &b.serial, &b.use_by, &b.shelf, &b.owner)
}

impl Shelf {
    /// Lays pieces to a row that is like them, or into a row of their own.
    pub(super) fn lay(&mut self, piece: Piece) {
        match self.pieces.iter_mut().find(|row| alike(row, &piece)) {
            Some(row) => row.count = row.count.saturating_add(piece.count),
            None => self.add_row(piece),
        }
    }

    /// Takes pieces away; returns how many there were of those asked for.
    pub(super) fn pull(&mut self, piece: &Piece) -> u32 {
        let mut left = piece.count;
        for row in self.pieces.iter_mut().filter(|row| alike(row, piece)) {
            let taken = row.count.min(left);
            row.count -= taken;
            left -= taken;
        }
        piece.count - left
    }

    /// Only what lay there is laid down again.
    pub(super) fn shift(&mut self, pieces: &[Piece], to: &str) {
        for piece in pieces {
            let count = self.pull(piece);
            if count > 0 {
                self.lay(Piece { count, shelf: to.into(), ..piece.clone() });
            }
        }
    }

    pub(super) fn recount(&mut self, shelf: &str, pieces: &[Piece]) {
        self.pieces.iter_mut().filter(|row| row.shelf == shelf).for_each(|row| row.count = 0);
        pieces.iter().for_each(|piece| self.lay(piece.clone()));
    }

    /// What is different on this shelf from another, in cupboard order.
    pub fn changes_from(&self, before: &Shelf) -> Vec<Change> {
        let count = |shelf: &Shelf, piece: &Piece| {
            let rows = shelf.pieces.iter().filter(|row| alike(row, piece));
            rows.map(|row| row.count).fold(0, u32::saturating_add)
        };
        let mut changes: Vec<Change> = Vec::new();
        for piece in before.pieces.iter().chain(&self.pieces) {
            if changes.iter().any(|change| alike(&change.piece, piece)) {
                continue;
            }
            let (then, now) = (count(before, piece), count(self, piece));
            if then != now {
                changes.push(Change { piece: Piece { count: now, ..piece.clone() }, before: then });
            }
        }
        changes.sort_by(|a, b| order::cupboard(&a.piece, &b.piece));
        changes
    }

    /// Pieces on hand that may not be used: past their date, or recalled. In cupboard order.
    pub fn unusable(&self, today: NaiveDate) -> Vec<&Piece> {
        self.pieces().into_iter().filter(|piece| !self.is_usable(piece, today)).collect()
    }
}

//! The shelf between cases: what is received, moved, counted and pulled, and what each changes.

use super::{Shelf, order};
use crate::catalogue::{Owner, Piece};
use crate::journal::Fact;
use crate::udi::DeviceId;
use chrono::NaiveDate;
use std::collections::HashMap;

/// Pieces alike in everything but their number, before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its `count` is the one after.
    pub piece: Piece,
    /// How many there were before.
    pub before: u32,
}

/// Everything of a row but the number of its pieces.
type Alike<'a> = (&'a DeviceId, &'a str, Option<&'a str>, Option<NaiveDate>, &'a str, &'a Owner);

fn likeness(piece: &Piece) -> Alike<'_> {
    let Piece { di, lot, serial, use_by, shelf, count: _, owner } = piece;
    (di, lot, serial.as_deref(), *use_by, shelf, owner)
}

/// Alike in everything but the number.
pub(super) fn alike(a: &Piece, b: &Piece) -> bool {
    likeness(a) == likeness(b)
}

/// The same pieces, in whatever order and rows they stand; none of them: never the same.
pub fn same_pieces(a: &[Piece], b: &[Piece]) -> bool {
    fn counts(pieces: &[Piece]) -> HashMap<Alike<'_>, u64> {
        let mut counts = HashMap::new();
        for piece in pieces.iter().filter(|piece| piece.count > 0) {
            *counts.entry(likeness(piece)).or_insert(0) += u64::from(piece.count);
        }
        counts
    }
    let a = counts(a);
    !a.is_empty() && a == counts(b)
}

impl Shelf {
    /// Lays pieces to a row that is like them, or into a row of their own.
    pub(super) fn lay(&mut self, piece: Piece) {
        let like = self.rows_like(&piece);
        match like.first() {
            Some(&row) => self.pieces[row].count = self.pieces[row].count.saturating_add(piece.count),
            None => self.add_row(piece),
        }
    }

    /// The rows that are like this piece: all of one box, so that thousands of others are not looked at.
    fn rows_like(&self, piece: &Piece) -> Vec<usize> {
        let rows = self.rows_under(self.first_id(&piece.di)).iter().copied();
        rows.filter(|&row| alike(&self.pieces[row], piece)).collect()
    }

    /// Takes pieces away; returns how many there were of those asked for.
    pub(super) fn pull(&mut self, piece: &Piece) -> u32 {
        let mut left = piece.count;
        for row in self.rows_like(piece) {
            let row = &mut self.pieces[row];
            let taken = row.count.min(left);
            row.count -= taken;
            left -= taken;
        }
        piece.count - left
    }

    /// Only what was there is laid down again.
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

    /// The shelf as it would be once these facts of the room were written. What concerns cases changes nothing here.
    pub fn after(&self, facts: &[Fact]) -> Shelf {
        let mut after = self.clone();
        facts.iter().for_each(|fact| _ = after.restock(fact));
        after
    }

    /// What is different on this shelf from another, in cupboard order.
    pub fn changes_from(&self, before: &Shelf) -> Vec<Change> {
        let mut counts: HashMap<Alike, (u32, u32, &Piece)> = HashMap::new();
        for piece in &before.pieces {
            let (then, ..) = counts.entry(likeness(piece)).or_insert((0, 0, piece));
            *then = then.saturating_add(piece.count);
        }
        for piece in &self.pieces {
            let (_, now, _) = counts.entry(likeness(piece)).or_insert((0, 0, piece));
            *now = now.saturating_add(piece.count);
        }
        let changed = counts.into_values().filter(|(then, now, _)| then != now);
        let mut changes: Vec<Change> = changed
            .map(|(before, count, piece)| Change { piece: Piece { count, ..piece.clone() }, before })
            .collect();
        changes.sort_by(|a, b| {
            order::cupboard(&a.piece, &b.piece).then_with(|| a.piece.owner.cmp(&b.piece.owner))
        });
        changes
    }

    /// Pieces on hand that may not be used: past their date, or recalled. In cupboard order.
    pub fn unusable(&self, today: NaiveDate) -> Vec<&Piece> {
        self.pieces().into_iter().filter(|piece| !self.is_usable(piece, today)).collect()
    }
}

//! Which piece is promised to which waiting call, so that the last one is said before it is gone.

use super::look::every_box;
use super::{Shelf, order};
use crate::case::Case;
use crate::catalogue::{Catalogue, Found, Piece};
use crate::journal::{BoxRead, Wanted};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What a waiting call is to be fetched from.
#[derive(Debug, Clone, PartialEq)]
pub struct Promise<'a> {
    /// The number of the call.
    pub call: u32,
    /// The piece to take: none where nothing on hand answers the call.
    pub piece: Option<&'a Piece>,
    /// The box of the piece; without a piece the first box of the catalogue that answers the call, if one
    /// does.
    pub found: Option<Found<'a>>,
    /// No other piece of this box is left once this one and those of earlier calls are gone.
    pub last: bool,
    /// Something answers the call and is on the shelf, but earlier calls have it all.
    pub taken_by_earlier: bool,
}

impl Shelf {
    /// The waiting calls, oldest first, each with the piece that expires first among those not promised yet.
    pub fn reserved<'a>(
        &'a self,
        case: &Case,
        catalogue: &'a Catalogue,
        today: NaiveDate,
    ) -> Vec<Promise<'a>> {
        let mut promised: BTreeMap<usize, u32> = BTreeMap::new();
        let mut list = Vec::new();
        for call in case.waiting_calls() {
            let boxes = answering(&call.wanted, catalogue);
            let mut rows: Vec<(usize, Found)> = Vec::new();
            for found in &boxes {
                let mut of_box = self.row_numbers(found.di());
                of_box.retain(|row| self.pieces[*row].count > 0 && self.is_usable(&self.pieces[*row], today));
                rows.extend(of_box.into_iter().map(|row| (row, *found)));
            }
            // Of two pieces alike the one of the earlier row.
            rows.sort_by_key(|(row, _)| *row);
            let left = |row: usize, promised: &BTreeMap<usize, u32>| {
                self.pieces[row].count.saturating_sub(promised.get(&row).copied().unwrap_or(0))
            };
            let first = rows
                .iter()
                .filter(|(row, _)| left(*row, &promised) > 0)
                .min_by(|(a, _), (b, _)| order::first_out(&self.pieces[*a], &self.pieces[*b]));
            if let Some((row, _)) = first {
                *promised.entry(*row).or_default() += u32::from(crate::control::holds("pieces-promised"));
            }
            let last = first.is_some_and(|(_, found)| {
                rows.iter().filter(|(_, other)| other == found).all(|(row, _)| left(*row, &promised) == 0)
            });
            list.push(Promise {
                call: call.number,
                piece: first.map(|(row, _)| &self.pieces[*row]),
                found: first.map(|(_, found)| *found).or_else(|| boxes.first().copied()),
                last,
                taken_by_earlier: first.is_none() && !rows.is_empty(),
            });
        }
        list
    }
}

/// The boxes of the catalogue that answer a call, whatever is on the shelf.
pub fn answering<'a>(wanted: &Wanted, catalogue: &'a Catalogue) -> Vec<Found<'a>> {
    every_box(catalogue).filter(|found| wanted.answered_by(&as_read(found))).collect()
}

/// A box of the catalogue as if it had been read, without the label's own fields.
fn as_read(found: &Found) -> BoxRead {
    let length = match found {
        Found::Sized { pack, .. } => Some(pack.length),
        Found::Sundry { sundry, .. } => sundry.length,
    };
    BoxRead {
        product: Some(found.product().id.clone()),
        kind: Some(found.product().kind),
        reference: Some(found.reference().to_string()),
        diameter: found.size().map(|(diameter, _)| diameter),
        length,
        ..BoxRead::default()
    }
}

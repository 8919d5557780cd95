//! Looking at the shelf: what is there, what expires, what is short.

use super::{Shelf, order};
use crate::catalogue::{Catalogue, Found, Piece, Product};
use crate::journal::same_text;
use crate::measure::Kind;
use crate::policy::Par;
use crate::udi::DeviceId;
use crate::units::{self, Diameter, Length};
use chrono::{Days, NaiveDate};
use std::collections::BTreeSet;

/// Said where no place is known.
const NO_PLACE: &str = "no place known";

/// One size of one product and its pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeOnHand {
    /// Catalogue id of its product.
    pub product: String,
    /// The product's name.
    pub name: String,
    /// Of the product.
    pub kind: Kind,
    /// Labelled diameter, in mm; none for a box without a size.
    pub diameter: Option<Diameter>,
    /// Labelled length, in mm; none for a box without a size.
    pub length: Option<Length>,
    /// Its catalogue number (REF).
    pub reference: String,
    /// Pieces that can be used today: in date, not recalled.
    pub in_date: u32,
    /// Pieces past their use-by date, recalled ones among them.
    pub expired: u32,
    /// Pieces in date whose lot was recalled.
    pub recalled: u32,
    /// Where the piece to take first is, or the last one was. None: never known.
    pub place: Option<String>,
}

/// How much of something is on the shelf, and how much the room wants there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Short {
    /// As the policy names it.
    pub item: String,
    /// Pieces that the policy wants there.
    pub wanted: u32,
    /// In date, not recalled.
    pub have: u32,
    /// Where it is or was. None: never known.
    pub place: Option<String>,
}

impl SizeOnHand {
    /// Its place, or that none is known.
    pub fn place_words(&self) -> &str {
        self.place.as_deref().unwrap_or(NO_PLACE)
    }
}

impl Short {
    /// Its place, or that none is known.
    pub fn place_words(&self) -> &str {
        self.place.as_deref().unwrap_or(NO_PLACE)
    }
}

impl Shelf {
    /// Pieces in date and not recalled; all identifiers of a box add up.
    pub fn on_hand(&self, di: &[DeviceId], today: NaiveDate) -> u32 {
        self.usable(di, today).map(|piece| piece.count).fold(0, u32::saturating_add)
    }

    /// The piece to take next: first expired, first out, among those in date and not recalled.
    pub fn first_out(&self, di: &[DeviceId], today: NaiveDate) -> Option<&Piece> {
        self.usable(di, today).min_by(|a, b| order::first_out(a, b))
    }

    pub(super) fn usable<'a>(
        &'a self,
        di: &[DeviceId],
        today: NaiveDate,
    ) -> impl Iterator<Item = &'a Piece> + use<'a> {
        self.rows_of(di).filter(move |piece| piece.count > 0 && self.is_usable(piece, today))
    }

    pub(super) fn is_usable(&self, piece: &Piece, today: NaiveDate) -> bool {
        (!crate::control::holds("expired-never-proposed") || piece.in_date(today))
            && (!crate::control::holds("recalled-never-proposed")
                || !self.recalled(Some(&piece.di), &piece.lot))
    }

    /// Rows of a box, those that ran out included.
    pub fn rows_of<'a>(&'a self, di: &[DeviceId]) -> impl Iterator<Item = &'a Piece> + use<'a> {
        self.row_numbers(di).into_iter().map(|row| &self.pieces[row])
    }

    pub(super) fn row_numbers(&self, di: &[DeviceId]) -> Vec<usize> {
        let boxes: BTreeSet<&DeviceId> = di.iter().map(|di| self.first_id(di)).collect();
        boxes.iter().flat_map(|di| self.rows_under(di)).copied().collect()
    }

    /// Where a box lies, or was before it ran out.
    pub fn place(&self, di: &[DeviceId], today: NaiveDate) -> Option<&str> {
        let row = self.first_out(di, today).or_else(|| self.rows_of(di).min_by(|a, b| order::cupboard(a, b)));
        row.map(|piece| piece.shelf.as_str()).filter(|place| !place.is_empty())
    }

    /// Every box of the catalogue, of one kind or of all, by product, diameter and length.
    pub fn by_size(&self, catalogue: &Catalogue, kind: Option<Kind>, today: NaiveDate) -> Vec<SizeOnHand> {
        every_box(catalogue)
            .filter(|found| kind.is_none_or(|kind| found.product().kind == kind))
            .map(|found| self.size_on_hand(found, today))
            .collect()
    }

    pub(super) fn size_on_hand(&self, found: Found, today: NaiveDate) -> SizeOnHand {
        let di = found.di();
        let count = |of: &dyn Fn(&Piece) -> bool| {
            self.rows_of(di).filter(|piece| of(piece)).map(|piece| piece.count).fold(0, u32::saturating_add)
        };
        let recalled = |piece: &Piece| self.recalled(Some(&piece.di), &piece.lot);
        SizeOnHand {
            product: found.product().id.clone(),
            name: found.product().name.clone(),
            kind: found.product().kind,
            diameter: found.size().map(|(diameter, _)| diameter),
            length: found.size().map(|(_, length)| length),
            reference: found.reference().to_string(),
            in_date: self.on_hand(di, today),
            expired: count(&|piece| !piece.in_date(today)),
            recalled: count(&|piece| piece.in_date(today) && recalled(piece)),
            place: self.place(di, today).map(String::from),
        }
    }

    /// Pieces in date today that are past their date within so many days, soonest first.
    pub fn expiring(&self, today: NaiveDate, days: u32) -> Vec<&Piece> {
        let last = today.checked_add_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MAX);
        self.dated(|use_by| today <= use_by && use_by < last)
    }

    /// Pieces past their use-by date, longest ago first.
    pub fn expired(&self, today: NaiveDate) -> Vec<&Piece> {
        self.dated(|use_by| use_by < today)
    }

    fn dated(&self, fits: impl Fn(NaiveDate) -> bool) -> Vec<&Piece> {
        let mut pieces: Vec<&Piece> =
            self.pieces.iter().filter(|piece| piece.count > 0 && piece.use_by.is_some_and(&fits)).collect();
        pieces.sort_by(|a, b| order::first_out(a, b).then_with(|| order::cupboard(a, b)));
        pieces
    }

    /// Recalled pieces on hand, in cupboard order.
    pub fn recalled_pieces(&self) -> Vec<&Piece> {
        self.pieces().into_iter().filter(|piece| self.recalled(Some(&piece.di), &piece.lot)).collect()
    }

    /// What is below par, in cupboard order.
    pub fn short(&self, par: &[Par], catalogue: &Catalogue, today: NaiveDate) -> Vec<Short> {
        let mut list = self.par_levels(par, catalogue, today);
        list.retain(|level| level.have < level.wanted);
        list
    }

    /// Everything that has a par and how much of it is there, in cupboard order. A size (`3.00x29`) counts
    /// drug-eluting stents, any other item is a catalogue number.
    pub(super) fn par_levels(&self, par: &[Par], catalogue: &Catalogue, today: NaiveDate) -> Vec<Short> {
        // Each box is looked at once, whatever the number of pars.
        let sizes: Vec<_> = par.iter().map(Par::size).collect();
        let mut have = vec![(0u32, None::<&str>); par.len()];
        for found in every_box(catalogue) {
            for (at, par) in par.iter().enumerate() {
                if !is_par_of(par, sizes[at], &found) {
                    continue;
                }
                let (count, place) = &mut have[at];
                *count = count.saturating_add(self.on_hand(found.di(), today));
                let other = self.place(found.di(), today);
                *place = match (*place, other) {
                    (Some(one), Some(other)) if order::place(other, one).is_lt() => Some(other),
                    (one, other) => one.or(other),
                };
            }
        }
        let mut list: Vec<Short> = par
            .iter()
            .zip(have)
            .map(|(par, (have, place))| Short {
                item: par.item.clone(),
                wanted: par.pieces,
                have,
                place: place.map(String::from),
            })
            .collect();
        let place = |short: &Short| short.place.clone().unwrap_or_default();
        list.sort_by(|a, b| order::place(&place(a), &place(b)).then_with(|| a.item.cmp(&b.item)));
        list
    }
}

/// The boxes of the catalogue that count for an item of these pars.
pub fn boxes_of<'a>(item: &str, par: &[Par], catalogue: &'a Catalogue) -> Vec<Found<'a>> {
    let par = par.iter().find(|par| par.item == item);
    let size = par.and_then(Par::size);
    every_box(catalogue).filter(|found| par.is_some_and(|par| is_par_of(par, size, found))).collect()
}

/// Every box of the catalogue, in its order.
pub(super) fn every_box(catalogue: &Catalogue) -> impl Iterator<Item = Found<'_>> {
    catalogue.products.iter().flat_map(boxes)
}

/// Every box of one product, in its order.
pub(super) fn boxes(product: &Product) -> impl Iterator<Item = Found<'_>> {
    let sized = product.diameters.iter().flat_map(move |platform| {
        platform.boxes.iter().map(move |pack| Found::Sized { product, platform, pack })
    });
    sized.chain(product.sundries.iter().map(move |sundry| Found::Sundry { product, sundry }))
}

fn is_par_of(par: &Par, size: Option<(Diameter, Length)>, found: &Found) -> bool {
    if same_text(found.reference(), &par.item) {
        return true;
    }
    let same = |(wanted_diameter, wanted_length): (Diameter, Length)| {
        found.size().is_some_and(|(diameter, length)| {
            units::same(diameter.mm(), wanted_diameter.mm()) && units::same(length.mm(), wanted_length.mm())
        })
    };
    found.product().kind == Kind::DrugElutingStent && size.is_some_and(same)
}

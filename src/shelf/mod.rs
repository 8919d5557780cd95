//! The pieces on hand, folded from every entry of the journal, and what they leave open.
//!
//! Invariant: entries and the catalogue in, facts about pieces out; the same entries give the same shelf. Pure.

mod bail;
mod card;
mod day;
pub mod find;
pub mod gaps;
mod look;
mod on_hand;
mod order;
mod promise;
pub mod recall;
mod refill;
mod sample;
pub mod builder;
mod stocked;
mod tally;

pub use bail::{BailOut, Gap};
pub use card::{Bring, FetchCard};
pub use day::{AHEAD, Day, Lying, ParItem, Ready, THIS_WEEK, bands};
pub use look::{Short, SizeOnHand, boxes_of};
pub use on_hand::{OnHand, ReadShelf};
pub use promise::{Promise, answering};
pub use refill::{Owed, Refill};
pub use sample::scan_of;
pub use stocked::{Change, same_pieces};
pub use tally::{CountOutcome, Counted, Ground, Tally, Task, box_words};

use crate::case::readback::Cupboard;
use crate::catalogue::{Catalogue, Piece};
use crate::journal::{BoxRead, CaseCode, Entry, Fact, same_text, struck, text_key};
use crate::udi::DeviceId;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// What is in the cupboard after the last entry.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shelf {
    /// As loaded, counted down; a row that ran out stays with `count` 0, because its place is still known.
    pieces: Vec<Piece>,
    /// The rows of each box, by its first identifier.
    rows: BTreeMap<DeviceId, Vec<usize>>,
    /// What each box of each case took off the shelf; none where nothing on hand was like it.
    taken: BTreeMap<(CaseCode, u32), Option<Piece>>,
    recalls: Vec<recall::RecalledLot>,
    /// The boxes whose lot was recalled, by the lot's [`text_key`]; none means every box.
    recalled: BTreeMap<String, Vec<Option<DeviceId>>>,
    /// The printed size of these was typed: whether it agreed with the catalogue, by the last who looked.
    printed: BTreeMap<DeviceId, bool>,
    /// Boxes opened with a serial number, over all cases.
    serials: BTreeSet<(DeviceId, String)>,
    /// Every further identifier of a box, and its first.
    alias: BTreeMap<DeviceId, DeviceId>,
}

impl Shelf {
    /// Folds all entries of the journal, in order, of the room and of every case.
    pub fn fold<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Shelf {
        Shelf::fold_with(&Catalogue::default(), entries)
    }

    /// The same, knowing which identifiers belong to one box: a box loaded under one of them is taken by another.
    pub fn fold_with<'a>(catalogue: &Catalogue, entries: impl IntoIterator<Item = &'a Entry>) -> Shelf {
        let entries: Vec<&Entry> = entries.into_iter().collect();
        let struck = struck(entries.iter().copied());
        let mut shelf = Shelf { alias: aliases(catalogue), ..Shelf::default() };
        for entry in entries.into_iter().filter(|entry| !struck.contains(&entry.seq)) {
            shelf.apply(entry);
        }
        shelf
    }

    /// Takes in the next entry. False: it strikes out an earlier one, and the shelf has to be folded again.
    pub fn apply(&mut self, entry: &Entry) -> bool {
        if self.restock(&entry.fact) {
            return true;
        }
        match &entry.fact {
            Fact::BoxAtHand { item, label, .. } => self.take(entry, *item, label),
            Fact::BoxOpened { item, label, .. } => {
                self.take(entry, *item, label);
                if let (Some(di), Some(serial)) = (&label.di, &label.serial) {
                    self.serials.insert((self.first_id(di).clone(), serial.clone()));
                }
            }
            Fact::BoxPutBack { item, .. } => self.put_back(entry, *item),
            Fact::StruckOut { .. } => return false,
            _ => {}
        }
        true
    }

    /// Takes in a fact of the room; false where it is none of the shelf's.
    fn restock(&mut self, fact: &Fact) -> bool {
        match fact {
            Fact::StockLoaded { pieces, .. } => {
                self.pieces.clear();
                self.rows.clear();
                pieces.iter().for_each(|piece| self.add_row(piece.clone()));
            }
            Fact::StockReceived { pieces, .. } => pieces.iter().for_each(|piece| self.lay(piece.clone())),
            Fact::StockMoved { pieces, to } => self.shift(pieces, to),
            Fact::StockCounted { shelf, pieces } => self.recount(shelf, pieces),
            Fact::StockPulled { pieces, .. } => pieces.iter().for_each(|piece| _ = self.pull(piece)),
            Fact::LotRecalled { di, lot } => {
                self.recalls.push((di.clone(), lot.clone()));
                self.recalled.entry(text_key(lot)).or_default().push(di.clone());
            }
            Fact::PrintedSizeTyped { di, agrees, .. } => {
                self.printed.insert(self.first_id(di).clone(), *agrees);
            }
            _ => return false,
        }
        true
    }

    /// A box at hand and then opened is one piece. Anything in a case that names no case takes nothing.
    fn take(&mut self, entry: &Entry, item: u32, label: &BoxRead) {
        let Some(case) = &entry.case else { return };
        let key = (case.clone(), item);
        if self.taken.contains_key(&key) {
            return;
        }
        let row = self.row_of(label, |piece| piece.count > 0);
        let piece = row.map(|row| {
            let piece = &mut self.pieces[row];
            piece.count -= 1;
            Piece { count: 1, ..piece.clone() }
        });
        self.taken.insert(key, piece);
    }

    /// Only what was taken comes back, to the row that it came from, or to a row of its own after a new count.
    fn put_back(&mut self, entry: &Entry, item: u32) {
        let Some(case) = &entry.case else { return };
        let Some(Some(piece)) = self.taken.remove(&(case.clone(), item)) else { return };
        self.lay(piece);
    }

    fn add_row(&mut self, piece: Piece) {
        let di = self.first_id(&piece.di).clone();
        self.rows.entry(di).or_default().push(self.pieces.len());
        self.pieces.push(piece);
    }

    fn rows_under(&self, first_id: &DeviceId) -> &[usize] {
        self.rows.get(first_id).map(Vec::as_slice).unwrap_or_default()
    }

    /// The row that a label belongs to: by serial number, else by lot, else by identifier; soonest to expire.
    fn row_of(&self, label: &BoxRead, counts: impl Fn(&Piece) -> bool) -> Option<usize> {
        let di = self.first_id(label.di.as_ref()?);
        let of_box: Vec<usize> =
            self.rows_under(di).iter().copied().filter(|&row| counts(&self.pieces[row])).collect();
        let soonest = |fits: &dyn Fn(&Piece) -> bool| {
            let rows = of_box.iter().copied().filter(|&row| fits(&self.pieces[row]));
            rows.min_by(|&a, &b| order::first_out(&self.pieces[a], &self.pieces[b]))
        };
        let by_serial =
            label.serial.as_ref().and_then(|serial| soonest(&|piece| piece.serial.as_ref() == Some(serial)));
        let by_lot = |no_serial: bool| {
            let lot = label.lot.as_ref()?;
            soonest(&|piece| same_text(&piece.lot, lot) && (piece.serial.is_none() || !no_serial))
        };
        by_serial
            // A row that carries another serial number is somebody else's piece while one without is left.
            .or_else(|| by_lot(true))
            .or_else(|| by_lot(false))
            .or_else(|| soonest(&|_| true))
    }

    /// Two identifiers of one box.
    fn same_box(&self, a: &DeviceId, b: &DeviceId) -> bool {
        self.first_id(a) == self.first_id(b)
    }

    fn first_id<'a>(&'a self, di: &'a DeviceId) -> &'a DeviceId {
        self.alias.get(di).unwrap_or(di)
    }

    /// The rows with at least one piece on hand, in cupboard order.
    pub fn pieces(&self) -> Vec<&Piece> {
        let mut pieces: Vec<_> = self.pieces.iter().filter(|piece| piece.count > 0).collect();
        pieces.sort_by(|a, b| order::cupboard(a, b));
        pieces
    }

    /// What a box of a case took off the shelf.
    pub fn taken_by(&self, case: &CaseCode, item: u32) -> Option<&Piece> {
        self.taken.get(&(case.clone(), item))?.as_ref()
    }

    /// The lot was recalled, for this identifier or for every box. Without an identifier any recall of that lot
    /// counts: the worst that may be true.
    pub fn recalled(&self, di: Option<&DeviceId>, lot: &str) -> bool {
        let of_lot = self.recalled.get(&text_key(lot)).into_iter().flatten();
        of_lot.map(Option::as_ref).any(|of| of.zip(di).is_none_or(|(of, di)| self.is_one_box(of, di)))
    }

    /// Two identifiers of one box, whatever packaging level each has: a recall may name the carton.
    fn is_one_box(&self, a: &DeviceId, b: &DeviceId) -> bool {
        let first = |di: &DeviceId| self.first_id(di).clone();
        let unit = |di: &DeviceId| di.at_level(0).map(|unit| first(&unit));
        if !crate::control::holds("recall-by-every-level") {
            return a == b;
        }
        first(a) == first(b)
            || first(a).is_same_at_some_level(self.first_id(b))
            || unit(a).is_some_and(|a| unit(b) == Some(a))
    }

    /// Every lot that was recalled, in the order in which it was written down.
    pub fn recalls(&self) -> &[recall::RecalledLot] {
        &self.recalls
    }
}

impl Cupboard for Shelf {
    fn recalled(&self, di: Option<&DeviceId>, lot: &str) -> bool {
        Shelf::recalled(self, di, lot)
    }

    fn any_recall(&self, di: &DeviceId) -> bool {
        self.recalls.iter().any(|(of, _)| of.as_ref().is_none_or(|of| self.is_one_box(of, di)))
    }

    fn first_out(&self, di: &[DeviceId], today: NaiveDate) -> Option<&Piece> {
        Shelf::first_out(self, di, today)
    }

    fn piece_of(&self, label: &BoxRead) -> Option<&Piece> {
        let row = self.row_of(label, |piece| piece.count > 0).or_else(|| self.row_of(label, |_| true))?;
        self.pieces.get(row)
    }

    fn printed_size(&self, di: &DeviceId) -> Option<bool> {
        self.printed.get(self.first_id(di)).copied()
    }

    fn serial_opened(&self, di: &DeviceId, serial: &str) -> bool {
        self.serials.contains(&(self.first_id(di).clone(), serial.to_string()))
    }
}

fn aliases(catalogue: &Catalogue) -> BTreeMap<DeviceId, DeviceId> {
    let sized = catalogue.products.iter().flat_map(|p| &p.diameters).flat_map(|d| &d.boxes).map(|b| &b.di);
    let sundry = catalogue.products.iter().flat_map(|p| &p.sundries).map(|s| &s.di);
    let further = |di: &Vec<DeviceId>| {
        let first = di.first().cloned();
        di.iter().skip(1).cloned().zip(std::iter::repeat(first)).collect::<Vec<_>>()
    };
    sized.chain(sundry).flat_map(further).filter_map(|(di, first)| Some((di, first?))).collect()
}

//! Folding the shelf out of the few entries that can matter to it.
//!
//! From a stock load on, everything that moves a piece matters. Of what is before it only recalls, printed sizes
//! and the serial numbers of opened boxes do: a load replaces what is on hand. A case that goes on across a load took
//! its boxes before it and may put them back after it; then the fold begins at an earlier load.

use super::{Shelf, aliases};
use crate::catalogue::Catalogue;
use crate::journal::chain::BadBody;
use crate::journal::{Entry, Fact};
use crate::udi::DeviceId;
use serde::Deserialize;
use std::collections::BTreeSet;

/// A stock load, as [`Fact::what`] has it.
pub const LOAD: &str = "stock-loaded";
/// Kinds of facts of which the shelf has to know all that were ever written.
pub const ALWAYS: [&str; 3] = ["lot-recalled", "printed-size-typed", OPENED];
/// Kinds of facts that move pieces: they matter from where the fold begins.
pub const MOVING: [&str; 8] = [
    LOAD, "stock-received", "stock-moved", "stock-counted", "stock-pulled", "box-at-hand", OPENED,
    "box-put-back",
];
const OPENED: &str = "box-opened";
/// Kinds of facts that belong to the room: what its keeper writes. A strike may take any of them back.
pub const OF_ROOM: [&str; 7] = [
    LOAD, "stock-received", "stock-moved", "stock-counted", "stock-pulled", "lot-recalled",
    "printed-size-typed",
];

/// Whether an entry of this kind can change the shelf, strikes aside.
pub(super) fn matters(fact: &Fact) -> bool {
    let what = fact.what();
    ALWAYS.contains(&what) || MOVING.contains(&what)
}

/// Takes or gives back a piece for a case.
pub(super) fn is_of_box(fact: &Fact) -> bool {
    matches!(fact, Fact::BoxAtHand { .. } | Fact::BoxOpened { .. } | Fact::BoxPutBack { .. })
}

/// What has to be known of a journal before its shelf is folded.
#[derive(Debug, Clone, Default)]
pub struct JournalOutline {
    /// The numbers of all stock loads, in order.
    pub loads: Vec<u64>,
    /// The numbers of the entries that were struck out.
    pub struck: BTreeSet<u64>,
    /// First and last entry of every case.
    pub cases: Vec<(u64, u64)>,
}

impl JournalOutline {
    /// The load at which the fold may begin: the last that stands, that no case goes on across, and that no entry from
    /// `back_to` on is before. 0: at the first entry.
    pub fn start(&self, back_to: Option<u64>) -> u64 {
        let before = |limit: u64| {
            let loads = self.loads.iter().rev().copied();
            loads.filter(|load| !self.struck.contains(load)).find(|&load| load < limit).unwrap_or(0)
        };
        let mut start = before(back_to.unwrap_or(u64::MAX));
        while start > 0 {
            let across = self.cases.iter().filter(|(first, last)| *first < start && start < *last);
            match across.map(|(first, _)| *first).min() {
                Some(first) => start = before(first),
                None => break,
            }
        }
        start
    }
}

/// A shelf on its way: the entries that matter are handed over in order.
#[derive(Debug)]
pub struct ShelfBuilder {
    shelf: Shelf,
    struck: BTreeSet<u64>,
    from: u64,
}

/// What is left of an opening before the fold begins.
#[derive(Deserialize)]
struct Opened {
    fact: OpenedFact,
}

#[derive(Deserialize)]
struct OpenedFact {
    label: OpenedLabel,
}

#[derive(Deserialize)]
struct OpenedLabel {
    di: Option<DeviceId>,
    serial: Option<String>,
}

impl ShelfBuilder {
    /// The fold begins at entry `from`, as [`JournalOutline::start`] gave it.
    pub fn new(catalogue: &Catalogue, landmarks: JournalOutline, from: u64) -> ShelfBuilder {
        let shelf = Shelf { alias: aliases(catalogue), ..Shelf::default() };
        ShelfBuilder { shelf, struck: landmarks.struck, from }
    }

    /// Takes the next entry: its number, its kind and its stored body. Before the fold begins only kinds out of
    /// [`ALWAYS`], from there on those and the kinds out of [`MOVING`].
    ///
    /// # Errors
    /// The body is not an entry of a journal.
    pub fn take(&mut self, seq: u64, what: &str, body: &str) -> Result<(), BadBody> {
        if self.struck.contains(&seq) {
            return Ok(());
        }
        if seq >= self.from || (what != OPENED && ALWAYS.contains(&what)) {
            self.shelf.apply(&Entry::from_body(body)?);
        } else if what == OPENED && body.contains("\"serial\":\"") {
            // Reading the whole label of every box that was ever opened would take several times as long.
            let opened: Opened =
                serde_json::from_str(body).map_err(|error| BadBody { message: error.to_string() })?;
            if let OpenedLabel { di: Some(di), serial: Some(serial) } = opened.fact.label {
                self.shelf.serials.insert((self.shelf.first_id(&di).clone(), serial));
            }
        }
        Ok(())
    }

    /// What all that was taken in comes to.
    pub fn shelf(self) -> Shelf {
        self.shelf
    }
}

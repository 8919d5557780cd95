//! Boxes scanned one after the other: received, counted at one place, or moved. Nothing is written before somebody has
//! seen the sum.

use super::{Change, Shelf};
use crate::case::size_words;
use crate::catalogue::{Catalogue, Owner, Piece};
use crate::journal::{Fact, same_text};
use crate::label::{Label, pair};
use chrono::NaiveDate;

/// What is done with the boxes that are scanned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Task {
    /// They have come, and are laid there.
    Receive {
        /// Where they are laid.
        place: String,
        /// Whose they all are.
        owner: Owner,
    },
    /// They are all that is there.
    Count {
        /// The place that is counted.
        place: String,
    },
    /// They are taken from where they lie, or from one place alone, and laid elsewhere.
    Move {
        /// None: from wherever they lie.
        from: Option<String>,
        /// Where they are laid.
        to: String,
    },
    /// What may not be used is taken off the shelf; nothing is scanned.
    Pull {
        /// In words, for the journal.
        why: String,
    },
}

/// One box that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted {
    /// One piece, as it will be there.
    pub piece: Piece,
    /// The row that it is thought to be in now; none where it is new.
    row: Option<Piece>,
    /// `3.00 × 29 Fell`.
    pub words: String,
    /// What people should know of it; it counts all the same.
    pub heed: Vec<String>,
}

/// What became of a scan. An error is a box that does not count, with the reason.
#[derive(Debug, Clone, PartialEq)]
pub enum CountOutcome {
    /// It is the last of those counted.
    Counted,
    /// The first of two codes of one label: the second is to follow.
    Half,
}

/// The boxes so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    /// Not changed while boxes are scanned.
    pub task: Task,
    /// In the order of the scans.
    pub counted: Vec<Counted>,
    half: Option<Label>,
}

/// What the boxes are held against.
#[derive(Debug, Clone, Copy)]
pub struct Ground<'a> {
    /// As it is before anything of this is written.
    pub shelf: &'a Shelf,
    /// Tells the words of a box, and whether a package is a box of its own.
    pub catalogue: &'a Catalogue,
    /// A box past its date, or recalled, is pointed out.
    pub today: NaiveDate,
}

impl Tally {
    /// Nothing counted yet.
    pub fn new(task: Task) -> Tally {
        Tally { task, counted: Vec::new(), half: None }
    }

    /// Everything on hand that is past its date or recalled, ready to be taken off the shelf.
    pub fn pull(ground: Ground) -> Tally {
        let why = format!("past their use-by date on {}, or recalled", ground.today);
        let mut tally = Tally::new(Task::Pull { why });
        for piece in ground.shelf.unusable(ground.today) {
            let (words, heed) = (box_words(piece, ground.catalogue), standing(piece, ground));
            tally.counted.push(Counted { piece: piece.clone(), row: Some(piece.clone()), words, heed });
        }
        tally
    }

    /// How many boxes count so far.
    pub fn count(&self) -> u32 {
        self.counted.iter().map(|one| one.piece.count).fold(0, u32::saturating_add)
    }

    /// Takes in one label.
    ///
    /// # Errors
    /// Why it does not count: it can't be read for certain, its serial number counts already, a package of several was
    /// scanned, or nothing like it lies where it is to be moved from. The tally is as it was, but that a first half
    /// without its second is forgotten.
    pub fn take(&mut self, label: &Label, ground: Ground) -> Result<CountOutcome, String> {
        let half = self.half.take();
        let whole = match half {
            Some(first) if halves(&first, label) => pair::join(&first, label).map_err(|no| no.message)?,
            _ => label.clone(),
        };
        if !whole.readings.is_empty() {
            return Err("a separator was lost and it can be read in several ways: type the label".into());
        }
        if whole.is_only_secondary() {
            return Err("this is only the second code of a label: scan the first, then this".into());
        }
        let Some(di) = whole.di.clone() else {
            return Err("the label carries no identifier of a box".into());
        };
        if whole.lot.is_none() && whole.serial.is_none() {
            self.half = Some(whole);
            return Ok(CountOutcome::Half);
        }
        let found = ground.catalogue.find(&di);
        if let Some(level) =
            whole.packaging_level().filter(|level| (1..=8).contains(level) && found.is_none())
        {
            return Err(format!("{di} is a package of several (level {level}): scan the boxes in it"));
        }
        if let Some(serial) = &whole.serial {
            let same = |one: &&Counted| {
                one.piece.serial.as_ref() == Some(serial) && ground.shelf.same_box(&one.piece.di, &di)
            };
            if crate::control::holds("serial-counts-once") && self.counted.iter().any(|one| same(&one)) {
                return Err(format!("serial number {serial} counts already"));
            }
        }
        let like = Piece {
            di,
            lot: whole.lot.clone().unwrap_or_default(),
            serial: whole.serial.clone(),
            use_by: whole.use_by,
            shelf: String::new(),
            count: 1,
            owner: Owner::Own,
        };
        let (piece, row, mut heed) = match &self.task {
            Task::Receive { place, owner } => received(like, place, owner, ground)?,
            Task::Count { place } => self.found_at(like, place, ground),
            Task::Move { from, to } => self.moved(&like, from.as_deref(), to, ground)?,
            Task::Pull { .. } => return Err("nothing is scanned while boxes are pulled".into()),
        };
        heed.splice(0..0, standing(&piece, ground));
        let words = box_words(&piece, ground.catalogue);
        self.counted.push(Counted { piece, row, words, heed });
        Ok(CountOutcome::Counted)
    }

    /// Takes the last scan back.
    pub fn take_back(&mut self) -> Option<Counted> {
        if self.half.take().is_some() || matches!(self.task, Task::Pull { .. }) {
            return None;
        }
        self.counted.pop()
    }

    /// What is to be written, and nothing where nothing would change.
    pub fn facts(&self) -> Vec<Fact> {
        let pieces = merged(self.counted.iter().map(|one| &one.piece));
        match &self.task {
            _ if pieces.is_empty() && !matches!(self.task, Task::Count { .. }) => Vec::new(),
            Task::Receive { .. } => vec![Fact::StockReceived { from: "scanned".into(), pieces }],
            Task::Count { place } => {
                let elsewhere = |row: &&Piece| row.shelf != *place;
                let brought =
                    merged(self.counted.iter().filter_map(|one| one.row.as_ref()).filter(elsewhere));
                let moved = Fact::StockMoved { pieces: brought.clone(), to: place.clone() };
                let counted = Fact::StockCounted { shelf: place.clone(), pieces };
                // A piece that was thought to lie elsewhere is not to be there a second time.
                if brought.is_empty() { vec![counted] } else { vec![moved, counted] }
            }
            Task::Move { to, .. } => {
                let pieces = merged(self.counted.iter().filter_map(|one| one.row.as_ref()));
                vec![Fact::StockMoved { pieces, to: to.clone() }]
            }
            Task::Pull { why } => vec![Fact::StockPulled { why: why.clone(), pieces }],
        }
    }

    /// What is different on the shelf once it is written, in cupboard order.
    pub fn changes(&self, shelf: &Shelf) -> Vec<Change> {
        shelf.after(&self.facts()).changes_from(shelf)
    }

    /// So many of these are counted already out of this row.
    fn taken_of(&self, row: &Piece) -> u32 {
        let of_row =
            |one: &&Counted| one.row.as_ref().is_some_and(|own| Piece { count: 1, ..row.clone() } == *own);
        u32::try_from(self.counted.iter().filter(of_row).count()).unwrap_or(u32::MAX)
    }

    /// The rows that a box like this may be in, and of which not all are counted yet.
    fn rows<'a>(&self, like: &Piece, ground: Ground<'a>) -> Vec<&'a Piece> {
        let fits = |row: &&Piece| {
            // A label may carry a serial number alone.
            (like.lot.is_empty() || same_text(&row.lot, &like.lot))
                && row.serial == like.serial
                && (like.use_by.is_none() || row.use_by == like.use_by)
                && row.count > self.taken_of(row)
        };
        ground.shelf.rows_of(std::slice::from_ref(&like.di)).filter(fits).collect()
    }

    /// A box that was found while its place is counted.
    fn found_at(&self, like: Piece, place: &str, ground: Ground) -> (Piece, Option<Piece>, Vec<String>) {
        let rows = self.rows(&like, ground);
        if let Some(row) = rows.iter().find(|row| row.shelf == place) {
            let one = Piece { count: 1, ..(*row).clone() };
            return (one.clone(), Some(one), Vec::new());
        }
        // A serial number names one piece: it can't be there as well. Without one nobody knows.
        if let Some(row) = rows.iter().find(|row| row.serial.is_some()) {
            let one = Piece { count: 1, ..(*row).clone() };
            let heed = vec![format!("was thought to lie at {}: it is moved here", row.shelf)];
            return (Piece { shelf: place.into(), ..one.clone() }, Some(one), heed);
        }
        let heed = vec!["not thought to lie here".to_string()];
        (Piece { shelf: place.into(), ..like }, None, heed)
    }

    fn moved(
        &self,
        like: &Piece,
        from: Option<&str>,
        to: &str,
        ground: Ground,
    ) -> Result<(Piece, Option<Piece>, Vec<String>), String> {
        let mut rows = self.rows(like, ground);
        rows.retain(|row| row.shelf != to && from.is_none_or(|from| row.shelf == from));
        let mut places: Vec<&str> = rows.iter().map(|row| row.shelf.as_str()).collect();
        places.sort_unstable();
        places.dedup();
        match (rows.first(), places.as_slice()) {
            (None, _) => {
                let place = from.map(|from| format!(" at {from}")).unwrap_or_default();
                Err(format!("no such piece is thought to lie{place}: receive it, or count the place"))
            }
            (Some(row), [_]) => {
                let one = Piece { count: 1, ..(*row).clone() };
                Ok((Piece { shelf: to.into(), ..one.clone() }, Some(one), Vec::new()))
            }
            (Some(_), places) => {
                Err(format!("such pieces lie at {}: begin again and say from which", places.join(" and ")))
            }
        }
    }
}

impl Task {
    /// `receiving into A1, consigned`.
    pub fn words(&self) -> String {
        match self {
            Task::Receive { place, owner } => format!("receiving into {place}, {owner}"),
            Task::Count { place } => format!("counting {place}"),
            Task::Move { from: Some(from), to } => format!("moving from {from} to {to}"),
            Task::Move { from: None, to } => format!("moving to {to}"),
            Task::Pull { .. } => "pulling what may not be used".into(),
        }
    }

    /// Whether boxes are scanned at all.
    pub const fn scans(&self) -> bool {
        !matches!(self, Task::Pull { .. })
    }
}

/// `3.00 × 29 Fell (FL30029)`, or the identifier where the catalogue does not know it.
pub fn box_words(piece: &Piece, catalogue: &Catalogue) -> String {
    let Some(found) = catalogue.find(&piece.di) else { return piece.di.to_string() };
    let size = found.size();
    let size = size_words(size.map(|(diameter, _)| diameter), size.map(|(_, length)| length));
    let gap = if size.is_empty() { "" } else { " " };
    format!("{size}{gap}{} ({})", found.product().name, found.reference())
}

fn halves(first: &Label, second: &Label) -> bool {
    let lacks = |label: &Label| label.lot.is_none() && label.serial.is_none();
    lacks(first) && second.is_only_secondary()
}

fn received(
    like: Piece,
    place: &str,
    owner: &Owner,
    ground: Ground,
) -> Result<(Piece, Option<Piece>, Vec<String>), String> {
    let mut heed = Vec::new();
    if let Some(serial) = &like.serial {
        let same = |row: &&Piece| row.count > 0 && row.serial.as_ref() == Some(serial);
        if let Some(row) = ground.shelf.rows_of(std::slice::from_ref(&like.di)).find(same) {
            return Err(format!("serial number {serial} is on the shelf already, at {}", row.shelf));
        }
        if crate::case::readback::Cupboard::serial_opened(ground.shelf, &like.di, serial) {
            heed.push("this serial number was opened in a case".to_string());
        }
    }
    Ok((Piece { shelf: place.into(), owner: owner.clone(), ..like }, None, heed))
}

/// What stands against using it.
fn standing(piece: &Piece, ground: Ground) -> Vec<String> {
    let mut heed = Vec::new();
    if ground.shelf.recalled(Some(&piece.di), &piece.lot) {
        heed.push("RECALLED".to_string());
    }
    match piece.use_by {
        Some(day) if day < ground.today => heed.push(format!("EXPIRED {day}")),
        None => heed.push("no use-by date".to_string()),
        Some(_) => {}
    }
    if ground.catalogue.find(&piece.di).is_none() {
        heed.push("NOT IN THE CATALOGUE".to_string());
    }
    heed
}

/// Pieces alike become one row, in the order in which the first of them came.
fn merged<'a>(pieces: impl Iterator<Item = &'a Piece>) -> Vec<Piece> {
    let mut rows: Vec<Piece> = Vec::new();
    for piece in pieces {
        match rows.iter_mut().find(|row| super::stocked::alike(row, piece)) {
            Some(row) => row.count = row.count.saturating_add(piece.count),
            None => rows.push(piece.clone()),
        }
    }
    rows
}

#[cfg(test)]
mod tests;

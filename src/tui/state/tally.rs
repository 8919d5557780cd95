//! Shelf: boxes are received, counted and moved by scanning them, and pulled by a list. While boxes are scanned here no
//! scan goes to read-back, unless a case waits for a box: then the case has the scanner.

use super::ask::Outcome;
use super::{EVERYWHERE, Effects, Field, Form, Front, List, Purpose, Screen, State};
use crate::catalogue::{Owner, Piece};
use crate::label::{Label, Refusal};
use crate::shelf::{Counted, Ground, Heard, Tally, Task, box_words};
use crate::tui::keys::{Action, CLOSE, DOWN, GO_SHELF, Letters, Place, UP};

pub const DONE: Action = Action::new("tally-done", &["d"]);
pub const BACK: Action = Action::new("tally-back", &["u", "Backspace"]);
pub const TYPE: Action = Action::new("tally-type", &["t"]);
pub const WRITE: Action = Action::new("sum-write", &["w"]);

pub static COUNTING: Place = Place::new(
    "While boxes are received, counted or moved",
    Letters::Own,
    &[
        DONE.row("done: the sum", "see what the boxes come to; nothing is written yet"),
        BACK.row("take the last back", "take the last scan back"),
        TYPE.row("type label", "type a label that can't be scanned"),
        CLOSE.row("leave", "leave without writing; with boxes counted it asks for the key twice"),
    ],
)
.within(&EVERYWHERE);

pub static SUM: Place = Place::new(
    "Before they are written",
    Letters::Own,
    &[
        WRITE.row("WRITE it", "write it, as it stands here"),
        CLOSE.row("back", "back without writing"),
        DOWN.row("", "further down"),
        UP.row("", "further up"),
    ],
)
.within(&EVERYWHERE);

pub const COUNTS: Front = Front {
    offers: |state, action| {
        action != BACK || state.tally.as_ref().is_some_and(|scanning| scanning.tally.count() > 0)
    },
    ..Front::new(&COUNTING, |state, action| match action {
        DONE => state.see_sum(),
        BACK => state.take_back(),
        TYPE => state.ask_label(),
        CLOSE => state.leave_tally(),
        _ => Effects::new(),
    })
};

pub const SUMS: Front = Front {
    list: |state| {
        let scanning = state.tally.as_mut()?;
        let count = scanning.sum.as_ref().map_or(0, Vec::len);
        Some(List::new(&mut scanning.scroll, count))
    },
    offers: |state, action| action != WRITE || state.tally.as_ref().is_some_and(Scanning::changes_something),
    ..Front::new(&SUM, |state, action| match action {
        WRITE => state.write_tally(),
        CLOSE => state.leave_sum(),
        _ => Effects::new(),
    })
};

/// The boxes so far, and how the last scan went.
#[derive(Debug, Clone, PartialEq)]
pub struct Scanning {
    pub tally: Tally,
    pub last: LastScan,
    /// What would change; none while boxes are still scanned.
    pub sum: Option<Vec<SumRow>>,
    pub scroll: usize,
    leaving: bool,
}

/// How the last scan went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LastScan {
    Nothing,
    Counted,
    Half,
    /// And why.
    NotCounted(String),
    TakenBack(String),
}

/// One row of the sum: pieces alike, before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SumRow {
    pub words: String,
    pub before: u32,
    pub after: u32,
}

impl Scanning {
    fn new(tally: Tally) -> Self {
        Scanning { tally, last: LastScan::Nothing, sum: None, scroll: 0, leaving: false }
    }

    pub(super) const fn front(&self) -> &'static Front {
        match self.sum {
            Some(_) => &SUMS,
            None => &COUNTS,
        }
    }

    fn changes_something(&self) -> bool {
        self.sum.as_ref().is_some_and(|rows| !rows.is_empty())
    }
}

impl State {
    fn ground(&self) -> Ground<'_> {
        Ground { shelf: &self.world.shelf, catalogue: &self.world.catalogue, today: self.world.today() }
    }

    /// Why a case has the scanner: one of its calls waits, or one of its boxes lies unopened in the room.
    pub fn case_has_the_scanner(&self) -> Option<String> {
        let code = self.world.open_case()?;
        let (waiting, at_hand) = (self.world.waiting().len(), self.world.at_hand().len());
        (waiting + at_hand > 0).then(|| {
            format!("case {code} has {waiting} to fetch and {at_hand} at hand: scans go to read-back")
        })
    }

    /// Whether a scan counts here instead of being read back.
    pub(super) fn tally_hears(&self) -> bool {
        let scans = self.tally.as_ref().is_some_and(|scanning| scanning.tally.task.scans());
        scans && self.screen == Screen::Shelf && self.case_has_the_scanner().is_none()
    }

    /// Asks where, and whose, before the first box is scanned.
    pub(super) fn ask_place(&mut self, purpose: Purpose) -> Effects {
        if let Some(why) = self.case_has_the_scanner() {
            return self.heed(format!("Not now: {why}"));
        }
        let place = |id, label: &str, hint: &str| Field::text(id, label, "", hint);
        let there = self.places();
        let known = if there.is_empty() { String::new() } else { format!("In use: {}", there.join(" · ")) };
        let leave = self.key(CLOSE);
        let scan_them =
            format!("Then scan them one by one. No scan is read back until you leave with {leave}.");
        let (title, intro, fields) = match purpose {
            Purpose::Receive => (
                "Receive boxes",
                scan_them.as_str(),
                vec![
                    place("to", "they go to", "as the place is written"),
                    Field::one_of(
                        "owner",
                        "owner",
                        vec!["own".into(), "consigned".into(), "borrowed".into()],
                        0,
                    ),
                    place("from", "borrowed from", "only where they are borrowed"),
                ],
            ),
            Purpose::Count => (
                "Count one place",
                "Then scan all that lies there. Differences are shown before anything is written.",
                vec![place("to", "place", "as it is written")],
            ),
            _ => (
                "Move boxes",
                scan_them.as_str(),
                vec![
                    place("to", "they go to", "as the place is written"),
                    place("from", "from", "empty: wherever they lie"),
                ],
            ),
        };
        self.ask(Form::new(purpose, title, &[intro, &known], fields))
    }

    /// Every place where something lies, in cupboard order.
    fn places(&self) -> Vec<&str> {
        let mut places: Vec<&str> =
            self.world.shelf.pieces().into_iter().map(|piece| piece.shelf.as_str()).collect();
        places.dedup();
        places
    }

    pub(super) fn accept_place(&mut self, form: &Form) -> Outcome {
        let (to, from) = (form.value("to"), form.value("from"));
        if to.is_empty() {
            return Err("Type the place as it is written on the shelf".into());
        }
        let task = match form.purpose {
            Purpose::Count => Task::Count { place: to.clone() },
            Purpose::Move if to == from => return Err("That is the place they are to come from".into()),
            Purpose::Move => Task::Move { from: Some(from).filter(|from| !from.is_empty()), to: to.clone() },
            _ => {
                let owner = match (form.chosen("owner"), from.is_empty()) {
                    (0 | 1, false) => {
                        return Err("Only borrowed boxes have a lender: choose borrowed, or empty it".into());
                    }
                    (0, true) => Owner::Own,
                    (1, true) => Owner::Consigned,
                    (_, true) => return Err("Type from whom they are borrowed".into()),
                    (_, false) => Owner::Borrowed(from),
                };
                Task::Receive { place: to.clone(), owner }
            }
        };
        let is_new = !self.places().contains(&to.as_str());
        let words = task.words();
        self.tally = Some(Scanning::new(Tally::new(task)));
        Ok(if is_new {
            self.heed(format!("Nothing lies at {to} yet: is that how the place is written?"))
        } else {
            self.say(format!("Now {words}: scan the boxes"))
        })
    }

    pub(super) fn begin_pull(&mut self) -> Effects {
        self.tally = Some(Scanning::new(Tally::pull(self.ground())));
        self.see_sum()
    }

    /// One label, while boxes are scanned here.
    pub(super) fn tally_scan(&mut self, label: Result<Label, Refusal>, complete: bool) {
        let Some(mut scanning) = self.tally.take() else { return };
        self.overlay = None;
        (scanning.sum, scanning.leaving) = (None, false);
        let heard = match label {
            _ if !complete => Err("the scan broke off: scan it again".to_string()),
            Ok(label) => scanning.tally.take(&label, self.ground()),
            Err(refusal) => Err(refusal.message),
        };
        scanning.last = match heard {
            Ok(Heard::Counted) => LastScan::Counted,
            Ok(Heard::Half) => LastScan::Half,
            Err(why) => LastScan::NotCounted(why),
        };
        match (&scanning.last, scanning.tally.counted.last()) {
            (LastScan::Counted, Some(one)) if one.heed.is_empty() => self.say(&*one.words),
            (LastScan::Counted, Some(one)) => self.heed(format!("{}: {}", one.words, one.heed.join(", "))),
            (LastScan::Half, _) => self.heed("Half a label: scan its second code"),
            (LastScan::NotCounted(why), _) => self.heed(format!("NOT COUNTED: {why}")),
            _ => Effects::new(),
        };
        self.tally = Some(scanning);
    }

    /// A scan that went to read-back although boxes were being counted.
    pub(super) fn told_not_counted(&mut self) {
        let scans = self.tally.as_ref().filter(|scanning| scanning.tally.task.scans());
        let Some(task) = scans.map(|scanning| scanning.tally.task.words()) else { return };
        let key = self.key(GO_SHELF);
        self.heed(format!("Read back, NOT COUNTED: {key} goes on {task}"));
    }

    /// The shelf has changed under the sum that is shown.
    pub(super) fn sum_again(&mut self) {
        if self.tally.as_ref().is_some_and(|scanning| scanning.sum.is_some()) {
            self.see_sum();
        }
    }

    fn see_sum(&mut self) -> Effects {
        let Some(scanning) = &self.tally else { return Effects::new() };
        let changes = scanning.tally.changes(&self.world.shelf);
        let rows = changes
            .iter()
            .map(|change| SumRow {
                words: format!(
                    "{}: {}",
                    change.piece.shelf,
                    piece_words(&change.piece, &self.world.catalogue)
                ),
                before: change.before,
                after: change.piece.count,
            })
            .collect();
        if let Some(scanning) = &mut self.tally {
            (scanning.sum, scanning.scroll) = (Some(rows), 0);
        }
        Effects::new()
    }

    /// Back to the boxes; a list that was not scanned is left.
    fn leave_sum(&mut self) -> Effects {
        match &mut self.tally {
            Some(scanning) if scanning.tally.task.scans() => {
                scanning.sum = None;
                Effects::new()
            }
            _ => {
                self.tally = None;
                self.say("Left; nothing was written")
            }
        }
    }

    fn take_back(&mut self) -> Effects {
        let Some(scanning) = &mut self.tally else { return Effects::new() };
        scanning.leaving = false;
        match scanning.tally.take_back() {
            Some(Counted { words, .. }) => {
                scanning.last = LastScan::TakenBack(words.clone());
                self.say(format!("Taken back: {words}"))
            }
            None => {
                scanning.last = LastScan::Nothing;
                self.say("Nothing is counted")
            }
        }
    }

    fn leave_tally(&mut self) -> Effects {
        let (leave, done) = (self.key(CLOSE), self.key(DONE));
        let Some(scanning) = &mut self.tally else { return Effects::new() };
        let count = scanning.tally.count();
        if count > 0 && !scanning.leaving {
            scanning.leaving = true;
            return self.heed(format!(
                "{count} counted and NOT WRITTEN: {leave} again forgets them, {done} shows the sum"
            ));
        }
        self.tally = None;
        self.say("Left; nothing was written. Scans are read back again")
    }

    fn write_tally(&mut self) -> Effects {
        if let Some(why) = self.world.shelf.unread() {
            return self.heed(why);
        }
        let Some(scanning) = self.tally.take_if(|scanning| scanning.changes_something()) else {
            return self.say("Nothing changes: there is nothing to write");
        };
        self.write_for_room(scanning.tally.facts())
    }
}

/// `3.00 × 29 Fell (FL30029), lot K7, SN 4, use by 2027-02-28, consigned`.
fn piece_words(piece: &Piece, catalogue: &crate::catalogue::Catalogue) -> String {
    let mut words = format!("{}, lot {}", box_words(piece, catalogue), piece.lot);
    if let Some(serial) = &piece.serial {
        words.push_str(&format!(", SN {serial}"));
    }
    if let Some(day) = piece.use_by {
        words.push_str(&format!(", use by {day}"));
    }
    if piece.owner != Owner::Own {
        words.push_str(&format!(", {}", piece.owner));
    }
    words
}

//! Shelf: boxes are received, counted and moved by scanning them, and pulled by a list. While boxes are scanned here no
//! scan goes to read-back, unless a case waits for a box: then the case has the scanner.

use super::ask::Outcome;
use super::{Effect, Field, Form, Purpose, Screen, State};
use crate::catalogue::{Owner, Piece};
use crate::label::{Label, Refusal};
use crate::shelf::{Counted, Ground, Heard, Tally, Task, box_words};
use crate::tui::keys::{Action, Place};

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

    pub(super) const fn place(&self) -> Place {
        match self.sum {
            Some(_) => Place::Sum,
            None => Place::Tally,
        }
    }

    pub(super) fn changes_something(&self) -> bool {
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
    pub(super) fn ask_place(&mut self, purpose: Purpose) {
        if let Some(why) = self.case_has_the_scanner() {
            self.heed(format!("Not now: {why}"));
            return;
        }
        let place = |id, label: &str, hint: &str| Field::text(id, label, "", hint);
        let there = self.places();
        let known = if there.is_empty() { String::new() } else { format!("In use: {}", there.join(" · ")) };
        let leave = self.key(Action::TallyLeave);
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
        self.ask(Form::new(purpose, title, &[intro, &known], fields));
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
        if is_new {
            self.heed(format!("Nothing lies at {to} yet: is that how the place is written?"));
        } else {
            self.say(format!("Now {words}: scan the boxes"));
        }
        Ok(Vec::new())
    }

    pub(super) fn begin_pull(&mut self) {
        self.tally = Some(Scanning::new(Tally::pull(self.ground())));
        self.see_sum();
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
            (LastScan::Counted, Some(one)) if one.heed.is_empty() => self.say(one.words.clone()),
            (LastScan::Counted, Some(one)) => self.heed(format!("{}: {}", one.words, one.heed.join(", "))),
            (LastScan::Half, _) => self.heed("Half a label: scan its second code".to_string()),
            (LastScan::NotCounted(why), _) => self.heed(format!("NOT COUNTED: {why}")),
            _ => {}
        }
        self.tally = Some(scanning);
    }

    /// A scan that went to read-back although boxes were being counted.
    pub(super) fn told_not_counted(&mut self) {
        let scans = self.tally.as_ref().filter(|scanning| scanning.tally.task.scans());
        let Some(task) = scans.map(|scanning| scanning.tally.task.words()) else { return };
        let key = self.key(Action::GoShelf);
        self.heed(format!("Read back, NOT COUNTED: {key} goes on {task}"));
    }

    /// The shelf has changed under the sum that is shown.
    pub(super) fn sum_again(&mut self) {
        if self.tally.as_ref().is_some_and(|scanning| scanning.sum.is_some()) {
            self.see_sum();
        }
    }

    fn see_sum(&mut self) {
        let Some(scanning) = &self.tally else { return };
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
    }

    pub(super) fn act_tally(&mut self, action: Action) -> Vec<Effect> {
        match action {
            Action::TallyDone => self.see_sum(),
            Action::TallyBack => self.take_back(),
            Action::TallyType => self.ask_label(),
            Action::TallyLeave => self.leave_tally(),
            Action::SumWrite => return self.write_tally(),
            Action::SumBack => {
                let scans = self.tally.as_ref().is_some_and(|scanning| scanning.tally.task.scans());
                match &mut self.tally {
                    Some(scanning) if scans => scanning.sum = None,
                    _ => {
                        self.tally = None;
                        self.say("Left; nothing was written".to_string());
                    }
                }
            }
            Action::SumDown | Action::SumUp => {
                if let Some(scanning) = &mut self.tally {
                    let most = scanning.sum.as_ref().map_or(0, |rows| rows.len().saturating_sub(1));
                    let down = action == Action::SumDown;
                    scanning.scroll = if down {
                        (scanning.scroll + 1).min(most)
                    } else {
                        scanning.scroll.saturating_sub(1)
                    };
                }
            }
            _ => {}
        }
        Vec::new()
    }

    fn take_back(&mut self) {
        let Some(scanning) = &mut self.tally else { return };
        scanning.leaving = false;
        match scanning.tally.take_back() {
            Some(Counted { words, .. }) => {
                scanning.last = LastScan::TakenBack(words.clone());
                self.say(format!("Taken back: {words}"));
            }
            None => {
                scanning.last = LastScan::Nothing;
                self.say("Nothing is counted".to_string());
            }
        }
    }

    fn leave_tally(&mut self) {
        let (leave, done) = (self.key(Action::TallyLeave), self.key(Action::TallyDone));
        let Some(scanning) = &mut self.tally else { return };
        let count = scanning.tally.count();
        if count > 0 && !scanning.leaving {
            scanning.leaving = true;
            self.heed(format!(
                "{count} counted and NOT WRITTEN: {leave} again forgets them, {done} shows the sum"
            ));
            return;
        }
        self.tally = None;
        self.say("Left; nothing was written. Scans are read back again".to_string());
    }

    fn write_tally(&mut self) -> Vec<Effect> {
        if let Some(why) = self.world.shelf.unread() {
            self.heed(why);
            return Vec::new();
        }
        let Some(scanning) = self.tally.take_if(|scanning| scanning.changes_something()) else {
            self.say("Nothing changes: there is nothing to write".to_string());
            return Vec::new();
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

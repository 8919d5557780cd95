//! How the screens follow what is written, here and by other programs, and what was read behind them.

use super::{Effect, Effects, Overlay, Said, Screen, State, Wanted};
use crate::journal::{Entry, Fact};
use crate::room::Behind;

impl State {
    /// What these bring to the screens, on disk or still waiting for it.
    pub(super) fn took_place(&mut self, entries: &[Entry], saved: bool) {
        for entry in entries {
            if matches!(entry.fact, Fact::CaseBegun) {
                self.overlay = entry.case.clone().map(Overlay::CaseCode);
                self.end.record = None;
            }
        }
        self.next_patient(entries);
        if let Some(words) = self.world.last_words() {
            let last = self.world.case.as_ref().and_then(|case| case.last_undoable()).map(|(entry, _)| entry);
            let undo = last.filter(|entry| entries.first().is_some_and(|first| *entry >= first.seq));
            self.said = Said { words, heed: false, written: saved, undo };
        }
        if self.screen == Screen::FirstSteps {
            self.step_on();
        }
        self.resume_measurements();
        self.clamp();
    }

    /// A case that is signed off leaves no lesion in work: the next call is another patient's.
    fn next_patient(&mut self, entries: &[Entry]) {
        let shown = self.world.case.as_ref().map(|case| &case.code);
        let signed = |entry: &Entry| matches!(entry.fact, Fact::SignedOff { .. });
        if entries.iter().any(|entry| signed(entry) && entry.case.as_ref() == shown) {
            self.lesion = 1;
        }
    }

    /// What another program wrote: the screens follow, and nobody's cursor or form is moved.
    pub(super) fn news(&mut self, entries: Vec<Entry>) -> Effects {
        let here = self.world.case.as_ref().map(|case| case.code.clone());
        let elsewhere =
            entries.iter().find_map(|entry| entry.case.clone()).filter(|code| Some(code) != here.as_ref());
        self.next_patient(&entries);
        let subject = self.subject().map(|judged| judged.of);
        let wanted = self.absorb_news(entries, here.is_some());
        self.sum_again();
        if let (Some(_), Some(other)) = (here, elsewhere) {
            self.say(format!("Another screen wrote in case {other}"));
        } else if let Some(words) = self.world.last_words() {
            self.say(format!("Another screen: {words}"));
        }
        if !self.overlay.as_ref().is_some_and(Overlay::measures) {
            self.resume_measurements();
        }
        self.clamp();
        if subject.is_some() && subject != self.subject().map(|judged| judged.of) {
            self.rest();
        }
        reads(wanted)
    }

    pub(super) fn other_case(&mut self) -> Effects {
        match self.world.next_open_case() {
            Ok(Some(code)) if self.waits_to_begin(&code) => self.show_waiting(code),
            Ok(Some(code)) => vec![Effect::Read(Wanted::Case(code))],
            Ok(None) => self.say("No other case is open"),
            Err(why) => self.say(why),
        }
    }

    /// The case that was asked for is shown.
    pub(super) fn case_read(&mut self, entries: Vec<Entry>) -> Effects {
        let Some(code) = entries.first().and_then(|entry| entry.case.clone()) else { return Effects::new() };
        let wanted = self.world.show(&code, entries);
        self.now_in_case();
        reads(wanted)
    }

    pub(super) fn now_in_case(&mut self) {
        if let Some(case) = &self.world.case {
            self.say(format!("Now in case {}", case.code));
        }
        self.lesion = 1;
        self.readback.held = None;
        self.resume_measurements();
        self.clamp();
    }

    /// Shelf and cases are there: what was shown without them is shown again.
    pub(super) fn arrived(&mut self, behind: Behind) -> Effects {
        let wanted = self.world.arrived(behind);
        self.shelf_is_known();
        reads(wanted)
    }

    pub(super) fn not_arrived(&mut self, why: String) -> Effects {
        self.heed(format!("THE SHELF CAN'T BE READ: {why}"));
        self.world.shelf.failed(why);
        self.shelf_is_known();
        Effects::new()
    }

    fn shelf_is_known(&mut self) {
        self.judge();
        self.sum_again();
        self.clamp();
    }
}

pub(super) fn reads(wanted: impl IntoIterator<Item = Wanted>) -> Effects {
    wanted.into_iter().map(Effect::Read).collect()
}

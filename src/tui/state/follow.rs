//! How the screens follow what is written, here and by other programs, and what was read behind them.

use super::{Effect, Overlay, Purpose, Said, Screen, State, Wanted};
use crate::journal::{Entry, Fact};
use crate::room::Behind;

impl State {
    pub(super) fn written(&mut self, entries: Vec<Entry>) -> Vec<Effect> {
        let mut effects = Vec::new();
        for entry in &entries {
            match &entry.fact {
                Fact::CaseBegun => {
                    self.overlay = entry.case.clone().map(Overlay::CaseCode);
                    self.lesion = 1;
                    self.record_place = None;
                }
                Fact::SignedOff { .. } => effects.extend(entry.case.clone().map(Effect::Record)),
                _ => {}
            }
        }
        let belated = entries.iter().all(|entry| !matches!(entry.fact, Fact::SignedOff { .. }));
        let written_in = entries.iter().rev().find_map(|entry| entry.case.clone());
        let first = entries.first().map(|entry| entry.seq);
        let wanted = self.world.absorb(entries, false);
        effects.extend(wanted.into_iter().map(Effect::Read));
        // What is settled after the signature belongs on the record that was filed.
        if let Some(case) = self.world.case.as_ref().filter(|case| belated && case.signed.is_some())
            && written_in.as_ref() == Some(&case.code)
        {
            effects.push(Effect::Record(case.code.clone()));
        }
        if let Some(words) = self.world.last_words() {
            let last = self.world.case.as_ref().and_then(|case| case.last_undoable()).map(|(entry, _)| entry);
            let undo = last.filter(|entry| first.is_some_and(|first| *entry >= first));
            self.said = Said { words, heed: false, written: true, undo };
        }
        if self.screen == Screen::FirstSteps {
            self.step_on();
        }
        self.resume_measurements();
        self.clamp();
        effects
    }

    /// What another program wrote: the screens follow, and nobody's cursor or form is moved.
    pub(super) fn news(&mut self, entries: Vec<Entry>) -> Vec<Effect> {
        let here = self.world.case.as_ref().map(|case| case.code.clone());
        let elsewhere =
            entries.iter().find_map(|entry| entry.case.clone()).filter(|code| Some(code) != here.as_ref());
        let wanted = self.world.absorb(entries, here.is_some());
        self.sum_again();
        match (here, elsewhere) {
            (Some(_), Some(other)) => {
                self.say(format!("Another screen wrote in case {other}"));
            }
            _ => {
                if let Some(words) = self.world.last_words() {
                    self.say(format!("Another screen: {words}"));
                }
            }
        }
        if !matches!(&self.overlay, Some(Overlay::Form(form)) if matches!(form.purpose, Purpose::Measure { .. }))
        {
            self.resume_measurements();
        }
        self.clamp();
        wanted.into_iter().map(Effect::Read).collect()
    }

    pub(super) fn other_case(&mut self) -> Vec<Effect> {
        match self.world.next_open_case() {
            Ok(Some(code)) => return vec![Effect::Read(Wanted::Case(code))],
            Ok(None) => self.say("No other case is open".to_string()),
            Err(why) => self.say(why),
        }
        Vec::new()
    }

    /// The case that was asked for is shown.
    pub(super) fn case_read(&mut self, entries: Vec<Entry>) -> Vec<Effect> {
        let wanted = self.world.show(entries);
        if let Some(case) = &self.world.case {
            self.say(format!("Now in case {}", case.code));
        }
        self.lesion = 1;
        self.held = None;
        self.resume_measurements();
        self.clamp();
        wanted.map(Effect::Read).into_iter().collect()
    }

    /// Shelf and cases are there: what was shown without them is shown again.
    pub(super) fn arrived(&mut self, behind: Behind) -> Vec<Effect> {
        let wanted = self.world.arrived(behind);
        self.shelf_is_known();
        wanted.map(Effect::Read).into_iter().collect()
    }

    pub(super) fn not_arrived(&mut self, why: String) {
        self.heed(format!("THE SHELF CAN'T BE READ: {why}"));
        self.world.shelf.failed(why);
        self.shelf_is_known();
    }

    fn shelf_is_known(&mut self) {
        self.judge();
        self.sum_again();
        self.read_back_again();
        self.clamp();
    }
}

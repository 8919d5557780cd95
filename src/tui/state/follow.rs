//! How the screens follow what is written, here and by other programs, and what was read behind them.

#![allow(clippy::cast_possible_truncation, reason = "entries that wait")]

use super::{State, case_code, unsaved};
use crate::case::entry_words;
use crate::journal::{CaseCode, Entry, Fact};
use crate::room::Behind;
use crate::tui::model::session::Said;
use crate::tui::model::{Draft, Effect, Effects, Form, Screen, Session, Wanted};
use crate::tui::screens::shelf::tally;
use chrono::{DateTime, FixedOffset, TimeDelta};

/// How long the disk is left alone after it refused.
const PAUSE: TimeDelta = TimeDelta::seconds(3);

/// Less is the clock being put right, and nobody needs to know.
const SET_BACK: TimeDelta = TimeDelta::seconds(-5);

impl State {
    /// What these bring to the screens, on disk or still waiting for it.
    fn show_entries(&mut self, entries: &[Entry], saved: bool) {
        for entry in entries {
            if matches!(entry.fact, Fact::CaseBegun) {
                if let Some(code) = entry.case.clone() {
                    self.open(case_code::NewCode(code));
                }
                self.record = None;
            }
        }
        self.next_patient(entries);
        if let Some(words) = self.world.last_words() {
            let last = self.world.case.as_ref().and_then(|case| case.last_undoable()).map(|(entry, _)| entry);
            let undo = last.filter(|entry| entries.first().is_some_and(|first| *entry >= first.seq));
            self.said = Said { words, warns: false, written: saved, undo };
        }
        if self.screen() == Screen::FirstSteps {
            self.screens.first_steps.step_on(&self.session);
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
            self.screens.case_end.signed();
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
        tally::refresh_sum(self);
        if let (Some(_), Some(other)) = (here, elsewhere) {
            self.say(format!("Another screen wrote in case {other}"));
        } else if let Some(words) = self.world.last_words() {
            self.say(format!("Another screen: {words}"));
        }
        if !self.form().is_some_and(Form::is_in_pane) {
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
            Ok(Some(code)) => vec![Effect::Read(Wanted::Case(code)).into()],
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

    fn now_in_case(&mut self) {
        if let Some(case) = &self.session.world.case {
            let words = format!("Now in case {}", case.code);
            self.say(words);
        }
        self.lesion = 1;
        self.findings.held = None;
        self.resume_measurements();
        self.clamp();
    }

    /// Shelf and cases are there: what was shown without them is shown again.
    pub(super) fn arrived(&mut self, behind: Behind) -> Effects {
        let wanted = self.world.arrived(behind);
        self.shelf_known();
        reads(wanted)
    }

    pub(super) fn not_arrived(&mut self, why: String) -> Effects {
        self.warn(format!("THE SHELF CAN'T BE READ: {why}"));
        self.world.shelf.failed(why);
        self.shelf_known();
        Effects::new()
    }

    fn shelf_known(&mut self) {
        self.judge();
        tally::refresh_sum(self);
        self.clamp();
    }

    /// Whether this case is not on disk at all yet.
    fn waits_to_begin(&self, code: &CaseCode) -> bool {
        self.unsaved.drafts.iter().any(|draft| draft.case.as_ref() == Some(code) && draft.begins_case())
    }

    /// Shows a case that is not on disk yet.
    fn show_waiting(&mut self, code: CaseCode) -> Effects {
        let wanted = self.world.show(&code, Vec::new());
        self.now_in_case();
        reads(wanted)
    }

    /// The disk has refused it, or it has to wait behind others.
    pub(super) fn not_written(&mut self, draft: Draft, why: Option<String>) -> Effects {
        self.unsaved.why = why.unwrap_or_else(|| std::mem::take(&mut self.unsaved.why));
        self.unsaved.tried_at = Some(self.world.now);
        if !crate::control::holds("work-goes-on-in-memory") {
            return Vec::new();
        }
        let draft = Draft { tried: true, ..draft };
        if let Some(known) = self.unsaved.drafts.iter_mut().find(|known| known.number == draft.number) {
            *known = draft;
            if std::mem::take(&mut self.unsaved.asked) {
                self.open(unsaved::UnsavedList::default());
            }
            return Vec::new();
        }
        let before = self.unsaved.count();
        let begun = draft.case.clone().filter(|_| draft.begins_case());
        if crate::control::holds("drafts-kept") {
            self.unsaved.drafts.push(draft);
        }
        let pending = self.unsaved.entries(self.saved_seq());
        let own = pending[before..].to_vec();
        self.world.set_pending(pending);
        let wanted = begun.and_then(|code| self.world.show(&code, Vec::new()));
        // The record of a case is written when its sign-off is on disk.
        self.show_entries(&own, false);
        reads(wanted)
    }

    /// On disk now. `already`: it was there before, and nobody was told.
    pub(super) fn written(&mut self, entries: Vec<Entry>, already: bool) -> Effects {
        let (shown, saved) = (self.world.case_code(), self.saved_seq());
        let waited = (!self.unsaved.drafts.is_empty()).then(|| self.unsaved.drafts.remove(0));
        let own: Vec<Entry> = entries.iter().filter(|entry| !entry.fact.is_notice()).cloned().collect();
        let last = entries.last().map_or(saved, |entry| entry.seq.max(saved));
        if let Some(draft) = &waited {
            let count = draft.facts.len() as u64;
            self.unsaved.renumber(|seq| match seq.checked_sub(saved + 1) {
                None => seq,
                Some(place) if place < count => own.get(place as usize).map_or(seq, |entry| entry.seq),
                Some(place) => last + 1 + place - count,
            });
        }
        let stay = waited.as_ref().is_some_and(|draft| draft.case != shown);
        let new = entries.into_iter().filter(|entry| entry.seq > saved).collect();
        let wanted = self.session.world.saved(new, self.session.unsaved.entries(last), stay);
        let mut effects: Effects = own
            .iter()
            .filter(|entry| matches!(entry.fact, Fact::SignedOff { .. }))
            .filter_map(|entry| entry.case.clone().map(|code| Effect::Record(code).into()))
            .collect();
        // What is settled after the signature belongs on the record that was filed.
        let written_in = own.iter().rev().find_map(|entry| entry.case.as_ref());
        if effects.is_empty()
            && let Some(code) = self.world.case_code().filter(|code| written_in == Some(code))
            && self.world.is_signed_off()
        {
            effects.push(Effect::Record(code).into());
        }
        match &waited {
            None => self.show_entries(&own, true),
            Some(_) => {
                match self.unsaved.drafts.first() {
                    Some(next) => effects.push(Effect::Write(next.clone()).into()),
                    None => {
                        self.unsaved.why.clear();
                        if self.front().place(self) == &unsaved::PLACE {
                            self.overlay = None;
                        }
                        self.unsaved.asked = false;
                        let back = if std::mem::take(&mut self.unsaved.put_back) {
                            "; the journal was gone and was put back, whole"
                        } else {
                            ""
                        };
                        self.say(format!("Everything is saved again{back}"));
                    }
                }
                self.resume_measurements();
            }
        }
        if already && let Some(first) = own.first() {
            let at = first.at.format("%H:%M");
            let words = entry_words(&first.fact);
            self.warn(format!("This was written already, at {at}; it is not written twice: {words}"));
        }
        self.clamp();
        effects.extend(reads(wanted));
        effects
    }

    /// What other programs wrote goes before what waits here.
    fn absorb_news(&mut self, entries: Vec<Entry>, stay: bool) -> Vec<Wanted> {
        let saved = self.saved_seq();
        let new: Vec<Entry> = entries.into_iter().filter(|entry| entry.seq > saved).collect();
        let last = new.last().map_or(saved, |entry| entry.seq);
        self.unsaved.renumber(|seq| if seq > saved { seq + last - saved } else { seq });
        self.session.world.saved(new, self.session.unsaved.entries(last), stay)
    }

    /// The journal lies in its place again.
    pub(super) fn journal_back(&mut self) -> Effects {
        self.unsaved.put_back = true;
        self.warn("The journal was gone and was put back, whole")
    }

    /// Now and then the disk is asked again, without a word.
    pub(super) fn tick(&mut self, now: DateTime<FixedOffset>) -> Effects {
        let step = now - self.world.now;
        self.world.now = now;
        let Session { searchable, world, .. } = &mut self.session;
        searchable.renew(world);
        if step < TimeDelta::zero() {
            // What runs goes on as long as it did: no duration shrinks with the clock.
            self.hold_clocks(-step);
            self.hold_rest(-step);
            self.unsaved.tried_at = self.unsaved.tried_at.map(|at| at + step);
        }
        if step < SET_BACK {
            self.warn(format!(
                "The clock was set back by {} s. What is written keeps its order; look at the time",
                -step.num_seconds()
            ));
        }
        let due = self.unsaved.tried_at.is_none_or(|at| now - at >= PAUSE);
        match self.unsaved.drafts.first() {
            Some(first) if due => {
                let effect = Effect::Write(first.clone()).into();
                self.unsaved.tried_at = Some(now);
                vec![effect]
            }
            _ => Vec::new(),
        }
    }
}

pub(super) fn reads(wanted: impl IntoIterator<Item = Wanted>) -> Effects {
    wanted.into_iter().map(|wanted| Effect::Read(wanted).into()).collect()
}

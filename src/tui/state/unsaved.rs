//! Facts on their way to the disk, and what waits while the disk refuses.
//!
//! The room goes on without the disk: what waits is shown as if it were in the journal, marked NOT SAVED, under the
//! numbers that it would have there. It is written in the order in which it was entered; nothing passes it.

use super::ask::Outcome;
use super::follow::reads;
use super::{Choice, EVERYWHERE, Effect, Effects, Field, Form, Front, List, Overlay, Purpose, State, Wanted};
use crate::case::entry_words;
use crate::journal::{CaseCode, Entry, Fact};
use crate::tui::keys::{Action, CLOSE, DOWN, LEAVE, Letters, Place, UP};
use crate::units::{by_count, counted};
use chrono::{DateTime, FixedOffset, TimeDelta};

pub const AGAIN: Action = Action::new("unsaved-again", &["r"]);
pub const FILE: Action = Action::new("unsaved-file", &["w"]);

pub static PLACE: Place = Place::new(
    "What is not saved",
    Letters::Own,
    &[
        DOWN.row("", "further down"),
        UP.row("", "further up"),
        AGAIN.row("try again", "try now to save what waits"),
        FILE.row("to a file", "write what waits to a file on another disk"),
        CLOSE.row("back", "back to work; what waits is saved as soon as the disk takes it"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| {
        let count = state.unsaved.count();
        Some(List::new(&mut state.unsaved.scroll, count))
    },
    ..Front::new(&PLACE, |state, action| match action {
        FILE => state.ask_where(false),
        AGAIN => state.try_again(),
        _ => Effects::new(),
    })
};

/// Facts on their way to the disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// Which of this program's drafts it is, from 1.
    pub number: u64,
    /// Made before its first commit and kept, so that it is never written twice; none before the first try.
    pub id: Option<String>,
    pub entered: DateTime<FixedOffset>,
    pub case: Option<CaseCode>,
    pub facts: Vec<Fact>,
    /// The disk has refused it before.
    pub tried: bool,
}

impl Draft {
    fn begins_case(&self) -> bool {
        matches!(self.facts[..], [Fact::CaseBegun, ..])
    }
}

/// One draft with what it would be in the journal: for a file elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    pub draft: Draft,
    /// The numbers under which its facts are shown.
    pub seqs: Vec<u64>,
}

/// What waits, and why.
#[derive(Debug, Clone, Default)]
pub struct Unsaved {
    /// Oldest first.
    pub drafts: Vec<Draft>,
    /// What the disk said last.
    pub why: String,
    made: u64,
    tried_at: Option<DateTime<FixedOffset>>,
    /// Somebody has just asked for another try.
    asked: bool,
    /// Drafts up to this one are in a file elsewhere.
    kept_elsewhere: u64,
    /// The journal was gone, and was put back.
    put_back: bool,
    /// How far down the list is read.
    pub scroll: usize,
}

/// How long the disk is left alone after it refused.
const PAUSE: TimeDelta = TimeDelta::seconds(3);

/// Less is the clock being put right, and nobody needs to know.
const SET_BACK: TimeDelta = TimeDelta::seconds(-5);

/// The word that loses what is not saved.
const LOSE: &str = "lose";

impl Unsaved {
    pub fn count(&self) -> usize {
        self.drafts.iter().map(|draft| draft.facts.len()).sum()
    }

    fn all_kept_elsewhere(&self) -> bool {
        self.drafts.iter().all(|draft| draft.number <= self.kept_elsewhere)
    }

    /// What waits, as the entries that it would be behind this one.
    fn entries(&self, last: u64) -> Vec<Entry> {
        let facts = self.drafts.iter().flat_map(|draft| draft.facts.iter().map(move |fact| (draft, fact)));
        let entry = |((draft, fact), seq): ((&Draft, &Fact), u64)| Entry {
            seq,
            at: draft.entered,
            command: format!("not saved: {}", draft.number),
            case: draft.case.clone(),
            fact: fact.clone(),
        };
        facts.zip(last + 1..).map(entry).collect()
    }

    /// Entries that are struck out by what waits have new numbers.
    fn renumber(&mut self, new: impl Fn(u64) -> u64) {
        for fact in self.drafts.iter_mut().flat_map(|draft| &mut draft.facts) {
            if let Fact::StruckOut { entry, .. } = fact {
                *entry = new(*entry);
            }
        }
    }
}

impl State {
    /// Sends facts to the disk, behind what waits.
    pub(super) fn submit(&mut self, case: Option<CaseCode>, facts: Vec<Fact>) -> Effects {
        self.unsaved.made += 1;
        let draft =
            Draft { number: self.unsaved.made, id: None, entered: self.world.now, case, facts, tried: false };
        vec![Effect::Write(draft)]
    }

    /// Whether this draft may go to the disk now; if not it waits behind those that were entered before it.
    pub fn may_go(&self, draft: &Draft) -> bool {
        self.unsaved.drafts.first().is_none_or(|first| first.number == draft.number)
    }

    /// The number of the last entry that is on disk, as far as it is known here.
    pub fn saved_seq(&self) -> u64 {
        self.world.saved_seq()
    }

    /// Whether this entry only waits to be written.
    pub fn is_unsaved(&self, seq: u64) -> bool {
        seq > self.saved_seq()
    }

    /// Whether this case is not on disk at all yet.
    pub(super) fn waits_to_begin(&self, code: &CaseCode) -> bool {
        self.unsaved.drafts.iter().any(|draft| draft.case.as_ref() == Some(code) && draft.begins_case())
    }

    /// Shows a case that is not on disk yet.
    pub(super) fn show_waiting(&mut self, code: CaseCode) -> Effects {
        let wanted = self.world.show(&code, Vec::new());
        self.now_in_case();
        reads(wanted)
    }

    /// What waits, each with the numbers under which it is shown.
    pub fn waiting_drafts(&self) -> Vec<Waiting> {
        let mut next = self.saved_seq();
        let drafts = self.unsaved.drafts.iter().cloned();
        drafts
            .map(|draft| {
                let seqs = draft.facts.iter().map(|_| {
                    next += 1;
                    next
                });
                Waiting { seqs: seqs.collect(), draft }
            })
            .collect()
    }

    /// Each entry that waits in words: when it was entered, in which case, what.
    pub fn waiting_words(&self) -> Vec<String> {
        let words = |draft: &Draft, fact: &Fact| {
            let case = draft.case.as_ref().map(|case| format!("case {case}: ")).unwrap_or_default();
            format!("{}  {case}{}", draft.entered.format("%H:%M"), entry_words(fact))
        };
        let drafts = self.unsaved.drafts.iter();
        drafts
            .flat_map(|draft| draft.facts.iter().map(|fact| words(draft, fact)).collect::<Vec<_>>())
            .collect()
    }

    /// The disk has refused it, or it has to wait behind others.
    pub(super) fn not_written(&mut self, draft: Draft, why: Option<String>) -> Effects {
        self.unsaved.why = why.unwrap_or_else(|| std::mem::take(&mut self.unsaved.why));
        self.unsaved.tried_at = Some(self.world.now);
        let draft = Draft { tried: true, ..draft };
        if let Some(known) = self.unsaved.drafts.iter_mut().find(|known| known.number == draft.number) {
            *known = draft;
            if std::mem::take(&mut self.unsaved.asked) {
                self.overlay = Some(Overlay::Unsaved);
                self.unsaved.scroll = 0;
            }
            return Vec::new();
        }
        let before = self.unsaved.count();
        let begun = draft.case.clone().filter(|_| draft.begins_case());
        self.unsaved.drafts.push(draft);
        let pending = self.unsaved.entries(self.saved_seq());
        let own = pending[before..].to_vec();
        self.world.set_pending(pending);
        let wanted = begun.and_then(|code| self.world.show(&code, Vec::new()));
        // The record of a case is written when its sign-off is on disk.
        self.took_place(&own, false);
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
        let wanted = self.world.saved(new, self.unsaved.entries(last), stay);
        let mut effects: Effects = own
            .iter()
            .filter(|entry| matches!(entry.fact, Fact::SignedOff { .. }))
            .filter_map(|entry| entry.case.clone().map(Effect::Record))
            .collect();
        // What is settled after the signature belongs on the record that was filed.
        let written_in = own.iter().rev().find_map(|entry| entry.case.as_ref());
        if effects.is_empty()
            && let Some(code) = self.world.case_code().filter(|code| written_in == Some(code))
            && self.world.is_signed_off()
        {
            effects.push(Effect::Record(code));
        }
        match &waited {
            None => self.took_place(&own, true),
            Some(_) => {
                match self.unsaved.drafts.first() {
                    Some(next) => effects.push(Effect::Write(next.clone())),
                    None => {
                        self.unsaved.why.clear();
                        if self.overlay == Some(Overlay::Unsaved) {
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
            self.heed(format!("This was written already, at {at}; it is not written twice: {words}"));
        }
        self.clamp();
        effects.extend(reads(wanted));
        effects
    }

    /// What other programs wrote goes before what waits here.
    pub(super) fn absorb_news(&mut self, entries: Vec<Entry>, stay: bool) -> Vec<Wanted> {
        let saved = self.saved_seq();
        let new: Vec<Entry> = entries.into_iter().filter(|entry| entry.seq > saved).collect();
        let last = new.last().map_or(saved, |entry| entry.seq);
        self.unsaved.renumber(|seq| if seq > saved { seq + last - saved } else { seq });
        self.world.saved(new, self.unsaved.entries(last), stay)
    }

    /// The journal lies in its place again.
    pub(super) fn journal_back(&mut self) -> Effects {
        self.unsaved.put_back = true;
        self.heed("The journal was gone and was put back, whole")
    }

    /// Now and then the disk is asked again, without a word.
    pub(super) fn tick(&mut self, now: DateTime<FixedOffset>) -> Effects {
        let step = now - self.world.now;
        self.world.now = now;
        self.go_through();
        if step < TimeDelta::zero() {
            // What runs goes on as long as it did: no duration shrinks with the clock.
            self.hold_clocks(-step);
            self.hold_rest(-step);
            self.unsaved.tried_at = self.unsaved.tried_at.map(|at| at + step);
        }
        if step < SET_BACK {
            self.heed(format!(
                "The clock was set back by {} s. What is written keeps its order; look at the time",
                -step.num_seconds()
            ));
        }
        let due = self.unsaved.tried_at.is_none_or(|at| now - at >= PAUSE);
        match self.unsaved.drafts.first() {
            Some(first) if due => {
                let effect = Effect::Write(first.clone());
                self.unsaved.tried_at = Some(now);
                vec![effect]
            }
            _ => Vec::new(),
        }
    }

    pub(super) fn try_again(&mut self) -> Effects {
        let Some(first) = self.unsaved.drafts.first().cloned() else {
            self.say("Everything is saved");
            return vec![Effect::PutBack];
        };
        self.unsaved.asked = true;
        vec![Effect::PutBack, Effect::Write(first)]
    }

    fn ask_where(&mut self, leave: bool) -> Effects {
        let intro = [
            "What waits is written into a file, to be read, and to be taken in again with: boxcall journal take-in FILE",
        ];
        let hint = "another disk or a stick; empty: your home folder";
        let fields = vec![Field::text("folder", "folder", "", hint)];
        self.ask(Form::new(Purpose::Rescue { leave }, "NOT SAVED: into a file elsewhere", &intro, fields))
    }

    pub(super) fn accept_rescue(&mut self, leave: bool, form: &Form) -> Outcome {
        let folder = Some(form.value("folder")).filter(|folder| !folder.is_empty());
        Ok(vec![Effect::Rescue { folder, leave }])
    }

    /// They are in a file elsewhere, under these ids.
    pub(super) fn rescued(&mut self, drafts: Vec<Draft>, place: &str, leave: bool) -> Effects {
        for draft in drafts {
            self.unsaved.kept_elsewhere = self.unsaved.kept_elsewhere.max(draft.number);
            if let Some(known) = self.unsaved.drafts.iter_mut().find(|known| known.number == draft.number) {
                *known = draft;
            }
        }
        let key = self.key(LEAVE);
        self.heed(format!("In {place}; still NOT SAVED here. {key} leaves"));
        if leave { vec![Effect::Leave] } else { Vec::new() }
    }

    /// Leaving with something unsaved asks first; only a word that is typed loses it.
    pub(super) fn leave(&mut self) -> Effects {
        if self.unsaved.all_kept_elsewhere() {
            return vec![Effect::Leave];
        }
        let count = self.unsaved.count();
        let title = format!("{} {} NOT SAVED", counted(count, "entry"), by_count(count, "is", "are"));
        let answers = [
            "stay here",
            "try again to save them",
            "write them to a file, then leave",
            "leave and lose them",
        ];
        let answers = answers.map(str::to_string).to_vec();
        self.open(Overlay::Choice(Choice::new(Purpose::LeaveUnsaved, title, answers)))
    }

    pub(super) fn leave_chosen(&mut self, answer: usize) -> Effects {
        match answer {
            1 => self.try_again(),
            2 => self.ask_where(true),
            3 => {
                let hint = format!("{LOSE}: they are lost");
                let fields = vec![Field::text("word", "type the word", "", hint)];
                self.ask(Form::new(Purpose::LoseUnsaved, "Leave and lose what is NOT SAVED", &[], fields))
            }
            _ => Vec::new(),
        }
    }

    pub(super) fn accept_loss(&mut self, form: &Form) -> Outcome {
        if form.value("word").eq_ignore_ascii_case(LOSE) {
            Ok(vec![Effect::Leave])
        } else {
            Err(format!("Nothing is lost unless you type {LOSE}"))
        }
    }
}

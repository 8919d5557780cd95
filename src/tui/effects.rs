//! The effects that the state asks for, carried out one after the other: each answer goes back to the state before the
//! next effect.

use super::follow;
use super::furnish::Furnisher;
use super::state::{Answer, Ask, Draft, Effect, Message, State, Waiting, Wanted};
use super::terminal::Arrived;
use crate::case::entry_words;
use crate::catalogue::Catalogue;
use crate::catalogue::enrol::Front;
use crate::journal::{CaseCode, Entry};
use crate::room::{Fault, Kept, Room};
use crate::store::{Appended, Stamp};
use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::Sender;

/// What the effects act on: a room's folder, or what stands for it in a test. An error is, in words, why a thing was not
/// done; then nothing of it was.
pub trait Backend {
    /// An id that no command has.
    fn new_id(&mut self) -> String;

    /// Writes a draft, whose id is set, once, and returns when it is on the disk.
    fn write(&mut self, draft: &Draft) -> Result<Appended, String>;

    /// Every entry after this one that can be read.
    fn entries_after(&mut self, seq: u64) -> Vec<Entry>;

    /// Puts a journal that is gone back in its place; whether it did.
    fn put_back(&mut self) -> bool;

    /// Writes what waits into a file: into this folder, or the user's own. Returns where it is.
    fn rescue(&mut self, folder: Option<String>, kept: Vec<Kept>) -> Result<String, String>;

    /// Keeps the front of a box as a product file, and returns the catalogue with it.
    fn enrol(&mut self, front: &Front) -> Result<Arc<Catalogue>, String>;

    /// What the first steps ask of the folder. None where the answer comes later.
    fn furnish(&mut self, ask: Ask) -> Option<Answer>;

    /// Writes the record of a case, and returns where it is.
    fn record(&mut self, code: &CaseCode) -> Result<String, String>;

    /// A code that no case on the disk has.
    fn spare_code(&mut self) -> CaseCode;

    /// The entries of one case, in order.
    fn case_entries(&mut self, code: &CaseCode) -> Result<Vec<Entry>, String>;

    /// Shelf and cases. None where they come later.
    fn read_shelf(&mut self, back_to: Option<u64>) -> Option<Message>;
}

/// Carries effects out, and what follows from them.
pub fn carry_out(state: &mut State, backend: &mut impl Backend, effects: Vec<Effect>) {
    let mut waiting = VecDeque::from(effects);
    while let Some(effect) = waiting.pop_front() {
        let answer = match effect {
            Effect::Write(draft) => Some(write(state, backend, draft)),
            // What is wrong is said by the write that follows.
            Effect::PutBack => backend.put_back().then_some(Message::PutBack),
            Effect::Rescue { folder, leave } => Some(rescue(state, backend, folder, leave)),
            Effect::Enrol(front) => Some(match backend.enrol(&front) {
                Ok(catalogue) => Message::Enrolled(catalogue),
                Err(why) => Message::Warned(format!("Not kept: {why}")),
            }),
            Effect::Furnish(ask) => backend.furnish(ask).map(Message::Furnished),
            Effect::Record(code) => Some(match backend.record(&code) {
                Ok(place) => Message::RecordWritten { code, place },
                Err(why) => Message::Warned(format!(
                    "The record was not written: {why}. The journal holds everything"
                )),
            }),
            Effect::AnotherCode => Some(Message::SpareCode(spare_code(state, backend))),
            Effect::Read(Wanted::Shelf { back_to }) => backend.read_shelf(back_to),
            Effect::Read(Wanted::Case(code)) => Some(match backend.case_entries(&code) {
                Ok(entries) => Message::CaseRead(entries),
                Err(why) => Message::Warned(why),
            }),
            Effect::Leave => {
                state.left = true;
                None
            }
        };
        if let Some(answer) = answer {
            waiting.extend(state.on(answer));
        }
    }
}

/// Writes a draft, unless others wait before it; the state first hears what others wrote before it.
fn write(state: &mut State, backend: &mut impl Backend, mut draft: Draft) -> Message {
    if !state.may_go(&draft) {
        return Message::NotWritten { draft, why: None };
    }
    draft.id.get_or_insert_with(|| backend.new_id());
    match backend.write(&draft) {
        Ok(Appended { entries, already }) => {
            let saved = state.saved_seq();
            let first = entries.first().map_or(saved, |entry| entry.seq);
            if first > saved + 1 {
                // Should they not be read now, the next look at what is new finds a gap no more: so it is tried
                // here, and a disk that can't be read has other news to report.
                let mut between = backend.entries_after(saved);
                between.retain(|entry| entry.seq < first);
                let effects = state.on(Message::News(between));
                carry_out(state, backend, effects);
            }
            if already { Message::WrittenAlready(entries) } else { Message::Written(entries) }
        }
        Err(why) => Message::NotWritten { draft, why: Some(why) },
    }
}

/// Writes what waits into a file elsewhere.
pub(super) fn rescue(
    state: &State,
    backend: &mut impl Backend,
    folder: Option<String>,
    leave: bool,
) -> Message {
    let mut waiting = state.waiting_drafts();
    for waiting in &mut waiting {
        waiting.draft.id.get_or_insert_with(|| backend.new_id());
    }
    let kept = waiting.iter().map(|Waiting { draft, seqs }| Kept {
        id: draft.id.clone().unwrap_or_default(),
        entered: draft.entered,
        case: draft.case.clone(),
        numbers: seqs.clone(),
        words: draft.facts.iter().map(entry_words).collect(),
        facts: draft.facts.clone(),
    });
    match backend.rescue(folder, kept.collect()) {
        Ok(place) => {
            let drafts = waiting.into_iter().map(|waiting| waiting.draft).collect();
            Message::Rescued { drafts, place, leave }
        }
        Err(why) => Message::Warned(format!("Not written elsewhere: {why}")),
    }
}

/// A code that no case has, on the disk or among what waits.
fn spare_code(state: &State, backend: &mut impl Backend) -> CaseCode {
    loop {
        let code = backend.spare_code();
        if state.waiting_drafts().iter().all(|waiting| waiting.draft.case.as_ref() != Some(&code)) {
            return code;
        }
    }
}

/// A room's folder, and how what is read behind the screens comes back to them.
pub(super) struct InRoom {
    pub(super) room: Room,
    furnisher: Furnisher,
    sender: Sender<Arrived>,
}

impl InRoom {
    pub(super) fn new(room: Room, sender: Sender<Arrived>) -> InRoom {
        let later = sender.clone();
        let furnisher =
            Furnisher::new(move |answer| later.send(Arrived::Message(Message::Furnished(answer))).is_ok());
        InRoom { room, furnisher, sender }
    }

    /// How a thread hands over what it has read.
    pub(super) fn hand_over(&self) -> impl Fn(Message) + Send + 'static {
        let sender = self.sender.clone();
        // Nobody is there to take it once the loop has ended.
        move |message| _ = sender.send(Arrived::Message(message))
    }
}

fn why(fault: Fault) -> String {
    fault.message().to_string()
}

impl Backend for InRoom {
    fn new_id(&mut self) -> String {
        self.room.stamp().id
    }

    fn write(&mut self, draft: &Draft) -> Result<Appended, String> {
        let id = draft.id.clone().unwrap_or_default();
        let stamp = Stamp { id, entered: draft.entered, now: self.room.now() };
        let case = draft.case.as_ref();
        let written = if draft.tried {
            self.room.write_again(&stamp, case, &draft.facts)
        } else {
            self.room.write_stamped(&stamp, case, &draft.facts)
        };
        written.map_err(why)
    }

    fn entries_after(&mut self, seq: u64) -> Vec<Entry> {
        self.room.entries_after(seq).unwrap_or_default()
    }

    fn put_back(&mut self) -> bool {
        self.room.put_back().is_ok_and(|back| back)
    }

    fn rescue(&mut self, folder: Option<String>, kept: Vec<Kept>) -> Result<String, String> {
        let folder = folder.map(PathBuf::from);
        let place = self.room.write_rescue(folder.as_deref(), kept).map_err(why)?;
        Ok(place.display().to_string())
    }

    fn enrol(&mut self, front: &Front) -> Result<Arc<Catalogue>, String> {
        self.room.enrol(front).map_err(why)
    }

    fn furnish(&mut self, ask: Ask) -> Option<Answer> {
        self.furnisher.ask(&mut self.room, ask)
    }

    fn record(&mut self, code: &CaseCode) -> Result<String, String> {
        Ok(self.room.write_record(code).map_err(why)?.display().to_string())
    }

    fn spare_code(&mut self) -> CaseCode {
        self.room.spare_code().unwrap_or_else(|_| Room::any_code())
    }

    fn case_entries(&mut self, code: &CaseCode) -> Result<Vec<Entry>, String> {
        self.room.case_entries(code).map_err(why)
    }

    fn read_shelf(&mut self, back_to: Option<u64>) -> Option<Message> {
        follow::read_behind(&self.room, back_to, None, self.hand_over());
        None
    }
}

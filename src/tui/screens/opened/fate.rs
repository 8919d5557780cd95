//! What became of an opened box, and what was written down wrongly.

use super::keys::{FATE, STRIKE};
use super::overlap::ask_overlap_if_any;
use crate::journal::{Fact, Fate, Unused};
use crate::measure::Kind;
use crate::tui::model::{Choice, Effects, Field, Form, Outcome, Session, ask, open};

/// The reasons why a box was opened and not used, as they are asked.
const UNUSED: &[(Unused, &str)] = &[
    (Unused::Dropped, "dropped or unsterile"),
    (Unused::WrongSize, "wrong size"),
    (Unused::WouldNotCross, "would not cross"),
    (Unused::Damaged, "damaged"),
    (Unused::NotNeeded, "not needed"),
];

/// An answer to "what became of it".
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asked {
    Implanted,
    Used,
    Unused,
    Lost,
    NotFound,
}

/// The answers that this kind of device can have: a balloon is not implanted, a stent is not merely used.
fn fates(session: &Session, item: u32) -> Vec<(Asked, &'static str)> {
    let kind = session.item(item).and_then(|item| item.label.kind);
    let mut fates = Vec::new();
    if !kind.is_some_and(Kind::is_balloon) {
        fates.push((Asked::Implanted, "implanted"));
    }
    if !kind.is_some_and(Kind::is_stent) {
        fates.push((Asked::Used, "used and taken out"));
    }
    fates.push((Asked::Unused, "opened, not used …"));
    fates.push((Asked::Lost, "lost in the patient"));
    fates.push((Asked::NotFound, "not found"));
    fates
}

pub fn ask_fate(session: &mut Session, item: u32) -> Effects {
    let title = format!("What became of {}", session.item(item).map(|item| item.words()).unwrap_or_default());
    let answers = fates(session, item).iter().map(|(_, words)| words.to_string()).collect();
    open(Choice::new(FATE, title, answers, move |session, answer| fate_chosen(session, item, answer)))
}

fn fate_chosen(session: &mut Session, item: u32, answer: usize) -> Effects {
    let Some((asked, _)) = fates(session, item).get(answer).copied() else { return Vec::new() };
    let fate = match asked {
        Asked::Implanted => Fate::Implanted,
        Asked::Used => Fate::Used,
        Asked::Lost => Fate::LostInPatient,
        Asked::NotFound => Fate::NotFound,
        Asked::Unused => {
            let answers = UNUSED.iter().map(|(_, words)| words.to_string()).collect();
            let chosen = move |session: &mut Session, answer: usize| unused_chosen(session, item, answer);
            return open(Choice::new(FATE, "Opened, not used: why", answers, chosen));
        }
    };
    give_fate(session, item, fate)
}

fn unused_chosen(session: &mut Session, item: u32, answer: usize) -> Effects {
    match UNUSED.get(answer) {
        Some((why, _)) => give_fate(session, item, Fate::OpenedNotUsed { why: *why }),
        None => Vec::new(),
    }
}

fn give_fate(session: &mut Session, item: u32, fate: Fate) -> Effects {
    let lesion = session.item(item).and_then(|item| item.lesions.last().copied());
    let asked =
        if fate == Fate::Implanted { ask_overlap_if_any(session, item, lesion) } else { Effects::new() };
    [asked, session.write_in_shown_case(vec![Fact::FateGiven { item, fate, lesion }])].concat()
}

pub fn ask_strike(session: &mut Session, item: u32) -> Effects {
    let Some((entry, words)) = session.item(item).map(|item| (item.seq, item.words())) else {
        return Effects::new();
    };
    let fields = vec![Field::text("why", "why", "", "as: scanned twice; another box was opened")];
    let intro = "It stays in the record, struck out. What became of it is asked no more.";
    let form = Form::new(format!("Strike out: {words}"), &[intro], fields).by(STRIKE);
    ask(form, move |session, form| accept_strike(session, entry, form))
}

fn accept_strike(session: &mut Session, entry: u64, form: &Form) -> Outcome {
    let why = form.required("why", "Type why: it stands in the record")?;
    Ok(session.write_in_shown_case(vec![Fact::StruckOut { entry, why }]))
}

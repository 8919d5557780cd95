//! What is done with the box that was read: opened, kept, put back, or gone on with all the same.

use super::keys::*;
use super::typed::{ask_lot, item_read, lesion_of_call};
use crate::case::readback::Headline;
use crate::journal::{BoxRead, Fact};
use crate::measure::Kind;
use crate::tui::keys::CLOSE;
use crate::tui::model::{Effects, Field, Form, Judged, Outcome, Request, Screen, Session, Subject, ask, go};
use crate::units;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Intent {
    Open { minutes_ago: Option<u32> },
    Keep,
}

/// Whether one key may write this box down: it is what was called, nothing was called, or it came into the room so.
fn goes_by_one_key(session: &Session, judged: &Judged) -> Result<(), String> {
    if !judged.stops() {
        return Ok(());
    }
    Err(format!("{}: {} goes on all the same, with a reason", judged.finding(), session.key(ANYWAY)))
}

pub fn keep_held(session: &mut Session) -> Effects {
    if session.findings.held.is_none() {
        return session.say("Scan the box first, or type its label");
    }
    decide(session, Intent::Keep)
}

/// What is wanted with the box is done, unless something has to be typed or confirmed first.
pub fn decide(session: &mut Session, intent: Intent) -> Effects {
    let Some(judged) = session.subject() else {
        return session.say("Scan the box first, or type its label");
    };
    if judged.doubtful.is_some() {
        return ask_lot();
    }
    if let Err(why) = goes_by_one_key(session, &judged) {
        return session.warn(why);
    }
    if let Some(asked) = asks_printed_size(session, &judged, intent) {
        return asked;
    }
    let label = judged.back.read.clone();
    write_decided(session, &judged, label, None, intent, Vec::new())
}

fn write_decided(
    session: &mut Session,
    judged: &Judged,
    label: BoxRead,
    reason: Option<String>,
    intent: Intent,
    facts: Vec<Fact>,
) -> Effects {
    match intent {
        Intent::Open { minutes_ago } => write_opened(session, judged, label, reason, minutes_ago, facts),
        Intent::Keep => write_at_hand(session, judged, label, reason, facts),
    }
}

pub fn put_back(session: &mut Session) -> Effects {
    let Some(judged) = session.subject() else {
        return session.say("There is no box to put back");
    };
    let item = item_of(session, &judged);
    let finding = judged.finding();
    let written = session.write(vec![Fact::BoxPutBack { item, label: judged.back.read, finding }]);
    if judged.of == Subject::Held {
        session.findings.held = None;
        return go(Screen::Fetch, written);
    }
    written
}

/// A box at hand that is scanned again keeps its number; a second one of its lot, by the read-back, gets its own.
fn item_of(session: &Session, judged: &Judged) -> u32 {
    match judged.of {
        Subject::Item(item) | Subject::Device(item) => item,
        Subject::Held => item_read(session, &judged.back.read),
    }
}

fn write_opened(
    session: &mut Session,
    judged: &Judged,
    label: BoxRead,
    reason: Option<String>,
    minutes_ago: Option<u32>,
    mut facts: Vec<Fact>,
) -> Effects {
    let call = judged.call();
    let lesion = match judged.of {
        Subject::Held => lesion_of_call(session, call).or(Some(session.lesion)),
        Subject::Item(_) | Subject::Device(_) => lesion_of_call(session, call),
    };
    let item = item_of(session, judged);
    facts.push(Fact::BoxOpened {
        item,
        call,
        lesion,
        label,
        finding: judged.finding(),
        reason: reason.or_else(|| judged.reason.clone()),
        minutes_ago,
    });
    decided(session, judged);
    [vec![Request::ShowOpened(item)], session.write(facts)].concat()
}

fn write_at_hand(
    session: &mut Session,
    judged: &Judged,
    label: BoxRead,
    reason: Option<String>,
    mut facts: Vec<Fact>,
) -> Effects {
    facts.push(Fact::BoxAtHand {
        item: item_of(session, judged),
        call: judged.call(),
        label,
        finding: judged.finding(),
        reason,
    });
    decided(session, judged);
    session.findings.at_hand = usize::MAX;
    session.write(facts)
}

fn decided(session: &mut Session, judged: &Judged) {
    if judged.of == Subject::Held {
        session.findings.held = None;
    }
    session.findings.watched.typed.take_if(|typed| typed.0 == judged.of);
}

/// The first box of an identifier in this room, and every box that says CHECK BY EYE, has its printed size
/// typed; a covered stent never waits for typing, and a box that came in so has had it typed.
fn asks_printed_size(session: &mut Session, judged: &Judged, intent: Intent) -> Option<Effects> {
    let read = &judged.back.read;
    let by_eye = judged.back.headline.needs_eyes();
    let covered = read.kind == Some(Kind::CoveredStent);
    if judged.accepted || read.diameter.is_none() || covered {
        return None;
    }
    if !by_eye && (judged.of != Subject::Held || !judged.back.needs_printed_size) {
        return None;
    }
    session.asked_about(judged);
    let intro = if judged.back.headline == Headline::CheckDate {
        "CHECK THE DATE: read the use-by date on the box aloud, then its printed size, and type the size."
    } else if by_eye {
        "CHECK BY EYE: read the size that is printed on the box aloud, and type it."
    } else {
        "The first box of this identifier in this room: read its printed size aloud, and type it."
    };
    let fields = vec![Field::text("size", "size on the box", "", "as 3.0x29")];
    let form = Form::new("The size printed on the box", &[intro], fields).by(OPENED).deciding();
    Some(ask(form, move |session, form| accept_printed_size(session, intent, form)))
}

fn accept_printed_size(session: &mut Session, intent: Intent, form: &Form) -> Outcome {
    let judged = session.still_asked()?;
    if judged.stops() {
        let (back, on) = (session.key(CLOSE), session.key(ANYWAY));
        return Err(format!("{}: {back}, and then {on} goes on with a reason", judged.finding()));
    }
    let (diameter, length) = form.size("size")?.ok_or("Type the size that is printed on the box")?;
    let label = judged.back.read.clone();
    let Some(di) = label.di.clone() else { return Ok(Vec::new()) };
    let agrees = label.diameter.is_some_and(|d| units::same(d.mm(), diameter.mm()))
        && label.length.is_some_and(|l| units::same(l.mm(), length.mm()));
    let typed = Fact::PrintedSizeTyped { di, diameter: Some(diameter), length, agrees };
    if agrees {
        return Ok(write_decided(session, &judged, label, None, intent, vec![typed]));
    }
    session.findings.watched.typed = Some((judged.of, diameter, length));
    Ok(session.write(vec![typed]))
}

pub fn ask_anyway(session: &mut Session) -> Effects {
    let Some(judged) = session.subject() else {
        return session.say("Scan the box first, or type its label");
    };
    if judged.of != Subject::Held && !judged.stops() {
        return session.say(format!("{}: {} opens it", judged.finding(), session.key(OPENED)));
    }
    let intro = format!(
        "{}. Type what the box says and why it goes on; {} and then {} puts it back instead.",
        judged.finding(),
        session.key(CLOSE),
        session.key(PUT_BACK)
    );
    let fields = vec![
        Field::text("size", "size on the box", "", "as 3.0x29; empty for a box without a size"),
        Field::text("reason", "reason", "", "as: operator accepts; nothing else on the shelf"),
        Field::one_of("what", "the box is", vec!["opened".into(), "at hand, unopened".into()], 0),
    ];
    session.asked_about(&judged);
    ask(Form::new("Going on all the same", &[&intro], fields).by(ANYWAY).deciding(), accept_anyway)
}

fn accept_anyway(session: &mut Session, form: &Form) -> Outcome {
    let judged = session.still_asked()?;
    let reason = form.required("reason", "Type a reason: it stands in the record")?;
    let mut label = judged.back.read.clone();
    match form.size("size")? {
        Some((diameter, length)) => (label.diameter, label.length) = (Some(diameter), Some(length)),
        None if label.diameter.is_some() => return Err("Type the size that is printed on the box".into()),
        None => {}
    }
    let opened = Intent::Open { minutes_ago: None };
    let intent = if form.chosen("what") == 0 { opened } else { Intent::Keep };
    Ok(write_decided(session, &judged, label, Some(reason), intent, Vec::new()))
}

pub fn ask_minutes(session: &mut Session) -> Effects {
    let Some(held) = session.held() else {
        return session.say("Scan the box first, or type its label");
    };
    session.asked_about(&held);
    let fields = vec![Field::text("minutes", "minutes ago", "", "whole minutes")];
    let form = Form::new("It was opened some minutes ago", &[], fields).by(EARLIER).deciding();
    ask(form, accept_minutes_ago)
}

fn accept_minutes_ago(session: &mut Session, form: &Form) -> Outcome {
    let text = form.value("minutes");
    let minutes = text
        .parse::<u32>()
        .ok()
        .filter(|minutes| *minutes <= 24 * 60)
        .ok_or_else(|| format!("{text:?}: type whole minutes, 0 to 1440"))?;
    session.still_asked()?;
    Ok(decide(session, Intent::Open { minutes_ago: Some(minutes) }))
}

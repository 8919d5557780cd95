//! What is not saved: why the disk refuses, what to do, each entry that waits; and leaving all the same.

use crate::tui::keys::*;
use crate::tui::model::{
    Canvas, Choice, Component, Draft, Effect, Effects, Field, Form, List, Outcome, Session, ask, open,
};
use crate::tui::paint::{columns, framed, middle, put_lines, rows, theme, wrapped, wrapped_in};
use crate::units::{by_count, counted};
use ratatui::text::Line;

place! {
    PLACE: "What is not saved", Own, within EVERYWHERE;
    DOWN => "", "further down";
    UP => "", "further up";
    AGAIN = new("unsaved-again", ["r"]) => "try again", "try now to save what waits";
    FILE = new("unsaved-file", ["w"]) => "to a file", "write what waits to a file on another disk";
    CLOSE => "back", "back to work; what waits is saved as soon as the disk takes it";
}

/// The word that loses what is not saved.
const LOSE: &str = "lose";

/// What waits for the disk, one by one.
#[derive(Debug, Clone, Default)]
pub struct UnsavedList {
    /// How far down the list is read.
    scroll: usize,
}

impl Component for UnsavedList {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match action {
            FILE => ask_where(false),
            AGAIN => try_again(session),
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, session: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.scroll, session.unsaved.count()))
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, .. }: Canvas) {
        let key = |action| session.key(action);
        let inside = framed(buffer, middle(area, 78, 18), "NOT SAVED");
        let width = inside.width.saturating_sub(2);
        let why = wrapped_in(theme::WARNING, &session.unsaved.why, width);
        let what = format!(
            "Work goes on: what waits is saved by itself as soon as it can be. {} tries now, {} writes it to a file \
             on another disk. Ended before, it is lost.",
            key(AGAIN),
            key(FILE)
        );
        let what = wrapped(&what, width).into_iter().map(Line::raw);
        let head: Vec<Line> = why.chain(what).collect();
        let used = put_lines(buffer, columns(inside, 1, width), head) + 1;
        let list = rows(columns(inside, 1, width), used, inside.height.saturating_sub(used));
        let words = session.unsaved.in_words().into_iter().skip(self.scroll);
        let words = words.flat_map(|words| wrapped(&format!("NOT SAVED {words}"), width));
        put_lines(buffer, list, words.map(Line::raw));
    }
}

pub fn try_again(session: &mut Session) -> Effects {
    let Some(first) = session.unsaved.drafts.first().cloned() else {
        session.say("Everything is saved");
        return vec![Effect::PutBack.into()];
    };
    session.unsaved.asked = true;
    vec![Effect::PutBack.into(), Effect::Write(first).into()]
}

fn ask_where(leave: bool) -> Effects {
    let intro = [
        "What waits is written into a file, to be read, and to be taken in again with: boxcall journal take-in FILE",
    ];
    let hint = "another disk or a stick; empty: your home folder";
    let fields = vec![Field::text("folder", "folder", "", hint)];
    let form = Form::new("NOT SAVED: into a file elsewhere", &intro, fields);
    ask(form, move |_, form| accept_rescue(leave, form))
}

fn accept_rescue(leave: bool, form: &Form) -> Outcome {
    let folder = form.given("folder");
    Ok(vec![Effect::Rescue { folder, leave }.into()])
}

/// They are in a file elsewhere, under these ids.
pub fn rescued(session: &mut Session, drafts: Vec<Draft>, place: &str, leave: bool) -> Effects {
    for draft in drafts {
        session.unsaved.kept_elsewhere = session.unsaved.kept_elsewhere.max(draft.number);
        if let Some(known) = session.unsaved.drafts.iter_mut().find(|known| known.number == draft.number) {
            *known = draft;
        }
    }
    let key = session.key(LEAVE);
    session.warn(format!("In {place}; still NOT SAVED here. {key} leaves"));
    if leave { vec![Effect::Leave.into()] } else { Vec::new() }
}

/// Leaving with something unsaved asks first; only a word that is typed loses it.
pub fn leave(session: &Session) -> Effects {
    if !crate::control::holds("leaving-asks") || session.unsaved.all_kept_elsewhere() {
        return vec![Effect::Leave.into()];
    }
    let count = session.unsaved.count();
    let title = format!("{} {} NOT SAVED", counted(count, "entry"), by_count(count, "is", "are"));
    let answers =
        ["stay here", "try again to save them", "write them to a file, then leave", "leave and lose them"];
    let answers = answers.map(str::to_string).to_vec();
    open(Choice::new(LEAVE, title, answers, leave_chosen))
}

fn leave_chosen(session: &mut Session, answer: usize) -> Effects {
    match answer {
        1 => try_again(session),
        2 => ask_where(true),
        3 => {
            let hint = format!("{LOSE}: they are lost");
            let fields = vec![Field::text("word", "type the word", "", hint)];
            ask(Form::new("Leave and lose what is NOT SAVED", &[], fields), accept_loss)
        }
        _ => Vec::new(),
    }
}

fn accept_loss(_: &mut Session, form: &Form) -> Outcome {
    if form.value("word").eq_ignore_ascii_case(LOSE) {
        Ok(vec![Effect::Leave.into()])
    } else {
        Err(format!("Nothing is lost unless you type {LOSE}"))
    }
}

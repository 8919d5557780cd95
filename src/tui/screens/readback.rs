//! Read-back: a label that was scanned or typed, and what is done with its box.

mod decide;
mod draw;
mod keys;
mod typed;

pub use keys::*;
pub use typed::{ask_label, enrolled};

use super::menu;
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, Judged, List, Request, Session};
use crate::tui::paint::columns;
use decide::{Intent, ask_anyway, ask_minutes, decide, keep_held, put_back};
use typed::{ask_box, ask_enrol};

/// The box that was read, or those at hand. The session holds them: every screen says what has come up against one.
#[derive(Debug, Clone, Default)]
pub struct ReadBack;

impl Component for ReadBack {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match action {
            OPENED => decide(session, Intent::Open { minutes_ago: None }),
            KEEP => keep_held(session),
            PUT_BACK => put_back(session),
            ANYWAY => ask_anyway(session),
            EARLIER => ask_minutes(session),
            TYPE_LABEL => ask_label(),
            TYPE_BOX => ask_box(session),
            ENROL => ask_enrol(session),
            CLOSE => {
                session.findings.held = None;
                session.say("Forgotten; nothing was written");
                let back = std::mem::take(&mut session.left_first_steps) && session.world.is_bare();
                if back { vec![Request::Act(menu::FIRST)] } else { Effects::new() }
            }
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, session: &'a mut Session) -> Option<List<'a>> {
        let count = session.world.at_hand().len();
        Some(List::new(&mut session.findings.at_hand, count).round())
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        match action {
            OPENED => session.subject().is_some_and(|judged| judged.doubtful.is_some() || !judged.stops()),
            KEEP | EARLIER => session.held().is_some_and(|held| !held.stops()),
            ANYWAY => session.subject().as_ref().is_some_and(Judged::stops),
            ENROL => session.held().as_ref().is_some_and(Judged::is_unknown),
            PUT_BACK => session.findings.held.is_some() || !session.world.at_hand().is_empty(),
            _ => true,
        }
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        let area = columns(area, 1, area.width.saturating_sub(2));
        match session.held() {
            Some(held) => draw::label(&held, session.rests(), area, buffer),
            None => draw::waiting(session, area, buffer, hits),
        }
    }
}

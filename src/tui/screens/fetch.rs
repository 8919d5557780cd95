//! Fetch: the calls that wait, one of them in letters that are read from three metres.

use crate::case::Call;
use crate::journal::{Fact, Readiness};
use crate::shelf::FetchCard;
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, List, Session};
use crate::tui::paint::{Spot, card, columns, put, put_lines, rows, theme};
use ratatui::text::Line;

place! {
    PLACE: "Fetch", Shared, within EVERYWHERE;
    DOWN => "next call", "show the next call large";
    UP => "", "show the call before large";
    CANCEL = destroying("fetch-cancel", ["Delete", "Backspace"])
        => "cancel", "cancel the call that is shown large";
    READY = new("fetch-ready", ["h"]) => "ask / have ready", "asked for now, or only have it ready";
    USE_OPEN = new("fetch-use-open", ["a"]).deciding()
        => "use the open one", "use the balloon that is open already for the call shown large";
}

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE];

/// The calls that wait.
#[derive(Debug, Clone, Default)]
pub struct Fetch {
    /// Which of them is shown large.
    shown: usize,
}

impl Fetch {
    /// The call that is shown large.
    pub fn call_shown<'a>(&self, session: &'a Session) -> Option<&'a Call> {
        session.world.waiting().get(self.shown).copied()
    }

    /// What is to be brought for the call that is shown large.
    pub fn card(&self, session: &Session) -> Option<FetchCard> {
        session.world.card(self.call_shown(session)?)
    }

    /// The balloon on the table answers the call: no new box is opened.
    fn use_open_balloon(&mut self, session: &mut Session) -> Effects {
        let Some((item, call)) = self.card(session).and_then(|card| Some((card.open_already?, card.call)))
        else {
            return session.say("No open balloon answers this call");
        };
        let lesion = self.call_shown(session).and_then(|call| call.lesion).unwrap_or(session.lesion);
        session.write(vec![Fact::UsedAgain { item, lesion, call: Some(call) }])
    }
}

impl Component for Fetch {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        if action == USE_OPEN {
            return self.use_open_balloon(session);
        }
        let Some((call, readiness)) = self.call_shown(session).map(|call| (call.number, call.readiness))
        else {
            return session.say("No call is waiting");
        };
        session.write(vec![match (action, readiness) {
            (CANCEL, _) => Fact::CallCancelled { call },
            (_, Readiness::Asked) => Fact::ReadinessChanged { call, readiness: Readiness::HaveReady },
            (_, Readiness::HaveReady) => Fact::ReadinessChanged { call, readiness: Readiness::Asked },
        }])
    }

    fn list<'a>(&'a mut self, session: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.shown, session.world.waiting().len()).round())
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        match action {
            DOWN => session.world.waiting().len() > 1,
            CANCEL | READY => !session.world.waiting().is_empty(),
            USE_OPEN => self.card(session).is_some_and(|card| card.open_already.is_some()),
            _ => true,
        }
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        let area = columns(area, 1, area.width.saturating_sub(2));
        let (Some(call), Some(card)) = (self.call_shown(session), self.card(session)) else {
            put(buffer, area, 0, 1, "No call is waiting.", theme::STRONG);
            let words =
                format!("{} calls a size: 3 29, then {}.", session.key(GO_SIZES), session.key(ACCEPT));
            put(buffer, area, 0, 2, &words, theme::QUIET);
            return;
        };
        let waiting = session.world.waiting();
        let others: Vec<_> =
            waiting.iter().enumerate().filter(|(_, other)| other.number != call.number).collect();
        let below = u16::try_from(others.len().min(4)).unwrap_or(4);
        let not_saved = |seq: u64| if session.is_unsaved(seq) { " · NOT SAVED" } else { "" };
        let used = card::draw(call, &card, not_saved(call.seq), rows(area, 0, area.height - below), buffer);
        let spots: Vec<Spot> = others.iter().map(|(place, _)| Spot::Row(*place)).collect();
        let others: Vec<Line> = others
            .iter()
            .take(usize::from(below))
            .map(|(_, other)| {
                let ready = if other.readiness == Readiness::HaveReady { " · have ready" } else { "" };
                let not = not_saved(other.seq);
                Line::styled(
                    format!("then call {}: {}{ready}{not}", other.number, other.words()),
                    theme::QUIET,
                )
            })
            .collect();
        let from = used.max(area.height.saturating_sub(below));
        let list = rows(area, from, area.height);
        hits.add_rows(list, 0, spots);
        put_lines(buffer, list, others);
    }
}

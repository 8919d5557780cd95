//! Lines over the first steps: what would be written, or what is wrong.

use crate::catalogue::Piece;
use crate::journal::Fact;
use crate::tui::keys::*;
use crate::tui::model::{Ask, Canvas, Component, Effect, Effects, List, Session, close};
use crate::tui::paint::{broken, framed, middle, put, put_lines, rows, theme};
use ratatui::text::Line;

// Lines that show what would be written, or what is wrong.
place! {
    PLACE: "What would be written, or is wrong", Own, within EVERYWHERE;
    ACCEPT => "write it", "write what is shown; where something is wrong, back";
    DOWN => "further", "further down";
    PAGE_DOWN => "", "further down";
    UP => "", "further up";
    PAGE_UP => "", "further up";
    CLOSE => "back", "back; nothing is written";
}

/// Lines over the screen: what would be written, or what is wrong.
#[derive(Debug, Clone)]
pub struct Sheet {
    pub title: String,
    pub lines: Vec<String>,
    pub scroll: usize,
    /// What the key for it writes; none where the lines are all there is.
    pub lays: Option<Lays>,
}

/// What is written when a sheet is confirmed.
#[derive(Debug, Clone)]
pub enum Lays {
    /// What the room has prepared.
    Files,
    /// These pieces are what is on hand.
    Stock { from: String, pieces: Vec<Piece> },
}

impl Component for Sheet {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        if action != ACCEPT {
            return Effects::new();
        }
        close(match self.lays.take() {
            Some(Lays::Files) => vec![Effect::Furnish(Ask::Lay).into()],
            Some(Lays::Stock { from, pieces }) => {
                session.write_for_room(vec![Fact::StockLoaded { from, pieces }])
            }
            None => Effects::new(),
        })
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.scroll, self.lines.len()))
    }

    fn offers(&self, _: &Session, action: Action) -> bool {
        action != ACCEPT || self.lays.is_some()
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, .. }: Canvas) {
        let width = area.width.saturating_sub(4).min(110);
        let mut lines: Vec<String> = Vec::new();
        for text in self.lines.iter().skip(self.scroll) {
            lines.extend(broken(text, width.saturating_sub(4)));
        }
        let high = u16::try_from(lines.len() + 4).unwrap_or(u16::MAX).min(area.height);
        let inside = framed(buffer, middle(area, width, high), &self.title);
        let room = inside.height.saturating_sub(2);
        let more = lines.len() > usize::from(room);
        let style = if self.lays.is_some() { theme::PLAIN } else { theme::WARNING };
        let shown = lines.into_iter().take(usize::from(room));
        put_lines(buffer, rows(inside, 0, room), shown.map(|text| Line::styled(format!(" {text}"), style)));
        let key = |action| session.key(action);
        let mut words = match self.lays {
            Some(_) => format!("{} writes it · {} leaves it", key(ACCEPT), key(CLOSE)),
            None => format!("{} goes back", key(CLOSE)),
        };
        if more {
            words = format!("{} goes on · {words}", key(DOWN));
        }
        put(buffer, inside, 1, inside.height.saturating_sub(1), &words, theme::STRONG);
    }
}

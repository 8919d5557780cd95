//! Bail-out: covered stents, size, place, the guide each needs. Large, few words, no verdicts, no typing.

use crate::journal::{Readiness, Wanted};
use crate::measure::Kind;
use crate::shelf::{BailOut, ParItem, Short};
use crate::tui::columns::{padded, padded_at_least, widest};
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, List, Session};
use crate::tui::paint::{Spot, columns, first_shown, put, put_lines, put_scrolled, rows, theme};
use ratatui::text::{Line, Span};

place! {
    PLACE: "Bail-out", Shared, within EVERYWHERE;
    DOWN => "", "the next covered stent";
    UP => "", "the one before";
    ACCEPT => "call", "call the one under the cursor";
    CLOSE => "back", "back to the screen before";
}

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE];

/// The covered stents, whichever page is beneath.
#[derive(Debug, Clone, Default)]
pub struct CoveredStents {
    shown: usize,
}

impl Component for CoveredStents {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        if action != ACCEPT {
            return Effects::new();
        }
        let Some(size) = bail_out(session).get(self.shown).map(|row| row.size.clone()) else {
            let unread = session.world.shelf.unread();
            return session.warn(unread.unwrap_or_else(|| "No covered stent in date is on the shelf".into()));
        };
        let wanted = Wanted {
            product: Some(size.product),
            name: None,
            diameter: size.diameter,
            length: size.length,
            kind: Some(Kind::CoveredStent),
            reference: Some(size.reference),
        };
        session.call(wanted, Readiness::Asked)
    }

    fn list<'a>(&'a mut self, session: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.shown, bail_out(session).len()))
    }

    fn entered(&mut self, _: &mut Session) {
        self.shown = 0;
    }

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        let area = columns(area, 1, area.width.saturating_sub(2));
        put(buffer, area, 0, 0, "COVERED STENTS ON THE SHELF, IN DATE", theme::STOP);
        let stents = bail_out(session);
        if stents.is_empty() {
            let words = session.world.shelf.unread().unwrap_or_else(|| "NONE ON THE SHELF".to_string());
            put(buffer, area, 0, 2, &words, theme::STOP);
        }
        let sundries = sundries(&wanted_there(session), area.width);
        // The sundries have what the covered stents leave them, and a third in any case; neither hides the other unseen.
        let free = area.height.saturating_sub(4);
        let below = rows_of(sundries.len()).min(free.saturating_sub(rows_of(stents.len())).max(free / 3));
        let room = usize::from(free - below);
        let first = first_shown(self.shown, stents.len(), room);
        let name = widest(stents.iter().map(|stent| stent.size.name.as_str()), 8, area.width / 4);
        let place = widest(stents.iter().map(|stent| stent.size.place_words()), 10, area.width / 3);
        let lines = stents.iter().enumerate().skip(first).take(room).map(|(index, stent)| {
            let style = if index == self.shown { theme::CURSOR } else { theme::STRONG };
            let size = &stent.size;
            let (diameter, length) = (
                size.diameter.map_or(String::new(), |d| d.to_string()),
                size.length.map_or(String::new(), |l| l.to_string()),
            );
            let guide_style = if stent.guide_ok == Some(false) { theme::STOP } else { theme::QUIET };
            Line::from(vec![
                Span::styled(
                    format!("{diameter} × {length:<2} {} ×{:<2} ", padded(&size.name, name), size.in_date),
                    style,
                ),
                Span::styled(format!("▸ {} ", padded_at_least(size.place_words(), place)), theme::GOOD),
                Span::styled(stent.words.clone(), guide_style),
            ])
        });
        let list = rows(area, 2, free - below);
        hits.add_rows(list, 0, (first..stents.len()).map(Spot::Row));
        let used = put_lines(buffer, list, lines);
        put_scrolled(buffer, rows(area, 3 + used, below), sundries, 0, "on the Shelf screen");
    }
}

/// What there is, and whether the guide in use takes it.
pub fn bail_out(session: &Session) -> Vec<BailOut<'_>> {
    session.world.shelf.bail_out(&session.world.catalogue, session.work.measured.guide, session.world.today())
}

/// What else the room wants there, such as coils and a drainage set, each with how many it wants.
pub fn wanted_there(session: &Session) -> Vec<ParItem> {
    let world = &session.world;
    match world.shelf.unread() {
        Some(_) => Vec::new(),
        None => world.shelf.sundries(&world.catalogue, &world.policy, world.today()),
    }
}

/// A line an item; what is not there, or too little of it, is said.
fn sundries(items: &[ParItem], width: u16) -> Vec<Line<'static>> {
    let widest_of = |text: fn(&ParItem) -> &str, most: u16| widest(items.iter().map(text), 4, most);
    let name = widest_of(|item| item.name.as_deref().unwrap_or_default(), width / 4);
    let reference = widest_of(|item| &item.level.item, width / 4);
    let place = widest_of(|item| item.level.place_words(), width / 3);
    let line = |item: &ParItem| {
        let Short { item: number, wanted, have, .. } = &item.level;
        let style = match have {
            _ if !item.is_missing() => theme::PLAIN,
            0 => theme::STOP,
            _ => theme::WARNING,
        };
        let (counted, missing) = if item.is_missing() {
            (format!("×{have} of {wanted}"), "· MISSING")
        } else {
            (format!("×{have}"), "")
        };
        let what = format!(
            "{} {} {counted:<9} ",
            padded(item.name.as_deref().unwrap_or_default(), name),
            padded(number, reference)
        );
        let at = item.level.place_words();
        Line::from(vec![
            Span::styled(what, style),
            Span::styled(format!("▸ {} ", padded_at_least(at, place)), theme::PLAIN),
            Span::styled(missing, style),
        ])
    };
    items.iter().map(line).collect()
}

fn rows_of(count: usize) -> u16 {
    u16::try_from(count).unwrap_or(u16::MAX)
}

//! `/`: any product, REF, size or lot, spelt loosely.

use crate::catalogue::Found;
use crate::journal::{Readiness, Wanted};
use crate::tui::columns::{ending, padded};
use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, List, Session, close, open};
use crate::tui::paint::{Spot, first_shown, framed, middle, put, put_line, put_lines, rows, theme};
use ratatui::text::{Line, Span};

place! {
    PLACE: "While finding", Text, within EVERYWHERE;
    DOWN => "", "the next found";
    UP => "", "the one before";
    ERASE => "", "take back the last character";
    ACCEPT => "call", "call the one under the cursor";
    CLOSE => "back", "leave without a call";
}

/// Characters that are looked for at most.
const LONGEST: usize = 60;

/// What is being looked for, and what answers, best first.
#[derive(Debug, Clone, Default)]
pub struct FindBox {
    query: String,
    cursor: usize,
    found: Vec<Known>,
}

/// One box that answers.
#[derive(Debug, Clone)]
struct Known {
    wanted: Wanted,
    /// The line that is shown.
    words: String,
}

impl Known {
    fn of(found: &Found, lot: Option<&str>) -> Known {
        let product = found.product();
        let size = found.size();
        let words = match (size, lot) {
            (Some((d, l)), None) => {
                format!("{d} × {l:<3} {}  {}  {}", product.name, found.reference(), product.kind)
            }
            (Some((d, l)), Some(lot)) => {
                format!("{d} × {l:<3} {}  {}  {lot}", product.name, found.reference())
            }
            (None, None) => format!("{}  {}  {}", product.name, found.reference(), product.kind),
            (None, Some(lot)) => format!("{}  {}  {lot}", product.name, found.reference()),
        };
        let wanted = Wanted {
            product: Some(product.id.clone()),
            name: None,
            diameter: size.map(|(diameter, _)| diameter),
            length: size.map(|(_, length)| length),
            kind: Some(product.kind),
            reference: Some(found.reference().to_string()),
        };
        Known { wanted, words }
    }
}

/// Opens it with nothing typed yet.
pub fn find(session: &mut Session) -> Effects {
    let mut overlay = FindBox::default();
    overlay.look(session);
    open(overlay)
}

impl FindBox {
    fn look(&mut self, session: &mut Session) {
        let (boxes, lots) = session.searchable.renew(&session.world);
        let hits = boxes.find(&lots, &self.query);
        let found = hits.iter().filter_map(|hit| {
            Some(Known::of(&boxes.found(&session.world.catalogue, hit.place)?, hit.lot.as_deref()))
        });
        self.found = found.collect();
        self.cursor = 0;
    }
}

impl Component for FindBox {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match (action, self.found.get(self.cursor)) {
            (ERASE, _) => {
                self.query.pop();
                self.look(session);
                Effects::new()
            }
            (ACCEPT, Some(known)) => close(session.call(known.wanted.clone(), Readiness::Asked)),
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.cursor, self.found.len()))
    }

    fn typed(&mut self, session: &mut Session, c: char) -> Effects {
        if self.query.chars().count() < LONGEST {
            self.query.push(c);
            self.look(session);
        }
        Effects::new()
    }

    fn draw(&self, _: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        let inside = framed(buffer, middle(area, 76, 16), "Find: product, REF, size or lot, spelt loosely");
        put_line(
            buffer,
            inside,
            1,
            0,
            Line::from(vec![
                Span::styled("/ ", theme::KEY),
                Span::styled(
                    format!("{}▏", ending(&self.query, inside.width.saturating_sub(4))),
                    theme::STRONG,
                ),
            ]),
        );
        let list = rows(inside, 1, inside.height);
        let room = usize::from(list.height);
        let first = first_shown(self.cursor, self.found.len(), room);
        let lines = self.found.iter().enumerate().skip(first).take(room).map(|(place, known)| {
            let style = if place == self.cursor { theme::CURSOR } else { theme::PLAIN };
            Line::styled(format!(" {}", padded(&known.words, 70)), style)
        });
        hits.add_rows(list, 0, (first..self.found.len()).map(Spot::Row));
        if put_lines(buffer, list, lines) == 0 {
            put(buffer, list, 1, 0, "nothing is spelt like that", theme::QUIET);
        }
    }
}

//! The list of screens that opens over a screen: every one by a letter.

use crate::tui::keys::*;
use crate::tui::model::{Component, EVERYWHERE, Effects, Request, Session, close};
use crate::tui::paint::{Hits, Spot, framed, middle, put_lines, theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub const TOUR: Action = Action::new("menu-tour", &["t"]);
pub const FIRST: Action = Action::new("menu-first", &["1"]);

const SIZES: Action = Action::new("menu-sizes", &["s"]);
const FETCH: Action = Action::new("menu-fetch", &["f"]);
const READ_BACK: Action = Action::new("menu-read-back", &["r"]);
const OPENED: Action = Action::new("menu-opened", &["o"]);
const CASE_END: Action = Action::new("menu-case-end", &["e"]);
const SHELF: Action = Action::new("menu-shelf", &["h"]);
const BAIL_OUT: Action = Action::new("menu-bail-out", &["b"]);
const KEYS: Action = Action::new("menu-help", &["k"]);
const OUT: Action = Action::new("menu-leave", &["q"]);

pub static PLACE: Place = Place::new(
    "Go to",
    Letters::Own,
    &[
        SIZES.row("sizes", "Sizes"),
        FETCH.row("fetch", "Fetch"),
        READ_BACK.row("read-back", "Read-back"),
        OPENED.row("opened", "Opened"),
        CASE_END.row("case end", "Case end"),
        SHELF.row("shelf", "Shelf"),
        BAIL_OUT.row("bail-out", "Bail-out"),
        KEYS.row("keys", "Help"),
        TOUR.row("tour", "Tour of the demo room: take it up, or leave it"),
        FIRST.row("first steps", "First steps"),
        OUT.row("leave", "leave boxcall"),
        CLOSE.row("back", "stay here"),
    ],
)
.within(&EVERYWHERE);

/// The list of screens.
#[derive(Debug, Clone)]
pub struct Menu;

impl Component for Menu {
    fn place(&self, _: &Session) -> &'static Place {
        &PLACE
    }

    fn act(&mut self, _: &mut Session, action: Action) -> Effects {
        let leads = match action {
            SIZES => GO_SIZES,
            FETCH => GO_FETCH,
            READ_BACK => GO_READ_BACK,
            OPENED => GO_OPENED,
            CASE_END => GO_CASE_END,
            SHELF => GO_SHELF,
            BAIL_OUT => GO_BAIL_OUT,
            KEYS => HELP,
            OUT => LEAVE,
            own => own,
        };
        close(vec![Request::Act(leads)])
    }

    fn offers(&self, session: &Session, action: Action) -> bool {
        action != TOUR || session.world.demo
    }

    fn draw(
        &self,
        session: &Session,
        _: Option<&dyn Component>,
        area: Rect,
        (buffer, hits): (&mut Buffer, &mut Hits),
    ) {
        let entries = PLACE.rows;
        let high = u16::try_from(entries.len() + 2).unwrap_or(u16::MAX);
        let widest = entries.iter().map(|row| Span::raw(row.doc).width()).max().unwrap_or(0);
        let wide = u16::try_from(widest + 8).unwrap_or(u16::MAX);
        let inside = framed(buffer, middle(area, wide, high), "Go to");
        hits.add_rows(inside, 0, entries.iter().map(|row| Spot::Key(row.action)));
        let lines = entries.iter().map(|row| {
            Line::from(vec![
                Span::styled(format!(" {:<4}", session.key(row.action)), theme::KEY),
                Span::raw(row.doc),
            ])
        });
        put_lines(buffer, inside, lines);
    }
}

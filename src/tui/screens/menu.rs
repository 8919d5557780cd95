//! The list of screens that opens over a screen: every one by a letter.

use crate::tui::keys::*;
use crate::tui::model::{Canvas, Component, Effects, Request, Session, close};
use crate::tui::paint::{Spot, framed, middle, put_lines, theme};
use ratatui::text::{Line, Span};

place! {
    PLACE: "Go to", Own, within EVERYWHERE;
    SIZES = new("menu-sizes", ["s"]) => "sizes", "Sizes";
    FETCH = new("menu-fetch", ["f"]) => "fetch", "Fetch";
    READ_BACK = new("menu-read-back", ["r"]) => "read-back", "Read-back";
    OPENED = new("menu-opened", ["o"]) => "opened", "Opened";
    CASE_END = new("menu-case-end", ["e"]) => "case end", "Case end";
    SHELF = new("menu-shelf", ["h"]) => "shelf", "Shelf";
    BAIL_OUT = new("menu-bail-out", ["b"]) => "bail-out", "Bail-out", wide;
    KEYS = new("menu-help", ["k"]) => "keys", "Help";
    TOUR = new("menu-tour", ["t"]) => "tour", "Tour of the demo room: take it up, or leave it", wide;
    FIRST = new("menu-first", ["1"]) => "first steps", "First steps", wide;
    OUT = new("menu-leave", ["q"]) => "leave", "leave boxcall", wide;
    CLOSE => "back", "stay here", wide;
}

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

    fn draw(&self, session: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
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

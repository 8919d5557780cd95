//! Shelf: one page of it.

use crate::tui::keys::DOWN;
use crate::tui::paint::{Hits, columns, in_columns, put_line, put_scrolled, rows, theme};
use crate::tui::state::{SHELF_PAGES, Spot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let mut tabs = vec![Span::styled("← → ", theme::KEY)];
    let mut left = Line::from(tabs.clone()).width();
    for (index, (page, name)) in SHELF_PAGES.iter().enumerate() {
        let wide = name.len() + 2;
        let column = |at: usize| u16::try_from(at).unwrap_or(u16::MAX);
        hits.add_in_row(area, column(left), 0, column(wide), Spot::Page(index));
        left += wide;
        let style = if *page == state.page() { theme::CURSOR } else { theme::PLAIN };
        tabs.push(Span::styled(format!(" {name} "), style));
    }
    put_line(buffer, area, 0, 0, Line::from(tabs));
    let room = rows(area, 2, area.height);
    let lines: Vec<Line> = state
        .shelf_lines()
        .iter()
        .flat_map(|row| {
            let style = match (row.heed, row.strong) {
                (true, _) => theme::HEED,
                (_, true) => theme::TITLE,
                _ => theme::PLAIN,
            };
            in_columns(&row.words, room.width).into_iter().map(move |text| Line::styled(text, style))
        })
        .collect();
    put_scrolled(buffer, room, lines, state.shelf.scroll, &state.key(DOWN));
}

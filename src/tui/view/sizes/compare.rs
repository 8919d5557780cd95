//! Two boxes side by side: what tells them apart stands first.

use crate::tui::paint::{cut, put, put_line, theme};
use crate::tui::state::Compared;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Modifier;
use ratatui::text::{Line, Span};

/// Columns of what is compared, and of the sign before it.
const NAME: u16 = 10;

pub(super) fn draw(compared: &Compared, area: Rect, buffer: &mut Buffer) {
    let half = area.width.saturating_sub(NAME) / 2;
    let at = [NAME, NAME + half];
    let room = usize::from(half.saturating_sub(1));
    for (side, x) in at.into_iter().enumerate() {
        let (size, marked) = &compared.sizes[side];
        let mut spans: Vec<Span> = Vec::new();
        for (place, c) in size.chars().enumerate() {
            // The digit that differs where two sizes look alike.
            let style = if marked.contains(&place) { theme::CURSOR } else { theme::STRONG };
            spans.push(Span::styled(c.to_string(), style.add_modifier(Modifier::BOLD)));
        }
        let left = room.saturating_sub(Span::raw(size).width() + 1);
        spans.push(Span::styled(format!(" {}", cut(&compared.names[side], left)), theme::STRONG));
        put_line(buffer, area, x, 0, Line::from(spans));
    }
    put(buffer, area, 0, 0, "▸marked", theme::QUIET);
    for (y, row) in (1..).zip(&compared.rows) {
        let (sign, style) = if row.differs() { ("! ", theme::STRONG) } else { ("= ", theme::QUIET) };
        let named = Line::from(vec![Span::styled(sign, theme::HEED), Span::styled(row.name, theme::QUIET)]);
        let same = Line::styled(format!("{sign}{}", row.name), theme::QUIET);
        put_line(buffer, area, 0, y, if row.differs() { named } else { same });
        for (words, x) in [&row.one, &row.other].into_iter().zip(at) {
            put(buffer, area, x, y, &cut(words, room), style);
        }
    }
}

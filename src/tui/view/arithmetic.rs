//! The whole arithmetic of a verdict, as a text to be read from top to bottom.

use crate::tui::paint::{framed, put_lines, theme, wrapped};
use crate::tui::state::Arithmetic;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Line;

pub fn draw(text: &Arithmetic, area: Rect, buffer: &mut Buffer) {
    let wide = area.width.min(112);
    let area = Rect { x: area.x + (area.width - wide) / 2, width: wide, ..area };
    let inside = framed(buffer, area, &text.title);
    let width = inside.width.saturating_sub(2);
    let lines = text.lines.iter().skip(text.scroll).flat_map(|line| {
        // What is set in stays set in, also where it is broken.
        let deep = line.chars().take_while(|c| *c == ' ').count();
        let style = if line.starts_with("Caution") { theme::HEED } else { theme::PLAIN };
        let room = width.saturating_sub(u16::try_from(deep).unwrap_or(0));
        wrapped(line, room)
            .into_iter()
            .map(move |part| Line::styled(format!(" {}{part}", " ".repeat(deep)), style))
    });
    put_lines(buffer, inside, lines.take(usize::from(inside.height)));
}

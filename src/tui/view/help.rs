//! Help: the key table, place by place.

use super::{columns, first_shown, put_lines, theme, wrapped};
use crate::tui::keys::{Keys, Place};
use crate::tui::state::State;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// What a person needs to know that is not a key.
const ABOUT: &[&str] = &[
    "boxcall shows arithmetic, rules and their sources; the operator decides. Local protocol, each device's instructions for use and licensed practice come first. It is not a certified medical device.",
    "A scan is taken on any screen and goes to read-back; the Enter at its end confirms nothing.",
    "Everything is on disk before the screen says so. Nothing is deleted: undo strikes out.",
];

/// The lines of the help page.
pub fn lines(keys: &Keys, width: u16) -> Vec<Line<'static>> {
    let about = ABOUT.iter().flat_map(|text| wrapped(text, width));
    let mut lines: Vec<Line> = about.map(|text| Line::styled(text, theme::QUIET)).collect();
    for place in Place::ALL {
        lines.push(Line::raw(""));
        lines.push(Line::styled(place.title(), theme::TITLE));
        for row in keys.rows(*place).filter(|row| !row.keys().is_empty()) {
            let keys = format!("  {:<18}", row.spellings().join("  "));
            for (place, text) in wrapped(row.doc, width.saturating_sub(20)).into_iter().enumerate() {
                let keys = if place == 0 { keys.clone() } else { " ".repeat(20) };
                lines.push(Line::from(vec![Span::styled(keys, theme::KEY), Span::raw(text)]));
            }
        }
    }
    lines
}

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let all = lines(&state.settings.keys, area.width);
    let room = usize::from(area.height);
    let step = room.saturating_sub(2).max(1);
    let first = first_shown(state.help_scroll * step + room / 2, all.len(), room);
    put_lines(buffer, area, all.into_iter().skip(first));
}

//! The tour: two lines above the screen that say what to do next.

use crate::tui::paint::{put, put_line, rows, theme};
use crate::tui::state::State;
use ratatui::prelude::*;

/// Draws the lines where the tour is on, and returns the area that is left.
pub fn draw(state: &State, area: Rect, buffer: &mut Buffer) -> Rect {
    let Some([count, act, why]) = state.tour_lines() else { return area };
    let line = Line::from(vec![
        Span::styled(format!(" {count} "), theme::BAR),
        Span::styled(format!(" ▸ {act}"), theme::WARNING),
    ]);
    put_line(buffer, area, 0, 0, line);
    put(buffer, area, 1, 1, &why, theme::QUIET);
    rows(area, 2, area.height)
}

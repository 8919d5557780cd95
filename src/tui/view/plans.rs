//! Plans for a long lesion: a row a plan, and the one under the cursor drawn to scale.

use crate::tui::columns::padded;
use crate::tui::paint::{Hits, framed, middle, put_lines, rows, theme, vessel, wrapped};
use crate::tui::state::{Plans, Spot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Line;

pub fn draw(state: &State, offered: &Plans, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let wide = area.width.min(110).saturating_sub(2).max(78);
    let inside = framed(buffer, middle(area, wide, area.height.min(28)), &offered.title);
    let room = inside.width.saturating_sub(2);
    let mut lines: Vec<Line> = Vec::new();
    for text in &offered.none {
        let told = wrapped(text, inside.width.saturating_sub(2));
        lines.extend(told.into_iter().map(|text| Line::styled(format!(" {text}"), theme::HEED)));
    }
    for (place, plan) in offered.plans.iter().enumerate() {
        let here = place == offered.cursor;
        // Plans that belong together are called together: none stands out, and each is read to its end.
        let style = if here && !offered.together { theme::CURSOR } else { theme::PLAIN };
        let told =
            if here || offered.together { wrapped(&plan.words, room) } else { vec![plan.words.clone()] };
        for (row, text) in told.iter().enumerate() {
            let mark = if here && row == 0 { "▸" } else { " " };
            let at = u16::try_from(lines.len()).unwrap_or(u16::MAX);
            hits.add_rows(inside, at, [Spot::Row(place)]);
            lines.push(Line::styled(format!("{mark}{}", padded(text, room)), style));
        }
    }
    let taken = put_lines(buffer, inside, lines);
    if let Some(drawn) = state.drawn().filter(|_| !offered.plans.is_empty()) {
        let left = inside.height.saturating_sub(taken + 1).min(vessel::MOST_ROWS);
        let below = rows(inside, taken + 1, left);
        let below = Rect { x: below.x + 1, width: below.width.saturating_sub(2), ..below };
        vessel::draw(&drawn, below, buffer);
    }
}

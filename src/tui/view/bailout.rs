//! Bail-out: covered stents, size, place, the guide each needs. Large, few words, no verdicts.

use super::{Hits, columns, first_shown, padded, padded_at_least, put, put_lines, rows, theme, widest};
use crate::tui::state::{Spot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    put(buffer, area, 0, 0, "COVERED STENTS ON THE SHELF, IN DATE", theme::STOP);
    let stents = state.bail_out();
    if stents.is_empty() {
        let words = state.world.shelf.unread().unwrap_or_else(|| "NONE ON THE SHELF".to_string());
        put(buffer, area, 0, 2, &words, theme::STOP);
    }
    let sundries = state.bail_out_sundries();
    let below = u16::try_from(sundries.len()).unwrap_or(u16::MAX).min(area.height / 3);
    let room = usize::from(area.height.saturating_sub(below + 3));
    let first = first_shown(state.bail_shown, stents.len(), room);
    let name = widest(stents.iter().map(|stent| stent.size.name.as_str()), 8, area.width / 4);
    let place = widest(stents.iter().map(|stent| stent.size.place.as_str()), 10, area.width / 3);
    let lines = stents.iter().enumerate().skip(first).take(room).map(|(index, stent)| {
        let style = if index == state.bail_shown { theme::CURSOR } else { theme::STRONG };
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
            Span::styled(format!("▸ {} ", padded_at_least(&size.place, place)), theme::GOOD),
            Span::styled(stent.words.clone(), guide_style),
        ])
    });
    let list = rows(area, 2, area.height.saturating_sub(below + 3));
    hits.add_rows(list, 0, (first..stents.len()).map(Spot::Row));
    let used = put_lines(buffer, list, lines);
    let others = sundries.iter().map(|line| Line::raw(line.clone()));
    put_lines(buffer, rows(area, 3 + used, below), others);
}

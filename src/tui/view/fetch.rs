//! Fetch: one call in letters that are read from three metres, the others one line each.

use crate::journal::Readiness;
use crate::tui::keys::{ACCEPT, GO_SIZES};
use crate::tui::paint::{Hits, card, columns, put, put_lines, rows, theme};
use crate::tui::state::{Spot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Line;

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let (Some(call), Some(card)) = (state.call_shown(), state.card()) else {
        put(buffer, area, 0, 1, "No call is waiting.", theme::STRONG);
        let words = format!("{} calls a size: 3 29, then {}.", state.key(GO_SIZES), state.key(ACCEPT));
        put(buffer, area, 0, 2, &words, theme::QUIET);
        return;
    };
    let waiting = state.world.waiting();
    let others: Vec<_> =
        waiting.iter().enumerate().filter(|(_, other)| other.number != call.number).collect();
    let below = u16::try_from(others.len().min(4)).unwrap_or(4);
    let not_saved = |seq: u64| if state.is_unsaved(seq) { " · NOT SAVED" } else { "" };
    let used = card::draw(call, &card, not_saved(call.seq), rows(area, 0, area.height - below), buffer);
    let spots: Vec<Spot> = others.iter().map(|(place, _)| Spot::Row(*place)).collect();
    let others: Vec<Line> = others
        .iter()
        .take(usize::from(below))
        .map(|(_, other)| {
            let ready = if other.readiness == Readiness::HaveReady { " · have ready" } else { "" };
            let not = not_saved(other.seq);
            Line::styled(format!("then call {}: {}{ready}{not}", other.number, other.words()), theme::QUIET)
        })
        .collect();
    let from = used.max(area.height.saturating_sub(below));
    let list = rows(area, from, area.height);
    hits.add_rows(list, 0, spots);
    put_lines(buffer, list, others);
}

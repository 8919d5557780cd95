//! Fetch: one call in letters that are read from three metres, the others one line each.

use super::{Hits, big, columns, put, put_lines, rows, theme, wrapped};
use crate::journal::Readiness;
use crate::tui::keys::Action;
use crate::tui::state::{Spot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let (Some(call), Some(card)) = (state.call_shown(), state.card()) else {
        put(buffer, area, 0, 1, "No call is waiting.", theme::STRONG);
        let words = format!(
            "{} calls a size: 3 28, then {}.",
            state.key(Action::GoSizes),
            state.key(Action::SizeCall)
        );
        put(buffer, area, 0, 2, &words, theme::QUIET);
        return;
    };
    let waiting = state.world.waiting();
    let others: Vec<_> =
        waiting.iter().enumerate().filter(|(_, other)| other.number != call.number).collect();
    let below = u16::try_from(others.len().min(4)).unwrap_or(4);
    let high = area.height.saturating_sub(below + 7).clamp(4, 15);
    let asked = match call.readiness {
        Readiness::Asked => "FETCH",
        Readiness::HaveReady => "HAVE READY, UNOPENED",
    };
    let not_saved = |seq: u64| if state.is_unsaved(seq) { " · NOT SAVED" } else { "" };
    put(buffer, area, 0, 0, &format!("call {} · {asked}{}", call.number, not_saved(call.seq)), theme::TITLE);
    let taken = 1 + big::draw(buffer, rows(area, 1, high), &card.big, theme::STRONG, &card.marked);
    let mut lines: Vec<Line> = Vec::new();
    match &card.bring {
        Some(bring) => {
            lines.push(Line::from(vec![
                Span::styled(format!("{} ", bring.name), theme::STRONG),
                Span::styled(format!("{} ", bring.reference), theme::PLAIN),
                Span::styled(format!("▸ {} ", bring.piece.shelf), theme::GOOD),
                Span::raw(bring.words()),
            ]));
        }
        None => lines.push(Line::styled(card.none_in_words(), theme::STOP)),
    }
    for caution in &card.cautions {
        lines.extend(wrapped(caution, area.width).into_iter().map(|text| Line::styled(text, theme::HEED)));
    }
    lines.push(Line::from(vec![
        Span::styled("say  ", theme::QUIET),
        Span::styled(format!("“{}”", card.say), theme::STRONG),
    ]));
    if !card.instead.is_empty() {
        lines
            .push(Line::from(vec![Span::styled("else ", theme::QUIET), Span::raw(card.instead.join(" · "))]));
    }
    let used = put_lines(buffer, rows(area, taken, area.height.saturating_sub(taken + below)), lines);
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
    let from = (taken + used).max(area.height.saturating_sub(below));
    let list = rows(area, from, area.height);
    hits.add_rows(list, 0, spots);
    put_lines(buffer, list, others);
}

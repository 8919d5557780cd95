//! Bail-out: covered stents, size, place, the guide each needs. Large, few words, no verdicts.

use crate::shelf::{Item, Short};
use crate::tui::columns::{padded, padded_at_least, widest};
use crate::tui::paint::{Hits, columns, first_shown, put, put_lines, put_scrolled, rows, theme};
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
    let sundries = sundries(&state.bail_out_sundries(), area.width);
    // The sundries have what the covered stents leave them, and a third in any case; neither hides the other unseen.
    let free = area.height.saturating_sub(4);
    let below = rows_of(sundries.len()).min(free.saturating_sub(rows_of(stents.len())).max(free / 3));
    let room = usize::from(free - below);
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
    let list = rows(area, 2, free - below);
    hits.add_rows(list, 0, (first..stents.len()).map(Spot::Row));
    let used = put_lines(buffer, list, lines);
    put_scrolled(buffer, rows(area, 3 + used, below), sundries, 0, "on the Shelf screen");
}

/// A line an item; what is not there, or too little of it, is said.
fn sundries(items: &[Item], width: u16) -> Vec<Line<'static>> {
    let widest_of = |text: fn(&Item) -> &str, most: u16| widest(items.iter().map(text), 4, most);
    let name = widest_of(|item| &item.name, width / 4);
    let reference = widest_of(|item| &item.level.item, width / 4);
    let place = widest_of(|item| &item.level.place, width / 3);
    let line = |item: &Item| {
        let Short { item: number, wanted, have, place: at } = &item.level;
        let style = match have {
            _ if !item.is_missing() => theme::PLAIN,
            0 => theme::STOP,
            _ => theme::HEED,
        };
        let (counted, missing) = if item.is_missing() {
            (format!("×{have} of {wanted}"), "· MISSING")
        } else {
            (format!("×{have}"), "")
        };
        let what = format!("{} {} {counted:<9} ", padded(&item.name, name), padded(number, reference));
        let at = if at.is_empty() { "no place known" } else { at };
        Line::from(vec![
            Span::styled(what, style),
            Span::styled(format!("▸ {} ", padded_at_least(at, place)), theme::PLAIN),
            Span::styled(missing, style),
        ])
    };
    items.iter().map(line).collect()
}

fn rows_of(count: usize) -> u16 {
    u16::try_from(count).unwrap_or(u16::MAX)
}

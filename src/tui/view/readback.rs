//! Read-back: the label against the call, in words and in letters that are read from three metres.

use super::{Hits, big, columns, padded, put, put_lines, rows, theme, wrapped};
use crate::case::label_words;
use crate::case::readback::{Headline, ReadBack};
use crate::tui::keys::Action;
use crate::tui::state::{Held, Spot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    match &state.held {
        Some(held) => label(held, area, buffer),
        None => waiting(state, area, buffer, hits),
    }
}

const fn style(headline: Headline) -> Style {
    match headline {
        Headline::Same => theme::GOOD,
        Headline::NoCall | Headline::CheckByEye | Headline::Doubtful => theme::HEED,
        _ => theme::STOP,
    }
}

fn label(held: &Held, area: Rect, buffer: &mut Buffer) {
    let back = &held.back;
    let words = if held.disagrees.is_some() { "DIFFERENT" } else { &back.big };
    let shade = if held.disagrees.is_some() { theme::STOP } else { style(back.headline) };
    let high = if area.height > 30 { 15 } else { 8 };
    let taken = big::draw(buffer, rows(area, 0, high), words, shade, &[]) + 1;
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(held.disagrees.iter().map(|words| Line::styled(words.clone(), theme::STOP)));
    lines.extend(fields(back));
    for note in &back.notes {
        lines.extend(wrapped(note, area.width).into_iter().map(|text| Line::styled(text, theme::HEED)));
    }
    let room = area.height.saturating_sub(taken + 1);
    put_lines(buffer, rows(area, taken, room), lines);
    put(buffer, area, 0, area.height.saturating_sub(1), &format!("▸ {}", back.next), theme::STRONG);
}

/// Every field beside the call: a word says whether it is the same, not a colour.
fn fields(back: &ReadBack) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    if !back.lines.is_empty() {
        lines.push(Line::styled(format!("{:<36}{:<22} call", "", "box"), theme::QUIET));
    }
    for line in &back.lines {
        let (word, style) = match line.same {
            Some(true) => ("same", theme::GOOD),
            Some(false) => ("DIFFERS", theme::STOP),
            None => ("", theme::QUIET),
        };
        lines.push(Line::from(vec![
            Span::styled(format!("{:<27}", line.field), theme::QUIET),
            Span::styled(format!("{word:<9}"), style),
            Span::styled(format!("{} ", padded(&line.on_box, 22)), theme::STRONG),
            Span::raw(line.called.clone()),
        ]));
    }
    lines
}

fn waiting(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let mut lines = vec![
        Line::styled("Scan the box before its seal is broken.", theme::STRONG),
        Line::styled(
            format!(
                "{} types its label, {} types what the box says if no label can be read.",
                state.key(Action::ReadTypeLabel),
                state.key(Action::ReadTypeBox)
            ),
            theme::QUIET,
        ),
        Line::raw(""),
    ];
    for call in state.world.waiting() {
        lines.push(Line::raw(format!("call {} waits for {}", call.number, call.words())));
    }
    let at_hand = state.world.at_hand();
    if !at_hand.is_empty() {
        lines.push(Line::raw(""));
        lines.push(Line::styled("At hand, unopened:", theme::TITLE));
    }
    let first = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    hits.add_rows(area, first, (0..at_hand.len()).map(Spot::Row));
    for (index, item) in at_hand.iter().enumerate() {
        let here = index == state.at_hand_shown;
        let for_call = item.call.map_or(String::new(), |call| format!(" for call {call}"));
        let lot = item.label.lot.as_ref().map_or(String::new(), |lot| format!(" · lot {lot}"));
        lines.push(Line::styled(
            format!(
                "{} {}{lot}{for_call} · read back: {}",
                if here { "▸" } else { " " },
                label_words(&item.label),
                item.finding
            ),
            if here { theme::CURSOR } else { theme::PLAIN },
        ));
    }
    put_lines(buffer, area, lines);
}

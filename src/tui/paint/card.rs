//! What is brought for one call: size, product, place, lot and what to say back, each as large as there is room for.

use super::text::{put, put_lines, rows, wrapped_in};
use super::{big, theme};
use crate::case::Call;
use crate::journal::Readiness;
use crate::shelf::FetchCard;
use ratatui::prelude::*;

/// With so many rows for large letters the size does not take all of them.
const SHARED: u16 = 13;
/// Rows for letters of which a dot is one row high, and for their marks.
const LARGE: u16 = 8;

/// Draws the card and returns the rows that it took. `mark` stands behind its number.
pub fn draw(call: &Call, card: &FetchCard, mark: &str, area: Rect, buffer: &mut Buffer) -> u16 {
    let asked = match call.readiness {
        Readiness::Asked => "FETCH",
        Readiness::HaveReady => "HAVE READY, UNOPENED",
    };
    put(buffer, area, 0, 0, &format!("call {} · {asked}{mark}", call.number), theme::TITLE);
    let lines = lines(card, area.width);
    let text = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    let room = area.height.saturating_sub(text.saturating_add(1));
    let for_size = if room >= SHARED { (room * 3 / 5).max(LARGE) } else { room.max(1) };
    let marked = !card.marked.is_empty();
    let size = big::Size::fitting(&card.big, marked, area.width, for_size).unwrap_or(big::Size::LEAST);
    let mut taken = 1 + big::draw(buffer, rows(area, 1, for_size), &card.big, theme::STRONG, &card.marked);
    let high = further(card, size, rows(area, taken + 1, room.saturating_sub(taken)), buffer);
    taken += if high == 0 { 0 } else { high + 1 };
    taken + put_lines(buffer, rows(area, taken, area.height), lines)
}

/// Product and place, lot, and what to say back, in large letters where there is room, none larger than the size's;
/// the rows that they took.
fn further(card: &FetchCard, most: big::Size, area: Rect, buffer: &mut Buffer) -> u16 {
    let mut words = match &card.bring {
        Some(bring) => vec![
            (format!("{} ▸ {}", bring.name, bring.piece.shelf), theme::GOOD),
            (format!("LOT {}", bring.piece.lot), theme::STRONG),
        ],
        None => vec![(card.none_in_words(), theme::STOP)],
    };
    words.push((card.say.clone(), theme::STRONG));
    let count = if card.bring.is_some() { 3 } else { 2 };
    let mut taken = 0;
    for (place, (words, style)) in (0u16..).zip(&words) {
        let left = count - place;
        // Its share of the rows, or all that are left where that is too little even for the smallest letters.
        let all = area.height.saturating_sub(taken);
        let drawn = [all / left, all]
            .into_iter()
            .find_map(|high| big::draw_wrapped(buffer, rows(area, taken, high), words, most, *style));
        taken += drawn.map_or(0, |high| high + 1);
    }
    taken
}

fn lines(card: &FetchCard, width: u16) -> Vec<Line<'static>> {
    let mut lines: Vec<Line> = Vec::new();
    match &card.bring {
        Some(bring) => {
            let place = Line::from(vec![
                Span::styled(format!("{} ", bring.name), theme::STRONG),
                Span::styled(format!("{} ", bring.reference), theme::PLAIN),
                Span::styled(format!("▸ {} ", bring.piece.shelf), theme::GOOD),
            ]);
            let piece = Line::raw(bring.words());
            // A line each where both are too long for one.
            if place.width() + piece.width() <= usize::from(width) {
                lines.push(Line::from([place.spans, piece.spans].concat()));
            } else {
                lines.extend([place, piece]);
            }
        }
        None => lines.push(Line::styled(card.none_in_words(), theme::STOP)),
    }
    for caution in &card.cautions {
        lines.extend(wrapped_in(theme::WARNING, caution, width));
    }
    lines.push(Line::from(vec![
        Span::styled("say  ", theme::QUIET),
        Span::styled(format!("“{}”", card.say), theme::STRONG),
    ]));
    if let Some(words) = instead(&card.instead, width.saturating_sub(5)) {
        lines.push(Line::from(vec![Span::styled("else ", theme::QUIET), Span::raw(words)]));
    }
    lines
}

/// The best of them, and as many more as have room whole: a place that is cut off sends a hand to the wrong shelf.
fn instead(list: &[String], width: u16) -> Option<String> {
    let whole = |count: &usize| Span::raw(list[..*count].join(" · ")).width() <= usize::from(width);
    let count = (1..=list.len()).rev().find(whole).unwrap_or(1);
    (!list.is_empty()).then(|| list[..count].join(" · "))
}

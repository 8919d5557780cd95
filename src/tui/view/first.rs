//! First steps: what is done, what is next, and how. And the lines that lie over it: what would be written, what a
//! scanner sends.

use crate::deference::LONG;
use crate::tui::keys::{ACCEPT, CLOSE, DOWN};
use crate::tui::paint::{Hits, columns, framed, middle, put, put_lines, rows, theme, wrapped};
use crate::tui::state::{Sheet, Spot, State, Trial};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let steps = state.step_lines();
    let done = steps.iter().filter(|step| step.done).count();
    let title = format!("First steps: what this room needs · {done} of {} done", steps.len());
    put(buffer, area, 0, 0, &title, theme::TITLE);
    let lines = steps.iter().enumerate().map(|(place, step)| {
        let here = place == state.first.shown;
        let (word, style) = match (step.done, step.next) {
            (true, _) => ("done", theme::GOOD),
            (false, true) => ("NEXT", theme::HEED),
            (false, false) => ("open", theme::QUIET),
        };
        Line::from(vec![
            Span::raw(if here { "▸ " } else { "  " }),
            Span::styled(format!("{word:<6}"), style),
            Span::styled(format!("{:<18}", step.name), if here { theme::CURSOR } else { theme::STRONG }),
            Span::raw(format!(" {}", step.now)),
        ])
    });
    hits.add_rows(area, 2, (0..steps.len()).map(Spot::Row));
    let taken = 3 + put_lines(buffer, rows(area, 2, area.height), lines);
    let mut help: Vec<Line> = Vec::new();
    for text in state.step_help() {
        // A path or a command is not broken: it is to be copied.
        let (lines, style) = match text.starts_with(' ') {
            true => (vec![text], theme::STRONG),
            false => (wrapped(&text, area.width), theme::PLAIN),
        };
        help.extend(lines.into_iter().map(|text| Line::styled(text, style)));
    }
    if done == steps.len() {
        let key = state.key(CLOSE);
        help.insert(0, Line::styled(format!("Everything is done: {key}, and a first call begins a case. boxcall demo has a guided tour."), theme::GOOD));
    }
    let taken = taken + put_lines(buffer, rows(area, taken, area.height), help);
    // The short form is in the frame: the long one stands here wherever the steps leave it room.
    let decides: Vec<Line> =
        wrapped(LONG, area.width).into_iter().map(|text| Line::styled(text, theme::QUIET)).collect();
    let high = u16::try_from(decides.len()).unwrap_or(u16::MAX);
    if area.height > taken.saturating_add(high) {
        put_lines(buffer, rows(area, area.height - high, high), decides);
    }
}

/// What would be written, or what is wrong.
pub fn sheet(state: &State, sheet: &Sheet, area: Rect, buffer: &mut Buffer) {
    let width = area.width.saturating_sub(4).min(110);
    let mut lines: Vec<String> = Vec::new();
    for text in sheet.lines.iter().skip(sheet.scroll) {
        lines.extend(broken(text, width.saturating_sub(4)));
    }
    let high = u16::try_from(lines.len() + 4).unwrap_or(u16::MAX).min(area.height);
    let inside = framed(buffer, middle(area, width, high), &sheet.title);
    let room = inside.height.saturating_sub(2);
    let more = lines.len() > usize::from(room);
    let style = if sheet.lays.is_some() { theme::PLAIN } else { theme::HEED };
    let shown = lines.into_iter().take(usize::from(room));
    put_lines(buffer, rows(inside, 0, room), shown.map(|text| Line::styled(format!(" {text}"), style)));
    let key = |action| state.key(action);
    let mut words = match sheet.lays {
        Some(_) => format!("{} writes it · {} leaves it", key(ACCEPT), key(CLOSE)),
        None => format!("{} goes back", key(CLOSE)),
    };
    if more {
        words = format!("{} goes on · {words}", key(DOWN));
    }
    put(buffer, inside, 1, inside.height.saturating_sub(1), &words, theme::STRONG);
}

/// What a scanner sends while it is tried.
pub fn trial(state: &State, trial: &Trial, area: Rect, buffer: &mut Buffer) {
    let width = area.width.saturating_sub(4).min(110);
    let inside = framed(buffer, middle(area, width, 16), "Try the scanner: nothing of it is kept");
    let mut lines: Vec<Line> = Vec::new();
    if trial.lines.is_empty() && trial.loose.is_empty() {
        lines.push(Line::styled(" Scan any box, a whole label with lot or serial.", theme::STRONG));
        lines.push(Line::styled(
            " A label's separator (GS) and an Enter at its end should arrive.",
            theme::QUIET,
        ));
    }
    for text in trial.lines.iter().filter(|text| !text.is_empty()) {
        let head: String = text.chars().take(12).collect();
        let rest: String = text.chars().skip(12).collect();
        let style = match head.trim() {
            "to set" | "refused" | "but" | "at its end" => theme::HEED,
            "understood" => theme::GOOD,
            _ => theme::PLAIN,
        };
        for (place, part) in broken(&rest, width.saturating_sub(16)).into_iter().enumerate() {
            let head = if place == 0 { head.as_str() } else { "" };
            lines.push(Line::from(vec![
                Span::styled(format!(" {head:<12}"), theme::QUIET),
                Span::styled(part, style),
            ]));
        }
    }
    if !trial.loose.is_empty() {
        lines.push(Line::styled(
            format!(" key by key  {}  (typed, or sent too slowly for a scan)", trial.loose),
            theme::HEED,
        ));
    }
    put_lines(buffer, rows(inside, 0, inside.height.saturating_sub(1)), lines);
    let words = format!("{} goes back", state.key(CLOSE));
    put(buffer, inside, 1, inside.height.saturating_sub(1), &words, theme::STRONG);
}

/// A text without spaces is broken where the room ends.
fn broken(text: &str, width: u16) -> Vec<String> {
    let width = usize::from(width.max(1));
    let mut parts = Vec::new();
    for line in wrapped(text, u16::try_from(width).unwrap_or(u16::MAX)) {
        let chars: Vec<char> = line.chars().collect();
        parts.extend(chars.chunks(width).map(|part| part.iter().collect()));
    }
    parts
}

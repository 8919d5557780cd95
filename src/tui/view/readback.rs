//! Read-back: the label against the call, in words and in letters that are read from three metres.

use super::{Hits, beside, columns, padded, plate, put, put_lines, rows, theme, wrapped};
use crate::case::label_words;
use crate::case::readback;
use crate::tui::keys::Action;
use crate::tui::state::{Held, Spot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    match &state.readback.held {
        Some(held) => label(held, area, buffer),
        None => waiting(state, area, buffer, hits),
    }
}

/// Columns of the word that says whether a field is the same, of its name, of what stands on the box.
const WORD: usize = 9;
const FIELD: usize = 27;
const ON_BOX: u16 = 18;
/// Columns before what was called.
const BEFORE_CALL: usize = WORD + FIELD + ON_BOX as usize + 5;
/// Rows of text that may stand below before "the same" is folded into one line.
const TEXT: u16 = 7;
/// Rows for the smallest headline and, below it, the smallest letters of the box.
const LARGE: u16 = 12;

fn label(held: &Held, area: Rect, buffer: &mut Buffer) {
    let (back, signal) = (&held.back, held.signal());
    let notes = back.notes.iter().flat_map(|note| wrapped(note, area.width));
    let mut lines: Vec<Line> =
        held.disagrees.iter().map(|words| Line::styled(words.clone(), theme::STOP)).collect();
    lines
        .extend(back.lines.iter().filter(|line| line.differs()).flat_map(|line| differing(line, area.width)));
    lines.extend(notes.map(|text| Line::styled(text, theme::HEED)));
    let others: Vec<&readback::Line> = back.lines.iter().filter(|line| !line.differs()).collect();
    let room = area.height.saturating_sub(LARGE + 1).max(TEXT.min(area.height));
    if lines.len() + others.len() <= usize::from(room) {
        lines.extend(others.into_iter().map(field));
    } else {
        lines.extend(folded(&others));
    }
    let text = u16::try_from(lines.len()).unwrap_or(u16::MAX).min(area.height.saturating_sub(5));
    let large = area.height.saturating_sub(text + 1);
    let for_box = if signal.beside.is_some() && large + 1 >= LARGE { (large * 9 / 20).max(5) } else { 0 };
    let mut taken = plate::draw(buffer, rows(area, 0, large - for_box), &signal.big, signal.bearing);
    if let Some(beside) = signal.beside.filter(|_| for_box > 0) {
        taken += beside::draw(buffer, rows(area, taken, large - taken), &beside);
    }
    let below = area.height.saturating_sub(1);
    let spare = below.saturating_sub(taken + text).min(1);
    put_lines(buffer, rows(area, taken + spare, below.saturating_sub(taken + spare)), lines);
    put(buffer, area, 0, below, &format!("▸ {}", signal.next), theme::STRONG);
}

/// A field that differs: never cut, so where it has no room beside the call it is told in words.
fn differing(line: &readback::Line, width: u16) -> Vec<Line<'static>> {
    let beside = usize::from(width).saturating_sub(BEFORE_CALL + 5);
    if Span::raw(&line.on_box).width() <= usize::from(ON_BOX) && Span::raw(&line.called).width() <= beside {
        return vec![field(line)];
    }
    let indent = " ".repeat(WORD);
    let texts = wrapped(&line.in_words(), width.saturating_sub(u16::try_from(WORD).unwrap_or(0)));
    let lead = |place: usize| if place == 0 { format!("{:<WORD$}", "DIFFERS") } else { indent.clone() };
    let lines = texts.into_iter().enumerate();
    lines.map(|(place, text)| Line::styled(format!("{}{text}", lead(place)), theme::STOP)).collect()
}

/// A field beside the call: a word says whether it is the same, not a colour.
fn field(line: &readback::Line) -> Line<'static> {
    let (word, style) = match line.same {
        Some(true) => ("same", theme::GOOD),
        Some(false) => ("DIFFERS", theme::STOP),
        None => ("", theme::QUIET),
    };
    let called = if line.called.is_empty() || line.called.starts_with("today") {
        line.called.clone()
    } else {
        format!("call {}", line.called)
    };
    Line::from(vec![
        Span::styled(format!("{word:<WORD$}"), style),
        Span::styled(format!("{:<FIELD$}", line.field), theme::QUIET),
        Span::styled(format!("box {} ", padded(&line.on_box, ON_BOX)), theme::STRONG),
        Span::raw(called),
    ])
}

/// What is the same in one line, and what can't be compared in another.
fn folded(lines: &[&readback::Line]) -> Vec<Line<'static>> {
    let told = |same: bool, title: &str, style: Style| {
        let lines = lines.iter().filter(|line| line.same.is_some() == same);
        let words: Vec<String> = lines
            .map(|line| format!("{} {}", line.field.split(',').next().unwrap_or_default(), line.on_box))
            .collect();
        (!words.is_empty()).then(|| {
            Line::from(vec![Span::styled(format!("{title:<9}"), style), Span::raw(words.join(" · "))])
        })
    };
    told(true, "same", theme::GOOD).into_iter().chain(told(false, "box", theme::QUIET)).collect()
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
        let here = index == state.readback.at_hand;
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

#[cfg(test)]
mod tests {
    use super::*;

    fn line(on_box: &str, called: &str) -> readback::Line {
        readback::Line { field: "product", called: called.into(), on_box: on_box.into(), same: Some(false) }
    }

    #[test]
    fn a_field_that_differs_is_never_cut() {
        let long = "any drug-eluting stent of the longest name there is";
        for (on_box, called) in [("Tarn", "Scree"), ("Tarn, drug-eluting stent", "Brae"), ("Brae", long)] {
            let lines = differing(&line(on_box, called), 78);
            let told: String = lines.iter().map(|line| format!("{line} ")).collect();
            let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(lines.iter().all(|line| line.width() <= 78), "{told}");
            for words in ["DIFFERS", "product", on_box, called] {
                assert!(told.contains(words), "{words}: {told}");
            }
        }
    }
}

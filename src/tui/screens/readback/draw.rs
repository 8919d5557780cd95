//! The label against the call, in words and in letters that are read from three metres.

use super::keys::{TYPE_BOX, TYPE_LABEL};
use crate::case::readback::{self, LabelField};
use crate::case::{Item, label_words};
use crate::tui::columns::{padded, widest};
use crate::tui::model::{Judged, Session};
use crate::tui::paint::{Hits, Spot, beside, plate, put, put_lines, rows, theme, wrapped};
use ratatui::prelude::*;

/// Columns of the word that says whether a field is the same, and of its name.
const WORD: u16 = 9;

const FIELD: u16 = 27;

/// Rows of text that may stand below before "the same" is folded into one line.
const TEXT: u16 = 7;

/// Rows for the smallest headline and, below it, the smallest letters of the box.
const LARGE: u16 = 12;

/// `rests`: keys that decide rest just now, and the mark before the next step says so.
pub fn label(held: &Judged, rests: bool, area: Rect, buffer: &mut Buffer) {
    let (back, signal) = (&held.back, held.signal());
    let changed = held.change.iter().flat_map(|words| wrapped(words, area.width));
    let notes = back.notes.iter().flat_map(|note| wrapped(note, area.width));
    let mut lines: Vec<Line> = changed.map(|text| Line::styled(text, theme::STOP)).collect();
    let told = |words: &&String| held.change.as_ref().is_none_or(|change| !change.contains(*words));
    lines.extend(held.disagrees.iter().filter(told).map(|words| Line::styled(words.clone(), theme::STOP)));
    let table = Table::of(&back.lines, area.width);
    lines.extend(back.lines.iter().filter(|line| line.differs()).flat_map(|line| table.field(line)));
    lines.extend(notes.map(|text| Line::styled(text, theme::WARNING)));
    let others: Vec<&readback::LabelLine> = back.lines.iter().filter(|line| !line.differs()).collect();
    let told: Vec<Line> = others.iter().flat_map(|line| table.field(line)).collect();
    let room = area.height.saturating_sub(LARGE + 1).max(TEXT.min(area.height));
    if lines.len() + told.len() <= usize::from(room) {
        lines.extend(told);
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
    put(buffer, area, 0, below, &format!("{} {}", next_mark(rests), signal.next), theme::STRONG);
}

/// Before the next step: an arrow once keys that decide do so.
const fn next_mark(rests: bool) -> &'static str {
    if rests { "·" } else { "▸" }
}

/// The fields of the box beside the call's.
struct Table {
    width: u16,
    /// Columns of what stands on the box.
    on_box: u16,
}

impl Table {
    /// As wide as the widest that has room beside what was called.
    fn of(lines: &[readback::LabelLine], width: u16) -> Table {
        let room = width.saturating_sub(WORD + FIELD + 5);
        let beside = lines
            .iter()
            .filter(|line| Span::raw(on_box(line)).width() + Span::raw(called(line)).width() < room.into());
        Table { width, on_box: widest(beside.map(on_box), 18, room) }
    }

    /// A field: a word says whether it is the same, not a colour. Never cut: where it has no room beside the call it is
    /// told in words.
    fn field(&self, line: &readback::LabelLine) -> Vec<Line<'static>> {
        let (word, style) = match line.same {
            Some(true) => ("same", theme::GOOD),
            Some(false) => ("DIFFERS", theme::STOP),
            None => ("", theme::QUIET),
        };
        let lead = |row: usize| format!("{:<1$}", if row == 0 { word } else { "" }, usize::from(WORD));
        let called = called(line);
        let beside = usize::from(self.width.saturating_sub(WORD + FIELD + 5 + self.on_box));
        if Span::raw(on_box(line)).width() > usize::from(self.on_box) || Span::raw(&called).width() > beside {
            let texts = wrapped(&line.in_words(), self.width.saturating_sub(WORD)).into_iter().enumerate();
            let words = if line.differs() { style } else { theme::PLAIN };
            return texts
                .map(|(row, text)| {
                    Line::from(vec![Span::styled(lead(row), style), Span::styled(text, words)])
                })
                .collect();
        }
        vec![Line::from(vec![
            Span::styled(lead(0), style),
            Span::styled(format!("{:<1$}", line.field, usize::from(FIELD)), theme::QUIET),
            Span::styled(format!("box {} ", padded(on_box(line), self.on_box)), theme::STRONG),
            Span::raw(called),
        ])]
    }
}

/// What was called, or the day on which the box is looked at.
fn called(line: &readback::LabelLine) -> String {
    match &line.called {
        None => String::new(),
        Some(today) if line.field == LabelField::UseBy => today.clone(),
        Some(called) => format!("call {called}"),
    }
}

fn on_box(line: &readback::LabelLine) -> &str {
    line.on_box.as_deref().unwrap_or("–")
}

/// What is the same in one line, and what can't be compared in another.
fn folded(lines: &[&readback::LabelLine]) -> Vec<Line<'static>> {
    let told = |same: bool, title: &str, style: Style| {
        let lines = lines.iter().filter(|line| line.same.is_some() == same);
        let words: Vec<String> = lines
            .map(|line| format!("{} {}", line.field.word(), line.on_box.as_deref().unwrap_or_default()))
            .collect();
        (!words.is_empty()).then(|| {
            Line::from(vec![Span::styled(format!("{title:<9}"), style), Span::raw(words.join(" · "))])
        })
    };
    told(true, "same", theme::GOOD).into_iter().chain(told(false, "box", theme::QUIET)).collect()
}

/// A box at hand with its finding of now and, where that is another one, the one that it came in with.
fn at_hand_lines(session: &Session, item: &Item, here: bool, width: u16) -> Vec<Line<'static>> {
    let judged = session.judged_at_hand(item);
    let big = judged.finding();
    let for_call = item.call.map_or(String::new(), |call| format!(" for call {call}"));
    let lot = item.label.lot.as_ref().map_or(String::new(), |lot| format!(" · lot {lot}"));
    let mark = if here { next_mark(session.rests()) } else { " " };
    let told = format!("{mark} {}{lot}{for_call}", label_words(&item.label));
    let style = if here { theme::CURSOR } else { theme::PLAIN };
    if big == item.finding {
        return vec![Line::styled(format!("{told} · read back: {big}"), style)];
    }
    let ink = if judged.stops() { theme::STOP } else { theme::WARNING };
    let mut texts = vec![format!("now {big} (came in as {})", item.finding)];
    texts.extend(judged.change.clone());
    let next = if judged.stops() { judged.back.next.clone() } else { String::new() };
    texts.extend(Some(next).filter(|next| !next.is_empty()));
    let below = texts.iter().flat_map(|text| wrapped(text, width.saturating_sub(4)));
    let below = below.map(|text| Line::styled(format!("    {text}"), ink));
    std::iter::once(Line::styled(told, style)).chain(below).collect()
}

pub fn waiting(session: &Session, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let mut lines = vec![
        Line::styled("Scan the box before its seal is broken.", theme::STRONG),
        Line::styled(
            format!(
                "{} types its label, {} types what the box says if no label can be read.",
                session.key(TYPE_LABEL),
                session.key(TYPE_BOX)
            ),
            theme::QUIET,
        ),
        Line::raw(""),
    ];
    for call in session.world.waiting() {
        lines.push(Line::raw(format!("call {} waits for {}", call.number, call.words())));
    }
    let at_hand = session.world.at_hand();
    if !at_hand.is_empty() {
        lines.push(Line::raw(""));
        lines.push(Line::styled("At hand, unopened:", theme::TITLE));
    }
    let mut first = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    for (index, item) in at_hand.iter().enumerate() {
        let here = index == session.findings.at_hand;
        let told = at_hand_lines(session, item, here, area.width);
        let tall = u16::try_from(told.len()).unwrap_or(u16::MAX);
        for row in 0..tall {
            hits.add_rows(area, first + row, std::iter::once(Spot::Row(index)));
        }
        first = first.saturating_add(tall);
        lines.extend(told);
    }
    put_lines(buffer, area, lines);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(on_box: &str, called: &str) -> readback::LabelLine {
        readback::LabelLine {
            field: LabelField::Product,
            called: Some(called.into()),
            on_box: Some(on_box.into()),
            same: Some(false),
        }
    }

    #[test]
    fn a_field_that_differs_is_never_cut() {
        let long = "any drug-eluting stent of the longest name there is";
        for (on_box, called) in [("Fell", "Skerry"), ("Fell, drug-eluting stent", "Brae"), ("Brae", long)] {
            let line = line(on_box, called);
            let lines = Table::of(std::slice::from_ref(&line), 78).field(&line);
            let told: String = lines.iter().map(|line| format!("{line} ")).collect();
            let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(lines.iter().all(|line| line.width() <= 78), "{told}");
            for words in ["DIFFERS", "product", on_box, called] {
                assert!(told.contains(words), "{words}: {told}");
            }
        }
    }
}

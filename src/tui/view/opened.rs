//! Opened: every box of the case, the one under the cursor in full.

use super::{Hits, clock, columns, first_shown, padded, put, put_lines, rows, theme, wrapped};
use crate::case::{Item, label_words};
use crate::tui::keys::Action;
use crate::tui::state::{Spot, State};
use crate::units::plain;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Rows of the pane that shows one box in full.
const DETAIL: u16 = 11;

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let opened = state.world.opened();
    if opened.is_empty() {
        put(buffer, area, 0, 1, "No box has been opened in this case.", theme::STRONG);
        return;
    }
    let up = state.clocks();
    let high = if up.is_empty() { DETAIL } else { DETAIL.max(area.height / 2) };
    let room = usize::from(area.height.saturating_sub(high + 1));
    put(
        buffer,
        area,
        0,
        0,
        "time   size          product      lot        lesion  inflations  fate",
        theme::TITLE,
    );
    let first = first_shown(state.opened.shown, opened.len(), room);
    let lines = opened.iter().enumerate().skip(first).take(room).map(|(index, item)| {
        let here = index == state.opened.shown;
        let style = if here { theme::CURSOR } else { theme::PLAIN };
        let not = if state.is_unsaved(item.seq) { " · NOT SAVED" } else { "" };
        Line::styled(format!("{}{not}", row(item)), style)
    });
    let list = rows(area, 1, area.height.saturating_sub(high + 1));
    hits.add_rows(list, 0, (first..opened.len()).map(Spot::Row));
    put_lines(buffer, list, lines);
    if let Some(item) = opened.get(state.opened.shown) {
        let pane = rows(area, area.height.saturating_sub(high), high);
        let clock = if up.is_empty() { 0 } else { pane.width * 2 / 5 };
        detail(state, item, columns(pane, 0, pane.width - clock), buffer);
        clock::draw(&up, columns(pane, pane.width - clock + 1, clock), buffer);
    }
}

fn row(item: &Item) -> String {
    let time = item.opened_at.map_or("     ".into(), |at| at.format("%H:%M").to_string());
    let size = match (item.label.diameter, item.label.length) {
        (Some(diameter), Some(length)) => format!("{diameter} × {length}"),
        _ => item.label.reference.clone().unwrap_or_default(),
    };
    let lesions: Vec<String> = item.lesions.iter().map(u8::to_string).collect();
    let inflations = match item.inflations.last() {
        Some(last) => format!("{} to {} atm", item.inflations.len(), plain(last.inflation.at_atm.atm())),
        None => "–".into(),
    };
    format!(
        "{time}  {} {} {} {:<7} {inflations:<11} {}",
        padded(&size, 13),
        padded(&item.label.name, 12),
        padded(item.label.lot.as_deref().unwrap_or("–"), 10),
        lesions.join(","),
        item.fate_in_words(),
    )
}

fn detail(state: &State, item: &Item, area: Rect, buffer: &mut Buffer) {
    let label = &item.label;
    let or_none = |text: Option<&String>| text.cloned().unwrap_or_else(|| "–".into());
    let use_by = label.use_by.map_or("–".into(), |day| day.to_string());
    let mut lines = vec![
        Line::styled(format!("Box {}: {}", item.number, label_words(label)), theme::TITLE),
        Line::raw(format!(
            "REF {}  LOT {}  SN {}  use by {use_by}",
            or_none(label.reference.as_ref()),
            or_none(label.lot.as_ref()),
            or_none(label.serial.as_ref())
        )),
    ];
    let asked = match item.call.and_then(|number| state.world.case.as_ref()?.call(number)) {
        Some(call) => format!("asked for as call {}: {}", call.number, call.words()),
        None => "opened without a call".into(),
    };
    lines.push(Line::from(vec![
        Span::raw(asked),
        Span::styled(format!(" · read back: {}", item.finding), theme::QUIET),
    ]));
    if let Some(reason) = &item.reason {
        lines.push(Line::styled(format!("went on because: {reason}"), theme::HEED));
    }
    let laid = state.world.case.as_ref().map(|case| case.laid()).unwrap_or_default();
    for laid in laid.iter().filter(|laid| laid.stents.iter().any(|stent| stent.number == item.number)) {
        lines.push(Line::raw(format!("as placed, lesion {}: {}", laid.lesion, laid.words())));
    }
    if let Some(seconds) = item.pressure_open {
        let words = format!(
            "balloon was up for {seconds} s; {} writes its pressure",
            state.key(Action::OpenedInflate)
        );
        lines.push(Line::styled(words, theme::HEED));
    }
    if let Some(expansion) = state.expansion_shown() {
        for criterion in expansion.criteria.iter().filter(|criterion| criterion.bound.is_some()) {
            lines.push(Line::raw(criterion.in_words()));
        }
    }
    if let Some(words) = state.pressures_shown() {
        lines.extend(wrapped(&words, area.width).into_iter().map(|text| Line::styled(text, theme::QUIET)));
    }
    for inflated in item.inflations.iter().rev().take(3) {
        let inflation = &inflated.inflation;
        let seconds = inflation.seconds.map_or(String::new(), |seconds| format!(" for {seconds} s"));
        let chart =
            inflation.chart_mm.map_or(String::new(), |mm| format!(" · chart diameter {mm}, in water"));
        let past = if inflation.is_past_rated_burst() { " · PAST RATED BURST" } else { "" };
        let at = inflated.at.format("%H:%M");
        let not = if state.is_unsaved(inflated.seq) { " · NOT SAVED" } else { "" };
        let atm = inflation.at_atm;
        lines.push(Line::raw(format!("{at} balloon up to {atm} atm{seconds}{chart}{past}{not}")));
    }
    put_lines(buffer, area, lines);
}

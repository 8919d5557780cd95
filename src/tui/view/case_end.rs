//! Case end: what is left to do first; then the totals, what goes back to the cupboard, the case drawn and told.

use crate::case::{Cost, Totals, unused_words};
use crate::report::{self, Section};
use crate::tui::keys::{ACCEPT, DOWN};
use crate::tui::paint::{columns, put_scrolled, theme, wrapped};
use crate::tui::state::{State, case_end};
use crate::units::plain;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let lines = lines(state, area.width);
    put_scrolled(buffer, area, lines, state.end.scroll, &state.key(DOWN));
}

/// The last line that scrolling reaches stands at the bottom: further down there is nothing.
fn lines(state: &State, width: u16) -> Vec<Line<'static>> {
    let Some(case) = &state.world.case else {
        return vec![Line::styled("No case is open.", theme::STRONG)];
    };
    let mut lines = Vec::new();
    let unsettled = case.unsettled();
    match (&case.signed, unsettled.len()) {
        (Some(signed), left) => {
            let by = match (&signed.why, signed.unsettled) {
                (_, 0) => "signed off".to_string(),
                (Some(why), count) => format!("signed with {count} unsettled: {why}"),
                (None, count) => format!("signed with {count} unsettled"),
            };
            let left = if left == 0 { String::new() } else { format!("; {left} still to settle") };
            told(&mut lines, &format!("Case {} {by}{left}", case.code), width, theme::GOOD);
        }
        (None, 0) => {
            let key = if state.signs_at_once() { ACCEPT } else { case_end::SIGN_OFF };
            lines.push(Line::from(vec![
                Span::styled("Everything is settled. ", theme::GOOD),
                Span::styled(state.key(key), theme::KEY),
                Span::raw(" signs off."),
            ]));
        }
        (None, count) => lines.push(Line::styled(format!("{count} to settle first:"), theme::HEED)),
    }
    for thing in &unsettled {
        told(&mut lines, &format!("  {}", thing.words()), width, theme::HEED);
    }
    if let Some(place) = state.record_place() {
        let words = format!("Its record: {place}; beside it as .csv, .json and .fhir.json");
        told(&mut lines, &words, width, theme::PLAIN);
    }
    totals(state, width, &mut lines);
    cupboard(state, width, &mut lines);
    let mut parts = report::told(case, &state.world.policy.currency, usize::from(width).saturating_sub(2));
    // The time line tells the story line by line.
    for (text, line) in parts.time_line.lines.iter_mut().zip(&case.story) {
        if state.is_unsaved(line.seq) {
            text.insert_str(0, "NOT SAVED ");
        }
    }
    for part in [parts.wasted, parts.drawn].into_iter().chain(parts.lesions).chain([parts.time_line]) {
        section(&part, width, &mut lines);
    }
    lines
}

fn totals(state: &State, width: u16, lines: &mut Vec<Line<'static>>) {
    let Some(case) = &state.world.case else { return };
    let totals = case.totals();
    lines.push(Line::raw(""));
    lines.push(Line::styled(totals.words(), theme::STRONG));
    let currency = &state.world.policy.currency;
    let cost = match case.cost() {
        cost if totals.opened > cost.unpriced => format!(" · opened in all {}", money(&cost, currency)),
        _ => String::new(),
    };
    lines.push(Line::raw(format!("put back unopened {}{cost}", totals.put_back)));
    if totals.unused_in_all() > 0 {
        let words = format!("opened, not used: {} · cost {}", why(&totals), money(&case.waste(), currency));
        told(lines, &words, width, theme::PLAIN);
    }
    let products = case.totals_by_product();
    for (name, totals) in products.iter().filter(|(_, totals)| totals.opened > 0 && products.len() > 1) {
        let parts = [
            ("implanted", totals.implanted),
            ("used", totals.used),
            ("not used", totals.unused_in_all()),
            ("lost", totals.lost),
            ("not found", totals.not_found),
            ("open", totals.unsettled),
        ];
        let parts: Vec<String> = parts
            .iter()
            .filter(|(_, count)| *count > 0)
            .map(|(part, count)| format!("{part} {count}"))
            .collect();
        let why = if totals.unused.is_empty() { String::new() } else { format!(" ({})", why(totals)) };
        told(
            lines,
            &format!("  {name}: opened {} = {}{why}", totals.opened, parts.join(" + ")),
            width,
            theme::PLAIN,
        );
    }
}

fn why(totals: &Totals) -> String {
    let why = totals.unused.iter().map(|(why, count)| format!("{} {count}", unused_words(*why)));
    why.collect::<Vec<_>>().join(", ")
}

fn money(cost: &Cost, currency: &str) -> String {
    let unpriced =
        if cost.unpriced > 0 { format!(" and {} without a price", cost.unpriced) } else { String::new() };
    format!("{} {currency}{unpriced}", plain(cost.cost))
}

fn cupboard(state: &State, width: u16, lines: &mut Vec<Line<'static>>) {
    if let Some(why) = state.world.shelf.unread() {
        lines.push(Line::raw(""));
        lines.push(Line::styled(format!("{why}: what goes back to the cupboard is told then"), theme::HEED));
        return;
    }
    let lists = state.cupboard_lists();
    for (title, list) in [
        ("Refill, in cupboard order", lists.refill),
        ("Consigned, used", lists.consigned),
        ("To return", lists.to_return),
    ] {
        section(&Section { title: title.into(), lines: list, drawn: false }, width, lines);
    }
}

/// Left out where there is nothing to say.
fn section(section: &Section, width: u16, lines: &mut Vec<Line<'static>>) {
    if section.lines.is_empty() {
        return;
    }
    lines.push(Line::raw(""));
    lines.push(Line::styled(section.title.clone(), theme::TITLE));
    for line in &section.lines {
        let style = if line.ends_with("[STRUCK OUT]") { theme::QUIET } else { theme::PLAIN };
        if section.drawn && Span::raw(line).width() + 2 <= usize::from(width) {
            lines.push(Line::styled(format!("  {line}"), style));
        } else {
            told(lines, &format!("  {line}"), width, style);
        }
    }
}

/// Broken at spaces; what follows stands two columns further in.
fn told(lines: &mut Vec<Line<'static>>, text: &str, width: u16, style: Style) {
    let inset = text.len() - text.trim_start().len();
    for (row, part) in wrapped(text, width.saturating_sub(inset as u16 + 2)).into_iter().enumerate() {
        let inset = if row == 0 { inset } else { inset + 2 };
        lines.push(Line::styled(format!("{}{part}", " ".repeat(inset)), style));
    }
}

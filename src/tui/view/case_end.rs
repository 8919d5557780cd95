//! Case end: what is left to do first; then the totals, what goes back to the cupboard, and the case's story.

use super::{columns, put_lines, theme, wrapped};
use crate::case::unused_words;
use crate::tui::keys::Action;
use crate::tui::state::State;
use crate::units::plain;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer) {
    let area = columns(area, 1, area.width.saturating_sub(2));
    let lines = lines(state, area.width);
    let most = lines.len().saturating_sub(usize::from(area.height));
    put_lines(buffer, area, lines.into_iter().skip(state.end_scroll.min(most)));
}

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
            lines.push(Line::styled(format!("Case {} {by}{left}", case.code), theme::GOOD));
        }
        (None, 0) => lines.push(Line::from(vec![
            Span::styled("Everything is settled. ", theme::GOOD),
            Span::styled(state.key(Action::SignOff), theme::KEY),
            Span::raw(" signs off."),
        ])),
        (None, count) => lines.push(Line::styled(format!("{count} to settle first:"), theme::HEED)),
    }
    lines.extend(unsettled.iter().map(|thing| Line::styled(format!("  {}", thing.words()), theme::HEED)));
    if let Some(place) = &state.record_place {
        lines.push(Line::raw(format!("The record is in {place}")));
    }
    totals(state, &mut lines);
    cupboard(state, &mut lines);
    lines.push(Line::raw(""));
    lines.push(Line::styled("The case", theme::TITLE));
    for line in &case.story {
        let struck = if line.struck { " (struck out)" } else { "" };
        let not = if state.is_unsaved(line.seq) { "NOT SAVED " } else { "" };
        let style = if line.struck { theme::QUIET } else { theme::PLAIN };
        told(&mut lines, &format!("{} {not}{}{struck}", line.at.format("%H:%M"), line.words), width, style);
    }
    lines
}

fn totals(state: &State, lines: &mut Vec<Line<'static>>) {
    let Some(case) = &state.world.case else { return };
    let totals = case.totals();
    let words = format!(
        "opened {} = implanted {} + used {} + not used {} + lost {} + not found {} + open {}",
        totals.opened,
        totals.implanted,
        totals.used,
        totals.unused_in_all(),
        totals.lost,
        totals.not_found,
        totals.unsettled
    );
    lines.push(Line::raw(""));
    lines.push(Line::styled(words, theme::STRONG));
    lines.push(Line::raw(format!("put back unopened {}", totals.put_back)));
    if totals.unused_in_all() > 0 {
        let why: Vec<String> =
            totals.unused.iter().map(|(why, count)| format!("{} {count}", unused_words(*why))).collect();
        let waste = case.waste();
        let unpriced = if waste.unpriced > 0 {
            format!(" and {} without a price", waste.unpriced)
        } else {
            String::new()
        };
        let cost = format!("{} {}{unpriced}", plain(waste.cost), state.world.policy.currency);
        lines.push(Line::raw(format!("opened, not used: {} · cost {cost}", why.join(", "))));
    }
}

fn cupboard(state: &State, lines: &mut Vec<Line<'static>>) {
    let lists = state.cupboard_lists();
    for (title, list) in [
        ("Refill, in cupboard order", lists.refill),
        ("Consigned, used", lists.consigned),
        ("To return", lists.to_return),
    ] {
        if !list.is_empty() {
            lines.push(Line::raw(""));
            lines.push(Line::styled(title, theme::TITLE));
            lines.extend(list.into_iter().map(|text| Line::raw(format!("  {text}"))));
        }
    }
}

fn told(lines: &mut Vec<Line<'static>>, text: &str, width: u16, style: Style) {
    lines.extend(wrapped(text, width).into_iter().map(|text| Line::styled(text, style)));
}

//! A case drawn on a time axis: calls, openings, inflations and overlaps (of the proximal box), each by the number of
//! its call or box.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "columns of a line"
)]

use crate::case::{Case, ItemState};
use chrono::{DateTime, FixedOffset, TimeDelta};

const HEAD: usize = 11;

/// Rows and axis, at most `width` columns wide (40 at least). Where two marks would be on each other the later
/// one moves to the right; one that finds no room any more is reported by `+` at the end of its row.
pub(super) fn timeline(case: &Case, width: usize) -> Vec<String> {
    let room = width.max(40) - HEAD;
    let calls = case.calls.iter().map(|call| (call.at, call.number));
    let opened = case.items.iter().filter_map(|item| Some((item.opened_at?, item.number)));
    let inflated = case
        .items
        .iter()
        .flat_map(|item| item.inflations.iter().map(move |inflated| (inflated.at, item.number)));
    let overlaps = case.overlaps.iter().map(|kept| (kept.at, kept.overlap.proximal));
    let back = case.items.iter().filter(|item| item.state == ItemState::PutBack);
    let told = |seq: u64| case.story.iter().find(|line| line.seq == seq).map(|line| line.at);
    let back = back.filter_map(|item| Some((told(item.seq)?, item.number)));
    let rows: [(&str, Vec<Mark>); 5] = [
        ("calls", calls.collect()),
        ("opened", opened.collect()),
        ("inflated", inflated.collect()),
        ("overlap", overlaps.collect()),
        ("put back", back.collect()),
    ];
    let moments = || rows.iter().flat_map(|(_, marks)| marks.iter().map(|(at, _)| *at));
    // A box may have been opened before anybody wrote that the case began, and the clock may have been set back.
    let first = moments().chain([case.begun]).min().unwrap_or(case.begun);
    let last = moments().chain(case.signed.iter().map(|signed| signed.at)).max().unwrap_or(first);
    let axis = Axis { first, span: (last - first).max(TimeDelta::minutes(1)), room };
    let mut lines: Vec<String> = rows
        .iter()
        .filter(|(_, marks)| !marks.is_empty())
        .map(|(name, marks)| format!("{name:<HEAD$}{}", axis.row(marks)))
        .collect();
    lines.push(axis.line());
    lines.push(axis.times());
    lines.iter().map(|line| line.trim_end().to_string()).collect()
}

/// When, and the number of the call or box.
type Mark = (DateTime<FixedOffset>, u32);

struct Axis {
    first: DateTime<FixedOffset>,
    span: TimeDelta,
    /// Columns.
    room: usize,
}

impl Axis {
    fn column(&self, at: DateTime<FixedOffset>) -> usize {
        let part = (at - self.first).num_milliseconds() as f64 / self.span.num_milliseconds() as f64;
        ((self.room - 1) as f64 * part.clamp(0.0, 1.0)).round() as usize
    }

    fn row(&self, marks: &[Mark]) -> String {
        let mut marks = marks.to_vec();
        marks.sort();
        let mut row = String::new();
        let mut used = 0;
        for (at, number) in marks {
            let number = number.to_string();
            // A blank between two marks, or 1 and 2 would be read as 12.
            let column = self.column(at).max(if used == 0 { 0 } else { used + 1 });
            if column + number.len() > self.room {
                // The last one of all is at the end of the axis, moved left where there is room for it.
                let left = self.room - number.len().min(self.room);
                if left < used + usize::from(used > 0) {
                    row.push('+');
                    break;
                }
                row.push_str(&" ".repeat(left - used));
                row.push_str(&number);
                used = self.room;
                continue;
            }
            row.push_str(&" ".repeat(column - used));
            row.push_str(&number);
            used = column + number.len();
        }
        row
    }

    fn line(&self) -> String {
        let ticks: Vec<usize> = self.ticks().map(|(column, _)| column).collect();
        let line: String = (0..self.room).map(|at| if ticks.contains(&at) { '|' } else { '-' }).collect();
        format!("{:<HEAD$}{line}", "")
    }

    fn times(&self) -> String {
        // Of a short case the minutes alone would all be the same.
        let form = if self.span < TimeDelta::minutes(10) { "%H:%M:%S" } else { "%H:%M" };
        let mut line = String::new();
        for (column, at) in self.ticks() {
            let time = at.format(form).to_string();
            let column = column.min(self.room - time.len());
            line.push_str(&" ".repeat(column.saturating_sub(line.len())));
            line.push_str(&time);
        }
        format!("{:<HEAD$}{line}", "")
    }

    /// The two ends and what is between them, about 15 columns apart.
    fn ticks(&self) -> impl Iterator<Item = (usize, DateTime<FixedOffset>)> {
        let parts = (self.room / 15).max(1) as i32;
        (0..=parts).map(move |part| {
            let at = self.first + self.span * part / parts;
            (self.column(at), at)
        })
    }
}

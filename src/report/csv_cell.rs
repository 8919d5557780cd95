//! One cell of a table that is handed over: numbers, days and moments; texts are written as `intake::spreadsheet` says.

pub(super) use crate::intake::spreadsheet::text;

use chrono::{DateTime, FixedOffset, NaiveDate};

/// A number, not rounded; empty where there is none.
pub(super) fn number(number: Option<f64>) -> String {
    number.map(|number| number.to_string()).unwrap_or_default()
}

/// A day as every spreadsheet reads it, `2026-11-25`.
pub(super) fn day(day: Option<NaiveDate>) -> String {
    day.map(|day| day.to_string()).unwrap_or_default()
}

/// A moment as every spreadsheet reads it, `2026-11-25 13:05:00`: an offset behind it would make it a text, so all
/// are in the one offset that the table names.
pub(super) fn moment(at: Option<DateTime<FixedOffset>>, offset: FixedOffset) -> String {
    at.map(|at| at.with_timezone(&offset).format("%Y-%m-%d %H:%M:%S").to_string()).unwrap_or_default()
}

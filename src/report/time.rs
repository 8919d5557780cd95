//! Times as people read them: to the minute, in the offset in which the case began, which is said once. A time in any
//! other offset says its own, or a record of the night on which clocks are set back could be read in two ways.

use chrono::{DateTime, FixedOffset};

/// `2026-11-25 13:05 +01:00`.
pub(super) fn with_offset(at: DateTime<FixedOffset>) -> String {
    at.format("%Y-%m-%d %H:%M %:z").to_string()
}

/// `2026-11-25 13:05`; with its offset where the case began in another.
pub(super) fn moment(at: DateTime<FixedOffset>, begun: DateTime<FixedOffset>) -> String {
    written(at, begun, "%Y-%m-%d %H:%M")
}

/// The time of day in this form; the date too where it is not the day on which the case began.
pub(super) fn clock(at: DateTime<FixedOffset>, begun: DateTime<FixedOffset>, form: &str) -> String {
    let day = if at.date_naive() == begun.date_naive() { "" } else { "%Y-%m-%d " };
    written(at, begun, &format!("{day}{form}"))
}

fn written(at: DateTime<FixedOffset>, begun: DateTime<FixedOffset>, form: &str) -> String {
    let offset = if at.offset() == begun.offset() { "" } else { " %:z" };
    at.format(&format!("{form}{offset}")).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The night of 25 October 2026 in central Europe: half past two comes twice (@summer-time).
    #[test]
    fn an_hour_that_comes_twice_can_be_told_apart() {
        let at = |text: &str| DateTime::parse_from_rfc3339(text).unwrap();
        let begun = at("2026-10-25T02:10:00+02:00");
        let (first, second) = (at("2026-10-25T02:30:00+02:00"), at("2026-10-25T02:30:00+01:00"));
        assert_eq!(clock(first, begun, "%H:%M"), "02:30");
        assert_eq!(clock(second, begun, "%H:%M"), "02:30 +01:00");
        assert_eq!(moment(second, begun), "2026-10-25 02:30 +01:00");
        assert_eq!(clock(at("2026-10-26T00:05:00+02:00"), begun, "%H:%M"), "2026-10-26 00:05");
        assert_eq!(with_offset(begun), "2026-10-25 02:10 +02:00");
    }
}

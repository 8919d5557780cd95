//! Two-digit years and the dates that labels write.
//!
//! Invariant: knows no clock; the year of the reader comes in.

#![allow(clippy::cast_possible_wrap, reason = "at most eight digits")]

use chrono::{Datelike, NaiveDate};

/// The full year of a two-digit one, read in `now`: from 49 years back to 50 ahead.
/// Source: @gs1-century. HIBC shows no rule of its own; the same one is used.
pub(super) fn full_year(yy: i32, now: i32) -> i32 {
    let century = now.div_euclid(100) * 100;
    match yy - now.rem_euclid(100) {
        51..=99 => century - 100 + yy,
        -99..=-50 => century + 100 + yy,
        _ => century + yy,
    }
}

/// The last day of a month; `None` if there is no such month.
fn last_of_month(year: i32, month: u32) -> Option<NaiveDate> {
    let first = NaiveDate::from_ymd_opt(year, month, 1)?;
    let next = if month == 12 {
        NaiveDate::from_ymd_opt(year.checked_add(1)?, 1, 1)?
    } else {
        first.with_month(month + 1)?
    };
    next.pred_opt()
}

fn digits(text: &str) -> Option<u32> {
    if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    text.parse().ok()
}

/// YYMMDD. Day 00 is the last day of the month where `day_00` allows it.
pub(super) fn yymmdd(text: &str, now: i32, day_00: bool) -> Option<NaiveDate> {
    let all = digits(text).filter(|_| text.len() == 6)?;
    let year = full_year((all / 10_000) as i32, now);
    let (month, day) = (all / 100 % 100, all % 100);
    if day == 0 && day_00 { last_of_month(year, month) } else { NaiveDate::from_ymd_opt(year, month, day) }
}

/// MMDDYY, the American order of HIBC's format 2.
pub(super) fn mmddyy(text: &str, now: i32) -> Option<NaiveDate> {
    let all = digits(text).filter(|_| text.len() == 6)?;
    NaiveDate::from_ymd_opt(full_year((all % 100) as i32, now), all / 10_000, all / 100 % 100)
}

/// MMYY: a month, so its last day.
pub(super) fn mmyy(text: &str, now: i32) -> Option<NaiveDate> {
    let all = digits(text).filter(|_| text.len() == 4)?;
    last_of_month(full_year((all % 100) as i32, now), all / 100)
}

/// YYJJJ: the day of the year, 366 only in leap years.
pub(super) fn yyjjj(text: &str, now: i32) -> Option<NaiveDate> {
    let all = digits(text).filter(|_| text.len() == 5)?;
    NaiveDate::from_yo_opt(full_year((all / 1000) as i32, now), all % 1000)
}

/// cYYJJJ of ISBT 128: the first digit is the third of the year, 0 for 20YY and 9 for 19YY.
pub(super) fn cyyjjj(text: &str) -> Option<NaiveDate> {
    let all = digits(text).filter(|_| text.len() == 6)?;
    let century = match all / 100_000 {
        0 => 2000,
        9 => 1900,
        _ => return None,
    };
    NaiveDate::from_yo_opt(century + (all / 1000 % 100) as i32, all % 1000)
}

/// YYYYMMDD.
pub(super) fn yyyymmdd(text: &str) -> Option<NaiveDate> {
    let all = digits(text).filter(|_| text.len() == 8)?;
    NaiveDate::from_ymd_opt((all / 10_000) as i32, all / 100 % 100, all % 100).filter(|date| date.year() > 0)
}

/// Hour, and minutes and seconds where they are given (HH, HHMM, HHMMSS).
pub(super) fn is_time(text: &str) -> bool {
    let below = |part: Option<&str>, limit| part.and_then(digits).is_some_and(|value| value < limit);
    match text.len() {
        2 => below(Some(text), 24),
        4 => below(text.get(..2), 24) && below(text.get(2..), 60),
        6 => below(text.get(..2), 24) && below(text.get(2..4), 60) && below(text.get(4..), 60),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn iso(date: Option<NaiveDate>) -> String {
        date.map(|d| d.to_string()).unwrap_or_default()
    }

    #[test]
    fn the_century_window_moves_each_january() {
        // @gs1-century.
        for (yy, now, year) in [
            (76, 2026, 2076),
            (77, 2026, 1977),
            (0, 2026, 2000),
            (99, 2026, 1999),
            (77, 2027, 2077),
            (78, 2027, 1978),
            (3, 2053, 2103),
            (4, 2053, 2004),
            (0, 2099, 2100),
        ] {
            assert_eq!(full_year(yy, now), year, "{yy} read in {now}");
        }
    }

    #[test]
    fn day_00_is_the_last_of_its_own_month() {
        // @gs1-syntax-dictionary, linter yymmd0.
        for (text, date) in [
            ("280200", "2028-02-29"),
            ("270200", "2027-02-28"),
            ("000200", "2000-02-29"),
            ("271200", "2027-12-31"),
            ("270400", "2027-04-30"),
            ("271300", ""),
            ("270000", ""),
            ("000000", ""),
            ("270230", ""),
            ("270229", ""),
        ] {
            assert_eq!(iso(yymmdd(text, 2026, true)), date, "{text}");
        }
        // Linter yymmdd of AI 7003: no day 00.
        assert_eq!(yymmdd("270200", 2026, false), None);
    }

    #[test]
    fn forms_of_hibc_and_isbt() {
        // @hibc-structures, @imdrf-udi-guide: 014032 is 1 February 2014.
        assert_eq!(iso(mmddyy("022827", 2026)), "2027-02-28");
        assert_eq!(iso(mmyy("0228", 2026)), "2028-02-29");
        assert_eq!(iso(mmyy("1327", 2026)), "");
        assert_eq!(iso(yyjjj("28366", 2026)), "2028-12-31");
        assert_eq!(iso(yyjjj("27366", 2026)), "");
        assert_eq!(iso(yyjjj("27000", 2026)), "");
        assert_eq!(iso(cyyjjj("014032")), "2014-02-01");
        assert_eq!(iso(cyyjjj("999001")), "1999-01-01");
        assert_eq!(iso(cyyjjj("114032")), "");
        assert_eq!(iso(yyyymmdd("20270230")), "");
        assert!(is_time("2359") && !is_time("2400") && !is_time("24") && is_time("23"));
    }
}

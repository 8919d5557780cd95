//! The one place where a clock is read.

use chrono::{DateTime, FixedOffset, Local, NaiveDate, SubsecRound};

/// The time of this machine, with its offset from UTC, to the millisecond.
pub fn now() -> DateTime<FixedOffset> {
    Local::now().fixed_offset().trunc_subsecs(3)
}

/// The day of this machine.
pub fn today() -> NaiveDate {
    now().date_naive()
}

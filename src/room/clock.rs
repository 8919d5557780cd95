//! The one place where a clock is read.

use super::Fault;
use chrono::{DateTime, FixedOffset, Local, NaiveDate, SubsecRound};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// From the beginning of 1970 to the end of 2100, in UTC: outside of that nothing is reckoned with the clock.
const BELIEVED: Duration = Duration::from_secs(4_133_980_799);

/// The time of this machine, with its offset from UTC, to the millisecond; the nearest that is believed where
/// [`check`] would refuse it.
pub fn now() -> DateTime<FixedOffset> {
    of(SystemTime::now())
}

fn of(time: SystemTime) -> DateTime<FixedOffset> {
    let time = time.clamp(UNIX_EPOCH, UNIX_EPOCH + BELIEVED);
    DateTime::<Local>::from(time).fixed_offset().trunc_subsecs(3)
}

/// The day of this machine.
pub fn today() -> NaiveDate {
    now().date_naive()
}

/// Whether the computer's clock can be reckoned with.
///
/// # Errors
/// It is before 1970 or after 2100.
pub fn check() -> Result<(), Fault> {
    check_of(SystemTime::now())
}

fn check_of(time: SystemTime) -> Result<(), Fault> {
    let when = match time.duration_since(UNIX_EPOCH) {
        Err(_) => "before 1970",
        Ok(since) if since > BELIEVED => "after 2100",
        Ok(_) => return Ok(()),
    };
    let message = format!("the computer's clock stands {when}: set it, then try again. Nothing was done");
    Err(Fault::could_not("clock", message))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_before_1970_or_after_2100_is_refused_and_never_a_panic() {
        let (second, end) = (Duration::from_secs(1), UNIX_EPOCH + BELIEVED);
        for good in [UNIX_EPOCH, UNIX_EPOCH + second, end] {
            assert!(check_of(good).is_ok());
            assert_eq!(of(good), DateTime::<chrono::Utc>::from(good));
        }
        assert_eq!(DateTime::<chrono::Utc>::from(end).to_rfc3339(), "2100-12-31T23:59:59+00:00");
        for (bad, when) in [(UNIX_EPOCH - second, "before 1970"), (end + second, "after 2100")] {
            let fault = check_of(bad).unwrap_err();
            assert_eq!(fault.code(), "clock");
            assert!(fault.message().contains(when), "{}", fault.message());
        }
        assert_eq!(of(UNIX_EPOCH - Duration::from_secs(1 << 33)), DateTime::<chrono::Utc>::from(UNIX_EPOCH));
    }
}

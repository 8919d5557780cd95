//! When a loop looks at its room again: when something has stirred there, and else as the clock that it shows needs
//! it. A screen that is left alone then costs nothing.

use crate::room::{Stir, Stirrings};
use chrono::{DateTime, FixedOffset};
use std::time::{Duration, Instant};

/// While a balloon is up, so that no second of its clock is seen to be skipped; and while keys rest.
const SOON: Duration = Duration::from_millis(100);
/// For how long it is looked often after the journal has stirred: what is written is there to be read only when the
/// disk has it for certain.
const STIRRED: Duration = Duration::from_secs(1);
/// How often that is. Asking whether something was written costs a few microseconds.
const OFTEN: Duration = Duration::from_millis(20);

/// What a loop of screens waits for.
pub(super) struct Pace {
    /// None where the system doesn't tell what stirs.
    stirrings: Option<Stirrings>,
    often_until: Instant,
    next: Instant,
}

impl Pace {
    pub(super) fn new(stirrings: Option<Stirrings>) -> Self {
        let now = Instant::now();
        Pace { stirrings, often_until: now, next: now }
    }

    /// Another folder is listened to.
    pub(super) fn listen(&mut self, stirrings: Option<Stirrings>) {
        self.stirrings = stirrings;
    }

    /// When it is to be looked again.
    pub(super) const fn next(&self) -> Instant {
        self.next
    }

    pub(super) fn stirred(&mut self, stir: Stir, at: Instant) {
        if stir == Stir::Journal {
            self.often_until = at + STIRRED;
        }
        self.next = at;
    }

    /// Whether it is time to look.
    pub(super) fn is_due(&self, at: Instant) -> bool {
        at >= self.next
    }

    /// It was looked: says when next. `shown` is the clock of the screen, which is to move with each whole second.
    /// `soon`: a balloon is up, or keys rest that will soon do so no more.
    pub(super) fn looked(&mut self, at: Instant, shown: DateTime<FixedOffset>, soon: bool) {
        let wait = if self.stirrings.is_none() || at < self.often_until {
            OFTEN
        } else if soon {
            SOON
        } else {
            Duration::from_millis(1000 - u64::from(shown.timestamp_subsec_millis().min(999)))
        };
        self.next = at + wait;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_looked_often_only_while_something_stirs() {
        let room = tempfile::tempdir().unwrap();
        let stirrings = Stirrings::of(room.path(), false, |_| ());
        assert!(stirrings.is_some(), "this system tells");
        let mut pace = Pace::new(stirrings);
        let start = Instant::now() + STIRRED;
        let shown = DateTime::parse_from_rfc3339("2026-11-25T10:00:00.250+01:00").unwrap();
        pace.looked(start, shown, false);
        assert_eq!(pace.next() - start, Duration::from_millis(750), "the next whole second");
        pace.looked(start, shown, true);
        assert_eq!(pace.next() - start, SOON);
        pace.stirred(Stir::Other, start);
        assert!(pace.is_due(start), "looked at once");
        pace.looked(start, shown, false);
        assert!(pace.next() - start > OFTEN, "and once");
        pace.stirred(Stir::Journal, start);
        pace.looked(start, shown, false);
        assert_eq!(pace.next() - start, OFTEN, "till the disk has it");
        pace.looked(start + STIRRED, shown, false);
        assert!(pace.next() - start > STIRRED + OFTEN);
    }

    #[test]
    fn where_nothing_is_told_it_is_asked() {
        let mut pace = Pace::new(None);
        let (start, shown) = (Instant::now(), DateTime::parse_from_rfc3339("2026-11-25T10:00:00Z").unwrap());
        pace.looked(start, shown, false);
        assert_eq!(pace.next() - start, OFTEN);
    }
}

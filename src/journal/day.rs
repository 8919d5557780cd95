//! The day that use-by dates are judged by: the computer's clock held against the journal.
//!
//! A clock that was set back would let an expired box pass, and one that ran ahead would expire every box. So no day
//! before the journal's last one is believed, and none that comes long after it, until somebody confirms it.

use super::{Entry, Fact};
use crate::units::counted;
use chrono::{Days, NaiveDate};

/// A day that comes more than so many days after the last one is asked about before it is believed. Common practice, no
/// source.
const FAR: u64 = 30;

/// The last day of a journal, folded from its entries in order.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LastDay {
    last: Option<NaiveDate>,
    /// The entries that are coming in were written by a clock that ran far ahead, and nobody has confirmed it.
    ahead: bool,
}

/// The day that dates are judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Today {
    /// The later one of the computer's day and the journal's last day.
    pub day: NaiveDate,
    /// Why the computer's day is not believed; none where it is.
    pub doubt: Option<Doubt>,
}

/// The computer's day does not go with the journal's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Doubt {
    /// By the computer's clock.
    pub clock: NaiveDate,
    /// The journal's last day.
    pub last: NaiveDate,
}

impl LastDay {
    /// The kinds of facts after which the day has to be looked at anew; between two of them it only goes on.
    pub const TURNS: [&str; 3] = ["clock-went-back", "clock-went-ahead", "date-confirmed"];

    /// Takes in the next entry.
    pub fn apply(&mut self, entry: &Entry) {
        let day = entry.at.date_naive();
        match &entry.fact {
            Fact::DateConfirmed { day, .. } => (self.last, self.ahead) = (Some(*day), false),
            Fact::ClockWentBack { .. } | Fact::ClockWentAhead { .. } => {
                self.ahead = false;
                self.go_on(day);
            }
            _ => self.go_on(day),
        }
    }

    fn go_on(&mut self, day: NaiveDate) {
        self.ahead |= self.last.is_some_and(|last| is_far(last, day));
        self.reach(day);
    }

    /// Entries without a turn among them have come up to this day.
    pub fn reach(&mut self, day: NaiveDate) {
        if !self.ahead {
            self.last = self.last.max(Some(day));
        }
    }

    /// What the computer's day comes to.
    pub fn trust(&self, clock: NaiveDate) -> Today {
        let doubt = self.last.filter(|last| clock < *last || is_far(*last, clock));
        Today {
            day: self
                .last
                .filter(|_| crate::control::holds("day-never-before-the-journals"))
                .map_or(clock, |last| last.max(clock)),
            doubt: doubt.map(|last| Doubt { clock, last }),
        }
    }
}

/// Whether a day comes so long after the last one that it is asked about.
pub fn is_far(last: NaiveDate, day: NaiveDate) -> bool {
    last.checked_add_days(Days::new(FAR)).is_some_and(|end| day > end)
}

impl From<NaiveDate> for Today {
    /// A day that is believed.
    fn from(day: NaiveDate) -> Today {
        Today { day, doubt: None }
    }
}

impl Doubt {
    /// Both days, and which of them counts.
    pub fn in_words(&self) -> String {
        let Doubt { clock, last } = self;
        let (how, day) = if clock < last {
            (format!("earlier than {last}, the last day in the journal"), last)
        } else {
            let days = (*clock - *last).num_days().unsigned_abs();
            (format!("{} after {last}, the last day in the journal", counted(days, "day")), clock)
        };
        format!("the computer says {clock}, {how}: dates are judged by {day}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::DateTime;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn entry(day: &str, fact: Fact) -> Entry {
        let at = DateTime::parse_from_rfc3339(&format!("{day}T08:00:00+01:00")).unwrap();
        Entry { seq: 1, at, command: "c".into(), case: None, fact }
    }

    fn recall(day: &str) -> Entry {
        entry(day, Fact::LotRecalled { di: None, lot: "L1".into() })
    }

    fn confirmed(at: &str) -> Entry {
        entry(at, Fact::DateConfirmed { day: day(at), why: "looked at a telephone".into() })
    }

    fn went(ahead: bool, from: &str, to: &str) -> Entry {
        let before = DateTime::parse_from_rfc3339(&format!("{from}T08:00:00+01:00")).unwrap();
        let fact = if ahead { Fact::ClockWentAhead { before } } else { Fact::ClockWentBack { before } };
        entry(to, fact)
    }

    fn after(entries: &[Entry]) -> LastDay {
        let mut last = LastDay::default();
        entries.iter().for_each(|entry| last.apply(entry));
        last
    }

    /// What is judged by, and the last day where the clock is in doubt.
    fn judged(last: &LastDay, clock: &str) -> (NaiveDate, Option<NaiveDate>) {
        let today = last.trust(day(clock));
        (today.day, today.doubt.map(|doubt| doubt.last))
    }

    #[test]
    fn a_day_is_believed_from_the_last_one_to_thirty_days_after_it() {
        let last = after(&[recall("2026-11-25")]);
        let there = Some(day("2026-11-25"));
        assert_eq!(judged(&last, "2026-11-25"), (day("2026-11-25"), None));
        assert_eq!(judged(&last, "2026-12-25"), (day("2026-12-25"), None), "thirty days");
        assert_eq!(judged(&last, "2026-12-26"), (day("2026-12-26"), there), "the later one all the same");
        assert_eq!(judged(&last, "2026-11-24"), (day("2026-11-25"), there));
        assert_eq!(judged(&last, "2000-01-01"), (day("2026-11-25"), there));
        assert_eq!(judged(&LastDay::default(), "2000-01-01"), (day("2000-01-01"), None), "an empty journal");
    }

    #[test]
    fn what_a_clock_far_ahead_wrote_is_no_last_day_until_it_is_confirmed() {
        let ahead = [recall("2026-11-25"), went(true, "2026-11-25", "2027-11-25"), recall("2027-12-20")];
        assert_eq!(
            judged(&after(&ahead), "2026-11-26"),
            (day("2026-11-26"), None),
            "the clock is right again"
        );
        let mut then = ahead.to_vec();
        then.push(confirmed("2027-12-20"));
        assert_eq!(judged(&after(&then), "2027-12-20").1, None);
        assert_eq!(judged(&after(&then), "2026-11-26").1, Some(day("2027-12-20")));
        // Set right after all: what is confirmed last counts, and nothing is expired for ever.
        then.extend([went(false, "2027-12-20", "2026-11-26"), confirmed("2026-11-26"), recall("2026-11-27")]);
        assert_eq!(judged(&after(&then), "2026-11-27"), (day("2026-11-27"), None));
    }

    #[test]
    fn a_clock_that_was_set_back_counts_only_when_it_is_confirmed() {
        let back = [recall("2026-11-25"), went(false, "2026-11-25", "2000-01-01"), recall("2000-01-01")];
        assert_eq!(judged(&after(&back), "2000-01-02"), (day("2026-11-25"), Some(day("2026-11-25"))));
        let mut then = back.to_vec();
        then.push(confirmed("2000-01-02"));
        assert_eq!(judged(&after(&then), "2000-01-02"), (day("2000-01-02"), None), "in their words");
        // It is set right without a word: from 2000 that is far ahead.
        let mut right = back.to_vec();
        right.extend([went(true, "2000-01-01", "2026-11-26"), recall("2026-11-26")]);
        assert_eq!(judged(&after(&right), "2026-11-26"), (day("2026-11-26"), None));
    }

    /// Of a long journal only the turns are read, and where the entries between them ended.
    #[test]
    fn the_turns_alone_come_to_the_same() {
        let whole = [
            recall("2026-11-25"),
            recall("2026-12-10"),
            went(true, "2026-12-10", "2027-11-25"),
            recall("2027-11-26"),
            went(false, "2027-11-26", "2026-12-11"),
            recall("2026-12-20"),
        ];
        let mut turns = LastDay::default();
        for entry in &whole {
            if let Fact::ClockWentAhead { before } | Fact::ClockWentBack { before } = &entry.fact {
                turns.reach(before.date_naive());
                turns.apply(entry);
            }
        }
        turns.reach(day("2026-12-20"));
        assert_eq!(turns, after(&whole));
    }
}

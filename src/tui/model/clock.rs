//! The balloon's clock: it is an entry, so that it runs on every screen of the room and outlives a crash.

use super::session::{Effects, Session};
use crate::case::Case;
use crate::journal::Fact;
use crate::tui::paint::Clock;
use chrono::{DateTime, FixedOffset, TimeDelta};

/// The balloons of a case that are up now, the longest first.
pub fn of(case: &Case, now: DateTime<FixedOffset>) -> Vec<Clock> {
    let up = case.balloons_up().into_iter();
    up.map(|(item, since)| Clock { seconds: (now - since).num_seconds().max(0), words: item.words() })
        .collect()
}

impl Session {
    /// Every balloon that is up, the longest first.
    pub fn clocks(&self) -> Vec<Clock> {
        let words = |item: u32| self.item(item).map(|item| item.words()).unwrap_or_default();
        let up = self.balloons_up().into_iter();
        up.map(|up| Clock { seconds: self.seconds_since(up), words: words(up.0) }).collect()
    }

    /// The boxes whose balloon is up, by number, and since when, the longest first.
    pub fn balloons_up(&self) -> Vec<(u32, DateTime<FixedOffset>)> {
        let written = self
            .world
            .case
            .as_ref()
            .filter(|_| crate::control::holds("balloon-clock-runs"))
            .map(|case| case.balloons_up())
            .unwrap_or_default();
        written.into_iter().map(|(item, since)| (item.number, since)).collect()
    }

    /// Seconds since the balloon went up that is up longest.
    pub fn balloon_seconds(&self) -> Option<i64> {
        self.balloons_up().first().map(|up| self.seconds_since(*up))
    }

    pub fn seconds_since(&self, up: (u32, DateTime<FixedOffset>)) -> i64 {
        let held = self.clocks.iter().find(|(held, _)| *held == up).map_or(TimeDelta::zero(), |(_, by)| *by);
        (self.world.now - up.1 + held).num_seconds().max(0)
    }

    pub fn is_up(&self, item: u32) -> bool {
        self.balloons_up().iter().any(|(up, _)| *up == item)
    }

    /// The balloon of this box goes up: the clock runs, on every screen.
    pub fn balloon_up(&mut self, item: u32) -> Effects {
        self.write_in_shown_case(vec![Fact::BalloonUp { item }])
    }

    /// The clock of the machine was set back by so much: what is up stays up as long as it was.
    pub fn hold_clocks(&mut self, back: TimeDelta) {
        for up in self.balloons_up() {
            match self.clocks.iter_mut().find(|(held, _)| *held == up) {
                Some((_, by)) => *by += back,
                None => self.clocks.push((up, back)),
            }
        }
    }
}

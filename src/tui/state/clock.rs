//! The balloon's clock: it is an entry, so that it runs on every screen of the room and outlives a crash.

use super::{Draft, Effect, Screen, State};
use crate::case::Case;
use crate::journal::Fact;
use chrono::{DateTime, FixedOffset};

/// A balloon that is up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clock {
    /// Whole seconds since it went up.
    pub seconds: i64,
    /// The box: `3.00 × 28 Tarn`.
    pub words: String,
}

impl Clock {
    /// Minutes and seconds: `1:05`.
    pub fn shown(&self) -> String {
        format!("{}:{:02}", self.seconds / 60, self.seconds % 60)
    }
}

/// The balloons of a case that are up now, the longest first.
pub(super) fn of(case: &Case, now: DateTime<FixedOffset>) -> Vec<Clock> {
    let up = case.balloons_up().into_iter();
    up.map(|(item, since)| Clock { seconds: (now - since).num_seconds().max(0), words: item.words() })
        .collect()
}

impl State {
    /// Every balloon that is up, the longest first.
    pub fn clocks(&self) -> Vec<Clock> {
        let words = |item: u32| self.item(item).map(|item| item.words()).unwrap_or_default();
        let up = self.balloons_up().into_iter();
        up.map(|(item, since)| Clock { seconds: self.seconds_since(since), words: words(item) }).collect()
    }

    /// The boxes whose balloon is up, by number, and since when, the longest first.
    pub fn balloons_up(&self) -> Vec<(u32, DateTime<FixedOffset>)> {
        let written = self.world.case.as_ref().map(|case| case.balloons_up()).unwrap_or_default();
        let mut up: Vec<_> = written.into_iter().map(|(item, since)| (item.number, since)).collect();
        up.extend(self.clock_here);
        up
    }

    /// Seconds since the balloon went up that is up longest.
    pub fn balloon_seconds(&self) -> Option<i64> {
        self.balloons_up().first().map(|(_, since)| self.seconds_since(*since))
    }

    fn seconds_since(&self, since: DateTime<FixedOffset>) -> i64 {
        (self.world.now - since).num_seconds().max(0)
    }

    pub(super) fn is_up(&self, item: u32) -> bool {
        self.balloons_up().iter().any(|(up, _)| *up == item)
    }

    /// The balloon of this box goes up: the clock runs, on every screen.
    pub(super) fn balloon_up(&mut self, item: u32) -> Vec<Effect> {
        self.write_in_shown_case(vec![Fact::BalloonUp { item }])
    }

    /// The disk refused it. Later it would be written with a wrong time, so it is not kept to be tried again.
    pub(super) fn clock_not_written(&mut self, draft: &Draft, why: &str) {
        let [Fact::BalloonUp { item }] = draft.facts[..] else { return };
        self.clock_here = Some((item, self.world.now));
        self.heed(format!("NOT SAVED: {why}. The balloon's clock runs on this screen alone"));
    }

    /// It comes down: that is written, and the pressure is asked, the seconds filled in.
    pub(super) fn balloon_down(&mut self, item: u32) -> Vec<Effect> {
        let Some((_, since)) = self.balloons_up().into_iter().find(|(up, _)| *up == item) else {
            return Vec::new();
        };
        let seconds = u32::try_from(self.seconds_since(since)).unwrap_or(u32::MAX);
        self.clock_here.take_if(|(up, _)| *up == item);
        self.go(Screen::Opened);
        let place = self.world.opened().iter().position(|open| open.number == item);
        self.opened_shown = place.unwrap_or(self.opened_shown);
        self.ask_pressure(item, seconds.to_string());
        self.write_in_shown_case(vec![Fact::BalloonDown { item, seconds }])
    }
}

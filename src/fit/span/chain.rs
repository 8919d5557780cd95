//! One stretch to be spanned by a chain of overlapping devices, and the rules that every chain keeps.

use super::along::{Along, SLACK, Ticks, mm};
use super::parts::Parts;
use crate::fit::Verdict;
use crate::fit::facts::{Facts, Frame};
use crate::lesion::target::ends;
use crate::units::at_most;

/// A stretch, and what a chain of devices has to do there. A place in the chain is the sum over the devices so far
/// of (length - planned overlap).
#[derive(Debug, Clone)]
pub(super) struct Chain {
    pub along: Along,
    pub frame: Frame,
    pub planned: Ticks,
    pub most: Ticks,
    /// Where the first device of the chain begins (mirrored: ends), measured along the lesion.
    pub origin: Ticks,
    /// Runs from its proximal end to the distal one: its first device is the proximal one.
    pub mirrored: bool,
    /// Overlaps of n devices beyond n - 1: one for each neighbour that is in already, counted from -1.
    pub neighbour_overlaps: i64,
    /// What the lengths less the overlaps must come to at least.
    pub need: Ticks,
    /// And at most.
    pub room: Option<Ticks>,
    pub largest_step: f64,
    /// Labelled diameters, in mm, of the devices that the first and the last of the chain join.
    pub neighbours: [Option<f64>; 2],
    /// No overlap here, along the lesion.
    pub avoid: Vec<[Ticks; 2]>,
}

impl Chain {
    /// Whether the second diameter may follow the first in the chain.
    pub fn follows(&self, first: f64, second: f64) -> bool {
        let (distal, proximal) = if self.mirrored { (second, first) } else { (first, second) };
        at_most(distal, proximal) && at_most(proximal - distal, self.largest_step)
    }

    pub fn may_begin(&self, d: f64) -> bool {
        self.neighbours[0].is_none_or(|neighbour| self.follows(neighbour, d))
    }

    pub fn may_end(&self, d: f64) -> bool {
        self.neighbours[1].is_none_or(|neighbour| self.follows(d, neighbour))
    }

    fn overlaps(&self, n: usize) -> i64 {
        n as i64 + self.neighbour_overlaps
    }

    /// The least place at which a chain of any number of devices is done.
    pub fn done_at(&self) -> Ticks {
        self.need + self.planned * self.neighbour_overlaps - SLACK
    }

    /// The farthest place at which n devices still keep the limit.
    pub fn farthest(&self, n: usize) -> Ticks {
        let room = |room| room + self.most * self.overlaps(n) - self.planned * n as i64 + SLACK;
        self.room.map_or(Ticks::MAX, room)
    }

    /// Each overlap of n devices that end at this place, in mm: planned, or as much as the limit asks for.
    pub fn overlap(&self, n: usize, place: Ticks) -> f64 {
        let covered = place - self.planned * self.neighbour_overlaps;
        match self.room {
            Some(room) if covered > room + SLACK => {
                mm(self.planned) + mm(covered - room) / self.overlaps(n) as f64
            }
            _ => mm(self.planned),
        }
    }

    /// What n devices that end at this place cover.
    pub fn covered(&self, place: Ticks) -> Ticks {
        let covered = place - self.planned * self.neighbour_overlaps;
        match self.room {
            Some(room) if covered > room + SLACK => room,
            _ => covered,
        }
    }

    /// Where a device of this length lies along the lesion, by the planned overlaps.
    pub fn interval(&self, place: Ticks, length: Ticks) -> [Ticks; 2] {
        if self.mirrored {
            [self.origin - place - length, self.origin - place]
        } else {
            [self.origin + place, self.origin + place + length]
        }
    }

    /// |D - aim| of a device that fits here, in ticks; none where it does not fit.
    pub fn judged(&self, facts: &Facts, at: [Ticks; 2]) -> Option<Ticks> {
        let [begins, ends] = at;
        let point = self.along.point(begins, ends);
        self.verdict(facts, at).is_fit().then(|| super::along::ticks((facts.diameter - point.x).abs()))
    }

    /// The verdict on a device that begins and ends at these places, its length apart.
    pub fn verdict(&self, facts: &Facts, [begins, ends]: [Ticks; 2]) -> Verdict {
        facts.class(&self.frame, self.along.point(begins, ends))
    }

    /// What the engine says of this device at this place of the chain.
    pub fn verdict_at(&self, parts: &Parts, item: u32, place: Ticks) -> Verdict {
        let item = &parts.items[item as usize];
        let [begins, ends] = self.interval(place, item.length);
        let facts = Facts::of(parts.product(item), item.platform as usize);
        self.verdict(&facts, [begins, self.along.clamped(ends)])
    }

    /// False only where no device of this diameter that begins here can fit, wherever it ends: what every verdict
    /// that fits has in common, asked once for all lengths.
    pub fn may_fit(&self, facts: &Facts, begins: Ticks) -> bool {
        let [least, largest] = self.along.range_of_x(begins);
        let Frame { rule, window, tolerance } = &self.frame;
        let lower = ends(*rule, window, least)[0].min(least - window.next_size_down.mm());
        let upper = ends(*rule, window, largest)[1];
        facts.diameter >= lower - 2.0 * tolerance && facts.diameter <= upper + 2.0 * tolerance
    }

    /// Whether the overlap before a device at this place is on a stretch to be avoided. `before` counts the
    /// chain's overlaps before it, each of which is `extra` longer than planned.
    pub fn avoided(&self, place: Ticks, before: i64, extra: Ticks) -> bool {
        if self.avoid.is_empty() {
            return false;
        }
        let start = place - before * extra;
        let [from, to] = self.interval(start, self.planned + extra);
        self.avoid.iter().any(|[a, b]| from < b - SLACK && to > a + SLACK)
    }

    /// Whether a chain that is done may be left as it is: one with more devices is then never better. (Only where
    /// every device is as long as the largest overlap can its last be taken away without breaking the limit.)
    pub fn stops_when_done(&self, parts: &Parts) -> bool {
        let shortest = parts.items.iter().map(|item| item.length).min().unwrap_or(0);
        self.neighbours[1].is_none()
            && (self.room.is_none() || (shortest >= self.most && self.avoid.is_empty()))
    }
}

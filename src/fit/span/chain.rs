//! One stretch to be spanned by a chain of overlapping devices, and the rules that every chain keeps.

use super::Lies;
use super::along::{Along, SLACK, Ticks, mm};
use super::parts::Parts;
use crate::fit::cover::Cover;
use crate::fit::facts::{Facts, Frame};
use crate::fit::judge::deploy;
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
    /// Between neighbours, in mm; infinite without a limit.
    pub largest_step: f64,
    /// No device is longer.
    pub limit: Option<Ticks>,
    /// Side branches, along the lesion.
    pub branches: Vec<Ticks>,
    /// An overlap this near to a branch lies on it.
    pub near_branch: Ticks,
    pub cover: Cover,
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
        let fits = facts.class(&self.frame, point).is_fit();
        fits.then(|| super::along::ticks((facts.diameter - point.x).abs()))
    }

    /// No longer than the longest single device that is wanted.
    pub fn allows(&self, length: Ticks) -> bool {
        self.limit.is_none_or(|limit| length <= limit + SLACK)
    }

    /// Side branches on which the planned overlap lies that begins at this place.
    pub fn on_branches(&self, place: Ticks) -> Ticks {
        let [from, to] = self.interval(place, self.planned);
        let near = self.near_branch + SLACK;
        self.branches.iter().filter(|at| **at >= from - near && **at <= to + near).count() as Ticks
    }

    /// The same of the overlaps with what is in already, at the ends of the chain.
    pub fn joined_on_branches(&self) -> Ticks {
        let first = self.neighbours[0].map_or(0, |_| self.on_branches(0));
        let end = self.need - self.planned;
        let last = self.neighbours[1]
            .map_or(0, |_| self.on_branches(end + self.planned * (1 + self.neighbour_overlaps)));
        first + last
    }

    /// Whether what n devices that end at this place cover is less sure to cover than the policy asks.
    pub fn is_unsteady(&self, place: Ticks) -> bool {
        !self.cover.is_steady(mm(self.covered(place) - self.need) + self.cover.need)
    }

    /// What this device is judged with at this place of the chain: verdict, proximal target in mm, pressure.
    pub fn lies_as(&self, parts: &Parts, item: u32, place: Ticks) -> Lies {
        let item = &parts.items[item as usize];
        let product = parts.product(item);
        let facts = Facts::of(product, item.platform as usize);
        let [begins, ends] = self.interval(place, item.length);
        let conditions = facts.conditions(&self.frame, self.along.point(begins, self.along.clamped(ends)));
        let platform = &product.diameters[item.platform as usize];
        let verdict = conditions.verdict(self.frame.rule);
        Lies {
            at_mm: mm(begins),
            verdict,
            proximal_target_mm: Some(conditions.target).filter(|target| target.is_finite()),
            deploy_atm: deploy(platform, conditions.reach, conditions.target).map(|pressure| pressure.atm()),
        }
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

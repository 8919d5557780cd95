//! The vessel along a long lesion, in the whole lengths of the search.

use crate::fit::facts::Point;
use crate::lesion::{Lesion, Vessel};

/// Lengths in the search are whole billionths of a millimetre, so that sums of them are exact and can be compared.
pub(super) type Ticks = i64;
const TICKS_PER_MM: f64 = 1e9;
/// What comparisons of lengths allow, as everywhere (1e-9 mm).
pub(super) const SLACK: Ticks = 1;

pub(super) fn ticks(mm: f64) -> Ticks {
    (mm * TICKS_PER_MM).round() as Ticks
}

pub(super) fn mm(ticks: Ticks) -> f64 {
    ticks as f64 / TICKS_PER_MM
}

/// What a device that lies from one place to another is measured against.
#[derive(Debug, Clone, Copy)]
pub(super) struct Along {
    vessel: Vessel,
    pub length: Ticks,
}

impl Along {
    pub fn new(lesion: &Lesion) -> Self {
        Along { vessel: lesion.vessel, length: ticks(lesion.target.length_min.mm()) }
    }

    /// What a device from `begins` to `ends` is judged against, as a single device would be.
    pub fn point(&self, begins: Ticks, ends: Ticks) -> Point {
        let references = self.vessel.references(mm(begins), mm(ends));
        Point::of(self.vessel.layout().rule, &references)
    }

    /// The least and the largest x of any device that begins here, wherever it ends.
    pub fn range_of_x(&self, begins: Ticks) -> [f64; 2] {
        let (a, b) = (self.point(begins, begins).x, self.point(begins, self.length.max(begins)).x);
        [a.min(b), a.max(b)]
    }

    /// The end, as the references tell ends apart.
    pub fn clamped(&self, at: Ticks) -> Ticks {
        if at >= self.length - SLACK { self.length } else { at }
    }
}

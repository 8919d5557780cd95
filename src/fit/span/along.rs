//! The vessel along a long lesion: what a device that lies from one place to another is measured against.

use crate::fit::facts::Point;
use crate::lesion::Lesion;
use crate::lesion::target::proximal_target;
use crate::measure::{Border, Rule};

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

/// One border, distal and proximal, in mm.
type Ends = [Option<f64>; 2];

/// The references from distal at 0 to proximal at `length`, straight in between, for each border.
#[derive(Debug, Clone, Copy)]
pub(super) struct Along {
    rule: Rule,
    lumen: Ends,
    eem: Ends,
    pub length: Ticks,
}

impl Along {
    pub fn new(lesion: &Lesion) -> Self {
        let mm = |d: Option<crate::units::Diameter>| d.map(|d| d.mm());
        Along {
            rule: lesion.target.rule,
            lumen: [mm(lesion.distal_lumen), mm(lesion.proximal_lumen)],
            eem: [mm(lesion.distal_eem), mm(lesion.proximal_eem)],
            length: ticks(lesion.target.length_min.mm()),
        }
    }

    fn own(&self) -> Ends {
        match self.rule.border() {
            Border::Lumen => self.lumen,
            Border::Eem => self.eem,
        }
    }

    fn past(&self, at: Ticks) -> bool {
        at >= self.length - SLACK
    }

    /// Level where no proximal measure is given; one given at the proximal end alone counts there only.
    fn reference(&self, ends: Ends, at: Ticks) -> Option<f64> {
        match ends {
            [Some(distal), Some(_)] if at <= 0 => Some(distal),
            [_, Some(proximal)] if self.past(at) => Some(proximal),
            [Some(distal), Some(proximal)] => {
                Some(distal + (proximal - distal) * (at as f64 / self.length as f64))
            }
            [distal, None] => distal,
            [None, Some(_)] => None,
        }
    }

    /// A level border has no proximal measure: it closes no window and is not a target.
    fn proximal(&self, ends: Ends, at: Ticks) -> Option<f64> {
        ends[1].and_then(|_| self.reference(ends, at))
    }

    /// What a device from `begins` to `ends` is judged against, as a single device would be.
    pub fn point(&self, begins: Ticks, ends: Ticks) -> Point {
        let own = self.own();
        // Every rule needs its distal measure, and `lesion::check` has seen that it is there.
        let distal = self.reference(own, begins).unwrap_or(f64::NAN);
        let target =
            proximal_target(self.rule, self.proximal(self.lumen, ends), self.proximal(self.eem, ends));
        Point::of(self.rule, distal, self.proximal(own, ends), target)
    }

    /// The least and the largest x of any device that begins here, wherever it ends.
    pub fn range_of_x(&self, begins: Ticks) -> [f64; 2] {
        let (a, b) = (self.point(begins, begins).x, self.point(begins, self.length.max(begins)).x);
        [a.min(b), a.max(b)]
    }

    /// The end, as the references tell ends apart.
    pub fn clamped(&self, at: Ticks) -> Ticks {
        if self.past(at) { self.length } else { at }
    }
}

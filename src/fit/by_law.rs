//! Steadiness where a law makes the proximal target of the distal lumen and the side branch's: the branch is integrated
//! over by quadrature, with a break wherever two edges cross; the distal lumen is closed form.

use super::coupled::over;
use super::normal::Normal;
use crate::lesion::law::{FINET, exponent, mother, mother_of};
use crate::measure::Law;

/// Finet's law has an answer where the smaller daughter is more than this share of the larger one.
const FINET_FROM: f64 = 1.0 / FINET - 1.0;

/// The two measures and the law, all in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ByLaw {
    pub law: Law,
    pub distal: Normal,
    pub branch: Normal,
}

/// What the verdict asks of the target together with the window, where the chart is missing.
pub(super) struct Reach<'e> {
    /// Distal lumens where the verdict can change by itself, rising.
    pub edges: &'e [f64],
    /// Targets at which it can change.
    pub targets: [f64; 2],
    /// The upper end of the window, and its inverse.
    pub upper: &'e dyn Fn(f64) -> f64,
    pub inverse_upper: &'e dyn Fn(f64) -> f64,
}

impl ByLaw {
    /// The proximal target of a distal lumen and a branch; a branch of no width adds nothing. Minus infinity where the
    /// law has no answer.
    pub fn target(&self, distal: f64, branch: f64) -> f64 {
        if branch <= 0.0 {
            return distal;
        }
        mother_of(self.law, distal, branch).unwrap_or(f64::NEG_INFINITY)
    }

    /// The one daughter of which, with the other, the law makes this mother; 0 where the other is enough.
    fn other(&self, mother: f64, daughter: f64) -> f64 {
        match exponent(self.law) {
            Some(n) => (mother.powf(n) - daughter.powf(n)).max(0.0).powf(1.0 / n),
            None => (mother / FINET - daughter).max(0.0),
        }
    }

    /// Probability of a distal lumen in these intervals (rising) with a target of at most the limit.
    pub fn within_limit(&self, intervals: &[(f64, f64)], limit: f64) -> f64 {
        let Some((_, last)) = intervals.last() else { return 0.0 };
        let widest = self.branch.mean + super::normal::FAR * self.branch.sd;
        let all = || intervals.iter().map(|(from, to)| self.distal.between(*from, *to)).sum::<f64>();
        if mother(self.law, *last, widest.max(0.0)) <= limit {
            return all();
        }
        let narrower = |most: f64| {
            intervals.iter().map(|(from, to)| self.distal.between(*from, to.min(most))).sum::<f64>()
        };
        let finet = exponent(self.law).is_none();
        let mut breaks: Vec<f64> = Vec::new();
        for at in intervals.iter().flat_map(|(from, to)| [*from, *to]) {
            breaks.push(self.other(limit, at));
            if finet {
                breaks.extend([at * FINET_FROM, at / FINET_FROM]);
            }
        }
        if finet {
            breaks.extend([limit * FINET_FROM, limit]);
        }
        let slice = |branch: f64| {
            let most = self.other(limit, branch);
            if !finet {
                return narrower(most);
            }
            // No answer, so no target: a distal lumen that is small or large against the branch.
            let [small, large] = [branch * FINET_FROM, branch / FINET_FROM];
            narrower(most.min(large).max(small)) + all() - narrower(large)
        };
        let sum = over(self.branch, [0.0, f64::INFINITY], breaks, slice);
        sum + self.branch.below(0.0) * narrower(limit)
    }

    /// Probability of a pair that fits, where target and window are asked together.
    pub fn coupled(&self, reach: &Reach, fits: impl Fn(f64, f64) -> bool) -> f64 {
        let finet = exponent(self.law).is_none();
        let mut levels = reach.edges.to_vec();
        levels.extend(reach.targets.iter().flat_map(|target| [*target, (reach.inverse_upper)(*target)]));
        let mut breaks: Vec<f64> = Vec::new();
        for at in levels.iter().copied().filter(|at| *at > 0.0) {
            breaks.extend(reach.targets.iter().map(|target| self.other(*target, at)));
            breaks.push(self.other((reach.upper)(at), at));
            breaks.extend([at * FINET_FROM, at / FINET_FROM]);
        }
        breaks.extend(reach.targets);
        let mut cuts: Vec<f64> = Vec::new();
        let slice = |branch: f64| {
            cuts.clear();
            cuts.extend(reach.edges);
            if branch <= 0.0 {
                cuts.extend(reach.targets);
            } else {
                cuts.extend(reach.targets.iter().map(|target| self.other(*target, branch)));
                cuts.extend(self.at_upper(reach.upper, branch));
                if finet {
                    cuts.extend([branch * FINET_FROM, branch / FINET_FROM]);
                }
            }
            let (first, last) = (reach.edges[0], reach.edges[reach.edges.len() - 1]);
            cuts.retain(|cut| (first..=last).contains(cut));
            cuts.sort_unstable_by(f64::total_cmp);
            let cells = cuts.windows(2).filter(|pair| pair[0] < pair[1]);
            cells
                .filter(|pair| {
                    let distal = f64::midpoint(pair[0], pair[1]);
                    fits(distal, self.target(distal, branch))
                })
                .map(|pair| self.distal.between(pair[0], pair[1]))
                .sum()
        };
        let mut slice = slice;
        let none = self.branch.below(0.0) * slice(0.0);
        none + over(self.branch, [0.0, f64::INFINITY], breaks, slice)
    }

    /// The distal lumen at which the target meets the upper end of the window; none where it never does.
    fn at_upper(&self, upper: &dyn Fn(f64) -> f64, branch: f64) -> Option<f64> {
        // Unlike `target`, also where the law has no answer: the difference has one change of sign.
        let above = |distal: f64| match exponent(self.law) {
            Some(n) => upper(distal).powf(n) - distal.powf(n) - branch.powf(n),
            None => upper(distal) - FINET * (distal + branch),
        };
        let (mut low, mut high) = (0.0, 100.0);
        if above(low) > 0.0 || above(high) < 0.0 {
            return None;
        }
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            if above(middle) < 0.0 { low = middle } else { high = middle }
        }
        Some(high)
    }
}

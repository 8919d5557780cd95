//! Steadiness: the probability that a size would fit if the true measures were normal around the measured ones.
//!
//! One function decides what fits (`Facts::class`). Here its arguments are cut wherever its answer can change, it is
//! asked once inside each cell, and the probabilities of the cells that fit are added: exact, because the answer is
//! the same all over a cell. Where an edge of the cells depends on another measure, that measure is integrated over
//! (`coupled`). A true value whose verdict would be `unknown` does not count.

use super::by_law::{ByLaw, Reach};
use super::coupled::{self, Edge, Plane};
use super::facts::{Facts, Frame, Point};
use super::normal::{Normal, Tabled};
use crate::lesion::Lesion;
use crate::lesion::target::{BELOW_PROXIMAL_EEM, closed_by_proximal, ends};
use crate::measure::{Border, Law, Rule};
use crate::policy::{Policy, Window};
use crate::units::{Length, TOLERANCE, at_least, at_most};

/// Which measures the verdict reads, and what depends on what.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Measures {
    /// x and, where given, y are measures of their own.
    Apart { x: Normal, y: Option<Normal>, target: Goal },
    /// x is the smaller of distal and proximal.
    Smaller { distal: Normal, proximal: Normal, target: Goal },
    /// x is the mean of distal and proximal, and the proximal one is the target.
    Mean { distal: Normal, proximal: Normal },
}

/// The proximal target P.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Goal {
    None,
    /// A measure of its own.
    Own(Normal),
    /// This much below the proximal measure that the rule reads; where a lumen is given beside it, no further than the
    /// expansion limit if the lumen itself is not beyond it.
    Below(f64, Option<Normal>),
    /// What a law makes of the distal measure and of this side branch.
    ByLaw(Law, Normal),
}

pub(crate) struct Steady {
    frame: Frame,
    measures: Measures,
    /// The distal measure, the proximal one and P: where one is not given nobody asks.
    distal: Tabled,
    proximal: Tabled,
    target: Tabled,
    /// The least length that would be needed.
    length: Tabled,
    limit: Option<Length>,
    /// The policy says that a diameter has no error: the measured values are the true ones.
    measured: bool,
    point: Point,
    /// Kept between diameters, so that none allocates.
    cuts: Cuts,
}

impl Steady {
    pub fn new(lesion: &Lesion, policy: &Policy) -> Self {
        let error = policy.error.of(lesion.method);
        let normal = |mean: f64| Normal { mean, sd: error.diameter.mm() };
        let target = &lesion.target;
        let distal = normal(target.distal.mm());
        let proximal = target.proximal.map(|d| normal(d.mm()));
        let lumen = lesion.proximal_lumen.map(|lumen| normal(lumen.mm()));
        let branch = lesion.branches.lumen.filter(|_| lesion.vessel.target_by_law());
        let goal = match (target.rule.border(), lumen, proximal) {
            (Border::Lumen, Some(_), _) => Goal::Below(0.0, None),
            (Border::Eem, lumen, Some(_)) => Goal::Below(BELOW_PROXIMAL_EEM, lumen),
            (Border::Eem, Some(lumen), None) => Goal::Own(lumen),
            (Border::Lumen, None, _) if branch.is_some() => {
                let branch = branch.map_or(distal, |branch| normal(branch.mm()));
                Goal::ByLaw(lesion.vessel.layout().law, branch)
            }
            (_, None, _) => Goal::None,
        };
        let measures = match (target.rule, proximal) {
            (Rule::SmallerEem, Some(proximal)) => Measures::Smaller { distal, proximal, target: goal },
            (Rule::MeanLumen, Some(proximal)) => Measures::Mean { distal, proximal },
            (rule, proximal) => {
                Measures::Apart { x: distal, y: proximal.filter(|_| closed_by_proximal(rule)), target: goal }
            }
        };
        let own = if let Goal::Own(p) = goal { p } else { distal };
        Steady {
            frame: Frame { rule: target.rule, window: policy.window, tolerance: 0.0 },
            measures,
            distal: Tabled::new(distal),
            proximal: Tabled::new(proximal.unwrap_or(distal)),
            target: Tabled::new(own),
            length: Tabled::new(Normal { mean: target.length_min.mm(), sd: error.length.mm() }),
            limit: target.limit,
            measured: error.diameter.mm() <= 0.0,
            point: Point::measured(lesion),
            cuts: Cuts::default(),
        }
    }

    /// Probability that a box of this labelled length is long enough; 0 above the limit.
    pub fn by_length(&self, length: f64) -> f64 {
        if self.limit.is_some_and(|limit| !at_most(length, limit.mm())) {
            return 0.0;
        }
        if self.length.normal.sd <= 0.0 {
            return f64::from(u8::from(at_least(length, self.length.normal.mean)));
        }
        self.length.below(length)
    }

    /// Probability that this diameter would be `fits` or `fits-after-post-dilatation`, length apart.
    pub fn by_diameter(&mut self, facts: &Facts) -> f64 {
        if self.measured {
            let frame = Frame { tolerance: TOLERANCE, ..self.frame };
            return f64::from(u8::from(facts.class(&frame, self.point).is_fit()));
        }
        let mut cuts = std::mem::take(&mut self.cuts);
        cuts.fill(facts, &self.frame);
        let sum = self.sum(facts, &cuts);
        self.cuts = cuts;
        // Sums of rounded terms may pass the ends by a rounding error.
        sum.clamp(0.0, 1.0)
    }

    fn sum(&self, facts: &Facts, cuts: &Cuts) -> f64 {
        // The balloon's reach parts `fits` from `fits-after-post-dilatation` only, unless the chart is missing: then
        // the verdict can be unknown, and the answer depends on P and the window together.
        let reach_matters = facts.burst.is_none() && facts.limit.is_some();
        let (Some(first), Some(last)) = (cuts.x.first(), cuts.x.last()) else { return 0.0 };
        // Neither the mean nor the smaller of two measures lies farther from its own value than they do.
        let x = Normal { mean: self.point.x, sd: self.distal.normal.sd };
        if x.hardly_between(*first, *last) {
            return 0.0;
        }
        match self.measures {
            Measures::Apart { x, target: Goal::ByLaw(law, branch), .. } => {
                self.by_law(facts, cuts, ByLaw { law, distal: x, branch }, reach_matters)
            }
            Measures::Apart { x, y, target } if reach_matters && target != Goal::None => {
                self.apart_coupled(facts, cuts, x, y, target)
            }
            Measures::Apart { y, target, .. } => {
                // Only the limit asks for P here: where P depends on y, it is a cap on y.
                let (cap, past_cap) = self.cap(facts, cuts, target);
                let y = y.map(|_| Span { table: &self.proximal, cuts: &cuts.y, cap, past_cap });
                let x = |from, to| self.distal.between(from, to);
                self.grid(facts, cuts, x, y) * self.target_met(cuts, target)
            }
            Measures::Smaller { distal, proximal, target } if reach_matters && target != Goal::None => {
                self.smaller_coupled(facts, cuts, distal, proximal, target)
            }
            Measures::Smaller { target, .. } => {
                let (cap, past_cap) = self.cap(facts, cuts, target);
                let proximal = |t: f64| {
                    let past = self.proximal.between(t.max(cap), f64::INFINITY);
                    self.proximal.between(t, cap) + past_cap * past
                };
                let above = |t: f64| self.distal.between(t, f64::INFINITY) * proximal(t);
                self.grid(facts, cuts, |from, to| above(from) - above(to), None)
                    * self.target_met(cuts, target)
            }
            Measures::Mean { distal, proximal } => self.mean(facts, cuts, distal, proximal),
        }
    }

    /// The largest proximal measure whose target is within the limit, and the probability that one past it fits all
    /// the same, because the lumen does and the target is lowered to the limit.
    fn cap(&self, facts: &Facts, cuts: &Cuts, target: Goal) -> (f64, f64) {
        match target {
            Goal::Below(by, lumen) => {
                let lumen = lumen.filter(|_| facts.lowers_target());
                (cuts.limit + by, lumen.map_or(0.0, |lumen| lumen.below(cuts.limit)))
            }
            _ => (f64::INFINITY, 0.0),
        }
    }

    fn by_law(&self, facts: &Facts, cuts: &Cuts, by_law: ByLaw, reach_matters: bool) -> f64 {
        let (rule, window) = (self.frame.rule, &self.frame.window);
        if reach_matters {
            let reach = Reach {
                edges: &cuts.x,
                targets: [facts.diameter, cuts.limit],
                upper: &|x| ends(rule, window, x)[1],
                inverse_upper: &|d| inverse_upper(rule, window, d),
            };
            return by_law.coupled(&reach, |x, p| self.fits(facts, x, f64::INFINITY, p));
        }
        let mut intervals: Vec<(f64, f64)> = Vec::with_capacity(cuts.x.len());
        for (from, to) in cells(&cuts.x) {
            if !self.fits(facts, f64::midpoint(from, to), f64::INFINITY, f64::NEG_INFINITY) {
                continue;
            }
            match intervals.last_mut() {
                Some((_, end)) if *end >= from => *end = to,
                _ => intervals.push((from, to)),
            }
        }
        by_law.within_limit(&intervals, cuts.limit)
    }

    /// A target of its own enters through the limit alone.
    fn target_met(&self, cuts: &Cuts, target: Goal) -> f64 {
        if matches!(target, Goal::Own(_)) { self.target.below(cuts.limit) } else { 1.0 }
    }

    /// Sums the cells that fit, with the target taken as met; every measure has its own cuts, and none depends on
    /// another.
    fn grid(&self, facts: &Facts, cuts: &Cuts, x: impl Fn(f64, f64) -> f64, y: Option<Span>) -> f64 {
        let mut sum = 0.0;
        for (from, to) in cells(&cuts.x) {
            let at =
                Point { x: (from + to) / 2.0, y: f64::INFINITY, p: f64::NEG_INFINITY, lumen: f64::INFINITY };
            let share = match &y {
                None => f64::from(u8::from(facts.class(&self.frame, at).is_fit())),
                Some(y) => y.share(|y| facts.class(&self.frame, Point { y, ..at }).is_fit()),
            };
            if share > 0.0 {
                sum += share * x(from, to);
            }
        }
        sum
    }

    fn fits(&self, facts: &Facts, x: f64, y: f64, p: f64) -> bool {
        facts.class(&self.frame, Point { x, y, p, lumen: f64::INFINITY }).is_fit()
    }

    /// The edge where the upper end of the window meets P, as x (or y) against the value integrated over.
    fn reach_edge(&self, below: f64) -> Edge {
        let at = |p: f64| inverse_upper(self.frame.rule, &self.frame.window, p);
        let slope = at(1.0) - at(0.0);
        Edge { at_zero: at(0.0) - slope * below, slope }
    }

    fn apart_coupled(&self, facts: &Facts, cuts: &Cuts, x: Normal, y: Option<Normal>, goal: Goal) -> f64 {
        let mut lines: Vec<Edge> = cuts.x.iter().copied().map(Edge::level).collect();
        match (goal, y) {
            (Goal::Own(p), y) => {
                lines.push(self.reach_edge(0.0));
                let second = y.map(|y| {
                    let mut lines: Vec<Edge> = cuts.y.iter().copied().map(Edge::level).collect();
                    lines.push(self.reach_edge(0.0));
                    (y, lines)
                });
                let edges = vec![facts.diameter];
                let within = [f64::NEG_INFINITY, cuts.limit];
                let plane = Plane { outer: p, within, edges, inner: x, lines, second };
                coupled::probability(&plane, |p, x, y| self.fits(facts, x, y, p))
            }
            (Goal::Below(by, _), Some(y)) => {
                lines.push(self.reach_edge(by));
                let mut edges = vec![facts.diameter + by];
                edges.extend(&cuts.y);
                let within = [cuts.y[0], cuts.limit + by];
                let plane = Plane { outer: y, within, edges, inner: x, lines, second: None };
                coupled::probability(&plane, |y, x, _| self.fits(facts, x, y, y - by))
            }
            // A target below a measure that was not given is none: `new` makes no such pair.
            (_, _) => 0.0,
        }
    }

    fn smaller_coupled(
        &self,
        facts: &Facts,
        cuts: &Cuts,
        distal: Normal,
        proximal: Normal,
        goal: Goal,
    ) -> f64 {
        let mut lines: Vec<Edge> = cuts.x.iter().copied().map(Edge::level).collect();
        match goal {
            Goal::Own(p) => {
                // x against P: both measures are cut where P is, and the smaller of the two decides.
                lines.push(self.reach_edge(0.0));
                let edges = vec![facts.diameter];
                let within = [f64::NEG_INFINITY, cuts.limit];
                let second = Some((proximal, lines.clone()));
                let plane = Plane { outer: p, within, edges, inner: distal, lines, second };
                coupled::probability(&plane, |p, a, b| self.fits(facts, a.min(b), f64::INFINITY, p))
            }
            Goal::Below(by, _) => {
                lines.push(self.reach_edge(by));
                lines.push(Edge { at_zero: 0.0, slope: 1.0 });
                let mut edges = vec![facts.diameter + by];
                edges.extend(&cuts.x);
                // The smaller of the two is not above the proximal one.
                let within = [cuts.x[0], cuts.limit + by];
                let plane = Plane { outer: proximal, within, edges, inner: distal, lines, second: None };
                coupled::probability(&plane, |b, a, _| self.fits(facts, a.min(b), f64::INFINITY, b - by))
            }
            Goal::None | Goal::ByLaw(..) => 0.0,
        }
    }

    fn mean(&self, facts: &Facts, cuts: &Cuts, distal: Normal, proximal: Normal) -> f64 {
        // x = (a + b) / 2, so an edge of x at t + u b is an edge of a at 2 t + (2 u - 1) b.
        let as_distal = |line: Edge| Edge { at_zero: 2.0 * line.at_zero, slope: 2.0 * line.slope - 1.0 };
        let mut lines: Vec<Edge> = cuts.x.iter().map(|t| as_distal(Edge::level(*t))).collect();
        let mut edges = Vec::new();
        if facts.burst.is_none() {
            lines.push(as_distal(self.reach_edge(0.0)));
            edges.push(facts.diameter);
        }
        let within = [f64::NEG_INFINITY, cuts.limit];
        let plane = Plane { outer: proximal, within, edges, inner: distal, lines, second: None };
        coupled::probability(&plane, |b, a, _| self.fits(facts, (a + b) / 2.0, f64::INFINITY, b))
    }
}

/// Where the verdict on one diameter can change, x and y apart.
#[derive(Debug, Clone, Default)]
struct Cuts {
    /// Rising; outside the first and the last one nothing fits.
    x: Vec<f64>,
    /// Rising; below the first one nothing fits.
    y: Vec<f64>,
    /// The most that P may be.
    limit: f64,
}

/// The measure whose window ends at d from above.
fn inverse_upper(rule: Rule, window: &Window, d: f64) -> f64 {
    match rule {
        Rule::DistalEem | Rule::SmallerEem => d,
        Rule::DistalLumen | Rule::MeanLumen => d - window.step.mm(),
        Rule::ReferenceDiameter => d / window.ratio[1],
    }
}

/// The measure whose window begins at d.
fn inverse_lower(rule: Rule, window: &Window, d: f64) -> f64 {
    match rule {
        Rule::DistalEem | Rule::SmallerEem => d + window.step.mm(),
        Rule::DistalLumen | Rule::MeanLumen => d,
        Rule::ReferenceDiameter => d / window.ratio[0],
    }
}

impl Cuts {
    fn fill(&mut self, facts: &Facts, frame: &Frame) {
        let (rule, window, d) = (frame.rule, &frame.window, facts.diameter);
        let (upper, lower) = (|d| inverse_upper(rule, window, d), |d| inverse_lower(rule, window, d));
        self.limit = facts.least_limit();
        let farthest_down = d + window.next_size_down.mm();
        let (first, last) = (upper(d), lower(d).max(farthest_down));
        self.x.clear();
        self.x.extend([first, last, lower(d), d, farthest_down, facts.next_larger(), lower(self.limit)]);
        self.y.clear();
        self.y.push(upper(d));
        if rule.rounds_up() {
            for larger in facts.larger.iter().map(|platform| platform.diameter.mm()) {
                if upper(larger) > last {
                    break;
                }
                self.x.extend([lower(larger), upper(larger)]);
                self.y.push(upper(larger));
            }
        }
        self.x.retain(|cut| (first..=last).contains(cut));
        self.x.sort_unstable_by(f64::total_cmp);
    }
}

fn cells(cuts: &[f64]) -> impl Iterator<Item = (f64, f64)> {
    cuts.windows(2).map(|pair| (pair[0], pair[1])).filter(|(from, to)| from < to)
}

/// y with its cuts, up to a cap.
struct Span<'a> {
    table: &'a Tabled,
    cuts: &'a [f64],
    cap: f64,
    /// Probability that a y past the cap fits all the same.
    past_cap: f64,
}

impl Span<'_> {
    /// Probability of the cells that fit.
    fn share(&self, fits: impl Fn(f64) -> bool) -> f64 {
        let mut sum = 0.0;
        for (i, from) in self.cuts.iter().copied().enumerate() {
            let to = self.cuts.get(i + 1).copied().unwrap_or(f64::INFINITY);
            let inside = if to.is_finite() { (from + to) / 2.0 } else { from + 1.0 };
            if !fits(inside) {
                continue;
            }
            let capped = to.min(self.cap);
            if from < capped {
                sum += self.table.between(from, capped);
            }
            if self.past_cap > 0.0 && self.cap < to {
                sum += self.past_cap * self.table.between(from.max(self.cap), to);
            }
        }
        sum
    }
}

//! What is known of one labelled diameter, and the verdict that it gives: the one place where that is decided.

use super::Verdict;
use crate::catalogue::{Platform, Product};
use crate::lesion::target::ends;
use crate::measure::Rule;
use crate::policy::Window;

/// One labelled diameter of one product, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Facts<'a> {
    pub diameter: f64,
    /// Labelled diameters of the same product above this one, rising.
    pub larger: &'a [Platform],
    /// Missing: every value from the diameter at rated burst (or the labelled one) upwards is allowed.
    pub limit: Option<f64>,
    /// Missing: every value from the labelled diameter to the limit is allowed.
    pub burst: Option<f64>,
}

/// What one lesion asks of any diameter: measured, or as it might truly be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    /// x of the rule.
    pub x: f64,
    /// The proximal measure that closes the window; infinite where none does.
    pub y: f64,
    /// The proximal target; minus infinity where reach is not judged.
    pub p: f64,
    /// The proximal lumen; infinite where none is given.
    pub lumen: f64,
}

/// How measures become a window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Frame {
    pub rule: Rule,
    pub window: Window,
    /// What comparisons allow: 1e-9 for measured values, nothing in probabilities.
    pub tolerance: f64,
}

/// Every condition of the verdict but length and kind.
#[allow(clippy::struct_excessive_bools, reason = "one for each condition of the verdict")]
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Conditions {
    /// Both ends included; the upper one closed by the proximal measure.
    pub window: [f64; 2],
    pub not_above: bool,
    pub in_window: bool,
    /// The next size down, and the rule takes it here.
    pub next_size_down: bool,
    /// None: the limit is missing, and its allowed values do not agree.
    pub limit_reaches_target: Option<bool>,
    pub limit_reaches_window: Option<bool>,
    /// By its own balloon; None: the chart is missing, and its allowed values do not agree.
    pub balloon_reaches_target: Option<bool>,
    /// What the balloon reaches in this window; none without a chart.
    pub reach: Option<f64>,
    /// The proximal target that this diameter is judged with; minus infinity where reach is not judged.
    pub target: f64,
    /// The target is this diameter's expansion limit: the vessel's own is beyond it, and its lumen is not.
    pub target_at_limit: bool,
}

impl<'a> Facts<'a> {
    pub fn of(product: &'a Product, index: usize) -> Self {
        let platform = &product.diameters[index];
        Facts {
            diameter: platform.diameter.mm(),
            larger: &product.diameters[index + 1..],
            limit: platform.expansion_limit.map(|limit| limit.mm()),
            burst: platform.chart.as_ref().map(|chart| chart.at_rated_burst().mm()),
        }
    }

    /// What the limit is at the least.
    pub fn least_limit(&self) -> f64 {
        self.limit.or(self.burst).unwrap_or(self.diameter)
    }

    /// The next labelled diameter above; infinite at the end of the list.
    pub fn next_larger(&self) -> f64 {
        self.larger.first().map_or(f64::INFINITY, |platform| platform.diameter.mm())
    }

    /// The largest labelled diameter not above x, and not too far below it. Found from x alone: the proximal
    /// measure does not put a smaller one in its place.
    pub fn is_next_size_down(&self, frame: &Frame, x: f64) -> bool {
        let t = frame.tolerance;
        self.diameter <= x + t
            && self.diameter >= x - frame.window.next_size_down.mm() - t
            && self.next_larger() > x + t
    }

    /// The smallest larger labelled diameter that the product makes inside this window.
    pub fn made_inside(&self, frame: &Frame, [lower, upper]: [f64; 2]) -> Option<f64> {
        let t = frame.tolerance;
        let mut larger = self.larger.iter().map(|platform| platform.diameter.mm());
        larger.find(|d| *d >= lower - t).filter(|d| *d <= upper + t)
    }

    pub fn conditions(&self, frame: &Frame, at: Point) -> Conditions {
        let t = frame.tolerance;
        let [lower, open] = ends(frame.rule, &frame.window, at.x);
        let upper = open.min(ends(frame.rule, &frame.window, at.y)[1]);
        let window = [lower, upper];
        let not_above = self.diameter <= upper + t;
        let in_window = not_above && self.diameter >= lower - t;
        // Rules that round down take the next size down as it is; the others only where nothing else is made.
        let next_size_down = not_above
            && !in_window
            && self.is_next_size_down(frame, at.x)
            && !(frame.rule.rounds_up() && self.made_inside(frame, window).is_some());
        let lowered = self.lowered(at, t);
        let p = lowered.unwrap_or(at.p);
        let least = self.least_limit();
        let limit_reaches = |d: f64| match self.limit {
            _ if d <= least + t => Some(true),
            Some(_) => Some(false),
            None => None,
        };
        let reach = self.burst.map(|burst| self.diameter.max(burst.min(upper)));
        let balloon_reaches_target = match (reach, self.limit) {
            (Some(reach), _) => Some(p <= reach + t),
            (None, _) if p <= self.diameter + t => Some(true),
            (None, Some(limit)) if p > self.diameter.max(limit.min(upper)) + t => Some(false),
            (None, None) if p > self.diameter.max(upper) + t => Some(false),
            (None, _) => None,
        };
        Conditions {
            window,
            not_above,
            in_window,
            next_size_down,
            limit_reaches_target: limit_reaches(p),
            limit_reaches_window: limit_reaches(lower),
            balloon_reaches_target,
            reach,
            target: p,
            target_at_limit: lowered.is_some(),
        }
    }

    /// The expansion limit as the target, where the vessel's own is beyond it and its lumen is not: a stent that can
    /// be apposed is not refused for its vessel's outer wall. Both chart and limit have to be known for it.
    fn lowered(&self, at: Point, tolerance: f64) -> Option<f64> {
        let limit = self.limit.filter(|_| self.burst.is_some())?;
        (at.p > limit + tolerance && at.lumen <= limit + tolerance).then_some(limit)
    }

    /// Whether a target beyond the limit is lowered to it where the lumen allows.
    pub fn lowers_target(&self) -> bool {
        self.limit.is_some() && self.burst.is_some()
    }

    /// The verdict on this diameter, whatever its lengths.
    pub fn class(&self, frame: &Frame, at: Point) -> Verdict {
        self.conditions(frame, at).verdict(frame.rule)
    }
}

impl Conditions {
    /// The first that applies. A missing fact makes it unknown only where its allowed values do not agree.
    pub fn verdict(&self, rule: Rule) -> Verdict {
        if !self.not_above
            || self.limit_reaches_target == Some(false)
            || self.limit_reaches_window == Some(false)
        {
            return Verdict::No;
        }
        if self.limit_reaches_target.is_none() || self.limit_reaches_window.is_none() {
            return Verdict::Unknown;
        }
        if !self.in_window && !self.next_size_down {
            return Verdict::Undersized;
        }
        if self.next_size_down && rule.rounds_up() {
            return Verdict::FitsAfterPostDilatation;
        }
        match self.balloon_reaches_target {
            Some(true) => Verdict::Fits,
            Some(false) => Verdict::FitsAfterPostDilatation,
            None => Verdict::Unknown,
        }
    }
}

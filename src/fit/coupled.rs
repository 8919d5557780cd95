//! Probability of a region of the plane (or of space) whose edges are straight: one measure is integrated over by
//! quadrature, with a break wherever two edges cross, so that between breaks the integrand is smooth; the rest is
//! closed form. Right to 1e-9 and far better, which the tests check against a fine grid.

use super::normal::{self, FAR, Normal};

/// An edge: the inner measure at which it lies, against the one that is integrated over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    pub at_zero: f64,
    pub slope: f64,
}

impl Line {
    pub fn level(at: f64) -> Self {
        Line { at_zero: at, slope: 0.0 }
    }

    fn at(self, outer: f64) -> f64 {
        self.at_zero + self.slope * outer
    }
}

/// Independent measures and the edges of the region.
pub(super) struct Plane {
    /// Integrated over.
    pub outer: Normal,
    /// Where the answer changes with the outer measure alone.
    pub edges: Vec<f64>,
    pub inner: Normal,
    pub lines: Vec<Line>,
    /// A second inner measure.
    pub second: Option<(Normal, Vec<Line>)>,
}

/// The longest piece in standard errors: 20 nodes give it to 1e-14.
const PIECE: f64 = 2.0;

/// `fits` is asked of (outer, inner, second), the last infinite where there is none.
pub(super) fn probability(plane: &Plane, fits: impl Fn(f64, f64, f64) -> bool) -> f64 {
    let Normal { mean, sd } = plane.outer;
    if sd <= 0.0 {
        return slice(plane, mean, &fits);
    }
    let (start, end) = (mean - FAR * sd, mean + FAR * sd);
    let mut breaks = vec![start, end];
    breaks.extend(&plane.edges);
    crossings(&plane.lines, &mut breaks);
    if let Some((_, lines)) = &plane.second {
        crossings(lines, &mut breaks);
    }
    breaks.retain(|at| (start..=end).contains(at));
    breaks.sort_unstable_by(f64::total_cmp);
    let mut sum = 0.0;
    for pair in breaks.windows(2) {
        let pieces = ((pair[1] - pair[0]) / (PIECE * sd)).ceil();
        let width = (pair[1] - pair[0]) / pieces.max(1.0);
        for piece in 0..pieces as u32 {
            let from = pair[0] + width * f64::from(piece);
            sum += normal::integral(from, from + width, |outer| {
                normal::density((outer - mean) / sd) / sd * slice(plane, outer, &fits)
            });
        }
    }
    sum
}

fn crossings(lines: &[Line], breaks: &mut Vec<f64>) {
    for (i, a) in lines.iter().enumerate() {
        for b in &lines[i + 1..] {
            if a.slope != b.slope {
                breaks.push((b.at_zero - a.at_zero) / (a.slope - b.slope));
            }
        }
    }
}

/// The probability at one value of the outer measure: cells between the edges, each asked once.
fn slice(plane: &Plane, outer: f64, fits: &impl Fn(f64, f64, f64) -> bool) -> f64 {
    let inner = cells(plane.inner, &plane.lines, outer);
    let second = match &plane.second {
        Some((normal, lines)) => cells(*normal, lines, outer),
        None => vec![(f64::INFINITY, 1.0)],
    };
    let mut sum = 0.0;
    for (u, share) in inner {
        let part: f64 = second.iter().filter(|(w, _)| fits(outer, u, *w)).map(|(_, share)| share).sum();
        sum += share * part;
    }
    sum
}

/// A point inside each cell, and the cell's probability.
fn cells(normal: Normal, lines: &[Line], outer: f64) -> Vec<(f64, f64)> {
    let mut cuts: Vec<f64> = lines.iter().map(|line| line.at(outer)).collect();
    cuts.sort_unstable_by(f64::total_cmp);
    let mut cells = Vec::with_capacity(cuts.len() + 1);
    let mut from = f64::NEG_INFINITY;
    let mut before = 0.0;
    for to in cuts.into_iter().chain([f64::INFINITY]) {
        let inside = match (from.is_finite(), to.is_finite()) {
            (true, true) => (from + to) / 2.0,
            (true, false) => from + 1.0,
            (false, _) => to - 1.0,
        };
        let up_to = normal.below(to);
        if up_to > before {
            cells.push((inside, up_to - before));
        }
        (from, before) = (to, up_to);
    }
    cells
}

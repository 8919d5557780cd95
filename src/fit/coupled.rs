//! Probability of a region of the plane (or of space) whose edges are straight: one measure is integrated over by
//! quadrature, with a break wherever two edges cross, so that between breaks the integrand is smooth; the rest is
//! closed form. Right to 1e-9 and far better, which the tests check against a fine grid.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "places in a catalogue: far below 2^32"
)]

use super::normal::{self, FAR, Normal};

/// An edge: the inner measure at which it lies, against the one that is integrated over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    pub at_zero: f64,
    pub slope: f64,
}

impl Edge {
    pub fn level(at: f64) -> Self {
        Edge { at_zero: at, slope: 0.0 }
    }

    fn at(self, outer: f64) -> f64 {
        self.at_zero + self.slope * outer
    }
}

/// Independent measures and the edges of the region.
pub(super) struct Plane {
    /// Integrated over.
    pub outer: Normal,
    /// Nothing fits where the outer measure is outside.
    pub within: [f64; 2],
    /// Where the answer changes with the outer measure alone.
    pub edges: Vec<f64>,
    pub inner: Normal,
    pub lines: Vec<Edge>,
    /// A second inner measure.
    pub second: Option<(Normal, Vec<Edge>)>,
}

/// The longest piece in standard errors: ten nodes give it to 1e-13.
const PIECE: f64 = 1.0;

/// `fits` is asked of (outer, inner, second), the last infinite where there is none.
pub(super) fn probability(plane: &Plane, fits: impl Fn(f64, f64, f64) -> bool) -> f64 {
    let mut scratch = Scratch::default();
    let mut breaks = plane.edges.clone();
    crossings(&plane.lines, &mut breaks);
    if let Some((_, lines)) = &plane.second {
        crossings(lines, &mut breaks);
    }
    over(plane.outer, plane.within, breaks, |outer| slice(plane, outer, &fits, &mut scratch))
}

/// The mean of a function of the outer measure over the values within; smooth between the breaks.
pub(super) fn over(
    outer: Normal,
    within: [f64; 2],
    mut breaks: Vec<f64>,
    mut f: impl FnMut(f64) -> f64,
) -> f64 {
    let Normal { mean, sd } = outer;
    if sd <= 0.0 {
        return f(mean);
    }
    let (start, end) = (within[0].max(mean - FAR * sd), within[1].min(mean + FAR * sd));
    breaks.extend([start, end]);
    breaks.retain(|at| (start..=end).contains(at));
    breaks.sort_unstable_by(f64::total_cmp);
    let mut sum = 0.0;
    for pair in breaks.windows(2) {
        let pieces = ((pair[1] - pair[0]) / (PIECE * sd)).ceil();
        let width = (pair[1] - pair[0]) / pieces.max(1.0);
        for piece in 0..pieces as u32 {
            let from = pair[0] + width * f64::from(piece);
            sum += normal::integral(from, from + width, |at| normal::density((at - mean) / sd) / sd * f(at));
        }
    }
    sum
}

fn crossings(lines: &[Edge], breaks: &mut Vec<f64>) {
    for (i, a) in lines.iter().enumerate() {
        for b in &lines[i + 1..] {
            if a.slope != b.slope {
                breaks.push((b.at_zero - a.at_zero) / (a.slope - b.slope));
            }
        }
    }
}

/// Kept between slices, so that none allocates.
#[derive(Default)]
struct Scratch {
    cuts: Vec<f64>,
    inner: Vec<(f64, f64)>,
    second: Vec<(f64, f64)>,
}

/// The probability at one value of the outer measure: cells between the edges, each asked once.
fn slice(plane: &Plane, outer: f64, fits: &impl Fn(f64, f64, f64) -> bool, scratch: &mut Scratch) -> f64 {
    let Scratch { cuts, inner, second } = scratch;
    cells(plane.inner, &plane.lines, outer, cuts, inner);
    match &plane.second {
        Some((normal, lines)) => cells(*normal, lines, outer, cuts, second),
        None => {
            second.clear();
            second.push((f64::INFINITY, 1.0));
        }
    }
    let part =
        |u: f64| -> f64 { second.iter().filter(|(w, _)| fits(outer, u, *w)).map(|(_, share)| share).sum() };
    inner.iter().map(|(u, share)| share * part(*u)).sum()
}

/// A point inside each cell, and the cell's probability; cells that hardly ever happen are left out.
fn cells(normal: Normal, lines: &[Edge], outer: f64, cuts: &mut Vec<f64>, cells: &mut Vec<(f64, f64)>) {
    cuts.clear();
    cuts.extend(lines.iter().map(|line| line.at(outer)));
    cuts.sort_unstable_by(f64::total_cmp);
    cells.clear();
    let mut from = f64::NEG_INFINITY;
    let mut before = 0.0;
    for to in cuts.iter().copied().chain([f64::INFINITY]) {
        if to <= from {
            continue;
        }
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
}

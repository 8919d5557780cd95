//! The smallest shelf that serves a share of the lesions, and how small none can be.
//!
//! Found by greedy choice and exchange of two boxes for one; the bound is Lagrange's: for any prices on the cells, the
//! price of the cheapest way to reach the share, less what a box earns above its cost of 1, is a lower bound on the
//! number of boxes of every shelf (@fisher-1981). So `at_least` holds whatever the search did.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a number of steps: small, whole and above 0"
)]

use super::Size;
use super::grid::Grid;
use crate::units::TOLERANCE;

/// A shelf, and what is proved of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Smallest {
    /// One piece of each is enough.
    pub sizes: Vec<Size>,
    /// The share of all lesions that they serve, 0 to 1.
    pub share: f64,
    /// What was asked for, as a share of all lesions.
    pub target: f64,
    /// No shelf with fewer boxes serves the target: proved.
    pub at_least: usize,
}

impl Smallest {
    /// No smaller shelf does it.
    pub fn is_proved(&self) -> bool {
        self.at_least == self.sizes.len()
    }
}

/// Rounds of the search for prices; each is a valid bound.
const ROUNDS: usize = 1_500;
/// So often the prices are asked for a shelf.
const TRY_EVERY: usize = 50;

pub(super) fn find(grid: &Grid, sizes: &[Size], target: f64) -> Smallest {
    let weights = grid.weights();
    let cells: Vec<Vec<usize>> = sizes
        .iter()
        .map(|size| grid.cells(&size.reach).filter(|cell| weights[*cell] > 0.0).collect())
        .collect();
    let problem = Problem { weights, cells, target };
    let mut chosen = problem.filled(Vec::new());
    while problem.exchange(&mut chosen) {}
    let at_least = problem.bound(&mut chosen);
    chosen.sort_unstable();
    Smallest {
        share: problem.served(&problem.counts(&chosen)),
        at_least: at_least.min(chosen.len()),
        sizes: chosen.into_iter().map(|at| sizes[at].clone()).collect(),
        target,
    }
}

struct Problem {
    weights: Vec<f64>,
    /// By size.
    cells: Vec<Vec<usize>>,
    target: f64,
}

impl Problem {
    /// How often each cell is served.
    fn counts(&self, chosen: &[usize]) -> Vec<u32> {
        let mut counts = vec![0; self.weights.len()];
        for &size in chosen {
            self.cells[size].iter().for_each(|&cell| counts[cell] += 1);
        }
        counts
    }

    fn served(&self, counts: &[u32]) -> f64 {
        counts.iter().zip(&self.weights).filter(|(count, _)| **count > 0).map(|(_, weight)| weight).sum()
    }

    fn reached(&self, share: f64) -> bool {
        share >= self.target - TOLERANCE
    }

    /// What one more would add.
    fn gain(&self, counts: &[u32], size: usize) -> f64 {
        self.cells[size].iter().filter(|cell| counts[**cell] == 0).map(|cell| self.weights[*cell]).sum()
    }

    /// The size that adds the most; of two alike the first.
    fn best(&self, counts: &[u32]) -> Option<(usize, f64)> {
        let gains = (0..self.cells.len()).map(|size| (size, self.gain(counts, size)));
        gains.fold(None, |best: Option<(usize, f64)>, (size, gain)| match best {
            Some((_, most)) if most >= gain => best,
            _ => Some((size, gain)),
        })
    }

    /// Filled up greedily until the target is reached.
    fn filled(&self, mut chosen: Vec<usize>) -> Vec<usize> {
        let mut counts = self.counts(&chosen);
        while !self.reached(self.served(&counts)) {
            let Some((size, gain)) = self.best(&counts) else { break };
            if gain <= 0.0 {
                break;
            }
            chosen.push(size);
            self.cells[size].iter().for_each(|&cell| counts[cell] += 1);
        }
        chosen
    }

    /// Leaves out one that is not needed, or puts one in the place of two. False: neither can be done.
    fn exchange(&self, chosen: &mut Vec<usize>) -> bool {
        let mut counts = self.counts(chosen);
        for at in 0..chosen.len() {
            self.take(&mut counts, chosen[at], false);
            if self.reached(self.served(&counts)) {
                chosen.remove(at);
                return true;
            }
            for other in at + 1..chosen.len() {
                self.take(&mut counts, chosen[other], false);
                let rest = self.served(&counts);
                if let Some((size, gain)) = self.best(&counts)
                    && self.reached(rest + gain)
                {
                    chosen.remove(other);
                    chosen[at] = size;
                    return true;
                }
                self.take(&mut counts, chosen[other], true);
            }
            self.take(&mut counts, chosen[at], true);
        }
        false
    }

    fn take(&self, counts: &mut [u32], size: usize, put: bool) {
        for &cell in &self.cells[size] {
            counts[cell] = if put { counts[cell] + 1 } else { counts[cell] - 1 };
        }
    }

    /// The sizes that earn more than they cost at these prices, filled up, with what is not needed left out.
    fn priced(&self, prices: &[f64]) -> Vec<usize> {
        let earns = |size: &usize| self.cells[*size].iter().map(|cell| prices[*cell]).sum::<f64>();
        let mut chosen = self.filled((0..self.cells.len()).filter(|size| earns(size) > 1.0).collect());
        let mut counts = self.counts(&chosen);
        // What earns least goes first.
        chosen.sort_by(|a, b| earns(b).total_cmp(&earns(a)).then(a.cmp(b)));
        for at in (0..chosen.len()).rev() {
            self.take(&mut counts, chosen[at], false);
            if self.reached(self.served(&counts)) {
                chosen.remove(at);
            } else {
                self.take(&mut counts, chosen[at], true);
            }
        }
        chosen
    }

    /// The least number of boxes that any shelf needs: the best bound that the search for prices met. A smaller
    /// shelf that is met on the way takes the place of the one given.
    fn bound(&self, shelf: &mut Vec<usize>) -> usize {
        let mut known = shelf.len();
        let mut prices: Vec<f64> =
            self.weights.iter().map(|w| w * known as f64 / self.target.max(1e-9)).collect();
        let mut best = 0.0_f64;
        let mut step = 1.0;
        let mut since = 0;
        for round in 0..ROUNDS {
            if round % TRY_EVERY == 0 {
                let mut other = self.priced(&prices);
                while other.len() <= known + 1 && self.exchange(&mut other) {}
                if other.len() < known && self.reached(self.served(&self.counts(&other))) {
                    known = other.len();
                    *shelf = other;
                }
            }
            let (value, slope) = self.at(&prices);
            if value > best + 1e-6 {
                best = value;
                since = 0;
            } else {
                since += 1;
                if since == 20 {
                    (step, since) = (step / 2.0, 0);
                }
            }
            let length: f64 = slope.iter().map(|s| s * s).sum();
            // A bound above the shelf before is as good as it gets.
            if length < 1e-12 || best > known as f64 - 1.0 + 1e-6 {
                break;
            }
            let along = step * (known as f64 - value).max(0.0) / length;
            for (price, s) in prices.iter_mut().zip(&slope) {
                *price = (*price + along * s).max(0.0);
            }
        }
        (best - 1e-6).ceil().max(0.0) as usize
    }

    /// The bound at these prices, and which way it rises.
    fn at(&self, prices: &[f64]) -> (f64, Vec<f64>) {
        // The cheapest cells that make up the target, the last in part.
        let mut order: Vec<(f64, usize)> = (0..prices.len())
            .filter(|cell| self.weights[*cell] > 0.0)
            .map(|cell| (prices[cell] / self.weights[cell], cell))
            .collect();
        order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut slope = vec![0.0; prices.len()];
        let (mut value, mut left) = (0.0, self.target - TOLERANCE);
        for (_, cell) in order {
            if left <= 0.0 {
                break;
            }
            let part = (left / self.weights[cell]).min(1.0);
            slope[cell] += part;
            value += part * prices[cell];
            left -= self.weights[cell];
        }
        for cells in &self.cells {
            let over = cells.iter().map(|cell| prices[*cell]).sum::<f64>() - 1.0;
            if over > 0.0 {
                value -= over;
                cells.iter().for_each(|cell| slope[*cell] -= 1.0);
            }
        }
        (value, slope)
    }
}

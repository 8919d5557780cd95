//! The plane of lumens and needed lengths, cut where a box begins or ends: within a cell all lesions are alike.

use super::{Demand, Reach};
use crate::units::same;

#[derive(Debug)]
pub(super) struct Grid {
    lumens: Vec<f64>,
    lengths: Vec<f64>,
    /// Probability of each strip of lumens, by vessel.
    by_vessel: Vec<Vec<f64>>,
    /// The same over all vessels, by their weights.
    wide: Vec<f64>,
    /// Probability of each strip of lengths.
    long: Vec<f64>,
}

/// Which cells are served, strip of lumens by strip of lumens.
pub(super) type Covered = Vec<bool>;

impl Grid {
    pub fn new(reaches: &[Reach], demand: &Demand) -> Grid {
        let lumens = cuts(reaches.iter().flat_map(|reach| reach.lumen));
        let lengths = cuts(reaches.iter().flat_map(|reach| reach.needed));
        let strips =
            |cuts: &[f64]| -> Vec<[f64; 2]> { cuts.windows(2).map(|pair| [pair[0], pair[1]]).collect() };
        let wide = strips(&lumens);
        let by_vessel: Vec<Vec<f64>> = demand
            .vessels
            .iter()
            .map(|vessel| wide.iter().map(|strip| vessel.between(*strip)).collect())
            .collect();
        let over_all = (0..wide.len()).map(|at| {
            demand.vessels.iter().zip(&by_vessel).map(|(vessel, strips)| vessel.weight * strips[at]).sum()
        });
        let wide = over_all.collect();
        let long = strips(&lengths).into_iter().map(|strip| demand.lengths.between(strip)).collect();
        Grid { lumens, lengths, by_vessel, wide, long }
    }

    /// Every cell within this rectangle, by number.
    pub fn cells<'a>(&'a self, reach: &Reach) -> impl Iterator<Item = usize> + use<'a> {
        let strips = |cuts: &[f64], [from, to]: [f64; 2]| place(cuts, from)..place(cuts, to);
        let across = strips(&self.lumens, reach.lumen);
        let along = strips(&self.lengths, reach.needed);
        let columns = self.long.len();
        across.flat_map(move |row| along.clone().map(move |column| row * columns + column))
    }

    pub fn cover(&self, reaches: &[Reach]) -> Covered {
        let mut covered = vec![false; self.wide.len() * self.long.len()];
        for reach in reaches {
            self.cells(reach).for_each(|cell| covered[cell] = true);
        }
        covered
    }

    /// Probability of one cell.
    pub fn weight(&self, cell: usize) -> f64 {
        self.wide[cell / self.long.len()] * self.long[cell % self.long.len()]
    }

    pub fn weights(&self) -> Vec<f64> {
        (0..self.wide.len() * self.long.len()).map(|cell| self.weight(cell)).collect()
    }

    /// What this rectangle adds to what is covered.
    pub fn gain(&self, covered: &Covered, reach: &Reach) -> f64 {
        self.cells(reach).filter(|cell| !covered[*cell]).map(|cell| self.weight(cell)).sum()
    }

    pub fn share(&self, covered: &Covered) -> f64 {
        self.sum(covered, &self.wide)
    }

    /// Of the vessel with this number.
    pub fn share_of(&self, covered: &Covered, vessel: usize) -> f64 {
        self.sum(covered, &self.by_vessel[vessel])
    }

    fn sum(&self, covered: &Covered, wide: &[f64]) -> f64 {
        let columns = self.long.len();
        let cells = covered.iter().enumerate().filter(|(_, covered)| **covered);
        cells.map(|(cell, _)| wide[cell / columns] * self.long[cell % columns]).sum()
    }
}

/// Rising, each once.
fn cuts(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut cuts: Vec<f64> = values.collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| same(*a, *b));
    cuts
}

/// The place of this cut, binary fractions allowed for.
fn place(cuts: &[f64], value: f64) -> usize {
    cuts.partition_point(|cut| *cut < value && !same(*cut, value))
}

//! Which lesions the shelf can't serve today, what one more box would add, and how small a shelf could be.
//!
//! A lesion is a lumen (normal, by segment) and a length that a device must have. One box serves the lumens that the
//! reference-diameter rule lets it serve (the next size down included) and the lengths from its own down to `excess`
//! shorter: so a box is a rectangle, and the share of lesions served is the area of their union, in closed form.
//! Lesions that need overlapping devices are not served by one, and count as not served.

mod demand;
mod grid;
mod size;
mod smallest;

pub use demand::{Demand, LEAST_OWN, Lengths, Vessel, needed_lengths};
pub use size::{Reach, Size};
pub use smallest::Smallest;

use super::Shelf;
use super::look::every_box;
use crate::catalogue::{Catalogue, Found};
use crate::measure::Kind;
use crate::policy::Policy;
use crate::units::at_least;
use chrono::NaiveDate;
use grid::Grid;
use serde::Serialize;

/// The share of the lesions of one vessel that a piece on hand serves.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// Which one, with its normal lumen and its weight.
    #[serde(flatten)]
    pub vessel: Vessel,
    /// 0 to 1.
    pub share: f64,
}

/// A size that is not on hand, and how much one piece of it would add to the share of all lesions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Gain {
    /// The size that is missing.
    #[serde(flatten)]
    pub size: Size,
    /// More of all lesions, 0 to 1, if this piece alone came.
    pub gain: f64,
}

/// What the shelf serves.
#[derive(Debug, Clone, PartialEq)]
pub struct Served {
    /// In the order of the demand.
    pub vessels: Vec<Share>,
    /// Of all lesions, each vessel counting by its weight.
    pub share: f64,
    /// If every size of the catalogue was there.
    pub possible: f64,
    /// The largest first.
    pub gains: Vec<Gain>,
    /// The smallest shelf found for the target.
    pub smallest: Smallest,
}

/// The most gains that are reported.
const GAINS: usize = 10;

/// Every size of these kinds that the catalogue has, with what each serves. Sizes that serve the same stand once, by
/// the first product.
pub fn sizes(catalogue: &Catalogue, kinds: &[Kind], policy: &Policy, demand: &Demand) -> Vec<Size> {
    let mut list: Vec<Size> = Vec::new();
    for found in every_box(catalogue).filter(|found| kinds.contains(&found.product().kind)) {
        let Some(size) = size_of(&found, policy, demand) else { continue };
        if list.iter().all(|other| other.reach != size.reach) {
            list.push(size);
        }
    }
    list
}

fn size_of(found: &Found, policy: &Policy, demand: &Demand) -> Option<Size> {
    let Found::Sized { product, platform, pack } = found else { return None };
    let [least, most] = policy.window.ratio;
    let own = platform.diameter.mm();
    let larger =
        product.diameters.iter().map(|p| p.diameter.mm()).find(|mm| *mm > own).unwrap_or(f64::INFINITY);
    let burst = platform.chart.as_ref().map(|chart| chart.at_rated_burst());
    // A limit that is not known is at least what the balloon itself reaches.
    let limit = platform.expansion_limit.or(burst).map_or(own, |limit| limit.mm());
    let down = (own + policy.window.next_size_down.mm()).min(larger / most).min(limit / least);
    let reach = Reach {
        lumen: [own / most, (own / least).max(down)],
        needed: [pack.length.mm() - demand.excess.mm(), pack.length.mm()],
    };
    Some(Size {
        product: product.id.clone(),
        name: product.name.clone(),
        reference: pack.reference.clone(),
        diameter: platform.diameter,
        length: pack.length,
        reach,
    })
}

/// What the shelf serves of this demand. `target` is the share of all lesions that the smallest shelf is to serve, 0 to
/// 1; where the whole catalogue does not serve it, that part of what the catalogue serves.
pub fn served(
    shelf: &Shelf,
    catalogue: &Catalogue,
    kinds: &[Kind],
    policy: &Policy,
    demand: &Demand,
    target: f64,
    today: NaiveDate,
) -> Served {
    let all = sizes(catalogue, kinds, policy, demand);
    let on_hand: Vec<Reach> = every_box(catalogue)
        .filter(|found| kinds.contains(&found.product().kind) && shelf.on_hand(found.di(), today) > 0)
        .filter_map(|found| size_of(&found, policy, demand).map(|size| size.reach))
        .collect();
    let reaches: Vec<Reach> = all.iter().map(|size| size.reach).collect();
    let grid = Grid::new(&reaches, demand);
    let covered = grid.cover(&on_hand);
    let mut gains: Vec<(usize, f64)> =
        reaches.iter().enumerate().map(|(at, reach)| (at, grid.gain(&covered, reach))).collect();
    gains.retain(|(_, gain)| *gain > 0.0);
    // Stable: of two that add as much, the first in the catalogue.
    gains.sort_by(|a, b| b.1.total_cmp(&a.1));
    gains.truncate(GAINS);
    let possible = grid.share(&grid.cover(&reaches));
    let goal = if at_least(possible, target) { target } else { target * possible };
    Served {
        vessels: (0..demand.vessels.len())
            .map(|at| Share { vessel: demand.vessels[at].clone(), share: grid.share_of(&covered, at) })
            .collect(),
        share: grid.share(&covered),
        possible,
        gains: gains.into_iter().map(|(at, gain)| Gain { size: all[at].clone(), gain }).collect(),
        smallest: smallest::find(&grid, &all, goal),
    }
}

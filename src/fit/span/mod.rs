//! One long lesion and a set of overlapping devices that spans it: the provably best one out of today's shelf.
//!
//! Best is: fewest devices, then fewest overlaps on a side branch, then a cover that is steady before one that is not,
//! then least total length, then least sum of |D - aim|.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "pieces, places and boxes of one plan: far below 2^31"
)]

mod along;
mod chain;
mod parts;
mod placed;
mod plan;
mod search;
mod share;
mod solve;
mod table;
mod ties;
mod together;

pub use plan::plan;
pub use together::{OfLesion, Together, together};

use super::Verdict;
use crate::measure::Caution;
use crate::units::{Diameter, Length};
use serde::Serialize;

/// How many plans are given at the most: the best, and others as good in devices and total length.
const PLANS: usize = 5;
/// The most devices that can be asked for. Design choice: nobody puts more into one lesion.
pub const MOST_DEVICES: usize = 12;

/// What a span can be asked beside the lesion.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Options {
    /// The longest that a set may cover; none: as long as it comes to.
    pub most: Option<Length>,
    /// At most this many devices, 1 to `MOST_DEVICES`; none: the policy's number.
    pub max_devices: Option<usize>,
    /// Devices that are in already, in any order.
    pub placed: Vec<Placed>,
    /// Stretches from the lesion's distal end, in which no overlap may lie: a side branch, a calcified bend.
    pub avoid: Vec<[Length; 2]>,
}

/// A device that is in already.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Labelled.
    pub diameter: Diameter,
    /// Labelled.
    pub length: Length,
    /// Its distal end, from the distal end of what is to be covered; may be before it (negative).
    pub at: Length,
}

/// The answer: the object of `span --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spanned<'a> {
    /// What has to be covered.
    pub length_min_mm: f64,
    /// Where there is no plan: the most that a set covers which holds every other condition.
    pub longest_mm: Option<f64>,
    /// Best first. None: a clean no.
    pub plans: Vec<Plan<'a>>,
    /// The set of one device fewer than the best plan that covers most, where it is short by little.
    pub one_fewer: Option<OneFewer<'a>>,
    /// Where the shelf gives no plan: the one piece more with which it would.
    pub one_more: Option<Device<'a>>,
    /// What is to be known besides.
    pub cautions: Vec<Caution>,
}

/// One set of devices that spans the lesion.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan<'a> {
    /// Distal first.
    pub devices: Vec<Device<'a>>,
    /// Between one device and the next; with devices that are in already, every overlap from distal on.
    pub overlaps_mm: Vec<f64>,
    /// Overlaps within one standard error of length of a side branch, by their planned places; each branch counts.
    pub overlaps_on_branch: usize,
    /// Lengths less overlaps.
    pub covered_mm: f64,
    /// Sum of the labelled lengths.
    pub metal_mm: f64,
    /// Whether it would still cover with every overlap as large as the policy allows.
    pub covers_at_largest_overlap: bool,
    /// Proved to be the best.
    pub optimal: bool,
    /// Where each device begins, from the lesion's distal end, in mm, with the overlaps as they are here.
    #[serde(skip)]
    pub begins_mm: Vec<f64>,
}

/// A set that would do but for a little of the need.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OneFewer<'a> {
    /// Distal first.
    pub devices: Vec<Device<'a>>,
    /// Between one device and the next.
    pub overlaps_mm: Vec<f64>,
    /// Lengths less overlaps.
    pub covered_mm: f64,
    /// The need less what is covered.
    pub short_mm: f64,
    /// The chance, 0 to 1, that it covers all the same: the length may be off by its standard error.
    pub chance: f64,
}

/// One box of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Device<'a> {
    /// The product's `id`.
    pub product: &'a str,
    /// Labelled.
    pub diameter_mm: f64,
    /// Labelled.
    pub length_mm: f64,
    /// The maker's catalogue number.
    #[serde(rename = "ref")]
    pub reference: &'a str,
    /// Where and how it is judged; none for a box that is only named.
    #[serde(flatten)]
    pub lies: Option<Lies>,
}

/// Where a device of a plan is, and what it is judged with there; its length apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lies {
    /// Where it begins, from the distal end of what is to be covered, by the planned overlaps.
    pub at_mm: f64,
    /// At once or after post-dilatation.
    pub verdict: Verdict,
    /// None: reach is not judged.
    pub proximal_target_mm: Option<f64>,
    /// None without a chart.
    pub deploy_atm: Option<f64>,
}

impl Spanned<'_> {
    /// Whether there is a plan.
    pub fn is_spanned(&self) -> bool {
        !self.plans.is_empty()
    }
}

/// Whether a set was proved to be first, in words: a rule's first is not what is best for anybody.
pub const fn proved(optimal: bool) -> &'static str {
    if optimal { "no better set by these rules (proved)" } else { "not proved first" }
}

//! What was measured, how, how sure that is, and whether it is believable.
//!
//! Invariant: knows vessels, not devices; the only thing it takes from `catalogue` is the bore of a guide. Pure.

pub mod arithmetic;
mod bad_input;
pub(crate) mod believe;
mod cautions;
mod check;
#[cfg(test)]
mod check_tests;
mod course;
pub mod file;
pub mod law;
mod ostium;
mod reading;
pub mod segment;
pub mod severity;
mod show;
mod side;
pub mod sides;
pub mod target;
pub mod vessel;

pub use bad_input::BadInput;
pub use check::{LIMIT_MM, check};
pub use target::Target;
pub use vessel::Vessel;

use crate::catalogue::Guide;
use crate::measure::{Caution, Dominance, Method, Rule, Site};
use crate::units::{Area, Diameter, French, Length};
use serde::{Deserialize, Serialize};
use serde_with::skip_serializing_none;

/// One diameter as it was typed in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reading {
    /// One number.
    One(Diameter),
    /// Two orthogonal diameters: their mean counts.
    Two(Diameter, Diameter),
    /// An area: the diameter of its circle counts.
    Area(Area),
}

/// What was measured of one lesion, as typed, nothing checked. Every field that was not given is `None`.
#[skip_serializing_none]
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Measurements {
    /// How it was measured.
    pub method: Option<Method>,
    /// Lumen at the proximal reference.
    pub proximal_lumen: Option<Reading>,
    /// EEM at the proximal reference.
    pub proximal_eem: Option<Reading>,
    /// Lumen at the distal reference.
    pub distal_lumen: Option<Reading>,
    /// EEM at the distal reference.
    pub distal_eem: Option<Reading>,
    /// The lesion's length by angiography and QCA, landing zone to landing zone by IVUS and OCT.
    pub length: Option<Length>,
    /// A side branch's lumen at its ostium.
    pub branch_lumen: Option<Reading>,
    /// From the distal end of what the length measures to the carina of the branch whose lumen this is.
    pub branch_at: Option<Length>,
    /// The same of further side branches, which count for overlaps only.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub further_branches_at: Vec<Length>,
    /// The longest device wanted.
    pub limit: Option<Length>,
    /// Asked for by name; else the policy's rule for the method.
    pub rule: Option<Rule>,
    /// The guide in use.
    pub guide: Option<French>,
    /// A segment's number or name.
    pub segment: Option<String>,
    /// None: the bands of both are asked.
    pub dominance: Option<Dominance>,
    /// Circumstances of the lesion.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sites: Vec<Site>,
}

/// Side branches that leave the lesion.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Branches {
    /// Lumen of the first at its ostium.
    pub lumen: Option<Diameter>,
    /// From the distal end of what has to be covered to each carina, the first in front.
    pub at: Vec<Length>,
}

/// One lesion whose measures have been checked, and what it asks of a device.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesion {
    /// How it was measured.
    pub method: Method,
    /// Lumen at the proximal reference.
    pub proximal_lumen: Option<Diameter>,
    /// EEM at the proximal reference, larger than the lumen there.
    pub proximal_eem: Option<Diameter>,
    /// Lumen at the distal reference.
    pub distal_lumen: Option<Diameter>,
    /// EEM at the distal reference, larger than the lumen there.
    pub distal_eem: Option<Diameter>,
    /// As `segment::NAMES` has it.
    pub segment: Option<String>,
    /// None: the bands of both are asked.
    pub dominance: Option<Dominance>,
    /// Each once.
    pub sites: Vec<Site>,
    /// Side branches that leave it.
    pub branches: Branches,
    /// The vessel from its distal end to its proximal one.
    pub vessel: Vessel,
    /// The guide in use.
    pub guide: Option<Guide>,
    /// What it asks of a device.
    pub target: Target,
    /// Suspicious but possible.
    pub cautions: Vec<Caution>,
}

//! What fits: window, reach, verdict, steadiness, rank.
//!
//! Invariant: knows no label and no journal; a pure function of catalogue, policy and lesion.

mod sensitivity;
mod answer;
pub mod balloon;
pub mod beside;
pub mod branch;
mod by_law;
pub mod carina;
mod coupled;
mod cover;
pub mod expansion;
mod explain;
mod facts;
pub mod guide;
mod judge;
mod kinds;
pub mod placed_device;
mod normal;
mod short_reason;
mod rank;
mod reasons;
pub mod span;
mod steady;
#[cfg(test)]
mod steady_tests;
#[cfg(test)]
mod verdict_tests;

pub use answer::{Answer, SizeAnswer};
pub use explain::explain;
pub use judge::{above_lumen, judge, small_vessel};
pub use kinds::kinds;
pub use rank::Behind;
pub use reasons::{Bound, Reason, ReasonCode};
pub use sensitivity::{Measure, Sensitivity};
pub use short_reason::ShortReason;

use crate::catalogue::{Catalogue, Pack, Platform, Product};
use crate::measure::Caution;
use crate::units::{Diameter, Length, Pressure};

crate::measure::words! {
    /// What the engine says of one size for one lesion.
    Verdict {
        Fits = "fits",
        FitsAfterPostDilatation = "fits-after-post-dilatation",
        Undersized = "undersized",
        Unknown = "unknown",
        No = "no",
    }
}

impl Verdict {
    /// As it is said.
    pub const fn words(self) -> &'static str {
        match self {
            Verdict::Fits => "fits",
            Verdict::FitsAfterPostDilatation => "fits after post-dilatation",
            Verdict::Undersized => "undersized",
            Verdict::Unknown => "unknown",
            Verdict::No => "does not fit",
        }
    }

    /// Can be used, at once or after post-dilatation.
    pub const fn is_fit(self) -> bool {
        matches!(self, Verdict::Fits | Verdict::FitsAfterPostDilatation)
    }
}

/// Where a box is in the catalogue: places instead of names, so that a box costs no allocation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Index into `Catalogue::products`.
    pub product: u32,
    /// Index into its diameters.
    pub platform: u32,
    /// Index into the boxes of that diameter.
    pub pack: u32,
}

/// What the engine says of one box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JudgedSize {
    /// Which box it is.
    pub place: Place,
    /// Labelled.
    pub diameter: Diameter,
    /// Labelled.
    pub length: Length,
    /// The first of the five that applies.
    pub verdict: Verdict,
    /// From 1, over the sizes that fit.
    pub rank: Option<u32>,
    /// Pieces in date; none without stock.
    pub on_shelf: Option<u32>,
    /// 0 to 1; none for `unknown`.
    pub steadiness: Option<f64>,
    /// None without a chart, and for a size that does not fit.
    pub deploy: Option<Pressure>,
    /// None where the guide's bore or what the product needs is not known.
    pub guide_ok: Option<bool>,
}

impl JudgedSize {
    /// Of the catalogue that was judged.
    pub fn product<'a>(&self, catalogue: &'a Catalogue) -> &'a Product {
        &catalogue.products[self.place.product as usize]
    }

    /// Of the catalogue that was judged.
    pub fn platform<'a>(&self, catalogue: &'a Catalogue) -> &'a Platform {
        &self.product(catalogue).diameters[self.place.platform as usize]
    }

    /// Of the catalogue that was judged.
    pub fn pack<'a>(&self, catalogue: &'a Catalogue) -> &'a Pack {
        &self.platform(catalogue).boxes[self.place.pack as usize]
    }

    /// True after post-dilatation, false at once, none for a size that does not fit.
    pub fn post_dilate(&self) -> Option<bool> {
        self.verdict.is_fit().then_some(self.verdict == Verdict::FitsAfterPostDilatation)
    }
}

/// Every box of the kinds judged, in the catalogue's order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Judgement {
    /// One for each box.
    pub sizes: Vec<JudgedSize>,
    /// What `fit` itself has to tell; the lesion's own cautions are in the lesion.
    pub cautions: Vec<Caution>,
}

impl Judgement {
    /// The sizes that fit, best first.
    pub fn ranked(&self) -> Vec<&JudgedSize> {
        let mut ranked: Vec<_> = self.sizes.iter().filter(|size| size.rank.is_some()).collect();
        ranked.sort_unstable_by_key(|size| size.rank);
        ranked
    }
}

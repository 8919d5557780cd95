//! Which lesions are expected: lumens by vessel, lengths from the literature's lack or from the room's own cases.

use crate::journal::{Entry, Fact, struck};
use crate::lesion::segment;
use crate::measure::Dominance;
use crate::policy::Policy;
use crate::units::Length;
use serde::Serialize;
use std::collections::BTreeMap;

/// From so many measured lesions on, a room's own lengths count. Ours, no source.
pub const LEAST_OWN: usize = 30;

/// One vessel and its normal lumen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Vessel {
    /// The segment's number, as `segment::NAMES` has it.
    pub segment: &'static str,
    /// In words: `proximal LAD`.
    pub name: &'static str,
    /// Mean of its normal lumen, in mm, by the dominance that was asked for (`segment::calibre` has the
    /// source).
    pub mean_mm: f64,
    /// Standard deviation of the same, in mm.
    pub sd_mm: f64,
    /// Of all weights, 0 to 1.
    pub weight: f64,
}

/// How long a device has to be, margins within.
#[derive(Debug, Clone, PartialEq)]
pub enum Lengths {
    /// The lesion is log-normal with this median and this sigma of the logarithm; the margins are added.
    LogNormal {
        /// Median length of a lesion, in mm.
        median_mm: f64,
        /// Standard deviation of the natural logarithm of the length.
        sigma: f64,
        /// What is added to every lesion for both ends, in mm.
        margins_mm: f64,
    },
    /// What the room's own lesions needed, in mm, rising.
    Own(Vec<f64>),
}

/// What is asked of a shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// Those with a published normal lumen.
    pub vessels: Vec<Vessel>,
    /// One distribution for every vessel: no source has one for each.
    pub lengths: Lengths,
    /// A device serves a lesion only if it is less than this longer than needed.
    pub excess: Length,
}

/// Segments with a published normal lumen.
const VESSELS: [(&str, &str); 5] = [
    ("5", "left main"),
    ("6", "proximal LAD"),
    ("8", "distal LAD"),
    ("1", "proximal RCA"),
    ("11", "proximal LCx"),
];

/// Lesions of 16 mm in the middle, 95 % of them from 6 to 43 mm. Ours: no published table was at hand.
const MEDIAN_MM: f64 = 16.0;
const SIGMA: f64 = 0.5;

impl Demand {
    /// A device this much longer than needed covers healthy vessel. Ours, no source: stocked lengths lie up to 5 mm
    /// apart, seldom more.
    pub const EXCESS: Length = Length::from_mm(8.0);

    /// The published vessels, each counting alike (no source says how often each is treated here); lengths from the
    /// room's own lesions where there are enough, in mm as [`needed_lengths`] gives them.
    pub fn new(dominance: Dominance, own: Vec<f64>, policy: &Policy, excess: Length) -> Demand {
        let vessels = VESSELS.iter().filter_map(|(segment, name)| {
            let [mean_mm, sd_mm] = segment::calibre(segment, Some(dominance))?;
            Some(Vessel { segment, name, mean_mm, sd_mm, weight: 1.0 / VESSELS.len() as f64 })
        });
        let lengths = if own.len() >= LEAST_OWN {
            let mut own = own;
            own.sort_by(f64::total_cmp);
            Lengths::Own(own)
        } else {
            let margins_mm = 2.0 * policy.margin.angiography.mm();
            Lengths::LogNormal { median_mm: MEDIAN_MM, sigma: SIGMA, margins_mm }
        };
        Demand { vessels: vessels.collect(), lengths, excess }
    }
}

impl Vessel {
    /// Probability of a lumen in this range.
    pub(super) fn between(&self, [from, to]: [f64; 2]) -> f64 {
        let z = |mm: f64| (mm - self.mean_mm) / self.sd_mm;
        (below(z(to)) - below(z(from))).max(0.0)
    }
}

impl Lengths {
    /// Probability that a device must be at most this long.
    pub fn at_most(&self, mm: f64) -> f64 {
        match self {
            Lengths::LogNormal { median_mm, sigma, margins_mm } => match mm - margins_mm {
                lesion if lesion > 0.0 => below((lesion / median_mm).ln() / sigma),
                _ => 0.0,
            },
            Lengths::Own(own) => own.partition_point(|needed| *needed <= mm) as f64 / own.len().max(1) as f64,
        }
    }

    /// Probability of a needed length in this range, the first excluded.
    pub(super) fn between(&self, [from, to]: [f64; 2]) -> f64 {
        (self.at_most(to) - self.at_most(from)).max(0.0)
    }
}

/// Probability that a standard normal value is below z.
fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// How long a device each lesion of the journal needed, in mm, by its last measurement: the length with the margins
/// of its method. What was struck out does not count.
pub fn needed_lengths<'a>(entries: impl IntoIterator<Item = &'a Entry>, policy: &Policy) -> Vec<f64> {
    let entries: Vec<&Entry> = entries.into_iter().collect();
    let struck = struck(entries.iter().copied());
    let mut last = BTreeMap::new();
    for entry in entries.into_iter().filter(|entry| !struck.contains(&entry.seq)) {
        let Fact::LesionMeasured { lesion, measured } = &entry.fact else { continue };
        let key = (entry.case.clone(), *lesion);
        match (measured.length, measured.method) {
            (Some(length), Some(method)) => {
                last.insert(key, length.mm() + 2.0 * policy.margin.of(method).mm());
            }
            _ => _ = last.remove(&key),
        }
    }
    last.into_values().collect()
}

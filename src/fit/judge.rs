//! Every box of the kinds judged: verdict, facts of the shelf and the guide, rank.

#![allow(clippy::cast_possible_truncation, reason = "places in a catalogue: far below 2^32")]

use super::facts::{Facts, Frame, Point};
use super::steady::Steady;
use super::{JudgedSize, Judgement, Place, Verdict, rank};
use crate::catalogue::{Catalogue, InDate, Piece, Platform, Product};
use crate::lesion::Lesion;
use crate::lesion::target::{aim, closed_by_proximal};
use crate::measure::{Caution, CautionCode, Kind, Rule};
use crate::policy::Policy;
use crate::sources::cite;
use crate::units::{Diameter, Pressure, TOLERANCE, at_least, at_most};
use chrono::NaiveDate;

/// D above this times the distal lumen is reported. Source: @costa-2008 (axial miss).
const LARGE_RATIO: f64 = 1.3;

impl Point {
    /// The measures themselves.
    pub(crate) fn measured(lesion: &Lesion) -> Self {
        let target = &lesion.target;
        let mm = |d: crate::units::Diameter| d.mm();
        Point::of(target.rule, target.distal.mm(), target.proximal.map(mm), target.proximal_target.map(mm))
    }

    /// From the measures of the rule's own border at both ends of a device, and its proximal target; in mm.
    pub(crate) fn of(rule: Rule, distal: f64, proximal: Option<f64>, p: Option<f64>) -> Self {
        Point {
            x: aim(rule, distal, proximal),
            y: proximal.filter(|_| closed_by_proximal(rule)).unwrap_or(f64::INFINITY),
            p: p.unwrap_or(f64::NEG_INFINITY),
        }
    }
}

/// Judges every box of these kinds, in the catalogue's order. `stock` is the pieces on the shelf, if known;
/// only those in date `today` count.
pub fn judge(
    catalogue: &Catalogue,
    kinds: &[Kind],
    lesion: &Lesion,
    policy: &Policy,
    stock: Option<&[Piece]>,
    today: NaiveDate,
) -> Judgement {
    let shelf = stock.map(|pieces| InDate::new(pieces, today));
    let frame = Frame { rule: lesion.target.rule, window: policy.window, tolerance: TOLERANCE };
    let point = Point::measured(lesion);
    let mut steady = Steady::new(lesion, policy);
    let judged = || catalogue.products.iter().enumerate().filter(|(_, p)| kinds.contains(&p.kind));
    let count = judged().flat_map(|(_, p)| &p.diameters).map(|d| d.boxes.len()).sum();
    let mut sizes = Vec::with_capacity(count);
    for (product_index, product) in judged() {
        let guide_ok = guide_takes(lesion, product);
        for (index, platform) in product.diameters.iter().enumerate() {
            let facts = Facts::of(product, index);
            let conditions = facts.conditions(&frame, point);
            let class = conditions.verdict(frame.rule);
            let deploy = deploy(platform, conditions.reach, lesion);
            let by_diameter = steady.by_diameter(&facts);
            for (box_index, pack) in platform.boxes.iter().enumerate() {
                let length = pack.length.mm();
                let verdict = if length_holds(lesion, length) { class } else { Verdict::No };
                sizes.push(JudgedSize {
                    place: Place {
                        product: product_index as u32,
                        platform: index as u32,
                        pack: box_index as u32,
                    },
                    diameter: platform.diameter,
                    length: pack.length,
                    verdict,
                    rank: None,
                    on_shelf: shelf.as_ref().map(|shelf| shelf.count(&pack.di)),
                    steadiness: (verdict != Verdict::Unknown).then(|| by_diameter * steady.by_length(length)),
                    deploy: deploy.filter(|_| verdict.is_fit()),
                    guide_ok,
                });
            }
        }
    }
    rank::rank(&mut sizes, catalogue, lesion);
    let cautions = large_for_lumen(&sizes, lesion).into_iter().collect();
    Judgement { sizes, cautions }
}

/// Long enough, and no longer than wanted.
pub(super) fn length_holds(lesion: &Lesion, length: f64) -> bool {
    at_least(length, lesion.target.length_min.mm())
        && lesion.target.limit.is_none_or(|limit| at_most(length, limit.mm()))
}

/// None where the bore or the product's need is not known.
pub(super) fn guide_takes(lesion: &Lesion, product: &Product) -> Option<bool> {
    Some(at_least(lesion.guide?.inner.inches(), product.guide_min_id?.inches()))
}

/// Nominal pressure, or the one at which the chart gives the proximal target where the balloon reaches it.
fn deploy(platform: &Platform, reach: Option<f64>, lesion: &Lesion) -> Option<Pressure> {
    let chart = platform.chart.as_ref()?;
    match lesion.target.proximal_target {
        Some(target) if !at_most(target.mm(), platform.diameter.mm()) && at_most(target.mm(), reach?) => {
            chart.pressure_for(target)
        }
        _ => platform.nominal(),
    }
}

/// Of the first size that fits and is that large.
fn large_for_lumen(sizes: &[JudgedSize], lesion: &Lesion) -> Option<Caution> {
    sizes.iter().filter(|size| size.verdict.is_fit()).find_map(|size| above_lumen(size.diameter, lesion))
}

/// Said of a labelled diameter above 1.3 times the distal lumen, where that was measured: by `fit` of the sizes
/// that fit, on the screens of the size under the cursor.
pub fn above_lumen(diameter: Diameter, lesion: &Lesion) -> Option<Caution> {
    let lumen = lesion.distal_lumen.filter(|lumen| !at_most(diameter.mm(), LARGE_RATIO * lumen.mm()))?;
    let source = cite!("costa-2008");
    let message = format!("{diameter} is above 1.3 times the distal lumen {lumen} ({source}).");
    Some(Caution::new(CautionCode::DiameterAboveLumen, message))
}

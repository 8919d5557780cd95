//! Every box of the kinds judged: verdict, facts of the shelf and the guide, rank.

#![allow(clippy::cast_possible_truncation, reason = "places in a catalogue: far below 2^32")]

use super::facts::{Facts, Frame, Point};
use super::steady::Steady;
use super::{JudgedSize, Judgement, Place, Verdict, rank};
use crate::catalogue::{Catalogue, InDate, Piece, Platform, Product};
use crate::lesion::Lesion;
use crate::lesion::target::{aim, closed_by_proximal};
use crate::lesion::vessel::References;
use crate::measure::{Border, Caution, CautionCode, Kind, Rule};
use crate::policy::Policy;
use crate::sources::cite;
use crate::units::{Diameter, Pressure, TOLERANCE, at_least, at_most};
use chrono::NaiveDate;

/// D above this times the distal lumen is reported. Source: @costa-2008 (axial miss).
const LARGE_RATIO: f64 = 1.3;

/// A labelled diameter under this has a caution of its own, in mm: native vessels of 2.25 to 4.00 mm were studied
/// (@isight).
const SMALL_MM: f64 = 2.25;

impl Point {
    /// The measures themselves.
    pub(crate) fn measured(lesion: &Lesion) -> Self {
        Point::of(lesion.target.rule, &lesion.vessel.whole())
    }

    /// From what a device is judged against.
    pub(crate) fn of(rule: Rule, references: &References) -> Self {
        let References { distal, proximal, proximal_lumen, target } = *references;
        Point {
            x: aim(rule, distal, proximal),
            y: proximal.filter(|_| closed_by_proximal(rule)).unwrap_or(f64::INFINITY),
            p: target.unwrap_or(f64::NEG_INFINITY),
            lumen: proximal_lumen.unwrap_or(f64::INFINITY),
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
            let deploy = deploy(platform, conditions.reach, conditions.target);
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
    rank::rank(&mut sizes, catalogue, lesion, policy);
    let cautions = cautions(&sizes, lesion);
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

/// Nominal pressure, or the one at which the chart gives the proximal target (in mm; minus infinity: not judged) where
/// the balloon reaches it.
pub(super) fn deploy(platform: &Platform, reach: Option<f64>, target: f64) -> Option<Pressure> {
    let chart = platform.chart.as_ref()?;
    if !at_most(target, platform.diameter.mm()) && at_most(target, reach?) {
        return chart.pressure_for(Diameter::from_mm(target));
    }
    platform.nominal()
}

/// What the sizes that fit have to tell, and that none does.
fn cautions(sizes: &[JudgedSize], lesion: &Lesion) -> Vec<Caution> {
    let fitting = || sizes.iter().filter(|size| size.verdict.is_fit());
    let large = fitting().find_map(|size| above_lumen(size.diameter, lesion));
    let small = fitting().find_map(|size| small_vessel(size.diameter));
    let none = fitting().next().is_none();
    let smaller_end = none.then(|| rule_of_smaller_end(lesion)).flatten();
    large.into_iter().chain(small).chain(smaller_end).collect()
}

/// Nothing fits, and the proximal EEM is the smaller one: the rule that would take the smaller end.
fn rule_of_smaller_end(lesion: &Lesion) -> Option<Caution> {
    let [distal, proximal] = lesion.ends_of(Border::Eem);
    let smaller = proximal?.mm() < distal?.mm() - TOLERANCE;
    (smaller && lesion.target.rule == Rule::DistalEem).then(|| {
        let message =
            "Nothing fits: the proximal EEM is the smaller one, and rule smaller-eem would take it.";
        Caution::new(CautionCode::RuleSmallerEemTakesIt, message)
    })
}

/// Said of a labelled diameter under 2.25: by `fit` where one fits, on the screens of the size under the cursor.
pub fn small_vessel(diameter: Diameter) -> Option<Caution> {
    (!at_least(diameter.mm(), SMALL_MM)).then(|| {
        let source = cite!("isight");
        let message = format!(
            "{diameter} is a small vessel's size: vessels of 2.25 to 4.00 mm were studied ({source})."
        );
        Caution::new(CautionCode::DiameterSmallVessel, message)
    })
}

/// Said of a labelled diameter above 1.3 times the distal lumen, where that was measured: by `fit` of the sizes
/// that fit, on the screens of the size under the cursor.
pub fn above_lumen(diameter: Diameter, lesion: &Lesion) -> Option<Caution> {
    above(diameter, lesion.distal_lumen?)
}

/// The same of the lumen where a device begins.
pub(super) fn above(diameter: Diameter, lumen: Diameter) -> Option<Caution> {
    is_above_lumen(diameter.mm(), lumen.mm()).then(|| {
        let source = cite!("costa-2008");
        let message = format!("{diameter} is above 1.3 times the distal lumen {lumen} ({source}).");
        Caution::new(CautionCode::DiameterAboveLumen, message)
    })
}

/// In mm.
pub(super) fn is_above_lumen(diameter: f64, lumen: f64) -> bool {
    !at_most(diameter, LARGE_RATIO * lumen)
}

/// The bound of the same, in mm.
pub(super) const fn largest_for_lumen(lumen: f64) -> f64 {
    LARGE_RATIO * lumen
}

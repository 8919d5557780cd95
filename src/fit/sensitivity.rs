//! What to measure again: the measure on which a verdict hangs most.
//!
//! It is the one that has to be off by the fewest of its own standard errors, the others held, before the verdict on
//! the size is another one. Design choice: it can be worked out for every rule, and said in one breath.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a number of steps: small, whole and above 0"
)]

use super::facts::{Facts, Frame, Point};
use super::judge::length_holds;
use super::{JudgedSize, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::Lesion;
use crate::lesion::vessel::Measured;
use crate::policy::Policy;
use crate::units::TOLERANCE;

crate::measure::words! {
    /// One of the measures of a lesion, as it is said.
    Measure {
        DistalLumen = "distal lumen",
        DistalEem = "distal EEM",
        ProximalLumen = "proximal lumen",
        ProximalEem = "proximal EEM",
        BranchLumen = "side branch's lumen",
        Length = "length",
    }
}

/// How far a measure is followed, in its standard errors, and in which steps.
const FAR: f64 = 4.0;
const STEP: f64 = 0.05;
/// Halvings after which the place of a change is known to less than a millionth of a standard error.
const HALVINGS: u32 = 24;

/// A measure, and how many of its standard errors it may be off before the verdict changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// The measure to take again.
    pub measure: Measure,
    /// Its own standard errors, more than 0 and at most 4.
    pub errors: f64,
}

impl Measure {
    /// Its value among the measures of a vessel.
    fn of(self, measured: &mut Measured) -> Option<&mut f64> {
        match self {
            Measure::DistalLumen => measured.lumen[0].as_mut(),
            Measure::DistalEem => measured.eem[0].as_mut(),
            Measure::ProximalLumen => measured.lumen[1].as_mut(),
            Measure::ProximalEem => measured.eem[1].as_mut(),
            Measure::BranchLumen => measured.branch_lumen.as_mut(),
            Measure::Length => None,
        }
    }
}

impl JudgedSize {
    /// The measure on which this size's verdict hangs most. None where no measure within four standard errors
    /// changes it, or the policy has none. The catalogue, lesion and policy are those that it was judged with.
    pub fn most_sensitive_to(
        &self,
        catalogue: &Catalogue,
        lesion: &Lesion,
        policy: &Policy,
    ) -> Option<Sensitivity> {
        let error = policy.error.of(lesion.method);
        let facts = Facts::of(self.product(catalogue), self.place.platform as usize);
        let frame = Frame { rule: lesion.target.rule, window: policy.window, tolerance: TOLERANCE };
        let vessel = &lesion.vessel;
        let verdict = |measured: Measured| {
            facts.class(&frame, Point::of(frame.rule, &vessel.measured_as(measured).whole()))
        };
        let mut least: Option<Sensitivity> = None;
        if length_holds(lesion, self.length.mm()) {
            for measure in Measure::ALL {
                let changes = |errors: f64| {
                    let mut measured = vessel.measured();
                    let Some(value) = measure.of(&mut measured) else { return false };
                    *value += errors * error.diameter.mm();
                    is_other(self.verdict, verdict(measured))
                };
                least = nearer(least, *measure, first_change(changes));
            }
        }
        let slack = (self.length.mm() - lesion.target.length_min.mm()).abs();
        let within_limit = lesion.target.limit.is_none_or(|limit| self.length.mm() <= limit.mm() + TOLERANCE);
        if error.length.mm() > 0.0 && within_limit {
            let errors = slack / error.length.mm();
            least = nearer(least, Measure::Length, (errors <= FAR).then_some(errors));
        }
        least
    }
}

fn nearer(least: Option<Sensitivity>, measure: Measure, errors: Option<f64>) -> Option<Sensitivity> {
    match (least, errors) {
        (Some(least), Some(errors)) if least.errors <= errors => Some(least),
        (_, Some(errors)) => Some(Sensitivity { measure, errors }),
        (least, None) => least,
    }
}

/// Both verdicts that can be used count as one: what is asked is whether the size still can be.
const fn is_other(before: Verdict, after: Verdict) -> bool {
    before.is_fit() != after.is_fit()
}

/// The least number of errors, up or down, at which something changes.
fn first_change(changes: impl Fn(f64) -> bool) -> Option<f64> {
    let along = |sign: f64| {
        let steps = (FAR / STEP) as u32;
        let at = (1..=steps).map(|step| f64::from(step) * STEP).find(|errors| changes(sign * errors))?;
        let (mut low, mut high) = (at - STEP, at);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if changes(sign * middle) { high = middle } else { low = middle }
        }
        Some(high)
    };
    match (along(1.0), along(-1.0)) {
        (Some(up), Some(down)) => Some(up.min(down)),
        (up, down) => up.or(down),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{self, demo};
    use crate::fit::{Judgement, judge};
    use crate::lesion::{self, Measurements, Reading};
    use crate::measure::{Kind, Method};
    use crate::units::{Diameter, Length};

    fn demo_catalogue() -> Catalogue {
        let files: Vec<(String, String)> =
            demo::files().into_iter().map(|(name, text)| (name.to_string(), text.to_string())).collect();
        catalogue::read(&files).expect("the demo is free of faults")
    }

    fn judged(distal: f64, proximal: Option<f64>, length: f64) -> (Catalogue, Lesion, Judgement) {
        let mm = |value| Some(Reading::One(Diameter::from_mm(value)));
        let measured = Measurements {
            method: Some(Method::Ivus),
            distal_eem: mm(distal),
            proximal_eem: proximal.and_then(mm),
            length: Some(Length::from_mm(length)),
            ..Measurements::default()
        };
        let catalogue = demo_catalogue();
        let lesion = lesion::check(&measured, &Policy::default(), &catalogue.guides).expect("believed");
        let today = chrono::NaiveDate::from_ymd_opt(2026, 11, 25).expect("a day");
        let judgement =
            judge(&catalogue, &[Kind::DrugElutingStent], &lesion, &Policy::default(), None, today);
        (catalogue, lesion, judgement)
    }

    fn hangs(distal: f64, proximal: Option<f64>, length: f64, size: (f64, f64)) -> Sensitivity {
        let (catalogue, lesion, judgement) = judged(distal, proximal, length);
        let fell =
            |s: &&JudgedSize| s.product(&catalogue).id == "fell" && (s.diameter.mm(), s.length.mm()) == size;
        let size = judgement.sizes.iter().find(fell).expect("Fell has it");
        size.most_sensitive_to(&catalogue, &lesion, &Policy::default()).expect("something changes it")
    }

    /// Policy: IVUS has a standard error of 0.10 mm in diameter and 1.0 mm in length.
    #[test]
    fn the_measure_nearest_to_an_edge_is_named() {
        // 3.00 leaves the window when the distal EEM falls below 3.00: 0.3 standard errors away.
        let by_distal = hangs(3.03, None, 20.0, (3.0, 29.0));
        assert_eq!(by_distal.measure, Measure::DistalEem);
        assert!((by_distal.errors - 0.3).abs() < 1e-6, "{by_distal:?}");
        // The length has half a millimetre to spare, the EEM more than one of its errors.
        let by_length = hangs(3.12, None, 28.5, (3.0, 29.0));
        assert_eq!(by_length.measure, Measure::Length);
        assert!((by_length.errors - 0.5).abs() < 1e-9, "{by_length:?}");
        // The proximal EEM closes the window from above at 3.02.
        let by_proximal = hangs(3.2, Some(3.02), 20.0, (3.0, 29.0));
        assert_eq!(by_proximal.measure, Measure::ProximalEem);
        assert!((by_proximal.errors - 0.2).abs() < 1e-6, "{by_proximal:?}");
    }
}

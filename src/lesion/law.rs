//! The arithmetic of a bifurcation: one diameter from the other two, by one of three laws, in mm.
//!
//! Sources: @murray-1926, @finet-2007, @huo-2012. A law is a hint whether measures are believable; it never overrules
//! one.

use crate::measure::Law;
use crate::units::at_least;

/// Finet's factor.
pub(crate) const FINET: f64 = 0.678;

/// The exponent of a law of powers; none for Finet's.
pub(crate) fn exponent(law: Law) -> Option<f64> {
    match law {
        Law::Murray => Some(3.0),
        Law::HuoKassab => Some(7.0 / 3.0),
        Law::Finet => None,
    }
}

/// Whether the law adds powers of the diameters.
pub(crate) fn of_powers(law: Law) -> bool {
    exponent(law).is_some()
}

/// The mother of two daughters, whatever the law's domain.
pub(crate) fn mother(law: Law, a: f64, b: f64) -> f64 {
    match exponent(law) {
        Some(n) => (a.powf(n) + b.powf(n)).powf(1.0 / n),
        None => FINET * (a + b),
    }
}

/// The other daughter, whatever the law's domain; not a number where the mother is the smaller one.
pub(crate) fn daughter(law: Law, mother: f64, other: f64) -> f64 {
    match exponent(law) {
        Some(n) => (mother.powf(n) - other.powf(n)).powf(1.0 / n),
        None => mother / FINET - other,
    }
}

/// The mother of a main vessel and its side branch; none where the law has no answer: a daughter comes out not smaller
/// than the mother.
pub fn mother_of(law: Law, main: f64, side: f64) -> Option<f64> {
    let mother = mother(law, main, side);
    let answers = mother.is_finite() && !at_least(main, mother) && !at_least(side, mother);
    answers.then_some(mother)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The mothers of 3.0 and 2.5, and of 3.5 and 1.0 for which Finet's law fails: @huo-2012.
    #[test]
    fn each_law_makes_its_mother_or_none() {
        for (law, main, side, expected) in [
            (Law::Murray, 3.0, 2.5, Some(3.493)),
            (Law::HuoKassab, 3.0, 2.5, Some(3.722)),
            (Law::Finet, 3.0, 2.5, Some(3.729)),
            (Law::Finet, 3.5, 1.0, None),
            (Law::Finet, 1.0, 3.5, None),
        ] {
            let found = mother_of(law, main, side).map(|mm| (mm * 1000.0).round() / 1000.0);
            assert_eq!(found, expected, "{law} {main} {side}");
        }
    }
}

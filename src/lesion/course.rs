//! The measures of a lesion by border, and the vessel between them, for whoever draws it.

use super::Lesion;
use crate::measure::Border;
use crate::units::{Diameter, Length};

impl Lesion {
    /// The measures of one border, distal and proximal; none where it was not measured.
    pub fn ends_of(&self, border: Border) -> [Option<Diameter>; 2] {
        match border {
            Border::Lumen => [self.distal_lumen, self.proximal_lumen],
            Border::Eem => [self.distal_eem, self.proximal_eem],
        }
    }

    /// The reference of a border so far from the distal end of what is to be covered, as a device that begins there
    /// is judged. None where the distal end was not measured, and past either end: nothing was measured there.
    pub fn reference_at(&self, border: Border, at: Length) -> Option<Diameter> {
        self.ends_of(border)[0]?;
        if !(0.0..=self.target.length_min.mm()).contains(&at.mm()) {
            return None;
        }
        self.vessel.begins(border, at.mm()).map(Diameter::from_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesion::{Measurements, Reading, check};
    use crate::measure::Method;
    use crate::policy::Policy;

    fn lesion(method: Method, distal: f64, proximal: Option<f64>) -> Lesion {
        let mm = |value| Some(Reading::One(Diameter::from_mm(value)));
        let measured = Measurements {
            method: Some(method),
            distal_lumen: mm(distal),
            proximal_lumen: proximal.and_then(mm),
            length: Some(Length::from_mm(20.0)),
            ..Measurements::default()
        };
        check(&measured, &Policy::default(), &[]).expect("believed")
    }

    fn at(lesion: &Lesion, mm: f64) -> Option<f64> {
        lesion.reference_at(Border::Lumen, Length::from_mm(mm)).map(|d| (d.mm() * 1e6).round() / 1e6)
    }

    /// Straight between 3.0 and 3.5 over 20 mm: a quarter of a millimetre in the middle, by hand.
    #[test]
    fn the_reference_runs_straight_and_ends_where_nothing_was_measured() {
        let tapers = lesion(Method::Oct, 3.0, Some(3.5));
        let places = [0.0, 10.0, 20.0, -1.0, 20.5].map(|mm| at(&tapers, mm));
        assert_eq!(places, [Some(3.0), Some(3.25), Some(3.5), None, None]);
        let level = lesion(Method::Oct, 3.0, None);
        assert_eq!([0.0, 20.0].map(|mm| at(&level, mm)), [Some(3.0), Some(3.0)]);
        assert_eq!(level.reference_at(Border::Eem, Length::from_mm(0.0)), None);
    }

    /// The margins of angiography are 3 mm at each end (policy): 20 mm are 26 to be covered.
    #[test]
    fn the_margins_lie_outside_what_was_typed() {
        let eye = lesion(Method::Angiography, 3.0, None);
        assert_eq!(eye.target.length_min.mm(), 26.0);
    }
}

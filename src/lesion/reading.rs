//! One diameter as people type it.

use super::{BadInput, Reading, believe};
use crate::policy::Believed;
use crate::units::{Area, Diameter, marked, number};
use std::fmt;

impl Reading {
    /// Reads `3.0`, `3,0`, `2.9x3.1` (`×` and `X` too) or `7.1mm2`; spaces are not data. Millimetres, or
    /// square millimetres where `mm2` says so. Whether the value is believable is for `lesion::check`.
    ///
    /// # Errors
    /// Words that name what was typed and the forms that are read.
    pub fn parse(text: &str) -> Result<Reading, String> {
        let trimmed = text.trim();
        let refused = || {
            format!(
                "{trimmed:?} is not a diameter: type one (3.0), two orthogonal ones (2.9x3.1) or an area (7.1mm2)"
            )
        };
        let lower = trimmed.to_lowercase();
        let french = lower.strip_suffix("fr").or_else(|| lower.strip_suffix('f')).and_then(number);
        if let Some(gauge) = french.filter(|_| crate::control::holds("french-refused")) {
            let mm = crate::units::plain(gauge / 3.0);
            return Err(format!(
                "{trimmed:?} is French, not millimetres ({mm} mm?): type the diameter in mm"
            ));
        }
        if let Some(area) = lower.strip_suffix("mm2").or_else(|| lower.strip_suffix("mm²")) {
            return number(area).map(|a| Reading::Area(Area::from_mm2(a))).ok_or_else(refused);
        }
        match lower.split_once(['x', '×']) {
            Some((a, b)) => match (number(a), number(b)) {
                (Some(a), Some(b)) => Ok(Reading::Two(Diameter::from_mm(a), Diameter::from_mm(b))),
                _ => Err(refused()),
            },
            None => number(&lower).map(|d| Reading::One(Diameter::from_mm(d))).ok_or_else(refused),
        }
    }

    /// Why it is not believed, if it is not; each of two orthogonal diameters counts.
    pub(crate) fn refused(self, field: &str, believed: &Believed) -> Option<BadInput> {
        believe::reading(field, self, believed)
    }

    /// The diameter that counts: the mean of two, the circle of an area.
    pub fn diameter(self) -> Diameter {
        match self {
            Reading::One(diameter) => diameter,
            Reading::Two(a, b) => Diameter::from_mm((a.mm() + b.mm()) / 2.0),
            Reading::Area(area) => Diameter::of_area(area),
        }
    }
}

/// As typed: `{:?}` of a number keeps every digit and one decimal at least.
impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let text = match self {
            Reading::One(diameter) => format!("{:?}", diameter.mm()),
            Reading::Two(a, b) => format!("{:?}x{:?}", a.mm(), b.mm()),
            Reading::Area(area) => format!("{:?}mm2", area.mm2()),
        };
        f.pad(&marked(text))
    }
}

impl std::str::FromStr for Reading {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Reading::parse(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two(a: f64, b: f64) -> Reading {
        Reading::Two(Diameter::from_mm(a), Diameter::from_mm(b))
    }

    // Common practice, no source.
    #[test]
    fn the_three_forms_are_read_and_shown_again() {
        let cases = [
            ("3.0", Reading::One(Diameter::from_mm(3.0)), "3.0"),
            (" 3,05 ", Reading::One(Diameter::from_mm(3.05)), "3.05"),
            ("2.9x3.1", two(2.9, 3.1), "2.9x3.1"),
            ("2,9 X 3,1", two(2.9, 3.1), "2.9x3.1"),
            ("2.9×3.1", two(2.9, 3.1), "2.9x3.1"),
            ("7.1mm2", Reading::Area(Area::from_mm2(7.1)), "7.1mm2"),
            ("7,1 mm²", Reading::Area(Area::from_mm2(7.1)), "7.1mm2"),
        ];
        for (text, reading, shown) in cases {
            assert_eq!(Reading::parse(text), Ok(reading), "{text:?}");
            assert_eq!(reading.to_string(), shown, "{text:?}");
        }
    }

    #[test]
    fn anything_else_is_refused_with_the_forms_that_are_read() {
        for text in ["", "x", "3x", "2.9x3.0x3.1", "3.0 mm3", "three", "3.", "mm2", "3.0-3.2", "7.1mm2x3"] {
            let error = Reading::parse(text).expect_err(text);
            assert!(error.contains("2.9x3.1") && error.contains("7.1mm2"), "{error}");
        }
    }

    #[test]
    fn a_pair_counts_as_its_mean_and_an_area_as_its_circle() {
        assert!((two(3.3, 3.1).diameter().mm() - 3.2).abs() < 1e-12);
        let circle = Reading::Area(Area::of_circle(Diameter::from_mm(3.0))).diameter();
        assert!((circle.mm() - 3.0).abs() < 1e-12);
    }
}

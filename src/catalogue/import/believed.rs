//! Which numbers are a labelled diameter or a labelled length, and in which unit they stand.
//!
//! The bands are narrower than what a product file may hold: here a slip is not seen by the person who typed it.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    reason = "decimals of a printed figure"
)]

use crate::units::same;

/// Labelled diameters are believed from 1 to 8 mm, on steps of 0.25 mm (and 1.2 mm, a balloon). A folded profile
/// (1.04 mm) or a shaft is not on them. Common practice, no source.
const DIAMETER_MM: [f64; 2] = [1.0, 8.0];
const DIAMETER_STEP_MM: f64 = 0.25;
const SMALL_BALLOON_MM: f64 = 1.2;
/// Labelled lengths are believed from 5 to 60 mm: usual single stents are 8 to 48 (from memory).
const LENGTH_MM: [f64; 2] = [5.0, 60.0];

/// The units that a release and free text name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Millimetre,
    Centimetre,
    Inch,
    French,
}

impl Unit {
    pub fn from_word(word: &str) -> Option<Unit> {
        Some(match word.to_ascii_lowercase().trim_end_matches('s') {
            "mm" | "millimeter" | "millimetre" => Unit::Millimetre,
            "cm" | "centimeter" | "centimetre" => Unit::Centimetre,
            "in" | "inch" | "inche" => Unit::Inch,
            "f" | "fr" | "french" => Unit::French,
            _ => return None,
        })
    }
}

/// A number as it was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    pub value: f64,
    /// Decimals written: 0.118 in means anything from 0.1175 to 0.1185.
    pub decimals: u32,
}

impl Figure {
    /// Reads digits with at most one decimal point or comma. A comma before three digits may part thousands, so it
    /// is not read.
    pub fn read(text: &str) -> Option<Figure> {
        let part = text.split_once(['.', ',']).map_or("", |(_, part)| part);
        if text.contains(',') && part.len() == 3 {
            return None;
        }
        let value = crate::units::number(text).filter(|value| *value > 0.0)?;
        Some(Figure { value, decimals: part.len() as u32 })
    }

    /// In millimetres, and how far off the writing may be. None for French: a gauge is a catheter's.
    pub fn millimetres(self, unit: Unit) -> Option<(f64, f64)> {
        let half = 0.5 / 10f64.powi(self.decimals as i32);
        match unit {
            Unit::Millimetre => Some((self.value, 0.0)),
            Unit::Centimetre => Some((self.value * 10.0, 0.0)),
            // Inches are converted ones: the metric size that was meant is within the last decimal written.
            Unit::Inch => Some((self.value * 25.4, half * 25.4)),
            Unit::French => None,
        }
    }
}

/// The labelled diameter that was meant, in mm; none where no single one is believed.
pub fn diameter((mm, off): (f64, f64)) -> Option<f64> {
    let [least, most] = DIAMETER_MM;
    let kept = if off > 0.0 {
        only_step(mm, off, DIAMETER_STEP_MM)?
    } else if same(mm, SMALL_BALLOON_MM) {
        SMALL_BALLOON_MM
    } else {
        let step = (mm / DIAMETER_STEP_MM).round() * DIAMETER_STEP_MM;
        if !same(mm, step) {
            return None;
        }
        step
    };
    (least..=most).contains(&kept).then_some(kept)
}

/// The labelled length that was meant, in mm; none where no single one is believed.
pub fn length((mm, off): (f64, f64)) -> Option<f64> {
    let [least, most] = LENGTH_MM;
    let kept = if off > 0.0 { only_step(mm, off, 1.0)? } else { (mm * 10.0).round() / 10.0 };
    (same(kept, mm) || off > 0.0).then_some(kept).filter(|kept| (least..=most).contains(kept))
}

/// The one multiple of a step within reach; none where there is none or more than one.
fn only_step(mm: f64, off: f64, step: f64) -> Option<f64> {
    let (first, last) = (((mm - off) / step).ceil(), ((mm + off) / step).floor());
    (same(first, last)).then_some(first * step)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(text: &str, unit: Unit) -> (f64, f64) {
        Figure::read(text).unwrap().millimetres(unit).unwrap()
    }

    /// 1 in = 25.4 mm by definition; the sizes are arithmetic.
    #[test]
    fn inches_are_taken_back_to_the_size_that_was_meant() {
        assert_eq!(diameter(mm("0.118", Unit::Inch)), Some(3.0));
        assert_eq!(diameter(mm("0.087", Unit::Inch)), None, "2.21 mm is no labelled diameter");
        assert_eq!(diameter(mm("0.1", Unit::Inch)), None, "1.27 to 3.81 mm holds many");
        assert_eq!(length(mm("1.10", Unit::Inch)), Some(28.0));
        assert_eq!(length(mm("1.1", Unit::Inch)), None);
    }

    #[test]
    fn a_profile_a_shaft_and_a_slip_are_no_sizes() {
        assert_eq!(diameter(mm("1.04", Unit::Millimetre)), None);
        assert_eq!(diameter(mm("28", Unit::Millimetre)), None);
        assert_eq!(diameter(mm("0.3", Unit::Centimetre)), Some(3.0));
        assert_eq!(length(mm("140", Unit::Centimetre)), None);
        assert_eq!(length(mm("2.8", Unit::Centimetre)), Some(28.0));
        assert_eq!(length(mm("22.5", Unit::Millimetre)), Some(22.5));
        assert_eq!(Figure::read("9").unwrap().millimetres(Unit::French), None);
        assert_eq!(Figure::read("1,000"), None);
    }
}

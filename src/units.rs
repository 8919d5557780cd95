//! Millimetres, atmospheres, French, inches: types, so that 28 can't be a diameter.
//!
//! Invariant: knows no other module. Pure: no clock, no file, no terminal.
//!
//! Sources: 1 in = 25.4 mm, 1 atm = 101.325 kPa and 1 psi = 6894.757293168 Pa by definition
//! (@nist-sp-811); 1 Fr = 1/3 mm (@french-gauge).

mod counted;
mod decimal;

pub use counted::{by_count, counted};
pub use decimal::{Decimal, Figure, marked, shown_with};

use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use std::fmt;

/// Comparisons of measured against labelled values allow this much, in the unit compared, for binary fractions.
pub const TOLERANCE: f64 = 1e-9;

/// `a <= b`, binary fractions allowed for.
pub fn at_most(a: f64, b: f64) -> bool {
    a <= b + TOLERANCE
}

/// `a >= b`, binary fractions allowed for.
pub fn at_least(a: f64, b: f64) -> bool {
    a >= b - TOLERANCE
}

/// `a == b`, binary fractions allowed for.
pub fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= TOLERANCE
}

/// Reads a finite number as people type it: a decimal comma is a decimal point, a sign is accepted, spaces
/// around it are not data. `None` for anything else (`1,000.0`, `3.`, `1e3`, nothing at all).
pub fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, part) = match digits.split_once(['.', ',']) {
        Some((whole, part)) => (whole, Some(part)),
        None => (digits, None),
    };
    let all_digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let well_formed = match part {
        None => all_digits(whole),
        Some(part) => all_digits(part) && (whole.is_empty() || all_digits(whole)),
    };
    if !well_formed {
        return None;
    }
    text.replace(',', ".").parse().ok().filter(|value: &f64| value.is_finite())
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $make:ident, $get:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Takes the value as it is; what is believable is asked elsewhere.
            pub const fn $make(value: f64) -> Self {
                $name(value)
            }

            /// The value in the unit of the name.
            pub const fn $get(self) -> f64 {
                self.0
            }
        }
    };
}

quantity! {
    /// A diameter across the vessel or the device, in millimetres. Shown with two decimals.
    Diameter, from_mm, mm
}
quantity! {
    /// A length along the vessel, in millimetres. Shown without decimals where it is whole.
    Length, from_mm, mm
}
quantity! {
    /// A cross-sectional area, in square millimetres.
    Area, from_mm2, mm2
}
quantity! {
    /// An inflation pressure above the ambient, in standard atmospheres.
    Pressure, from_atm, atm
}
quantity! {
    /// The French gauge: an outer diameter in thirds of a millimetre.
    French, new, gauge
}
quantity! {
    /// A bore or a wire, in inches.
    Inches, new, inches
}

impl Diameter {
    /// The circle of this area: d = 2 √(A/π).
    pub fn of_area(area: Area) -> Self {
        Diameter(2.0 * (area.0 / PI).sqrt())
    }
}

impl Area {
    /// The circle of this diameter: A = π/4 d².
    pub fn of_circle(diameter: Diameter) -> Self {
        Area(PI / 4.0 * diameter.0 * diameter.0)
    }
}

impl Pressure {
    /// 1 atm is 101.325 kPa by definition.
    pub fn kpa(self) -> f64 {
        self.0 * 101.325
    }

    /// 1 bar is 100 kPa.
    pub fn bar(self) -> f64 {
        self.0 * 1.01325
    }

    /// 1 psi is 6894.757293168 Pa by definition.
    pub fn psi(self) -> f64 {
        self.kpa() * 1000.0 / 6_894.757_293_168
    }
}

impl French {
    /// The outer diameter: three French are a millimetre.
    pub fn diameter(self) -> Diameter {
        Diameter(self.0 / 3.0)
    }
}

impl Inches {
    /// In millimetres: an inch is 25.4.
    pub fn diameter(self) -> Diameter {
        Diameter(self.0 * 25.4)
    }
}

impl fmt::Display for Diameter {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&decimal::marked(format!("{:.2}", self.0)))
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

impl fmt::Display for Pressure {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&plain(self.0))
    }
}

impl fmt::Display for French {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(&format!("{} Fr", plain(self.0)))
    }
}

/// A number for people: whole where it is whole, else at most two decimals (`28`, `22.5`, `2.75`).
pub fn plain(value: f64) -> String {
    let text = format!("{value:.2}");
    decimal::marked(text.trim_end_matches('0').trim_end_matches('.').to_string())
}

/// Reads a size as it is asked for, diameter first: `3 29`, `3.0x29`, `3,0 × 29`. `None` where it is not two
/// numbers; whether they are believable is the policy's business.
pub fn size(text: &str) -> Option<(Diameter, Length)> {
    let parts = text.split(|c: char| c.is_whitespace() || matches!(c, 'x' | 'X' | '×' | '*'));
    let mut numbers = parts.filter(|part| !part.is_empty()).map(number);
    let (diameter, length) = (numbers.next()??, numbers.next()??);
    numbers.next().is_none().then_some((Diameter::from_mm(diameter), Length::from_mm(length)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_type_them() {
        for (text, value) in [("3", 3.0), ("3.25", 3.25), ("3,25", 3.25), (" ,5 ", 0.5), ("-1", -1.0)] {
            assert_eq!(number(text), Some(value), "{text:?}");
        }
        for text in ["", ".", "3.", "3..2", "1,000.0", "1e3", "nan", "inf", "3 2", "٣"] {
            assert_eq!(number(text), None, "{text:?}");
        }
    }

    #[test]
    fn sizes_are_read_diameter_first() {
        let wanted = Some((Diameter::from_mm(3.0), Length::from_mm(29.0)));
        for text in ["3 29", "3.0x29", "3,0 × 29", " 3.00  29 ", "3X29"] {
            assert_eq!(size(text), wanted, "{text:?}");
        }
        for text in ["", "3", "3 29 1", "3 a", "x", "3x"] {
            assert_eq!(size(text), None, "{text:?}");
        }
    }

    #[test]
    fn sizes_are_shown_as_the_trade_writes_them() {
        assert_eq!(Diameter::from_mm(3.0).to_string(), "3.00");
        assert_eq!(Length::from_mm(38.0).to_string(), "38");
        assert_eq!(Length::from_mm(22.5).to_string(), "22.5");
        assert_eq!(format!("{:>6}", Diameter::from_mm(2.25)), "  2.25");
    }
}

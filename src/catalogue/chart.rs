//! Reading a pressure chart: straight between its rows, never outside them.

use super::Chart;
use crate::units::{Diameter, Pressure, same};

/// What a chart says, and whether it says so on a row of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffChart<T> {
    pub value: T,
    pub on_row: bool,
}

impl Chart {
    /// The diameter in water at this pressure; `None` below the first row and above the last, which is rated
    /// burst.
    pub fn diameter_at(&self, pressure: Pressure) -> Option<Diameter> {
        self.diameter_read(pressure).map(|read| read.value)
    }

    /// The pressure at which the diameter in water is this one; `None` outside the rows.
    pub fn pressure_for(&self, diameter: Diameter) -> Option<Pressure> {
        self.pressure_read(diameter).map(|read| read.value)
    }

    /// As `diameter_at`, and whether the answer is a row of the chart.
    pub fn diameter_read(&self, pressure: Pressure) -> Option<OffChart<Diameter>> {
        let rows = self.rows.iter().map(|(atm, mm)| (atm.atm(), mm.mm()));
        between(rows, pressure.atm()).map(|(mm, on_row)| OffChart { value: Diameter::from_mm(mm), on_row })
    }

    /// As `pressure_for`, and whether the answer is a row of the chart.
    pub fn pressure_read(&self, diameter: Diameter) -> Option<OffChart<Pressure>> {
        let rows = self.rows.iter().map(|(atm, mm)| (mm.mm(), atm.atm()));
        between(rows, diameter.mm()).map(|(atm, on_row)| OffChart { value: Pressure::from_atm(atm), on_row })
    }

    /// The diameter in water at rated burst, the largest that the chart gives. (A chart that was loaded has at
    /// least the rows at nominal and at rated burst; one without rows gives 0.)
    pub fn at_rated_burst(&self) -> Diameter {
        self.rows.last().map_or(Diameter::from_mm(0.0), |row| row.1)
    }
}

/// The second column where the first is `x`, straight between the rows, and whether `x` is a row.
fn between(rows: impl Iterator<Item = (f64, f64)>, x: f64) -> Option<(f64, bool)> {
    let mut below: Option<(f64, f64)> = None;
    for (at, value) in rows {
        if same(at, x) {
            return Some((value, true));
        }
        if at > x {
            let (low, low_value) = below?;
            return Some((low_value + (value - low_value) * (x - low) / (at - low), false));
        }
        below = Some((at, value));
    }
    None
}

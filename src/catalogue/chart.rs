//! The pressure chart read between its rows, never beyond them.

use super::Chart;
use crate::units::{Diameter, Pressure, TOLERANCE};

impl Chart {
    /// The diameter at rated burst: the last row, in water.
    pub fn at_rated_burst(&self) -> Diameter {
        // A chart without rows does not load; no number can stand for one.
        self.rows.last().map_or(Diameter::from_mm(f64::NAN), |row| row.1)
    }

    /// The pressure that gives this diameter, straight between rows. None outside the rows.
    pub fn pressure_for(&self, d: Diameter) -> Option<Pressure> {
        let wanted = d.mm();
        if let Some(row) = self.rows.iter().find(|row| (row.1.mm() - wanted).abs() <= TOLERANCE) {
            return Some(row.0);
        }
        self.rows.windows(2).find_map(|pair| {
            let [(p0, d0), (p1, d1)] = [pair[0], pair[1]].map(|(p, d)| (p.atm(), d.mm()));
            let share = (wanted - d0) / (d1 - d0);
            (d0 < wanted && wanted < d1).then(|| Pressure::from_atm(p0 + share * (p1 - p0)))
        })
    }
}

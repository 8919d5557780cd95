//! The answer of `boxcall inflate`: pressure for a wanted diameter, and back, from the product's own chart.

use super::Platform;
use crate::units::{Diameter, Pressure, TOLERANCE};
use serde::Serialize;

/// What the chart of one labelled diameter answers. Diameters are "chart diameter, in water": in the vessel the
/// chart is not met (Aziz 2007 Heart 93:1562), so nothing here foretells a lumen.
///
/// Not reachable (outside the rows, past rated burst, no chart): both booleans false and the value that was
/// asked for null; the one that was given stays.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Inflate {
    pub atm: Option<f64>,
    pub diameter_mm: Option<f64>,
    /// None, like rated burst, where the product's file does not say.
    pub nominal_atm: Option<f64>,
    pub rated_burst_atm: Option<f64>,
    pub reachable: bool,
    /// False exactly on a row of the chart.
    pub interpolated: bool,
}

impl Inflate {
    /// `--to MM`: the pressure at which the chart gives this diameter.
    pub fn to(platform: &Platform, wanted: Diameter) -> Self {
        let read = platform.chart.as_ref().and_then(|chart| chart.pressure_read(wanted));
        Inflate {
            atm: read.map(|read| read.value.atm()),
            diameter_mm: Some(wanted.mm()),
            nominal_atm: platform.nominal.known().map(Pressure::atm),
            rated_burst_atm: platform.rated_burst.known().map(Pressure::atm),
            reachable: read.is_some(),
            interpolated: read.is_some_and(|read| !read.on_row),
        }
    }

    /// `--at ATM`: the diameter that the chart gives at this pressure.
    pub fn at(platform: &Platform, pressure: Pressure) -> Self {
        let read = platform.chart.as_ref().and_then(|chart| chart.diameter_read(pressure));
        Inflate {
            atm: Some(pressure.atm()),
            diameter_mm: read.map(|read| read.value.mm()),
            nominal_atm: platform.nominal.known().map(Pressure::atm),
            rated_burst_atm: platform.rated_burst.known().map(Pressure::atm),
            reachable: read.is_some(),
            interpolated: read.is_some_and(|read| !read.on_row),
        }
    }

    /// The whole atmosphere that a gauge is set to: the next one up, and what the chart gives there. The diameter
    /// is `None` where that atmosphere lies past rated burst or the chart's last row; the whole is `None` where
    /// nothing is reachable.
    pub fn whole_atm(&self, platform: &Platform) -> Option<(Pressure, Option<Diameter>)> {
        let atm = self.atm.filter(|_| self.reachable)?;
        let whole = Pressure::from_atm((atm - TOLERANCE).ceil());
        Some((whole, platform.chart.as_ref().and_then(|chart| chart.diameter_at(whole))))
    }
}

//! The answer of `boxcall inflate`: pressure for a wanted diameter, and back, from the product's own chart.

use super::Platform;
use crate::sources;
use crate::units::{Diameter, Pressure, TOLERANCE, at_most};
use serde::Serialize;

/// What is said beside every chart diameter.
pub fn in_water() -> String {
    "Chart diameter, in water: in the vessel the chart is not met.".into()
}

/// The same beside the chart of a stent's own balloon, of which alone it was measured by how much.
pub fn in_water_on_delivery_balloon() -> String {
    sources::in_words(
        "Chart diameter, in water: under their delivery balloon alone, stents left a lumen 27 % below the chart (499 \
         lesions, @aziz-2007), and reached 0.74 of its diameter and 0.63 of its area (99 patients, @ajc-2010).",
    )
}

/// What the chart of one labelled diameter answers. Diameters are "chart diameter, in water": in the vessel the
/// chart is not met (@aziz-2007), so nothing here foretells a lumen.
///
/// Not reachable (outside the rows, past rated burst, no chart): both booleans false and the value that was
/// asked for null; the one that was given stays.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Inflate {
    /// The pressure, in atm.
    pub atm: Option<f64>,
    /// The chart diameter, in mm.
    pub diameter_mm: Option<f64>,
    /// None, like rated burst, where the product's file does not say.
    pub nominal_atm: Option<f64>,
    /// In atm.
    pub rated_burst_atm: Option<f64>,
    /// The chart holds an answer, at or below rated burst.
    pub reachable: bool,
    /// False exactly on a row of the chart.
    pub interpolated: bool,
    /// Whether the diameter is at most the largest allowed; none where nobody named one, or nothing is reachable.
    pub within_ceiling: Option<bool>,
}

impl Inflate {
    /// `--to MM`: the pressure at which the chart gives this diameter.
    pub fn to(platform: &Platform, wanted: Diameter) -> Self {
        let read = platform.chart.as_ref().and_then(|chart| chart.pressure_read(wanted));
        Inflate {
            atm: read.map(|read| read.value.atm()),
            diameter_mm: Some(wanted.mm()),
            nominal_atm: platform.nominal().map(Pressure::atm),
            rated_burst_atm: platform.rated_burst().map(Pressure::atm),
            reachable: read.is_some(),
            interpolated: read.is_some_and(|read| !read.on_row),
            within_ceiling: None,
        }
    }

    /// `--at ATM`: the diameter that the chart gives at this pressure.
    pub fn at(platform: &Platform, pressure: Pressure) -> Self {
        let read = platform.chart.as_ref().and_then(|chart| chart.diameter_read(pressure));
        Inflate {
            atm: Some(pressure.atm()),
            diameter_mm: read.map(|read| read.value.mm()),
            nominal_atm: platform.nominal().map(Pressure::atm),
            rated_burst_atm: platform.rated_burst().map(Pressure::atm),
            reachable: read.is_some(),
            interpolated: read.is_some_and(|read| !read.on_row),
            within_ceiling: None,
        }
    }

    /// The same, held against the largest chart diameter allowed.
    pub fn below(self, ceiling: Option<Diameter>) -> Self {
        let mm = self.diameter_mm.filter(|_| self.reachable);
        Inflate { within_ceiling: mm.zip(ceiling).map(|(mm, ceiling)| at_most(mm, ceiling.mm())), ..self }
    }

    /// The whole atmosphere that a gauge is set to below a ceiling of chart diameter (the window's end, or the
    /// vessel): the next one up while the chart holds it, its diameter stays at or below the ceiling and it is not
    /// past rated burst; else the next one down. With the chart diameter there. None where nothing is reachable,
    /// or where the one down fails too.
    pub fn whole_atm_within(&self, platform: &Platform, ceiling: Diameter) -> Option<(Pressure, Diameter)> {
        let atm = self.atm.filter(|_| self.reachable)?;
        let chart = platform.chart.as_ref()?;
        let allowed = |whole: f64| {
            let pressure = Pressure::from_atm(whole);
            let there = chart.diameter_at(pressure)?;
            let burst = platform.rated_burst()?;
            let held = at_most(whole, burst.atm()) && at_most(there.mm(), ceiling.mm());
            held.then_some((pressure, there))
        };
        allowed((atm - TOLERANCE).ceil()).or_else(|| allowed((atm + TOLERANCE).floor()))
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

//! Invented products in a few words, for tests and benches: what is not said is not known.

use super::{Chart, Pack, Platform, Pressures, Product};
use crate::measure::Kind;
use crate::units::{Diameter, Length, Pressure};

impl Product {
    /// A verified drug-eluting stent of this id and name, of which nothing else is known.
    pub fn invented(id: impl Into<String>, diameters: Vec<Platform>) -> Product {
        let id = id.into();
        Product {
            name: id.clone(),
            id,
            maker: "Lowfell (invented)".into(),
            kind: Kind::DrugElutingStent,
            diameters,
            ..Product::blank()
        }
    }
}

impl Platform {
    /// A labelled diameter with boxes of these lengths, in mm: nominal 11 atm, rated burst 18 atm, no chart and no
    /// limit. The boxes carry no identifier; `reference` names each by its length.
    pub fn invented(mm: f64, lengths: &[f64], reference: impl Fn(f64) -> String) -> Platform {
        let pack = |length: &f64| Pack {
            length: Length::from_mm(*length),
            reference: reference(*length),
            di: Vec::new(),
        };
        Platform {
            diameter: Diameter::from_mm(mm),
            pressures: Some(Pressures::of(11.0, 18.0)),
            boxes: lengths.iter().map(pack).collect(),
            ..Platform::blank()
        }
    }

    /// With this expansion limit, in mm; None: not known.
    pub fn with_limit(self, mm: Option<f64>) -> Platform {
        Platform { expansion_limit: mm.map(Diameter::from_mm), ..self }
    }

    /// With these printed pressures, in atm; `with_chart_to` reads them, so it comes after.
    pub fn with_pressures(self, nominal_atm: f64, rated_burst_atm: f64) -> Platform {
        Platform { pressures: Some(Pressures::of(nominal_atm, rated_burst_atm)), ..self }
    }

    /// A chart of two rows: the labelled diameter at nominal, this one at rated burst. None: no chart.
    pub fn with_chart_to(self, mm: Option<f64>) -> Platform {
        let ends = self.pressures.zip(mm);
        let chart = ends.map(|(Pressures { nominal, rated_burst }, mm)| Chart {
            rows: vec![(nominal, self.diameter), (rated_burst, Diameter::from_mm(mm))],
        });
        Platform { chart, ..self }
    }
}

impl Pressures {
    /// Both in atmospheres.
    pub const fn of(nominal_atm: f64, rated_burst_atm: f64) -> Pressures {
        Pressures {
            nominal: Pressure::from_atm(nominal_atm),
            rated_burst: Pressure::from_atm(rated_burst_atm),
        }
    }
}

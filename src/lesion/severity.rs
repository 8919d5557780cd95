//! What measures of one lesion say of it: stenosis, plaque burden, true length, calcium.

use super::BadInput;
use super::arithmetic::{area_stenosis, calcium_score, plaque_burden, true_length};
use crate::sources::{Source, cite};
use crate::units::{Area, Figure, Length, at_most};
use serde::Serialize;

/// What was measured. A group counts when it is whole; none of it is not a fault.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Severity {
    /// Minimal lumen diameter and reference diameter, in mm.
    pub stenosis: Option<[f64; 2]>,
    /// Lumen and EEM area, in mm².
    pub plaque: Option<[f64; 2]>,
    /// Projected length in mm, and the angle out of its plane in degrees.
    pub seen: Option<[f64; 2]>,
    /// Arc in degrees, thickness and length in mm, by OCT.
    pub calcium: Option<[f64; 3]>,
}

/// The object of `lesion --json`. Nothing rounded; null where it was not asked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Says {
    /// Of the reference diameter.
    pub diameter_stenosis_percent: Option<f64>,
    /// Of a circle.
    pub area_stenosis_percent: Option<f64>,
    /// EEM area less lumen area, of the EEM area.
    pub plaque_burden_percent: Option<f64>,
    /// Along the vessel, seen again without foreshortening.
    pub true_length_mm: Option<f64>,
    /// 0 to 4.
    pub calcium_score: Option<u8>,
    /// What is to be known of an answer.
    pub caution: Option<&'static str>,
    /// Of every figure that was asked.
    pub sources: Vec<Source>,
}

/// What the source of the score found at four points, and below.
pub const SCORE_FOUR: &str = "Score 4: expansion 78 % in the cited series, 96 % at 0 to 3; consider preparation of the \
                              lesion.";

/// # Errors
/// Nothing asked; a value that is not above 0; a lumen larger than what holds it; an angle outside 0 to below 90,
/// an arc above 360 degrees. Every fault at once.
pub fn severity(asked: &Severity) -> Result<Says, Vec<BadInput>> {
    let mut bad = Vec::new();
    let mut refuse = |field: &str, value: f64, must: &str| {
        bad.push(BadInput::new(
            field,
            value,
            format!("{field} {value} is not believed: {must}; type it again"),
        ));
    };
    let positive = |value: f64| value.is_finite() && value > 0.0;
    let pairs = [("mld", "reference", asked.stenosis), ("lumen-area", "eem-area", asked.plaque)];
    for (inner, outer, pair) in pairs {
        let Some([within, around]) = pair else { continue };
        if !positive(around) {
            refuse(outer, around, "above 0");
        }
        if !positive(within) || !at_most(within, around) {
            refuse(inner, within, &format!("above 0 and not above {outer}"));
        }
    }
    if let Some([projected, angle]) = asked.seen {
        if !positive(projected) {
            refuse("projected", projected, "above 0 mm");
        }
        if !(0.0..90.0).contains(&angle) {
            refuse("angle", angle, "0 to below 90 degrees");
        }
    }
    if let Some([arc, thickness, length]) = asked.calcium {
        if !(0.0..=360.0).contains(&arc) {
            refuse("arc", arc, "0 to 360 degrees");
        }
        for (field, value) in [("thickness", thickness), ("calcium-length", length)] {
            if !positive(value) {
                refuse(field, value, "above 0 mm");
            }
        }
    }
    if *asked == Severity::default() {
        bad.push(BadInput::of_field("mld", "nothing to work out: give one group of options"));
    }
    if bad.is_empty() { Ok(says(asked)) } else { Err(bad) }
}

fn says(asked: &Severity) -> Says {
    let narrowed = asked.stenosis.map(|[mld, reference]| 100.0 * (1.0 - mld / reference));
    let score = asked.calcium.map(|[arc, thick, long]| calcium_score(arc, thick, Length::from_mm(long)));
    let seen = asked.seen.and_then(|[projected, angle]| true_length(Length::from_mm(projected), angle));
    let sources = [
        narrowed.map(|_| cite!("area-stenosis")),
        asked.plaque.map(|_| cite!("plaque-burden")),
        seen.map(|_| cite!("foreshortening")),
        score.map(|_| cite!("fujino-2018")),
    ];
    Says {
        diameter_stenosis_percent: narrowed,
        area_stenosis_percent: narrowed.map(area_stenosis),
        plaque_burden_percent: asked
            .plaque
            .map(|[lumen, eem]| plaque_burden(Area::from_mm2(eem), Area::from_mm2(lumen))),
        true_length_mm: seen.map(|length| length.mm()),
        calcium_score: score,
        caution: score.filter(|score| *score == 4).map(|_| SCORE_FOUR),
        sources: sources.into_iter().flatten().collect(),
    }
}

impl Says {
    /// A line for each that was asked, the caution and the sources.
    pub fn in_words(&self) -> String {
        let percent = |what: &str, value: Option<f64>| value.map(|value| format!("{what} {value:.0} %"));
        let lines = [
            percent("diameter stenosis", self.diameter_stenosis_percent),
            percent("area stenosis", self.area_stenosis_percent),
            percent("plaque burden", self.plaque_burden_percent),
            self.true_length_mm.map(|mm| format!("true length {:.1} mm", Figure(mm))),
            self.calcium_score.map(|score| format!("calcium score {score} of 4")),
            self.caution.map(str::to_string),
        ];
        let sources = self.sources.iter().map(|source| format!("[{source}]"));
        lines.into_iter().flatten().chain(sources).collect::<Vec<_>>().join("\n")
    }
}

//! What other programs and the screens read of a judgement.

use super::reasons::{self, Reason};
use super::sensitivity::Measure;
use super::{JudgedSize, Judgement, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::{Lesion, Target};
use crate::measure::{Caution, CautionCode};
use crate::policy::Policy;
use serde::Serialize;

/// The object of `fit --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer<'a> {
    /// What the lesion asks of a device.
    pub target: &'a Target,
    /// Every box of the kinds judged, in the order of the catalogue.
    pub sizes: Vec<SizeAnswer<'a>>,
    /// The lesion's, then the judgement's.
    pub cautions: Vec<Caution>,
}

/// One of its `sizes`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizeAnswer<'a> {
    /// The product's `id`.
    pub product: &'a str,
    /// Labelled.
    pub diameter_mm: f64,
    /// Labelled.
    pub length_mm: f64,
    /// The maker's catalogue number.
    #[serde(rename = "ref")]
    pub reference: &'a str,
    /// What the engine says of it.
    pub verdict: Verdict,
    /// From 1, over the sizes that fit.
    pub rank: Option<u32>,
    /// Pieces in date; none without stock.
    pub on_shelf: Option<u32>,
    /// The probability that it fits, 0 to 1; none for `unknown`.
    pub steadiness: Option<f64>,
    /// In atm; none without a chart, and for a size that does not fit.
    pub deploy_atm: Option<f64>,
    /// None for a size that does not fit.
    pub post_dilate: Option<bool>,
    /// None where the guide's bore or what the product needs is not known.
    pub guide_ok: Option<bool>,
    /// Why a size that fits is not first, in one line; none for the first and for those that don't fit.
    pub behind: Option<String>,
    /// Every condition of the verdict.
    pub reasons: Vec<Reason>,
}

/// Below this a size is called unsteady: about the middle between a coin toss and the best that a step of 0.25 mm
/// gives at a standard error of 0.1 mm (0.79, row PRB-03); design choice.
pub(super) const UNSTEADY: f64 = 0.65;
/// A neighbour at least this likely, against the size itself, is reported as equally possible; design choice.
const EQUALLY: f64 = 0.75;

impl Judgement {
    /// Everything with its reasons, for `--json`. Catalogue, lesion and policy are those judged with.
    pub fn answer<'a>(&self, catalogue: &'a Catalogue, lesion: &'a Lesion, policy: &Policy) -> Answer<'a> {
        let behind = self.behind(lesion, policy);
        let sizes = self.sizes.iter().map(|size| SizeAnswer {
            behind: behind.why(size),
            product: &size.product(catalogue).id,
            diameter_mm: size.diameter.mm(),
            length_mm: size.length.mm(),
            reference: &size.pack(catalogue).reference,
            verdict: size.verdict,
            rank: size.rank,
            on_shelf: size.on_shelf,
            steadiness: size.steadiness,
            deploy_atm: size.deploy.map(|pressure| pressure.atm()),
            post_dilate: size.post_dilate(),
            guide_ok: size.guide_ok,
            reasons: size.reasons(catalogue, lesion, policy),
        });
        Answer { target: &lesion.target, sizes: sizes.collect(), cautions: self.cautions_with(lesion) }
    }

    /// The lesion's cautions and its own, the gravest first: an end that is no landing zone, then what a size tells,
    /// then the rest.
    pub fn cautions_with(&self, lesion: &Lesion) -> Vec<Caution> {
        let (gravest, rest): (Vec<&Caution>, Vec<&Caution>) =
            lesion.cautions.iter().partition(|caution| caution.code == CautionCode::LandingZonePlaqueBurden);
        gravest.into_iter().chain(&self.cautions).chain(rest).cloned().collect()
    }
}

impl JudgedSize {
    /// The verdict in a few words, and where it depends on the error of measurement, on what: the neighbour that is
    /// equally possible, or the length.
    pub fn headline(
        &self,
        judgement: &Judgement,
        catalogue: &Catalogue,
        lesion: &Lesion,
        policy: &Policy,
    ) -> String {
        let words = reasons::headline(self.verdict, &self.reasons(catalogue, lesion, policy));
        match self.doubt(judgement, catalogue, lesion, policy) {
            Some(doubt) => format!("{words}; {doubt}"),
            None => words,
        }
    }

    /// Said of a size that fits and is unsteady: "2.75 equally possible: measure the distal EEM again". What is named
    /// is the measure on which the verdict hangs most.
    pub fn doubt(
        &self,
        judgement: &Judgement,
        catalogue: &Catalogue,
        lesion: &Lesion,
        policy: &Policy,
    ) -> Option<String> {
        let steadiness = self.steadiness.filter(|s| self.verdict.is_fit() && *s < UNSTEADY)?;
        let sensitivity = self.most_sensitive_to(catalogue, lesion, policy)?;
        if sensitivity.measure == Measure::Length {
            return Some("may be too short: measure the length again".into());
        }
        let likely = |size: &&JudgedSize| size.steadiness.is_some_and(|s| s >= EQUALLY * steadiness);
        let neighbour = judgement
            .sizes
            .iter()
            .filter(|size| size.place.product == self.place.product && size.length == self.length)
            .filter(|size| size.place.platform.abs_diff(self.place.platform) == 1)
            .filter(likely)
            .max_by(|a, b| a.steadiness.unwrap_or(0.0).total_cmp(&b.steadiness.unwrap_or(0.0)));
        Some(match neighbour {
            Some(size) => {
                format!("{} equally possible: measure the {} again", size.diameter, sensitivity.measure)
            }
            None => format!("unsteady: measure the {} again", sensitivity.measure),
        })
    }
}

//! When it goes wrong: covered stents and the guide each needs; segments that the shelf cannot serve.

use super::Shelf;
use super::look::{SizeOnHand, every_box};
use crate::catalogue::{Catalogue, Piece};
use crate::measure::Kind;
use crate::units::{French, Inches, at_least, at_most, plain};
use chrono::NaiveDate;

/// A covered stent in date.
#[derive(Debug, Clone, PartialEq)]
pub struct BailOut<'a> {
    /// Which one, and how much of it is there.
    pub size: SizeOnHand,
    /// The piece to take.
    pub piece: Option<&'a Piece>,
    /// The smallest guide of the room that takes it; none where the product or the room does not say.
    pub needs: Option<French>,
    /// Whether it goes through the guide in use; none where either bore is not known.
    pub guide_ok: Option<bool>,
    /// "needs 7 Fr; 6 in use", "7 Fr or larger", or that it is not known.
    pub words: String,
}

/// A segment for which no drug-eluting stent in date is labelled within its band.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// Its name, as `segment::NAMES` has it.
    pub segment: String,
    /// Lower end of the band of its normal lumen, in mm.
    pub from_mm: f64,
    /// Upper end, in mm; both ends are within.
    pub to_mm: f64,
}

impl Shelf {
    /// Covered stents in date, by diameter, then length. `guide` is the one in use.
    pub fn bail_out(
        &self,
        catalogue: &Catalogue,
        guide: Option<French>,
        today: NaiveDate,
    ) -> Vec<BailOut<'_>> {
        let mut list: Vec<BailOut> = every_box(catalogue)
            .filter(|found| found.product().kind == Kind::CoveredStent)
            .filter(|found| self.on_hand(found.di(), today) > 0)
            .map(|found| {
                let bore = found.product().guide_min_id;
                let needs = bore.and_then(|bore| smallest_guide(catalogue, bore));
                let in_use = guide.and_then(|french| catalogue.guide(french));
                let takes = |inner: Inches, bore: Inches| at_least(inner.inches(), bore.inches());
                let guide_ok = in_use
                    .filter(|_| crate::control::holds("guide-of-covered-stent"))
                    .zip(bore)
                    .map(|(guide, bore)| takes(guide.inner, bore));
                BailOut {
                    size: self.size_on_hand(found, today),
                    piece: self.first_out(found.di(), today),
                    needs,
                    guide_ok,
                    words: guide_words(needs, bore, guide, guide_ok),
                }
            })
            .collect();
        list.sort_by(|a, b| {
            let key = |bail: &BailOut| {
                (bail.size.diameter.map_or(0.0, |d| d.mm()), bail.size.length.map_or(0.0, |l| l.mm()))
            };
            let (a_key, b_key) = (key(a), key(b));
            let by_size = a_key.0.total_cmp(&b_key.0).then(a_key.1.total_cmp(&b_key.1));
            by_size.then_with(|| a.size.product.cmp(&b.size.product))
        });
        list
    }

    /// Which of these bands (segment, from, to, in mm, edges within) no drug-eluting stent in date is labelled in.
    pub fn gaps(&self, catalogue: &Catalogue, today: NaiveDate, bands: &[(&str, f64, f64)]) -> Vec<Gap> {
        let there: Vec<f64> = every_box(catalogue)
            .filter(|found| found.product().kind == Kind::DrugElutingStent)
            .filter(|found| self.on_hand(found.di(), today) > 0)
            .filter_map(|found| found.size().map(|(diameter, _)| diameter.mm()))
            .collect();
        bands
            .iter()
            .filter(|(_, from, to)| !there.iter().any(|mm| at_least(*mm, *from) && at_most(*mm, *to)))
            .map(|(segment, from, to)| Gap { segment: segment.to_string(), from_mm: *from, to_mm: *to })
            .collect()
    }
}

fn smallest_guide(catalogue: &Catalogue, bore: Inches) -> Option<French> {
    let wide_enough = catalogue.guides.iter().filter(|guide| at_least(guide.inner.inches(), bore.inches()));
    wide_enough.map(|guide| guide.french).min_by(|a, b| a.gauge().total_cmp(&b.gauge()))
}

fn guide_words(
    needs: Option<French>,
    bore: Option<Inches>,
    in_use: Option<French>,
    guide_ok: Option<bool>,
) -> String {
    let in_use = in_use.map(|french| plain(french.gauge()));
    match (needs, bore, guide_ok, in_use) {
        (_, None, ..) => "guide not known".into(),
        (Some(_), _, Some(true), Some(in_use)) => format!("goes through the {in_use} Fr in use"),
        (Some(needs), _, _, Some(in_use)) => format!("needs {needs}; {in_use} in use"),
        (Some(needs), _, _, None) => format!("needs {needs}"),
        (None, Some(bore), _, in_use) => {
            let in_use = in_use.map(|in_use| format!("; {in_use} Fr in use")).unwrap_or_default();
            format!("needs an inner diameter of {} in, which no guide listed has{in_use}", bore.inches())
        }
    }
}

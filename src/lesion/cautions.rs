//! Suspicious but possible: said once, and nothing is stopped.

use super::{Lesion, segment};
use crate::measure::{Border, Caution, CautionCode, Site};
use crate::sources;
use crate::units::{Diameter, Figure, TOLERANCE, at_least, at_most, marked};

/// A difference along the lesion above this is reported, in mm; design choice, no source.
const DIFFERENCE_MM: f64 = 1.0;
/// So is a ratio above this; design choice, no source.
const RATIO: f64 = 1.3;

/// Every caution of one lesion, each once.
pub(super) fn of(lesion: &Lesion) -> Vec<Caution> {
    let mut cautions = Vec::new();
    along(Border::Lumen, lesion.proximal_lumen, lesion.distal_lumen, &mut cautions);
    along(Border::Eem, lesion.proximal_eem, lesion.distal_eem, &mut cautions);
    cautions.extend(outside_band(lesion));
    if lesion.target.window_is_empty() {
        let [lower, upper] = lesion.target.window;
        cautions.push(Caution::new(
            CautionCode::WindowUpperBelowLower,
            format!(
                "The proximal measure allows {upper} at most, the distal one asks for {lower}: only the next size \
                 down can fit."
            ),
        ));
    }
    if lesion.target.proximal_target.is_none() {
        cautions.push(Caution::new(
            CautionCode::ReachNotJudged,
            "No proximal lumen (or EEM, where the rule reads it): whether a device reaches the proximal end is not \
             judged.",
        ));
    }
    cautions.extend(lesion.sites.iter().map(|site| at(*site)));
    cautions
}

fn along(border: Border, proximal: Option<Diameter>, distal: Option<Diameter>, cautions: &mut Vec<Caution>) {
    let (Some(proximal), Some(distal)) = (proximal, distal) else { return };
    let (border, smaller_than, difference, ratio) = match border {
        Border::Lumen => (
            "lumen",
            CautionCode::ProximalSmallerLumen,
            CautionCode::TaperDifferenceLumen,
            CautionCode::TaperRatioLumen,
        ),
        Border::Eem => (
            "EEM",
            CautionCode::ProximalSmallerEem,
            CautionCode::TaperDifferenceEem,
            CautionCode::TaperRatioEem,
        ),
    };
    let (p, d) = (proximal.mm(), distal.mm());
    if p < d - TOLERANCE {
        cautions.push(Caution::new(
            smaller_than,
            format!("Proximal {border} {proximal} is smaller than distal {distal}: are the two the right way round?"),
        ));
    }
    let (larger, smaller) = (p.max(d), p.min(d));
    if larger - smaller > DIFFERENCE_MM + TOLERANCE {
        cautions.push(Caution::new(
            difference,
            format!("Proximal {border} {proximal} and distal {distal} differ by more than 1 mm: the platform's expansion limit says whether one device reaches both."),
        ));
    }
    if larger > RATIO * smaller + TOLERANCE {
        cautions.push(Caution::new(
            ratio,
            format!("Proximal {border} {proximal} and distal {distal}: ratio above 1.3: the platform's expansion limit says whether one device reaches both."),
        ));
    }
}

fn outside_band(lesion: &Lesion) -> Option<Caution> {
    let name = lesion.segment.as_deref()?;
    let [bottom, top] = segment::band(name, lesion.dominance)?;
    let outside = |d: &Diameter| !(at_least(d.mm(), bottom) && at_most(d.mm(), top));
    let (least, most) = (Figure(bottom), Figure(top));
    let ends = [("proximal", lesion.proximal_lumen), ("distal", lesion.distal_lumen)];
    let told: Vec<String> = ends
        .into_iter()
        .filter_map(|(end, lumen)| Some(format!("{end} lumen {}", lumen.filter(outside)?)))
        .collect();
    (!told.is_empty()).then(|| {
        Caution::new(
            CautionCode::SegmentLumenOutsideBand,
            format!(
                "{}: outside the normal {least} to {most} mm of segment {name}; a slip, or a diseased or large heart \
                 ({}).",
                told.join(", "),
                segment::band_source(name)
            ),
        )
    })
}

/// One caution a site. No number changes for them, but the millimetre of an ostial lesion.
fn at(site: Site) -> Caution {
    let (code, message) = match site {
        Site::Ostial => (
            CautionCode::SiteOstial,
            "Ostial: the position is the hard part; half miss by more than 1 mm. 1 mm is added at the proximal end \
             (@jic-2011).",
        ),
        Site::LeftMain => (
            CautionCode::SiteLeftMain,
            "Left main: imaging is usual (@common-practice), and its targets are its own: 8.2 mm2 with two stents \
             (@kang-2011); 11.4 mm2 with one towards the LAD, a weak cut-off (@left-main-2025).",
        ),
        Site::InStent => (
            CautionCode::SiteInStent,
            "In-stent: the limits here are a new platform's in a free vessel; the old one may not give way \
             (@common-practice).",
        ),
        Site::Graft => {
            (CautionCode::SiteGraft, "Graft: the rules and bands here were made in native vessels (@isight).")
        }
        Site::Occlusion => (
            CautionCode::SiteOcclusion,
            "Occlusion: beyond a tight lesion the vessel reads too small until it is open (@dote).",
        ),
        Site::Acute => (
            CautionCode::SiteAcute,
            "Acute: clot and spasm make a vessel read small until flow is back (@common-practice).",
        ),
    };
    Caution::new(code, sources::in_words(&marked(message.to_string())))
}

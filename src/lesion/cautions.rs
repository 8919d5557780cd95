//! Suspicious but possible: said once, and nothing is stopped.

use super::arithmetic::plaque_burden;
use super::ostium::is_aortas;
use super::{Lesion, Measurements, Reading, segment};
use crate::measure::{Border, Caution, CautionCode, Site};
use crate::policy::Policy;
use crate::sources::{self, cite};
use crate::units::{Area, Diameter, Figure, TOLERANCE, at_least, at_most, marked};

/// A difference along the lesion above this is reported, in mm; design choice, no source.
const DIFFERENCE_MM: f64 = 1.0;
/// So is a ratio above this; design choice, no source.
const RATIO: f64 = 1.3;

/// Above this a lesion's taper is told in the reasons instead, in mm; design choice, no source.
const LONG_MM: f64 = 20.0;
/// Two orthogonal diameters further apart than this ratio are asked back; design choice, no source.
const ECCENTRIC: f64 = 1.5;
/// A length below this looks like centimetres, in mm; design choice, no source.
const SHORT_MM: f64 = 5.0;
/// So far outside its segment's band a lumen is told, in mm; design choice, no source.
const OUTSIDE_MM: f64 = 1.0;

/// Every caution of one lesion, each matter once, the gravest first.
pub(super) fn of(lesion: &Lesion, m: &Measurements, policy: &Policy) -> Vec<Caution> {
    let mut cautions = no_landing_zone(lesion, policy);
    cautions.extend(proximal_smaller(lesion));
    cautions.extend(taper(lesion));
    cautions.extend(eccentric(m));
    cautions.extend(short(lesion));
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
    cautions.extend(target(lesion, policy));
    let mut sites = lesion.sites.clone();
    if lesion.segment.as_deref() == Some("5") && !sites.contains(&Site::LeftMain) {
        sites.push(Site::LeftMain);
    }
    cautions.extend(sites.iter().map(|site| at(*site, lesion)));
    cautions
}

/// An end with more plaque than the policy takes for a landing zone, each such end once.
fn no_landing_zone(lesion: &Lesion, policy: &Policy) -> Vec<Caution> {
    let ends = [
        ("distal", lesion.distal_lumen, lesion.distal_eem),
        ("proximal", lesion.proximal_lumen, lesion.proximal_eem),
    ];
    let told = ends.into_iter().filter_map(|(end, lumen, eem)| {
        let (lumen, eem) = (lumen?, eem?);
        let burden = plaque_burden(Area::of_circle(eem), Area::of_circle(lumen)) / 100.0;
        let most = policy.plaque_burden;
        (!at_most(burden, most)).then(|| {
            Caution::new(
                CautionCode::LandingZonePlaqueBurden,
                format!(
                    "The {end} end is no landing zone: plaque burden {:.2} (lumen {lumen} in EEM {eem}), {} at most by \
                     the policy ({}).",
                    Figure(burden),
                    Figure(most),
                    cite!("raber-2018")
                ),
            )
        })
    });
    told.collect()
}

/// The ends that count: of the rule's own border where both were measured, else of the other.
fn ends(lesion: &Lesion) -> Option<(Border, Diameter, Diameter)> {
    let own = lesion.target.rule.border();
    let other = if own == Border::Lumen { Border::Eem } else { Border::Lumen };
    [own, other].into_iter().find_map(|border| {
        let [distal, proximal] = lesion.ends_of(border);
        Some((border, distal?, proximal?))
    })
}

const fn words(border: Border) -> &'static str {
    match border {
        Border::Lumen => "lumen",
        Border::Eem => "EEM",
    }
}

/// Where one border at least comes out smaller at the proximal end; the rule's own first.
fn proximal_smaller(lesion: &Lesion) -> Option<Caution> {
    let own = lesion.target.rule.border();
    let other = if own == Border::Lumen { Border::Eem } else { Border::Lumen };
    [own, other].into_iter().find_map(|border| {
        let [Some(distal), Some(proximal)] = lesion.ends_of(border) else { return None };
        (proximal.mm() < distal.mm() - TOLERANCE).then(|| {
            Caution::new(
                match border {
                    Border::Lumen => CautionCode::ProximalSmallerLumen,
                    Border::Eem => CautionCode::ProximalSmallerEem,
                },
                format!(
                    "Proximal {} {proximal} is smaller than distal {distal}: are the two the right way round?",
                    words(border)
                ),
            )
        })
    })
}

/// How the two ends differ, where that is more than a short lesion lets expect.
fn differ(lesion: &Lesion) -> Option<(Border, CautionCode, Diameter)> {
    let (border, distal, proximal) = ends(lesion)?;
    let (larger, smaller) = (proximal.mm().max(distal.mm()), proximal.mm().min(distal.mm()));
    let differs = Diameter::from_mm(larger - smaller);
    if !at_most(larger - smaller, DIFFERENCE_MM) {
        let code = match border {
            Border::Lumen => CautionCode::TaperDifferenceLumen,
            Border::Eem => CautionCode::TaperDifferenceEem,
        };
        return Some((border, code, differs));
    }
    let code = match border {
        Border::Lumen => CautionCode::TaperRatioLumen,
        Border::Eem => CautionCode::TaperRatioEem,
    };
    (!at_most(larger, RATIO * smaller)).then_some((border, code, differs))
}

fn taper(lesion: &Lesion) -> Option<Caution> {
    let branched = lesion.branches.lumen.is_some() || !lesion.branches.at.is_empty();
    if branched || at_least(lesion.target.lesion.mm(), LONG_MM) {
        return None;
    }
    let (border, code, _) = differ(lesion)?;
    let (_, distal, proximal) = ends(lesion)?;
    let ratio = matches!(code, CautionCode::TaperRatioLumen | CautionCode::TaperRatioEem);
    let how = if ratio { ": ratio above 1.3" } else { " differ by more than 1 mm" };
    let message = format!(
        "Proximal {} {proximal} and distal {distal}{how}: the platform's expansion limit says whether one device \
         reaches both.",
        words(border)
    );
    Some(Caution::new(code, message))
}

impl Lesion {
    /// By how much the ends differ, where that is more than 1 mm or a ratio of 1.3 and no caution: along a lesion of
    /// 20 mm or more, or one with a side branch.
    pub fn tapers(&self) -> Option<Diameter> {
        differ(self).filter(|_| taper(self).is_none()).map(|(.., differs)| differs)
    }
}

fn eccentric(m: &Measurements) -> Vec<Caution> {
    let readings = [
        ("distal lumen", m.distal_lumen),
        ("distal EEM", m.distal_eem),
        ("proximal lumen", m.proximal_lumen),
        ("proximal EEM", m.proximal_eem),
        ("side branch", m.branch_lumen),
    ];
    let told: Vec<String> = readings
        .into_iter()
        .filter_map(|(name, reading)| match reading {
            Some(Reading::Two(a, b)) if a.mm().max(b.mm()) > ECCENTRIC * a.mm().min(b.mm()) + TOLERANCE => {
                Some(format!("{name} {a} × {b}"))
            }
            _ => None,
        })
        .collect();
    let message = || format!("{}: more than 1.5 apart; two diameters at right angles?", told.join(", "));
    (!told.is_empty())
        .then(|| Caution::new(CautionCode::DiameterTwoFarApart, message()))
        .into_iter()
        .collect()
}

fn short(lesion: &Lesion) -> Option<Caution> {
    let length = lesion.target.lesion;
    (length.mm() < SHORT_MM - TOLERANCE).then(|| {
        Caution::new(
            CautionCode::LengthShort,
            format!("Length {length} mm is under 5: was it typed in centimetres?"),
        )
    })
}

/// Where the proximal target comes from a law, or there is none.
fn target(lesion: &Lesion, policy: &Policy) -> Option<Caution> {
    if lesion.vessel.mother().is_some() {
        let (law, branch) = (policy.branch_law, lesion.branches.lumen?);
        let (mother, distal) = (lesion.target.proximal_target?, lesion.target.distal);
        let message = format!(
            "No proximal lumen was measured: {mother} is what {law} makes of {distal} and the side branch's {branch}. \
             A law is a hint; measure the proximal lumen."
        );
        return Some(Caution::new(CautionCode::ProximalByLaw, message));
    }
    lesion.target.proximal_target.is_none().then(|| {
        Caution::new(
            CautionCode::ReachNotJudged,
            "No proximal lumen (or EEM, where the rule reads it): whether a device reaches the proximal end is not \
             judged.",
        )
    })
}

fn outside_band(lesion: &Lesion) -> Option<Caution> {
    let name = lesion.segment.as_deref()?;
    let [bottom, top] = segment::band(name, lesion.dominance)?;
    let outside =
        |d: &Diameter| !(at_least(d.mm(), bottom - OUTSIDE_MM) && at_most(d.mm(), top + OUTSIDE_MM));
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
                "{}: more than 1 mm outside the normal {least} to {most} mm of segment {name}; a slip, or a diseased \
                 or large heart ({}).",
                told.join(", "),
                segment::band_source(name)
            ),
        )
    })
}

/// One caution a site. No number changes for them, but the proximal margin of an ostial lesion.
fn at(site: Site, lesion: &Lesion) -> Caution {
    let (code, message) = match site {
        Site::Ostial if !is_aortas(&lesion.sites, lesion.segment.as_deref()) => (
            CautionCode::BranchOstium,
            "Ostial at a branch's ostium, not the aorta's: nothing is added at the proximal end, where what sticks out \
             lies in the mother vessel (@common-practice).",
        ),
        Site::Ostial => (
            CautionCode::SiteOstial,
            "Ostial: the position is the hard part; half miss by more than 1 mm. The proximal margin is 1 mm \
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

//! Expansion reached after the stent, against the published criteria.
//!
//! Each criterion is named, with the value it reads, its bound and what it was made for. None of them decides.

use crate::lesion::{BadInput, believe, segment};
use crate::measure::{Caution, CautionCode, Method};
use crate::policy::Believed;
use crate::sources::{self, Source, cite};
use crate::units::{Area, Diameter, Figure, Length, TOLERANCE, at_least, marked, plain};
use serde::Serialize;

crate::measure::words! {
    /// Where in a left main bifurcation the area was measured.
    Site {
        /// Above the division.
        LeftMain = "left-main",
        /// Where the two daughters meet.
        Confluence = "confluence",
        /// At the ostium of the anterior descending artery.
        LadOstium = "lad-ostium",
        /// At the ostium of the circumflex.
        LcxOstium = "lcx-ostium",
    }
}

impl Site {
    /// The area with two stents, in mm² (@kang-2011).
    const fn area(self) -> f64 {
        match self {
            Site::LeftMain => 8.2,
            Site::Confluence => 7.2,
            Site::LadOstium => 6.3,
            Site::LcxOstium => 5.0,
        }
    }

    const fn made_for(self) -> &'static str {
        match self {
            Site::LeftMain => "the left main above its division, with two stents, IVUS",
            Site::Confluence => "the confluence of the left main's daughters, with two stents, IVUS",
            Site::LadOstium => "the ostium of the LAD at a left main, with two stents, IVUS",
            Site::LcxOstium => "the ostium of the circumflex at a left main, with two stents, IVUS",
        }
    }
}

/// What was measured after the stent.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Minimal stent area, in mm².
    pub msa: Area,
    /// Reference lumen areas, in mm².
    pub proximal: Area,
    /// In mm².
    pub distal: Area,
    /// IVUS or OCT: the others show no area.
    pub method: Method,
    /// A segment's number or name; 5 is the left main.
    pub segment: Option<String>,
    /// Where in a left main bifurcation it was measured.
    pub at: Option<Site>,
    /// The labelled diameter of the device.
    pub device: Option<Diameter>,
    /// Labelled.
    pub stent_length: Option<Length>,
    /// The smallest area in the distal half of the stent and in the proximal one, in mm².
    pub halves: [Option<Area>; 2],
}

/// The object of `expansion --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expansion {
    /// In the order of the table, each always there.
    pub criteria: Vec<Criterion>,
    /// What the answer leaves out.
    pub note: String,
    /// What is odd about the areas.
    pub cautions: Vec<Caution>,
}

/// One of its `criteria`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Criterion {
    /// As in `expansion --json`.
    pub name: &'static str,
    /// None: not asked for this vessel, imaging or stent.
    pub holds: Option<bool>,
    /// In mm², or a ratio to a reference; none where it was not measured.
    pub value: Option<f64>,
    /// What the value is held against, in its unit; none where it is not asked.
    pub bound: Option<f64>,
    /// The vessel and the imaging that it was made for, in words.
    pub made_for: &'static str,
    /// Whether the circle of the device's labelled diameter, in the place of the MSA, would meet the bound. None
    /// without a device or a bound.
    pub attainable: Option<bool>,
    /// The paper.
    pub source: Source,
    /// For the words.
    #[serde(skip)]
    strict: bool,
}

/// What the answer leaves out.
const NOTE: &str = "Areas only: ultimate's plaque burden and edge dissection and music's apposition and symmetry \
    are not asked. In everyday use the median stent reaches 73 % (OCT) and 71 % (IVUS) of the mean reference \
    (@maehara-2015). None of them decides: that is the operator's judgement.";

const EAPCI: Source = cite!("raber-2018");

/// From this length on `optivus` asks for more, in mm (@yamamoto-2023).
const LONG_MM: f64 = 28.0;
/// Below this `ilumien-halves` is not even acceptable (@ilumien-iii).
const ACCEPTABLE: f64 = 0.90;

/// Every criterion on one measured stent, always all of them, in the order of the table.
///
/// # Errors
/// A number outside what is believed, a method that shows no area, a segment that no system has, one half of the stent
/// alone; every fault at once.
pub fn judge(measured: &Measured, believed: &Believed) -> Result<Expansion, Vec<BadInput>> {
    let segment = check(measured, believed)?;
    let left_main = segment.as_deref() == Some("5");
    let elsewhere = !left_main && measured.at.is_none();
    let ivus = measured.method == Method::Ivus;
    let [msa, proximal, distal] = [measured.msa, measured.proximal, measured.distal].map(|area| area.mm2());
    let mean = f64::midpoint(proximal, distal);
    let smallest = proximal.min(distal);
    let circle = measured.device.map(|device| Area::of_circle(device).mm2());
    let area = |name, bound, strict, made_for, source| {
        criterion(Named { name, strict, made_for, source }, Some(msa), bound, circle)
    };
    let ratio = |name, bound, strict, made_for, source| {
        let named = Named { name, strict, made_for, source };
        criterion(named, Some(msa / mean), Some(bound), circle.map(|c| c / mean))
    };
    // From 9 mm² on, music asks for less.
    let music =
        if at_least(msa, 9.0) { (0.8 * mean).min(0.9 * smallest) } else { (0.9 * mean).min(smallest) };
    let optivus =
        measured.stent_length.map(|length| if at_least(length.mm(), LONG_MM) { distal } else { 0.8 * mean });
    let halves = measured.halves[0].zip(measured.halves[1]);
    let of_halves = |[in_distal, in_proximal]: [f64; 2]| (in_distal / distal).min(in_proximal / proximal);
    let mut criteria = vec![
        ratio("eapci-relative", 0.8, true, "any vessel, IVUS or OCT", EAPCI),
        area(
            "eapci-absolute",
            elsewhere.then_some(if ivus { 5.5 } else { 4.5 }),
            true,
            "vessels other than the left main; 5.5 by IVUS, 4.5 by OCT",
            EAPCI,
        ),
        ratio("isight", 0.9, false, "native vessels of 2.25 to 4.00 mm, IVUS or OCT", cite!("isight")),
        area(
            "ultimate",
            (elsewhere && ivus).then_some((0.9 * distal).min(5.0)),
            true,
            "all vessels but the left main, IVUS; plaque burden and dissection are not asked here",
            cite!("zhang-2018"),
        ),
        area(
            "music",
            ivus.then_some(music),
            false,
            "bare-metal stents, IVUS; apposition and symmetry are not asked here",
            cite!("music"),
        ),
        area(
            "optivus",
            optivus.filter(|_| ivus),
            true,
            "several vessels, IVUS: the distal reference from 28 mm on, 0.8 of the mean below",
            cite!("yamamoto-2023"),
        ),
        criterion(
            Named {
                name: HALVES,
                strict: false,
                made_for: "each half against its own reference, IVUS or OCT",
                source: cite!("ilumien-iii"),
            },
            halves.map(|(distal, proximal)| of_halves([distal.mm2(), proximal.mm2()])),
            halves.map(|_| 0.95),
            circle.map(|circle| of_halves([circle; 2])),
        ),
    ];
    let at = measured.at.or(left_main.then_some(Site::LeftMain));
    criteria.extend(Site::ALL.iter().map(|site| {
        let bound = Some(site.area()).filter(|_| ivus && at == Some(*site));
        area(site.name(), bound, false, site.made_for(), cite!("kang-2011"))
    }));
    Ok(Expansion { criteria, note: sources::in_words(NOTE), cautions: cautions(measured) })
}

/// In the answer's `name`.
const HALVES: &str = "ilumien-halves";

/// Areas that look like diameters, and a mean that hides a taper. Design choice, no source.
fn cautions(measured: &Measured) -> Vec<Caution> {
    let (proximal, distal) = (measured.proximal.mm2(), measured.distal.mm2());
    let mut cautions = Vec::new();
    // A vessel that takes a device has about the area of the device's circle, which is some three times its diameter.
    let small = measured.device.map_or(SMALL_MM2, |device| Area::of_circle(device).mm2() / 2.0);
    if proximal < small && distal < small {
        let message = format!(
            "References of {} and {} mm2 are those of vessels of {} and {} mm: areas, or diameters by mistake?",
            plain(proximal),
            plain(distal),
            Diameter::of_area(measured.proximal),
            Diameter::of_area(measured.distal)
        );
        cautions.push(Caution::new(CautionCode::AreasLookLikeDiameters, message));
    }
    if proximal.max(distal) > TAPERED * proximal.min(distal) && measured.halves[0].is_none() {
        let message = "The two references differ by more than half: their mean says little of either end; \
                       --msa-distal and --msa-proximal hold each end against its own.";
        cautions.push(Caution::new(CautionCode::ReferencesTaper, message));
    }
    cautions
}

/// Smaller than the reference of any vessel that is stented often, in mm²: a diameter of 2.1 mm.
const SMALL_MM2: f64 = 3.5;
/// Above this ratio of the two reference areas their mean is told to say little.
const TAPERED: f64 = 1.5;

fn check(measured: &Measured, believed: &Believed) -> Result<Option<String>, Vec<BadInput>> {
    let mut bad: Vec<BadInput> = Vec::new();
    bad.extend(believe::area("msa", measured.msa, believed));
    bad.extend(believe::area("proximal-area", measured.proximal, believed));
    bad.extend(believe::area("distal-area", measured.distal, believed));
    let names = ["msa-distal", "msa-proximal"];
    for (name, half) in names.into_iter().zip(measured.halves) {
        bad.extend(half.and_then(|half| believe::area(name, half, believed)));
    }
    if let [Some(_), None] | [None, Some(_)] = measured.halves {
        let (given, missing) = if measured.halves[0].is_some() { (0, 1) } else { (1, 0) };
        let message = format!(
            "{} is not given: {} alone says nothing of the other half; give both or neither",
            names[missing], names[given]
        );
        bad.push(BadInput::of_field(names[missing], message));
    }
    if !measured.method.shows_eem() {
        let message = format!(
            "method {}: an area after the stent is measured by ivus or oct; {} shows none",
            measured.method,
            measured.method.label()
        );
        bad.push(BadInput::new("method", measured.method, message));
    }
    let segment = measured.segment.as_deref().and_then(|typed| match segment::checked(typed) {
        Ok(segment) => Some(segment),
        Err(refused) => {
            bad.push(refused);
            None
        }
    });
    bad.extend(measured.device.and_then(|device| believe::diameter("device", device, believed)));
    bad.extend(measured.stent_length.and_then(|length| believe::length("stent-length", length, believed)));
    if bad.is_empty() { Ok(segment) } else { Err(bad) }
}

struct Named {
    name: &'static str,
    strict: bool,
    made_for: &'static str,
    source: Source,
}

/// `circle` stands for the value, were the device fully open.
fn criterion(named: Named, value: Option<f64>, bound: Option<f64>, circle: Option<f64>) -> Criterion {
    let Named { name, strict, made_for, source } = named;
    let meets = |value: f64, bound: f64| {
        if strict { value > bound + TOLERANCE } else { at_least(value, bound) }
    };
    Criterion {
        name,
        holds: value.zip(bound).map(|(value, bound)| meets(value, bound)),
        value,
        bound,
        made_for,
        attainable: circle.zip(bound).map(|(circle, bound)| meets(circle, bound)),
        source,
        strict,
    }
}

impl Criterion {
    /// One plain line; none where it is not asked. A bound that the device can't reach even fully open is not told like
    /// a failure.
    pub fn in_words(&self) -> Option<String> {
        let (bound, value) = (Figure(self.bound?), self.value?);
        let need = if self.strict { "above" } else { "at least" };
        let met = match (self.holds, self.attainable) {
            (Some(true), _) => "met",
            (_, Some(false)) => "out of reach of this labelled diameter, even fully open",
            _ if self.name == HALVES && at_least(value, ACCEPTABLE) => "acceptable, from 0.90 on",
            _ => "not met",
        };
        Some(format!(
            "{}: {:.2}, {need} {bound:.2}: {met} (made for {})",
            self.name,
            Figure(value),
            marked(self.made_for.to_string())
        ))
    }
}

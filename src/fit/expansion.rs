//! Expansion reached after the stent, against the published criteria.
//!
//! Each criterion is named, with the value it reads, its bound and what it was made for. None of them decides.

use crate::lesion::{BadInput, believe, segment};
use crate::measure::Method;
use crate::policy::Believed;
use crate::sources::{self, Source, cite};
use crate::units::{Area, Diameter, Figure, TOLERANCE, at_least, marked};
use serde::Serialize;

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
    /// The labelled diameter of the device.
    pub device: Option<Diameter>,
}

/// The object of `expansion --json`. Nothing rounded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expansion {
    /// In the order of the table, each always there.
    pub criteria: Vec<Criterion>,
    /// What the answer leaves out.
    pub note: String,
}

/// One of its `criteria`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Criterion {
    /// As in `expansion --json`.
    pub name: &'static str,
    /// None: not asked for this vessel or imaging.
    pub holds: Option<bool>,
    /// In mm², a ratio for the two that compare with the mean reference.
    pub value: f64,
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

/// Every criterion on one measured stent, always all six, in the order of the table.
///
/// # Errors
/// A number outside what is believed, a method that shows no area, a segment that no system has; every fault at
/// once.
pub fn judge(measured: &Measured, believed: &Believed) -> Result<Expansion, Vec<BadInput>> {
    let left_main = check(measured, believed)? == Some("5".to_string());
    let msa = measured.msa.mm2();
    let mean = (measured.proximal.mm2() + measured.distal.mm2()) / 2.0;
    let smallest = measured.proximal.mm2().min(measured.distal.mm2());
    let circle = measured.device.map(|device| Area::of_circle(device).mm2());
    let ivus = measured.method == Method::Ivus;
    let area = |name, bound, strict, made_for, source| {
        criterion(Named { name, strict, made_for, source }, msa, bound, circle)
    };
    let ratio = |name, bound, strict, made_for, source| {
        criterion(Named { name, strict, made_for, source }, msa / mean, Some(bound), circle.map(|c| c / mean))
    };
    // From 9 mm² on, music asks for less.
    let music =
        if at_least(msa, 9.0) { (0.8 * mean).min(0.9 * smallest) } else { (0.9 * mean).min(smallest) };
    let absolute = (!left_main).then_some(if ivus { 5.5 } else { 4.5 });
    let criteria = vec![
        ratio("eapci-relative", 0.8, true, "any vessel, IVUS or OCT", EAPCI),
        area(
            "eapci-absolute",
            absolute,
            true,
            "vessels other than the left main; 5.5 by IVUS, 4.5 by OCT",
            EAPCI,
        ),
        ratio("isight", 0.9, false, "native vessels of 2.25 to 4.00 mm, IVUS or OCT", cite!("isight")),
        area(
            "ultimate",
            Some((0.9 * measured.distal.mm2()).min(5.0)),
            true,
            "all vessels, IVUS; plaque burden and dissection are not asked here",
            cite!("zhang-2018"),
        ),
        area(
            "music",
            Some(music),
            false,
            "bare-metal stents, IVUS; apposition and symmetry are not asked here",
            cite!("music"),
        ),
        area(
            "left-main",
            (left_main && ivus).then_some(8.2),
            false,
            "the left main above its division, with two stents, IVUS",
            cite!("kang-2011"),
        ),
    ];
    Ok(Expansion { criteria, note: sources::in_words(NOTE) })
}

fn check(measured: &Measured, believed: &Believed) -> Result<Option<String>, Vec<BadInput>> {
    let mut bad: Vec<BadInput> = Vec::new();
    bad.extend(believe::area("msa", measured.msa, believed));
    bad.extend(believe::area("proximal-area", measured.proximal, believed));
    bad.extend(believe::area("distal-area", measured.distal, believed));
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
    if bad.is_empty() { Ok(segment) } else { Err(bad) }
}

struct Named {
    name: &'static str,
    strict: bool,
    made_for: &'static str,
    source: Source,
}

fn criterion(named: Named, value: f64, bound: Option<f64>, circle: Option<f64>) -> Criterion {
    let Named { name, strict, made_for, source } = named;
    let meets = |value: f64, bound: f64| {
        if strict { value > bound + TOLERANCE } else { at_least(value, bound) }
    };
    Criterion {
        name,
        holds: bound.map(|bound| meets(value, bound)),
        value,
        bound,
        made_for,
        attainable: circle.zip(bound).map(|(circle, bound)| meets(circle, bound)),
        source,
        strict,
    }
}

impl Criterion {
    /// One plain line. A bound that the device can't reach even fully open is not told like a failure.
    pub fn in_words(&self) -> String {
        let Some(bound) = self.bound else {
            return format!("{}: not asked here, it was made for {}", self.name, self.made_for);
        };
        let (bound, value) = (Figure(bound), Figure(self.value));
        let need = if self.strict { "above" } else { "at least" };
        let met = match (self.holds, self.attainable) {
            (Some(true), _) => "met",
            (_, Some(false)) => "out of reach of this labelled diameter, even fully open",
            _ => "not met",
        };
        format!(
            "{}: {value:.2}, {need} {bound:.2}: {met} (made for {})",
            self.name,
            marked(self.made_for.to_string())
        )
    }
}

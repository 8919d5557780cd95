//! Measurements checked: a doubtful one is refused, with its name, its value and what is believed.

use super::believe::{self, within};
use super::target::{self, Target};
use super::vessel::{Layout, Measured, Vessel};
use super::{BadInput, Lesion, Measurements, Reading, cautions, ostium, segment, side};
use crate::catalogue::Guide;
use crate::measure::{Border, Method, Rule};
use crate::policy::{Believed, Policy, Window};
use crate::units::{Diameter, Figure, French, Length, same};

/// `--limit` outside these is a slip of the finger, in mm.
pub const LIMIT_MM: [f64; 2] = [1.0, 150.0];

/// Checks everything, and works out what the lesion asks of a device. `guides` are the room's.
///
/// # Errors
/// Every fault at once, in the order of the fields.
pub fn check(
    measurements: &Measurements,
    policy: &Policy,
    guides: &[Guide],
) -> Result<Lesion, Vec<BadInput>> {
    let m = measurements;
    let mut bad = Vec::new();
    if m.method.is_none() {
        bad.push(no_method(m));
    }
    for (field, reading) in diameters(m) {
        if let Some(reading) = reading {
            bad.extend(believe::reading(field, reading, &policy.believed));
        }
    }
    if crate::control::holds("lumen-inside-eem") {
        lumen_inside_eem("distal", m.distal_lumen, m.distal_eem, &mut bad);
    }
    lumen_inside_eem("proximal", m.proximal_lumen, m.proximal_eem, &mut bad);
    eem_is_seen(m, &mut bad);
    lengths(m, &policy.believed, &mut bad);
    let distal_margin = m.method.map_or(Length::from_mm(0.0), |method| policy.margin.of(method));
    let branches = side::check(m, &policy.believed, distal_margin, &mut bad);
    let segment = m.segment.as_deref().and_then(|typed| match segment::checked(typed) {
        Ok(known) => Some(known),
        Err(refused) => {
            bad.push(refused);
            None
        }
    });
    let guide = m.guide.and_then(|french| guide_of(french, guides, &mut bad));
    let Some(method) = m.method else { return Err(bad) };
    let rule = choose(m, method, policy, &mut bad);
    let (Some(rule), Some(length), true) = (rule, m.length, bad.is_empty()) else { return Err(bad) };

    let mut sites = m.sites.clone();
    sites.sort_unstable();
    sites.dedup();
    let margins = ostium::margins(&sites, segment.as_deref(), policy.margin.of(method));
    let need = length.mm() + (margins[0].mm() + margins[1].mm());
    let layout = Layout {
        rule,
        law: policy.branch_law,
        length: need,
        branch_at: branches.at.first().map(|at| at.mm()),
    };
    let vessel = Vessel::new(layout, measured(m));
    let mut lesion = Lesion {
        method,
        proximal_lumen: m.proximal_lumen.map(Reading::diameter),
        proximal_eem: m.proximal_eem.map(Reading::diameter),
        distal_lumen: m.distal_lumen.map(Reading::diameter),
        distal_eem: m.distal_eem.map(Reading::diameter),
        segment,
        dominance: m.dominance,
        sites,
        branches,
        target: target(&vessel, &policy.window, length, margins, m.limit),
        vessel,
        guide,
        cautions: Vec::new(),
    };
    lesion.cautions = cautions::of(&lesion, m, policy);
    Ok(lesion)
}

fn no_method(m: &Measurements) -> BadInput {
    let given = diameters(m).into_iter().find_map(|(field, reading)| Some((field, reading?)));
    let given = given.map(|(field, reading)| format!(" for {field} {reading}")).unwrap_or_default();
    BadInput::of_field(
        "method",
        format!(
            "method is not said{given}: name angiography, qca, ivus or oct; the same vessel reads differently by each"
        ),
    )
}

/// An EEM was given only where the method shows one.
fn eem_is_seen(m: &Measurements, bad: &mut Vec<BadInput>) {
    let Some(method) = m.method.filter(|method| !method.shows_eem()) else { return };
    let name = method.label();
    for (field, reading) in [("proximal-eem", m.proximal_eem), ("distal-eem", m.distal_eem)] {
        let refused = |reading| {
            let message = format!(
                "{field} {reading}: {name} shows no EEM, only the lumen; name ivus or oct, or give it as a lumen"
            );
            BadInput::new(field, reading, message)
        };
        bad.extend(reading.map(refused));
    }
}

fn guide_of(french: French, guides: &[Guide], bad: &mut Vec<BadInput>) -> Option<Guide> {
    let guide = guides.iter().copied().find(|guide| same(guide.french.gauge(), french.gauge()));
    if guide.is_none() {
        let listed: Vec<String> = guides.iter().map(|guide| guide.french.to_string()).collect();
        let listed = if listed.is_empty() { "none".to_string() } else { listed.join(", ") };
        let message =
            format!("guide {french} is not in the room's guides: it lists {listed}; add it to guides.toml");
        bad.push(BadInput::new("guide", french, message));
    }
    guide
}

fn diameters(m: &Measurements) -> [(&'static str, Option<Reading>); 4] {
    [
        ("proximal-lumen", m.proximal_lumen),
        ("proximal-eem", m.proximal_eem),
        ("distal-lumen", m.distal_lumen),
        ("distal-eem", m.distal_eem),
    ]
}

fn lumen_inside_eem(end: &str, lumen: Option<Reading>, eem: Option<Reading>, bad: &mut Vec<BadInput>) {
    let (Some(lumen), Some(eem)) = (lumen, eem) else { return };
    if lumen.diameter().mm() > eem.diameter().mm() + crate::units::TOLERANCE {
        bad.push(BadInput::new(
            &format!("{end}-lumen"),
            lumen,
            format!(
                "{end}-lumen {lumen} is above {end}-eem {eem}: the lumen lies inside the EEM, so at most {eem} is \
                 believed; check which is which"
            ),
        ));
    }
}

fn lengths(m: &Measurements, believed: &Believed, bad: &mut Vec<BadInput>) {
    let [least, most] = believed.length_mm.map(Figure);
    match m.length {
        None => bad.push(BadInput::of_field(
            "length",
            format!(
                "length is not given: type it{}, {least} to {most} mm",
                m.method.map(|method| format!(" ({})", method.length_is())).unwrap_or_default()
            ),
        )),
        Some(length) => bad.extend(believe::length("length", length, believed)),
    }
    if let Some(limit) = m.limit.filter(|limit| !within(limit.mm(), LIMIT_MM)) {
        let [least, most] = LIMIT_MM.map(Figure);
        bad.push(BadInput::new(
            "limit",
            limit.mm(),
            format!("limit {} is not believed: {least} to {most} mm; type it again", Figure(limit.mm())),
        ));
    }
}

/// The measures that a rule reads and cannot do without.
fn needs(rule: Rule, m: &Measurements) -> Vec<(&'static str, Option<Reading>)> {
    match rule {
        Rule::DistalEem => vec![("distal-eem", m.distal_eem)],
        Rule::SmallerEem => vec![("distal-eem", m.distal_eem), ("proximal-eem", m.proximal_eem)],
        Rule::DistalLumen | Rule::ReferenceDiameter => vec![("distal-lumen", m.distal_lumen)],
        Rule::MeanLumen => vec![("distal-lumen", m.distal_lumen), ("proximal-lumen", m.proximal_lumen)],
    }
}

/// The rule asked for, else the policy's for the method; that one alone gives way to `distal-lumen` where an
/// EEM that it needs was not given. A measure that is still missing is named.
fn choose(m: &Measurements, method: Method, policy: &Policy, bad: &mut Vec<BadInput>) -> Option<Rule> {
    let lacks = |rule| needs(rule, m).into_iter().any(|(_, reading)| reading.is_none());
    let usual = policy.rule.of(method);
    let rule = m.rule.unwrap_or_else(|| {
        if usual.border() == Border::Eem && lacks(usual) { Rule::DistalLumen } else { usual }
    });
    // Nobody may be told to measure what the method does not show, nor of a rule that was not named alone.
    let shown = rule.border() != Border::Eem || method.shows_eem();
    let gave_way = m.rule.is_none() && rule != usual;
    for (field, reading) in needs(rule, m) {
        if reading.is_none() {
            let what = if !shown {
                format!(
                    "rule {rule} needs {field}, and {} shows no EEM: name another rule, or ivus or oct",
                    method.label()
                )
            } else if gave_way {
                let first: Vec<_> = needs(usual, m).into_iter().map(|(field, _)| field).collect();
                format!(
                    "rule {rule} needs {field}, which is not given, nor is all that rule {usual} needs ({}): measure \
                     one or the other, or name another rule",
                    first.join(" and ")
                )
            } else {
                format!("rule {rule} needs {field}, which is not given: measure it, or name another rule")
            };
            bad.push(BadInput::of_field(field, what));
        }
    }
    (!lacks(rule)).then_some(rule)
}

/// In mm.
fn measured(m: &Measurements) -> Measured {
    let mm = |reading: Option<Reading>| reading.map(|r| r.diameter().mm());
    Measured {
        lumen: [mm(m.distal_lumen), mm(m.proximal_lumen)],
        eem: [mm(m.distal_eem), mm(m.proximal_eem)],
        branch_lumen: mm(m.branch_lumen),
    }
}

/// Called with checked measures that the rule has.
fn target(
    vessel: &Vessel,
    window: &Window,
    lesion: Length,
    margins: [Length; 2],
    limit: Option<Length>,
) -> Target {
    let rule = vessel.layout().rule;
    let whole = vessel.whole();
    Target {
        rule,
        distal: Diameter::from_mm(whole.distal),
        proximal: whole.proximal.map(Diameter::from_mm),
        window: Target::window_of(rule, window, whole.distal, whole.proximal).map(Diameter::from_mm),
        aim: Diameter::from_mm(target::aim(rule, whole.distal, whole.proximal)),
        proximal_target: whole.target.map(Diameter::from_mm),
        lesion,
        margins,
        length_min: Length::from_mm(vessel.layout().length),
        limit,
    }
}

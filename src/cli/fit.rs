//! `boxcall fit`: every size against one lesion.

use super::out::{Out, Outcome, Reader};
use super::products::{Inputs, JudgeArgs};
use super::typed::ArgErrors;
use crate::catalogue::Catalogue;
use crate::fit::{self, Judgement};
use crate::lesion::{self, Lesion, Measurements};
use crate::policy::Policy;
use crate::room::Fault;
use crate::units::Length;
use clap::Args as Arguments;
use serde::Serialize;
use std::path::Path;

/// How many sizes the words name.
const BEST: usize = 8;

/// Judge every size against a measured lesion
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(
    after_help = "A diameter is one number (3.0), two orthogonal ones (2.9x3.1) or an area (7.1mm2).\n\n\
    Example:\n  boxcall fit --method oct --distal-eem 3.0 --proximal-eem 3.5 --length 28 --json"
)]
pub(super) struct Args {
    #[command(flatten)]
    measures: Measures,
    #[command(flatten)]
    grounds: JudgeArgs,
    /// Show the whole arithmetic of one size: the first by rank, or the one with this REF
    #[arg(long, value_name = "REF", num_args = 0..=1, default_missing_value = "")]
    explain: Option<String>,
}

/// What was measured of one lesion, as typed.
#[derive(Debug, Arguments)]
pub(super) struct Measures {
    /// Proximal lumen diameter
    #[arg(long, value_name = "MM")]
    proximal_lumen: Option<String>,
    /// Proximal external elastic membrane diameter (IVUS, OCT)
    #[arg(long, value_name = "MM")]
    proximal_eem: Option<String>,
    /// Distal lumen diameter; by angiography and QCA the reference diameter
    #[arg(long, value_name = "MM")]
    distal_lumen: Option<String>,
    /// Distal external elastic membrane diameter (IVUS, OCT)
    #[arg(long, value_name = "MM")]
    distal_eem: Option<String>,
    /// The lesion's length by angiography and QCA; landing zone to landing zone by IVUS and OCT
    #[arg(long, value_name = "MM")]
    length: Option<String>,
    /// angiography, qca, ivus or oct
    #[arg(long, value_name = "METHOD")]
    method: Option<String>,
    /// distal-eem, smaller-eem, distal-lumen, mean-lumen or reference-diameter [default: the policy's]
    #[arg(long, value_name = "NAME")]
    rule: Option<String>,
    /// Lumen of a side branch that leaves the lesion
    #[arg(long, value_name = "MM")]
    branch_lumen: Option<String>,
    /// Where a side branch leaves, from the distal end of --length, that of --branch-lumen first; may be repeated
    #[arg(long, value_name = "MM")]
    branch_at: Vec<String>,
    /// The longest device wanted
    #[arg(long, value_name = "MM")]
    pub(super) limit: Option<String>,
    /// The guide catheter in use
    #[arg(long, value_name = "FR")]
    guide: Option<String>,
    /// The coronary segment's number, such as 6
    #[arg(long, value_name = "N")]
    segment: Option<String>,
    /// right or left
    #[arg(long, value_name = "SIDE")]
    dominance: Option<String>,
    /// ostial, left-main, in-stent, graft, occlusion or acute; may be repeated
    #[arg(long, value_name = "SITE")]
    site: Vec<String>,
}

impl Measures {
    /// The values; what can't be read is kept as a slip.
    pub(super) fn read(&self, errors: &mut ArgErrors) -> Measurements {
        let millimetres = |errors: &mut ArgErrors, field, text: &Option<String>| {
            errors.number(field, text.as_deref(), "mm").map(Length::from_mm)
        };
        let mut places = Vec::new();
        for at in &self.branch_at {
            places.extend(errors.number("branch-at", Some(at), "mm").map(Length::from_mm));
        }
        let mut places = places.into_iter();
        Measurements {
            method: errors.parse("method", self.method.as_deref()),
            proximal_lumen: errors.parse("proximal-lumen", self.proximal_lumen.as_deref()),
            proximal_eem: errors.parse("proximal-eem", self.proximal_eem.as_deref()),
            distal_lumen: errors.parse("distal-lumen", self.distal_lumen.as_deref()),
            distal_eem: errors.parse("distal-eem", self.distal_eem.as_deref()),
            length: millimetres(errors, "length", &self.length),
            branch_lumen: errors.parse("branch-lumen", self.branch_lumen.as_deref()),
            branch_at: places.next(),
            further_branches_at: places.collect(),
            limit: millimetres(errors, "limit", &self.limit),
            rule: errors.parse("rule", self.rule.as_deref()),
            guide: errors.french("guide", self.guide.as_deref()),
            segment: self.segment.clone(),
            dominance: errors.parse("dominance", self.dominance.as_deref()),
            sites: self.site.iter().filter_map(|site| errors.parse("site", Some(site))).collect(),
        }
    }
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let Inputs { catalogue, policy, stock, cautions, today } = args.grounds.open(room, out)?;
    let mut errors = ArgErrors::default();
    let measurements = args.measures.read(&mut errors);
    let (kinds, today) = args.grounds.read(&mut errors, &policy, today);
    let checked = lesion::check(&measurements, &policy, &catalogue.guides);
    let lesion = checked.map_err(|bad| errors.take(bad)).ok();
    errors.settle()?;
    // Where nothing slipped the check has given a lesion.
    let Some(lesion) = lesion else { return Err(Fault::bad_input("the measures could not be checked")) };

    let judgement = fit::judge(&catalogue, &kinds, &lesion, &policy, stock.as_deref(), today);
    let explained = match args.explain.as_deref() {
        None => None,
        Some(reference) => {
            let size = named(reference, &judgement, &catalogue)?;
            Some(fit::explain(size, &judgement, &catalogue, &lesion, &policy))
        }
    };
    if out.is_json() {
        let mut answer = judgement.answer(&catalogue, &lesion, &policy);
        answer.cautions.extend(cautions);
        out.json(&Explained { answer, explained })?;
    } else if let Some(text) = explained {
        out.words(Reader::Person, &text)?;
    } else {
        let mut lines = words(&judgement, &catalogue, &lesion, &policy);
        lines.extend(cautions.iter().map(|caution| format!("caution: {}", caution.message)));
        out.words(Reader::Person, &lines.join("\n"))?;
    }
    Ok(Outcome::answered(judgement.sizes.iter().any(|size| size.verdict.is_fit())))
}

/// The answer, and under `--explain` one key more.
#[derive(Serialize)]
struct Explained<'a> {
    #[serde(flatten)]
    answer: fit::Answer<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    explained: Option<String>,
}

/// The size with this reference, or the first ranked where none is named.
fn named<'a>(
    reference: &str,
    judgement: &'a Judgement,
    catalogue: &Catalogue,
) -> Result<&'a fit::JudgedSize, Fault> {
    if reference.is_empty() {
        let nothing = "explain: nothing fits; name a size, such as --explain REF";
        return judgement.ranked().first().copied().ok_or_else(|| Fault::not_found(nothing));
    }
    let found = judgement.sizes.iter().find(|size| size.pack(catalogue).reference == reference);
    found.ok_or_else(|| Fault::not_found(format!("explain {reference:?}: no box judged has this reference")))
}

fn words(judgement: &Judgement, catalogue: &Catalogue, lesion: &Lesion, policy: &Policy) -> Vec<String> {
    let target = &lesion.target;
    let mut lines = Vec::new();
    let [lower, upper] = target.window;
    let limit = target.limit.map(|limit| format!(" to {limit}")).unwrap_or_default();
    lines.push(format!(
        "In rule {}: labelled diameter {lower} to {upper}, aim {}; length {}{limit} mm",
        target.rule, target.aim, target.length_min
    ));
    if let Some(proximal) = target.proximal_target {
        lines.push(format!("Proximal target {proximal}"));
    }
    let ranked = judgement.ranked();
    if ranked.is_empty() {
        lines.push("Nothing fits. What comes nearest, and why not:".into());
        for (size, fails) in nearest(judgement, catalogue, lesion, policy) {
            let why: Vec<String> = fails.iter().map(fit::Reason::in_words).collect();
            let name = &size.product(catalogue).name;
            lines.push(format!("     {} × {}  {name}: {}", size.diameter, size.length, why.join("; ")));
        }
    }
    let behind = judgement.behind(lesion, policy);
    for size in ranked.iter().take(BEST) {
        let shelf = size.on_shelf.map(|pieces| format!("  ×{pieces} on the shelf")).unwrap_or_default();
        let pressure = size.deploy.map(|pressure| format!("  {:.1} atm", pressure.atm())).unwrap_or_default();
        let guide = if size.guide_ok == Some(false) { "  needs a larger guide" } else { "" };
        let name = &size.product(catalogue).name;
        lines.push(format!(
            "{:>3}. {} × {}  {name} ({})  {}{pressure}{shelf}{guide}",
            size.rank.unwrap_or_default(),
            size.diameter,
            size.length,
            size.pack(catalogue).reference,
            size.verdict,
        ));
        lines.push(format!("     {}", size.headline(judgement, catalogue, lesion, policy)));
        lines.extend(behind.why(size).map(|why| format!("     not first: {why}")));
    }
    if let Some(best) = ranked.first() {
        lines.push("Why the first:".into());
        for reason in best.reasons(catalogue, lesion, policy) {
            lines.push(format!("     {} [{}]", reason.in_words(), reason.source));
        }
    }
    if ranked.len() > BEST {
        lines.push(format!("and {} more that fit", ranked.len() - BEST));
    }
    for caution in judgement.cautions_with(lesion) {
        lines.push(format!("caution: {}", caution.message));
    }
    lines
}

/// Three that do not fit, with the conditions that fail: of the fewest such, then nearest to what is aimed at.
fn nearest<'a>(
    judgement: &'a Judgement,
    catalogue: &Catalogue,
    lesion: &Lesion,
    policy: &Policy,
) -> Vec<(&'a fit::JudgedSize, Vec<fit::Reason>)> {
    let target = &lesion.target;
    let far = |size: &fit::JudgedSize| {
        (size.diameter.mm() - target.aim.mm()).abs() + (size.length.mm() - target.length_min.mm()).abs()
    };
    let mut sizes: Vec<_> =
        judgement.sizes.iter().map(|size| (size, size.fails(catalogue, lesion, policy))).collect();
    sizes.sort_by(|(a, fails), (b, others)| fails.len().cmp(&others.len()).then(far(a).total_cmp(&far(b))));
    sizes.truncate(3);
    sizes
}

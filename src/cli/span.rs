//! `boxcall span`: a set of overlapping devices for a lesion longer than any one of them.

#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "columns of a line")]

use super::fit::Measures;
use super::out::{Out, Outcome};
use super::products::{Inputs, JudgeArgs};
use super::today::{Cautioned, below};
use super::typed::ArgErrors;
use crate::fit::span::{self, MOST_DEVICES, Options, Placed, Spanned, Together};
use crate::lesion::{self, LIMIT_MM, Measurements};
use crate::policy::Policy;
use crate::room::{Fault, files};
use crate::units::{Figure, Length, at_most, counted, number, plain, size};
use clap::Args as Arguments;
use std::path::{Path, PathBuf};

/// Columns of the drawing, at the most.
const COLUMNS: f64 = 60.0;

/// Plan overlapping devices for a long lesion
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(
    after_help = "First by the rules is the set of fewest devices, then of fewest overlaps on a side branch, then one that is surely long enough, then of least total length, then of diameters nearest to the aim.\n\n\
    Example:\n  boxcall span --method oct --distal-eem 3.0 --proximal-eem 3.75 --length 64 --json"
)]
pub(super) struct Args {
    #[command(flatten)]
    measures: Measures,
    #[command(flatten)]
    grounds: JudgeArgs,
    /// The longest that a set may come to; overlaps are made larger for it, evenly
    #[arg(long, value_name = "MM")]
    most: Option<String>,
    /// Largest number of devices [default: the policy's]
    #[arg(long, value_name = "N")]
    max_devices: Option<String>,
    /// A stretch, in mm from the distal end, without an overlap; may be repeated
    #[arg(long, value_name = "FROM-TO")]
    avoid: Vec<String>,
    /// A device already implanted, its distal end in mm from the lesion's; may be repeated
    #[arg(long, value_name = "DIAMETERxLENGTH@MM")]
    placed: Vec<String>,
    /// A file of several lesions (TOML), instead of one lesion's measures: one shelf for all
    #[arg(long, value_name = "FILE")]
    lesions: Option<PathBuf>,
}

impl Args {
    fn options(&self, errors: &mut ArgErrors) -> Options {
        let max_devices = self.max_devices.as_deref().and_then(|text| {
            let devices = text.trim().parse().ok().filter(|n| (1..=MOST_DEVICES).contains(n));
            if devices.is_none() {
                let message = format!("max-devices {text:?} is not a whole number from 1 to {MOST_DEVICES}");
                errors.add("max-devices", text, message);
            }
            devices
        });
        let mut avoid = Vec::new();
        for text in &self.avoid {
            match stretch(text) {
                Some(ends) => avoid.push(ends.map(Length::from_mm)),
                None => {
                    let message = format!(
                        "avoid {text:?} is not a stretch: type two places in mm from the distal end, the nearer first, \
                         such as 20-25"
                    );
                    errors.add("avoid", text, message);
                }
            }
        }
        let mut devices = Vec::new();
        for text in &self.placed {
            match placed(text) {
                Some(device) => devices.push(device),
                None => {
                    let message = format!(
                        "placed {text:?} is not a device in the vessel: type its labelled size and where its distal end \
                         lies, in mm from the lesion's distal end, such as 3.0x29@12"
                    );
                    errors.add("placed", text, message);
                }
            }
        }
        let most = errors.number("most", self.most.as_deref(), "mm").map(Length::from_mm);
        if let (Some(most), Some(text)) = (most, &self.most) {
            let [least, longest] = LIMIT_MM;
            if !(at_most(least, most.mm()) && at_most(most.mm(), longest)) {
                let message =
                    format!("most {text:?} is not believed: {least} to {longest} mm; type it again");
                errors.add("most", text, message);
            }
            if !devices.is_empty() {
                let message = "most: it is for a lesion with nothing in it yet; leave it out beside --placed";
                errors.add("most", text, message.into());
            }
        }
        Options { max_devices, most, placed: devices, avoid }
    }
}

/// `20-25`, both from 0, the first below the second.
fn stretch(text: &str) -> Option<[f64; 2]> {
    let (from, to) = text.split_once('-')?;
    let ends = [number(from)?, number(to)?];
    (ends[0] >= 0.0 && !at_most(ends[1], ends[0])).then_some(ends)
}

/// `3.0x29@12`: a size above 0, and a place that may be negative.
fn placed(text: &str) -> Option<Placed> {
    let (sized, at) = text.split_once('@')?;
    let (diameter, length) = size(sized)?;
    let at = Length::from_mm(number(at)?);
    (diameter.mm() > 0.0 && length.mm() > 0.0).then_some(Placed { diameter, length, at })
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let Inputs { catalogue, policy, stock, cautions, today } = args.grounds.open(room, out)?;
    let shelf = stock.as_deref();
    let mut errors = ArgErrors::default();
    let measurements = args.measures.read(&mut errors);
    let (kinds, today) = args.grounds.read(&mut errors, &policy, today);
    let options = args.options(&mut errors);
    if let Some(path) = &args.lesions {
        // Measures typed beside the file would be those of no lesion.
        if measurements != Measurements::default()
            || options.most.is_some()
            || !options.avoid.is_empty()
            || !options.placed.is_empty()
        {
            let message = "lesions: the file names every measure; leave the others (and --avoid, --placed) out, or leave the \
                           file out";
            errors.add("lesions", &path.display().to_string(), message.into());
        }
        errors.settle()?;
        let lesions =
            lesion::file::read(&path.display().to_string(), &files::text(path)?, &policy, &catalogue.guides)
                .map_err(|faults| Fault::of_files(&faults))?;
        let most = options.max_devices;
        let together = span::together(&catalogue, &kinds, &lesions, &policy, shelf, today, most);
        let answer = Cautioned { answer: &together, cautions: &cautions };
        out.answer(&answer, || below(&cautions, &words_of_all(&together)))?;
        return Ok(Outcome::answered(together.devices.is_some()));
    }
    let checked = lesion::check(&measurements, &policy, &catalogue.guides);
    let lesion = checked.map_err(|bad| errors.take(bad)).ok();
    let need = lesion.as_ref().map_or(0.0, |lesion| lesion.target.length_min.mm());
    for (device, text) in options.placed.iter().zip(&args.placed).filter(|_| lesion.is_some()) {
        let ends = device.at.mm() + device.length.mm();
        if at_most(ends, 0.0) || at_most(need, device.at.mm()) {
            let message = format!(
                "placed {text:?} lies outside what is to be covered, 0 to {} mm; check where its distal end lies",
                plain(need)
            );
            errors.add("placed", text, message);
        }
    }
    errors.settle()?;
    // Where nothing slipped the check has given a lesion.
    let Some(lesion) = lesion else { return Err(Fault::bad_input("the measures could not be checked")) };

    let mut spanned = span::plan(&catalogue, &kinds, &lesion, &policy, shelf, today, &options);
    spanned.cautions.extend(cautions);
    out.answer(&spanned, || words(&spanned, &policy, &options))?;
    Ok(Outcome::answered(spanned.is_spanned()))
}

fn words(spanned: &Spanned, policy: &Policy, options: &Options) -> String {
    let mut lines = Vec::new();
    let need = plain(spanned.length_min_mm);
    let most = options.max_devices.unwrap_or(policy.span.max_devices);
    lines.push(format!("To be covered: {need} mm, with at most {}", counted(most, "device")));
    if spanned.plans.iter().any(|plan| plan.devices.is_empty()) {
        lines.push("What is in already covers it".into());
        return lines.join("\n");
    }
    for (number, plan) in (1..).zip(&spanned.plans) {
        let names: Vec<String> = plan.devices.iter().map(named).collect();
        let proved = span::proved(plan.optimal);
        let proved = if number == 1 || plan.optimal { format!("; {proved}") } else { String::new() };
        let covered = format!("covers {} of {need} mm{proved}", plain(plan.covered_mm));
        lines.push(format!("{number:>3}. {}", names.join(" + ")));
        let overlaps: Vec<String> = plan.overlaps_mm.iter().map(|overlap| plain(*overlap)).collect();
        let overlaps = match overlaps.as_slice() {
            [] => String::new(),
            overlaps => format!("overlaps {} mm, ", overlaps.join(", ")),
        };
        lines.push(format!("     {overlaps}{} mm of metal; {covered}", plain(plan.metal_mm)));
        if !plan.covers_at_largest_overlap {
            let most = plain(policy.overlap.most.mm());
            lines.push(format!("     too short if every overlap came to {most} mm"));
        }
        if plan.overlaps_on_branch > 0 {
            let overlaps = counted(plan.overlaps_on_branch, "overlap");
            lines.push(format!("     {overlaps} on a side branch"));
        }
        if number == 1 {
            lines.extend(drawing(spanned.length_min_mm, plan));
        }
    }
    if let Some(fewer) = &spanned.one_fewer {
        let names: Vec<String> = fewer.devices.iter().map(named).collect();
        lines.push(format!(
            "One device fewer: {}; covers {} mm, {} mm short; chance that it covers all the same {:.2}",
            names.join(" + "),
            plain(fewer.covered_mm),
            plain(fewer.short_mm),
            Figure(fewer.chance)
        ));
    }
    if !spanned.is_spanned() {
        let longest = match spanned.longest_mm {
            Some(longest) => format!("the most that can be covered is {} mm", plain(longest)),
            None => "no device fits here".into(),
        };
        lines.push(format!("No set of devices spans it: {longest}"));
        if let Some(d) = &spanned.one_more {
            lines.push(format!("One piece more of {} and there is a plan", named(d)));
        }
    }
    lines.extend(spanned.cautions.iter().map(|caution| format!("caution: {}", caution.message)));
    lines.join("\n")
}

/// The lesions one after the other.
fn words_of_all(together: &Together) -> String {
    let mut lines = Vec::new();
    for lesion in &together.lesions {
        for plan in &lesion.plans {
            let devices: Vec<String> = plan.devices.iter().map(named).collect();
            let covered = plain(plan.covered_mm);
            lines.push(format!("{}: {}; covers {covered} mm", lesion.id, devices.join(" + ")));
        }
    }
    match (together.devices, together.excess_mm) {
        (Some(devices), Some(excess)) => {
            let proved = span::proved(together.optimal);
            lines.push(format!(
                "In all {}, {} mm more than needed; {proved}",
                counted(devices, "device"),
                plain(excess)
            ));
        }
        _ => lines.push("No choice from this shelf spans every lesion".into()),
    }
    lines.join("\n")
}

fn named(device: &span::Device) -> String {
    let (diameter, length) = (device.diameter_mm, plain(device.length_mm));
    format!("{diameter:.2} × {length} {} ({})", device.product, device.reference)
}

/// To scale, distal on the left: the need, and one row a device, so that overlaps are seen one below the other.
fn drawing(need: f64, plan: &span::Plan) -> Vec<String> {
    let ends = plan.begins_mm.iter().zip(&plan.devices).map(|(begins, device)| begins + device.length_mm);
    let last = ends.fold(need, f64::max);
    let first = plan.begins_mm.iter().copied().fold(0.0, f64::min);
    let column = |mm: f64| ((mm - first) / (last - first) * COLUMNS).round() as usize;
    let bar = |begins: f64, ends: f64, fill: &str| {
        let (from, to) = (column(begins), column(ends));
        format!("     {}{}", " ".repeat(from), fill.repeat(to.saturating_sub(from).max(1)))
    };
    let mut lines = vec![format!("{} {} mm, distal left", bar(0.0, need, "-"), plain(need))];
    for (begins, device) in plan.begins_mm.iter().zip(&plan.devices) {
        let size = format!("{:.2} × {}", device.diameter_mm, plain(device.length_mm));
        lines.push(format!("{} {size}", bar(*begins, begins + device.length_mm, "=")));
    }
    lines
}

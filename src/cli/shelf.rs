//! `boxcall shelf gaps` and `shelf wall`: what the shelf can't serve, and the page for the wall.

use super::out::{Out, Outcome, Reader};
use super::products::room_dir;
use super::today::{Cautioned, below, judged_by};
use super::typed::ArgErrors;
use crate::measure::{Dominance, Kind};
use crate::report::Wall;
use crate::room::Fault;
use crate::shelf::gaps::{
    Demand, Gain, LEAST_OWN, Lengths, Served, Share, Size, Vessel, needed_lengths, served,
};
use crate::sources::{Source, cite};
use crate::units::{Length, counted, plain};
use clap::{Args as Arguments, Subcommand};
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

/// Review the shelf before the day begins
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall shelf gaps")]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Find lesions that today's shelf can't serve, what one more box would add, and the smallest sufficient shelf
    #[command(
        after_help = "Lumens are the published normal ones by segment; lengths are the room's own once 30 lesions \
                            are measured.\n\nExample:\n  boxcall shelf gaps --dominance left"
    )]
    Gaps(Gaps),
    /// Print the page for the wall: bail-out, gaps, what expires, last pieces
    #[command(after_help = "Example:\n  boxcall shelf wall --format text | lp")]
    Wall(WallArgs),
}

#[derive(Debug, Arguments)]
struct WallArgs {
    /// markdown or text
    #[arg(long, value_name = "FORMAT", default_value = "markdown")]
    format: String,
    /// The day of the page [default: today]
    #[arg(long, value_name = "DATE")]
    today: Option<String>,
}

#[derive(Debug, Arguments)]
struct Gaps {
    /// right or left: whose normal lumens are taken
    #[arg(long, value_name = "SIDE", default_value = "right")]
    dominance: String,
    /// How much longer than needed a device may be, in mm [default: 8]
    #[arg(long, value_name = "MM")]
    excess: Option<String>,
    /// The share of lesions that the smallest shelf has to serve, in percent
    #[arg(long, value_name = "PERCENT", default_value = "95")]
    target: String,
    /// The day for which use-by dates are judged [default: today]
    #[arg(long, value_name = "DATE")]
    today: Option<String>,
}

/// `shelf gaps --json`. Shares are 0 to 1.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    segments: &'a [Share],
    share: f64,
    possible: f64,
    /// Where the lengths come from.
    lengths: &'static str,
    /// What stands behind lengths that are not the room's own, the excess, and the segments' weights.
    assumptions: Source,
    excess_mm: f64,
    gains: &'a [Gain],
    smallest: SmallestAnswer<'a>,
}

/// `boxes` is how many; no shelf with fewer than `at_least` serves the `target`, which is proved.
#[derive(Debug, Serialize)]
struct SmallestAnswer<'a> {
    boxes: usize,
    at_least: usize,
    optimal: bool,
    target: f64,
    share: f64,
    sizes: &'a [Size],
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let dir = room_dir(room)?;
    match &args.task {
        Task::Gaps(args) => gaps(args, &dir, out),
        Task::Wall(args) => wall(args, &dir, out),
    }
}

fn wall(args: &WallArgs, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let today = errors.date("today", args.today.as_deref());
    if !["markdown", "text"].contains(&args.format.as_str()) {
        errors.add("format", &args.format, format!("format {:?} is neither markdown nor text", args.format));
    }
    errors.settle()?;
    let room = out.look(dir)?;
    let (shelf, trusted) = room.shelf_today()?;
    let (today, cautions) = judged_by(today, trusted);
    let wall = Wall::new(&shelf.unwrap_or_default(), &room.catalogue, &room.policy, today);
    let page = if args.format == "text" { wall.text() } else { wall.markdown() };
    // The page is laid out elsewhere: what is said of its day is above it.
    let page = if cautions.is_empty() { page } else { below(&cautions, &format!("\n{page}")) };
    let answer = Cautioned { answer: &BTreeMap::from([("page", &page)]), cautions: &cautions };
    out.answer_for(Reader::OfDocument, &answer, || page.clone())
}

fn gaps(args: &Gaps, dir: &Path, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let dominance = errors.parse::<Dominance>("dominance", Some(&args.dominance));
    let excess = errors.positive("excess", args.excess.as_deref(), "mm").map(Length::from_mm);
    let target = errors.positive("target", Some(&args.target), "percent");
    if target.is_some_and(|target| target > 100.0) {
        errors.add("target", &args.target, "target is at most 100 percent".into());
    }
    let today = errors.date("today", args.today.as_deref());
    errors.settle()?;
    let room = out.look(dir)?;
    let (today, cautions) = judged_by(today, room.today()?);
    let own = needed_lengths(&room.journal()?, &room.policy);
    let side = dominance.unwrap_or(Dominance::Right);
    let demand = Demand::new(side, own, &room.policy, excess.unwrap_or(Demand::EXCESS));
    let kinds: Vec<Kind> = room.policy.judged.iter().copied().filter(|kind| kind.is_stent()).collect();
    let (shelf, target) = (room.shelf()?.unwrap_or_default(), target.unwrap_or(95.0) / 100.0);
    let found = served(&shelf, &room.catalogue, &kinds, &room.policy, &demand, target, today);
    let answer = answer(&found, &demand);
    let cautioned = Cautioned { answer: &answer, cautions: &cautions };
    out.answer(&cautioned, || below(&cautions, &words(&answer, &demand)))
}

fn answer<'a>(found: &'a Served, demand: &Demand) -> Answer<'a> {
    let smallest = &found.smallest;
    Answer {
        segments: &found.vessels,
        share: found.share,
        possible: found.possible,
        lengths: match demand.lengths {
            Lengths::LogNormal { .. } => "assumed",
            Lengths::Own(_) => "own cases",
        },
        assumptions: cite!("common-practice"),
        excess_mm: demand.excess.mm(),
        gains: &found.gains,
        smallest: SmallestAnswer {
            boxes: smallest.sizes.len(),
            at_least: smallest.at_least,
            optimal: smallest.is_proved(),
            target: smallest.target,
            share: smallest.share,
            sizes: &smallest.sizes,
        },
    }
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

fn words(answer: &Answer, demand: &Demand) -> String {
    let mut lines = vec!["Share of lesions that one piece in date serves:".to_string()];
    for Share { vessel: Vessel { segment, name, mean_mm, sd_mm, .. }, share } in answer.segments {
        lines.push(format!("  {:>7}  segment {segment}, {name} ({mean_mm} ± {sd_mm} mm)", percent(*share)));
    }
    lines.push(format!(
        "  {:>7}  all, each segment counting alike ({})",
        percent(answer.share),
        answer.assumptions
    ));
    lines.push(format!("  {:>7}  if every size of the catalogue lay there", percent(answer.possible)));
    lines.push(String::new());
    lines.push("What one more box would add:".into());
    if answer.gains.is_empty() {
        lines.push("  no size of the catalogue adds anything".into());
    }
    for Gain { size, gain } in answer.gains {
        lines.push(format!("  {:>7}  {}", percent(*gain), one(size)));
    }
    lines.push(String::new());
    let SmallestAnswer { boxes, at_least, optimal, target, share, sizes } = &answer.smallest;
    let proof = if *optimal {
        "no smaller shelf does it: proved".to_string()
    } else {
        format!("none with fewer than {at_least} does it: proved")
    };
    lines.push(format!(
        "A shelf of {} serves {} (asked for {}); {proof}:",
        counted(*boxes, "box"),
        percent(*share),
        percent(*target)
    ));
    lines.extend(sizes.iter().map(|size| format!("  {}", one(size))));
    lines.push(String::new());
    lines.push(format!("Lumens: {}, normal. Rule: reference diameter, by eye.", cite!("dodge-1992")));
    lines.push(match &demand.lengths {
        Lengths::Own(own) => format!("Lengths: the room's own, {}.", counted(own.len(), "lesion")),
        Lengths::LogNormal { median_mm, margins_mm, .. } => format!(
            "Lengths: half of the lesions up to {} mm, and {} mm of margins: {}. The room's own \
             count from {LEAST_OWN} measured lesions on.",
            plain(*median_mm),
            plain(*margins_mm),
            answer.assumptions
        ),
    });
    lines.push(format!(
        "A device serves a lesion if it is less than {} mm longer than needed: {}. Overlapping \
         devices are not counted.",
        plain(answer.excess_mm),
        answer.assumptions
    ));
    lines.join("\n")
}

fn one(size: &Size) -> String {
    format!("{} × {} {} ({})", size.diameter, size.length, size.product, size.reference)
}

//! `boxcall guide`: whether bodies go through one bore side by side.

use super::out::{Out, Outcome};
use super::products::Products;
use super::typed::ArgErrors;
use crate::fit::guide::{SideBySide, side_by_side};
use crate::room::Fault;
use crate::units::{Diameter, French, Inches, plain, same};
use clap::Args as Arguments;
use std::path::Path;

/// Check whether devices side by side fit through a guide catheter
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(
    after_help = "One body, two, or three equally thick ones. A gauge is looked up among the room's guides.\n\n\
    Example:\n  boxcall guide --od 0.9 --od 0.85 --bore-in 0.071"
)]
pub(super) struct Args {
    #[command(flatten)]
    products: Products,
    /// Outer diameter of one device; may be repeated
    #[arg(long, value_name = "MM", required = true)]
    od: Vec<String>,
    /// Inner diameter of the guide, in inches
    #[arg(long, value_name = "IN")]
    bore_in: Option<String>,
    /// French size of a guide in the catalogue
    #[arg(long, value_name = "FR")]
    guide: Option<String>,
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let bodies: Vec<Diameter> =
        args.od.iter().filter_map(|od| errors.number("od", Some(od), "mm").map(Diameter::from_mm)).collect();
    let bore = errors.number("bore-in", args.bore_in.as_deref(), "in").map(Inches::new);
    let gauge = errors.french("guide", args.guide.as_deref());
    if args.bore_in.is_some() == args.guide.is_some() {
        let message = "give one of --bore-in IN (the bore itself) and --guide FR (a guide of the catalogue)";
        errors.add("bore-in", args.bore_in.as_deref().unwrap_or_default(), message.into());
    }
    errors.settle()?;
    let bore = match (bore, gauge) {
        (Some(bore), _) => bore,
        (None, Some(gauge)) => looked_up(args, gauge, room)?,
        // One of the two was given and read, or the errors would have told.
        (None, None) => return Err(Fault::bad_input("give --bore-in IN or --guide FR")),
    };
    let answer = side_by_side(&bodies, bore.diameter()).map_err(|bad| Fault::of_input(&[bad]))?;
    out.answer(&answer, || words(&answer))?;
    Ok(Outcome::answered(answer.fits))
}

/// The bore of a gauge, from the catalogue: French says the outside only.
fn looked_up(args: &Args, gauge: French, room: Option<&Path>) -> Result<Inches, Fault> {
    let guides = &args.products.open(room)?.catalogue.guides;
    let found = guides.iter().find(|guide| same(guide.french.gauge(), gauge.gauge()));
    found.map(|guide| guide.inner).ok_or_else(|| {
        let known: Vec<String> = guides.iter().map(|guide| plain(guide.french.gauge())).collect();
        let known = if known.is_empty() { "none".into() } else { known.join(", ") };
        Fault::not_found(format!(
            "guide {} Fr: not in guides.toml (there: {known}); add it, or give --bore-in",
            plain(gauge.gauge())
        ))
    })
}

fn words(answer: &SideBySide) -> String {
    format!("{} [{}]\n{}", answer.in_words(), answer.source, answer.caution)
}

//! `boxcall post-dilate`: which balloon gives a wanted diameter, at which pressure.

use super::out::{Out, Outcome};
use super::products::Products;
use super::today::judged_by;
use super::typed::ArgErrors;
use crate::catalogue::Piece;
use crate::fit::balloon::{Ask, Balloons, choose};
use crate::lesion::{BadInput, Reading};
use crate::room::{self, Fault, files};
use crate::units::Length;
use clap::Args as Arguments;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Find balloons that reach a diameter by their own pressure charts
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(
    after_help = "--within is the stretch that must hold the balloon with its shoulders: a stent less 2 mm at \
    each end. Where no chart gives the diameter itself, the balloons that come near it are listed.\n\nExample:\n  boxcall post-dilate --to 3.5 --within 14 --expansion-limit 4.0"
)]
pub(super) struct Args {
    #[command(flatten)]
    products: Products,
    /// The diameter wanted
    #[arg(long, value_name = "MM")]
    to: String,
    /// The longest balloon that stays inside
    #[arg(long, value_name = "MM")]
    within: String,
    /// The largest diameter that the stent's maker permits
    #[arg(long, value_name = "MM")]
    expansion_limit: Option<String>,
    /// The vessel's own diameter there
    #[arg(long, value_name = "MM")]
    vessel: Option<String>,
    /// A kind of balloon; may be repeated [default: non-compliant balloon]
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// A protocol (TOML) in the place of the room's
    #[arg(long, value_name = "FILE")]
    policy: Option<PathBuf>,
}

pub(super) fn run(args: &Args, room: Option<&Path>, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let to: Option<Reading> = errors.parse("to", Some(&args.to));
    let expansion_limit: Option<Reading> = errors.parse("expansion-limit", args.expansion_limit.as_deref());
    let vessel: Option<Reading> = errors.parse("vessel", args.vessel.as_deref());
    let within = errors.number("within", Some(&args.within), "mm").map(Length::from_mm);
    let kinds: Vec<_> = args.kind.iter().filter_map(|kind| errors.kind(kind)).collect();
    errors.settle()?;
    let (Some(to), Some(within)) = (to, within) else {
        return Err(Fault::bad_input("to and within: type both in mm"));
    };
    let opened = args.products.open(room)?;
    let (shelf, today) = match &opened.room {
        Some(room) => room.shelf_today()?,
        None => (None, room::today().into()),
    };
    let (today, cautions) = judged_by(None, today);
    let pieces: Option<Vec<Piece>> = shelf.map(|shelf| shelf.pieces().into_iter().cloned().collect());
    let stock = pieces.as_deref().map(|pieces| (pieces, today));
    let policy = match &args.policy {
        Some(path) => Arc::new(files::policy(path)?),
        None => opened.policy.clone(),
    };
    let readings = [("to", Some(to)), ("expansion-limit", expansion_limit), ("vessel", vessel)];
    let bad: Vec<BadInput> = readings
        .into_iter()
        .filter_map(|(field, reading)| reading?.refused(field, &policy.believed))
        .collect();
    if !bad.is_empty() {
        return Err(Fault::of_input(&bad));
    }
    let ask = Ask {
        to: to.diameter(),
        within,
        expansion_limit: expansion_limit.map(Reading::diameter),
        vessel: vessel.map(Reading::diameter),
    };
    let mut answer =
        choose(&opened.catalogue, &kinds, &ask, &policy, stock).map_err(|bad| Fault::of_input(&bad))?;
    answer.cautions.extend(cautions.into_iter().filter(|_| pieces.is_some()));
    out.answer(&answer, || words(&answer))?;
    Ok(Outcome::answered(!answer.balloons.is_empty()))
}

fn words(answer: &Balloons) -> String {
    let mut lines: Vec<String> = answer
        .balloons
        .iter()
        .map(|balloon| {
            let shelf =
                balloon.on_shelf.map(|pieces| format!(" · ×{pieces} on the shelf")).unwrap_or_default();
            format!("{:>3}. {}{shelf}", balloon.rank.unwrap_or_default(), balloon.in_words())
        })
        .collect();
    if lines.is_empty() {
        lines.push("No balloon.".into());
    }
    lines.extend(answer.cautions.iter().map(|caution| caution.message.clone()));
    lines.join("\n")
}

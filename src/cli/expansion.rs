//! `boxcall expansion`: what was reached after the stent, against the published criteria.

use super::out::{Out, Outcome};
use super::typed::ArgErrors;
use crate::fit::expansion::{Measured, judge};
use crate::policy::Policy;
use crate::room::Fault;
use crate::units::{Area, Diameter};
use clap::Args as Arguments;

/// Check a minimal stent area against published criteria
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(
    after_help = "Areas in mm2. Each criterion names the paper and the method it was made for; none decides.\n\n\
    Example:\n  boxcall expansion --msa 5.6 --proximal-area 7.4 --distal-area 6.2 --method ivus --device 3.0"
)]
pub(super) struct Args {
    /// Minimal stent area
    #[arg(long, value_name = "MM2")]
    msa: String,
    /// Lumen area of the proximal reference
    #[arg(long, value_name = "MM2")]
    proximal_area: String,
    /// Lumen area of the distal reference
    #[arg(long, value_name = "MM2")]
    distal_area: String,
    /// ivus or oct
    #[arg(long, value_name = "METHOD")]
    method: String,
    /// The coronary segment; 5 is the left main
    #[arg(long, value_name = "N")]
    segment: Option<String>,
    /// The labelled diameter of the device
    #[arg(long, value_name = "MM")]
    device: Option<String>,
}

pub(super) fn run(args: &Args, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let mut area = |field, text: &str| {
        let bare = text.trim().strip_suffix("mm2").unwrap_or(text);
        errors.number(field, Some(bare), "mm2").map(Area::from_mm2)
    };
    let (msa, proximal, distal) = (
        area("msa", &args.msa),
        area("proximal-area", &args.proximal_area),
        area("distal-area", &args.distal_area),
    );
    let method = errors.parse("method", Some(&args.method));
    let device = errors.number("device", args.device.as_deref(), "mm").map(Diameter::from_mm);
    errors.settle()?;
    let (Some(msa), Some(proximal), Some(distal), Some(method)) = (msa, proximal, distal, method) else {
        return Err(Fault::bad_input("msa, proximal-area, distal-area and method: all four are needed"));
    };
    let measured = Measured { msa, proximal, distal, method, segment: args.segment.clone(), device };
    let answer = judge(&measured, &Policy::default().believed).map_err(|bad| Fault::of_input(&bad))?;
    out.answer(&answer, || {
        let mut lines: Vec<String> = answer
            .criteria
            .iter()
            .map(|criterion| format!("{} [{}]", criterion.in_words(), criterion.source))
            .collect();
        lines.push(answer.note.clone());
        lines.join("\n")
    })
}

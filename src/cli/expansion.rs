//! `boxcall expansion`: what was reached after the stent, against the published criteria.

use super::out::{Out, Outcome};
use super::typed::ArgErrors;
use crate::fit::expansion::{Measured, judge};
use crate::policy::Policy;
use crate::room::Fault;
use crate::units::{Area, Diameter, Length};
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
    /// left-main, confluence, lad-ostium or lcx-ostium: where the area was measured
    #[arg(long, value_name = "PLACE")]
    at: Option<String>,
    /// The labelled diameter of the device
    #[arg(long, value_name = "MM")]
    device: Option<String>,
    /// The labelled length of the stent
    #[arg(long, value_name = "MM")]
    stent_length: Option<String>,
    /// The smallest area in the distal half of the stent
    #[arg(long, value_name = "MM2")]
    msa_distal: Option<String>,
    /// The same in the proximal half
    #[arg(long, value_name = "MM2")]
    msa_proximal: Option<String>,
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
    let halves = [("msa-distal", &args.msa_distal), ("msa-proximal", &args.msa_proximal)]
        .map(|(field, text)| text.as_ref().and_then(|text| area(field, text)));
    let method = errors.parse("method", Some(&args.method));
    let at = errors.parse("at", args.at.as_deref());
    let device = errors.number("device", args.device.as_deref(), "mm").map(Diameter::from_mm);
    let stent_length = errors.number("stent-length", args.stent_length.as_deref(), "mm").map(Length::from_mm);
    errors.settle()?;
    let (Some(msa), Some(proximal), Some(distal), Some(method)) = (msa, proximal, distal, method) else {
        return Err(Fault::bad_input("msa, proximal-area, distal-area and method: all four are needed"));
    };
    let segment = args.segment.clone();
    let measured = Measured { msa, proximal, distal, method, segment, at, device, stent_length, halves };
    let answer = judge(&measured, &Policy::default().believed).map_err(|bad| Fault::of_input(&bad))?;
    out.answer(&answer, || {
        let mut lines: Vec<String> = answer
            .criteria
            .iter()
            .filter_map(|criterion| Some(format!("{} [{}]", criterion.in_words()?, criterion.source)))
            .collect();
        lines.extend(answer.cautions.iter().map(|caution| format!("caution: {}", caution.message)));
        lines.push(answer.note.clone());
        lines.join("\n")
    })
}

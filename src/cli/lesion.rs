//! `boxcall lesion`: what measures of one lesion say of it.

use super::out::{Out, Outcome};
use super::typed::ArgErrors;
use crate::lesion::severity::{Severity, severity};
use crate::room::Fault;
use clap::Args as Arguments;

/// Calculate stenosis, plaque burden, true length and calcium score
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(after_help = "Each group of options is given whole or not at all.\n\n\
    Example:\n  boxcall lesion --mld 1.5 --reference 3.0 --arc 200 --thickness 0.6 --calcium-length 6")]
pub(super) struct Args {
    /// Minimal lumen diameter
    #[arg(long, value_name = "MM", requires = "reference")]
    mld: Option<String>,
    /// Reference diameter
    #[arg(long, value_name = "MM", requires = "mld")]
    reference: Option<String>,
    /// Lumen area
    #[arg(long, value_name = "MM2", requires = "eem_area")]
    lumen_area: Option<String>,
    /// Area of the external elastic membrane
    #[arg(long, value_name = "MM2", requires = "lumen_area")]
    eem_area: Option<String>,
    /// Length as seen in projection
    #[arg(long, value_name = "MM", requires = "angle")]
    projected: Option<String>,
    /// Angle out of the plane of projection
    #[arg(long, value_name = "DEGREES", requires = "projected")]
    angle: Option<String>,
    /// Arc of calcium by OCT
    #[arg(long, value_name = "DEGREES", requires_all = ["thickness", "calcium_length"])]
    arc: Option<String>,
    /// Thickness of the calcium by OCT
    #[arg(long, value_name = "MM", requires = "arc")]
    thickness: Option<String>,
    /// Length of the calcium by OCT
    #[arg(long, value_name = "MM", requires = "arc")]
    calcium_length: Option<String>,
}

pub(super) fn run(args: &Args, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let mut read = |field, text: &Option<String>, unit| errors.number(field, text.as_deref(), unit);
    let pair = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| [a, b]);
    let stenosis = pair(read("mld", &args.mld, "mm"), read("reference", &args.reference, "mm"));
    let plaque = pair(read("lumen-area", &args.lumen_area, "mm2"), read("eem-area", &args.eem_area, "mm2"));
    let seen = pair(read("projected", &args.projected, "mm"), read("angle", &args.angle, "degrees"));
    let thick = pair(read("arc", &args.arc, "degrees"), read("thickness", &args.thickness, "mm"));
    let long = read("calcium-length", &args.calcium_length, "mm");
    let calcium = thick.zip(long).map(|([arc, thickness], length)| [arc, thickness, length]);
    errors.settle()?;
    let asked = Severity { stenosis, plaque, seen, calcium };
    let answer = severity(&asked).map_err(|bad| Fault::of_input(&bad))?;
    out.answer(&answer, || answer.in_words())
}

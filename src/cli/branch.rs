//! `boxcall branch`: the third diameter of a bifurcation by one of three laws.

use super::out::{Out, Outcome};
use super::typed::ArgErrors;
use crate::fit::branch::{Branch, Law, Spread, solve, spread};
use crate::policy::Policy;
use crate::room::Fault;
use clap::Args as Arguments;
use serde::Serialize;

/// Calculate the third diameter of a bifurcation from the other two
#[derive(Debug, Arguments)]
#[command(allow_negative_numbers = true)]
#[command(
    after_help = "Exactly two of the three diameters are given. A law never overrules a measurement.\n\n\
    Example:\n  boxcall branch --law huo-kassab --daughter-1 3.5 --daughter-2 3.0"
)]
pub(super) struct Args {
    /// murray, finet or huo-kassab
    #[arg(long, value_name = "LAW")]
    law: String,
    /// Diameter of the mother vessel, before the carina
    #[arg(long, value_name = "MM")]
    mother: Option<String>,
    /// Diameter of one daughter vessel
    #[arg(long = "daughter-1", value_name = "MM")]
    daughter_1: Option<String>,
    /// Diameter of the other daughter vessel
    #[arg(long = "daughter-2", value_name = "MM")]
    daughter_2: Option<String>,
}

pub(super) fn run(args: &Args, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let law: Option<Law> = errors.parse("law", Some(&args.law));
    let mother = errors.parse("mother", args.mother.as_deref());
    let daughter_1 = errors.parse("daughter-1", args.daughter_1.as_deref());
    let daughter_2 = errors.parse("daughter-2", args.daughter_2.as_deref());
    errors.settle()?;
    let believed = Policy::default().believed;
    // What could not be read has been told.
    let Some(law) = law else { return Err(Fault::bad_input("law: name murray, finet or huo-kassab")) };
    let answer =
        solve(law, mother, daughter_1, daughter_2, &believed).map_err(|bad| Fault::of_input(&[bad]))?;
    let laws = spread(mother, daughter_1, daughter_2, &believed).map_err(|bad| Fault::of_input(&[bad]))?;
    let ranged = Ranged { answer: &answer, range_mm: laws.range() };
    out.answer(&ranged, || format!("{}\n{}", answer.in_words(), words(&laws)))
}

/// The answer, and what the other laws make of the same two.
#[derive(Serialize)]
struct Ranged<'a> {
    #[serde(flatten)]
    answer: &'a Branch,
    /// The least and the largest answer of the laws that have one, in mm.
    range_mm: Option<[f64; 2]>,
}

/// All three laws, how far they lie apart, and what each holds for.
fn words(spread: &Spread) -> String {
    let mut lines = Vec::new();
    for says in &spread.laws {
        let answer = match (says.answer_mm, &says.refused) {
            (Some(mm), _) => format!("{mm:.2} mm"),
            (None, refused) => format!("no answer: {}", refused.as_deref().unwrap_or("outside its domain")),
        };
        lines.push(format!(
            "  {} ({}): {answer}; {} [{}]",
            says.law, says.formula, says.holds_for, says.source
        ));
    }
    if let Some(apart) = spread.apart_mm {
        lines.push(format!("  {apart:.2} mm between the laws"));
    }
    lines.push(spread.note.clone());
    lines.join("\n")
}

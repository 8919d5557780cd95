//! `boxcall card`: the printed codes that a scanner reads as commands.

use super::out::{Out, Outcome, Reader};
use crate::label::card;
use crate::room::Fault;
use clap::Args as Arguments;
use serde::Serialize;

/// Print the card of commands that can be scanned instead of typed
#[derive(Debug, Arguments)]
#[command(after_help = "The sheet is SVG on standard output; print it at its own size.\n\n\
    Example:\n  boxcall card > card.svg")]
pub(super) struct Args {
    /// Module size of the codes, in millimetres
    #[arg(long, value_name = "MM", default_value_t = 0.6)]
    module: f64,
}

#[derive(Debug, Serialize)]
struct Answer {
    commands: Vec<CardRow>,
}

#[derive(Debug, Serialize)]
struct CardRow {
    command: card::Command,
    code: String,
}

pub(super) fn run(args: &Args, out: &mut Out) -> Result<Outcome, Fault> {
    if !(0.2..=3.0).contains(&args.module) {
        return Err(Fault::bad_input(format!("module {} is not believed: 0.2 to 3 mm", args.module)));
    }
    if out.is_json() {
        let commands = card::all().into_iter().map(|(command, code)| CardRow { command, code }).collect();
        return out.json(&Answer { commands });
    }
    out.words(
        Reader::OfDocument,
        &card::sheet_svg(args.module).map_err(|fault| Fault::bad_input(fault.to_string()))?,
    )
}

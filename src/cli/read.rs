//! `boxcall read`: what a label says.

use super::out::{Out, Outcome};
use super::typed::ArgErrors;
use crate::label::{self, Label, Settings};
use crate::room::{self, Fault};
use chrono::Datelike;
use clap::Args as Arguments;
use std::ffi::OsString;
use std::io::Read;

/// Read the label of one box, scanned or typed
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall read \"]d201095210013002921726121910FL60263\"")]
pub(super) struct Args {
    /// The label; - reads standard input, bytes as the scanner sent them
    #[arg(value_name = "LABEL")]
    label: OsString,
    /// The day of reading, which decides the century of two-digit years [default: today]
    #[arg(long, value_name = "DATE")]
    today: Option<String>,
}

pub(super) fn run(args: &Args, out: &mut Out) -> Result<Outcome, Fault> {
    let mut errors = ArgErrors::default();
    let today = errors.date("today", args.today.as_deref()).unwrap_or_else(room::today);
    errors.settle()?;
    let bytes = if args.label == "-" {
        let mut bytes = Vec::new();
        std::io::stdin().lock().read_to_end(&mut bytes).map_err(|error| {
            Fault::could_not("cannot-read", format!("standard input can't be read: {error}"))
        })?;
        bytes
    } else {
        args.label.as_encoded_bytes().to_vec()
    };
    let label = label::read(&bytes, &Settings::of_year(today.year()))
        .map_err(|refusal| Fault::refused(refusal.code.name(), refusal.message, refusal.position))?;
    out.answer(&label, || words(&label))
}

fn words(label: &Label) -> String {
    let mut lines = vec![format!("{}  {}", label.system, label.human_readable())];
    let mut say = |name: &str, value: Option<String>| {
        lines.push(format!("{name:<9}{}", value.unwrap_or_else(|| "not said".into())));
    };
    say("UDI-DI", label.di.as_ref().map(ToString::to_string));
    say("LOT", label.lot.clone());
    say("SN", label.serial.clone());
    say("use by", label.use_by.map(|day| day.to_string()));
    if label.made.is_some() {
        say("made", label.made.map(|day| day.to_string()));
    }
    lines.extend(label.warnings.iter().map(|warning| format!("warning: {}", warning.message)));
    lines.join("\n")
}

//! `boxcall scanner`: what a scanner sends, shown.

use super::out::Outcome;
use crate::room::{self, Fault};
use chrono::Datelike;
use clap::Args as Arguments;

/// Test a scanner: show what arrives, how it is read, what to configure
#[derive(Debug, Arguments)]
#[command(after_help = "Nothing that is scanned is kept.\n\nExample:\n  boxcall scanner")]
pub(super) struct Args {}

pub(super) fn run(_: &Args) -> Result<Outcome, Fault> {
    crate::tui::try_scanner(room::today().year()).map(|()| Outcome::Answered)
}

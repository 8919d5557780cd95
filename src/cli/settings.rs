//! `boxcall settings`: the settings file of a room's screens, with every action and its keys.

use super::out::{Came, Out, Reader};
use crate::room::Fault;
use crate::tui::settings::commented;
use clap::Args as Arguments;
use serde::Serialize;

/// Print a settings file with the colours of the screens and the keys of every action
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall settings > settings.toml")]
pub(super) struct Args {}

/// `settings --json`.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    /// The text of the file.
    file: &'a str,
}

pub(super) fn run(out: &mut Out) -> Result<Came, Fault> {
    let file = commented();
    out.answer_for(Reader::Boxcall, &Answer { file: &file }, || file.clone())?;
    Ok(Came::Answered)
}

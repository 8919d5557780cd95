//! `boxcall policy`: the protocol's file with every default and its source.

use super::out::{Came, Out, Reader};
use crate::policy::commented;
use crate::room::Fault;
use clap::Args as Arguments;
use serde::Serialize;

/// Print a protocol file with every default and its source
#[derive(Debug, Arguments)]
#[command(after_help = "Example:\n  boxcall policy > policy.toml")]
pub(super) struct Args {}

/// `policy --json`.
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

//! `boxcall demo`: the demo room, thrown away afterwards, or laid in a folder.

use super::out::{Out, Outcome};
use super::walk::walk;
use crate::room::{Fault, Room};
use crate::tui::view::Background;
use clap::Args as Arguments;
use std::path::Path;

/// Open a demo room in which every device is invented
#[derive(Debug, Arguments)]
#[command(after_help = "With --room DIR the demo is laid in DIR (new or empty) and stays.\n\n\
                        Example:\n  boxcall demo\n  boxcall demo --plain")]
pub(super) struct Args {
    /// Run a whole case without a terminal, and print its record (with --json: the record alone)
    #[arg(long)]
    plain: bool,
}

pub(super) fn run(
    args: &Args,
    room: Option<&Path>,
    background: Option<Background>,
    out: &mut Out,
) -> Result<Outcome, Fault> {
    let room = match room {
        Some(dir) => Room::lay_demo(dir)?,
        None => Room::passing_demo()?,
    };
    if args.plain {
        walk(room, out)?;
    } else {
        crate::tui::run(room, background)?;
    }
    Ok(Outcome::Answered)
}

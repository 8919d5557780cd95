//! `boxcall far`: a second monitor that follows the room.

use super::out::Outcome;
use super::products::room_dir;
use crate::room::Fault;
use crate::tui::view::Background;
use clap::Args as Arguments;
use std::path::Path;

/// Show the room on a second monitor, in letters to be read from three metres; it writes nothing
#[derive(Debug, Arguments)]
#[command(
    after_help = "It shows what is asked for, at hand and open on the table, what to fetch and what to say back, the\n\
                        read-back that stands on the other screen, and the balloon's clock. Give it a terminal as large\n\
                        as the monitor: the letters grow with it.\n\n\
                        Example:\n  boxcall far\n  boxcall --room /srv/lab2 far"
)]
pub(super) struct Args {}

pub(super) fn run(_: &Args, room: Option<&Path>, background: Option<Background>) -> Result<Outcome, Fault> {
    crate::tui::watch(&room_dir(room)?, background)?;
    Ok(Outcome::Answered)
}

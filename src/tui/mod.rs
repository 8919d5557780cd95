//! The face that people see: screens in a terminal.
//!
//! Invariant: a view computes no fact of the trade.

use crate::room::{Fault, Room};

/// Opens the screens on a room.
///
/// # Errors
/// Always: this build holds no screens.
pub fn run(_room: Room) -> Result<(), Fault> {
    Err(Fault::terminal("the screens are not in this build; boxcall demo --plain and the commands are"))
}

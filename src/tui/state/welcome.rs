//! The demo room's first page.

use super::{EVERYWHERE, Front, Passing};
use crate::tui::keys::{ACCEPT, Letters, Place};

pub static PLACE: Place = Place::new(
    "The demo room's first page",
    Letters::Shared,
    &[ACCEPT.row("the tour", "the guided tour: a whole case, in about three minutes")],
)
.within(&EVERYWHERE);

/// It only asks to be seen: a letter or an Enter that closes it does nothing else.
pub const FRONT: Front =
    Front { passing: Some(Passing::TakesKey), ..Front::new(&PLACE, |state, _| state.begin_tour()) };

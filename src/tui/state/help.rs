//! Help: the tables of keys, place by place.

use super::{EVERYWHERE, Effects, Front, List, State};
use crate::tui::keys::{Action, CLOSE, DOWN, Letters, PAGE_DOWN, PAGE_UP, Place, UP};

pub static PLACE: Place = Place::new(
    "Help",
    Letters::Shared,
    &[
        DOWN.row("further", "further down"),
        PAGE_DOWN.row("", "further down"),
        UP.row("", "further up"),
        PAGE_UP.row("", "further up"),
        CLOSE.row("back", "back to the screen before"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front = Front {
    list: |state| Some(List::new(&mut state.help_scroll, usize::MAX)),
    ..Front::new(&PLACE, State::act_visited)
};

impl State {
    /// A screen that was only visited closes to the one before.
    pub(super) fn act_visited(&mut self, action: Action) -> Effects {
        if action == CLOSE {
            self.go(self.back);
        }
        Effects::new()
    }
}

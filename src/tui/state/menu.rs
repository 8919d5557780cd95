//! The list of screens that opens over a screen: every one by a letter.

use super::{EVERYWHERE, Effects, Front, State};
use crate::tui::keys::*;

pub const TOUR: Action = Action::new("menu-tour", &["t"]);
pub const FIRST: Action = Action::new("menu-first", &["1"]);

const SIZES: Action = Action::new("menu-sizes", &["s"]);
const FETCH: Action = Action::new("menu-fetch", &["f"]);
const READ_BACK: Action = Action::new("menu-read-back", &["r"]);
const OPENED: Action = Action::new("menu-opened", &["o"]);
const CASE_END: Action = Action::new("menu-case-end", &["e"]);
const SHELF: Action = Action::new("menu-shelf", &["h"]);
const BAIL_OUT: Action = Action::new("menu-bail-out", &["b"]);
const KEYS: Action = Action::new("menu-help", &["k"]);
const OUT: Action = Action::new("menu-leave", &["q"]);

pub static PLACE: Place = Place::new(
    "Go to",
    Letters::Own,
    &[
        SIZES.row("sizes", "Sizes"),
        FETCH.row("fetch", "Fetch"),
        READ_BACK.row("read-back", "Read-back"),
        OPENED.row("opened", "Opened"),
        CASE_END.row("case end", "Case end"),
        SHELF.row("shelf", "Shelf"),
        BAIL_OUT.row("bail-out", "Bail-out"),
        KEYS.row("keys", "Help"),
        TOUR.row("tour", "Tour of the demo room: take it up, or leave it"),
        FIRST.row("first steps", "First steps"),
        OUT.row("leave", "leave boxcall"),
        CLOSE.row("back", "stay here"),
    ],
)
.within(&EVERYWHERE);

pub const FRONT: Front =
    Front { offers: |state, action| action != TOUR || state.world.demo, ..Front::new(&PLACE, act) };

fn act(state: &mut State, action: Action) -> Effects {
    let leads = match action {
        SIZES => GO_SIZES,
        FETCH => GO_FETCH,
        READ_BACK => GO_READ_BACK,
        OPENED => GO_OPENED,
        CASE_END => GO_CASE_END,
        SHELF => GO_SHELF,
        BAIL_OUT => GO_BAIL_OUT,
        KEYS => HELP,
        OUT => LEAVE,
        TOUR => return state.turn_tour(),
        _ => return state.go_to_first_steps(),
    };
    state.act(leads)
}

//! The keys of Read-back.

use crate::tui::keys::*;
use crate::tui::model::EVERYWHERE;

pub const OPENED: Action = Action::needed("read-opened", &["o"]).deciding();
pub const KEEP: Action = Action::new("read-keep", &["h"]).deciding();
pub const PUT_BACK: Action = Action::new("read-put-back", &["b", "Delete"]).deciding();
pub const ANYWAY: Action = Action::new("read-anyway", &["d"]);
pub const EARLIER: Action = Action::new("read-earlier", &["a"]);
pub const TYPE_LABEL: Action = Action::new("read-type-label", &["t"]);
pub const TYPE_BOX: Action = Action::new("read-type-box", &["y"]);
pub const ENROL: Action = Action::new("read-enrol", &["e"]);

pub static PLACE: Place = Place::new(
    "Read-back",
    Letters::Shared,
    &[
        OPENED.row("opened", "its seal is broken: write it down (SAME, or no call waiting)"),
        KEEP.row("at hand", "keep it in the room, unopened"),
        PUT_BACK.row("put back", "put it back, unopened; the call stands"),
        ANYWAY.row("go on", "go on all the same: type the size on the box and a reason"),
        EARLIER.row("minutes ago", "it was opened some minutes ago"),
        TYPE_LABEL.row("type label", "type the label: (01)… (17)… (10)…"),
        TYPE_BOX.row("type box", "no label can be read: type what the box says"),
        ENROL.row("enrol", "no product file has it: type what its front says, kept unverified"),
        CLOSE.row("", "forget what was read; nothing is written about it"),
        DOWN.row("", "the next call or box at hand"),
        UP.row("", "the one before"),
    ],
)
.within(&EVERYWHERE);

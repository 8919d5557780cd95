//! The keys of Shelf.

use crate::tui::keys::*;
use crate::tui::model::EVERYWHERE;

pub const RECEIVE: Action = Action::new("shelf-receive", &["i"]);
pub const COUNT: Action = Action::new("shelf-count", &["c"]);
pub const MOVE: Action = Action::new("shelf-move", &["m"]);
pub const PULL: Action = Action::new("shelf-pull", &["x"]);
pub const RECALL: Action = Action::new("shelf-recall", &["r"]);

pub static PLACE: Place = Place::new(
    "Shelf",
    Letters::Shared,
    &[
        RIGHT.row("next page", "the next page of the shelf"),
        LEFT.row("", "the page before"),
        DOWN.row("", "further down"),
        UP.row("", "further up"),
        PAGE_DOWN.row("", "a page further down"),
        PAGE_UP.row("", "a page further up"),
        RECEIVE.row("receive", "receive boxes: each is scanned and counted, place and owner said first"),
        COUNT.row("count", "count one place: scan all that lies there, then see what differs"),
        MOVE.row("move", "move boxes to another place by scanning them"),
        PULL.row("pull", "take what is expired or recalled off the shelf: the list first"),
        RECALL.row("recall a lot", "type a lot that is recalled: it is marked, and stops a read-back"),
    ],
)
.within(&EVERYWHERE);

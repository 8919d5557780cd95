//! The keys of Opened.

use crate::tui::keys::*;
use crate::tui::model::EVERYWHERE;

pub const INFLATE: Action = Action::new("opened-inflate", &["i"]);
pub const CLOCK: Action = Action::new("opened-clock", &["c"]);
pub const BALLOON: Action = Action::new("opened-balloon", &["b"]);
pub const AREAS: Action = Action::new("opened-areas", &["e"]);
pub const FATE: Action = Action::new("opened-fate", &["f"]);
pub const OVERLAP: Action = Action::new("opened-overlap", &["o"]);
pub const TABLE: Action = Action::new("opened-table", &["t"]).deciding();
pub const AGAIN: Action = Action::new("opened-again", &["a"]).deciding();
pub const STRIKE: Action = Action::destroying("opened-strike", &["Delete"]);

pub static PLACE: Place = Place::new(
    "Opened",
    Letters::Shared,
    &[
        DOWN.row("", "the next box"),
        UP.row("", "the box before"),
        INFLATE.row("inflate", "its balloon went up: pressure and seconds; or the pressure for a diameter"),
        CLOCK.row("clock", "its balloon goes up, and the clock runs; the same key when it comes down"),
        BALLOON.row("balloon", "which balloon gives a wanted diameter inside it, at which pressure; call it"),
        AREAS.row("expansion", "the areas measured inside it, against the published criteria"),
        FATE.row("fate", "what became of it"),
        OVERLAP.row("overlap", "how it lies to another stent of the same lesion: overlap or gap in mm"),
        TABLE.row("on the table", "it would not cross and lies on the table again"),
        AGAIN.row("again", "it is used on the lesion in work as well"),
        STRIKE.row("strike out", "this box was written down wrongly: strike its opening out, with a reason"),
    ],
)
.within(&EVERYWHERE);

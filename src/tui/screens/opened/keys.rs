//! The keys of Opened.

use crate::tui::keys::*;

place! {
    PLACE: "Opened", Shared, within EVERYWHERE;
    DOWN => "", "the next box";
    UP => "", "the box before";
    INFLATE = new("opened-inflate", ["i"])
        => "inflate", "its balloon went up: pressure and seconds; or the pressure for a diameter";
    CLOCK = new("opened-clock", ["c"])
        => "clock", "its balloon goes up, and the clock runs; the same key when it comes down";
    BALLOON = new("opened-balloon", ["b"])
        => "balloon", "which balloon gives a wanted diameter inside it, at which pressure; call it";
    AREAS = new("opened-areas", ["e"])
        => "expansion", "the areas measured inside it, against the published criteria";
    FATE = new("opened-fate", ["f"]) => "fate", "what became of it";
    OVERLAP = new("opened-overlap", ["o"])
        => "overlap", "how it lies to another stent of the same lesion: overlap or gap in mm";
    TABLE = new("opened-table", ["t"]).deciding()
        => "on the table", "it would not cross and lies on the table again";
    AGAIN = new("opened-again", ["a"]).deciding() => "again", "it is used on the lesion in work as well", wide;
    STRIKE = destroying("opened-strike", ["Delete"])
        => "strike out", "this box was written down wrongly: strike its opening out, with a reason", wide;
}

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE];

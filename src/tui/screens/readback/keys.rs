//! The keys of Read-back.

use crate::tui::keys::*;

place! {
    PLACE: "Read-back", Shared, within EVERYWHERE;
    OPENED = needed("read-opened", ["o"]).deciding()
        => "opened", "its seal is broken: write it down (SAME, or no call waiting)";
    KEEP = new("read-keep", ["h"]).deciding() => "at hand", "keep it in the room, unopened";
    PUT_BACK = new("read-put-back", ["b", "Delete"]).deciding()
        => "put back", "put it back, unopened; the call stands";
    ANYWAY = new("read-anyway", ["d"])
        => "go on", "go on all the same: type the size on the box and a reason";
    EARLIER = new("read-earlier", ["a"]) => "minutes ago", "it was opened some minutes ago";
    TYPE_LABEL = new("read-type-label", ["t"]) => "type label", "type the label: (01)… (17)… (10)…";
    TYPE_BOX = new("read-type-box", ["y"]) => "type box", "no label can be read: type what the box says", wide;
    ENROL = new("read-enrol", ["e"])
        => "enrol", "no product file has it: type what its front says, kept unverified";
    CLOSE => "", "forget what was read; nothing is written about it";
    DOWN => "", "the next call or box at hand";
    UP => "", "the one before";
}

/// The places of this screen and its overlays.
pub const PLACES: &[&Place] = &[&PLACE];

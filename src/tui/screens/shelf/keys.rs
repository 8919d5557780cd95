//! The keys of Shelf.

use crate::tui::keys::*;

place! {
    PLACE: "Shelf", Shared, within EVERYWHERE;
    RIGHT => "next page", "the next page of the shelf";
    LEFT => "", "the page before";
    DOWN => "", "further down";
    UP => "", "further up";
    PAGE_DOWN => "", "a page further down";
    PAGE_UP => "", "a page further up";
    RECEIVE = new("shelf-receive", ["i"])
        => "receive", "receive boxes: each is scanned and counted, place and owner said first";
    COUNT = new("shelf-count", ["c"])
        => "count", "count one place: scan all that lies there, then see what differs";
    MOVE = new("shelf-move", ["m"]) => "move", "move boxes to another place by scanning them";
    PULL = new("shelf-pull", ["x"])
        => "pull", "take what is expired or recalled off the shelf: the list first";
    RECALL = new("shelf-recall", ["r"])
        => "recall a lot", "type a lot that is recalled: it is marked, and stops a read-back";
}

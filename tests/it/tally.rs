//! Boxes received, counted, moved and pulled by a hand with a scanner, on the demo room's shelf.

use crate::hand::Hand;
use boxcall::catalogue::{Owner, Piece};
use boxcall::journal::Fact;
use boxcall::label::Arrival;
use boxcall::shelf::scan_of;
use boxcall::tui::keys::{Key, TRY_AGAIN};
use boxcall::tui::state::{Message, Screen};

fn label(piece: &Piece) -> String {
    String::from_utf8(scan_of(piece)).unwrap()
}

/// A box of the demo's shelf with a serial number that no other has.
fn new_box(hand: &Hand, serial: u32) -> String {
    let fell =
        hand.state.world.shelf.pieces().into_iter().find(|piece| piece.in_date(hand.state.world.today()));
    label(&Piece { serial: Some(format!("R{serial:03}")), lot: "R1".into(), ..fell.unwrap().clone() })
}

fn receiving() -> Hand {
    let mut hand = Hand::demo();
    hand.keys("<Esc><F7>icupboard 9<Tab>c<Enter><Enter>");
    assert!(hand.small().contains("COUNTED HERE, not read back"), "{}", hand.small());
    hand
}

#[test]
fn fifty_boxes_in_a_row_are_one_entry_and_only_after_their_sum_was_seen() {
    let mut hand = receiving();
    let before = hand.journal.len();
    for serial in 1..=50 {
        let label = new_box(&hand, serial);
        hand.scan(&label);
    }
    assert_eq!(hand.state.screen(), Screen::Shelf, "no scan goes to read-back");
    assert!(hand.state.findings.held.is_none());
    assert_eq!(hand.state.tally.as_ref().unwrap().tally.count(), 50);
    hand.keys("<Enter>w<Enter>");
    assert_eq!(hand.journal.len(), before, "nothing is written before the sum is seen");
    hand.keys("d<Enter>");
    assert!(hand.small().contains("NOT WRITTEN YET"), "{}", hand.small());
    assert_eq!(hand.journal.len(), before, "Enter confirms nothing");
    hand.keys("w");
    assert_eq!(hand.journal.len(), before + 1);
    let Fact::StockReceived { pieces, .. } = &hand.journal[before].fact else {
        panic!("{:?}", hand.journal[before])
    };
    assert_eq!(pieces.len(), 50);
    assert!(pieces.iter().all(|piece| piece.shelf == "cupboard 9" && piece.owner == Owner::Consigned));
    assert!(hand.state.tally.is_none());
    assert!(hand.small().contains("Received: 50 boxes"), "{}", hand.small());
}

#[test]
fn one_key_takes_the_last_scan_back_and_a_serial_counts_once() {
    let mut hand = receiving();
    let (first, second) = (new_box(&hand, 1), new_box(&hand, 2));
    hand.scan(&first).scan(&second).scan(&second);
    assert!(hand.small().contains("serial number R002 counts already"), "{}", hand.small());
    assert_eq!(hand.state.tally.as_ref().unwrap().tally.count(), 2);
    hand.keys("u");
    assert_eq!(hand.state.tally.as_ref().unwrap().tally.count(), 1);
    hand.scan("rubbish");
    assert!(hand.small().contains("NOT COUNTED"), "{}", hand.small());
    hand.send(Message::Scan { bytes: second.into_bytes(), complete: false, arrival: Arrival::Scanned });
    assert_eq!(hand.state.tally.as_ref().unwrap().tally.count(), 1, "a scan that broke off is no box");
}

#[test]
fn leaving_with_boxes_counted_asks_twice_and_writes_nothing() {
    let mut hand = receiving();
    let before = hand.journal.len();
    let label = new_box(&hand, 1);
    hand.scan(&label).keys("<Esc>");
    assert!(hand.small().contains("NOT WRITTEN"), "{}", hand.small());
    assert!(hand.state.tally.is_some());
    hand.keys("<Esc>");
    assert!(hand.state.tally.is_none());
    assert_eq!(hand.journal.len(), before);
    hand.scan(&label);
    assert_eq!(hand.state.screen(), Screen::ReadBack, "scans are read back again");
}

/// A box that was called must never vanish into a delivery.
#[test]
fn a_case_that_waits_for_a_box_has_the_scanner() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3 29<Enter><Esc><F7>i");
    assert!(hand.small().contains("to fetch"), "{}", hand.small());
    assert!(hand.state.over().is_none(), "receiving does not begin while a call waits");

    let mut hand = receiving();
    let (first, second) = (new_box(&hand, 1), new_box(&hand, 2));
    hand.scan(&first).keys("<F2>3 29<Enter><Esc><F7>");
    assert!(hand.small().contains("NOT COUNTING"), "{}", hand.small());
    hand.scan(&second);
    assert_eq!(hand.state.screen(), Screen::ReadBack);
    assert!(hand.small().contains("Read back, NOT COUNTED"), "{}", hand.small());
    assert_eq!(hand.state.tally.as_ref().unwrap().tally.count(), 1, "what was counted is kept");
    hand.keys("b<F3><Delete><F7>");
    assert!(hand.small().contains("COUNTED HERE"), "{}", hand.small());
    hand.scan(&second);
    assert_eq!(hand.state.tally.as_ref().unwrap().tally.count(), 2);
}

#[test]
fn on_another_screen_a_scan_is_read_back_and_the_tally_is_kept() {
    let mut hand = receiving();
    let (first, second) = (new_box(&hand, 1), new_box(&hand, 2));
    hand.scan(&first).keys("<F5>").scan(&second);
    assert_eq!(hand.state.screen(), Screen::ReadBack);
    assert!(hand.small().contains("1 counted on Shelf"), "{}", hand.small());
    hand.keys("<F7>");
    assert!(hand.small().contains("COUNTED HERE"));
}

#[test]
fn a_count_shows_the_differences_before_it_writes_them() {
    let mut hand = Hand::demo();
    let place = "cupboard 1, shelf A";
    let there: Vec<Piece> =
        hand.state.world.shelf.pieces().into_iter().filter(|piece| piece.shelf == place).cloned().collect();
    hand.keys("<Esc><F7>c").keys(place).keys("<Enter>");
    let before = hand.journal.len();
    for piece in &there[1..] {
        for _ in 0..piece.count {
            hand.scan(&label(piece));
        }
    }
    hand.keys("d");
    let screen = hand.screen(160, 45);
    assert!(screen.contains("rows that change: 1"), "{screen}");
    assert!(screen.contains(&there[0].lot), "{screen}");
    assert_eq!(hand.journal.len(), before);
    hand.keys("w");
    assert_eq!(hand.journal.len(), before + 1);
    let left = hand.state.world.shelf.pieces().into_iter().filter(|piece| piece.shelf == place).count();
    assert_eq!(left, there.len() - 1);
}

#[test]
fn a_count_that_agrees_has_nothing_to_write() {
    let mut hand = Hand::demo();
    let place = "cupboard 1, shelf A";
    let there: Vec<Piece> =
        hand.state.world.shelf.pieces().into_iter().filter(|piece| piece.shelf == place).cloned().collect();
    hand.keys("<Esc><F7>c").keys(place).keys("<Enter>");
    let before = hand.journal.len();
    for piece in &there {
        for _ in 0..piece.count {
            hand.scan(&label(piece));
        }
    }
    hand.keys("dw");
    assert!(hand.small().contains("nothing"), "{}", hand.small());
    assert_eq!(hand.journal.len(), before);
}

#[test]
fn expired_boxes_are_pulled_as_one_entry_after_they_were_seen() {
    let mut hand = Hand::demo();
    let today = hand.state.world.today();
    assert!(!hand.state.world.shelf.expired(today).is_empty());
    hand.keys("<Esc><F7>x");
    let before = hand.journal.len();
    assert!(hand.small().contains("NOT WRITTEN YET"), "{}", hand.small());
    hand.keys("w");
    assert_eq!(hand.journal.len(), before + 1);
    assert!(hand.state.world.shelf.expired(today).is_empty());
}

#[test]
fn boxes_are_moved_by_scanning_them() {
    let mut hand = Hand::demo();
    let piece = hand.state.world.shelf.pieces()[0].clone();
    hand.keys("<Esc><F7>mcupboard 9<Tab>").keys(&piece.shelf).keys("<Enter>");
    let before = hand.journal.len();
    hand.scan(&label(&piece)).keys("dw");
    let Fact::StockMoved { pieces, to } = &hand.journal[before].fact else {
        panic!("{:?}", hand.journal[before])
    };
    assert_eq!((pieces[0].count, to.as_str()), (1, "cupboard 9"));
}

#[test]
fn what_the_disk_refuses_is_kept_and_written_later() {
    let mut hand = receiving();
    let label = new_box(&hand, 1);
    let before = hand.journal.len();
    hand.scan(&label);
    hand.disk_full = true;
    hand.keys("dw");
    assert!(hand.small().contains("NOT SAVED"), "{}", hand.small());
    hand.disk_full = false;
    let again = hand.state.key(TRY_AGAIN);
    hand.send(Message::Key(Key::spelt(&again).unwrap()));
    assert_eq!(hand.journal.len(), before + 1);
}

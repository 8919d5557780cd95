//! The tour moves on by what was done and by nothing else; it is left and taken up.

use crate::hand::Hand;
use boxcall::tui::state::welcome;

fn begun() -> Hand {
    let mut hand = Hand::demo();
    hand.state.open(welcome::Welcome);
    hand.keys("<Enter>");
    hand
}

fn stop(hand: &Hand) -> String {
    hand.state.tour_lines().map(|[count, ..]| count).unwrap_or_default()
}

#[test]
fn nothing_but_the_real_thing_moves_it_on() {
    let mut hand = begun();
    assert_eq!(stop(&hand), "tour 1 of 11");
    // Going round the screens, opening a form and leaving it, typing half a size: nothing of it is measuring.
    hand.keys("<F3><F4><F5><F6><F7><F9><F2>m2.8<Esc>3 2<Esc><F1><Esc>");
    assert_eq!(stop(&hand), "tour 1 of 11");
    hand.keys("mo<Tab>2.8<Tab>3.1<Tab>3.3<Tab>3.6<Tab>27<Enter><Esc>");
    assert_eq!(stop(&hand), "tour 2 of 11");
    hand.keys("<F3>");
    assert_eq!(stop(&hand), "tour 2 of 11", "no call: there is nothing to fetch");
    hand.keys("<F2>3 29<Enter>");
    assert_eq!(stop(&hand), "tour 3 of 11");
    hand.keys("<F3>P");
    assert_eq!(stop(&hand), "tour 4 of 11", "the right box is not the wrong one");
    hand.keys("W");
    assert_eq!(stop(&hand), "tour 5 of 11");
    hand.keys("<Esc>");
    assert_eq!(stop(&hand), "tour 5 of 11", "forgotten is not put back");
    hand.keys("<F3>Wb");
    assert_eq!(stop(&hand), "tour 6 of 11");
}

#[test]
fn what_the_disk_refuses_moves_nothing() {
    let mut hand = begun();
    hand.disk_full = true;
    hand.keys("mo<Tab>2.8<Tab>3.1<Tab>3.3<Tab>3.6<Tab>27<Enter>");
    assert_eq!(stop(&hand), "tour 1 of 11", "it is not on disk");
    hand.disk_full = false;
    hand.keys("<F12>");
    assert_eq!(stop(&hand), "tour 2 of 11");
}

#[test]
fn it_is_left_and_taken_up_and_what_was_done_meanwhile_counts() {
    let mut hand = begun();
    hand.keys("mo<Tab>2.8<Tab>3.1<Tab>3.3<Tab>3.6<Tab>27<Enter><Esc>gt");
    assert_eq!(hand.state.tour_lines(), None);
    assert!(hand.small().contains("The tour waits"), "{}", hand.small());
    hand.keys("3 29<Enter>gt");
    assert_eq!(stop(&hand), "tour 3 of 11");
    // Whoever opens the right box without the wrong one is not sent back.
    hand.keys("<F3>Po3 29<Enter>");
    assert_eq!(stop(&hand), "tour 8 of 11");
}

#[test]
fn a_room_that_is_no_demo_has_none() {
    let mut hand = Hand::bare();
    hand.keys("gt");
    assert_eq!(hand.state.tour_lines(), None);
    assert!(hand.small().contains("boxcall demo"), "{}", hand.small());
}

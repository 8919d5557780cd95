//! The balloon's clock: it is in the journal, so that every screen of the room shows it and no crash stops it.

use crate::hand::Hand;
use boxcall::catalogue::Piece;
use boxcall::journal::Fact;
use boxcall::shelf::scan_of;

/// Two boxes of one size, opened.
fn two_opened() -> Hand {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    hand.keys("3 29<Enter><Esc><F3>");
    let piece: Piece = hand.state.card().and_then(|card| card.bring).expect("it lies there").piece;
    let label = String::from_utf8(scan_of(&piece)).expect("text");
    hand.scan(&label).keys("o3 29<Enter><F2>=<F3>");
    let piece: Piece = hand.state.card().and_then(|card| card.bring).expect("it lies there").piece;
    let label = String::from_utf8(scan_of(&piece)).expect("text");
    hand.scan(&label).keys("o");
    assert_eq!(hand.state.world.opened().len(), 2, "{}", hand.small());
    hand
}

#[test]
fn the_clock_goes_on_after_a_crash() {
    let mut hand = two_opened();
    hand.keys("c<F3><F6>");
    let before = hand.state.balloon_seconds().expect("it runs");
    let mut again = hand.killed();
    assert_eq!(again.state.balloons_up(), hand.state.balloons_up());
    again.keys("<F5>");
    assert!(again.state.balloon_seconds().is_some_and(|seconds| seconds <= before), "its clock began anew");
    assert!(again.small().contains("BALLOON UP"), "{}", again.small());
}

#[test]
fn the_seconds_are_kept_though_the_pressure_is_not_typed() {
    let mut hand = two_opened();
    hand.keys("c<F3><F5>c<Esc>");
    assert!(hand.state.balloons_up().is_empty());
    let down = hand.journal.last().expect("written").fact.clone();
    let Fact::BalloonDown { seconds, .. } = down else { panic!("{down:?}") };
    assert_eq!(seconds, 3, "a second a key");
    hand.keys("i14<Enter>");
    let opened = hand.state.world.opened();
    assert_eq!(opened[1].inflations[0].inflation.seconds, Some(3), "they stand in the form");
    hand.keys("i");
    let Some(form) = hand.state.form() else { panic!("{}", hand.small()) };
    assert_eq!(form.value("seconds"), "", "the next inflation has none yet");
}

#[test]
fn undo_of_down_lets_the_clock_run_on_and_undo_of_up_stops_it() {
    let mut hand = two_opened();
    hand.keys("c");
    let up = hand.state.balloons_up();
    hand.keys("c<Esc>u");
    assert_eq!(hand.state.balloons_up(), up);
    hand.keys("u");
    assert!(hand.state.balloons_up().is_empty());
    assert_eq!(hand.state.world.opened().len(), 2);
}

/// Two balloons side by side in a bifurcation: common practice, no source.
#[test]
fn two_balloons_have_two_clocks() {
    let mut hand = two_opened();
    hand.keys("c<↑>c");
    let up = hand.state.balloons_up();
    assert_eq!(up.len(), 2);
    assert!(up[0].1 < up[1].1, "the longest first");
    hand.keys("c<Esc>");
    assert_eq!(hand.state.balloons_up(), up[..1]);
}

#[test]
fn a_fate_and_a_signature_end_the_clock() {
    let mut hand = two_opened();
    hand.keys("cf1");
    assert!(hand.state.balloons_up().is_empty());
    hand.keys("<↑>c<F6>snext patient<Enter>");
    assert!(hand.state.world.case.as_ref().is_some_and(|case| case.signed.is_some()), "{}", hand.small());
    assert!(hand.state.balloons_up().is_empty());
}

#[test]
fn a_disk_that_refuses_stops_no_clock() {
    let mut hand = two_opened();
    hand.disk_full = true;
    hand.keys("c<F3>");
    assert!(hand.state.balloon_seconds().is_some());
    assert!(hand.small().contains("NOT SAVED"), "{}", hand.small());
    hand.disk_full = false;
    hand.keys("<F5>c12<Enter>");
    let opened = hand.state.world.opened();
    let inflations = opened.iter().flat_map(|item| &item.inflations).collect::<Vec<_>>();
    assert_eq!(inflations.len(), 1);
    assert_eq!(inflations[0].inflation.seconds, Some(3), "a second a key");
    assert!(
        hand.journal.iter().any(|entry| matches!(entry.fact, Fact::BalloonUp { .. })),
        "with its own time"
    );
}

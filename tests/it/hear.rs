//! What is scanned besides a whole label: commands of the card, two codes of one label, a lost separator.

use crate::hand::Hand;
use boxcall::case::ItemState;
use boxcall::case::readback::Headline;
use boxcall::catalogue::Piece;
use boxcall::journal::{Fact, Fate, Unused};
use boxcall::label::card::Command;
use boxcall::shelf::scan_of;

/// A box that has been called, scanned and opened.
fn opened() -> Hand {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    hand.keys("3 29<Enter><Esc>Po3 29<Enter>");
    assert_eq!(hand.state.world.opened().len(), 1, "{}", hand.small());
    hand
}

fn fate(hand: &Hand) -> Option<Fate> {
    hand.state.world.opened()[0].fate.as_ref().map(|kept| kept.fate)
}

#[test]
fn the_card_opens_and_puts_back_what_its_keys_would() {
    let mut hand = opened();
    hand.keys("<F2>=<Esc>W");
    hand.scan(&Command::Opened.code());
    assert_eq!(hand.state.world.opened().len(), 1, "not what was called: not by the card either");
    hand.scan(&Command::PutBack.code());
    assert!(matches!(hand.journal.last().unwrap().fact, Fact::BoxPutBack { .. }));
    hand.keys("P").passes(chrono::TimeDelta::seconds(1));
    hand.scan(&Command::Opened.code());
    assert_eq!(hand.state.world.opened().len(), 2, "{}", hand.small());
}

#[test]
fn the_card_says_dropped_and_refuses_to_guess_what_became_of_a_stent() {
    let mut hand = opened();
    hand.scan(&Command::Used.code());
    assert_eq!(fate(&hand), None);
    assert!(
        hand.state.said.warns && hand.state.said.words.contains("implanted"),
        "{}",
        hand.state.said.words
    );
    hand.scan(&Command::Dropped.code());
    assert_eq!(fate(&hand), Some(Fate::OpenedNotUsed { why: Unused::Dropped }));
}

#[test]
fn the_clock_runs_from_balloon_up_to_balloon_down_and_is_on_every_screen() {
    let mut hand = opened();
    hand.scan(&Command::BalloonUp.code());
    hand.keys("<F3><F6><F2>");
    assert!(hand.small().contains("BALLOON UP 0:0"), "{}", hand.small());
    hand.scan(&Command::BalloonDown.code());
    hand.keys("12<Enter>");
    let inflation = &hand.state.world.opened()[0].inflations[0].inflation;
    assert_eq!((inflation.at_atm.atm(), inflation.seconds), (12.0, Some(4)), "a second a key and a scan");
}

#[test]
fn the_card_signs_off_only_what_is_settled() {
    let mut hand = opened();
    hand.scan(&Command::SignOff.code());
    assert!(hand.state.world.case.as_ref().unwrap().signed.is_none(), "it asks why");
    hand.keys("<Esc><F5>f1");
    hand.scan(&Command::SignOff.code());
    assert!(hand.state.world.case.as_ref().unwrap().signed.is_some(), "{}", hand.small());
}

#[test]
fn a_damaged_code_of_the_card_does_nothing_and_says_so() {
    let mut hand = opened();
    let entries = hand.journal.len();
    let code = Command::Dropped.code();
    let hurt = format!("{}9", &code[..code.len() - 1]);
    hand.scan(&hurt);
    assert_eq!(hand.journal.len(), entries);
    assert!(hand.state.said.warns, "{}", hand.state.said.words);
}

#[test]
fn two_codes_of_one_label_are_joined_and_shown_as_a_pair() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3 29<Enter><Esc><F3>");
    let piece: Piece = hand.state.card().and_then(|card| card.bring).expect("it lies there").piece;
    let date = piece.use_by.expect("it has one").format("%y%m%d");
    hand.scan(&format!("]C101{}", piece.di));
    assert_ne!(hand.state.held().unwrap().back.headline, Headline::Same, "half a label is not the same");
    hand.scan(&format!("]C117{date}10{}", piece.lot));
    let held = hand.state.held().expect("held");
    assert_eq!(held.back.headline, Headline::Same, "{}", hand.small());
    assert_eq!(held.back.read.lot.as_deref(), Some(piece.lot.as_str()));
    assert!(hand.state.said.words.contains("Two codes"), "{}", hand.state.said.words);
}

#[test]
fn a_lost_separator_with_one_reading_that_the_shelf_knows_asks_for_the_lot_by_eye() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3 29<Enter><Esc><F3>");
    let called: Piece = hand.state.card().and_then(|card| card.bring).expect("it lies there").piece;
    let piece = Piece { lot: "K7".into(), serial: Some("S0042".into()), ..called };
    let mut pieces: Vec<Piece> = hand.state.world.shelf.pieces().into_iter().cloned().collect();
    pieces.push(piece.clone());
    hand.room(vec![Fact::StockLoaded { from: "here".into(), pieces }]);
    let lost: String = String::from_utf8(scan_of(&piece)).unwrap().replace('\u{1d}', "");
    hand.scan(&lost);
    assert_eq!(hand.state.held().unwrap().back.headline, Headline::Doubtful, "{}", hand.small());
    hand.keys("oK8<Enter>");
    assert!(hand.state.world.opened().is_empty(), "another lot does not confirm it");
    hand.keys("<Backspace>7<Enter>");
    assert_eq!(hand.state.held().unwrap().back.headline, Headline::Same, "{}", hand.small());
    assert_eq!(hand.state.held().unwrap().back.read.serial.as_deref(), Some("S0042"));
}

#[test]
fn the_same_box_scanned_twice_is_said_and_not_written_twice() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3 29<Enter><Esc>PP");
    assert_eq!(hand.state.said.words, "The same box again");
    let boxes = hand.journal.iter().filter(|entry| entry.fact.what().starts_with("box-")).count();
    assert_eq!(boxes, 0);
}

/// Two boxes of one lot, without serial numbers, for two calls: the record holds both.
#[test]
fn a_second_box_of_the_lot_at_hand_is_a_box_of_its_own() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>3 29<Enter><Esc>");
    let called: Piece = hand.state.card().and_then(|card| card.bring).expect("it lies there").piece;
    let piece = Piece { serial: None, count: 2, ..called };
    hand.room(vec![Fact::StockLoaded { from: "here".into(), pieces: vec![piece.clone()] }]);
    let label = String::from_utf8(scan_of(&piece)).unwrap();
    hand.keys("<F2>3 29<Enter><Esc>").scan(&label).keys("h3.0x29<Enter>");
    hand.scan(&label).keys("o");
    let case = hand.state.world.case.as_ref().unwrap();
    let boxes: Vec<_> = case.items.iter().map(|item| (item.number, item.call, item.state)).collect();
    let both = [(1, Some(1), ItemState::AtHand), (2, Some(2), ItemState::Opened)];
    assert_eq!(boxes, both, "{}", hand.small());
    assert!(case.waiting_calls().is_empty());
}

#[test]
fn an_unknown_box_is_enrolled_on_the_spot_and_then_says_check_by_eye() {
    let mut hand = Hand::demo();
    hand.keys("<Esc>2.75 23<Enter><Enter><Esc>").scan("]d20109521234543213172802281042K");
    assert_eq!(hand.state.held().unwrap().back.headline, Headline::NotKnown);
    hand.keys("eMora<Tab><Tab>2.75x25<Tab>GR27525<Enter>");
    let held = hand.state.held().expect("still held");
    assert_ne!(held.back.headline, Headline::NotKnown, "{}", hand.small());
    assert_eq!(held.back.read.name, "Mora");
    assert!(matches!(held.back.headline, Headline::CheckByEye | Headline::Different), "{}", hand.small());
}

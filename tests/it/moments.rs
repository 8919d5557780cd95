//! The moments of a case by who stands there, each in the keys and scans that it takes.

use crate::hand::Hand;
use boxcall::case::CallState;
use boxcall::catalogue::Piece;
use boxcall::journal::Fact;
use boxcall::shelf::scan_of;
use boxcall::tui::state::Screen;

fn room() -> Hand {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    hand
}

fn brought(hand: &Hand) -> String {
    let piece: Piece = hand.state.card().and_then(|card| card.bring).expect("it lies there").piece;
    String::from_utf8(scan_of(&piece)).expect("text")
}

/// One box of the size opened before, so that its printed size was typed in this room; a second one is called.
fn second_called() -> Hand {
    let mut hand = room();
    hand.keys("3 29<Enter><Esc><F3>");
    let label = brought(&hand);
    hand.scan(&label).keys("o3 29<Enter><F2>=<F3>");
    hand
}

#[test]
fn the_operator_asks_and_the_size_stands_in_large_letters_at_once() {
    let mut hand = room();
    hand.keys("3 29<Enter><Esc><F3>");
    let card = hand.state.card().expect("a call waits");
    assert_eq!(card.big, "3.00×29");
    let shown = hand.small();
    assert!(shown.lines().filter(|line| line.contains("██")).count() >= 7, "{shown}");
    assert!(shown.contains(&card.say), "what to say back: {shown}");
}

#[test]
fn the_nurse_who_fetches_reads_product_place_and_lot() {
    let hand = second_called();
    let bring = hand.state.card().and_then(|card| card.bring).expect("it lies there");
    for (width, height) in [(80, 24), (160, 45), (400, 120)] {
        let shown = hand.screen(width, height);
        for words in [&bring.name, &bring.piece.shelf, &bring.piece.lot] {
            assert!(shown.contains(words.as_str()), "{words} at {width}x{height}: {shown}");
        }
    }
}

#[test]
fn from_a_matching_scan_to_opened_is_one_key() {
    let mut hand = second_called();
    let label = brought(&hand);
    let before = hand.journal.len();
    hand.scan(&label);
    assert_eq!(hand.journal.len(), before, "a scan writes nothing");
    hand.keys("o");
    let case = hand.state.world.case.as_ref().expect("a case");
    assert!(matches!(case.calls[1].state, CallState::Opened { .. }), "{}", hand.small());
    assert_eq!(hand.journal.len(), before + 1, "one entry");
}

#[test]
fn the_wrong_box_goes_back_in_one_key_and_the_call_stands_large_again() {
    let mut hand = second_called();
    let called = hand.state.call_shown().map(|call| call.number);
    let world = &hand.state.world;
    let wanted = hand.state.card().and_then(|card| card.bring).expect("it lies there").piece;
    let wrong =
        world.shelf.pieces().into_iter().find(|piece| piece.di != wanted.di && piece.in_date(world.today()));
    let label = String::from_utf8(scan_of(wrong.expect("another box"))).expect("text");
    hand.scan(&label);
    let shown = hand.small();
    for line in hand.state.held().expect("held").back.lines.iter().filter(|line| line.differs()) {
        let row = shown
            .lines()
            .find(|row| row.contains("DIFFERS") && row.contains(line.field.name()))
            .unwrap_or_default();
        assert!(
            [&line.on_box, &line.called].into_iter().flatten().all(|side| row.contains(side)),
            "{} is not named: {shown}",
            line.field
        );
    }
    assert!(shown.contains("▸ put it back"), "the next step is named: {shown}");
    hand.keys("b");
    assert!(matches!(hand.journal.last().map(|entry| &entry.fact), Some(Fact::BoxPutBack { .. })));
    assert_eq!(
        (hand.state.screen(), hand.state.call_shown().map(|call| call.number)),
        (Screen::Fetch, called)
    );
}

#[test]
fn whoever_inflates_has_the_seconds_in_large_digits_and_a_key_up_and_a_key_down() {
    let mut hand = second_called();
    hand.keys("<F5>c<↓><↓>");
    let shown = hand.small();
    assert!(shown.contains("BALLOON UP"), "{shown}");
    assert!(shown.lines().filter(|line| line.contains('█')).count() >= 7, "large: {shown}");
    hand.keys("c14<Enter>");
    let inflations = &hand.state.world.opened()[0].inflations;
    assert_eq!(inflations.last().and_then(|last| last.inflation.seconds), Some(3), "a second a key");
}

#[test]
fn whoever_wrote_it_down_wrongly_strikes_it_out_in_one_key() {
    let mut hand = second_called();
    let label = brought(&hand);
    hand.scan(&label).keys("o");
    assert!(hand.small().contains("u strikes it out"), "{}", hand.small());
    hand.keys("u");
    assert_eq!(hand.state.world.opened().len(), 1);
    assert!(matches!(hand.journal.last().map(|entry| &entry.fact), Some(Fact::StruckOut { .. })));
}

/// Nobody takes the last line that is seen for the end, and each line can be reached.
#[test]
fn a_long_page_says_how_much_more_there_is_and_shows_it_all() {
    let mut hand = Hand::demo();
    hand.keys("<F7>");
    let page: Vec<String> =
        hand.state.screens().shelf.words().iter().map(|words| words.trim_end().into()).collect();
    assert!(page.len() > 40, "a long one");
    let mut seen = hand.small();
    assert!(seen.contains("more lines ↓"), "{seen}");
    let mut last = seen.clone();
    for _ in 0..page.len() {
        if !last.contains("more lines") {
            break;
        }
        hand.keys("<PgDn>");
        last = hand.small();
        seen.push_str(&last);
    }
    assert!(!last.contains("more lines"), "it ends: {last}");
    for words in &page {
        let words: String = words.chars().take(78).collect();
        assert!(seen.contains(words.trim_end()), "{words}");
    }
    // The way back up is not dead.
    hand.keys("<PgUp>");
    assert_ne!(hand.small(), last);
}

#[test]
fn help_begins_with_the_keys_of_the_screen_that_it_was_asked_on() {
    for screen in Screen::ROUND {
        let mut hand = Hand::demo();
        let function_key =
            format!("<F{}>", Screen::ROUND.iter().position(|other| other == screen).unwrap() + 2);
        hand.keys(&function_key).keys("<F1>");
        let page = hand.screen(80, 40);
        let title = page.find(&format!("\n {}\n", hand.state.place_of(*screen).title)).expect("its own keys");
        let everywhere = page.find("\n Everywhere\n").unwrap_or(usize::MAX);
        assert!(title < everywhere, "{page}");
        hand.keys("<Esc>");
        assert_eq!(hand.state.screen(), *screen);
    }
}

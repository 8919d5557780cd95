//! The second monitor: what it shows of a room, and that nothing can be written from it.

use crate::hand::{self, Hand, text};
use crate::screens;
use boxcall::case::{Bearing, RoomStatus};
use boxcall::catalogue::Piece;
use boxcall::journal::Fact;
use boxcall::shelf::scan_of;
use boxcall::tui::keys::Key;
use boxcall::tui::settings::actions;
use boxcall::tui::state::{Far, FarMessage};
use boxcall::tui::view::{self, Colours, Glyphs, Look};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::sync::LazyLock;

/// A second monitor that has read this hand's journal.
pub fn far(hand: &Hand) -> Far {
    let world = &hand.state.world;
    let mut seen = hand::world(
        world.catalogue.clone(),
        world.policy.clone(),
        &hand.journal,
        world.now,
        world.spare_code.clone(),
    );
    seen.demo = world.demo;
    let mut far = Far::new(seen);
    far.on(FarMessage::RoomStatus(Box::new(heard(hand))));
    far
}

/// What this hand's screens let a second monitor hear.
fn heard(hand: &Hand) -> RoomStatus {
    let glance = hand.state.glance();
    RoomStatus { call: glance.call, read: glance.read, unsaved: glance.unsaved, silent: false }
}

pub fn buffer(far: &Far, width: u16, height: u16, look: Look) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buffer = Buffer::empty(area);
    view::far(far, look, area, &mut buffer);
    buffer
}

fn screen(far: &Far, width: u16, height: u16) -> String {
    text(&buffer(far, width, height, Look::default()))
}

fn small(far: &Far) -> String {
    screen(far, 80, 24)
}

fn called() -> Hand {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    hand.keys("3 29<Enter><Esc>2.5 29h3.5 29<Enter><F3>");
    hand
}

fn brought(hand: &Hand) -> Piece {
    hand.state.card().and_then(|card| card.bring).expect("it lies there").piece
}

fn scan(hand: &mut Hand, piece: &Piece) {
    hand.scan(&String::from_utf8(scan_of(piece)).expect("text"));
}

fn another(hand: &Hand) -> Piece {
    let (world, called) = (&hand.state.world, brought(hand));
    let pieces = world.shelf.pieces();
    let near = |piece: &&&Piece| piece.di != called.di && piece.in_date(world.today());
    Piece::clone(pieces.iter().find(near).expect("the demo shelf has one"))
}

fn opened() -> Hand {
    let mut hand = called();
    let piece = brought(&hand);
    scan(&mut hand, &piece);
    hand.keys("o3 29<Enter>");
    hand
}

/// Each moment that a second monitor is looked at in; walked to once for all tests.
pub fn moments() -> &'static [(&'static str, Far)] {
    static MOMENTS: LazyLock<Vec<(&'static str, Far)>> = LazyLock::new(walked);
    &MOMENTS
}

fn walked() -> Vec<(&'static str, Far)> {
    let mut different = called();
    let wrong = another(&different);
    scan(&mut different, &wrong);
    let mut same = opened();
    same.keys("<F3>");
    let piece = brought(&same);
    scan(&mut same, &piece);
    let mut up = opened();
    up.keys("c");
    let mut up_and_call = opened();
    up_and_call.keys("c<F3><F6><F2>");
    let mut alone = opened();
    alone.keys("<F3><Delete><Delete><F5>c<F2><F3><F6><F2><F3><F6><F2><F3><F6>");
    let mut unsaved = called();
    unsaved.disk_full = true;
    unsaved.keys("<Delete>");
    let mut lost = far(&opened());
    lost.on(FarMessage::Lost { why: "/srv/lab2/journal.db: there is no journal here".into() });
    vec![
        ("far-nothing", far(&Hand::demo())),
        ("far-fetch", far(&called())),
        ("far-different", far(&different)),
        ("far-same", far(&same)),
        ("far-balloon", far(&alone)),
        ("far-balloon-and-fetch", far(&up_and_call)),
        ("far-not-saved", far(&unsaved)),
        ("far-not-followed", lost),
    ]
}

#[test]
fn the_far_view_at_the_smallest_and_at_a_large_size() {
    screens::agree(moments().iter().flat_map(|(name, far)| {
        [(80, 24), (200, 60)]
            .map(|(width, height)| (format!("{name}-{width}x{height}"), screen(far, width, height)))
    }));
}

#[test]
fn it_survives_every_size_without_colour_and_without_unicode() {
    for (name, far) in moments() {
        for (width, height) in
            [(1, 1), (79, 24), (80, 24), (120, 36), (139, 40), (140, 40), (200, 60), (400, 120)]
        {
            let plain = Look { colours: Colours::None, glyphs: Glyphs::Ascii, ..Look::default() };
            let shown = text(&buffer(far, width, height, plain));
            assert!(shown.is_ascii(), "{name} at {width}x{height}: {shown}");
        }
    }
}

#[test]
fn what_to_fetch_where_and_what_to_say_back() {
    let hand = called();
    let (far, card) = (far(&hand), hand.state.card().expect("a call is shown"));
    let bring = card.bring.expect("it lies there");
    for (width, height) in [(80, 24), (200, 60)] {
        let shown = screen(&far, width, height);
        for words in
            ["FETCH", &bring.name, &bring.piece.shelf, &bring.piece.lot, &card.say, "2.50 × 29", "3.50 × 29"]
        {
            assert!(shown.contains(words), "{words:?} is not in sight at {width}x{height}:\n{shown}");
        }
    }
}

#[test]
fn it_shows_the_call_that_the_fetch_screen_shows() {
    let mut hand = called();
    assert_eq!(far(&hand).call_shown().map(|call| call.number), Some(1));
    hand.keys("<↓>");
    assert_eq!(far(&hand).call_shown().map(|call| call.number), Some(2));
    let mut alone = far(&hand);
    alone.on(FarMessage::RoomStatus(Box::default()));
    assert_eq!(
        alone.call_shown().map(|call| call.number),
        Some(1),
        "without the other screen: the oldest asked for"
    );
}

#[test]
fn what_was_asked_for_what_is_at_hand_and_what_is_open_are_in_sight() {
    let mut hand = opened();
    hand.keys("<F3>");
    let piece = brought(&hand);
    scan(&mut hand, &piece);
    hand.keys("h2.5x29<Enter>");
    let shown = small(&far(&hand));
    let line = |title: &str| shown.lines().find(|line| line.contains(title)).unwrap_or_default().to_string();
    assert!(line("at hand").contains("2.50 × 29 Fell"), "{shown}");
    assert!(line("open on the table").contains("3.00 × 29 Fell"), "{shown}");
    hand.keys("<F5>f1");
    let shown = small(&far(&hand));
    let open = shown.lines().find(|line| line.contains("open on the table")).unwrap_or_default();
    assert!(open.contains("nothing"), "an implanted stent is not on the table: {shown}");
}

#[test]
fn a_read_back_is_shown_until_it_is_decided() {
    let mut hand = called();
    let wrong = another(&hand);
    scan(&mut hand, &wrong);
    let mut far = far(&hand);
    assert_eq!(far.heard.read.as_ref().map(|read| read.signal.bearing), Some(Bearing::Against));
    let shown = small(&far);
    for line in hand.state.held().expect("held").back.lines.iter().filter(|line| line.differs()) {
        assert!(shown.contains(&line.in_words()), "{} is not named:\n{shown}", line.field);
    }
    assert!(shown.contains("put it back"), "the next step: {shown}");
    hand.keys("b");
    far.on(FarMessage::News(vec![hand.journal.last().expect("written").clone()]));
    far.on(FarMessage::RoomStatus(Box::new(heard(&hand))));
    assert!(far.heard.read.is_none() && small(&far).contains("FETCH"), "the call stands: {}", small(&far));
}

#[test]
fn the_balloons_clock_is_large() {
    let mut hand = opened();
    hand.keys("<F3><Delete><Delete><F5>c");
    let far = far(&hand);
    let rows = |width, height| {
        let shown = screen(&far, width, height);
        assert!(shown.contains("BALLOON UP"), "{shown}");
        shown.lines().filter(|line| line.contains('█')).count()
    };
    assert!(rows(80, 24) >= 10 && rows(200, 60) >= 25, "{} {}", rows(80, 24), rows(200, 60));
}

#[test]
fn what_is_not_true_any_more_is_not_shown_as_if_it_were() {
    let hand = opened();
    let mut far = far(&hand);
    let now = far.world.now;
    far.on(FarMessage::Lost { why: "gone".into() });
    far.on(FarMessage::Tick(now + chrono::TimeDelta::seconds(90)));
    far.on(FarMessage::Lost { why: "still gone".into() });
    let (shown, since) = (small(&far), now.format("%H:%M:%S").to_string());
    assert!(
        shown.contains(&format!("NOT FOLLOWED SINCE {since}")) && shown.contains("still gone"),
        "{shown}"
    );
    assert!(!shown.contains("FETCH"), "{shown}");
    far.on(FarMessage::Followed(Box::new(far.world.clone())));
    assert!(!small(&far).contains("NOT FOLLOWED"), "it comes back by itself");
    far.on(FarMessage::RoomStatus(Box::new(RoomStatus { silent: true, ..RoomStatus::default() })));
    assert!(small(&far).contains("NOT HEARD SINCE"), "{}", small(&far));
}

#[test]
fn not_saved_is_said_on_the_second_monitor_too() {
    let mut hand = called();
    hand.disk_full = true;
    hand.keys("<Delete>");
    assert!(small(&far(&hand)).contains("NOT SAVED: 1 entry"), "{}", small(&far(&hand)));
}

/// The far view has no effects: what it shows after every key of the table is what it showed before.
#[test]
fn no_key_of_the_far_view_changes_anything() {
    let mut far = far(&opened());
    let (calls, items) = (far.world.case.clone(), far.world.shelf.clone());
    let spellings = actions().into_iter().flat_map(|action| action.spelt()).copied();
    let spellings = spellings.chain(["a", "Z", "9", "é"]);
    for key in spellings.filter_map(Key::spelt) {
        far.left = false;
        far.on(FarMessage::Key(key));
        assert_eq!(far.left, key == Key::spelt("Esc").expect("a key"), "only one key leaves: {key:?}");
    }
    assert_eq!((far.world.case.clone(), far.world.shelf.clone()), (calls, items));
    assert!(small(&far).contains("go to the other screen"), "it says so: {}", small(&far));
}

#[test]
fn the_last_opened_box_and_the_clock_are_in_sight_on_every_screen() {
    let mut hand = opened();
    hand.keys("c");
    for keys in [
        "<F1>", "<F2>", "<F2>/", "<Esc>m", "<Esc>g", "<Esc><F3>", "<F4>", "<F5>f", "<Esc>i", "<Esc><F6>s",
        "<Esc><F7>r", "<Esc><F9>",
    ] {
        hand.keys(keys);
        let shown = hand.small();
        let strip = shown.lines().rev().nth(2).unwrap_or_default();
        assert!(strip.contains("3.00 × 29 Fell"), "after {keys}: {shown}");
        assert!(shown.contains("BALLOON UP"), "after {keys}: {shown}");
    }
    assert!(!hand.journal.iter().any(|entry| matches!(entry.fact, Fact::SignedOff { .. })));
}

#[test]
fn what_was_written_is_said_with_the_key_that_strikes_it_out() {
    let mut hand = called();
    assert!(hand.small().contains("written: call 3"), "{}", hand.small());
    assert!(hand.small().contains("u strikes it out"), "{}", hand.small());
    hand.keys("u");
    assert!(!hand.small().contains("strikes it out"), "a strike is not struck out: {}", hand.small());
    assert!(hand.small().contains("struck out"), "{}", hand.small());
    // Long words are cut, the key is not.
    let mut hand = opened();
    assert!(hand.small().contains("box 1 opened for call 1") && hand.small().contains("u strikes it out"));
    hand.keys("i");
    assert!(!hand.small().contains("u strikes it out"), "u is text here: {}", hand.small());
}

/// A journal that is not what was written is said here as on the other screens, and the work below it goes on.
#[test]
fn a_journal_that_does_not_hold_is_said() {
    let mut far = far(&called());
    far.on(FarMessage::Broken("entry 3 does not hold: its body is not what was written".into()));
    for (width, height) in [(80, 24), (200, 60)] {
        let screen = screen(&far, width, height);
        assert!(screen.contains("THE JOURNAL DOES NOT HOLD: entry 3 does not hold"), "{screen}");
        assert!(screen.contains("three point zero, by twenty-nine, Fell"), "{screen}");
    }
}

/// While something else is large, no call drops out of the lists.
#[test]
fn every_call_is_listed_while_none_is_large() {
    let mut far = far(&called());
    assert!(!small(&far).contains("call 1: 3.00 × 29 Fell"), "it is large");
    far.on(FarMessage::Lost { why: "/srv/lab2/journal.db: there is no journal here".into() });
    let screen = screen(&far, 200, 60);
    for words in ["asked for (3)", "call 1: 3.00 × 29 Fell", "call 2: 2.50 × 29 Fell"] {
        assert!(screen.contains(words), "{words}\n{screen}");
    }
}

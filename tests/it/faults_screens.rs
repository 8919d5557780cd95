//! The room goes on while the disk refuses: what waits is shown and marked, in order, and written when it can be.

use crate::hand::Hand;
use boxcall::journal::{Entry, Fact};
use boxcall::shelf::scan_of;
use boxcall::tui::state::{Message, Screen, case_code, unsaved, welcome};
use boxcall::tui::view::{Colours, Glyphs, Look};
use chrono::TimeDelta;

const NOT: &str = "NOT SAVED";

/// A call and an opened box, all of it while the disk refuses.
fn refused() -> Hand {
    let mut hand = Hand::demo();
    hand.keys("<Esc>");
    hand.disk_full = true;
    while hand.state.work.product.as_deref() != Some("fell") {
        hand.keys("p");
    }
    hand.keys("3 29<Enter><Esc>");
    let piece = hand.state.card().and_then(|card| card.bring).expect("it is on the shelf").piece;
    let label = String::from_utf8(scan_of(&piece)).expect("a label is text");
    hand.scan(&label).keys("o3.0x29<Enter>");
    hand
}

fn facts(entries: &[Entry]) -> Vec<&'static str> {
    entries.iter().map(|entry| entry.fact.what()).collect()
}

#[test]
fn a_whole_case_goes_on_without_the_disk_and_is_written_in_order_when_it_returns() {
    let mut hand = refused();
    let before = hand.journal.len();
    assert_eq!(hand.state.world.opened().len(), 1, "{}", hand.small());
    hand.keys("f1<F2>=<F3><Delete>u<F6>snext patient<Enter>");
    assert_eq!(hand.journal.len(), before, "nothing was written");
    assert!(hand.records.is_empty(), "no record of what is not saved");
    let shown = hand.state.world.case.clone().expect("a case");
    assert!(shown.signed.is_some(), "{}", hand.small());
    let waiting = hand.state.unsaved.in_words();
    assert_eq!(waiting.len(), hand.state.unsaved.count());
    hand.disk_full = false;
    hand.keys("<F12>");
    assert_eq!(hand.state.unsaved.count(), 0);
    assert!(!hand.small().contains(NOT), "{}", hand.small());
    assert_eq!(
        facts(&hand.journal[before..]),
        [
            "case-begun", "called", "printed-size-typed", "box-opened", "fate-given", "called",
            "call-cancelled", "struck-out", "signed-off"
        ]
    );
    let told: Vec<String> =
        hand.state.world.case.as_ref().unwrap().story.iter().map(|l| l.words.clone()).collect();
    assert_eq!(told, shown.story.iter().map(|line| line.words.clone()).collect::<Vec<_>>());
    let code = hand.state.world.case.as_ref().unwrap().code.clone();
    assert_eq!(hand.records, [code], "the record is written when its sign-off is");
}

#[test]
fn every_screen_and_everything_over_it_says_what_is_not_saved() {
    for width in [80, 160] {
        for keys in [
            "", "<F1>", "<F2>", "<F3>", "<F4>", "<F5>", "<F6>", "<F7>", "<F9>", "g", "/fell", "<F2>m",
            "<F5>i", "<F5>f", "<F5>b", "<F5>e", "<F4>t", "<F6>s", "<F7>r", "<F2>n", "<F12>", "Q", "<F12>w",
        ] {
            let mut hand = refused();
            hand.keys(keys);
            let screen = hand.screen(width, if width == 80 { 24 } else { 45 });
            let bar = screen.lines().nth_back(1).unwrap_or_default();
            assert!(bar.contains(NOT) && bar.contains("wait"), "{keys}: {screen}");
        }
    }
    let mut hand = refused();
    hand.state.open(welcome::Welcome);
    assert!(hand.small().contains(NOT));
    assert!(hand.screen(30, 8).contains(NOT), "also where the terminal is too small");
    let ascii = crate::hand::text(&hand.buffer(
        80,
        24,
        Look { colours: Colours::None, glyphs: Glyphs::Ascii, ..Look::default() },
    ));
    assert!(ascii.contains(NOT));
}

#[test]
fn each_entry_that_waits_is_marked_where_it_is_shown_and_listed_in_words() {
    let mut hand = refused();
    let line = |hand: &Hand, words: &str| {
        let screen = hand.small();
        let found = screen.lines().any(|line| line.contains(words) && line.contains(NOT));
        assert!(found, "{words}: {screen}");
    };
    hand.keys("<F5>");
    line(&hand, "3.00 × 29");
    hand.keys("<F2>3 39<Enter><F3>");
    line(&hand, "call 2");
    hand.keys("<F6><↓>");
    assert!(hand.screen(80, 60).lines().filter(|line| line.contains("NOT SAVED")).count() >= 5);
    hand.keys("<F12>");
    assert_eq!(hand.state.overlay_place(), Some(&unsaved::PLACE));
    let screen = hand.screen(80, 24);
    for words in
        ["the disk is full", "case begun", "call 1: 3.00 × 29", "box 1 opened for call 1", "by itself"]
    {
        assert!(screen.contains(words), "{words}: {screen}");
    }
    // A line of what is saved has no mark.
    let hand = Hand::demo();
    assert!(!hand.small().contains(NOT));
}

#[test]
fn it_is_written_by_itself_when_the_disk_returns_and_nobody_is_disturbed() {
    let mut hand = refused();
    let before = hand.journal.len();
    hand.keys("<F2>mo<Tab>2.9");
    let tick = |hand: &mut Hand, seconds| {
        let later = hand.state.world.now + TimeDelta::seconds(seconds);
        hand.send(Message::Tick(later));
    };
    let (said, overlay) = (hand.state.said.clone(), format!("{:?}", hand.state.over()));
    for _ in 0..5 {
        tick(&mut hand, 4);
    }
    assert_eq!(
        (&hand.state.said, &format!("{:?}", hand.state.over())),
        (&said, &overlay),
        "a try that fails says nothing new"
    );
    hand.disk_full = false;
    tick(&mut hand, 4);
    assert_eq!(hand.state.unsaved.count(), 0);
    assert!(hand.journal.len() > before);
    assert!(hand.state.said.words.contains("saved again"), "{}", hand.state.said.words);
    assert!(hand.state.form().is_some(), "what is being typed stays");
    // Also where the clock was set back while it waited.
    let mut hand = refused();
    tick(&mut hand, -3_600);
    hand.disk_full = false;
    tick(&mut hand, 4);
    assert_eq!(hand.state.unsaved.count(), 0);
}

#[test]
fn another_screens_entries_go_before_what_waits_and_a_strike_still_meets_its_entry() {
    let mut hand = refused();
    // Strikes out an entry that is not in the journal yet.
    hand.keys("<F5>f1u");
    let seq = hand.journal.len() as u64 + 1;
    let now = hand.state.world.now;
    let other = Entry {
        seq,
        at: now,
        command: "elsewhere".into(),
        case: None,
        fact: Fact::LotRecalled { di: None, lot: "HEATHER".into() },
    };
    hand.journal.push(other.clone());
    hand.send(Message::News(vec![other]));
    assert_eq!(hand.state.saved_seq(), seq);
    hand.disk_full = false;
    hand.keys("<F12>");
    let seqs: Vec<u64> = hand.journal.iter().map(|entry| entry.seq).collect();
    assert_eq!(seqs, (1..=seqs.len() as u64).collect::<Vec<_>>());
    let struck = hand.journal.iter().find_map(|entry| match entry.fact {
        Fact::StruckOut { entry, .. } => Some(entry),
        _ => None,
    });
    let fate = hand.journal.iter().find(|entry| matches!(entry.fact, Fact::FateGiven { .. })).unwrap().seq;
    assert_eq!(struck, Some(fate));
    assert!(hand.state.world.opened()[0].fate.is_none());
    assert_eq!(hand.killed().state.world.case, hand.state.world.case, "as it is on disk");
}

#[test]
fn leaving_asks_and_offers_a_file_elsewhere() {
    let mut hand = refused();
    hand.keys("Q");
    assert!(!hand.state.left);
    assert!(hand.small().contains("write them to a file"), "{}", hand.small());
    hand.keys("1");
    assert!(!hand.state.left && hand.state.over().is_none());
    hand.keys("Q3");
    assert!(hand.state.form().is_some(), "where to: {}", hand.small());
    hand.keys("/media/stick<Enter>");
    assert!(hand.state.left);
    // Once they are elsewhere leaving loses nothing, and asks nothing.
    let mut hand = refused();
    hand.keys("<F12>w<Enter>");
    assert!(!hand.state.left && hand.small().contains(NOT));
    hand.keys("Q");
    assert!(hand.state.left);
    // Only a word that is typed loses them.
    let mut hand = refused();
    hand.keys("Q4");
    assert!(!hand.state.left);
    hand.keys("yes<Enter>");
    assert!(!hand.state.left && hand.small().contains("type lose"), "{}", hand.small());
    hand.keys("<Backspace><Backspace><Backspace>lose<Enter>");
    assert!(hand.state.left);
}

#[test]
fn a_second_case_begun_without_the_disk_has_a_code_of_its_own() {
    let mut hand = refused();
    let first = hand.state.world.case.as_ref().unwrap().code.clone();
    hand.keys("<F6>snext patient<Enter>n");
    let second = hand.state.world.case.as_ref().unwrap().code.clone();
    assert_ne!(first, second);
    assert_eq!(hand.state.overlay_place(), Some(&case_code::PLACE));
    assert_eq!(hand.state.world.case.as_ref().map(|case| &case.code), Some(&second));
    hand.disk_full = false;
    hand.keys("<Esc><F12>");
    let code = |entry: &&Entry| matches!(entry.fact, Fact::CaseBegun);
    let begun: Vec<_> = hand.journal.iter().filter(code).map(|entry| entry.case.clone().unwrap()).collect();
    assert_eq!(begun, [first, second]);
}

#[test]
fn a_clock_that_is_set_back_is_said_and_no_duration_shrinks() {
    let mut hand = refused();
    hand.keys("<F5>c");
    let start = hand.state.world.now;
    let tick = |hand: &mut Hand, seconds: i64| {
        let at = start + TimeDelta::seconds(seconds);
        hand.send(Message::Tick(at));
    };
    tick(&mut hand, 20);
    assert_eq!(hand.state.balloon_seconds(), Some(20));
    tick(&mut hand, -3_580);
    assert_eq!(hand.state.balloon_seconds(), Some(20), "it does not go back with the clock");
    assert!(hand.state.said.words.contains("set back by 3600 s"), "{}", hand.state.said.words);
    tick(&mut hand, -3_570);
    assert_eq!(hand.state.balloon_seconds(), Some(30));
}

#[test]
fn what_was_saved_and_perhaps_not_seen_is_told_at_the_start() {
    let mut hand = refused();
    hand.disk_full = false;
    hand.keys("<F12>");
    let last = hand.journal.len() as u64;
    for (shown, told) in [(last, false), (last - 1, true), (last - 2, true)] {
        let mut again = hand.killed();
        again.send(Message::ShownUpTo(shown));
        let words = &again.state.said.words;
        assert_eq!(words.contains("perhaps not seen"), told, "{words}");
        assert_eq!(words.contains("box 1 opened for call 1") && again.state.said.warns, told, "{words}");
    }
    let mut again = hand.killed();
    again.send(Message::WrittenAlready(vec![hand.journal.last().unwrap().clone()]));
    let words = &again.state.said.words;
    assert!(words.contains("written already, at") && words.contains("not written twice"), "{words}");
    assert_eq!(again.state.saved_seq(), hand.journal.len() as u64, "nor shown twice");
    assert_eq!(again.state.screen(), Screen::Sizes);
}

/// Random hands found that a struck-out box, not yet saved, had the shelf read from the disk without end.
#[test]
fn striking_a_box_out_without_the_disk_asks_the_disk_for_nothing_in_vain() {
    // Box and strike-out both wait: it never left the shelf.
    let mut hand = refused();
    let on_hand = |hand: &Hand| hand.state.world.shelf.pieces().iter().map(|piece| piece.count).sum::<u32>();
    let taken = on_hand(&hand);
    hand.keys("u");
    assert!(hand.state.world.opened().is_empty(), "{}", hand.small());
    assert_eq!((hand.state.world.shelf.unread(), on_hand(&hand)), (None, taken + 1));
    hand.disk_full = false;
    hand.keys("<F12>");
    assert_eq!((hand.state.world.shelf.unread(), on_hand(&hand)), (None, taken + 1));

    // The box is on disk, its strike-out waits: until then nothing is said of the shelf.
    let mut hand = refused();
    hand.disk_full = false;
    hand.keys("<F12>");
    hand.disk_full = true;
    hand.keys("u");
    let why = hand.state.world.shelf.unread().expect("it is not known");
    assert!(why.contains("struck out") && why.contains("waits to be saved"), "{why}");
    hand.disk_full = false;
    hand.keys("<F12>");
    assert_eq!((hand.state.world.shelf.unread(), on_hand(&hand)), (None, taken + 1));
}

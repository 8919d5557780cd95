//! The day that dates are judged by: no clock that was set back, and none that ran ahead, decides whether a box is in date.

use crate::hand::Hand;
use boxcall::catalogue::Piece;
use boxcall::journal::Fact;
use boxcall::measure::Kind;
use boxcall::shelf::scan_of;
use boxcall::store::{Stamp, Store};
use chrono::{Days, NaiveDate, TimeDelta};

/// The demo room in which a size that lies there is called, and the piece that Fetch proposes.
fn called() -> (Hand, String, Piece) {
    let mut hand = Hand::demo();
    let world = &hand.state.world;
    let sized = world.shelf.by_size(&world.catalogue, Some(Kind::DrugElutingStent), world.today());
    let size = sized.into_iter().find(|size| size.in_date > 1).expect("there is one");
    let size = format!("{}x{}", size.diameter.unwrap(), size.length.unwrap());
    hand.keys(&format!("<Esc>{size}<Enter><Esc>"));
    let piece = hand.state.card().and_then(|card| card.bring).expect("it is there").piece;
    (hand, size, piece)
}

fn label(piece: &Piece) -> String {
    String::from_utf8(scan_of(piece)).expect("a label is text")
}

fn until(piece: &Piece, last_day: NaiveDate) -> String {
    label(&Piece { use_by: Some(last_day), serial: None, ..piece.clone() })
}

fn big(hand: &Hand) -> String {
    hand.state.held().expect("a label is held").finding().to_string()
}

const SCREENS: [&str; 8] = ["<F2>", "<F3>", "<F4>", "<F5>", "<F6>", "<F7>", "<F9>", "<F1>"];

#[test]
fn a_clock_that_was_set_back_lets_no_expired_box_pass() {
    let (mut hand, size, piece) = called();
    let today = hand.state.world.today();
    let last_month = today.checked_sub_days(Days::new(30)).unwrap();
    hand.passes(TimeDelta::days(-365));
    let computer = hand.state.world.now.date_naive();
    assert_eq!(hand.state.world.today(), today, "the later of both");
    for key in SCREENS {
        let screen = hand.keys(key).small();
        let bar = format!("CHECK THE DATE: computer {computer}, journal {today}. D confirms it");
        assert!(screen.contains(&bar), "{key}: {screen}");
    }
    hand.keys("<Esc>").scan(&until(&piece, last_month));
    assert_eq!(big(&hand), "STOP: EXPIRED");
    hand.scan(&label(&piece));
    assert_eq!(big(&hand), "CHECK THE DATE");
    assert!(hand.screen(160, 45).contains("the computer says"), "{}", hand.screen(160, 45));
    hand.keys("o");
    assert_eq!(hand.state.world.opened().len(), 0, "eyes are needed");
    hand.keys(&format!("{size}<Enter>"));
    assert_eq!(hand.state.world.opened()[0].finding.to_string(), "CHECK THE DATE", "{}", hand.small());
}

#[test]
fn a_date_is_confirmed_with_a_reason_and_counts_from_then_on() {
    let (mut hand, _, piece) = called();
    let today = hand.state.world.today();
    hand.keys("D");
    assert!(hand.state.over().is_none(), "there is nothing to confirm: {}", hand.small());
    hand.passes(TimeDelta::days(-365));
    let computer = hand.state.world.now.date_naive();
    let entries = hand.journal.len();
    hand.keys(&format!("D{today}<Tab>because<Enter>"));
    assert!(hand.small().contains("set its clock"), "another date than the computer's: {}", hand.small());
    hand.keys(&format!("<Esc>D{computer}<Enter>"));
    assert!(hand.small().contains("Type why"), "{}", hand.small());
    assert_eq!(hand.journal.len(), entries);
    hand.keys("<Tab>the clock had run ahead<Enter>");
    assert!(
        matches!(&hand.journal.last().unwrap().fact, Fact::DateConfirmed { day, why } if *day == computer && why == "the clock had run ahead"),
        "{}",
        hand.small()
    );
    assert!(!hand.small().contains("CHECK THE DATE"), "{}", hand.small());
    hand.scan(&label(&piece));
    assert_eq!(big(&hand), "SAME AS CALL 1");
    // A program that is begun later knows it too: nothing that was written before counts.
    let mut again = hand.killed();
    again.passes(TimeDelta::days(-364));
    assert!(again.state.world.date_in_doubt().is_none(), "{}", again.small());
}

#[test]
fn a_clock_that_ran_ahead_is_asked_about_and_expires_no_box_for_ever() {
    let (mut hand, _, piece) = called();
    let today = hand.state.world.today();
    hand.scan(&label(&piece));
    hand.passes(TimeDelta::days(30));
    assert_eq!(big(&hand), "SAME AS CALL 1", "thirty days are believed");
    hand.passes(TimeDelta::days(1));
    assert_eq!(big(&hand), "CHECK THE DATE");
    assert!(hand.state.said.words.contains("WAS SAME AS CALL 1"), "{}", hand.state.said.words);
    // Something is written all the same; and then the clock is set right.
    hand.keys("b");
    let ahead = hand.journal.last().unwrap().at.date_naive();
    assert_eq!((ahead - today).num_days(), 31);
    hand.passes(TimeDelta::days(-31));
    assert_eq!(hand.state.world.today(), today);
    assert!(hand.state.world.date_in_doubt().is_none(), "{}", hand.small());
    hand.scan(&label(&piece));
    assert_eq!(big(&hand), "SAME AS CALL 1");
}

/// The times are given: no clock of this machine is asked.
#[test]
fn the_journal_writes_down_once_that_the_clock_went_far_ahead() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(&folder.path().join("journal.db")).unwrap();
    let at = |text: &str| chrono::DateTime::parse_from_rfc3339(text).unwrap();
    let mut write = |id: &str, time: &str| {
        let fact = Fact::LotRecalled { di: None, lot: id.into() };
        let written = store.append(&Stamp::new(id, at(time)), None, &[fact]).unwrap();
        written.entries.iter().map(|entry| entry.fact.what()).collect::<Vec<_>>()
    };
    assert_eq!(write("a", "2026-11-25T08:00:00+01:00"), ["lot-recalled"], "the first of all");
    assert_eq!(write("b", "2026-12-25T23:00:00+01:00"), ["lot-recalled"], "thirty days");
    assert_eq!(write("c", "2027-01-25T00:00:01+01:00"), ["clock-went-ahead", "lot-recalled"]);
    assert_eq!(write("d", "2027-01-25T00:01:00+01:00"), ["lot-recalled"], "once");
    assert_eq!(write("e", "2026-12-26T08:00:00+01:00"), ["clock-went-back", "lot-recalled"]);
    store.verify(&mut |_| {}).unwrap();
}

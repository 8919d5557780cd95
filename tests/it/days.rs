//! The day that dates are judged by: no clock that was set back, and none that ran ahead, decides whether a box is in date.

use crate::hand::Hand;
use crate::program::{boxcall_on, json, words};
use crate::terminal::{LEAVE, Terminal};
use boxcall::catalogue::Piece;
use boxcall::journal::Fact;
use boxcall::measure::Kind;
use boxcall::room::Room;
use boxcall::shelf::scan_of;
use boxcall::store::{Stamp, Store};
use chrono::{Days, NaiveDate, TimeDelta};
use serde_json::Value;
use std::path::Path;

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
    hand.state.held().expect("a label is held").big()
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
    assert_eq!(hand.state.world.opened()[0].finding, "CHECK THE DATE", "{}", hand.small());
}

#[test]
fn a_date_is_confirmed_with_a_reason_and_counts_from_then_on() {
    let (mut hand, _, piece) = called();
    let today = hand.state.world.today();
    hand.keys("D");
    assert!(hand.state.overlay.is_none(), "there is nothing to confirm: {}", hand.small());
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

/// A room whose journal's last day is so many days from the computer's.
fn room(days: i64) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("room");
    let laid = Room::lay_demo(&place).expect("a room");
    let now = laid.now();
    drop(laid);
    // Before the stock was laid, so that it is as old as it has to be; after it, so that it is the last day.
    let mut store = Store::open(&place.join("journal.db")).expect("a journal");
    let fact = Fact::LotRecalled { di: None, lot: "ANOTHER".into() };
    store.append(&Stamp::new("another day", now + TimeDelta::days(days)), None, &[fact]).expect("written");
    let path = place.to_str().expect("a path").to_string();
    (folder, path)
}

fn run(room: &str, args: &[&str]) -> (Option<i32>, Value) {
    let answer = boxcall_on(room, &[&["--json"], args].concat());
    (answer.status.code(), json(&answer))
}

fn in_doubt(answer: &Value) -> bool {
    let cautions = answer["cautions"].as_array().unwrap_or_else(|| panic!("cautions in {answer}"));
    cautions.iter().any(|caution| caution["code"] == "date-in-doubt")
}

#[test]
fn commands_judge_by_the_same_day_as_the_screens_and_say_so() {
    let (_folder, room) = room(20);
    let today = boxcall::room::today();
    let last = today.checked_add_days(Days::new(20)).unwrap();
    let fit = [
        "fit", "--method", "oct", "--distal-lumen", "2.8", "--distal-eem", "3.1", "--proximal-lumen", "3.3",
        "--proximal-eem", "3.6", "--length", "24",
    ];
    let asked: [&[&str]; 6] = [
        &fit,
        &["stock", "list"],
        &["stock", "short"],
        &["shelf", "wall"],
        &["post-dilate", "--to", "3.5", "--within", "12"],
        &["stock", "pull", "--expired"],
    ];
    for args in asked {
        let (_, answer) = run(&room, args);
        assert!(in_doubt(&answer), "{args:?}: {answer}");
        let text = answer.to_string();
        assert!(text.contains(&last.to_string()), "{args:?}: {text}");
    }
    let (_, short) = run(&room, &["stock", "short"]);
    assert_eq!(short["today"], last.to_string());
    // A day that is typed needs no word.
    let typed = today.to_string();
    assert!(!in_doubt(&run(&room, &["stock", "list", "--today", &typed]).1));
    let words = words(&boxcall_on(&room, &["stock", "list"]).stdout);
    assert!(words.starts_with("caution: CHECK THE DATE: the computer says"), "{words}");

    let wrong = last.to_string();
    let (status, answer) = run(&room, &["journal", "confirm-date", &wrong, "--reason", "x"]);
    assert_eq!(status, Some(2), "{answer}");
    let (status, answer) = run(&room, &["journal", "confirm-date", &typed, "--reason", "it had run ahead"]);
    assert!(status == Some(0) && answer["entry"].is_u64(), "{answer}");
    for args in asked {
        let (_, answer) = run(&room, args);
        assert!(!in_doubt(&answer), "{args:?}: {answer}");
    }
    assert_eq!(run(&room, &["stock", "short"]).1["today"], typed);
    let (status, answer) = run(&room, &["journal", "confirm-date", &typed, "--reason", "again"]);
    assert!(status == Some(0) && answer["entry"].is_null(), "there is nothing to confirm: {answer}");
}

/// An entry by a clock far ahead is not believed; a journal that ended long ago is asked about.
#[test]
fn a_journal_far_from_the_computers_day_is_asked_about() {
    let (_folder, ahead) = room(60);
    assert!(!in_doubt(&run(&ahead, &["stock", "list"]).1), "one entry by a clock that ran ahead");
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("room");
    let laid = Room::lay_empty(&place).expect("a room");
    let then = laid.now() - TimeDelta::days(40);
    drop(laid);
    let mut store = Store::open(&place.join("journal.db")).expect("a journal");
    let fact = Fact::LotRecalled { di: None, lot: "L1".into() };
    store.append(&Stamp::new("long ago", then), None, &[fact]).expect("written");
    drop(store);
    let path = place.to_str().expect("a path");
    assert!(in_doubt(&run(path, &["stock", "list"]).1), "forty days");
}

#[test]
fn screens_and_second_monitor_say_it_until_it_is_confirmed() {
    let (_folder, room) = room(20);
    assert!(Path::new(&room).is_dir());
    let mut screens = Terminal::open(&["--room", &room], &[], 80, 24);
    screens.sees("CHECK THE DATE: computer");
    screens.press("?", "Sizes");
    let mut far = Terminal::open(&["far", "--room", &room], &[], 80, 24);
    far.sees("CHECK THE DATE: computer");
    let today = boxcall::room::today().to_string();
    screens.press("D", "YYYY-MM-DD, from another clock");
    for (place, character) in today.char_indices() {
        // Faster it would be taken for a scan.
        let typed = format!("the date today  {}▏", &today[..=place]);
        screens.press(&character.to_string(), &typed);
    }
    screens.press("\tahea", "ahea▏").press("d\r", "The date is confirmed");
    let gone = |screen: &vt100::Screen| !screen.contents().contains("CHECK THE DATE");
    screens.wait("no word of the date", gone);
    far.wait("no word of the date", gone);
    screens.send(LEAVE.as_bytes());
    assert_eq!(screens.ended(), 0);
    far.press("\x1b", "");
    assert_eq!(far.ended(), 0);
}

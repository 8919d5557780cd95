//! The day that dates are judged by, in commands and on two screens of one room.

use crate::program::{boxcall_on, json, words};
use crate::pty::{LEAVE, Terminal};
use boxcall::journal::Fact;
use boxcall::room::Room;
use boxcall::store::{Stamp, Store};
use chrono::{Days, TimeDelta};
use serde_json::Value;
use std::path::Path;

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

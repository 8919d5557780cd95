//! The second monitor as a program of its own, beside another that writes in its room.

use crate::hand::demo_catalogue;
use crate::program::boxcall_on;
use crate::pty::{Terminal, piece, scan};
use boxcall::journal::{CaseCode, Fact, Readiness, Wanted};
use boxcall::room::Room;
use boxcall::store::Store;
use boxcall::units::{Diameter, Length};
use std::path::Path;
use std::time::Instant;

fn call(number: u32) -> Fact {
    let wanted = Wanted {
        product: Some("fell".into()),
        name: Some("Fell".into()),
        diameter: Some(Diameter::from_mm(3.0)),
        length: Some(Length::from_mm(29.0)),
        ..Wanted::default()
    };
    Fact::Called {
        call: number,
        lesion: Some(1),
        wanted,
        readiness: Readiness::Asked,
        verdict: None,
        why: None,
    }
}

fn far(room: &Path) -> Terminal {
    Terminal::open(&["far", "--room", room.to_str().expect("a path")], &[], 80, 24)
}

fn last_entry(room: &Path) -> u64 {
    Store::open_read_only(&room.join("journal.db")).and_then(|store| store.last_seq()).expect("a journal")
}

#[test]
fn it_follows_a_room_resized_and_lost_and_found_and_writes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let (place, away) = (folder.path().join("room"), folder.path().join("away"));
    let mut room = Room::lay_demo(&place).expect("a room");
    let mut monitor = far(&place);
    monitor.sees("no case open");
    let case = CaseCode::from_random([1; 5]);
    room.write(Some(&case), &[Fact::CaseBegun, call(1)]).expect("written");
    monitor.sees("call 1 · FETCH");
    monitor.sees("three point zero, by twenty-nine, Fell");
    room.write(Some(&case), &[call(2)]).expect("written");
    let committed = Instant::now();
    monitor.sees("call 2: 3.00 × 29 Fell");
    println!("from the entry on disk to the far view's screen: {:?}", committed.elapsed());

    monitor.grow(200, 60);
    monitor.sees("asked for too (1)");
    monitor.grow(80, 24);
    monitor.sees("asked for too      call 2");

    let entries = last_entry(&place);
    for key in ["u", "o", "b", "\r", "\x1b[3~", "n"] {
        monitor.press(key, "go to the other screen");
    }
    monitor.send(b"]d2010952100130029217280228109K\r").sees("go to the other screen");
    assert_eq!(last_entry(&place), entries, "no key of the far view writes");

    std::fs::rename(&place, &away).expect("the room goes away");
    monitor.sees("NOT FOLLOWED SINCE");
    room.write(Some(&case), &[call(3)]).expect_err("its program notices too");
    std::fs::rename(&away, &place).expect("and comes back");
    room.write(Some(&case), &[call(3)]).expect("written");
    monitor.sees("call 3: 3.00 × 29 Fell");
    monitor.wait("followed again", |screen| !screen.contents().contains("NOT FOLLOWED"));

    monitor.press("\x1b", "");
    assert_eq!(monitor.ended(), 0);
    monitor.is_restored();
}

#[test]
fn it_follows_a_room_whose_journal_is_made_later() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("room");
    std::fs::create_dir_all(place.join("catalogue")).expect("a folder");
    for (name, text) in boxcall::catalogue::demo::files() {
        std::fs::write(place.join("catalogue").join(name), text).expect("a product file");
    }
    assert!(demo_catalogue().product("fell").is_some());
    let mut monitor = far(&place);
    monitor.sees("no case open");
    assert!(!place.join("journal.db").exists(), "looking makes nothing");
    let mut room = Room::open(&place).expect("its first program");
    let case = CaseCode::from_random([2; 5]);
    room.write(Some(&case), &[Fact::CaseBegun, call(1)]).expect("written");
    monitor.sees("call 1 · FETCH");
    monitor.sees("NONE ON THE SHELF");
    monitor.press("\x1b", "");
    assert_eq!(monitor.ended(), 0);
}

/// An entry that somebody changed behind the program's back is told on the second monitor too, and what is written
/// afterwards is followed all the same.
#[test]
fn a_journal_that_was_changed_is_said_and_followed() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("room");
    let mut room = Room::lay_demo(&place).expect("a room");
    let case = CaseCode::from_random([1; 5]);
    room.write(Some(&case), &[Fact::CaseBegun, call(1)]).expect("written");
    drop(room);
    let stranger = rusqlite::Connection::open(place.join("journal.db")).expect("a journal");
    let guard: String = stranger
        .query_row("SELECT sql FROM sqlite_schema WHERE name = 'journal_no_update'", [], |row| row.get(0))
        .expect("its guard");
    stranger
        .execute_batch(&format!(
            "DROP TRIGGER journal_no_update; UPDATE journal SET body = body || ' ' WHERE seq = 2; {guard}"
        ))
        .expect("changed");
    drop(stranger);
    let mut monitor = far(&place);
    monitor.sees("THE JOURNAL DOES NOT HOLD: entry 2 does not hold");
    monitor.sees("call 1 · FETCH");
    monitor.press("\x1b", "");
    assert_eq!(monitor.ended(), 0);
}

#[test]
fn a_read_back_and_the_balloons_clock_reach_it_and_a_killed_program_leaves_none_of_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("room");
    let path = place.to_str().expect("a path").to_string();
    let mut screens = Terminal::open(&["demo", "--room", &path], &[], 80, 24);
    screens.sees("boxcall: the demo room");
    let mut monitor = far(&place);
    monitor.sees("no case open");
    screens.press("\x1b[A", "nothing measured");
    screens.press("3 29", "3 29").press("\r", "A case has begun");
    monitor.sees("call 1 · FETCH");
    let wrong = scan(&piece(&place, "FL35029"), "\r");
    screens.send(&wrong).sees("DIFFERS");
    monitor.sees("diameter, by the catalogue: box 3.50, call 3.00");
    monitor.sees("put it back");
    screens.awake().press("b", "FETCH");
    monitor.sees("call 1 · FETCH");
    let right = scan(&piece(&place, "SK30029"), "\r");
    screens.send(&right).sees("type the size printed on it");
    monitor.sees("type the size printed on it");
    screens.awake().press("o", "size on the box");
    screens.press("3 29", "3 29").press("\r", "box 2 opened for call 1");
    monitor.sees("3.00 × 29 Skerry, lot");
    screens.press("c", "BALLOON UP");
    monitor.sees("BALLOON UP");
    screens.send(&wrong).sees("call it first");
    monitor.sees("call it first");

    screens.signal(libc::SIGKILL);
    screens.ended();
    monitor.sees("OTHER SCREEN NOT HEARD SINCE");
    monitor.wait("no read-back", |screen| !screen.contents().contains("call it first"));
    monitor.sees("BALLOON UP");
    let mut again = Terminal::open(&["--room", &path], &[], 80, 24);
    again.sees("BALLOON UP");
    again.press("Q", "");
    again.ended();
    monitor.press("\x1b", "");
    assert_eq!(monitor.ended(), 0);
}

#[test]
fn without_a_room_or_a_terminal_it_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("none");
    let none = boxcall_on(&place, &["far"]);
    assert_eq!(none.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&none.stderr).contains("there is no room here"), "{none:?}");
    Room::lay_demo(&place).expect("a room");
    let piped = boxcall_on(&place, &["far"]);
    assert_eq!(piped.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&piped.stderr).contains("terminal"), "{piped:?}");
}

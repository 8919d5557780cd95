//! Two and three programs at once on one room: they write in turn, each sees what the others wrote, and one chain comes
//! of it.

use crate::program::boxcall_on;
use crate::pty::{F3, LEAVE, Terminal, piece, scan};
use boxcall::journal::{CaseCode, Fact};
use boxcall::room::{Room, files};
use boxcall::store::{Stamp, Store};
use chrono::DateTime;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const JOURNAL: &str = "BOXCALL_TEST_TOGETHER";
const ME: &str = "BOXCALL_TEST_TOGETHER_ME";
const PROGRAMS: u64 = 3;
const ROUNDS: u64 = 60;
/// How long a turn may take before the test gives up; nothing is measured by it.
const PATIENCE: Duration = Duration::from_secs(20);

fn whole(path: &Path) -> u64 {
    let check: String = rusqlite::Connection::open(path)
        .unwrap()
        .query_row("PRAGMA integrity_check", [], |row| row.get(0))
        .unwrap();
    assert_eq!(check, "ok");
    Store::open_read_only(path).unwrap().verify(&mut |_| {}).unwrap().entries
}

/// Writes whenever it is its turn, which it learns from what the others wrote.
fn write_in_turn(path: &Path, me: u64) {
    let mut store = Store::open(path).unwrap();
    let at = DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00").unwrap();
    let case = CaseCode::from_random([me as u8; 5]);
    let mut seen = 0;
    let (mut since, mut first) = (Instant::now(), true);
    while seen < PROGRAMS * ROUNDS {
        if seen % PROGRAMS == me {
            let fact = Fact::UsedAgain { item: seen as u32, lesion: 1, call: None };
            let written =
                store.append(&Stamp::new(format!("turn-{seen}"), at), Some(&case), &[fact]).unwrap();
            assert_eq!(written.entries[0].seq, seen + 1, "somebody else wrote out of turn");
            seen += 1;
            since = Instant::now();
        // What was written before this program opened the journal is no change to it.
        } else if std::mem::take(&mut first) || store.changed() {
            for entry in store.entries_after(seen).unwrap() {
                seen += 1;
                assert_eq!(entry.command, format!("turn-{}", seen - 1), "each sees all, in order");
                since = Instant::now();
            }
        } else {
            assert!(since.elapsed() < PATIENCE, "program {me} never saw entry {}", seen + 1);
            std::thread::yield_now();
        }
    }
}

#[test]
fn three_programs_write_in_turn_and_each_sees_the_others() {
    if let (Some(path), Ok(me)) = (std::env::var_os(JOURNAL).map(PathBuf::from), std::env::var(ME)) {
        return write_in_turn(&path, me.parse().unwrap());
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(files::JOURNAL);
    drop(Store::open(&path).unwrap());
    let children: Vec<_> = (0..PROGRAMS)
        .map(|me| {
            Command::new(std::env::current_exe().unwrap())
                .args(["together::three_programs_write_in_turn_and_each_sees_the_others", "--exact"])
                .env(JOURNAL, &path)
                .env(ME, me.to_string())
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    assert_eq!(whole(&path), PROGRAMS * ROUNDS);
}

/// Three screens of one room: a call on one is seen on the others, whoever makes it.
#[test]
fn what_one_screen_writes_the_others_show() {
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room");
    drop(Room::lay_demo(&room).unwrap());
    let before = whole(&room.join(files::JOURNAL));
    let open = || {
        let mut screen = Terminal::open(&["--room", room.to_str().unwrap()], &[], 80, 24);
        screen.sees("any key goes on");
        screen.press("?", "Sizes");
        screen
    };
    let mut screens = [open(), open(), open()];
    for (writes, size) in [(0, "3 29"), (1, "3 20"), (2, "2.5")].into_iter().take(2) {
        screens[writes].press(size, "calls it");
        screens[writes].press("\r", "called");
        for other in (0..3).filter(|other| *other != writes) {
            screens[other].sees("Another screen");
            screens[other].sees(&format!("{} to fetch", writes + 1));
        }
        if writes == 0 {
            // The code of the new case, in big letters, goes at any key.
            screens[0].press("?", "to fetch");
        }
    }
    for screen in &mut screens {
        screen.send(b"Q");
        assert_eq!(screen.ended(), 0);
    }
    assert_eq!(whole(&room.join(files::JOURNAL)), before + 3, "a case begun, and two calls");
}

/// Two programs on one room, and the second monitor: a label is SAME on one of them, its call is cancelled on the other;
/// then a command recalls its lot.
#[test]
fn three_programs_of_one_room_say_at_once_what_has_changed() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = folder.path().join("room");
    let path = room.to_str().expect("a path").to_string();
    let mut one = Terminal::open(&["demo", "--room", &path], &[], 80, 24);
    one.sees("boxcall: the demo room");
    one.press("\x1b[A", "nothing measured");
    let reference = "SK30029";
    let there = piece(&room, reference);
    one.press("3 29", "3 29").press("\r", "A case has begun");
    one.press(F3, "three point zero, by twenty-nine");
    let mut two = Terminal::open(&["--room", &path], &[], 80, 24);
    two.sees("goes on");
    let mut far = Terminal::open(&["far", "--room", &path], &[], 80, 24);
    far.sees("call 1 · FETCH");
    two.send(&scan(&there, "\r")).sees("type the size printed on it");
    far.sees("type the size printed on it");
    // Cancelled on the first: the second says so, and so does the far view.
    one.press("\x7f", "call 1 cancelled");
    two.sees("WAS SAME AS CALL 1: CALL 1 CANCELLED");
    far.sees("WAS SAME AS CALL 1: CALL 1 CANCELLED");
    let list = folder.path().join("recall.csv");
    std::fs::write(&list, format!("lot\n{}\n", there.lot)).expect("a list");
    let recalled = boxcall_on(&path, &["stock", "recall", list.to_str().expect("a path")]);
    assert!(recalled.status.success(), "{recalled:?}");
    two.sees("WAS NO CALL: LOT");
    far.sees("WAS NO CALL: LOT");
    two.awake().press("o", "goes on all the same, with a reason");
    for screens in [&mut one, &mut two] {
        screens.send(LEAVE.as_bytes());
        assert_eq!(screens.ended(), 0);
    }
    far.press("\x1b", "");
    assert_eq!(far.ended(), 0);
}

//! The real program in a pseudo-terminal while something is done to it: signals, a terminal that is closed, a disk that
//! refuses, a journal that is deleted under it. What it showed as saved is on disk; what to do is said.

use crate::faulty::intact;
use crate::program::{boxcall_on, words};
use crate::pty::{F3, F5, Terminal};
use boxcall::journal::Fact;
use boxcall::store::Store;
use std::path::{Path, PathBuf};

/// Try again, where letters are text as well.
const F12: &str = "\x1b[24~";

struct Room {
    folder: tempfile::TempDir,
    dir: PathBuf,
}

impl Room {
    /// A demo room in a folder that stays, and the program in it with a case of one call.
    fn with_a_call() -> (Room, Terminal) {
        let folder = tempfile::tempdir().expect("a folder");
        let dir = folder.path().join("room");
        let room = Room { folder, dir };
        let mut terminal = room.open(&["demo", "--room", room.dir()]);
        terminal.sees("boxcall: the demo room");
        terminal.press("\x1b[A", "nothing measured");
        terminal.press("3 29", "3 29").press("\r", "A case has begun");
        terminal.press(F3, "three point zero, by twenty-nine");
        (room, terminal)
    }

    fn open(&self, arguments: &[&str]) -> Terminal {
        let home = self.folder.path().to_str().expect("a path");
        Terminal::open(arguments, &[("HOME", home), ("TMPDIR", home)], 100, 30)
    }

    fn dir(&self) -> &str {
        self.dir.to_str().expect("a path")
    }

    fn journal(&self) -> PathBuf {
        self.dir.join("journal.db")
    }

    fn calls(&self) -> usize {
        let store = Store::open_read_only(&self.journal()).expect("a journal");
        let entries = store.entries_after(0).expect("entries");
        entries.iter().filter(|entry| matches!(entry.fact, Fact::Called { .. })).count()
    }

    fn goes_on(&self, words: &str) {
        intact(&self.journal());
        let mut terminal = self.open(&["--room", self.dir()]);
        terminal.sees(words);
        terminal.press("Q", "");
        assert_eq!(terminal.ended(), 0);
    }
}

/// A second call, seen on the screen.
fn call_again(terminal: &mut Terminal) {
    terminal.press("\x1bOQ", "any size can be called").press("3 39", "3 39").press("\r", "call 2");
}

fn boxcall(room: &Room, arguments: &[&str]) -> (bool, String) {
    let output = boxcall_on(room.dir(), arguments);
    (output.status.success(), words(&output.stdout))
}

#[test]
fn every_way_out_in_the_middle_of_a_case_keeps_it_and_says_how_to_go_on() {
    for signal in [libc::SIGTERM, libc::SIGHUP, libc::SIGINT, libc::SIGQUIT] {
        let (room, mut terminal) = Room::with_a_call();
        terminal.signal(signal);
        assert_eq!(terminal.ended(), 128 + signal as u32);
        terminal.is_restored();
        terminal.sees("goes on when boxcall is started again");
        assert_eq!(room.calls(), 1, "signal {signal}");
        room.goes_on("goes on; last written: call 1");
    }
}

#[test]
fn a_terminal_that_is_closed_in_the_middle_of_a_case_loses_nothing_and_leaves_no_program_behind() {
    let (room, terminal) = Room::with_a_call();
    // A program that spins on a terminal that is gone would not end.
    let mut child = terminal.close();
    let status = child.wait().expect("it ends");
    assert_eq!(status.exit_code(), 129);
    assert_eq!(room.calls(), 1);
    room.goes_on("goes on; last written: call 1");
}

/// A limit on the size of the program's files stands for the full disk: it needs no mount and no root, and the program
/// gets the signal that goes with it.
#[cfg(target_os = "linux")]
#[test]
fn the_disk_fills_up_under_the_program_and_it_goes_on_and_saves_by_itself_when_there_is_room() {
    let (room, mut terminal) = Room::with_a_call();
    let limit = |bytes: libc::rlim_t| {
        let limit = libc::rlimit { rlim_cur: bytes, rlim_max: libc::RLIM_INFINITY };
        let process = terminal.process() as libc::pid_t;
        // SAFETY: reads its argument; the process is the child that this test started.
        let done = unsafe { libc::prlimit(process, libc::RLIMIT_FSIZE, &limit, std::ptr::null_mut()) };
        assert_eq!(done, 0);
    };
    limit(1);
    call_again(&mut terminal);
    terminal.sees("NOT SAVED: 1 entry waits");
    terminal.press(F5, "NOT SAVED: 1 entry waits");
    terminal.press(F12, "the disk is full. Make room");
    terminal.sees("Work goes on");
    terminal.press("\x1b", "No box has been opened");
    assert_eq!(room.calls(), 1, "nothing of it is on disk");
    let limit = |bytes: libc::rlim_t| {
        let limit = libc::rlimit { rlim_cur: bytes, rlim_max: libc::RLIM_INFINITY };
        // SAFETY: as above.
        unsafe { libc::prlimit(terminal.process() as i32, libc::RLIMIT_FSIZE, &limit, std::ptr::null_mut()) };
    };
    limit(libc::RLIM_INFINITY);
    terminal.sees("Everything is saved again");
    assert_eq!(room.calls(), 2);
    terminal.press("Q", "");
    assert_eq!(terminal.ended(), 0);
    intact(&room.journal());
}

#[test]
fn a_journal_deleted_under_the_program_is_said_and_put_back_with_one_key() {
    let (room, mut terminal) = Room::with_a_call();
    for suffix in ["", "-wal", "-shm"] {
        std::fs::remove_file(room.dir.join(format!("journal.db{suffix}"))).expect("it is there");
    }
    terminal.sees("THE JOURNAL IS GONE");
    call_again(&mut terminal);
    terminal.sees("NOT SAVED: 1 entry waits");
    terminal.press(F12, "put back, whole");
    assert_eq!(room.calls(), 2, "what was in it and what waited");
    terminal.press("Q", "");
    assert_eq!(terminal.ended(), 0);
    room.goes_on("last written: call 2");
}

/// Also where nothing is written any more: whoever leaves leaves a journal behind.
#[test]
fn a_journal_deleted_under_the_program_is_put_back_when_it_ends() {
    for signal in [None, Some(libc::SIGTERM)] {
        let (room, mut terminal) = Room::with_a_call();
        std::fs::remove_file(room.journal()).expect("it is there");
        terminal.sees("THE JOURNAL IS GONE");
        match signal {
            None => {
                terminal.press("Q", "");
            }
            Some(signal) => terminal.signal(signal),
        }
        terminal.ended();
        terminal.is_restored();
        terminal.sees("The journal was gone and was put back, whole");
        assert_eq!(room.calls(), 1);
        room.goes_on("last written: call 1");
    }
}

/// Another program holds the journal, and the program is ended: what waits is in a file, and taken in again once.
#[test]
fn what_is_not_saved_when_the_program_is_ended_is_kept_in_a_file_and_taken_in_once() {
    let (room, mut terminal) = Room::with_a_call();
    let holder = rusqlite::Connection::open(room.journal()).expect("a journal");
    holder.execute_batch("BEGIN IMMEDIATE").expect("it is free");
    call_again(&mut terminal);
    terminal.sees("NOT SAVED: 1 entry waits");
    terminal.signal(libc::SIGTERM);
    assert_eq!(terminal.ended(), 128 + libc::SIGTERM as u32);
    terminal.is_restored();
    terminal.sees("NOT SAVED in the journal, but in a file: 1");
    holder.execute_batch("ROLLBACK").expect("it lets go");
    drop(holder);
    let file = kept_in(room.folder.path()).expect("a file");
    let text = std::fs::read_to_string(&file).expect("it can be read");
    assert!(text.contains("call 2: 3.00 × 39"), "in words: {text}");
    assert_eq!(room.calls(), 1);
    let file = file.to_str().expect("a path");
    for (written, already) in [(1, 0), (0, 1)] {
        let (good, said) = boxcall(&room, &["journal", "take-in", file, "--json"]);
        let said: serde_json::Value = serde_json::from_str(&said).expect("JSON");
        assert!(good && said["written"] == written && said["already"] == already, "{said}");
        assert_eq!(room.calls(), 2);
    }
    room.goes_on("perhaps not seen: call 2");
}

fn kept_in(folder: &Path) -> Option<PathBuf> {
    let files = std::fs::read_dir(folder).ok()?.filter_map(|file| Some(file.ok()?.path()));
    files.into_iter().find(|path| path.to_string_lossy().contains("boxcall-not-saved-"))
}

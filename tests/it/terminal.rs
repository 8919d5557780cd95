//! The real binary in a pseudo-terminal: whole cases, ways out, the mouse, a room's settings.

use crate::program::boxcall_on;
use crate::pty::{F3, F5, F6, F7, LEAVE, Terminal, piece, scan};
use boxcall::store::Store;
use std::path::Path;

/// Measure, call, read back, open; killed; resumed; inflate, account, sign off, read the record.
#[test]
fn a_whole_case_killed_in_the_middle_and_resumed() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = folder.path().join("room");
    let path = room.to_str().expect("a path").to_string();
    let mut terminal = Terminal::open(&["demo", "--room", &path], &[], 80, 24);
    terminal.sees("boxcall: the demo room");
    terminal.press("\x1b[A", "nothing measured");
    terminal.press("m", "Lesion 1, measured");
    terminal.press("o\t", "OCT");
    terminal
        .press("2.9\t", "2.9")
        .press("3,2\t", "3,2")
        .press("3.2\t", "3.2")
        .press("3.5\t", "3.5")
        .press("27\r", "lesion 1 measured");
    terminal.sees("A case has begun");
    terminal.press("\x1b[A", "In rule distal-EEM");
    terminal.press("3 29", "3 29").press("\r", "call 1: 3.00 × 29");
    terminal.press(F3, "three point zero, by twenty-nine");
    let wrong = scan(&piece(&room, "FL35029"), "\r");
    terminal.send(&wrong).sees("DIFFERS");
    terminal.awake();
    terminal.press("o", "goes on all the same").press("b", "FETCH");
    // The separator as Ctrl+], and the two line ends of some scanners: the second confirms nothing.
    let right = scan(&piece(&room, "SK30029"), "\r\n");
    terminal.send(&right).sees("Skerry");
    terminal.sees("type the size printed on it");
    terminal.awake();
    terminal.press("o", "size on the box");
    terminal.press("3 29", "3 29").press("\r", "box 2 opened for call 1");

    terminal.signal(libc::SIGKILL);
    terminal.ended();
    let mut terminal = Terminal::open(&["--room", &path], &[], 80, 24);
    terminal.sees("goes on");
    terminal.press(F5, "3.00 × 29");
    terminal.sees("Box 2: 3.00 × 29 Skerry");
    terminal
        .press("i", "Balloon up")
        .press("12\t\t", "atm = ")
        .press("20\r", "box 2 inflated to 12 atm for 20 s");
    terminal.press("f", "What became of").press("1", "box 2 implanted");
    terminal.press(F6, "Everything is settled");
    terminal.press("s", "Enter signs off").press("\r", "signed off");
    terminal.sees("The record");
    terminal.send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);
    terminal.is_restored();

    let records: Vec<String> = std::fs::read_dir(room.join("records"))
        .expect("the record is in the room")
        .map(|file| file.expect("a file").file_name().to_string_lossy().into_owned())
        .collect();
    for ending in [".md", ".csv", ".json"] {
        assert!(records.iter().any(|name| name.ends_with(ending)), "{records:?}");
    }
    let store = Store::open_read_only(&room.join("journal.db")).expect("a journal");
    store.verify(&mut |_| {}).expect("the chain holds");
}

#[test]
fn a_scan_confirms_nothing_whatever_stands_at_its_end() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = folder.path().join("room");
    let path = room.to_str().expect("a path").to_string();
    let mut terminal = Terminal::open(&["demo", "--room", &path], &[], 80, 24);
    terminal.sees("boxcall: the demo room");
    terminal.press("\x1b[A", "nothing measured");
    terminal.press("3 29", "3 29").press("\r", "A case has begun");
    for end in ["\r", "\r\n", "\n", "\t", "\x04\r"] {
        terminal.press(F6, "to settle first").press("s", "Say why");
        terminal.press("late", "late");
        let bytes = scan(&piece(&room, "SK30029"), end);
        terminal.send(&bytes).sees("type the size printed on it");
        terminal.wait("no form", |screen| !screen.contents().contains("size on the box"));
    }
    terminal.send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);
    let store = Store::open_read_only(&room.join("journal.db")).expect("a journal");
    let signed =
        store.entries_after(0).expect("entries").iter().any(|entry| entry.fact.what() == "signed-off");
    assert!(!signed, "the Enter of a scanner signs nothing");
}

#[test]
fn signals_leave_the_terminal_as_it_was() {
    for signal in [libc::SIGTERM, libc::SIGHUP, libc::SIGINT, libc::SIGUSR1, libc::SIGUSR2, libc::SIGALRM] {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().to_str().expect("a path");
        let mut terminal = Terminal::open(&["demo"], &[("TMPDIR", path)], 80, 24);
        terminal.sees("boxcall: the demo room");
        terminal.signal(signal);
        assert_eq!(terminal.ended(), 128 + signal as u32);
        terminal.is_restored();
        let left = std::fs::read_dir(path).expect("the folder").count();
        assert_eq!(left, 0, "the demo room is thrown away");
    }
}

#[test]
fn a_mouse_points_and_is_let_go_of() {
    use vt100::{MouseProtocolEncoding, MouseProtocolMode};
    let mut terminal = Terminal::open(&["demo"], &[], 80, 24);
    terminal.sees("boxcall: the demo room");
    terminal.wait("clicks alone are asked for", |screen| {
        screen.mouse_protocol_mode() == MouseProtocolMode::PressRelease
            && screen.mouse_protocol_encoding() == MouseProtocolEncoding::Sgr
    });
    // The left button on column 40, row 2 (xterm's control sequences, mode 1006): F5 Opened.
    terminal.press("\x1b[A", "nothing measured");
    terminal.send(b"\x1b[<0;40;2M").sees("No box has been opened");
    terminal.send(b"\x1b[<0;40;2m").send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);
    terminal.wait("the mouse is the terminal's again", |screen| {
        screen.mouse_protocol_mode() == MouseProtocolMode::None
    });
    terminal.is_restored();
}

/// A room's folder with this settings file in it.
fn room_with(settings: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let room = folder.path().join("room").display().to_string();
    let laid = boxcall_on(&room, &["demo", "--plain"]);
    assert!(laid.status.success(), "{}", String::from_utf8_lossy(&laid.stderr));
    std::fs::write(Path::new(&room).join("settings.toml"), settings).expect("it can be written");
    (folder, room)
}

#[test]
fn a_rooms_settings_hold_on_its_screens() {
    let settings =
        "background = \"light\"\ndecimal = \"comma\"\nmouse = false\n[keys]\nundo = \"z\"\nhelp = \"?\"\n";
    let (_folder, room) = room_with(settings);
    let mut terminal = Terminal::open(&["--room", &room], &[], 80, 24);
    terminal.sees("? help");
    terminal.wait("a light ground, no mouse, commas", |screen| {
        // White is number 231 of the 256 colours.
        let ground = screen.cell(10, 40).map(vt100::Cell::bgcolor);
        ground == Some(vt100::Color::Idx(231))
            && screen.mouse_protocol_mode() == vt100::MouseProtocolMode::None
            && screen.contents().contains("3,00")
    });
    terminal.press(F3, "z undo");
    terminal.send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);
    // What is set for once outranks the file.
    let mut terminal = Terminal::open(&["--room", &room, "--background", "dark"], &[], 80, 24);
    terminal.sees("? help");
    let ground = terminal.screen.lock().unwrap().screen().cell(10, 40).map(vt100::Cell::bgcolor);
    assert_eq!(ground, Some(vt100::Color::Idx(233)));
    terminal.send(LEAVE.as_bytes());
    terminal.ended();
}

#[test]
fn settings_that_clash_are_refused_with_both_names_before_a_screen_opens() {
    let (_folder, room) = room_with("[keys]\nmeasure = \"z\"\nwhy = \"z\"\nundo = []\n");
    let mut terminal = Terminal::open(&["--room", &room], &[], 160, 24);
    assert_eq!(terminal.ended(), 2);
    terminal.sees("z is why's key too");
    terminal.sees("z is measure's key too");
    terminal.sees("undo can't be left without a key");
    terminal.is_restored();
}

#[test]
fn a_small_terminal_says_what_it_needs_and_grows() {
    let mut terminal = Terminal::open(&["demo"], &[], 20, 5);
    terminal.sees("needs 80x24");
    terminal.grow(80, 24);
    terminal.sees("boxcall: the demo room");
    terminal.send(LEAVE.as_bytes());
    terminal.ended();
}

#[test]
fn without_colour_the_cursor_still_shows() {
    let mut terminal = Terminal::open(&["demo"], &[("NO_COLOR", "1")], 80, 24);
    terminal.sees("boxcall: the demo room");
    terminal.press("\x1b[A", "nothing measured").press("\x1b[B", "No product here has 3.25 × 26");
    let inverse = |screen: &vt100::Screen| {
        (3..20)
            .flat_map(|row| (0..80).map(move |column| (row, column)))
            .any(|(row, column)| screen.cell(row, column).is_some_and(vt100::Cell::inverse))
    };
    terminal.wait("a cell in reverse", inverse);
    terminal.send(LEAVE.as_bytes());
    terminal.ended();
}

/// Labels that arrive faster than frames are drawn, and the key behind them: each counts, and no character of one runs
/// as a key.
#[test]
fn a_flood_of_labels_is_counted_whole_and_runs_no_key() {
    let mut terminal = Terminal::open(&["demo"], &[], 80, 24);
    terminal.sees("boxcall: the demo room");
    terminal.press("\x1b[A", "nothing measured").press(F7, "receive").press("i", "they go to");
    terminal.press("c9\t\t\r", "COUNTED HERE");
    let label = |n: u32| format!("]d201095210013002921728022810F1\x1d21F{n:04}\r");
    terminal.send((1..=150).map(label).collect::<String>().as_bytes()).send(b"d").sees("Boxes: 150;");
    terminal.signal(libc::SIGTERM);
    assert_eq!(terminal.ended(), 128 + libc::SIGTERM as u32);
}

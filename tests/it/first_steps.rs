//! An empty room is furnished from its screen, with real files, in a pseudo-terminal; and left and taken up again.

use crate::hand::Hand;
use crate::pty::{LEAVE, Terminal};
use boxcall::journal::Fact;
use boxcall::room::Room;
use std::path::Path;

const DOWN: &str = "\x1b[B";

fn here(file: &str) -> String {
    format!("{}/{file}", env!("CARGO_MANIFEST_DIR"))
}

fn paste(terminal: &mut Terminal, text: &str) {
    terminal.send(format!("\x1b[200~{text}\x1b[201~").as_bytes());
}

#[test]
fn an_empty_room_is_furnished_step_by_step_left_and_taken_up() {
    let folder = tempfile::tempdir().expect("a folder");
    furnished_in(folder.path());
}

#[test]
fn a_path_longer_than_its_field_shows_its_end_and_is_taken_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let deep = folder.path().join("a folder in a folder ".repeat(4)).join("and in a folder ".repeat(6));
    std::fs::create_dir_all(&deep).expect("a deep folder");
    furnished_in(&deep);
}

/// The tables and the room lie in this folder.
fn furnished_in(folder: &Path) {
    let lay = |file: &str| {
        let to = folder.join(Path::new(file).file_name().expect("a name"));
        std::fs::copy(here(file), &to).expect("a copy");
        to.to_str().expect("a path").to_string()
    };
    let slips = lay("tests/data/products_with_slips.csv");
    let products = lay("tests/data/products.csv");
    let stock = lay("catalogues/room/stock.csv");
    let room = folder.join("room");
    let path = room.to_str().expect("a path").to_string();
    let mut terminal = Terminal::open(&["--room", &path], &[], 100, 30);
    terminal.sees("What is to be laid there?");
    terminal.send(b"e\r").sees("First steps: what this room needs");
    terminal.press("\r", "Would be laid as catalogue/guides.toml");
    assert!(!room.join("catalogue/guides.toml").exists(), "nothing is written before it was shown");
    terminal.press("\r", "2 of 6 done");
    assert!(room.join("catalogue/guides.toml").exists());
    // A table with slips: each is told with its line and column, and nothing is written.
    terminal.press("\r", "Type or paste the path");
    paste(&mut terminal, &slips);
    terminal.sees("slips.csv");
    terminal.press("\r", "this has to be mended first");
    terminal.sees("slips.csv:3: di:");
    terminal.sees("slips.csv:4: length_mm:");
    terminal.press("\x1b", "Enter takes a table (CSV)");
    terminal.send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);

    // What is done is seen from the room, so it goes on where it was.
    let mut terminal = Terminal::open(&["--room", &path], &[], 100, 30);
    terminal.sees("▸ NEXT  Products");
    terminal.press("\r", "Type or paste the path");
    paste(&mut terminal, &products);
    terminal.sees("products.csv");
    terminal.press("\r", "What would change in the catalogue").press("\r", "▸ NEXT  Stock");
    terminal.press("\x1b", "come back to the first steps");
    terminal.press("g1", "▸ NEXT  Stock");
    terminal.press("\r", "Type or paste the path");
    paste(&mut terminal, &stock);
    terminal.sees("stock.csv");
    terminal.press("\r", "would be on hand").press("\r", "Stock loaded from stock.csv");
    terminal.sees("▸ NEXT  Scanner");
    terminal.press("\r", "Scan any box");
    terminal.send(b"]d201095210013002921728022810LOT7\x1d21S0001\r").sees("(10)LOT7(21)S0001");
    terminal.press("\x1b", "Everything is done");
    terminal.sees("6 of 6 done");
    terminal.press("\x1b", "any size can be called");
    terminal.send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);

    let opened = Room::open(&room).expect("the room opens");
    assert_eq!(opened.catalogue.products.len(), 2);
    assert!(opened.furniture().scanner);
    let loaded = opened.journal().expect("a journal");
    assert!(matches!(loaded.as_slice(), [entry] if matches!(entry.fact, Fact::StockLoaded { .. })));
}

#[test]
fn a_release_is_read_shown_and_laid_with_its_report() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = folder.path().join("room");
    drop(Room::lay_empty(&room).expect("it is laid"));
    let path = room.to_str().expect("a path").to_string();
    let mut terminal = Terminal::open(&["--room", &path], &[], 100, 30);
    terminal.sees("First steps");
    terminal.press(DOWN, "release of the public device database").press("r", "that of device.txt");
    paste(&mut terminal, &here("tests/reference/release"));
    terminal.sees("reference/release");
    terminal.press("\r", "What the release would bring");
    terminal.sees("none of them checked against the boxes yet");
    let files = || std::fs::read_dir(room.join("catalogue")).expect("a folder").count();
    assert_eq!(files(), 0, "nothing is written before it was shown");
    terminal.press("\r", "It is in the room's folder now");
    assert!(files() > 10 && room.join("import-report.csv").exists());
    terminal.send(LEAVE.as_bytes());
    assert_eq!(terminal.ended(), 0);
    let opened = Room::open(&room).expect("the room opens");
    assert!(opened.catalogue.products.iter().all(|product| !product.verified));
}

#[test]
fn a_box_that_is_scanned_is_enrolled_and_forgetting_it_comes_back() {
    let mut hand = Hand::bare();
    hand.scan("]d2010952123454321317280228");
    let screen = hand.small();
    assert!(screen.contains("NOT KNOWN") || screen.contains("e enrol"), "{screen}");
    hand.keys("<Esc>");
    assert!(hand.small().contains("First steps"), "{}", hand.small());
    assert!(hand.journal.is_empty(), "nothing was written about it");
}

#[test]
fn a_file_that_changed_since_it_was_shown_is_not_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut room = Room::lay_empty(&folder.path().join("room")).expect("it is laid");
    let table = here("tests/data/products.csv");
    let prepared = room.prepare_products(Path::new(&table)).expect("it reads");
    let file = room.dir().join("catalogue/fell.toml");
    std::fs::write(&file, "# somebody else writes here").expect("it can be written");
    let fault = room.lay(&prepared).expect_err("it has changed");
    assert_eq!(fault.code(), "file-changed");
    assert_eq!(std::fs::read_to_string(&file).expect("it is there"), "# somebody else writes here");
    assert!(!room.dir().join("catalogue/skerry.toml").exists(), "all or nothing");
}

#[test]
fn a_used_room_and_the_demo_open_on_sizes() {
    let hand = Hand::demo();
    assert!(!hand.small().contains("First steps"));
    let mut bare = Hand::bare();
    assert!(bare.small().contains("First steps"));
    bare.keys("<Esc>n");
    let used = Hand::with(Default::default(), bare.journal.clone());
    assert!(!used.small().contains("First steps"), "a case was begun here: nobody is walked through again");
}

//! How a room starts and follows its journal: what is read of it in part is what the fold of everything says.

use crate::hand::{Hand, demo_catalogue, demo_pieces};
use crate::program::boxcall_on;
use boxcall::case::Case;
use boxcall::case::readback::Cupboard;
use boxcall::catalogue::Piece;
use boxcall::journal::{BoxRead, CaseCode, Entry, Fact, Finding};
use boxcall::ledger::Known;
use boxcall::room::{Room, files};
use boxcall::shelf::Shelf;
use boxcall::store::{Stamp, Store};
use boxcall::tui::state::{Wanted, World};
use boxcall::udi::DeviceId;
use chrono::{DateTime, FixedOffset, NaiveDate};
use proptest::prelude::*;

const DI: [&str; 3] = ["09521001300292", "09521001275293", "09521002300291"];
const LOTS: [&str; 3] = ["L1", "L2", "L3"];
const SERIALS: [Option<&str>; 3] = [None, Some("1"), Some("2")];
const PLACES: [&str; 2] = ["A", "B"];

fn at() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-11-25T10:30:00+01:00").unwrap()
}

fn today() -> NaiveDate {
    at().date_naive()
}

fn code(place: u8) -> CaseCode {
    CaseCode::from_random([place; 5])
}

fn di(place: usize) -> DeviceId {
    DeviceId::parse(DI[place % 3]).unwrap()
}

fn label(n: usize) -> BoxRead {
    BoxRead {
        di: Some(di(n)),
        lot: Some(LOTS[n / 3 % 3].into()),
        serial: SERIALS[n / 9 % 3].map(String::from),
        ..BoxRead::default()
    }
}

fn piece(n: usize) -> Piece {
    Piece {
        di: di(n),
        lot: LOTS[n / 3 % 3].into(),
        serial: SERIALS[n / 9 % 3].map(String::from),
        use_by: None,
        shelf: PLACES[n / 2 % 2].into(),
        count: (n % 4) as u32 + 1,
        owner: Default::default(),
    }
}

/// Something that happens: to whom, and what.
fn step() -> impl Strategy<Value = (Option<CaseCode>, Fact)> {
    let pieces = || prop::collection::vec((0usize..54).prop_map(piece), 0..4);
    let boxes = (1u8..5, 1u32..4, 0usize..54, 0u8..4).prop_map(|(case, item, n, kind)| {
        let (label, finding) = (label(n), Finding::from("same"));
        let fact = match kind {
            0 => Fact::BoxAtHand { item, call: None, label, finding, reason: None },
            1 => Fact::BoxPutBack { item, label, finding },
            _ => Fact::BoxOpened {
                item,
                call: None,
                lesion: None,
                label,
                finding,
                reason: None,
                minutes_ago: None,
            },
        };
        (Some(code(case)), fact)
    });
    let from = || "x".to_string();
    prop_oneof![
        6 => boxes,
        2 => (1u8..5).prop_map(|case| (Some(code(case)), Fact::CaseBegun)),
        1 => (1u8..5).prop_map(|case| (Some(code(case)), Fact::SignedOff { unsettled: 0, why: None })),
        2 => (0u8..5, 1u64..40).prop_map(|(case, entry)| {
            ((case > 0).then(|| code(case)), Fact::StruckOut { entry, why: "typed wrong".into() })
        }),
        2 => pieces().prop_map(move |pieces| (None, Fact::StockLoaded { from: from(), pieces })),
        1 => pieces().prop_map(move |pieces| (None, Fact::StockReceived { from: from(), pieces })),
        1 => pieces().prop_map(|pieces| (None, Fact::StockMoved { pieces, to: "B".into() })),
        1 => pieces().prop_map(|pieces| (None, Fact::StockCounted { shelf: "A".into(), pieces })),
        1 => pieces().prop_map(|pieces| (None, Fact::StockPulled { why: "old".into(), pieces })),
        1 => (0usize..4, 0usize..3).prop_map(|(n, lot)| {
            (None, Fact::LotRecalled { di: (n < 3).then(|| di(n)), lot: LOTS[lot].into() })
        }),
        1 => (0usize..3, any::<bool>()).prop_map(|(n, agrees)| {
            let length = boxcall::units::Length::from_mm(29.0);
            (None, Fact::PrintedSizeTyped { di: di(n), diameter: None, length, agrees })
        }),
    ]
}

/// Everything that can be asked of a shelf about these cases.
fn told(shelf: &Shelf, cases: &[CaseCode]) -> String {
    let mut text = format!("{:?}\n{:?}\n", shelf.pieces(), shelf.recalls());
    for n in 0..3 {
        let ids = [di(n)];
        text += &format!("{:?} {:?}\n", shelf.place(&ids, today()), Cupboard::printed_size(shelf, &ids[0]));
        for serial in ["1", "2"] {
            text += &format!("{}\n", shelf.serial_opened(&ids[0], serial));
        }
        for lot in LOTS {
            text += &format!("{}\n", shelf.recalled(Some(&ids[0]), lot));
        }
    }
    for case in cases {
        for item in 1..4 {
            text += &format!("{case} {item} {:?}\n", shelf.taken_by(case, item));
        }
    }
    text
}

fn all_cases() -> Vec<CaseCode> {
    (1..5).map(code).collect()
}

fn first_of(entries: &[Entry], case: &CaseCode) -> Option<u64> {
    entries.iter().find(|entry| entry.case.as_ref() == Some(case)).map(|entry| entry.seq)
}

fn append(store: &mut Store, steps: &[(Option<CaseCode>, Fact)], from: usize) {
    for (n, (case, fact)) in steps.iter().enumerate() {
        let command = format!("c{}", from + n);
        store.append(&Stamp::new(&command, at()), case.as_ref(), std::slice::from_ref(fact)).unwrap();
    }
}

/// A case begins with its first entry or not at all.
fn each_begun_once(steps: Vec<(Option<CaseCode>, Fact)>) -> Vec<(Option<CaseCode>, Fact)> {
    let mut seen: Vec<Option<CaseCode>> = Vec::new();
    let fits = |(case, fact): &(Option<CaseCode>, Fact)| {
        let again = seen.contains(case);
        seen.push(case.clone());
        *fact != Fact::CaseBegun || !again
    };
    let mut steps = steps;
    steps.retain(fits);
    steps
}

fn satisfy(world: &mut World, room: &Room, mut wanted: Vec<Wanted>) {
    let mut rounds = 0;
    while let Some(next) = wanted.pop() {
        rounds += 1;
        assert!(rounds < 10, "reading comes to an end");
        wanted.extend(match next {
            Wanted::Shelf { back_to } => world.arrived(room.behind(back_to).unwrap()),
            Wanted::Case(case) => world.show(&case, room.case_entries(&case).unwrap()),
        });
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// The shelf out of the entries that matter is the shelf out of all of them, and so it stays while they grow and
    /// while it is read behind the screens.
    #[test]
    fn what_is_read_in_part_is_what_the_whole_says(
        steps in prop::collection::vec(step(), 1..40),
        cuts in [0usize..40, 0usize..40, 0usize..40],
        shown in 1u8..5,
    ) {
        let folder = tempfile::tempdir().unwrap();
        let mut store = Store::open(&folder.path().join(files::JOURNAL)).unwrap();
        let steps = each_begun_once(steps);
        let mut cuts = cuts.map(|cut| cut.min(steps.len()));
        cuts.sort_unstable();
        let [opened, read, told_of] = cuts;
        append(&mut store, &steps[..opened], 0);
        let room = Room::look(folder.path()).unwrap();
        let opening = room.opening().unwrap();
        let mut world = World::opening(room.catalogue.clone(), room.policy.clone(), opening);
        prop_assert!(world.shelf.unread().is_some(), "nobody may take it for an empty one");
        append(&mut store, &steps[opened..read], opened);
        let behind = room.behind(world.entries().first().map(|entry| entry.seq)).unwrap();
        append(&mut store, &steps[read..told_of], read);
        // Some of what came meanwhile is in what was read as well.
        let wanted = world.absorb(store.entries_after(world.last_seq()).unwrap(), false);
        satisfy(&mut world, &room, wanted);
        let wanted = world.arrived(behind);
        satisfy(&mut world, &room, wanted.into_iter().collect());
        append(&mut store, &steps[told_of..], told_of);
        for entry in store.entries_after(world.last_seq()).unwrap() {
            let wanted = world.absorb(vec![entry], false);
            satisfy(&mut world, &room, wanted);
        }
        let entries = store.entries_after(0).unwrap();
        let whole = Shelf::fold(&entries);
        let latest = entries.iter().rev().find_map(|entry| entry.case.clone());
        let of = |case: &CaseCode| {
            Case::fold(entries.iter().filter(|entry| entry.case.as_ref() == Some(case)))
        };
        prop_assert_eq!(world.shelf.unread(), None);
        prop_assert_eq!(&world.case, &latest.as_ref().and_then(of));
        let shown_now: Vec<CaseCode> = latest.clone().into_iter().collect();
        prop_assert_eq!(told(&world.shelf, &shown_now), told(&whole, &shown_now));

        // Turning to a case shows what its boxes took, however old it is.
        let wanted = world.show(&code(shown), room.case_entries(&code(shown)).unwrap());
        satisfy(&mut world, &room, wanted.into_iter().collect());
        prop_assert_eq!(&world.case, &of(&code(shown)));
        let shown_now = [code(shown)];
        prop_assert_eq!(told(&world.shelf, &shown_now), told(&whole, &shown_now));

        // Read at once, back to nowhere, to each case, and to the beginning.
        let mut known = Known::default();
        entries.iter().for_each(|entry| known.apply(entry));
        let begun = all_cases().into_iter().filter_map(|case| first_of(&entries, &case));
        for back_to in begun.map(Some).chain([None, Some(1)]) {
            let behind = room.behind(back_to).unwrap();
            let from = behind.reading.from;
            prop_assert!(back_to.is_none_or(|back_to| from < back_to || from == 0));
            let covered = all_cases().into_iter().filter(|case| {
                first_of(&entries, case).is_none_or(|first| first >= from)
            });
            let covered: Vec<CaseCode> = covered.collect();
            prop_assert_eq!(told(&behind.reading.shelf, &covered), told(&whole, &covered));
            prop_assert_eq!(&behind.cases, &known);
        }
    }
}

/// Only what stands from the last load on is folded: what lay before it is not even looked for.
#[test]
fn the_fold_begins_at_the_last_load_that_no_case_goes_on_across() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(&folder.path().join(files::JOURNAL)).unwrap();
    let loaded = |lot: usize| (None, Fact::StockLoaded { from: "x".into(), pieces: vec![piece(lot)] });
    let begun = |case: u8| (Some(code(case)), Fact::CaseBegun);
    append(&mut store, &[loaded(0), begun(1), loaded(3), begun(2)], 0);
    let room = Room::look(folder.path()).unwrap();
    let from = |back_to| room.behind(back_to).unwrap().reading.from;
    assert_eq!(from(None), 3);
    assert_eq!(from(Some(4)), 3);
    assert_eq!(from(Some(2)), 1, "what the boxes of the first case took is asked for");
    append(&mut store, &[begun(1)], 10);
    assert_eq!(from(None), 1, "the first case goes on");
}

fn hand_while_reading() -> Hand {
    let catalogue = demo_catalogue();
    let pieces = demo_pieces(&catalogue);
    let mut hand = Hand::demo();
    hand.room(vec![Fact::StockLoaded { from: "stock.csv".into(), pieces }]);
    hand.keys("3 29<Enter>");
    hand.reopened()
}

/// Until the shelf is read no screen says that something is not there, and each says why it says nothing.
#[test]
fn while_the_shelf_is_read_no_screen_calls_it_empty() {
    let mut hand = hand_while_reading();
    let keys = ["<F2>", "<F3>", "<F4>", "<F5>", "<F6>", "<F7>", "<F9>"];
    for key in keys {
        let screen = hand.keys(key).small();
        assert!(screen.contains("reading the shelf"), "{key}\n{screen}");
        for lie in ["NONE", "none on the shelf", "–  ", "Nothing is below par", "No gap"] {
            assert!(!screen.contains(lie), "{key} says {lie}\n{screen}");
        }
    }
    assert!(hand.keys("<F3>").small().contains("The shelf is still being read"));
    assert!(hand.keys("<F7>").small().contains("The shelf is still being read"));
    assert!(hand.keys("<F9>").small().contains("The shelf is still being read"));
    hand.shelf_arrives();
    for key in keys {
        let screen = hand.keys(key).small();
        assert!(!screen.contains("reading the shelf") && !screen.contains("being read"), "{key}\n{screen}");
    }
    assert!(hand.keys("<F3>").small().contains("▸ "), "the place of the box is told");
}

/// A label that is read before the recalls are known is never the same, and is read back again when they are.
#[test]
fn a_box_read_before_the_shelf_is_known_is_checked_by_eye_and_read_back_again() {
    let mut hand = Hand::demo();
    hand.keys("3 29<Enter>");
    let piece = hand.state.card().unwrap().bring.unwrap().piece;
    let label = String::from_utf8(boxcall::shelf::scan_of(&piece)).unwrap();
    hand.room(vec![Fact::LotRecalled { di: None, lot: piece.lot.clone() }]);
    let mut hand = hand.reopened();
    let screen = hand.scan(&label).small();
    assert!(screen.contains("whether this lot is recalled is not known"), "{screen}");
    assert_eq!(hand.state.held().unwrap().back.finding.to_string(), "CHECK BY EYE");
    hand.shelf_arrives();
    assert_eq!(hand.state.held().unwrap().back.finding.to_string(), "STOP: RECALLED");
}

#[test]
fn a_shelf_that_can_not_be_read_says_so_on_every_screen() {
    let mut hand = hand_while_reading();
    hand.send(boxcall::tui::state::Message::NotArrived { why: "entry 3: it is damaged".into() });
    for key in ["<F2>", "<F3>", "<F4>", "<F5>", "<F6>", "<F7>", "<F9>"] {
        assert!(hand.keys(key).small().contains("SHELF NOT READ"), "{key}");
    }
    assert!(hand.keys("<F7>").small().contains("THE SHELF CAN'T BE READ: entry 3: it is damaged"));
}

/// Turning to another open case reads that case alone, and only those that are not signed off are turned to.
#[test]
fn another_open_case_is_turned_to() {
    let mut hand = Hand::demo();
    hand.keys("3 29<Enter>");
    let first = hand.state.world.open_case().unwrap();
    hand.keys("<Esc>n");
    let second = hand.state.world.open_case().unwrap();
    assert_ne!(first, second);
    hand.keys("2.5 20<Enter><Esc>");
    hand.keys("N");
    assert_eq!(hand.state.world.open_case(), Some(first.clone()));
    assert_eq!(hand.state.world.waiting().len(), 1);
    assert!(hand.state.world.entries().iter().all(|entry| entry.case.as_ref() == Some(&first)));
    hand.keys("N");
    assert_eq!(hand.state.world.open_case(), Some(second));
}

/// Closing any descriptor of a file drops the process's locks on it (fcntl(2); "How To Corrupt An SQLite Database File",
/// 2.2). A connection for another thread must not do that: without its lock another program may clear away the log
/// into which this one writes.
#[cfg(target_os = "linux")]
#[test]
fn a_second_connection_leaves_the_locks_of_the_first() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(files::JOURNAL);
    let mut store = Store::open(&path).unwrap();
    append(&mut store, &[(None, Fact::CaseBegun)], 0);
    let file = std::os::unix::fs::MetadataExt::ino(&std::fs::metadata(&path).unwrap());
    let me = std::process::id().to_string();
    let is_locked = || {
        let all = std::fs::read_to_string("/proc/locks").unwrap();
        let mut words = all.lines().map(|line| line.split_whitespace().collect::<Vec<_>>());
        words.any(|words| {
            words.contains(&me.as_str()) && words.iter().any(|word| word.ends_with(&format!(":{file}")))
        })
    };
    assert!(is_locked());
    drop(store.beside().unwrap());
    assert!(is_locked());
    drop(Store::open_read_only(&path).unwrap());
    assert!(!is_locked(), "the check sees what it is there for");
}

/// A bar in words on every screen, and every screen still does its work below it.
#[test]
fn a_journal_that_does_not_hold_is_said_on_every_screen() {
    let mut hand = Hand::demo();
    hand.keys("3 29<Enter>");
    hand.send(boxcall::tui::state::Message::Broken(
        "entry 3 does not hold: its body is not what was written".into(),
    ));
    assert!(hand.small().contains("boxcall journal check"), "what to do is said");
    for key in ["<F1>", "<F2>", "<F3>", "<F4>", "<F5>", "<F6>", "<F7>", "<F9>"] {
        for (width, height) in [(80, 24), (160, 45)] {
            let screen = hand.keys(key).screen(width, height);
            assert!(screen.contains("THE JOURNAL DOES NOT HOLD: entry 3 does not hold"), "{key}\n{screen}");
        }
    }
    let before = hand.journal.len();
    hand.keys("<F2>3 29<Enter>");
    assert_eq!(hand.journal.len(), before + 1, "what happens is written all the same");
}

/// The demo room on disk, its demo case walked.
fn room_on_disk() -> (tempfile::TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room");
    let output = boxcall_on(&room, &["demo", "--plain"]);
    assert!(output.status.success(), "{output:?}");
    (folder, room)
}

/// The check behind the screens marks how far the journal holds, is whole once a day, and a whole check looks at every
/// entry whatever the mark says.
#[test]
fn the_check_behind_the_screens_is_short_and_no_way_round_the_whole_one() {
    let (_folder, dir) = room_on_disk();
    let room = Room::open(&dir).unwrap();
    let mark = || room.store().unwrap().mark();
    let hours = |hours| at() + chrono::TimeDelta::hours(hours);
    std::fs::remove_file(dir.join("journal.mark")).unwrap();
    assert_eq!(mark(), None);
    Room::look(&dir).unwrap().reader().unwrap().check(at()).unwrap();
    assert_eq!(mark(), None, "who only looks leaves nothing behind");
    room.reader().unwrap().check(at()).unwrap();
    let last = room.store().unwrap().last_seq().unwrap();
    assert_eq!(mark().map(|mark| (mark.entries, mark.whole)), Some((last, at())));
    room.reader().unwrap().check(hours(23)).unwrap();
    assert_eq!(mark().unwrap().whole, at(), "all of it is checked once a day");

    let path = dir.join(files::JOURNAL);
    let stranger = rusqlite::Connection::open(&path).unwrap();
    let guard: String = stranger
        .query_row("SELECT sql FROM sqlite_schema WHERE name = 'journal_no_update'", [], |row| row.get(0))
        .unwrap();
    stranger
        .execute_batch(&format!(
            "DROP TRIGGER journal_no_update; UPDATE journal SET body = body || ' ' WHERE seq = 2; {guard}"
        ))
        .unwrap();
    let output = boxcall_on(&dir, &["journal", "check", "--json"]);
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(
        (output.status.code(), &answer["entry"], &answer["holds"]),
        (Some(1), &2.into(), &false.into())
    );
    for now in [hours(25), hours(-1)] {
        let broken = room.reader().unwrap().check(now).unwrap_err();
        assert_eq!(broken.seq, 2, "a day later, or with a clock that was set back: {broken}");
    }
    assert_eq!(mark().unwrap().entries, last, "what does not hold is not marked");
}

/// A tail that was cut off: the chain that is left holds, and the mark tells.
#[test]
fn a_journal_whose_tail_was_cut_off_does_not_pass_the_check() {
    let (_folder, dir) = room_on_disk();
    Room::open(&dir).unwrap().reader().unwrap().check(at()).unwrap();
    let last = Room::look(&dir).unwrap().store().unwrap().last_seq().unwrap();
    let path = dir.join(files::JOURNAL);
    let stranger = rusqlite::Connection::open(&path).unwrap();
    let guard: String = stranger
        .query_row("SELECT sql FROM sqlite_schema WHERE name = 'journal_no_delete'", [], |row| row.get(0))
        .unwrap();
    stranger
        .execute_batch(&format!(
            "DROP TRIGGER journal_no_delete; DELETE FROM journal WHERE seq = {last}; {guard}"
        ))
        .unwrap();
    drop(stranger);
    let output = boxcall_on(&dir, &["journal", "check"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains(&format!("entry {last} does not hold: 1 entry that")), "{said}");
    std::fs::remove_file(dir.join("journal.mark")).unwrap();
    assert_eq!(
        boxcall_on(&dir, &["journal", "check"]).status.code(),
        Some(0),
        "an older copy, put back on purpose"
    );
}

/// What was written after the last check and shown: no mark knows of it, the screens have seen it.
#[test]
fn a_tail_that_the_screens_have_shown_and_that_is_gone_does_not_pass_the_check() {
    let (_folder, dir) = room_on_disk();
    let mut room = Room::open(&dir).unwrap();
    let older = dir.join("older.db");
    room.store().unwrap().backup(&older).unwrap();
    let [first, second] = ["L1", "L2"]
        .map(|lot| room.write(None, &[Fact::LotRecalled { di: None, lot: lot.into() }]).unwrap()[0].seq);
    room.mark_shown(second);
    drop(room);
    let check = || {
        let output = boxcall_on(&dir, &["journal", "check"]);
        (output.status.code(), String::from_utf8_lossy(&output.stdout).into_owned())
    };
    assert_eq!(check().0, Some(0), "as it was shown");
    let journal = dir.join(files::JOURNAL);
    for end in ["-wal", "-shm"] {
        let _ = std::fs::remove_file(dir.join(format!("{}{end}", files::JOURNAL)));
    }
    std::fs::rename(&older, &journal).unwrap();
    let (code, said) = check();
    assert!(code == Some(1) && said.contains(&format!("entry {first} does not hold: 2 entries")), "{said}");
    // Others in their place, as many: the chain holds, and they are not those that were shown.
    let mut room = Room::open(&dir).unwrap();
    let other = Fact::LotRecalled { di: None, lot: "L3".into() };
    room.write(None, &[other.clone(), other]).unwrap();
    let (code, said) = check();
    assert!(code == Some(1) && said.contains(&format!("entry {second} does not hold")), "{said}");
    // A look at it makes it no better: it is taken as it is when somebody takes the file away.
    room.mark_shown(second);
    assert_eq!(check().0, Some(1));
    std::fs::remove_file(dir.join(files::SHOWN)).unwrap();
    assert_eq!(check().0, Some(0));
    // A power cut may leave nothing of it; something else shows that somebody was at it.
    std::fs::write(dir.join(files::SHOWN), "").unwrap();
    assert_eq!(check().0, Some(0));
    std::fs::write(dir.join(files::SHOWN), "torn").unwrap();
    assert_eq!(check().0, Some(1));
}

/// What needs only the journal is told whatever is wrong in the room's other files, and the fault is told beside it.
#[test]
fn a_faulty_file_hides_nothing_of_the_journal() {
    let (_folder, dir) = room_on_disk();
    let commands: [&[&str]; 9] = [
        &["case", "list"],
        &["case", "show"],
        &["case", "export", "--format", "csv"],
        &["case", "export", "--format", "fhir"],
        &["case", "totals"],
        &["journal", "check"],
        &["trace", "--recalled"],
        &["trace", "--lot", "nowhere"],
        &["trace", "--di", "09521001300292"],
    ];
    let told = |words: &[&str]| {
        let output = boxcall_on(&dir, words);
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let before = commands.map(|words| told(words).0);
    for file in ["catalogue/broken.toml", "policy.toml"] {
        std::fs::write(dir.join(file), "schema = \n").unwrap();
        for (words, before) in commands.iter().zip(before) {
            let (status, aside) = told(words);
            assert_eq!(status, before, "{words:?}: {aside}");
            assert!(status < Some(2), "{words:?}: {aside}");
            if words[0] == "case" {
                assert!(
                    aside.contains("caution") && aside.contains(file.rsplit('/').next().unwrap()),
                    "{words:?}: {aside}"
                );
            }
        }
        std::fs::remove_file(dir.join(file)).unwrap();
    }
}

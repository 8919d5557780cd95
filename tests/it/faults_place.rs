//! The journal's file is deleted, moved, replaced, cut, corrupted or may not be written, while it is open or before:
//! it is noticed, said with what to do, and nothing that was acknowledged is lost without a word.

use crate::faulty::{folder, intact};
use boxcall::journal::{CaseCode, Fact};
use boxcall::room::{Room, SinceShown, files};
use boxcall::store::{Stamp, Store, StoreError};
use chrono::{DateTime, FixedOffset, TimeDelta};
use std::path::{Path, PathBuf};

fn noon() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00").unwrap()
}

fn case() -> CaseCode {
    CaseCode::parse("ACDEF").unwrap()
}

fn fact(n: usize) -> Fact {
    Fact::SignedOff { unsettled: n as u32, why: Some("heather ".repeat(5 + n % 40)) }
}

fn fill(store: &mut Store, from: usize, to: usize) {
    for n in from..to {
        store
            .append(&Stamp::new(format!("n-{n}"), noon()), Some(&case()), &vec![fact(n); 1 + n % 3])
            .unwrap();
    }
}

fn entries_of(from: usize, to: usize) -> u64 {
    (from..to).map(|n| 1 + n as u64 % 3).sum()
}

fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_os_string();
    name.push(suffix);
    name.into()
}

const THREE: [&str; 3] = ["", "-wal", "-shm"];

fn stamp(id: &str) -> Stamp {
    Stamp::new(id, noon())
}

#[test]
fn a_journal_deleted_under_the_program_is_noticed_and_put_back_whole() {
    // One of the three files, or all of them, or the whole folder.
    for gone in ["", "-wal", "-shm", "all", "folder"] {
        let folder = folder();
        let room = folder.path().join("room");
        std::fs::create_dir(&room).unwrap();
        let path = room.join("journal.db");
        let mut store = Store::open(&path).unwrap();
        fill(&mut store, 0, 20);
        match gone {
            "all" => THREE.iter().for_each(|suffix| std::fs::remove_file(beside(&path, suffix)).unwrap()),
            "folder" => std::fs::remove_dir_all(&room).unwrap(),
            suffix => std::fs::remove_file(beside(&path, suffix)).unwrap(),
        }
        let error = store.append(&stamp("x"), None, &[Fact::CaseBegun]).unwrap_err();
        assert!(
            matches!(error, StoreError::Gone { replaced: false, .. }) && !error.is_fault(),
            "{gone}: {error}"
        );
        let words = error.to_string();
        assert!(
            words.contains("NOT SAVED") && words.contains("taken away") && words.contains("Put it back"),
            "{words}"
        );
        if gone == "folder" {
            assert!(store.put_back().is_err(), "there is no place for it");
            std::fs::create_dir(&room).unwrap();
        }
        assert_eq!(store.put_back(), Ok(true), "{gone}");
        assert_eq!(store.put_back(), Ok(false), "it lies there");
        store.append(&stamp("x"), None, &[Fact::CaseBegun]).unwrap();
        drop(store);
        assert_eq!(intact(&path), entries_of(0, 20) + 1, "{gone}");
    }
}

/// Moved away and back: what was written into it meanwhile, by another program, is there once.
#[test]
fn a_journal_that_comes_back_goes_on_and_doubles_nothing() {
    let folder = folder();
    let path = folder.path().join("journal.db");
    let mut store = Store::open(&path).unwrap();
    fill(&mut store, 0, 5);
    let away = folder.path().join("away.db");
    for suffix in THREE {
        std::fs::rename(beside(&path, suffix), beside(&away, suffix)).unwrap();
    }
    assert!(store.append(&stamp("x"), None, &[Fact::CaseBegun]).is_err());
    for suffix in THREE {
        std::fs::rename(beside(&away, suffix), beside(&path, suffix)).unwrap();
    }
    assert!(!store.append(&stamp("x"), None, &[Fact::CaseBegun]).unwrap().already);
    assert!(store.append(&stamp("x"), None, &[Fact::CaseBegun]).unwrap().already);
    drop(store);
    assert_eq!(intact(&path), entries_of(0, 5) + 1);
}

#[test]
fn another_journal_in_its_place_is_noticed_and_not_touched() {
    let folder = folder();
    let path = folder.path().join("journal.db");
    let mut store = Store::open(&path).unwrap();
    fill(&mut store, 0, 5);
    let other = folder.path().join("other.db");
    fill(&mut Store::open(&other).unwrap(), 0, 3);
    for suffix in &THREE[1..] {
        let _ = std::fs::remove_file(beside(&other, suffix));
    }
    std::fs::rename(&other, &path).unwrap();
    let before = std::fs::read(&path).unwrap();
    let error = store.append(&stamp("x"), None, &[Fact::CaseBegun]).unwrap_err();
    assert!(matches!(error, StoreError::Gone { replaced: true, .. }), "{error}");
    assert!(store.put_back().is_err(), "it is somebody's");
    assert_eq!(std::fs::read(&path).unwrap(), before);
    // What was in the one in use can still be had.
    let copy = folder.path().join("copy.db");
    store.backup(&copy).unwrap();
    assert_eq!(intact(&copy), entries_of(0, 5));
}

/// The same file with another content: the entry that this program wrote last is not in it.
#[test]
fn a_journal_whose_end_was_taken_away_takes_no_more() {
    let folder = folder();
    let path = folder.path().join("journal.db");
    let mut store = Store::open(&path).unwrap();
    fill(&mut store, 0, 5);
    let stranger = rusqlite::Connection::open(&path).unwrap();
    stranger.execute_batch("DROP TRIGGER journal_no_delete; DELETE FROM journal WHERE seq > 2").unwrap();
    let error = store.append(&stamp("x"), None, &[Fact::CaseBegun]).unwrap_err();
    assert!(matches!(error, StoreError::Gone { replaced: true, .. }), "{error}");
    assert_eq!(store.last_seq(), Ok(2));
}

/// A chain can't show that its end was cut off; what the screens have shown can.
#[test]
fn an_older_journal_than_the_one_shown_last_is_told_at_the_start() {
    let folder = folder();
    let dir = folder.path().join("room");
    let mut room = Room::lay_empty(&dir).unwrap();
    let write = |room: &mut Room| room.write(Some(&case()), &[Fact::CaseBegun]).unwrap()[0].seq;
    assert_eq!(room.since_shown(), None, "no screen was ever open");
    let first = write(&mut room);
    let older = folder.path().join("older.db");
    room.store().unwrap().backup(&older).unwrap();
    room.mark_shown(first);
    let second = write(&mut room);
    room.mark_shown(second);
    room.mark_shown(first);
    assert_eq!(room.since_shown(), None, "an earlier screen takes nothing back");
    drop(room);
    let journal = dir.join(files::JOURNAL);
    for suffix in &THREE[1..] {
        let _ = std::fs::remove_file(beside(&journal, suffix));
    }
    std::fs::rename(&older, &journal).unwrap();
    let mut room = Room::open(&dir).unwrap();
    let Some(SinceShown::Other(words)) = room.since_shown() else { panic!("{:?}", room.since_shown()) };
    assert!(words.contains("entry 2") && words.contains("older backup"), "{words}");
    // It goes on, and says so until somebody takes the file away: a look at it makes it no newer.
    let next = write(&mut room);
    room.mark_shown(next);
    assert!(matches!(room.since_shown(), Some(SinceShown::Other(_))));
    std::fs::remove_file(dir.join(files::SHOWN)).unwrap();
    room.mark_shown(next);
    assert_eq!(room.since_shown(), None);
    drop(room);
    assert_eq!(intact(&journal), 2);
}

#[test]
fn each_page_in_turn_corrupted_is_told_or_changes_nothing() {
    let folder = folder();
    let path = folder.path().join("journal.db");
    let mut store = Store::open(&path).unwrap();
    fill(&mut store, 0, 60);
    let right = store.entries_after(0).unwrap();
    drop(store);
    let whole = std::fs::read(&path).unwrap();
    // Its size in bytes stands at byte 16 of the header, as SQLite's file format says.
    let page = usize::from(u16::from_be_bytes([whole[16], whole[17]]));
    assert!(whole.len() / page > 8, "some pages");
    let mut told = 0;
    let mut tries = 0;
    for start in (0..whole.len()).step_by(page) {
        for (at, length, with) in [
            (0, page, 0),
            (0, page, 0xa5),
            (0, 8, 0xff),
            (page / 2, 1, 0),
            (page - 200, 1, 0),
            (page - 40, 1, 0),
            (page / 3, 64, 0x5a),
        ] {
            let mut bytes = whole.clone();
            let part = &mut bytes[start + at..start + at + length];
            if length == 1 {
                part[0] ^= 0x10;
            } else {
                part.fill(with);
            }
            if bytes == whole {
                continue;
            }
            tries += 1;
            for suffix in &THREE[1..] {
                let _ = std::fs::remove_file(beside(&path, suffix));
            }
            std::fs::write(&path, &bytes).unwrap();
            let found = Store::open(&path).map_err(|error| error.to_string()).and_then(|store| {
                store.verify(&mut |_| {}).map_err(|broken| broken.to_string())?;
                // What an index leads to is what stands there.
                let read = |error: StoreError| format!("it holds, and then: {error}");
                assert_eq!(store.case_entries(&case()).map_err(read)?, right, "by the index on cases");
                assert_eq!(store.case_codes().map_err(read)?.len(), 1);
                store.entries_after(0).map_err(read)
            });
            match found {
                Ok(entries) => assert_eq!(entries, right, "byte {} of page {}", at, start / page + 1),
                Err(words) => {
                    told += 1;
                    assert!(words.contains("entry") || words.contains("journal"), "{words}");
                    assert!(!words.contains("it holds"), "byte {at} of page {}: {words}", start / page + 1);
                }
            }
        }
    }
    assert!(told * 2 > tries, "{told} of {tries}: the rest fell on bytes that say nothing");
}

#[test]
fn a_log_cut_at_any_length_leaves_whole_commands_from_the_first_on() {
    const COMMANDS: usize = 12;
    let folder = folder();
    let path = folder.path().join("journal.db");
    drop(Store::open(&path).unwrap());
    let mut store = Store::open(&path).unwrap();
    fill(&mut store, 0, COMMANDS);
    let right = store.entries_after(0).unwrap();
    let (whole, log) = (std::fs::read(&path).unwrap(), std::fs::read(beside(&path, "-wal")).unwrap());
    drop(store);
    // A frame is a header of 24 bytes and a page, behind a header of 32, as SQLite's file format says.
    let page = usize::from(u16::from_be_bytes([whole[16], whole[17]]));
    let frames = (log.len() - 32) / (page + 24);
    assert!(frames > COMMANDS);
    let edges = (0..=frames).map(|frame| 32 + frame * (page + 24));
    let lengths = edges.flat_map(|edge| [edge.saturating_sub(1), edge, edge + 1, edge + 24, edge + page / 2]);
    let cut = folder.path().join("cut.db");
    let mut seen = std::collections::BTreeSet::new();
    for length in lengths.chain([0, 1, 31, 33]).filter(|length| *length <= log.len()) {
        for suffix in THREE {
            let _ = std::fs::remove_file(beside(&cut, suffix));
        }
        std::fs::write(&cut, &whole).unwrap();
        std::fs::write(beside(&cut, "-wal"), &log[..length]).unwrap();
        let mut store = Store::open(&cut).unwrap();
        let entries = store.entries_after(0).unwrap();
        assert_eq!(entries, right[..entries.len()], "{length}");
        let commands = (0..=COMMANDS).find(|n| entries_of(0, *n) == entries.len() as u64);
        let commands = commands.unwrap_or_else(|| panic!("{length}: a command by half"));
        seen.insert(commands);
        // And it goes on from there.
        fill(&mut store, commands, COMMANDS);
        drop(store);
        assert_eq!(intact(&cut), right.len() as u64);
    }
    assert_eq!(seen.len(), COMMANDS + 1, "{seen:?}");
}

#[test]
fn a_journal_cut_at_any_page_is_told() {
    let folder = folder();
    let path = folder.path().join("journal.db");
    let mut store = Store::open(&path).unwrap();
    fill(&mut store, 0, 60);
    drop(store);
    let whole = std::fs::read(&path).unwrap();
    for length in (1..whole.len()).step_by(1_024) {
        for suffix in &THREE[1..] {
            let _ = std::fs::remove_file(beside(&path, suffix));
        }
        std::fs::write(&path, &whole[..length]).unwrap();
        let found = Store::open(&path)
            .map_err(|error| error.to_string())
            .and_then(|store| store.verify(&mut |_| {}).map_err(|broken| broken.to_string()));
        assert!(found.is_err(), "{length} of {} bytes", whole.len());
    }
}

/// The times are given: no clock of this machine is asked.
#[test]
fn a_clock_set_back_is_written_down_once_and_the_order_stays() {
    let folder = folder();
    let path = folder.path().join("journal.db");
    let mut store = Store::open(&path).unwrap();
    let minute = |n: i64| noon() + TimeDelta::minutes(n);
    let mut at = |id: &str, now: DateTime<FixedOffset>| {
        let stamp = Stamp::new(id, now);
        let entries = store.append(&stamp, Some(&case()), &[fact(1)]).unwrap().entries;
        entries.iter().map(|entry| entry.fact.what()).collect::<Vec<_>>()
    };
    assert_eq!(at("a", minute(0)), ["signed-off"]);
    assert_eq!(at("b", minute(60)), ["signed-off"]);
    // Less than two programs at once explain.
    assert_eq!(at("c", minute(60) - TimeDelta::seconds(5)), ["signed-off"]);
    assert_eq!(at("d", minute(2)), ["clock-went-back", "signed-off"]);
    assert_eq!(at("e", minute(3)), ["signed-off"], "once");
    assert_eq!(at("f", minute(3) - TimeDelta::seconds(6)), ["clock-went-back", "signed-off"], "each time");
    // The same instant in another zone is no jump.
    assert_eq!(at("g", minute(4).with_timezone(&FixedOffset::west_opt(5 * 3_600).unwrap())), ["signed-off"]);
    let entries = store.case_entries(&case()).unwrap();
    let story = boxcall::case::Case::fold(&entries).unwrap();
    let seqs: Vec<u64> = story.story.iter().map(|line| line.seq).collect();
    assert_eq!(seqs, (1..=9).collect::<Vec<_>>(), "in the order in which it was written");
    let words = &story.story[3].words;
    assert!(words.contains("the clock was set back") && words.contains("2026-02-03 13:00:00"), "{words}");
    assert!(story.last_undoable().is_none_or(|(seq, _)| seq != 4), "nobody did it, so nobody undoes it");
    drop(store);
    assert_eq!(intact(&path), 9);
}

#[test]
fn what_comes_late_keeps_the_time_at_which_it_was_entered_and_says_so() {
    let folder = folder();
    let path = folder.path().join("journal.db");
    let mut store = Store::open(&path).unwrap();
    let now = noon() + TimeDelta::minutes(18);
    let late = Stamp { id: "late".into(), entered: noon(), now };
    let appended = store.append(&late, Some(&case()), &[Fact::CaseBegun, fact(1)]).unwrap();
    let told: Vec<_> = appended.entries.iter().map(|e| (e.fact.what(), e.at)).collect();
    assert_eq!(told, [("held-back", now), ("case-begun", noon()), ("signed-off", noon())]);
    // The next one is no jump of the clock, though a later time stands before.
    let next = Stamp::new("next", now);
    assert_eq!(store.append(&next, Some(&case()), &[fact(2)]).unwrap().entries.len(), 1);
    // A clock set back while it waited is seen all the same.
    let back = Stamp { id: "back".into(), entered: now, now: noon() };
    let told: Vec<_> = store.append(&back, Some(&case()), &[fact(3)]).unwrap().entries;
    assert_eq!(told[0].fact.what(), "clock-went-back");
    assert!(store.append(&late, Some(&case()), &[Fact::CaseBegun, fact(1)]).unwrap().already);
    let case = boxcall::case::Case::fold(&store.case_entries(&case()).unwrap()).unwrap();
    assert_eq!(case.begun, noon(), "when it began, not when it was saved");
    assert!(case.story[0].words.contains("entered at 2026-02-03 12:00:00"), "{}", case.story[0].words);
    drop(store);
    intact(&path);
}

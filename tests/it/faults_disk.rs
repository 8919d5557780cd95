//! The disk refuses, at each point of each thing that is written into the journal: nothing is there by half, the
//! error says what to do, and when there is room again the same command is written once.

use crate::faulty::{self, Plan, intact};
use boxcall::journal::{CaseCode, Fact};
use boxcall::store::{Appended, Stamp, Store, StoreError};
use chrono::{DateTime, FixedOffset};
use std::path::{Path, PathBuf};

fn noon() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00").unwrap()
}

fn stamp(id: &str) -> Stamp {
    Stamp::new(id, noon())
}

/// One fact of about so many bytes.
fn long(bytes: usize) -> Fact {
    Fact::SignedOff { unsettled: 1, why: Some("heather ".repeat(bytes / 8)) }
}

fn append(store: &mut Store, id: &str, facts: &[Fact]) -> Result<Appended, StoreError> {
    store.append(&stamp(id), CaseCode::parse("ACDEF").as_ref(), facts)
}

/// A journal of ten entries, closed.
fn written(path: &Path) {
    let mut store = Store::open(path).unwrap();
    for n in 0..10 {
        append(&mut store, &format!("before-{n}"), &[long(200)]).unwrap();
    }
}

/// Runs something against a disk that is full from each of its points on, and against one on which each of its
/// points alone fails. `ran` is true when it said that it was done.
fn at_every_point(
    what: &str,
    prepare: &dyn Fn(&Path),
    run: &dyn Fn(&Path) -> Result<(), StoreError>,
    check: &dyn Fn(&Path, bool),
) -> u64 {
    let model = faulty::folder();
    prepare(&model.path().join("journal.db"));
    let fresh = || {
        let folder = faulty::folder();
        for file in std::fs::read_dir(model.path()).unwrap() {
            let file = file.unwrap();
            std::fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
        }
        let path = folder.path().join("journal.db");
        (folder, path)
    };
    let (_folder, path) = fresh();
    faulty::plan(Plan::Works);
    run(&path).unwrap();
    let points = faulty::works_again();
    check(&path, true);
    let mut refused = 0;
    for plan in (1..=points).flat_map(|n| [Plan::FullFrom(n), Plan::FailsAt(n)]) {
        let (_folder, path) = fresh();
        faulty::plan(plan);
        let result = run(&path);
        faulty::works_again();
        if let Err(error) = &result {
            refused += 1;
            let words = error.to_string();
            assert!(!error.is_fault(), "{what}, {plan:?}: nothing is wrong with what was asked: {words}");
            assert!(
                ["Make room", "Check that", "try again"].iter().any(|advice| words.contains(advice)),
                "{what}, {plan:?}: it says what to do: {words}"
            );
            assert!(words.contains(path.parent().unwrap().to_str().unwrap()), "{what}: and where: {words}");
        }
        check(&path, result.is_ok());
    }
    assert!(points >= 2 && refused >= points / 2, "{what}: {points} points, {refused} refusals");
    points
}

#[test]
fn a_journal_is_made_whole_or_made_again() {
    at_every_point("a new journal", &|_| {}, &|path| Store::open(path).map(drop), &|path, _| {
        let mut store = Store::open(path).unwrap();
        append(&mut store, "first", &[Fact::CaseBegun]).unwrap();
        drop(store);
        assert_eq!(intact(path), 1);
    });
}

/// What is appended is there whole or not at all; again under its id it is there once.
fn append_at_every_point(what: &str, facts: &[Fact], count: u64, prepare: &dyn Fn(&Path)) -> u64 {
    let run = |path: &Path| {
        let mut store = Store::open(path)?;
        append(&mut store, "attacked", facts).map(drop)
    };
    at_every_point(what, prepare, &run, &|path, ran| {
        let there = intact(path) - count;
        assert!(there == 0 || there == facts.len() as u64, "{what}: {there} of {} are there", facts.len());
        assert!(!ran || there > 0, "{what}: what was confirmed is there");
        let mut store = Store::open(path).unwrap();
        let again = append(&mut store, "attacked", facts).unwrap();
        assert_eq!(again.already, there > 0, "{what}: it is told whether it was there");
        assert_eq!(again.entries.len(), facts.len());
        assert_eq!(store.entries_after(0).unwrap().len() as u64, count + facts.len() as u64, "{what}");
        drop(store);
        intact(path);
    })
}

#[test]
fn an_entry_is_there_whole_or_not_at_all() {
    append_at_every_point("one entry", &[long(100)], 10, &written);
}

#[test]
fn a_command_of_many_pages_is_there_whole_or_not_at_all() {
    let facts = [Fact::CaseBegun, long(20_000), long(9_000)];
    let points = append_at_every_point("a stock list", &facts, 10, &written);
    assert!(points > 20, "one point a page: {points}");
}

#[test]
fn the_first_entry_of_a_journal_is_there_whole_or_not_at_all() {
    append_at_every_point("the first entry", &[Fact::CaseBegun], 0, &|path| drop(Store::open(path).unwrap()));
}

#[test]
fn a_backup_is_whole_or_taken_away() {
    let copy = |path: &Path| -> PathBuf { path.with_file_name("copy.db") };
    let run = |path: &Path| Store::open_read_only(path)?.backup(&copy(path));
    at_every_point("a backup", &written, &run, &|path, ran| {
        assert_eq!(intact(path), 10, "the journal is as it was");
        assert!(ran == copy(path).exists() || !ran, "what is there was confirmed");
        if ran {
            assert_eq!(intact(&copy(path)), 10);
        } else {
            assert!(!copy(path).exists(), "half a copy is no copy");
            Store::open_read_only(path).unwrap().backup(&copy(path)).unwrap();
        }
    });
}

/// Deletes an open journal of eleven entries, and puts it back under this plan; how many points that had.
fn deleted_and_put_back(plan: Plan) -> u64 {
    let folder = faulty::folder();
    let path = folder.path().join("journal.db");
    written(&path);
    let mut store = Store::open(&path).unwrap();
    append(&mut store, "held", &[long(100)]).unwrap();
    for suffix in ["", "-wal", "-shm"] {
        std::fs::remove_file(folder.path().join(format!("journal.db{suffix}"))).unwrap();
    }
    faulty::plan(plan);
    let result = store.put_back();
    let points = faulty::works_again();
    match (plan, result) {
        (Plan::Works, result) => assert_eq!(result, Ok(true)),
        (_, Err(error)) => assert!(!error.is_fault(), "{error}"),
        (..) => {}
    }
    // Whatever came of it: when there is room, everything is there.
    store.put_back().unwrap();
    append(&mut store, "after", &[Fact::CaseBegun]).unwrap();
    assert_eq!(store.entries_after(0).unwrap().len(), 12);
    drop(store);
    assert_eq!(intact(&path), 12, "{plan:?}");
    let left = std::fs::read_dir(folder.path()).unwrap().map(|file| file.unwrap().file_name());
    let left: Vec<_> = left.filter(|name| name.to_string_lossy().contains("back")).collect();
    assert!(left.is_empty(), "{plan:?}: {left:?}");
    points
}

#[test]
fn a_journal_that_was_deleted_is_put_back_whole_or_held_on_to() {
    let points = deleted_and_put_back(Plan::Works);
    assert!(points > 5, "{points}");
    for n in 1..=points {
        deleted_and_put_back(Plan::FullFrom(n));
        deleted_and_put_back(Plan::FailsAt(n));
    }
}

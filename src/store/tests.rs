//! Attacks on a journal, and what is left of it. The list of attacks is that of the measured facts: updates and
//! deletes in every spelling, and the ways by which `OR REPLACE` passes by guards on them.

#![allow(
    clippy::cast_sign_loss,
    reason = "SQLite's INTEGER has a sign, a number of entries has none and is far below 2^63"
)]

use super::*;
use crate::journal::{CaseCode, Entry, Fact, chain};
use chrono::{DateTime, FixedOffset};
use std::path::{Path, PathBuf};
use tempfile::TempDir;

fn place() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.db");
    (folder, path)
}

fn noon() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00").unwrap()
}

fn case(code: &str) -> CaseCode {
    CaseCode::parse(code).unwrap()
}

fn signed(why: &str) -> Fact {
    Fact::SignedOff { unsettled: 1, why: Some(why.into()) }
}

/// Five entries: one of the room, three of a case in two commands, one of another case.
fn filled(path: &Path) -> Store {
    let mut store = Store::open(path).unwrap();
    let recall = Fact::LotRecalled { di: None, lot: "L7".into() };
    store.append(&Stamp::new("a", noon()), None, &[recall]).unwrap();
    store
        .append(&Stamp::new("b", noon()), Some(&case("ACDEF")), &[Fact::CaseBegun, signed("heather")])
        .unwrap();
    store.append(&Stamp::new("c", noon()), Some(&case("ACDEF")), &[signed("bracken")]).unwrap();
    store.append(&Stamp::new("d", noon()), Some(&case("GHJKM")), &[Fact::CaseBegun]).unwrap();
    store
}

fn verify(store: &Store) -> Result<Verified, Broken> {
    store.verify(&mut |_| {})
}

/// A connection as any other program would make it.
fn stranger(path: &Path) -> Connection {
    Connection::open(path).unwrap()
}

fn seqs(entries: &[Entry]) -> Vec<u64> {
    entries.iter().map(|entry| entry.seq).collect()
}

#[test]
fn what_is_appended_is_read_back() {
    let (_folder, path) = place();
    let store = filled(&path);
    let all = store.entries_after(0).unwrap();
    assert_eq!(seqs(&all), [1, 2, 3, 4, 5]);
    assert_eq!(all[2].fact, signed("heather"));
    assert_eq!(all[2].at.to_rfc3339(), "2026-02-03T12:00:00+01:00");
    assert_eq!(seqs(&store.entries_after(4).unwrap()), [5]);
    assert_eq!(seqs(&store.entries_after(u64::MAX).unwrap()), [0u64; 0]);
    assert_eq!(seqs(&store.case_entries(&case("ACDEF")).unwrap()), [2, 3, 4]);
    assert_eq!(seqs(&store.case_entries(&case("TTTTT")).unwrap()), [0u64; 0]);
    assert_eq!(seqs(&store.room_entries().unwrap()), [1]);
    assert_eq!(all.iter().map(|entry| entry.command.as_str()).collect::<Vec<_>>(), ["a", "b", "b", "c", "d"]);
    assert_eq!(store.last_seq(), Ok(5));
    assert_eq!(store.case_codes(), Ok(vec![(case("ACDEF"), 2, 4), (case("GHJKM"), 5, 5)]));
    drop(store);
    let again = Store::open(&path).unwrap();
    assert_eq!(again.entries_after(0).unwrap(), all);
    let mut told = Vec::new();
    let verified = again.verify(&mut |held| told.push(held)).unwrap();
    assert_eq!((verified.entries, told), (5, vec![5]));
    assert_eq!(again.head(), Ok((5, verified.head)));
}

#[test]
fn an_empty_journal_holds() {
    let (_folder, path) = place();
    let store = Store::open(&path).unwrap();
    assert_eq!(verify(&store), Ok(Verified { entries: 0, head: chain::GENESIS }));
    assert_eq!((store.last_seq(), store.entries_after(0)), (Ok(0), Ok(Vec::new())));
}

#[test]
fn a_journal_longer_than_a_batch_holds() {
    let (_folder, path) = place();
    let mut store = Store::open(&path).unwrap();
    let many = vec![Fact::CaseBegun; 1_001];
    store.append(&Stamp::new("many", noon()), None, &many).unwrap();
    store.append(&Stamp::new("more", noon()), None, &many).unwrap();
    let mut told = Vec::new();
    assert_eq!(store.verify(&mut |held| told.push(held)).unwrap().entries, 2_002);
    assert_eq!(told, [1_000, 2_000, 2_002]);
}

#[test]
fn the_same_command_again_writes_nothing() {
    let (_folder, path) = place();
    let mut store = filled(&path);
    let later = noon() + chrono::Duration::minutes(5);
    let again = store
        .append(&Stamp::new("b", later), Some(&case("ACDEF")), &[Fact::CaseBegun, signed("heather")])
        .unwrap();
    assert!(again.already);
    assert_eq!(seqs(&again.entries), [2, 3]);
    assert_eq!(again.entries[0].at, noon());
    assert_eq!(store.last_seq(), Ok(5));
}

#[test]
fn a_command_id_used_for_something_else_is_refused() {
    let (_folder, path) = place();
    let mut store = filled(&path);
    for (code, facts) in [
        ("ACDEF", vec![Fact::CaseBegun]),
        ("ACDEF", vec![Fact::CaseBegun, signed("bracken")]),
        ("GHJKM", vec![Fact::CaseBegun, signed("heather")]),
    ] {
        let error = store.append(&Stamp::new("b", noon()), Some(&case(code)), &facts).unwrap_err();
        assert!(matches!(error, StoreError::NotAppendable { .. }), "{error}");
    }
    assert_eq!(store.last_seq(), Ok(5));
}

#[test]
fn one_fact_that_can_not_be_kept_keeps_out_its_whole_command() {
    let (_folder, path) = place();
    let mut store = filled(&path);
    let label = crate::journal::BoxRead { price: Some(f64::NAN), ..Default::default() };
    let bad = Fact::BoxPutBack { item: 1, label, finding: crate::journal::Finding::NotSaid };
    let error = store.append(&Stamp::new("e", noon()), None, &[Fact::CaseBegun, bad]).unwrap_err();
    assert!(error.is_fault() && error.to_string().contains("NOT SAVED"), "{error}");
    assert_eq!(store.last_seq(), Ok(5));
    store.append(&Stamp::new("e", noon()), None, &[Fact::CaseBegun]).unwrap();
    assert_eq!(verify(&store).unwrap().entries, 6);
}

#[test]
fn every_attack_on_a_written_entry_is_refused() {
    let (_folder, path) = place();
    let store = filled(&path);
    let before = store.entries_after(0).unwrap();
    let (_, head) = store.head().unwrap();
    let head = hex::encode(head);
    let first: String = stranger(&path)
        .query_row("SELECT lower(hex(hash)) FROM journal WHERE seq = 1", [], |row| row.get(0))
        .unwrap();
    let fresh = "ee".repeat(32);
    let row = |verb: &str, seq: &str, command: &str, prev: &str, hash: &str| {
        format!(
            "{verb} INTO journal VALUES({seq}, 't', '{command}', 0, NULL, 'x', x'{prev}', x'{hash}', '{{}}')"
        )
    };
    let mut attacks = vec![
        "UPDATE journal SET body = '{}' WHERE seq = 1".to_string(),
        "UPDATE OR REPLACE journal SET seq = 9 WHERE seq = 1".into(),
        "UPDATE OR IGNORE journal SET hash = zeroblob(32)".into(),
        "DELETE FROM journal WHERE seq = 5".into(),
        "DELETE FROM journal".into(),
        "INSERT OR REPLACE INTO journal SELECT seq, at, command, part, case_code, what, prev, hash, 'z' FROM journal"
            .into(),
        format!(
            "{} ON CONFLICT(seq) DO UPDATE SET body = 'z'",
            row("INSERT", "5", "new", &head, &fresh)
        ),
    ];
    for verb in ["INSERT", "INSERT OR REPLACE", "REPLACE", "INSERT OR FAIL", "INSERT OR ROLLBACK"] {
        attacks.push(row(verb, "1", "new", &head, &fresh)); // a number that is taken
        attacks.push(row(verb, "6", "new", &head, &first)); // a hash that is taken
        attacks.push(row(verb, "6", "a", &head, &fresh)); // a command that is taken
        attacks.push(row(verb, "7", "new", &head, &fresh)); // a gap
        attacks.push(row(verb, "0", "new", &head, &fresh)); // before the first
        attacks.push(row(verb, "NULL", "new", &head, &fresh)); // no number
        attacks.push(row(verb, "6", "new", &first, &fresh)); // not after the last
        attacks.push(row(verb, "6", "new", &"00".repeat(32), &fresh)); // as if it were the first
        attacks.push(row(verb, "6", "new", &head, "ee")); // half a hash
    }
    for attack in &attacks {
        let stranger = stranger(&path);
        assert!(stranger.execute(attack, []).is_err(), "{attack}");
        assert_eq!(store.entries_after(0).as_ref(), Ok(&before), "{attack}");
    }
    // OR IGNORE is not an error for SQLite; all that counts is that nothing happens.
    let _ = stranger(&path).execute(&row("INSERT OR IGNORE", "1", "new", &head, &fresh), []);
    assert_eq!(store.entries_after(0), Ok(before));
    assert_eq!(verify(&store).unwrap().entries, 5);
    // The guards refuse those for what is wrong with them: without it the same row goes in.
    assert_eq!(stranger(&path).execute(&row("INSERT", "6", "new", &head, &fresh), []), Ok(1));
    // It is not an entry, and the chain says so.
    assert_eq!(verify(&store).unwrap_err().seq, 6);
}

#[test]
fn the_first_entry_follows_nothing() {
    let (_folder, path) = place();
    drop(Store::open(&path).unwrap());
    let row = |prev: &str| {
        format!(
            "INSERT INTO journal VALUES(1, 't', 'a', 0, NULL, 'x', x'{prev}', x'{}', '{{}}')",
            "ee".repeat(32)
        )
    };
    assert!(stranger(&path).execute(&row(&"11".repeat(32)), []).is_err());
    assert_eq!(stranger(&path).execute(&row(&"00".repeat(32)), []), Ok(1));
}

#[test]
fn every_changed_column_is_named() {
    for (change, word) in [
        ("body = replace(body, 'heather', 'feather')", "body"),
        ("at = '2026-02-03T12:00:01+01:00'", "\"at\""),
        ("command = 'z'", "\"command\""),
        ("case_code = 'GHJKM'", "\"case_code\""),
        ("case_code = NULL", "\"case_code\""),
        ("what = 'case-begun'", "\"what\""),
        ("part = 5", "part 5"),
        ("prev = zeroblob(32)", "follow"),
        ("hash = zeroblob(32)", "body"),
        ("seq = 9", "numbered"),
    ] {
        let (_folder, path) = place();
        drop(filled(&path));
        let stranger = stranger(&path);
        stranger.execute_batch("DROP TRIGGER journal_no_update").unwrap();
        stranger.execute(&format!("UPDATE journal SET {change} WHERE seq = 3"), []).unwrap();
        let error = Store::open(&path).unwrap_err();
        assert!(matches!(error, StoreError::Damaged { .. }), "a missing guard: {error}");
        let broken = verify(&Store::open_read_only(&path).unwrap()).unwrap_err();
        assert_eq!(broken.seq, 3, "{change}: {broken}");
        assert!(broken.message.contains(word), "{change}: {broken}");
    }
}

#[test]
fn a_flipped_byte_in_the_file_is_named() {
    let (_folder, path) = place();
    drop(filled(&path));
    let mut bytes = std::fs::read(&path).unwrap();
    let at = bytes.windows(7).position(|window| window == b"bracken").unwrap();
    bytes[at] ^= 1;
    std::fs::write(&path, bytes).unwrap();
    let store = Store::open(&path).unwrap();
    assert_eq!(verify(&store).unwrap_err().seq, 4);
    // Also one that leaves no text at all.
    drop(store);
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[at] = 0xff;
    std::fs::write(&path, bytes).unwrap();
    let store = Store::open(&path).unwrap();
    assert_eq!(verify(&store).unwrap_err().seq, 4);
    assert!(matches!(store.entries_after(0), Err(StoreError::Damaged { .. })));
}

#[test]
fn a_ruined_index_is_found_although_every_entry_holds() {
    let (_folder, path) = place();
    drop(filled(&path));
    let stranger = stranger(&path);
    let root: isize = stranger
        .query_row("SELECT rootpage FROM sqlite_schema WHERE name = 'journal_by_case'", [], |row| row.get(0))
        .unwrap();
    let page: isize = stranger.query_row("PRAGMA page_size", [], |row| row.get(0)).unwrap();
    drop(stranger);
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[((root - 1) * page) as usize..(root * page) as usize].fill(0xa5);
    std::fs::write(&path, bytes).unwrap();
    let broken = verify(&Store::open_read_only(&path).unwrap()).unwrap_err();
    assert_eq!(broken.seq, 0, "{broken}");
}

/// Each part by itself: a trigger that ignores what is inserted lets a program say "written" of nothing.
#[test]
fn every_part_that_is_missing_changed_or_foreign_is_named() {
    let foreign = [
        "CREATE TRIGGER quiet BEFORE INSERT ON journal BEGIN SELECT RAISE(IGNORE); END",
        "CREATE VIEW cases AS SELECT case_code FROM journal",
        "CREATE TABLE notes(text TEXT)",
        "CREATE INDEX by_what ON journal(what)",
    ];
    let dropped = ["journal_by_case", "journal_no_update", "journal_no_delete", "journal_insert"];
    let drop_it = |name: &str| {
        let kind = if name == "journal_by_case" { "INDEX" } else { "TRIGGER" };
        format!("DROP {kind} {name}")
    };
    let weak = "DROP TRIGGER journal_no_update;
                CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal BEGIN SELECT 1; END";
    let changes = foreign.iter().map(|sql| (sql.to_string(), sql.split([' ', '(']).nth(2).unwrap()));
    let changes = changes.chain(dropped.iter().map(|name| (drop_it(name), *name)));
    for (change, name) in changes.chain([(weak.to_string(), "journal_no_update")]) {
        let (_folder, path) = place();
        drop(filled(&path));
        rusqlite::Connection::open(&path).unwrap().execute_batch(&change).unwrap();
        let broken = verify(&Store::open_read_only(&path).unwrap()).unwrap_err();
        assert!(broken.seq == 0 && broken.message.contains(name), "{change}: {broken}");
        assert!(matches!(Store::open(&path), Err(StoreError::Damaged { .. })), "{change}: not written to");
    }
}

/// A trigger of another program that comes while the journal is open: nothing is called written.
#[test]
fn what_does_not_read_back_is_not_called_written() {
    for quiet in [
        "BEFORE INSERT ON journal BEGIN SELECT RAISE(IGNORE); END",
        "BEFORE INSERT ON journal WHEN NEW.part = 1 BEGIN SELECT RAISE(IGNORE); END",
        "AFTER INSERT ON journal BEGIN DELETE FROM journal WHERE seq = NEW.seq; END",
        "AFTER INSERT ON journal BEGIN UPDATE journal SET body = replace(body, 'sedge', 'hedge'); END",
    ] {
        let (_folder, path) = place();
        let mut store = filled(&path);
        let before = store.head().unwrap();
        let stranger = rusqlite::Connection::open(&path).unwrap();
        let guards = "DROP TRIGGER journal_no_update; DROP TRIGGER journal_no_delete";
        stranger.execute_batch(&format!("{guards}; CREATE TRIGGER quiet {quiet}")).unwrap();
        let written = store.append(&Stamp::new("e", noon()), None, &[signed("sedge"), signed("sedge")]);
        assert!(written.is_err(), "{quiet}");
        assert_eq!(store.head().unwrap(), before, "{quiet}: all of it or nothing");
    }
}

/// An index in which one row says something else, and one in which a row is missing: every page is sound.
#[test]
fn an_index_that_says_something_else_is_found() {
    for code in ["''ACDEF''", "''GHJKM''"] {
        let (_folder, path) = place();
        drop(filled(&path));
        let stranger = stranger(&path);
        stranger
            .execute_batch(&format!(
                "PRAGMA writable_schema = ON;
                 UPDATE sqlite_schema SET sql = 'CREATE INDEX journal_by_case ON journal(case_code, seq) WHERE case_code <> {code}'
                  WHERE name = 'journal_by_case'"
            ))
            .unwrap();
        drop(stranger);
        let other = rusqlite::Connection::open(&path).unwrap();
        other.execute_batch("REINDEX journal_by_case").unwrap();
        other
            .execute_batch(&format!(
                "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = '{}' WHERE name = 'journal_by_case'",
                schema::OBJECTS[1].1
            ))
            .unwrap();
        drop(other);
        let broken = verify(&Store::open_read_only(&path).unwrap()).unwrap_err();
        assert!(broken.message.contains("journal_by_case"), "{code}: {broken}");
    }
}

#[test]
fn a_later_version_is_refused_and_left_as_it_was() {
    let (_folder, path) = place();
    drop(filled(&path));
    let later = stranger(&path);
    later.pragma_update(None, "user_version", 2).unwrap();
    // First with the new number still in the log, then with the number in the file.
    let log = path.with_extension("db-wal");
    let before = (std::fs::read(&path).unwrap(), std::fs::read(&log).unwrap());
    for result in [Store::open(&path), Store::open_read_only(&path)] {
        assert_eq!(result.unwrap_err(), StoreError::Newer { path: path.clone(), version: 2 });
    }
    assert_eq!((std::fs::read(&path).unwrap(), std::fs::read(&log).unwrap()), before);
    drop(later);
    let before = std::fs::read(&path).unwrap();
    for result in [Store::open(&path), Store::open_read_only(&path)] {
        assert_eq!(result.unwrap_err(), StoreError::Newer { path: path.clone(), version: 2 });
    }
    assert_eq!(std::fs::read(&path).unwrap(), before);
    assert_eq!(std::fs::read_dir(path.parent().unwrap()).unwrap().count(), 1, "nothing was left beside it");
}

#[test]
fn what_is_not_ours_is_refused_and_left_as_it_was() {
    let (_folder, path) = place();
    let other = stranger(&path);
    other.execute_batch("CREATE TABLE herons(n)").unwrap();
    drop(other);
    let database = std::fs::read(&path).unwrap();
    for bytes in [&database[..], b"sizes,3.00x29\n", &[0xa5; 4096], &database[..60]] {
        std::fs::write(&path, bytes).unwrap();
        for result in [Store::open(&path), Store::open_read_only(&path)] {
            let error = result.unwrap_err();
            assert!(matches!(error, StoreError::NotAJournal { .. }) && error.is_fault(), "{error}");
        }
        assert_eq!(std::fs::read(&path).unwrap(), bytes);
    }
    let error = Store::open(path.parent().unwrap()).unwrap_err();
    assert!(matches!(error, StoreError::NotAJournal { .. }), "{error}");
}

#[test]
fn half_a_file_is_damaged() {
    let (_folder, path) = place();
    drop(filled(&path));
    let bytes = std::fs::read(&path).unwrap();
    std::fs::write(&path, &bytes[..bytes.len() / 2]).unwrap();
    let result = Store::open(&path)
        .map_err(|error| error.to_string())
        .and_then(|store| verify(&store).map(|_| ()).map_err(|broken| broken.to_string()));
    assert!(result.is_err());
}

#[test]
fn a_place_where_nothing_can_be_is_no_fault_of_the_file() {
    let (folder, path) = place();
    let error = Store::open(&folder.path().join("nowhere/journal.db")).unwrap_err();
    assert!(matches!(error, StoreError::CannotWrite { .. }) && !error.is_fault(), "{error}");
    let error = Store::open_read_only(&path).unwrap_err();
    assert!(matches!(error, StoreError::Absent { .. }) && !error.is_fault(), "{error}");
    assert!(!path.exists());
}

#[test]
fn a_maker_killed_before_the_first_commit_leaves_no_harm() {
    let (_folder, path) = place();
    std::fs::write(&path, b"").unwrap();
    assert!(matches!(Store::open_read_only(&path), Err(StoreError::Absent { .. })));
    drop(Store::open(&path).unwrap());
    std::fs::remove_file(&path).unwrap();
    // Killed after the switch to the log and before the tables.
    stranger(&path).query_row("PRAGMA journal_mode = WAL", [], |_| Ok(())).unwrap();
    assert!(std::fs::metadata(&path).unwrap().len() > 0);
    let mut store = Store::open(&path).unwrap();
    store.append(&Stamp::new("a", noon()), None, &[Fact::CaseBegun]).unwrap();
    assert_eq!(verify(&store).unwrap().entries, 1);
}

#[test]
fn each_commit_is_synced() {
    let (_folder, path) = place();
    let store = Store::open(&path).unwrap();
    let ask = |pragma: &str| -> String {
        store
            .connection
            .query_row(pragma, [], |row| row.get::<_, rusqlite::types::Value>(0))
            .map(|v| format!("{v:?}"))
            .unwrap()
    };
    assert_eq!(ask("PRAGMA journal_mode"), "Text(\"wal\")");
    assert_eq!(ask("PRAGMA synchronous"), "Integer(2)");
}

#[cfg(unix)]
#[test]
fn only_the_owner_can_read_it() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, path) = place();
    let store = filled(&path);
    store.backup(&folder.path().join("copy.db")).unwrap();
    for name in ["journal.db", "journal.db-wal", "journal.db-shm", "copy.db"] {
        let mode = std::fs::metadata(folder.path().join(name)).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600, "{name}");
    }
}

#[test]
fn a_second_program_sees_what_the_first_wrote_and_can_not_write() {
    let (_folder, path) = place();
    let mut store = filled(&path);
    let mut monitor = Store::open_read_only(&path).unwrap();
    assert!(!monitor.changed());
    store.append(&Stamp::new("e", noon()), None, &[Fact::CaseBegun]).unwrap();
    assert!(monitor.changed());
    assert!(!monitor.changed());
    assert!(!store.changed(), "own writes do not count");
    assert_eq!(seqs(&monitor.entries_after(5).unwrap()), [6]);
    let error = monitor.append(&Stamp::new("f", noon()), None, &[Fact::CaseBegun]).unwrap_err();
    assert!(matches!(error, StoreError::CannotWrite { .. }) && !error.is_fault(), "{error}");
    assert_eq!(store.last_seq(), Ok(6));
}

#[test]
fn a_journal_held_by_another_program_says_so() {
    let (_folder, path) = place();
    let mut store = filled(&path);
    store.connection.busy_timeout(std::time::Duration::ZERO).unwrap();
    let holder = stranger(&path);
    holder.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = store.append(&Stamp::new("e", noon()), None, &[Fact::CaseBegun]).unwrap_err();
    assert!(matches!(error, StoreError::Locked { .. }) && !error.is_fault(), "{error}");
    holder.execute_batch("ROLLBACK").unwrap();
    store.append(&Stamp::new("e", noon()), None, &[Fact::CaseBegun]).unwrap();
}

#[test]
fn a_backup_is_one_file_that_holds() {
    let (folder, path) = place();
    let mut store = filled(&path);
    let to = folder.path().join("copy.db");
    store.backup(&to).unwrap();
    assert!(!folder.path().join("copy.db-wal").exists());
    let copy = Store::open_read_only(&to).unwrap();
    assert_eq!(verify(&copy), verify(&store));
    assert_eq!(copy.entries_after(0), store.entries_after(0));
    // One that is there is not touched.
    store.append(&Stamp::new("e", noon()), None, &[Fact::CaseBegun]).unwrap();
    let bytes = std::fs::read(&to).unwrap();
    assert!(matches!(store.backup(&to), Err(StoreError::Exists { .. })));
    assert_eq!(std::fs::read(&to).unwrap(), bytes);
    // And work goes on with it.
    drop(copy);
    let mut copy = Store::open(&to).unwrap();
    copy.append(&Stamp::new("f", noon()), None, &[Fact::CaseBegun]).unwrap();
    assert_eq!(verify(&copy).unwrap().entries, 6);
}

#[test]
fn a_broken_journal_makes_no_backup() {
    let (folder, path) = place();
    drop(filled(&path));
    let stranger = stranger(&path);
    stranger
        .execute_batch("DROP TRIGGER journal_no_update; UPDATE journal SET what = 'x' WHERE seq = 2")
        .unwrap();
    let to = folder.path().join("copy.db");
    let error = Store::open_read_only(&path).unwrap().backup(&to).unwrap_err();
    assert!(error.to_string().contains("entry 2"), "{error}");
    assert!(!to.exists());
}

/// A journal long enough to be checked by several threads at once.
fn long(path: &Path) -> u64 {
    let mut store = Store::open(path).unwrap();
    let facts = vec![signed("heather"); 1_000];
    for n in 0..45 {
        store.append(&Stamp::new(format!("c{n}"), noon()), Some(&case("ACDEF")), &facts).unwrap();
    }
    store.last_seq().unwrap()
}

/// Whatever is changed, and wherever the parts meet that are checked side by side: the first entry that does not hold is
/// named, as it is when they are checked one after the other.
#[test]
fn a_long_journal_names_the_first_entry_that_does_not_hold() {
    let (_folder, path) = place();
    let last = long(&path);
    let verified = verify(&Store::open_read_only(&path).unwrap()).unwrap();
    assert_eq!((verified.entries, verified.head), Store::open_read_only(&path).unwrap().head().unwrap());
    let stranger = stranger(&path);
    stranger.execute_batch("DROP TRIGGER journal_no_update; DROP TRIGGER journal_no_delete").unwrap();
    let body = "body = replace(body, 'heather', 'feather')";
    let half = last.div_ceil(2);
    // From the last to the first: each is named although those behind it are broken too.
    for (seq, change) in [
        (last, body),
        (half + 1, body),
        (half, "hash = randomblob(32)"),
        (20_001, "prev = zeroblob(32)"),
        (2, body),
    ] {
        stranger.execute(&format!("UPDATE journal SET {change} WHERE seq = {seq}"), []).unwrap();
        assert_eq!(verify(&Store::open_read_only(&path).unwrap()).unwrap_err().seq, seq, "{change}");
    }
    for seq in [half, half + 1, last] {
        let (_folder, path) = place();
        long(&path);
        let stranger = rusqlite::Connection::open(&path).unwrap();
        let guard = schema::OBJECTS.iter().find(|(name, _)| *name == "journal_no_delete").unwrap().1;
        stranger.execute_batch("DROP TRIGGER journal_no_delete").unwrap();
        stranger.execute(&format!("DELETE FROM journal WHERE seq = {seq}"), []).unwrap();
        stranger.execute_batch(guard).unwrap();
        let checked = verify(&Store::open_read_only(&path).unwrap());
        // A tail that is gone can't be seen by the chain alone.
        assert_eq!(
            checked.map(|held| held.entries).map_err(|broken| broken.seq),
            if seq == last { Ok(last - 1) } else { Err(seq) }
        );
    }
}

/// The mark makes a check short and never lets one pass that should not: what is before it is not said to hold, its
/// own entry is looked at, and a tail that was cut off is seen.
#[test]
fn from_the_mark_on_every_entry_is_checked_and_a_lost_tail_is_seen() {
    let (_folder, path) = place();
    let mut store = filled(&path);
    let held = verify(&store).unwrap();
    let mark = Mark { entries: 4, head: store.links(&case("ACDEF")).unwrap()[2].hash, whole: noon() };
    store.set_mark(&mark);
    assert_eq!(store.mark(), Some(mark));
    assert_eq!(store.verify_since(&mark), Ok(held));
    let whole = Mark { entries: held.entries, head: held.head, whole: noon() };
    assert_eq!(store.verify_since(&whole), Ok(held), "nothing new");
    store
        .append(&Stamp::new("e", noon()), Some(&case("GHJKM")), &[signed("sedge"), signed("sedge")])
        .unwrap();
    let longer = store.verify_since(&whole).unwrap();
    assert_eq!(longer.entries, 7);
    let stranger = stranger(&path);
    stranger.execute_batch("DROP TRIGGER journal_no_update; DROP TRIGGER journal_no_delete").unwrap();
    let change = |change: &str| stranger.execute(change, []).unwrap();
    change("UPDATE journal SET body = replace(body, 'sedge', 'hedge') WHERE seq = 7");
    assert_eq!(store.verify_since(&mark).unwrap_err().seq, 7);
    change("UPDATE journal SET body = replace(body, 'bracken', 'braeken') WHERE seq = 4");
    assert_eq!(store.verify_since(&mark).unwrap_err().seq, 4, "the entry at the mark");
    change("UPDATE journal SET body = replace(body, 'heather', 'feather') WHERE seq = 3");
    assert_eq!(verify(&store).unwrap_err().seq, 3, "a whole check does not begin at the mark");
    change("UPDATE journal SET hash = zeroblob(32) WHERE seq = 4");
    let other = store.verify_since(&mark).unwrap_err();
    assert!(other.seq == 4 && other.message.contains("not the entry that stood here"), "{other}");
    change("DELETE FROM journal WHERE seq > 3");
    let gone = store.verify_since(&mark).unwrap_err();
    assert!(gone.seq == 4 && gone.message.contains("1 entry that stood from here on is gone"), "{gone}");
    assert!(gone.message.contains("journal.mark"), "the way out is named: {gone}");
}

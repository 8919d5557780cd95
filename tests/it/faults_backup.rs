//! Copies of the journal that are made while it is written, and journals that earlier versions wrote.

use crate::faulty::{folder, intact};
use crate::program::{boxcall_on, json, words};
use boxcall::journal::{Entry, Fact};
use boxcall::room::{Room, files};
use boxcall::store::{Stamp, Store};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

const CHILD: &str = "BOXCALL_TEST_WRITES_ROOM";

fn write_and_say(room: &Path) {
    let mut room = Room::open(room).unwrap();
    let mut out = std::io::stdout().lock();
    loop {
        let fact = Fact::LotRecalled { di: None, lot: "heather".repeat(30) };
        let entries = room.write(None, &[fact.clone(), fact]).unwrap();
        writeln!(out, "wrote {}", entries[1].seq).unwrap();
        out.flush().unwrap();
    }
}

#[test]
fn a_backup_while_others_write_is_whole_and_goes_on_in_the_journals_place() {
    const NAME: &str =
        "faults_backup::a_backup_while_others_write_is_whole_and_goes_on_in_the_journals_place";
    const COPIES: usize = 12;
    if let Some(room) = std::env::var_os(CHILD) {
        return write_and_say(Path::new(&room));
    }
    let folder = folder();
    let room = folder.path().join("room");
    drop(Room::lay_empty(&room).unwrap());
    let mut children: Vec<_> = (0..2)
        .map(|_| {
            Command::new(std::env::current_exe().unwrap())
                .args([NAME, "--exact", "--nocapture"])
                .env(CHILD, &room)
                .stdout(Stdio::piped())
                .spawn()
                .unwrap()
        })
        .collect();
    let mut lines: Vec<_> =
        children.iter_mut().map(|child| BufReader::new(child.stdout.take().unwrap()).lines()).collect();
    let mut heard = 0;
    let mut last = 0;
    for n in 0..COPIES {
        // The copy has everything that was confirmed before it was asked for.
        for lines in &mut lines {
            let said =
                lines.map_while(Result::ok).find_map(|line| line.split("wrote ").nth(1)?.trim().parse().ok());
            heard = heard.max(said.expect("it goes on"));
        }
        let copy = folder.path().join(format!("copy-{n}.db"));
        let output = boxcall_on(&room, &["--json", "journal", "backup", copy.to_str().unwrap()]);
        assert!(output.status.success(), "{}", words(&output.stderr));
        let said = json(&output);
        let entries = intact(&copy);
        assert_eq!(said["entries"], entries);
        assert!(entries >= heard && entries.is_multiple_of(2), "{entries} of {heard}: whole commands");
        assert!(entries >= last, "later copies have no less");
        last = entries;
    }
    for child in &mut children {
        child.kill().unwrap();
        child.wait().unwrap();
    }
    intact(&room.join(files::JOURNAL));
    // The room is lost; a new one goes on with the last copy.
    std::fs::remove_dir_all(&room).unwrap();
    let mut again = Room::lay_empty(&room).unwrap();
    again.write(None, &[Fact::LotRecalled { di: None, lot: "of the new room".into() }]).unwrap();
    drop(again);
    for suffix in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(room.join(format!("{}{suffix}", files::JOURNAL)));
    }
    std::fs::copy(folder.path().join(format!("copy-{}.db", COPIES - 1)), room.join(files::JOURNAL)).unwrap();
    let mut again = Room::open(&room).unwrap();
    let next = again.write(None, &[Fact::LotRecalled { di: None, lot: "L2".into() }]).unwrap();
    assert_eq!(next[0].seq, last + 1);
    drop(again);
    assert_eq!(intact(&room.join(files::JOURNAL)), last + 1);
}

/// The files in `tests/data/journals` have the format of the version that they are named after, and hold the demo case;
/// the text beside each lists its bodies as they were stored. The bodies of v1 were written by that version and re-written
/// for the demo's present devices; `tests/reference/chain_of_bodies.py` made its rows and its chain of them.
#[test]
fn a_journal_of_every_version_so_far_is_read_whole_and_goes_on() {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/journals");
    let mut versions = Vec::new();
    for file in std::fs::read_dir(&kept).unwrap() {
        let path = file.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "db") {
            continue;
        }
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        versions.push(name.trim_start_matches('v').parse::<i64>().unwrap());
        let bodies = std::fs::read_to_string(path.with_extension("jsonl")).unwrap();
        let folder = folder();
        let copy = folder.path().join("journal.db");
        std::fs::write(&copy, std::fs::read(&path).unwrap()).unwrap();
        let before = intact(&copy);
        let mut store = Store::open(&copy).unwrap();
        let entries = store.entries_after(0).unwrap();
        assert_eq!(entries.len(), bodies.lines().count(), "{name}");
        for (entry, body) in entries.iter().zip(bodies.lines()) {
            assert_eq!(*entry, Entry::from_body(body).unwrap(), "{name}");
        }
        let case = entries.iter().find_map(|entry| entry.case.clone()).unwrap();
        let told = boxcall::case::Case::fold(&store.case_entries(&case).unwrap()).unwrap();
        assert!(
            told.orphans.is_empty() && told.opened().len() > 1 && told.signed.is_some(),
            "{name}: the case is whole"
        );
        let at = entries.last().unwrap().at;
        store
            .append(&Stamp::new("today", at), None, &[Fact::LotRecalled { di: None, lot: "L1".into() }])
            .unwrap();
        drop(store);
        assert_eq!(intact(&copy), before + 1, "{name}");
    }
    versions.sort_unstable();
    let current: i64 = {
        let folder = folder();
        let path = folder.path().join("journal.db");
        drop(Store::open(&path).unwrap());
        rusqlite::Connection::open(&path)
            .unwrap()
            .query_row("PRAGMA user_version", [], |row| row.get(0))
            .unwrap()
    };
    assert_eq!(versions, (1..=current).collect::<Vec<_>>(), "a file of every version, this one's too");
}

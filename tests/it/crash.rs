//! The journal on a disk that fills up by itself, and with two programs at once.
//!
//! Each test runs itself again as a child process: the same name, with `CHILD` set to the journal's path.

use boxcall::journal::{CaseCode, Fact};
use boxcall::store::{Stamp, Store, StoreError};
use chrono::{DateTime, FixedOffset};
use std::collections::HashMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

const CHILD: &str = "BOXCALL_TEST_JOURNAL";

fn child_path() -> Option<PathBuf> {
    std::env::var_os(CHILD).map(PathBuf::from)
}

fn child(test: &str, path: &Path) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([&format!("crash::{test}"), "--exact", "--nocapture", "--test-threads=1"])
        .env(CHILD, path)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap()
}

fn noon() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00").unwrap()
}

fn case() -> CaseCode {
    CaseCode::parse("ACDEF").unwrap()
}

/// One to three facts in one command, of changing length.
fn facts(n: usize) -> Vec<Fact> {
    let why = "x".repeat(n * 37 % 300);
    vec![Fact::SignedOff { unsettled: n as u32, why: Some(why) }; 1 + n % 3]
}

/// Appends until it is killed (or `times` times) and says each command that `append` has confirmed.
fn append_and_say(path: &Path, times: usize) {
    let mut store = Store::open(path).unwrap();
    let mut out = std::io::stdout().lock();
    for n in 0..times {
        let command = format!("{}-{}-{n}", std::process::id(), store.last_seq().unwrap());
        let entries = store.append(&Stamp::new(&command, noon()), Some(&case()), &facts(n)).unwrap().entries;
        writeln!(out, "ack {} {command} {} .", entries[0].seq, entries.len()).unwrap();
        out.flush().unwrap();
    }
}

/// First number, command and count of an acknowledgement; nothing for a line cut short by the kill.
fn ack(line: &str) -> Option<(u64, String, usize)> {
    let mut words = line[line.find("ack ")?..].split(' ').skip(1);
    let said = (words.next()?.parse().ok()?, words.next()?.to_string(), words.next()?.parse().ok()?);
    (words.next() == Some(".")).then_some(said)
}

/// Every acknowledged command is there, whole and in its place; no command is there in part.
fn check(path: &Path, acks: &[(u64, String, usize)]) -> u64 {
    let store = Store::open(path).unwrap();
    let verified = store.verify(&mut |_| {}).unwrap();
    let mut commands: HashMap<String, Vec<(u64, Fact)>> = HashMap::new();
    for entry in store.entries_after(0).unwrap() {
        commands.entry(entry.command).or_default().push((entry.seq, entry.fact));
    }
    for (seq, command, count) in acks {
        let there = commands.get(command).unwrap_or_else(|| panic!("{command} was acknowledged and is lost"));
        assert_eq!((there[0].0, there.len()), (*seq, *count), "{command}");
    }
    for (command, there) in commands {
        let n: usize = command.rsplit('-').next().unwrap().parse().unwrap();
        let there: Vec<Fact> = there.into_iter().map(|(_, fact)| fact).collect();
        assert_eq!(there, facts(n), "{command} is there in part");
    }
    verified.entries
}

#[test]
fn two_programs_at_once_keep_one_chain() {
    const TIMES: usize = 40;
    if let Some(path) = child_path() {
        return append_and_say(&path, TIMES);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.db");
    // There is no file yet: they also make it at once.
    let children = [0, 1].map(|_| child("two_programs_at_once_keep_one_chain", &path));
    let mut acks = Vec::new();
    for child in children {
        let output = child.wait_with_output().unwrap();
        assert!(output.status.success());
        acks.extend(String::from_utf8(output.stdout).unwrap().lines().filter_map(ack));
    }
    assert_eq!(acks.len(), 2 * TIMES);
    let each: usize = (0..TIMES).map(|n| facts(n).len()).sum();
    assert_eq!(check(&path, &acks), 2 * each as u64);
}

#[test]
fn a_full_disk_is_said_and_what_was_there_stays() {
    if let Some(path) = child_path() {
        return fill_the_disk(&path);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.db");
    let child = child("a_full_disk_is_said_and_what_was_there_stays", &path);
    assert!(child.wait_with_output().unwrap().status.success());
    let store = Store::open(&path).unwrap();
    assert_eq!(store.entries_after(0).unwrap().last().unwrap().command, "after");
    store.verify(&mut |_| {}).unwrap();
}

/// A limit on the size of files stands for the full disk: it needs no mount and no root.
fn fill_the_disk(path: &Path) {
    let limit = |bytes: libc::rlim_t| {
        let limit = libc::rlimit { rlim_cur: bytes, rlim_max: libc::RLIM_INFINITY };
        // SAFETY: both calls only read their arguments; this process runs this one test.
        unsafe {
            libc::signal(libc::SIGXFSZ, libc::SIG_IGN);
            assert_eq!(libc::setrlimit(libc::RLIMIT_FSIZE, &limit), 0);
        }
    };
    let mut store = Store::open(path).unwrap();
    limit(200_000);
    let mut saved = 0;
    let error = loop {
        match store.append(&Stamp::new(format!("n-{saved}"), noon()), None, &facts(saved)) {
            Ok(_) => saved += 1,
            Err(error) => break error,
        }
        assert!(saved < 10_000, "the limit was never reached");
    };
    assert!(matches!(error, StoreError::DiskFull { .. }) && !error.is_fault(), "{error}");
    assert!(error.to_string().contains("NOT SAVED"), "{error}");
    let expected: usize = (0..saved).map(|n| facts(n).len()).sum();
    assert!(saved > 0);
    assert_eq!(store.entries_after(0).unwrap().len(), expected);
    let refused = format!("n-{saved}");
    assert!(store.entries_after(0).unwrap().iter().all(|entry| entry.command != refused));
    limit(libc::RLIM_INFINITY);
    store.append(&Stamp::new("after", noon()), None, &[Fact::CaseBegun]).unwrap();
    assert_eq!(store.last_seq(), Ok(expected as u64 + 1));
}

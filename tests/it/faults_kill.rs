//! The program killed at any instant, a thousand times by chance and once at every point of a write: nothing that was
//! acknowledged is lost, no command is there by half or twice, the chain holds, and the case goes on.
//!
//! Each test runs itself again as a child process: the same name, with `CHILD` set to the room's folder. What kill -9
//! can't show (the system's own memory survives it) is that a commit is synced; the store reads that setting back
//! whenever it opens.

use crate::faulty::{self, Plan, folder, intact};
use boxcall::case::Case;
use boxcall::journal::{CaseCode, Entry, Fact, Readiness, Wanted};
use boxcall::room::{Room, files};
use boxcall::store::Stamp;
use boxcall::units::{Diameter, Length};
use std::collections::HashMap;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

const CHILD: &str = "BOXCALL_TEST_KILLED_ROOM";
const AT: &str = "BOXCALL_TEST_KILLED_AT";
const LANE: &str = "BOXCALL_TEST_KILLED_LANE";

/// How many children are killed by chance, how many at once, and how many of each lane before a whole look.
const KILLS: usize = 1_000;
const LANES: usize = 4;
const LOOK: usize = 25;

/// Commands that a child writes at most: with so many to go none ends by itself.
const ENDLESS: usize = 1_000_000;

fn child(test: &str, room: &Path, lane: usize, at: Option<u64>) -> Child {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args([&format!("faults_kill::{test}"), "--exact", "--nocapture", "--test-threads=1"])
        .env(CHILD, room)
        .env(LANE, lane.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    if let Some(at) = at {
        command.env(AT, at.to_string());
    }
    command.spawn().unwrap()
}

fn asked_of_a_child() -> Option<(PathBuf, usize, Option<u64>)> {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    Some((std::env::var_os(CHILD)?.into(), number(LANE).unwrap_or(0) as usize, number(AT)))
}

/// Each lane works on a case of its own.
fn case_of(lane: usize) -> CaseCode {
    CaseCode::from_random([lane as u8; 5])
}

/// What the case says next: it begins, then a call in each command, some with a measure of the length beside it.
fn next_facts(entries: &[Entry], case: &CaseCode) -> Vec<Fact> {
    let Some(case) = Case::fold(entries.iter().filter(|entry| entry.case.as_ref() == Some(case))) else {
        return vec![Fact::CaseBegun];
    };
    let call = case.next_call_number();
    let wanted = Wanted {
        product: Some("fell".into()),
        name: Some("heather".repeat(call as usize % 40)),
        diameter: Some(Diameter::from_mm(3.0)),
        length: Some(Length::from_mm(29.0)),
        ..Wanted::default()
    };
    let called =
        Fact::Called { call, lesion: Some(1), wanted, readiness: Readiness::Asked, verdict: None, why: None };
    match call % 3 {
        0 => vec![called, Fact::ReadinessChanged { call, readiness: Readiness::HaveReady }],
        _ => vec![called],
    }
}

/// Goes on with its case from what is on disk, and says each command that was confirmed: number of its first entry,
/// id, count.
fn go_on(room: &Path, lane: usize, times: usize) {
    let mut room = Room::open(room).unwrap();
    let case = case_of(lane);
    let mut entries = room.store().unwrap().case_entries(&case).unwrap();
    let mut out = std::io::stdout().lock();
    for _ in 0..times {
        let facts = next_facts(&entries, &case);
        let stamp = room.stamp();
        let appended = room.write_stamped(&stamp, Some(&case), &facts).unwrap();
        let own: Vec<&Entry> = appended.entries.iter().filter(|entry| entry.command == stamp.id).collect();
        writeln!(out, "ack {} {} {} .", own[0].seq, stamp.id, own.len()).unwrap();
        out.flush().unwrap();
        entries.extend(appended.entries);
    }
}

#[derive(Debug, Clone)]
struct Ack {
    seq: u64,
    command: String,
    count: usize,
}

/// Nothing for a line cut short by the kill.
fn ack(line: &str) -> Option<Ack> {
    let mut words = line[line.find("ack ")?..].split(' ').skip(1);
    let said = Ack {
        seq: words.next()?.parse().ok()?,
        command: words.next()?.to_string(),
        count: words.next()?.parse().ok()?,
    };
    (words.next() == Some(".")).then_some(said)
}

/// SQLite's check, the chain, every acknowledged command whole in its place, no command by half, and every case goes on.
fn look(room: &Path, acks: &[Ack]) {
    intact(&room.join(files::JOURNAL));
    let entries = Room::look(room).unwrap().journal().unwrap();
    let mut commands: HashMap<&str, Vec<&Entry>> = HashMap::new();
    for entry in &entries {
        commands.entry(&entry.command).or_default().push(entry);
    }
    for ack in acks {
        let there = commands.get(ack.command.as_str()).map(Vec::as_slice).unwrap_or_default();
        assert_eq!(there.len(), ack.count, "{} was acknowledged and is lost", ack.command);
        assert_eq!(there[0].seq, ack.seq, "{}", ack.command);
    }
    for lane in 0..LANES {
        let case = case_of(lane);
        let own: Vec<Entry> = entries.iter().filter(|e| e.case.as_ref() == Some(&case)).cloned().collect();
        // What a case says next follows from what it has said: a command by half, or twice, would show.
        let mut told = Vec::new();
        while told.len() < own.len() {
            let facts = next_facts(&told, &case);
            let from = told.len();
            let there: Vec<Fact> = own[from..].iter().take(facts.len()).map(|e| e.fact.clone()).collect();
            assert_eq!(there, facts, "case {case} from its entry {from} on");
            told.extend_from_slice(&own[from..from + facts.len()]);
        }
        assert!(Case::fold(&own).is_none_or(|case| case.orphans.is_empty()));
    }
}

fn laid() -> (tempfile::TempDir, PathBuf) {
    let folder = folder();
    let room = folder.path().join("room");
    drop(Room::lay_empty(&room).unwrap());
    (folder, room)
}

#[test]
fn killed_a_thousand_times_nothing_acknowledged_is_lost() {
    const NAME: &str = "killed_a_thousand_times_nothing_acknowledged_is_lost";
    if let Some((room, lane, _)) = asked_of_a_child() {
        return go_on(&room, lane, ENDLESS);
    }
    let seed = std::env::var("BOXCALL_TEST_SEED").ok().and_then(|text| text.parse().ok()).unwrap_or(952);
    println!("BOXCALL_TEST_SEED={seed} kills at the same words again");
    let lane_of = |room: &Path, lane: usize, acks: &mut Vec<Ack>| {
        let mut chance: u64 = seed + lane as u64;
        for _ in 0..LOOK {
            // Numbers of Knuth's generator MMIX.
            chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let mut child = child(NAME, room, lane, None);
            let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
            // The child is somewhere in its next commands when the word that is waited for is read, and spins on for a
            // moment of chance: that is the instant. In some rounds it is killed before its first word.
            let wait_for = (chance >> 33) % 8;
            let mut heard = 0;
            while heard < wait_for {
                let line = lines.next().expect("the child ended by itself").unwrap();
                if let Some(said) = ack(&line) {
                    acks.push(said);
                    heard += 1;
                }
            }
            (0..(chance >> 40) % 200_000).for_each(|n| _ = std::hint::black_box(n));
            child.kill().unwrap();
            child.wait().unwrap();
            acks.extend(lines.map_while(Result::ok).filter_map(|line| ack(&line)));
        }
    };
    // A room for each run of kills, so that no look reads ever more; four children write into it at once.
    let mut heard = 0;
    for _ in 0..KILLS / LANES / LOOK {
        let (_folder, room) = laid();
        let acks = std::thread::scope(|scope| {
            let room = &room;
            let lanes: Vec<_> = (0..LANES)
                .map(|lane| {
                    scope.spawn(move || {
                        let mut acks = Vec::new();
                        lane_of(room, lane, &mut acks);
                        acks
                    })
                })
                .collect();
            lanes.into_iter().flat_map(|lane| lane.join().unwrap()).collect::<Vec<Ack>>()
        });
        heard += acks.len();
        look(&room, &acks);
    }
    assert!(heard > KILLS, "the children were heard: {heard}");
}

/// A child that is killed in the middle of each write, sync, cut and deletion in turn, a write then half done: from
/// the making of the journal to its closing.
#[test]
fn killed_in_the_middle_of_every_write_nothing_acknowledged_is_lost() {
    const NAME: &str = "killed_in_the_middle_of_every_write_nothing_acknowledged_is_lost";
    const TIMES: usize = 3;
    if let Some((room, lane, at)) = asked_of_a_child() {
        faulty::plan(at.map_or(Plan::Works, Plan::KilledAt));
        go_on(&room, lane, TIMES);
        println!("points {}", faulty::works_again());
        return;
    }
    let (folder, room) = laid();
    std::fs::remove_file(room.join(files::JOURNAL)).unwrap();
    let model = folder.path().join("model");
    std::fs::rename(&room, &model).unwrap();
    let fresh = || {
        let _ = std::fs::remove_dir_all(&room);
        std::fs::create_dir(&room).unwrap();
        std::fs::create_dir(room.join(files::CATALOGUE)).unwrap();
        std::fs::copy(model.join(files::POLICY), room.join(files::POLICY)).unwrap();
    };
    let run = |at: Option<u64>| {
        let output = child(NAME, &room, 0, at).wait_with_output().unwrap();
        (output.status.success(), String::from_utf8(output.stdout).unwrap())
    };
    fresh();
    let (ended, said) = run(None);
    assert!(ended, "{said}");
    let points: u64 =
        said.lines().find_map(|line| line.split("points ").nth(1)?.trim().parse().ok()).unwrap();
    assert!(points > 20, "{points}");
    for at in 1..=points {
        fresh();
        let (ended, said) = run(Some(at));
        assert!(!ended, "killed at {at} of {points}: {said}");
        let acks: Vec<Ack> = said.lines().filter_map(ack).collect();
        // The room is opened again, the case goes on from where it was, and what was acknowledged is in it.
        go_on(&room, 0, 1);
        look(&room, &acks);
    }
}

/// Killed between the commit and its answer: the same command again is told, not doubled.
#[test]
fn what_was_committed_and_never_confirmed_is_told_and_not_doubled() {
    let (_folder, dir) = laid();
    let mut room = Room::open(&dir).unwrap();
    let case = case_of(0);
    let stamp = room.stamp();
    let facts = [Fact::CaseBegun];
    let first = room.write_stamped(&stamp, Some(&case), &facts).unwrap();
    assert!(!first.already);
    room.mark_shown(first.entries[0].seq);
    let second = Stamp { id: "second".into(), ..stamp.clone() };
    let facts2 = next_facts(&first.entries, &case);
    room.write_stamped(&second, Some(&case), &facts2).unwrap();
    // The answer is lost, and so is the program.
    drop(room);
    let mut room = Room::open(&dir).unwrap();
    assert_eq!(room.since_shown(), Some(boxcall::room::SinceShown::More(1)), "entry 2 was never shown");
    let later = Stamp { now: stamp.now + chrono::TimeDelta::minutes(10), ..second };
    let again = room.write_stamped(&later, Some(&case), &facts2).unwrap();
    assert!(again.already);
    assert_eq!((again.entries[0].seq, room.journal().unwrap().len()), (2, 2));
    assert_eq!(again.entries[0].at, stamp.entered, "and when it was written");
    // Other facts under the same id are never taken for it.
    assert!(room.write_stamped(&later, Some(&case), &[Fact::CallCancelled { call: 1 }]).is_err());
    room.mark_shown(2);
    assert_eq!(room.since_shown(), None);
    drop(room);
    intact(&dir.join(files::JOURNAL));
}

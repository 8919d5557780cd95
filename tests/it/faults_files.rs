//! Files other than the journal are never there by half: records, product files, protocol, a room that is laid, a file
//! of what is not saved. Killed at any instant, and with a disk that is full after so many bytes.

use crate::faulty::{folder, intact};
use boxcall::journal::{CaseCode, Fact};
use boxcall::room::{Kept, Room, TakenIn, files};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};

const CHILD: &str = "BOXCALL_TEST_WRITES_FILES";

/// Texts of one letter each, longer than any buffer on the way.
fn text(letter: char) -> String {
    std::iter::repeat_n(letter, 300_000).collect()
}

fn write_and_say(folder: &Path) {
    let mut out = std::io::stdout().lock();
    for letter in ('a'..='z').cycle() {
        files::write_whole(&folder.join("record.md"), &text(letter)).unwrap();
        files::replace(&[(folder.join("one.toml"), text(letter)), (folder.join("two.toml"), text(letter))])
            .unwrap();
        writeln!(out, "wrote {letter}").unwrap();
        out.flush().unwrap();
    }
}

#[test]
fn a_file_is_never_there_by_half_when_killed() {
    const KILLS: usize = 60;
    if let Some(folder) = std::env::var_os(CHILD) {
        return write_and_say(Path::new(&folder));
    }
    let folder = folder();
    let mut chance: u64 = 952;
    let mut letters = std::collections::BTreeSet::new();
    for _ in 0..KILLS {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["faults_files::a_file_is_never_there_by_half_when_killed", "--exact", "--nocapture"])
            .env(CHILD, folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let mut heard = 0;
        while heard < 1 + (chance >> 33) % 4 {
            let line = lines.next().expect("it goes on").unwrap();
            heard += u64::from(line.contains("wrote "));
        }
        (0..(chance >> 40) % 300_000).for_each(|n| _ = std::hint::black_box(n));
        child.kill().unwrap();
        child.wait().unwrap();
        for name in ["record.md", "one.toml", "two.toml"] {
            let there = std::fs::read_to_string(folder.path().join(name)).unwrap();
            let letter = there.chars().next().expect("it is not empty");
            assert!(there == text(letter), "{name} is there by half: {} bytes", there.len());
            letters.insert(letter);
        }
        // What a kill leaves beside is no product file.
        let products = files::products(folder.path()).unwrap();
        assert!(
            products.iter().all(|path| path.ends_with("one.toml") || path.ends_with("two.toml")),
            "{products:?}"
        );
    }
    assert!(letters.len() > 2, "{letters:?}");
}

/// The real program, its files limited to so many bytes each: the system then also sends the signal that ends a program
/// which does not take it.
#[cfg(unix)]
pub fn limited(bytes: Option<u64>, arguments: &[&str]) -> Output {
    run_limited(bytes, arguments, None)
}

/// The same, its standard output a file, as a shell makes one of `>`.
#[cfg(unix)]
pub fn limited_into(bytes: u64, file: &Path, arguments: &[&str]) -> Output {
    run_limited(Some(bytes), arguments, Some(std::fs::File::create(file).unwrap()))
}

#[cfg(unix)]
fn run_limited(bytes: Option<u64>, arguments: &[&str], into: Option<std::fs::File>) -> Output {
    use std::os::unix::process::CommandExt;
    let mut command = Command::new(env!("CARGO_BIN_EXE_boxcall"));
    command.args(arguments).stdin(Stdio::null());
    if let Some(file) = into {
        command.stdout(file);
    }
    if let Some(bytes) = bytes {
        let limit = libc::rlimit { rlim_cur: bytes, rlim_max: libc::RLIM_INFINITY };
        let set = move || {
            // SAFETY: reads its argument; allowed between fork and exec.
            match unsafe { libc::setrlimit(libc::RLIMIT_FSIZE, &limit) } {
                0 => Ok(()),
                _ => Err(std::io::Error::last_os_error()),
            }
        };
        // SAFETY: the closure allocates nothing and calls only what is allowed there.
        unsafe { command.pre_exec(set) };
    }
    command.output().unwrap()
}

/// Everything below a folder, with what is in it.
pub fn everything(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(&next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push((path.display().to_string(), std::fs::read(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

pub fn says_what_to_do(output: &Output, what: &str) {
    let words = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{what}: {words}");
    assert!(words.to_lowercase().contains("make room"), "{what}: {words}");
}

/// A file of each size in turn is the first that does not fit, the smallest first, the journal and its log at last.
#[cfg(unix)]
#[test]
fn a_room_is_laid_whole_or_laid_again() {
    let folder = folder();
    let model = folder.path().join("model");
    let path = model.to_str().unwrap();
    assert!(limited(None, &["demo", "--plain", "--room", path]).status.success());
    let mut sizes: Vec<u64> = everything(&model).iter().map(|(_, bytes)| bytes.len() as u64).collect();
    sizes.extend([1, 4_096, 8_192, 16_384, 24_576]);
    sizes.sort_unstable();
    sizes.dedup();
    let mut refused = 0;
    for size in sizes {
        let room = folder.path().join(format!("room-{size}"));
        let path = room.to_str().unwrap();
        let output = limited(Some(size - 1), &["demo", "--plain", "--room", path]);
        if output.status.success() {
            continue;
        }
        refused += 1;
        says_what_to_do(&output, &format!("{size} bytes"));
        if !Room::is_there(&room) {
            // Half a room is no room: it is laid from the start when there is space.
            let again = limited(None, &["demo", "--plain", "--room", path]);
            assert!(again.status.success(), "{size}: {}", String::from_utf8_lossy(&again.stderr));
        }
        let room = Room::open(&room).unwrap();
        assert!(room.is_demo() && room.shelf().unwrap().is_some(), "{size}");
        let products = |dir: &Path| files::products(&dir.join(files::CATALOGUE)).unwrap().len();
        assert_eq!(products(room.dir()), products(&model), "{size}");
        let journal = room.dir().join(files::JOURNAL);
        drop(room);
        intact(&journal);
    }
    assert!(refused > 8, "{refused}");
}

#[cfg(unix)]
#[test]
fn what_a_command_writes_is_there_whole_or_as_it_was() {
    let folder = folder();
    let room = folder.path().join("room");
    let path = room.to_str().unwrap();
    assert!(limited(None, &["demo", "--plain", "--room", path]).status.success());
    let stock = folder.path().join("stock.csv");
    let rows: String = (0..900).map(|n| format!("09521001275293,LOT{n},,2031-05-31,A{n},1\n")).collect();
    std::fs::write(&stock, format!("di,lot,serial,use_by,shelf,count\n{rows}")).unwrap();
    let out = folder.path().join("out");
    std::fs::create_dir(&out).unwrap();
    let to = |name: &str| out.join(name).to_str().unwrap().to_string();
    let (record, copy) = (to("record.json"), to("copy.db"));
    std::fs::write(&record, "what was there before\n").unwrap();
    let commands: [(&str, Vec<&str>); 3] = [
        ("export", vec!["case", "export", "--format", "json", "--to", &record]),
        ("backup", vec!["journal", "backup", &copy]),
        ("stock", vec!["stock", "load", stock.to_str().unwrap()]),
    ];
    for (what, command) in commands {
        let mut arguments = command.clone();
        arguments.extend(["--room", path]);
        let entries = Room::look(&room).unwrap().journal().unwrap().len();
        let (mut refused, mut done) = (0, false);
        for size in [0, 1, 100, 1_000, 4_096, 4_200, 8_300, 20_000, 60_000, 100_000] {
            let before = everything(&out);
            let output = limited(Some(size), &arguments);
            if output.status.success() {
                done = true;
                break;
            }
            refused += 1;
            says_what_to_do(&output, &format!("{what}, {size} bytes"));
            assert_eq!(everything(&out), before, "{what}, {size}: as it was");
            assert_eq!(Room::look(&room).unwrap().journal().unwrap().len(), entries, "{what}, {size}");
        }
        assert!(refused > 3, "{what}: {refused}");
        if !done {
            let output = limited(None, &arguments);
            assert!(output.status.success(), "{what}: {}", String::from_utf8_lossy(&output.stderr));
        }
    }
    assert!(serde_json::from_slice::<serde_json::Value>(&std::fs::read(&record).unwrap()).is_ok());
    intact(Path::new(&copy));
    intact(&room.join(files::JOURNAL));
}

/// Run as root, who may write everywhere, the program is started as a user who owns the room and nothing else.
#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_is_said_and_left_as_it_was() {
    use std::os::unix::fs::{PermissionsExt, chown};
    use std::os::unix::process::CommandExt;
    const NOBODY: u32 = 65_534;
    // SAFETY: asks and changes nothing.
    let root = unsafe { libc::geteuid() } == 0;
    let folder = folder();
    let room = folder.path().join("room");
    let path = room.to_str().unwrap();
    assert!(limited(None, &["demo", "--plain", "--room", path]).status.success());
    let mode = |path: &Path, bits: u32| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(bits)).unwrap();
    };
    mode(folder.path(), 0o755);
    // The program itself has to be within reach of whoever starts it.
    let program = folder.path().join("boxcall");
    std::fs::copy(env!("CARGO_BIN_EXE_boxcall"), &program).unwrap();
    mode(&program, 0o755);
    let all = |bits: u32| {
        for (file, _) in everything(&room) {
            if root {
                chown(&file, Some(NOBODY), Some(NOBODY)).unwrap();
            }
        }
        for folder in [room.join(files::CATALOGUE), room.join(files::RECORDS), room.clone()] {
            if root {
                chown(&folder, Some(NOBODY), Some(NOBODY)).unwrap();
            }
            mode(&folder, bits);
        }
    };
    let run = |arguments: &[&str]| {
        let mut command = Command::new(&program);
        command.args(arguments).args(["--room", path]).current_dir("/").stdin(Stdio::null());
        if root {
            command.uid(NOBODY).gid(NOBODY);
        }
        command.output().unwrap()
    };
    let stock = folder.path().join("stock.csv");
    std::fs::write(&stock, "di,lot,serial,use_by,shelf,count\n09521001275293,L1,,2031-05-31,A1,2\n").unwrap();
    mode(&stock, 0o644);
    let load = ["stock", "load", stock.to_str().unwrap()];
    all(0o555);
    let before = everything(&room);
    let output = run(&load);
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(3), "{words}");
    assert!(words.contains(path) && words.contains("Check that you may write"), "{words}");
    assert_eq!(everything(&room), before, "nothing was touched");
    all(0o755);
    let output = run(&load);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    intact(&room.join(files::JOURNAL));
}

/// What could not be saved is read by people, and taken in again once, strikes included.
#[test]
fn a_file_of_what_is_not_saved_is_taken_in_once_and_in_its_order() {
    let folder = folder();
    let mut room = Room::lay_empty(&folder.path().join("room")).unwrap();
    let case = CaseCode::parse("ACDEF").unwrap();
    let at = room.now() - chrono::TimeDelta::minutes(7);
    let kept = |id: &str, numbers: Vec<u64>, facts: Vec<Fact>| Kept {
        id: id.into(),
        entered: at,
        case: Some(case.clone()),
        numbers,
        words: facts.iter().map(boxcall::case::entry_words).collect(),
        facts,
    };
    let cancelled = Fact::CallCancelled { call: 1 };
    let commands = vec![
        kept("one", vec![1, 2], vec![Fact::CaseBegun, cancelled.clone()]),
        kept("two", vec![3], vec![Fact::StruckOut { entry: 2, why: "undone: call 1 cancelled".into() }]),
    ];
    let elsewhere = folder.path().join("stick");
    std::fs::create_dir(&elsewhere).unwrap();
    let file = room.write_rescue(Some(&elsewhere), commands.clone()).unwrap();
    let second = room.write_rescue(Some(&elsewhere), commands).unwrap();
    assert_ne!(file, second, "no file is written over");
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains("call 1 cancelled") && text.contains("boxcall journal take-in"), "{text}");
    // Meanwhile another screen has written: the numbers are others now.
    room.write(None, &[Fact::LotRecalled { di: None, lot: "L1".into() }]).unwrap();
    assert_eq!(room.take_in(&file), Ok(TakenIn { written: 3, already: 0 }));
    assert_eq!(room.take_in(&file), Ok(TakenIn { written: 0, already: 3 }));
    let entries = room.journal().unwrap();
    let cancelled = entries.iter().find(|entry| entry.fact == cancelled).unwrap().seq;
    let struck = entries.iter().find_map(|entry| match entry.fact {
        Fact::StruckOut { entry, .. } => Some(entry),
        _ => None,
    });
    assert_eq!(struck, Some(cancelled), "it meets its entry under the new number");
    assert_eq!(entries.iter().filter(|entry| entry.case.is_some() && entry.at == at).count(), 3);
    assert!(
        entries.iter().any(|entry| matches!(entry.fact, Fact::HeldBack { .. })),
        "that it came late is said"
    );
    // A place that takes nothing is said; so is a file of something else.
    assert!(room.write_rescue(Some(&elsewhere.join("not there")), Vec::new()).is_err());
    let stock = elsewhere.join("stock.csv");
    std::fs::write(&stock, "di,lot\n").unwrap();
    assert!(room.take_in(&stock).unwrap_err().message().contains("not a file of entries"));
    drop(room);
    intact(&folder.path().join("room").join(files::JOURNAL));
}

/// A link into a share that is not there: the product would be missing unseen.
#[test]
#[cfg(unix)]
fn a_product_file_that_leads_nowhere_is_said() {
    let folder = folder();
    let dir = folder.path().join("catalogue");
    std::fs::create_dir(&dir).unwrap();
    std::fs::create_dir(dir.join("old.toml")).unwrap();
    assert_eq!(
        files::products(&dir).unwrap(),
        Vec::<std::path::PathBuf>::new(),
        "folders are not looked into"
    );
    std::os::unix::fs::symlink(folder.path().join("nowhere.toml"), dir.join("fell.toml")).unwrap();
    let fault = files::products(&dir).unwrap_err();
    assert!(fault.to_string().contains("fell.toml"), "{fault}");
}

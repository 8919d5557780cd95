//! Takes each control against a hazard out, one at a time, and expects the test that is named beside it to fail:
//! `cargo test --features proving --test proving`.
//!
//! A test of its own is run for each, with the switch in its environment: programs that it starts have it too. That the
//! tests pass with every control in force is the ordinary run's to show.

#[allow(dead_code, reason = "what the printed table says")]
mod hazard_table;

use boxcall::control::{REACHED, TAKEN_OUT};
use hazard_table::HAZARDS;
use serde_json::Value;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
/// libtest's exit status where a test has failed.
const FAILED: i32 = 101;

/// One test program, and the names of its tests.
struct Program {
    file: PathBuf,
    tests: Vec<String>,
}

/// The programs of the library's own tests and of `tests/it`, as cargo has built them for this run.
fn programs() -> HashMap<String, Program> {
    let built = Command::new(env!("CARGO"))
        .args(["test", "--locked", "--features", "proving", "--no-run", "--message-format=json", "--quiet"])
        .current_dir(ROOT)
        .stderr(Stdio::inherit())
        .output()
        .expect("cargo runs");
    assert!(built.status.success(), "the tests are built");
    let messages = String::from_utf8(built.stdout).expect("cargo writes text");
    let programs = messages.lines().filter_map(|line| {
        let message: Value = serde_json::from_str(line).expect("cargo writes JSON");
        let file = PathBuf::from(message["executable"].as_str()?);
        let is_test = message["profile"]["test"] == true;
        let name = message["target"]["name"].as_str()?.to_string();
        let kind = message["target"]["kind"][0].as_str()?;
        let name = if kind == "lib" { "lib".to_string() } else { name };
        (is_test && (kind == "lib" || kind == "test") && name != "proving").then_some((name, file))
    });
    programs
        .map(|(name, file)| {
            let listed =
                Command::new(&file).arg("--list").current_dir(ROOT).output().expect("it lists its tests");
            let listed = String::from_utf8(listed.stdout).expect("names are text");
            let tests =
                listed.lines().filter_map(|line| line.strip_suffix(": test")).map(String::from).collect();
            (name, Program { file, tests })
        })
        .collect()
}

/// The modules of a source file: `fast` or `slow` for one in `tests/it`, which is in one of them.
fn found<'a>(programs: &'a HashMap<String, Program>, proof: &str) -> (&'a Program, &'a str) {
    let (file, test) = proof.split_once(' ').expect("a file and a test");
    let module = file.trim_end_matches(".rs").trim_end_matches("/mod").replace('/', "::");
    let (is_unit, module) = match module.strip_prefix("tests::it::") {
        Some(module) => (false, module),
        None => (true, module.strip_prefix("src::").expect("a file of src or tests/it")),
    };
    let mut places =
        programs.iter().filter(|(name, _)| (*name == "lib") == is_unit).flat_map(|(_, program)| {
            let is_it = move |name: &&String| {
                name.strip_prefix(module).is_some_and(|rest| rest.starts_with("::"))
                    && name.rsplit("::").next() == Some(test)
            };
            program.tests.iter().filter(is_it).map(move |name| (program, name.as_str()))
        });
    let first = places.next().unwrap_or_else(|| panic!("no test {test} in {file}"));
    assert!(places.next().is_none(), "{file} has two tests {test}");
    first
}

/// Why the test does not prove the control; none where it fails once the control is taken out.
fn unproved(control: &str, (program, test): (&Program, &str), folder: &Path) -> Option<String> {
    let reached = folder.join(control);
    let ran = Command::new(&program.file)
        .args([test, "--exact", "--test-threads=1"])
        .current_dir(ROOT)
        .env(TAKEN_OUT, control)
        .env(REACHED, &reached)
        // It is to fail: no seed of that is to be kept among the sources.
        .env("PROPTEST_DISABLE_FAILURE_PERSISTENCE", "1")
        .stdin(Stdio::null())
        .output()
        .expect("it runs");
    let said = String::from_utf8_lossy(&ran.stdout).into_owned();
    if !reached.exists() {
        return Some(format!("{control}: {test} never comes to it\n{said}"));
    }
    if ran.status.code() != Some(FAILED) || !said.contains(" 0 passed; 1 failed;") {
        return Some(format!("{control}: {test} does not notice that it is gone ({})\n{said}", ran.status));
    }
    None
}

#[test]
fn a_named_test_fails_for_every_control_that_is_taken_out() {
    let programs = programs();
    let cases: Vec<(&str, (&Program, &str))> = HAZARDS
        .iter()
        .flat_map(|hazard| hazard.proved)
        .map(|(control, proof)| (*control, found(&programs, proof)))
        .collect();
    let folder = tempfile::tempdir().expect("a folder");
    let (next, unproved_ones) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    // Several wait for what no longer happens: twice as many as there are cores.
    let lanes = 2 * std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..lanes {
            scope.spawn(|| {
                while let Some((control, test)) = cases.get(next.fetch_add(1, Ordering::Relaxed)) {
                    if let Some(why) = unproved(control, *test, folder.path()) {
                        unproved_ones.lock().expect("no lane panics").push(why);
                    }
                }
            });
        }
    });
    let failed = unproved_ones.into_inner().expect("no lane panics");
    assert!(failed.is_empty(), "{} of {}:\n{}", failed.len(), cases.len(), failed.join("\n"));
    println!("{} controls of {} hazards, each noticed by the test that is named", cases.len(), HAZARDS.len());
}

/// The switch can be found where it is: or its absence from the program that is handed out would prove nothing.
#[test]
fn a_program_that_is_built_to_prove_it_names_its_switch() {
    let program = std::fs::read(env!("CARGO_BIN_EXE_boxcall")).expect("it is built");
    assert!(memchr::memmem::find(&program, TAKEN_OUT.as_bytes()).is_some());
}

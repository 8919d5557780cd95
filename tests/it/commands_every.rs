//! What holds of every command, and of a room in which something is wrong: the real binary.

use crate::program::{boxcall_in, json, words};
use boxcall::deference::LONG;
use serde_json::Value;
use std::path::Path;

/// The demo, laid in a folder of this name, its case walked to the end.
fn laid(home: &Path) -> String {
    let room = home.join("room").display().to_string();
    let walked = boxcall_in(&["demo", "--plain", "--room", &room], home);
    assert_eq!(walked.status.code(), Some(0), "{}", words(&walked.stderr));
    room
}

/// Names of the commands that a help text lists.
fn listed(help: &str) -> Vec<String> {
    let after = help.lines().skip_while(|line| *line != "Commands:").skip(1);
    let rows = after.take_while(|line| !line.is_empty()).filter(|line| line.starts_with("  "));
    let names =
        rows.filter(|line| !line.starts_with("   ")).filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(String::from).collect()
}

// Common practice, no source: a command is learnt from an example.
#[test]
fn the_help_of_every_command_ends_with_an_example_that_names_it() {
    let home = tempfile::tempdir().expect("a folder");
    let mut asked = 0;
    let mut waiting: Vec<Vec<String>> = vec![Vec::new()];
    while let Some(path) = waiting.pop() {
        let mut arguments: Vec<&str> = path.iter().map(String::as_str).collect();
        arguments.push("--help");
        let output = boxcall_in(&arguments, home.path());
        assert_eq!(output.status.code(), Some(0), "{path:?}");
        let help = words(&output.stdout);
        let (_, example) =
            help.rsplit_once("Example:\n").unwrap_or_else(|| panic!("{path:?} has no example:\n{help}"));
        let call = format!("boxcall {}", path.join(" "));
        assert!(example.contains(call.trim_end()), "{path:?}: {example}");
        assert_eq!(help.trim_end().lines().last(), Some(LONG), "{path:?}: who decides");
        waiting.extend(listed(&help).into_iter().map(|name| [path.clone(), vec![name]].concat()));
        asked += 1;
    }
    assert!(asked > 15, "only {asked} commands were found");
}

#[test]
fn a_journal_that_was_changed_on_disk_is_a_clean_no_that_names_the_entry() {
    let home = tempfile::tempdir().expect("a folder");
    let room = laid(home.path());
    let held = json(&boxcall_in(&["journal", "check", "--room", &room, "--json"], home.path()));
    assert_eq!(held["holds"], true);
    assert_eq!(held["head"].as_str().map(str::len), Some(64));

    // The first entry is the stock's; one letter of where it came from is changed behind the journal's back.
    let file = Path::new(&room).join("journal.db");
    let mut bytes = std::fs::read(&file).expect("a journal");
    let (was, is) = (b"the demo's stock", b"the demo's stack");
    let places: Vec<usize> =
        (0..=bytes.len() - was.len()).filter(|&at| bytes[at..].starts_with(was)).collect();
    assert!(!places.is_empty(), "the stock's entry is in the file");
    // All of them: SQLite may leave an older copy of a row in the free part of a page.
    places.iter().for_each(|&at| bytes[at..at + is.len()].copy_from_slice(is));
    std::fs::write(&file, bytes).expect("written");

    let output = boxcall_in(&["journal", "check", "--room", &room, "--json"], home.path());
    assert_eq!(output.status.code(), Some(1), "{}", words(&output.stderr));
    let broken = json(&output);
    assert_eq!((&broken["holds"], &broken["entry"]), (&Value::from(false), &Value::from(1)), "{broken}");
    assert!(broken["message"].as_str().is_some_and(|why| !why.is_empty()), "{broken}");
}

#[test]
fn a_product_file_at_fault_stops_no_trace_and_no_check_of_the_journal() {
    let home = tempfile::tempdir().expect("a folder");
    let room = laid(home.path());
    let record = json(&boxcall_in(&["case", "show", "--room", &room, "--json"], home.path()));
    let boxes = record["boxes"].as_array().expect("boxes");
    let lot = boxes[0]["label"]["lot"].as_str().expect("a lot").to_string();
    std::fs::write(Path::new(&room).join("catalogue/zz.toml"), "schema = 1\n").expect("written");

    let run =
        |arguments: &[&str]| boxcall_in(&[arguments, &["--room", &room, "--json"]].concat(), home.path());
    let fit = run(&["fit", "--method", "oct", "--distal-eem", "3", "--length", "20"]);
    assert_eq!(fit.status.code(), Some(2));
    let message = json(&fit)["error"]["message"].as_str().expect("a message").to_string();
    assert!(message.lines().count() > 2 && message.contains("zz.toml:1: name"), "{message}");
    let traced = run(&["trace", "--lot", &lot]);
    assert_eq!(traced.status.code(), Some(0), "{}", words(&traced.stdout));
    assert_eq!(json(&traced)["boxes"][0]["lot"], lot.as_str());
    assert_eq!(run(&["journal", "check"]).status.code(), Some(0));
}

#[test]
fn the_demo_that_is_thrown_away_leaves_nothing_behind() {
    let home = tempfile::tempdir().expect("a folder");
    let left = || std::fs::read_dir(home.path()).expect("a folder").count();
    assert_eq!(boxcall_in(&["demo", "--plain"], home.path()).status.code(), Some(0));
    assert_eq!(left(), 0, "after the walk");
    // Standard output is no terminal here: the screens can't open, and the room was laid by then.
    let refused = boxcall_in(&["demo", "--json"], home.path());
    assert_eq!(refused.status.code(), Some(3));
    assert_eq!(json(&refused)["error"]["code"], "terminal");
    assert_eq!(left(), 0, "after the refusal");
}

//! What a hospital's support gets: `boxcall doctor`, and the log of the screens.

use crate::program::{boxcall_on, json, status, words};
use crate::pty::{LEAVE, Terminal, piece, scan};
use std::path::Path;

/// A demo room with one whole case.
fn demo(folder: &Path) -> String {
    let room = folder.join("room");
    assert_eq!(status(&boxcall_on(&room, &["demo", "--plain"])), 0);
    room.to_str().expect("a path").to_string()
}

#[test]
fn doctor_reports_what_is_there_and_names_what_is_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = demo(folder.path());
    let healthy = boxcall_on(&room, &["doctor", "--json"]);
    let report = json(&healthy);
    assert_eq!((status(&healthy), &report["problems"]), (0, &serde_json::json!([])));
    assert_eq!(report["boxcall"]["version"], env!("CARGO_PKG_VERSION"));
    assert_eq!((&report["room"]["is_demo"], &report["journal"]["holds"]), (&true.into(), &true.into()));
    assert!(report["room"]["boxes"].as_u64().is_some_and(|boxes| boxes > 100));

    std::fs::write(format!("{room}/policy.toml"), "schema = 1\nnonsense = 3\n").expect("it is written");
    let faulty = boxcall_on(&room, &["doctor"]);
    let text = words(&faulty.stdout);
    assert_eq!(status(&faulty), 0, "{text}");
    assert!(
        text.contains("PROBLEM") && text.contains("nonsense") && text.contains("policy good: no"),
        "{text}"
    );

    let nowhere = boxcall_on(folder.path().join("none"), &["doctor"]);
    assert_eq!(status(&nowhere), 0);
    assert!(words(&nowhere.stdout).contains("room      none in"));
}

#[test]
fn the_log_has_codes_and_timings_and_nothing_of_a_label_or_a_case() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = demo(folder.path());
    let mut terminal = Terminal::open(&["--room", &room], &[], 80, 24);
    terminal.sees("any size can be called");
    let box_of = piece(Path::new(&room), "SK30029");
    terminal.send(&scan(&box_of, "\r")).sees("SK30029");
    terminal.press("\x1bOQ", "any size can be called");
    terminal.press("3 29", "3 29").press("\r", "A case has begun");
    terminal.send(LEAVE.as_bytes());
    terminal.ended();
    let log = std::fs::read_to_string(format!("{room}/boxcall.log")).expect("there is a log");
    for said in ["room opened", "screens opened", "appended", "screens closed"] {
        assert!(log.contains(said), "{said}: {log}");
    }
    let case = json(&boxcall_on(&room, &["case", "list", "--json"]));
    let codes = case["cases"].as_array().expect("cases").iter().map(|case| case["case"].to_string());
    let secret = [box_of.di.to_string(), box_of.lot.clone(), "Skerry".into()];
    for word in codes.map(|code| code.replace('"', "")).chain(secret).filter(|word| !word.is_empty()) {
        assert!(!log.contains(&word), "{word}: {log}");
    }
}

#[test]
fn a_command_logs_where_it_is_asked_to_and_nowhere_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = demo(folder.path());
    let file = folder.path().join("support.log");
    let asked = boxcall_on(&room, &["stock", "list", "--log", file.to_str().expect("a path")]);
    assert_eq!(status(&asked), 0);
    assert!(file.exists() && !Path::new(&room).join("boxcall.log").exists());
    let refused = boxcall_on(&room, &["stock", "list", "--json", "--log", "/nonexistent/support.log"]);
    assert_eq!((status(&refused), &json(&refused)["error"]["code"]), (3, &"cannot-write".into()));
}

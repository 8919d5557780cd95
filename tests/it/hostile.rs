//! Hostile bytes on the way in and on the way out: names with escapes and marks that turn letters about.

use boxcall::journal::{BoxRead, CaseCode, Fact};
use boxcall::room::{Room, files};
use std::path::Path;
use std::process::{Command, Output};

/// An escape that moves the cursor, one that names the window, a bell, an override of the direction, a C1 control.
const HOSTILE: [&str; 5] = ["\u{1b}[2J", "\u{1b}]0;x\u{7}", "\u{7}", "\u{202e}", "\u{9b}2J"];

fn run(room: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_boxcall"))
        .args(words)
        .args(["--room", room.to_str().unwrap()])
        .output()
        .unwrap()
}

fn has_power(bytes: &[u8]) -> bool {
    let text = std::str::from_utf8(bytes).expect("text");
    text.chars().any(|c| c.is_control() && c != '\n' && c != '\t' || ('\u{202a}'..='\u{202e}').contains(&c))
}

/// A product file, a protocol and a stock file with such a name are refused, with file, line and key.
#[test]
fn a_name_that_has_power_over_a_terminal_is_refused_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room");
    drop(Room::lay_demo(&room).unwrap());
    let product = room.join("catalogue/fell.toml");
    let good = std::fs::read_to_string(&product).unwrap();
    let policy = std::fs::read_to_string(room.join(files::POLICY)).unwrap();
    for hostile in HOSTILE {
        let escaped: String = hostile.chars().map(|c| format!("\\u{:04x}", u32::from(c))).collect();
        std::fs::write(&product, good.replace("name = \"Fell\"", &format!("name = \"Fell{escaped}\"")))
            .unwrap();
        let output = run(&room, &["stock", "list"]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{hostile:?}: {said}");
        assert!(said.contains("fell.toml:") && said.contains("name: expected text"), "{hostile:?}: {said}");
        assert!(!has_power(&output.stderr) && !has_power(&output.stdout), "{hostile:?}");
        std::fs::write(&product, &good).unwrap();
        let text = format!("{policy}\nname = \"Lab{escaped}\"\n");
        let first = text.replacen("schema = 1", &format!("schema = 1\nname = \"Lab{escaped}\""), 1);
        std::fs::write(room.join(files::POLICY), first).unwrap();
        let output = run(&room, &["stock", "short"]);
        assert_eq!(output.status.code(), Some(2), "{hostile:?}");
        std::fs::write(room.join(files::POLICY), &policy).unwrap();
        let stock = folder.path().join("stock.csv");
        let row = format!("di,lot,serial,use_by,shelf,count\n09521001300292,L{hostile},,2030-01-01,A1,1\n");
        std::fs::write(&stock, row).unwrap();
        let output = run(&room, &["stock", "load", stock.to_str().unwrap()]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{hostile:?}: {said}");
        assert!(said.contains("stock.csv:2"), "{hostile:?}: {said}");
    }
}

/// What is in the journal all the same, read off a label: no answer, document or error hands it on with its power.
#[test]
fn nothing_that_is_printed_has_power_over_a_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("room");
    let mut room = Room::lay_demo(&dir).unwrap();
    let case = CaseCode::parse("ACD34").unwrap();
    for (item, hostile) in (1..).zip(HOSTILE) {
        let label =
            BoxRead { name: format!("x{hostile}"), lot: Some(format!("L{hostile}")), ..BoxRead::default() };
        let opened = Fact::BoxOpened {
            item,
            call: None,
            lesion: None,
            label,
            finding: format!("y{hostile}").as_str().into(),
            reason: Some(format!("z{hostile}")),
            minutes_ago: None,
        };
        room.write(Some(&case), &[opened]).unwrap();
        room.write(None, &[Fact::LotRecalled { di: None, lot: format!("L{hostile}") }]).unwrap();
    }
    drop(room);
    for words in [
        &["case", "list"][..],
        &["case", "show"],
        &["case", "export"],
        &["case", "export", "--format", "csv"],
        &["case", "export", "--format", "json"],
        &["case", "export", "--format", "fhir"],
        &["case", "totals"],
        &["trace", "--recalled"],
        &["trace", "--recalled", "--json"],
        &["stock", "history"],
        &["stock", "history", "--json"],
        &["trace", "--lot", "L\u{1b}[2J"],
        &["case", "show", "\u{1b}[2J"],
        &["inflate", "--product", "\u{1b}[2J\u{202e}"],
    ] {
        let output = run(&dir, words);
        assert!(!has_power(&output.stdout), "{words:?}: {}", String::from_utf8_lossy(&output.stdout));
        assert!(!has_power(&output.stderr), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    }
    let json = run(&dir, &["trace", "--recalled", "--json"]);
    let answer: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    let lots: Vec<&str> =
        answer["had"].as_array().unwrap().iter().map(|one| one["lot"].as_str().unwrap()).collect();
    assert_eq!(lots, HOSTILE.map(|hostile| format!("L{hostile}")), "a program gets what was read");
}

/// What holds what the journal holds is for its owner's eyes only.
#[cfg(unix)]
#[test]
fn exports_and_records_are_for_their_owners_eyes_only() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("room");
    assert!(run(&dir, &["demo", "--plain"]).status.success());
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let export = folder.path().join("case.txt");
    assert!(run(&dir, &["case", "export", "--to", export.to_str().unwrap()]).status.success());
    assert_eq!(mode(&export), 0o600);
    for record in std::fs::read_dir(dir.join(files::RECORDS)).unwrap() {
        let path = record.unwrap().path();
        let is_caution = path.extension().is_some_and(|end| end == "txt");
        assert!(is_caution || mode(&path) == 0o600, "{}", path.display());
    }
}

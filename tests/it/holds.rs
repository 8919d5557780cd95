//! No answer comes out of a journal that does not hold without saying so: the real binary, on journals that somebody
//! was at.

use boxcall::room::files;
use rusqlite::Connection;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

struct Lab {
    folder: TempDir,
    /// The lot of the stent that was implanted in the demo case.
    lot: String,
}

impl Lab {
    /// A room with the whole demo case in it.
    fn new() -> Lab {
        let folder = tempfile::tempdir().unwrap();
        let mut lab = Lab { folder, lot: String::new() };
        let dir = lab.dir().display().to_string();
        let walked = run(&["demo", "--plain", "--room", &dir]);
        assert!(walked.status.success(), "{}", String::from_utf8_lossy(&walked.stderr));
        let record = lab.json(&["case", "export"]).1;
        let boxes = record["boxes"].as_array().unwrap();
        let implanted = boxes.iter().find(|one| one["fate"]["fate"] == "implanted").unwrap();
        lab.lot = implanted["label"]["lot"].as_str().unwrap().into();
        lab
    }

    fn dir(&self) -> PathBuf {
        self.folder.path().join("room")
    }

    fn run(&self, words: &[&str]) -> Output {
        let dir = self.dir().display().to_string();
        run(&[words, &["--room", &dir]].concat())
    }

    fn code(&self, words: &[&str]) -> i32 {
        self.run(words).status.code().unwrap()
    }

    fn json(&self, words: &[&str]) -> (i32, Value) {
        let output = self.run(&[words, &["--json"]].concat());
        (output.status.code().unwrap(), serde_json::from_slice(&output.stdout).unwrap())
    }

    fn journal(&self) -> PathBuf {
        self.dir().join(files::JOURNAL)
    }

    /// As another program would, which puts the guards back when it is done.
    fn alter(&self, statements: &str) {
        let database = Connection::open(self.journal()).unwrap();
        let guards: Vec<(String, String)> = database
            .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
            .unwrap()
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
            .unwrap()
            .collect::<Result<_, _>>()
            .unwrap();
        guards.iter().for_each(|(name, _)| database.execute_batch(&format!("DROP TRIGGER {name}")).unwrap());
        database.execute_batch(statements).unwrap();
        guards.iter().for_each(|(_, sql)| database.execute_batch(sql).unwrap());
    }

    /// One file with all that was written so far.
    fn copy_to(&self, to: &Path) {
        let copied = self.run(&["journal", "backup", to.to_str().unwrap()]);
        assert!(copied.status.success(), "{}", String::from_utf8_lossy(&copied.stderr));
    }

    fn put_in_place(&self, copy: &Path) {
        for end in ["-wal", "-shm"] {
            let _ = std::fs::remove_file(self.dir().join(format!("{}{end}", files::JOURNAL)));
        }
        std::fs::copy(copy, self.journal()).unwrap();
    }

    /// Every command that answers out of the journal, in words, in JSON and in each document, says that it does not
    /// hold; `checked` is whether each could answer at all.
    fn says_so_everywhere(&self, what: &str) {
        assert_eq!(self.code(&["journal", "check"]), 1, "{what}");
        for words in ANSWERS {
            let output = self.run(words);
            let said = |bytes: &[u8]| String::from_utf8_lossy(bytes).contains("THE JOURNAL DOES NOT HOLD");
            assert_eq!(output.status.code(), Some(3), "{what}: {words:?}");
            assert!(said(&output.stderr), "{what}: {words:?}");
            let is_file = words.contains(&"export") && words[0] == "stock";
            assert!(is_file || said(&output.stdout), "{what}: {words:?}: it is in what is kept");
            if words.contains(&"--format") {
                continue;
            }
            let (code, answer) = self.json(words);
            assert_eq!((code, &answer["journal"]["holds"]), (3, &Value::Bool(false)), "{what}: {words:?}");
        }
        let lot = self.run(&["trace", "--lot", &self.lot]);
        assert_eq!(lot.status.code(), Some(3), "{what}");
        let fhir = self.run(&["case", "export", "--format", "fhir"]);
        let bundle: Value = serde_json::from_slice(&fhir.stdout).unwrap();
        assert_eq!(bundle["meta"]["tag"][0]["code"], "does-not-hold", "{what}");
        assert_eq!(fhir.status.code(), Some(3), "{what}");
    }
}

const ANSWERS: &[&[&str]] = &[
    &["case", "list"],
    &["case", "show"],
    &["case", "export"],
    &["case", "export", "--format", "csv"],
    &["case", "totals"],
    &["case", "totals", "--format", "csv"],
    &["trace", "--lot", "NONE-SUCH"],
    &["trace", "--serial", "NONE-SUCH"],
    &["stock", "list"],
    &["stock", "export"],
    &["stock", "short"],
    &["stock", "history"],
    &["shelf", "gaps"],
];

fn run(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_boxcall")).args(words).output().unwrap()
}

#[test]
fn an_altered_lot_is_never_answered_with_a_clean_no() {
    let lab = Lab::new();
    let found = lab.run(&["trace", "--lot", &lab.lot]);
    assert_eq!(found.status.code(), Some(0));
    let (code, answer) = lab.json(&["trace", "--lot", "NONE-SUCH"]);
    assert_eq!((code, &answer["journal"]["holds"]), (1, &Value::Bool(true)), "a journal that holds says no");
    assert_eq!(answer["journal"]["checked_from"], 1);
    lab.alter(&format!("UPDATE journal SET body = replace(body, '{}', 'NONE-SUCH')", lab.lot));
    lab.says_so_everywhere("the lot is another one");
}

#[test]
fn one_flipped_bit_in_the_file_is_said_with_every_answer() {
    let lab = Lab::new();
    // All of it in the one file.
    let copy = lab.folder.path().join("copy.db");
    lab.copy_to(&copy);
    lab.put_in_place(&copy);
    let mut bytes = std::fs::read(&copy).unwrap();
    let lot = lab.lot.as_bytes();
    let at = bytes.windows(lot.len()).position(|window| window == lot).unwrap();
    bytes[at] ^= 1;
    std::fs::write(lab.journal(), bytes).unwrap();
    lab.says_so_everywhere("one bit");
}

#[test]
fn an_older_backup_in_place_is_said_with_every_answer() {
    let lab = Lab::new();
    let copy = lab.folder.path().join("copy.db");
    lab.copy_to(&copy);
    let list = lab.folder.path().join("recall.csv");
    std::fs::write(&list, "di,lot\n,L1\n").unwrap();
    assert_eq!(lab.code(&["stock", "recall", list.to_str().unwrap()]), 0);
    assert_eq!(lab.code(&["journal", "check"]), 0);
    lab.put_in_place(&copy);
    lab.says_so_everywhere("what a command wrote is missing");
    // A look at it makes it no better, nor does writing into it.
    lab.code(&["stock", "recall", list.to_str().unwrap()]);
    assert_eq!(lab.code(&["trace", "--lot", "NONE-SUCH"]), 3);
}

#[test]
fn guards_that_are_gone_and_triggers_that_do_not_belong_there_are_said() {
    for statements in [
        "DROP TRIGGER journal_no_update; DROP TRIGGER journal_no_delete; DROP TRIGGER journal_insert",
        "CREATE TRIGGER quiet BEFORE INSERT ON journal BEGIN SELECT RAISE(IGNORE); END",
    ] {
        let lab = Lab::new();
        Connection::open(lab.journal()).unwrap().execute_batch(statements).unwrap();
        lab.says_so_everywhere(statements);
        let check = lab.json(&["journal", "check"]).1;
        let why = check["message"].as_str().unwrap();
        assert!(why.contains("quiet") || why.contains("journal_no_update"), "{why}");
        let list = lab.folder.path().join("recall.csv");
        std::fs::write(&list, "di,lot\n,L1\n").unwrap();
        let refused = lab.run(&["stock", "recall", list.to_str().unwrap()]);
        assert!(!refused.status.success() && refused.stdout.is_empty(), "nothing is called written");
    }
}

#[test]
fn a_journal_that_is_gone_is_no_room_without_cases() {
    let lab = Lab::new();
    let away = lab.folder.path().join("away.db");
    lab.copy_to(&away);
    for empty in [false, true] {
        lab.put_in_place(&away);
        std::fs::remove_file(lab.journal()).unwrap();
        if empty {
            std::fs::write(lab.journal(), "").unwrap();
        }
        for words in [&["case", "list"], &["stock", "list"], &["trace", "--lot=X"], &["journal", "check"]] {
            let (code, answer) = lab.json(&words[..]);
            assert_eq!((code, &answer["error"]["code"]), (3, &"journal-gone".into()), "{words:?}");
        }
        let stock = lab.folder.path().join("stock.csv");
        std::fs::write(&stock, "di,lot,serial,use_by,shelf,count\n").unwrap();
        assert_eq!(lab.code(&["stock", "receive", stock.to_str().unwrap(), "--write"]), 3);
        assert!(std::fs::metadata(lab.journal()).map_or(true, |file| file.len() == 0), "no new one is made");
    }
}

/// Who can write in the folder can write all of it anew: only what is kept elsewhere shows it.
#[test]
fn a_head_that_was_kept_elsewhere_shows_what_the_chain_can_not() {
    let lab = Lab::new();
    let copy = lab.folder.path().join("copy.db");
    let list = lab.folder.path().join("recall.csv");
    std::fs::write(&list, "di,lot\n,L1\n").unwrap();
    lab.copy_to(&copy);
    lab.code(&["stock", "recall", list.to_str().unwrap()]);
    let mut records = Vec::new();
    for format in ["markdown", "csv", "json", "fhir"] {
        let record = lab.folder.path().join(format!("record.{format}"));
        assert_eq!(lab.code(&["case", "export", "--format", format, "--to", record.to_str().unwrap()]), 0);
        records.push(record.display().to_string());
    }
    let head = lab.json(&["journal", "head"]).1["anchor"].as_str().unwrap().to_string();
    records.push(head);
    for record in &records {
        assert_eq!(lab.code(&["journal", "check", "--against", record]), 0, "{record}");
    }
    assert_eq!(lab.code(&["journal", "check", "--against", &records[0], &records[1]]), 0);
    lab.put_in_place(&copy);
    for name in ["journal.mark", "shown"] {
        let _ = std::fs::remove_file(lab.dir().join(name));
    }
    assert_eq!(lab.code(&["journal", "check"]), 0, "nothing in the folder shows it");
    for record in &records {
        let (code, answer) = lab.json(&["journal", "check", "--against", record]);
        assert_eq!((code, &answer["against"][0]["holds"]), (1, &Value::Bool(false)), "{record}");
    }
    let nothing = lab.code(&["journal", "check", "--against", list.to_str().unwrap()]);
    assert_eq!(nothing, 2, "a file without a head proves nothing");
}

/// A folder that can't be written: everything is checked all the same, and nothing is left behind.
#[cfg(unix)]
#[test]
fn a_folder_that_can_not_be_written_is_checked_whole() {
    use std::os::unix::fs::PermissionsExt;
    let lab = Lab::new();
    let copy = lab.folder.path().join("copy.db");
    lab.copy_to(&copy);
    lab.put_in_place(&copy);
    let mode = |mode| std::fs::set_permissions(lab.dir(), std::fs::Permissions::from_mode(mode)).unwrap();
    mode(0o500);
    let (code, answer) = lab.json(&["trace", "--lot", "NONE-SUCH"]);
    mode(0o700);
    assert_eq!((code, &answer["journal"]["checked_from"]), (1, &1.into()), "{answer}");
}

//! Every sample call: who decides is said, and one of everything is counted in the singular.

use crate::program::boxcall_on;
use crate::pty::Terminal;
use crate::said::{disagreeing, says};
use crate::samples::{self, Defers, Ground};
use boxcall::deference::{FOOTER, LINE, LONG};

#[test]
fn every_answer_in_words_says_who_decides() {
    for (sample, ran) in samples::in_words() {
        let (stdout, stderr) = (ran.stdout(), ran.stderr());
        let told = format!("{}:\n{stdout}\n{stderr}", sample.typed());
        match sample.defers {
            Defers::AtItsEnd => assert_eq!(stdout.lines().last(), Some(LINE), "{told}"),
            Defers::Aside => {
                assert_eq!(stderr.lines().last(), Some(LINE), "{told}");
                assert!(!says(&stdout, LINE), "a program would take it for data: {told}");
            }
            Defers::Within => assert!(says(&stdout, LONG), "{told}"),
            Defers::InItsFile => {
                let file = std::fs::read_to_string(ran.file()).unwrap();
                assert!(says(&file, LONG), "{told}: {file}");
            }
            Defers::BesideItsFile => {
                let beside = format!("{}.txt", ran.file().display());
                assert_eq!(std::fs::read_to_string(beside).unwrap().trim_end(), LONG, "{told}");
                let table = std::fs::read_to_string(ran.file()).unwrap();
                assert!(!says(&table, LONG) && table.starts_with("case,"), "{told}: {table}");
            }
            Defers::Nowhere => assert!(!says(&stdout, LINE) && !says(&stdout, LONG), "{told}"),
            Defers::Refused => assert!(stdout.is_empty() && stderr.starts_with("boxcall: "), "{told}"),
            Defers::OnScreen => unreachable!("it needs a terminal: {told}"),
        }
    }
}

/// An error is no answer: its shape is `{"error": …}` and nothing else.
#[test]
fn every_answer_in_json_says_who_decides() {
    for (sample, ran) in samples::in_json() {
        let answer: serde_json::Value = serde_json::from_slice(&ran.output.stdout)
            .unwrap_or_else(|error| panic!("{}: {error}: {}", sample.typed(), ran.stdout()));
        if sample.defers == Defers::Refused {
            assert_eq!(
                answer.as_object().unwrap().keys().collect::<Vec<_>>(),
                ["error"],
                "{}",
                sample.typed()
            );
            continue;
        }
        let wanted = if sample.shape == samples::RECORD { LONG } else { LINE };
        assert_eq!(answer["deference"], wanted, "{}", sample.typed());
    }
}

/// What a signature leaves in the folder of records: each document says it, and a file beside the table.
#[test]
fn every_record_of_a_signed_case_says_who_decides() {
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room");
    let walked = boxcall_on(&room, &["demo", "--plain"]);
    assert!(walked.status.success(), "{walked:?}");
    let mut seen = 0;
    for entry in std::fs::read_dir(room.join("records")).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        if path.extension().is_some_and(|extension| extension == "csv") {
            let beside = std::fs::read_to_string(format!("{}.txt", path.display())).unwrap();
            assert!(says(&beside, LONG), "{}", path.display());
        } else {
            assert!(says(&text, LONG), "{}: {text}", path.display());
        }
        seen += 1;
    }
    assert_eq!(seen, 5, "Markdown, CSV and the file beside it, JSON, FHIR");
}

/// A file that somebody keeps under that name is not written over.
#[test]
fn a_file_of_somebody_elses_beside_a_table_is_left_as_it_was() {
    let ground = Ground::new();
    let table = ground.room().join("mine.csv");
    let beside = ground.room().join("mine.csv.txt");
    std::fs::write(&beside, "notes of my own\n").unwrap();
    let words = ["case", "export", "--format", "csv", "--to", table.to_str().unwrap()];
    let run = || boxcall_on(ground.room(), &words);
    let output = run();
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    assert!(String::from_utf8_lossy(&output.stderr).contains("mine.csv.txt"), "{output:?}");
    assert_eq!(std::fs::read_to_string(&beside).unwrap(), "notes of my own\n");
    assert!(!table.exists());
    std::fs::remove_file(&beside).unwrap();
    assert!(run().status.success() && run().status.success(), "its own file it writes again");
    assert!(table.exists() && beside.exists());
}

/// Every command, in a room in which there is one of everything.
#[test]
fn one_of_everything_is_told_in_the_singular() {
    assert_eq!(disagreeing("so 1 rows, (1 boxes) and 21 rows"), ["1 rows", "1 boxes"]);
    let mut numbers = 0;
    for (sample, ran) in samples::in_words() {
        let page = format!("{}\n{}", ran.stdout(), ran.stderr());
        assert_eq!(disagreeing(&page), Vec::<String>::new(), "{}:\n{page}", sample.typed());
        numbers += page.split_whitespace().filter(|word| *word == "1").count();
    }
    assert!(numbers > 30, "{numbers}: the room has one of everything");
}

/// In a real terminal, in a room that is not the demo too.
#[test]
fn every_command_that_needs_a_terminal_says_who_decides_on_its_screen() {
    let ground = Ground::new();
    let on_screen = samples::ALL.iter().filter(|sample| sample.in_terminal());
    let mut seen = 0;
    for sample in on_screen {
        for (width, height) in [(80, 24), (160, 45)] {
            let line = ground.line(sample);
            let line: Vec<&str> = line.iter().map(String::as_str).collect();
            let mut terminal = Terminal::open(&line, &[], width, height);
            let words = if width < 160 { [FOOTER, LINE] } else { [LINE, LINE] };
            terminal
                .wait(&sample.typed(), |screen| words.iter().any(|words| says(&screen.contents(), words)));
            terminal.signal(libc::SIGTERM);
            terminal.ended();
            seen += 1;
        }
    }
    assert!(seen >= 8, "{seen}");
}

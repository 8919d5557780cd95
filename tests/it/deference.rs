//! Who decides is said in every answer, document and screen: every sample call, every scene, every help text.

use crate::far;
use crate::hand::text;
use crate::program::boxcall_on;
use crate::samples::{self, Defers, Ground};
use crate::scenes;
use crate::terminal::Terminal;
use crate::words::prose;
use boxcall::deference::{FOOTER, LINE, LONG};
use boxcall::tui::view::Look;
use std::collections::BTreeSet;

/// The words alone: a document may break a sentence into lines, and a drawing puts marks around them.
fn squeezed(text: &str) -> String {
    let mut words = String::new();
    let mut in_mark = false;
    for c in text.chars() {
        match c {
            '<' => in_mark = true,
            '>' => in_mark = false,
            c if !in_mark && !c.is_whitespace() => words.push(c),
            _ => {}
        }
    }
    words
}

fn says(text: &str, words: &str) -> bool {
    squeezed(text).contains(&squeezed(words))
}

#[test]
fn the_three_strings_name_everybody_who_decides() {
    for who in [
        "operator",
        "ocal protocol",
        "instructions for use",
        "licensed practice",
        "Not a certified medical device",
    ] {
        assert!(LONG.contains(who) && LINE.contains(who), "{who}");
    }
    // An 80-column screen has a line for it beside the boxes opened last.
    assert!(FOOTER.len() < 32 && LINE.len() < 150, "{} and {} columns", FOOTER.len(), LINE.len());
}

/// One place: no other source spells a caution, and the README has the long one.
#[test]
fn the_strings_are_spelt_in_one_place() {
    let spelt = prose().into_iter().filter(|(_, text)| text.contains("certified medical device"));
    let files: BTreeSet<String> = spelt.map(|(file, _)| file).collect();
    assert!(files.iter().all(|file| file.ends_with("src/deference.rs")) && files.len() == 1, "{files:?}");
    assert!(says(include_str!("../../README.md"), LONG), "the README");
}

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

#[test]
fn every_scene_says_who_decides() {
    let scenes = scenes::all();
    for scene in scenes {
        for (width, height, words) in
            [(80, 24, FOOTER), (120, 30, FOOTER), (159, 45, FOOTER), (160, 24, LINE), (240, 67, LINE)]
        {
            let screen = text(&scene.hand.buffer(width, height, Look::default()));
            assert!(screen.contains(words), "{} at {width}x{height}:\n{screen}", scene.name);
        }
    }
    let over_scenes: Vec<_> = scenes.iter().map(|scene| (scene.name, far::far(&scene.hand))).collect();
    for (name, far) in far::moments().iter().chain(&over_scenes) {
        for (width, height, words) in
            [(80, 24, FOOTER), (120, 36, FOOTER), (160, 45, LINE), (199, 50, LINE), (200, 60, LINE)]
        {
            let screen = text(&far::buffer(far, width, height, Look::default()));
            assert!(screen.contains(words), "far {name} at {width}x{height}:\n{screen}");
        }
    }
}

/// The first page has the long form, and so have the first steps of a room of one's own and the help.
#[test]
fn the_first_pages_and_the_help_say_it_at_length() {
    let scenes = scenes::all();
    for name in ["welcome", "first-steps", "help"] {
        let scene = scenes.iter().find(|scene| scene.name == name).unwrap();
        let screen = text(&scene.hand.buffer(80, 24, Look::default())).replace('│', " ");
        assert!(says(&screen, LONG), "{name}:\n{screen}");
    }
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

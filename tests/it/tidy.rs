//! Reads the sources and fails when the house is out of order: an arrow that points down, a room without its
//! invariant, a key, a colour, a clock or a file where none belongs.
//!
//! Simple and strict: words in strings and comments count as well. Only comments are let off for arrows, so that
//! documentation may point anywhere.

mod circles;

use std::path::Path;

/// Rooms that know no clock, no file and no terminal.
const PURE: [&str; 16] = [
    "deference", "sources", "units", "udi", "measure", "intake", "policy", "catalogue", "lesion", "fit",
    "label", "journal", "case", "shelf", "ledger", "report",
];

const IMPURE_WORDS: [&str; 17] = [
    "std::fs", "std::io::stdout", "std::io::stdin", "std::io::stderr", "println!", "print!", "eprintln!",
    "eprint!", "std::env", "SystemTime", "Instant::now", "Utc::now", "Local::now", "std::process",
    "std::net", "std::thread", "rusqlite",
];

const TERMINAL_WORDS: [&str; 5] = ["KeyCode", "crossterm", "ratatui", "Color", "Style"];

const KEYS: [&str; 12] =
    ["Enter", "Esc", "Tab", "Space", "Backspace", "Del", "Up", "Down", "Left", "Right", "PgUp", "PgDn"];

/// The only file that names a colour.
const COLOURS: &str = "src/tui/paint/theme.rs";

/// The only files that name the terminal's keys, each with what lies below it.
const KEYCODES: [&str; 3] = ["src/tui/keys.rs", "src/tui/input.rs", "src/tui/shell.rs"];

/// Rooms that may name a clock, a file or a terminal.
const IMPURE: [&str; 5] = ["control", "store", "room", "tui", "cli"];

/// What a file that nobody has furnished yet says.
const PLACEHOLDER: &str = "//! (to be furnished)";

/// The rooms in their order, out of the text of `src/lib.rs`.
fn rooms(lib: &str) -> Vec<String> {
    lib.lines()
        .filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';'))
        .map(String::from)
        .collect()
}

/// The room that a file belongs to: none for `src/lib.rs` and `src/main.rs`.
fn room_of(path: &str) -> Option<&str> {
    let inside = path.strip_prefix("src/")?;
    let room = inside.split('/').next()?.trim_end_matches(".rs");
    (!["lib", "main"].contains(&room)).then_some(room)
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// The places in `text` where `word` stands by itself.
fn places<'a>(text: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    text.match_indices(word).map(|(at, _)| at).filter(move |&at| {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        !(before.is_some_and(is_word) || word.ends_with(is_word) && after.is_some_and(is_word))
    })
}

fn line_of(text: &str, at: usize) -> usize {
    text[..at].matches('\n').count() + 1
}

fn fault(path: &str, line: usize, rule: &str) -> String {
    format!("{path}:{line}: {rule}")
}

/// The first names in `rest`, which stands behind `crate::` or `std::`: one, or those of a group in braces.
fn first_names(rest: &str) -> Vec<&str> {
    let name = |text: &'_ str| text.find(|c| !is_word(c)).unwrap_or(text.len());
    let Some(group) = rest.strip_prefix('{') else {
        return vec![&rest[..name(rest)]];
    };
    let (mut depth, mut start, mut names) = (0, true, Vec::new());
    for (at, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => start = true,
            c if is_word(c) && start => {
                names.push(&group[at..at + name(&group[at..])]);
                start = false;
            }
            _ => {}
        }
    }
    names
}

/// An arrow points only to a room that stands higher in the list, or to its own.
fn arrows(path: &str, text: &str, rooms: &[String]) -> Vec<String> {
    let Some(room) = room_of(path) else { return Vec::new() };
    let place = |name: &str| rooms.iter().position(|known| known == name);
    let Some(own) = place(room) else {
        return vec![fault(path, 1, &format!("room {room:?} is not in the list of src/lib.rs"))];
    };
    // Comments become empty lines, so that the numbers of the others stay.
    let code: Vec<&str> =
        text.lines().map(|line| if line.trim_start().starts_with("//") { "" } else { line }).collect();
    let code = code.join("\n");
    let mut faults = Vec::new();
    for root in ["crate::", "boxcall::"] {
        for at in places(&code, root) {
            for name in first_names(&code[at + root.len()..]) {
                if place(name).is_some_and(|other| other > own) {
                    let rule = format!("{room} may not know {name}, which stands below it");
                    faults.push(fault(path, line_of(&code, at), &rule));
                }
            }
        }
    }
    faults
}

/// A file begins by saying what it is for; the head of a room says what it must never know.
fn heads(path: &str, text: &str) -> Vec<String> {
    let first = text.lines().next().unwrap_or("");
    if first == PLACEHOLDER {
        return Vec::new();
    }
    if !first.starts_with("//! ") {
        return vec![fault(path, 1, "a file begins with a //! comment that says what it is for")];
    }
    let Some(room) = room_of(path) else { return Vec::new() };
    let is_head = path == format!("src/{room}.rs") || path == format!("src/{room}/mod.rs");
    let head = text.lines().take_while(|line| line.starts_with("//!"));
    if is_head && !head.into_iter().any(|line| line.starts_with("//! Invariant: ")) {
        return vec![fault(path, 1, "the head of a room has a line //! Invariant: …")];
    }
    Vec::new()
}

/// Keys and colours belong to the screens, and there each to one file.
fn terminal(path: &str, text: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let mut forbid = |word: &str, rule: &str| {
        for at in places(text, word) {
            faults.push(fault(path, line_of(text, at), &format!("{word:?}: {rule}")));
        }
    };
    if room_of(path) == Some("tui") {
        if path != COLOURS {
            forbid("Color", &format!("only {COLOURS} names a colour"));
        }
        let is_below = |file: &&str| path.starts_with(&format!("{}/", file.trim_end_matches(".rs")));
        if !KEYCODES.iter().any(|file| path == *file || is_below(file)) {
            forbid("KeyCode", "only src/tui/keys.rs and the shell name the terminal's keys");
        }
        return faults;
    }
    for word in TERMINAL_WORDS {
        forbid(word, "only tui knows the terminal");
    }
    for (at, _) in text.match_indices('<') {
        let spelled = text[at + 1..].split(['>', '\n']).next().unwrap_or("");
        let closed = text[at + 1 + spelled.len()..].starts_with('>');
        let function = spelled.strip_prefix('F').is_some_and(|number| number.parse::<u8>().is_ok());
        let chord = ["C-", "A-", "S-"].iter().any(|prefix| spelled.starts_with(prefix));
        if closed && (function || chord || KEYS.contains(&spelled)) {
            faults.push(fault(path, line_of(text, at), &format!("<{spelled}>: only tui spells a key")));
        }
    }
    faults
}

/// The pure rooms name no clock, no file and no terminal.
fn purity(path: &str, text: &str) -> Vec<String> {
    let Some(room) = room_of(path).filter(|room| PURE.contains(room)) else { return Vec::new() };
    let mut faults = Vec::new();
    let mut forbid = |at: usize, word: &str| {
        faults.push(fault(path, line_of(text, at), &format!("{room} is pure and may not name {word}")));
    };
    for word in IMPURE_WORDS {
        places(text, word).for_each(|at| forbid(at, word));
    }
    for at in places(text, "std::{") {
        for name in first_names(&text[at + "std::".len()..]) {
            if ["fs", "env", "process", "net", "thread"].contains(&name) {
                forbid(at, &format!("std::{name}"));
            }
        }
    }
    faults
}

/// Only the store names SQLite's library.
fn database(path: &str, text: &str) -> Vec<String> {
    if room_of(path) == Some("store") {
        return Vec::new();
    }
    places(text, "rusqlite")
        .map(|at| fault(path, line_of(text, at), "only store names the database's library"))
        .collect()
}

/// The files of the command line that may open a room without checking its journal: the first checks it for all
/// commands, the second opens the screens, which check it behind their first frame.
const OPENERS: [&str; 2] = ["src/cli/out.rs", "src/cli/begin.rs"];

/// A command gets a room, and so the entries of a journal, only with what was found out about the journal.
fn unchecked(path: &str, text: &str) -> Vec<String> {
    if room_of(path) != Some("cli") || OPENERS.contains(&path) {
        return Vec::new();
    }
    let words = ["Room::open", "Room::look", "Room::look_past_faults", "Room::journal_alone", "crate::store"];
    let found = words.iter().flat_map(|word| places(text, word).map(move |at| (at, word)));
    let rule = "a command opens a room through Out, which checks its journal";
    found.map(|(at, word)| fault(path, line_of(text, at), &format!("{word:?}: {rule}"))).collect()
}

/// Where the diagnostic log is spoken to: what knows labels, people's words and figures of a vessel is not among them.
const LOGGING: [&str; 4] = ["src/store/", "src/room/", "src/tui/shell.rs", "src/cli/log.rs"];

fn logging(path: &str, text: &str) -> Vec<String> {
    if LOGGING.iter().any(|allowed| path.starts_with(allowed)) {
        return Vec::new();
    }
    places(text, "tracing::")
        .map(|at| fault(path, line_of(text, at), "only store, room and the event loop write to the log"))
        .collect()
}

fn faults(path: &str, text: &str, rooms: &[String]) -> Vec<String> {
    [
        arrows(path, text, rooms),
        heads(path, text),
        terminal(path, text),
        purity(path, text),
        database(path, text),
        unchecked(path, text),
        logging(path, text),
    ]
    .concat()
}

/// Every source in a folder and below it, by its path from the root.
pub fn sources(folder: &Path, found: &mut Vec<(String, String)>) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let name = path.strip_prefix(root).unwrap().to_str().unwrap().replace('\\', "/");
            found.push((name, std::fs::read_to_string(&path).unwrap()));
        }
    }
}

#[test]
fn the_house_is_in_order() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    files.sort();
    let lib = &files.iter().find(|(path, _)| path == "src/lib.rs").expect("src/lib.rs").1;
    let rooms = rooms(lib);
    let (pure, impure): (Vec<&str>, Vec<&str>) =
        rooms.iter().map(String::as_str).partition(|room| !IMPURE.contains(room));
    assert_eq!(
        (pure, impure),
        (PURE.into(), IMPURE.into()),
        "the lists name each module of src/lib.rs, in its order"
    );
    for file in KEYCODES.into_iter().chain([COLOURS]) {
        assert!(files.iter().any(|(path, _)| path == file), "{file}, which a rule names, is not there");
    }
    let faults: Vec<String> = files.iter().flat_map(|(path, text)| faults(path, text, &rooms)).collect();
    assert!(faults.is_empty(), "\n{}\n", faults.join("\n"));
}

/// Each sample breaks one rule; the line and a word of the rule must be named.
#[test]
fn each_rule_can_fail() {
    let rooms = rooms("//! x\n\npub mod units;\npub mod fit;\npub mod store;\npub mod tui;\npub mod cli;\n");
    assert_eq!(rooms, ["units", "fit", "store", "tui", "cli"]);
    let head = "//! A thing.\n//!\n//! Invariant: knows nothing.\n";
    for (path, code, line, word) in [
        ("src/fit/rank.rs", "use crate::store::Store;", 4, "below"),
        ("src/units.rs", "let x = crate::fit::judge();", 4, "fit"),
        ("src/units.rs", "use crate::{\n    units::Length,\n    fit::{Judge, tui},\n};", 4, "fit"),
        ("src/fit/mod.rs", "fn x() {}\nuse boxcall::tui;", 5, "tui"),
        ("src/attic/mod.rs", "", 1, "list of src/lib.rs"),
        ("src/fit/mod.rs", "use ratatui::text::Line;", 4, "terminal"),
        ("src/store/mod.rs", "// a KeyCode", 4, "terminal"),
        ("src/main.rs", "let c = Color::Red;", 4, "terminal"),
        ("src/main.rs", "let c: Style;", 4, "terminal"),
        ("src/store/mod.rs", "use crossterm::event;", 4, "terminal"),
        ("src/store/mod.rs", "const HELP: &str = \"press <F4>\";", 4, "<F4>"),
        ("src/store/mod.rs", "// <C-x>", 4, "<C-x>"),
        ("src/store/mod.rs", "// <Enter>", 4, "<Enter>"),
        ("src/tui/view/grid.rs", "let c = Color::Red;", 4, "theme"),
        ("src/tui/state.rs", "KeyCode::Enter", 4, "keys.rs"),
        ("src/fit/mod.rs", "fn x() { std::fs::read(y) }", 4, "pure"),
        ("src/fit/mod.rs", "use std::{fmt, fs};", 4, "std::fs"),
        ("src/fit/mod.rs", "println!(\"\");", 4, "println!"),
        ("src/fit/mod.rs", "eprintln!(\"\");", 4, "eprintln!"),
        ("src/fit/mod.rs", "print!(\"\");", 4, "print!"),
        ("src/fit/mod.rs", "Instant::now()", 4, "Instant::now"),
        ("src/fit/mod.rs", "chrono::Utc::now()", 4, "Utc::now"),
        ("src/fit/mod.rs", "Local::now()", 4, "Local::now"),
        ("src/fit/mod.rs", "std::env::var(x)", 4, "std::env"),
        ("src/fit/mod.rs", "std::process::exit(1)", 4, "std::process"),
        ("src/tui/state.rs", "use rusqlite::Connection;", 4, "database"),
        ("src/cli/trace.rs", "let room = Room::look(dir)?;", 4, "through Out"),
        ("src/cli/trace.rs", "use crate::store::Store;", 4, "through Out"),
        ("src/fit/mod.rs", "tracing::info!(\"x\");", 4, "log"),
    ] {
        let found = faults(path, &format!("{head}{code}"), &rooms);
        assert_eq!(found.len(), 1, "{path}: {code}: {found:?}");
        assert!(found[0].starts_with(&format!("{path}:{line}: ")), "{code}: {found:?}");
        assert!(found[0].contains(word), "{code}: {found:?}");
    }
    for (path, text, word) in [
        ("src/fit/rank.rs", "use crate::units;\n", "begins"),
        ("src/fit/rank.rs", "", "begins"),
        ("src/fit/rank.rs", "// A thing.\n", "begins"),
        ("src/fit/mod.rs", "//! A thing.\n\n//! Invariant: too late.\n", "Invariant"),
        ("src/units.rs", "//! A thing.\n", "Invariant"),
    ] {
        let found = faults(path, text, &rooms);
        assert!(found.len() == 1 && found[0].contains(word), "{path}: {text}: {found:?}");
    }
}

#[test]
fn good_sources_pass() {
    let rooms = rooms("pub mod units;\npub mod fit;\npub mod store;\npub mod tui;\n");
    let head = "//! A thing.\n//!\n//! Invariant: knows nothing.\n";
    for (path, code) in [
        (
            "src/fit/mod.rs",
            "use crate::units::Length;\nuse crate::fit::rank;\n// see crate::tui\nuse std::{fmt, io};",
        ),
        ("src/fit/mod.rs", "let blueprint = Vec::<f64>::new(); // Colorado, Stylecheck"),
        ("src/store/mod.rs", "use rusqlite::Connection; println!(\"\"); std::fs::read(x)"),
        ("src/tui/paint/theme.rs", "Color::Red"),
        ("src/tui/keys.rs", "KeyCode::Enter <F4>"),
        ("src/tui/shell.rs", "KeyCode::Enter"),
        ("src/main.rs", "use boxcall::tui;"),
    ] {
        assert_eq!(faults(path, &format!("{head}{code}"), &rooms), Vec::<String>::new(), "{path}: {code}");
    }
    assert_eq!(faults("src/fit/mod.rs", "//! (to be furnished)\n", &rooms), Vec::<String>::new());
}

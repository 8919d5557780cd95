//! Every string that a person reads is plain, short, and the same for the same thing: the tables, the screens, the
//! command line and the texts in the sources are read.

use crate::hand::text;
use crate::scenes;
use boxcall::cli;
use boxcall::tui::keys::CLOSE;
use boxcall::tui::state::shelf::tally;
use boxcall::tui::state::{first, menu, places};
use boxcall::tui::view::{Look, WORDS};
use std::path::Path;

/// The glossary: one term for one thing. Another word for it, the term, and phrases in which the word means something else.
const GLOSSARY: &[(&str, &str, &[&str])] = &[
    // "Cover" would be heard as a covered stent.
    ("cover", "span", &[]),
    // "Line" would be an infusion line.
    ("product line", "product", &[]),
    ("readback", "read-back", &[]),
    ("expiry date", "use-by date", &[]),
    ("expiration date", "use-by date", &[]),
    ("robustness", "steadiness", &[]),
    ("blockage", "lesion", &[]),
    ("protocol file", "policy file", &[]),
    // What a rule or a source says is neither an order nor what is best for anybody.
    ("best", "first by the rules", &["the best-before date"]),
    ("never above", "limits", &[]),
    ("recommend", "what a source found", &[]),
    ("recommended", "what a source found", &[]),
    ("advise", "what a source found", &[]),
    ("advised", "what a source found", &[]),
    // One spelling.
    ("catalog", "catalogue", &[]),
    ("color", "colour", &[]),
    ("center", "centre", &[]),
    ("millimeter", "millimetre", &[]),
];

/// Whether a word stands in a text by itself, whatever its case.
fn holds(text: &str, word: &str) -> bool {
    let lower = text.to_lowercase();
    let is_letter = |c: char| c.is_alphanumeric() || c == '_';
    lower.match_indices(word).any(|(at, _)| {
        let before = lower[..at].chars().next_back();
        let after = lower[at + word.len()..].chars().next();
        !before.is_some_and(is_letter) && !after.is_some_and(is_letter)
    })
}

/// What is wrong with the words of a text.
fn faults(text: &str) -> Vec<String> {
    GLOSSARY
        .iter()
        .filter(|(word, _, meant)| holds(text, word) && !meant.iter().any(|phrase| text.contains(phrase)))
        .map(|(word, instead, _)| format!("{word:?} has another term: {instead}: {text:?}"))
        .collect()
}

/// The strings of a Rust source, comments and tests left out.
fn strings(source: &str) -> Vec<String> {
    let source = source.split("#[cfg(test)]").next().unwrap_or_default();
    let chars: Vec<char> = source.chars().collect();
    let mut found = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        match chars[at] {
            '/' if chars.get(at + 1) == Some(&'/') => {
                while at < chars.len() && chars[at] != '\n' {
                    at += 1;
                }
            }
            // A character in quotes may be a quote; a lifetime is none.
            '\'' if chars.get(at + 1) == Some(&'\\') => {
                at += 2;
                while at + 1 < chars.len() && chars[at + 1] != '\'' {
                    at += 1;
                }
                at += 2;
            }
            '\'' if chars.get(at + 2) == Some(&'\'') => at += 3,
            '"' => {
                let mut string = String::new();
                at += 1;
                while at < chars.len() && chars[at] != '"' {
                    if chars[at] == '\\' {
                        at += 1;
                        // A line that goes on begins again behind its blanks.
                        if chars[at] == '\n' {
                            while chars.get(at + 1).is_some_and(|c| c.is_whitespace()) {
                                at += 1;
                            }
                        } else {
                            string.push(if chars[at] == 'n' { '\n' } else { chars[at] });
                        }
                    } else {
                        string.push(chars[at]);
                    }
                    at += 1;
                }
                found.push(string);
                at += 1;
            }
            _ => at += 1,
        }
    }
    found
}

fn sources(folder: &Path, found: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).expect("the sources") {
        let path = entry.expect("a file").path();
        let name = path.display().to_string();
        if path.is_dir() {
            sources(&path, found);
        } else if name.ends_with(".rs") && !name.ends_with("tests.rs") {
            found.push((name, std::fs::read_to_string(&path).expect("text")));
        }
    }
}

/// Text that a person reads has a blank in it; what the database's library and other programs read is left out.
pub fn prose() -> Vec<(String, String)> {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    let read_by_machines = |text: &str| {
        ["SELECT ", "CREATE ", "PRAGMA ", "INSERT ", "<svg", "<rect", "<text"]
            .iter()
            .any(|w| text.contains(w))
    };
    files
        .into_iter()
        .flat_map(|(name, source)| strings(&source).into_iter().map(move |text| (name.clone(), text)))
        .filter(|(_, text)| text.trim().contains(' ') && !read_by_machines(text))
        .collect()
}

#[test]
fn one_thing_has_one_word_in_every_text() {
    let prose = prose();
    assert!(prose.len() > 500, "{} texts", prose.len());
    let wrong: Vec<String> = prose
        .iter()
        .flat_map(|(file, text)| faults(text).into_iter().map(move |why| format!("{file}: {why}")))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_reader_of_sources_finds_strings_and_nothing_else() {
    let source = "// \"a comment\"\nlet a = \"one \\\"two\\\"\"; let b = '\"'; let c: &'a str = \"x\\\n     y\";\n#[cfg(test)] mod t { \"z\" }";
    assert_eq!(strings(source), ["one \"two\"", "xy"]);
    assert_eq!(faults("the readback of a box").len(), 1);
    assert_eq!(faults("the best-before date").len(), 0);
    assert_eq!(faults("the centerpiece").len(), 0);
}

/// What is read at a table in a hurry is short: limits in characters, common practice, no source.
#[test]
fn texts_are_short() {
    for (file, text) in prose() {
        // A file to be printed, a source and a schema are read at leisure.
        let at_leisure = ["settings.rs", "locale.rs", "policy", "schema", "sides.rs", "lay.rs", "import/"]
            .iter()
            .any(|w| file.contains(w));
        for line in text.lines().filter(|_| !at_leisure) {
            let long = |text: &str, most: usize| text.chars().count() > most;
            assert!(!long(line, 340), "{file}: {} characters: {line}", line.chars().count());
            for sentence in line.split(". ").flat_map(|sentence| sentence.split("; ")) {
                assert!(!long(sentence, 260), "{file}: a long sentence: {sentence}");
            }
        }
    }
    for row in places().into_iter().flat_map(|place| place.rows) {
        let word = row.action.word();
        assert!(row.doc.chars().count() <= 84 && !row.doc.is_empty(), "{word}: {}", row.doc);
        assert!(row.short.chars().count() <= 20, "{word}: {}", row.short);
        assert!(!row.doc.ends_with('.'), "{word}: a line of help is no sentence");
    }
}

#[test]
fn the_same_step_has_the_same_word_in_every_footer() {
    let names: Vec<&str> = places().iter().map(|place| place.title).collect();
    for (place, row) in places().into_iter().flat_map(|place| place.rows.iter().map(move |row| (place, row)))
    {
        let word = row.action.word();
        if row.action == CLOSE && !row.short.is_empty() {
            // The first steps are skipped: nothing lies behind them to go back to.
            let wanted = if place == &first::PLACE {
                "skip"
            } else if place == &tally::COUNTING || place.beyond().is_none() {
                "leave"
            } else {
                "back"
            };
            assert_eq!(row.short, wanted, "{word} in {}", place.title);
        }
        let begins_large = row.doc.chars().next().is_some_and(char::is_uppercase);
        let names_a_screen = names.iter().any(|name| row.doc.starts_with(name));
        assert!(!begins_large || names_a_screen || place == &menu::PLACE, "{word}: {}", row.doc);
        assert_eq!(faults(row.doc), Vec::<String>::new());
    }
}

/// Words that are shouted on purpose, none longer than four letters: longer ones are seen to be words.
const SHOUTED: &str = "AND AS AT BY CALL CASE DATE DO EYE FOR FROM HAVE HOLD IN IS IT KEEP KEPT LAST LEFT NEXT NO NONE \
    INTO HERE THIS THAT FULL LESS MORE ONLY NOT OF OFF ON ONE OPEN OR OUT PAST READ SAME SAY STOP TAKE THE TO UP WITH TOUR STEP KEY YET SUM WAS ARE BACK AWAY SET PUT GONE NEW OLD ALL ANY BOX FITS SIZE DOES FREE";

#[test]
fn every_abbreviation_on_a_screen_is_explained_in_the_help() {
    for scene in scenes::all() {
        let screen = text(&scene.hand.buffer(160, 45, Look::default()));
        if screen.contains("Why, step by step") {
            // It cites studies by their names.
            continue;
        }
        // Sources in brackets are citations, and a command's argument stands as the command line has it.
        let mut shown = String::new();
        let mut depth = 0;
        for c in screen.chars() {
            match c {
                '[' => depth += 1,
                ']' => depth = (depth - 1).max(0),
                c if depth == 0 => shown.push(c),
                _ => {}
            }
        }
        let case = scene.hand.state.world.case.as_ref().map(|case| case.code.to_string()).unwrap_or_default();
        for word in shown.split(|c: char| !c.is_alphanumeric() && c != '-') {
            let shouts = (2..=4).contains(&word.len()) && word.chars().all(|c| c.is_ascii_uppercase());
            if shouts
                && word != case
                && word != scene.hand.state.world.policy.currency
                && !SHOUTED.split_whitespace().any(|known| known == word)
            {
                let explained = WORDS.iter().any(|(known, _)| known.split(' ').any(|known| known == word));
                assert!(explained, "{}: {word} is not in the help's words:\n{screen}", scene.name);
            }
        }
    }
}

/// A room may have changed any key: a text of the screens asks the table. What a scanner sends is not a key of it.
#[test]
fn no_text_of_the_screens_spells_a_key() {
    let spellers = ["keys.rs", "keys/", "settings", "scanner.rs", "scan_report.rs", "input.rs"];
    let of_scanners = ["the Enter at its end confirms nothing", "an Enter at its end should arrive"];
    let mut read = 0;
    for (file, text) in prose() {
        if !file.contains("/tui/") || spellers.iter().any(|name| file.contains(name)) {
            continue;
        }
        read += 1;
        let named = text.split(|c: char| !c.is_alphanumeric() && c != '+').find(|word| {
            let function = word.strip_prefix('F').is_some_and(|number| number.parse::<u8>().is_ok());
            function
                || ["Enter", "Esc", "Tab", "Backspace", "PgUp", "PgDn"].contains(word)
                || word.starts_with("Ctrl+")
        });
        let meant = of_scanners.iter().any(|phrase| text.contains(phrase));
        assert!(named.is_none() || meant, "{file}: {named:?} in {text:?}");
    }
    assert!(read > 100, "{read} texts");
}

#[test]
fn the_command_line_speaks_the_same_words() {
    fn read(command: &clap::Command, found: &mut Vec<String>) {
        found.extend(command.get_about().map(ToString::to_string));
        found.extend(command.get_after_help().map(ToString::to_string));
        for argument in command.get_arguments() {
            found.extend(argument.get_help().map(ToString::to_string));
        }
        for inner in command.get_subcommands() {
            read(inner, found);
        }
    }
    let mut texts = Vec::new();
    read(&cli::described(), &mut texts);
    assert!(texts.len() > 80, "{} texts", texts.len());
    let wrong: Vec<String> = texts.iter().flat_map(|text| faults(text)).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

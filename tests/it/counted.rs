//! "1 box", "3 boxes": a number and its noun agree, in the sources and in what is printed.

use crate::hand::text;
use crate::scenes;
use crate::words::prose;
use boxcall::room::Room;
use boxcall::tui::view::Look;
use std::path::Path;
use std::process::{Command, Output};

/// What is counted in this program.
const NOUNS: &str = "rows boxes pieces entries lots cases products sizes files lesions calls guides faults minutes \
    seconds hours days devices places items keys lines bytes characters cells digits segments balloons stents records \
    readings labels groups columns fields codes plans weeks months questions answers steps scans spans commands bodies \
    identifiers diameters lengths openings implants numbers changes overlaps gaps versions inflations tables lists";

/// Texts that put a noun behind a number by themselves instead of asking `units::counted`. What always stands for the
/// same number has a name in capitals.
fn uncounted(string: &str) -> Option<&str> {
    string.match_indices('}').map(|(at, _)| at).find_map(|at| {
        let (before, rest) = (&string[..at], &string[at + 1..]);
        let name = before.rsplit('{').next().unwrap_or_default();
        let fixed = !name.is_empty() && name.chars().all(|c| c.is_ascii_uppercase() || "_:.".contains(c));
        let mut words = rest.strip_prefix(' ').unwrap_or_default().split_whitespace().peekable();
        let adjectives = ["more", "other", "open", "recalled", "new", "different", "waiting"];
        words.next_if(|word| adjectives.contains(word));
        let noun = words.next().unwrap_or_default().trim_end_matches([',', '.', ';', ':', ')']);
        // "F3 calls it" counts nothing.
        let verb = noun == "calls" && matches!(words.next(), Some("it" | "a"));
        (is_noun(noun) && !verb && !fixed).then_some(rest)
    })
}

fn is_noun(word: &str) -> bool {
    NOUNS.split_whitespace().any(|noun| noun == word)
}

#[test]
fn no_text_counts_by_itself() {
    assert!(uncounted("{} rows would change").is_some() && uncounted("{count} more lines").is_some());
    assert!(uncounted("{LINE} characters").is_none() && uncounted("{} would change").is_none());
    let wrong: Vec<String> = prose()
        .iter()
        .filter_map(|(file, text)| uncounted(text).map(|why| format!("{file}: {why:?} in {text:?}")))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Places where "1" and a word in the plural follow each other.
fn disagreeing(page: &str) -> Vec<String> {
    let words: Vec<&str> = page.split_whitespace().collect();
    let bare = |word: &str| word.trim_matches(|c: char| !c.is_alphanumeric()).to_string();
    let pairs = words.windows(2).filter(|pair| pair[0].trim_start_matches(['(', '"', '×']) == "1");
    pairs.map(|pair| bare(pair[1])).filter(|word| is_noun(word)).map(|word| format!("1 {word}")).collect()
}

/// A room in which there is one of everything, asked by every command that counts.
#[test]
fn one_of_everything_is_told_in_the_singular() {
    assert_eq!(disagreeing("so 1 rows, (1 boxes) and 21 rows"), ["1 rows", "1 boxes"]);
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room");
    Room::lay_empty(&room).unwrap();
    let file = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    };
    let run = |words: &[&str]| -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_boxcall"));
        command.arg("--room").arg(&room).args(words).output().unwrap()
    };
    let guides = "[[guide]]\nfr = 6\ninner_in = 0.071\n";
    std::fs::write(room.join("catalogue/guides.toml"), guides).unwrap();
    std::fs::write(room.join("policy.toml"), "schema = 1\n[par]\n\"2.75x29\" = 2\n").unwrap();
    let table = run(&["catalogue", "template"]);
    let table = file("products.csv", &String::from_utf8(table.stdout).unwrap());
    let stock = file("stock.csv", "di,lot,serial,use_by,shelf,count\n09521001275293,L1,,2031-05-31,A,1\n");
    let none = file("none.csv", "di,lot,serial,use_by,shelf,count\n");
    let recall = file("recall.csv", "lot\nL1\n");
    let copy = folder.path().join("copy.db").display().to_string();
    let span = ["span", "--method", "qca", "--distal-lumen", "2.7", "--length", "12", "--max-devices", "1"];
    let span_words: Vec<&str> = span.into_iter().chain(["--stock", &stock]).collect();
    let asked: Vec<Vec<&str>> = vec![
        vec!["catalogue", "add", &table, "--preview"],
        vec!["catalogue", "add", &table],
        vec!["catalogue", "check"],
        vec!["catalogue", "load", &table],
        vec!["stock", "load", &stock, "--preview"],
        vec!["stock", "load", &stock],
        vec!["journal", "check"],
        vec!["journal", "backup", &copy],
        vec!["stock", "list"],
        vec!["stock", "short"],
        vec!["stock", "receive", &stock],
        vec!["stock", "receive", &none],
        vec!["stock", "move", "--from", "A", "--to", "B"],
        vec!["stock", "move", "--from", "A", "--to", "B", "--count", "1", "--lot", "L7"],
        vec!["stock", "count", &none, "--shelf", "A"],
        vec!["stock", "pull", "--reason", "damaged", "--from", "A", "--count", "1"],
        vec!["stock", "recall", &recall],
        vec!["stock", "pull", "--recalled", "--write"],
        vec!["stock", "history"],
        vec!["stock", "strike", "1", "--reason", "a slip"],
        vec!["shelf", "gaps"],
        vec!["shelf", "wall", "--format", "text"],
        vec!["case", "list"],
        vec!["case", "totals"],
        span_words,
    ];
    let mut numbers = 0;
    for words in asked {
        let output = run(&words);
        assert!(matches!(output.status.code(), Some(0 | 1)), "{words:?}: {output:?}");
        let page = format!(
            "{}\n{}",
            String::from_utf8_lossy(&output.stdout),
            String::from_utf8_lossy(&output.stderr)
        );
        assert_eq!(disagreeing(&page), Vec::<String>::new(), "{words:?}:\n{page}");
        numbers += page.split_whitespace().filter(|word| *word == "1").count();
    }
    assert!(numbers > 15, "{numbers}: the room has one of everything");
}

#[test]
fn no_screen_counts_one_in_the_plural() {
    for scene in scenes::all() {
        let screen = text(&scene.hand.buffer(160, 45, Look::default()));
        assert_eq!(disagreeing(&screen), Vec::<String>::new(), "{}:\n{screen}", scene.name);
    }
}

/// The demo case, walked to its end, and its record in every form that people read.
#[test]
fn the_record_counts_one_in_the_singular() {
    let folder = tempfile::tempdir().unwrap();
    let room = folder.path().join("room");
    let run = |words: &[&str], at: &Path| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_boxcall"));
        let output = command.args(words).arg("--room").arg(at).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{words:?}: {output:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    for words in [
        &["demo", "--plain"][..],
        &["case", "show"],
        &["case", "export"],
        &["case", "list"],
        &["case", "totals"],
    ] {
        let page = run(words, &room);
        assert!(page.len() > 50, "{words:?}: {page}");
        assert_eq!(disagreeing(&page), Vec::<String>::new(), "{words:?}:\n{page}");
    }
}

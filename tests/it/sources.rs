//! The ledger of sources (`src/sources.toml`): every id that is cited is in it, every entry is cited, every check value
//! names one, and nothing is cited past it.

use crate::hand::text;
use crate::scenes;
use boxcall::sources::{Mark, cited, entries};
use boxcall::tui::view::Look;
use std::collections::BTreeSet;
use std::path::Path;

/// The words of a source column: ids, separated by `; `.
pub fn words(ids: &str) -> String {
    let entry = |id| entries().get(id).unwrap_or_else(|| panic!("{id:?} is not in src/sources.toml"));
    ids.split("; ").map(|id| entry(id).full_words()).collect::<Vec<_>>().join("; ")
}

/// Every text of the project by its path from the root: what nobody wrote (a lock file, pictures, snapshots, what a
/// script made) is left out, and so is the ledger itself.
fn texts() -> Vec<(String, String)> {
    const LEFT_OUT: [&str; 8] = [
        "target", ".git", "snapshots", "screenshots", "release", "Cargo.lock", "sources.toml",
        "LICENSE-APACHE",
    ];
    fn walk(folder: &Path, found: &mut Vec<(String, String)>) {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            let name = path.file_name().and_then(|name| name.to_str()).expect("a name");
            if LEFT_OUT.contains(&name) {
                continue;
            } else if path.is_dir() {
                walk(&path, found);
            } else if let Ok(text) = std::fs::read_to_string(&path) {
                let root = Path::new(env!("CARGO_MANIFEST_DIR"));
                found.push((path.strip_prefix(root).expect("below the root").display().to_string(), text));
            }
        }
    }
    let mut found = Vec::new();
    walk(Path::new(env!("CARGO_MANIFEST_DIR")), &mut found);
    assert!(found.len() > 300, "{} texts", found.len());
    found
}

/// The rows of a table and the ids of each: its column `source`; none where it has no such column.
fn rows(table: &str) -> Option<Vec<(&str, Vec<&str>)>> {
    let mut lines = table.lines().filter(|line| !line.starts_with('#'));
    let at = lines.next()?.split('\t').position(|column| column == "source")?;
    Some(lines.map(|line| (line, line.split('\t').nth(at).unwrap_or("").split("; ").collect())).collect())
}

/// The ids that a file cites: `cite!("id")` and `@id` of code and its comments, the column of a table, the key of a case.
fn ids_of(path: &str, text: &str) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    // Decorators, formulas and rules of a style sheet begin so too.
    let has_others = path.ends_with(".py") || path == "tests/it/svg.rs";
    let is_id = |id: &str| !has_others || entries().contains_key(id);
    ids.extend(cited(text).map(|(_, id)| id.to_string()).filter(|id| is_id(id)));
    let quoted = |text: &str, before: &str| -> Vec<String> {
        let behind = text.split(before).skip(1).filter_map(|rest| rest.split('"').next());
        behind.flat_map(|ids| ids.split("; ")).map(String::from).collect()
    };
    if path.ends_with(".rs") {
        ids.extend(quoted(text, "cite!(\""));
    } else if path.starts_with("tests/cases/") {
        ids.extend(quoted(text, "\nsource = \""));
    } else if path.starts_with("tests/data/") {
        ids.extend(rows(text).into_iter().flatten().flat_map(|(_, ids)| ids).map(String::from));
    }
    ids
}

/// This file has ids that nobody has.
const OWN: &str = "tests/it/sources.rs";

#[test]
fn every_id_is_in_the_ledger_and_every_entry_is_cited() {
    let mut used = BTreeSet::new();
    for (path, text) in texts().iter().filter(|(path, _)| path != OWN && path != "src/sources.rs") {
        for id in ids_of(path, text) {
            assert!(entries().contains_key(&id), "{path}: {id:?} is not in src/sources.toml");
            used.insert(id);
        }
    }
    let idle: Vec<&String> = entries().keys().filter(|id| !used.contains(*id)).collect();
    assert!(idle.is_empty(), "nothing cites {idle:?}");
}

#[test]
fn every_check_value_has_a_source() {
    let texts = texts();
    let of = |folder: &str| texts.iter().filter(|(path, _)| path.starts_with(folder)).collect::<Vec<_>>();
    let listed = include_str!("../data/sources.tsv");
    let mut count = 0;
    for (path, text) in of("tests/data/") {
        if let Some(rows) = rows(text) {
            for (row, ids) in rows {
                // `same` and an empty cell are in no ledger.
                ids.iter().for_each(|id| assert!(entries().contains_key(*id), "{path}: {id:?} in {row}"));
                count += 1;
            }
        } else {
            let own = text
                .lines()
                .take_while(|line| line.starts_with('#'))
                .any(|line| cited(line).next().is_some());
            let name = path.trim_start_matches("tests/data/");
            assert!(
                own || listed.lines().any(|line| line.starts_with(&format!("{name}\t"))),
                "{path}: no source"
            );
        }
    }
    assert!(count > 400, "{count} rows");
    let cases = of("tests/cases/");
    assert!(cases.len() >= 5);
    for (path, text) in cases {
        assert!(text.contains("\nsource = \""), "{path}: no source");
    }
}

#[test]
fn an_entry_says_how_far_it_can_be_answered_for() {
    let mut shorts = BTreeSet::new();
    for (id, entry) in entries() {
        let named = |text: &str| text.len() > 3 && !text.ends_with('.') && text.trim() == text;
        assert!(named(&entry.short) && named(&entry.full), "{id}");
        assert!(entry.short.chars().count() <= 72, "{id}: a screen shows {:?} in one line", entry.short);
        assert_eq!(entry.clause.is_some(), entry.mark == Mark::Standard, "{id}: a standard has its clause");
        assert!(entry.read_as.is_some() || entry.mark != Mark::Secondary, "{id}: what was read?");
        assert!(entry.read_as.is_none() || matches!(entry.mark, Mark::Read | Mark::Secondary), "{id}");
        assert!(shorts.insert(entry.short_words()), "{id}: two entries read alike on a screen");
        assert!(id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{id}");
    }
}

/// `Dodge 1992` and the like out of a citation.
fn name_and_year(citation: &str) -> impl Iterator<Item = String> {
    let words: Vec<&str> = citation.split(|c: char| c.is_whitespace() || ",;:()".contains(c)).collect();
    let pair = |pair: &[&str]| {
        let year = pair[1].len() == 4 && (pair[1].starts_with("19") || pair[1].starts_with("20"));
        let name = pair[0].chars().next().is_some_and(char::is_uppercase);
        (name && year && pair[1].parse::<u16>().is_ok()).then(|| pair.join(" "))
    };
    words.windows(2).filter_map(pair).collect::<Vec<_>>().into_iter()
}

#[test]
fn a_citation_is_written_in_the_ledger_alone() {
    let known: BTreeSet<String> = entries().values().flat_map(|entry| name_and_year(&entry.short)).collect();
    assert!(known.contains("Dodge 1992") && known.len() > 20, "{known:?}");
    for (path, text) in texts().iter().filter(|(path, _)| path != OWN) {
        for (at, line) in text.lines().enumerate() {
            let found = known.iter().find(|name| line.contains(name.as_str()));
            assert!(found.is_none(), "{path}:{}: {found:?} is cited by hand: write @id", at + 1);
        }
    }
}

#[test]
fn a_screen_shows_words_and_no_id() {
    for scene in scenes::all() {
        let screen = text(&scene.hand.buffer(160, 45, Look::default()));
        let shown = cited(&screen).find(|(_, id)| entries().contains_key(*id));
        assert!(shown.is_none(), "{}: {shown:?}", scene.name);
    }
    let policy = boxcall::policy::commented();
    assert_eq!(cited(&policy).next(), None, "{policy}");
}

/// Whoever reads the project has nothing but the project: no other document and no path of a machine is mentioned.
#[test]
fn nothing_outside_the_project_is_mentioned() {
    const OUTSIDE: [&str; 9] = [
        "design section", "sizing notes", "sizing table", "/work/", "/home/", "../shared", "the design's",
        "of the design:", "the contract's",
    ];
    let texts = texts();
    for (path, text) in texts.iter().filter(|(path, _)| path != OWN) {
        for (at, line) in text.lines().enumerate() {
            let lower = line.to_lowercase();
            let found = OUTSIDE.iter().find(|word| lower.contains(*word));
            assert!(found.is_none(), "{path}:{}: {found:?}", at + 1);
            // A page that is named is a page of the project; records are named by their case.
            for (end, _) in line.match_indices(".md") {
                let name = line[..end]
                    .rsplit(|c: char| !(c.is_alphanumeric() || "._-".contains(c)))
                    .next()
                    .unwrap_or("");
                let page = format!("{name}.md");
                let is_there = texts.iter().any(|(path, _)| path.rsplit('/').next() == Some(page.as_str()));
                let is_record = name == "record" || !name.chars().any(|c| c.is_ascii_lowercase());
                assert!(is_there || is_record, "{path}:{}: {page}", at + 1);
            }
        }
    }
}

//! What the README says of the command line is what the command line says of itself.

use boxcall::cli;
use boxcall::tui::keys::{Key, Keys};
use boxcall::tui::state::{fetch, opened, sizes};
use std::path::Path;

const BEGIN: &str = "<!-- commands -->\n";
const END: &str = "<!-- /commands -->";

fn readme() -> (std::path::PathBuf, String) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let text = std::fs::read_to_string(&file).expect("there is a README");
    (file, text)
}

/// One row a command, the commands of a command too.
fn table() -> String {
    let mut rows = String::from("| command | what it does |\n| --- | --- |\n");
    for command in cli::described().get_subcommands() {
        let about =
            |command: &clap::Command| command.get_about().map(ToString::to_string).unwrap_or_default();
        let name = command.get_name();
        if command.has_subcommands() {
            for inner in command.get_subcommands() {
                rows.push_str(&format!("| `boxcall {name} {}` | {} |\n", inner.get_name(), about(inner)));
            }
        } else {
            rows.push_str(&format!("| `boxcall {name}` | {} |\n", about(command)));
        }
    }
    rows
}

/// `UPDATE=1 cargo test --test fast readme` renews it.
#[test]
fn the_table_of_commands_is_the_command_lines_own() {
    let (file, text) = readme();
    let (before, rest) = text.split_once(BEGIN).expect("the README marks where the table begins");
    let (kept, after) = rest.split_once(END).expect("the README marks where the table ends");
    if std::env::var("UPDATE").is_ok_and(|value| value == "1") {
        std::fs::write(&file, format!("{before}{BEGIN}{}{END}{after}", table()))
            .expect("the README can be written");
        return;
    }
    assert_eq!(kept, table(), "UPDATE=1 renews the table");
}

#[test]
fn every_command_shows_an_example() {
    fn check(command: &clap::Command, path: &str) {
        for inner in command.get_subcommands() {
            let path = format!("{path} {}", inner.get_name());
            if inner.has_subcommands() {
                check(inner, &path);
            } else {
                let help = inner.get_after_help().map(ToString::to_string).unwrap_or_default();
                assert!(help.contains(&path), "{path} --help has no example of itself: {help}");
            }
        }
    }
    check(&cli::described(), "boxcall");
}

#[test]
fn the_keys_that_the_readme_names_are_keys() {
    let (_, text) = readme();
    for (spelling, place) in [
        ("F1", &sizes::PLACE),
        ("P scans", &fetch::PLACE),
        ("W a wrong", &fetch::PLACE),
        ("u", &opened::PLACE),
    ] {
        assert!(text.contains(spelling), "{spelling}");
        let key = spelling.split(' ').next().and_then(Key::spelt).expect("a key");
        assert!(Keys::default().action(place, key).is_some(), "{spelling} does nothing");
    }
}

/// Codes of errors are a promise to other programs: each that the sources name stands in the list.
#[test]
fn every_code_of_an_error_is_promised() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let promised = std::fs::read_to_string(root.join("docs/json.md")).expect("it is there");
    let (_, list) = promised.split_once("Codes: `not-found`").expect("there is a list of codes");
    let list = list.split_once("\n\n").expect("it ends").0;
    let mut sources = Vec::new();
    crate::tidy::sources(&root.join("src"), &mut sources);
    let mut codes = std::collections::BTreeSet::new();
    for (path, text) in &sources {
        let made = ["Fault::could_not(", "Fault::refused("].map(|call| text.split(call).skip(1));
        let made = made.into_iter().flatten().filter_map(|rest| rest.split_once(',')).map(|(first, _)| first);
        let of_store = path.ends_with("store/error.rs").then(|| text.split("} => (").skip(1));
        let told =
            of_store.into_iter().flatten().filter_map(|rest| rest.split_once(',')).map(|(code, _)| code);
        let code = |text: &'_ str| text.trim().strip_prefix('"')?.strip_suffix('"').map(String::from);
        let is_code = |text: &String| text.chars().all(|c| c.is_ascii_lowercase() || c == '-');
        codes.extend(made.chain(told).filter_map(code).filter(is_code));
    }
    assert!(codes.len() >= 15, "{codes:?}");
    let missing: Vec<_> = codes.iter().filter(|code| !list.contains(&format!("`{code}`"))).collect();
    assert!(missing.is_empty(), "docs/json.md does not promise {missing:?}");
}

#[test]
fn every_picture_that_is_shown_is_there() {
    let (file, text) = readme();
    let pictures = text.split("](").skip(1).filter_map(|rest| rest.split_once(')')).map(|(path, _)| path);
    let mut seen = 0;
    for picture in pictures.filter(|path| path.ends_with(".svg")) {
        assert!(file.with_file_name(picture).exists(), "{picture} is not there");
        seen += 1;
    }
    assert!(seen >= 3);
}

/// A guide that grows past a few minutes of reading is read by nobody: the tables belong in docs/.
#[test]
fn the_contributor_guide_is_short_and_every_page_that_it_links_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let guide = std::fs::read_to_string(root.join("DEVELOPERS.md")).expect("there is a DEVELOPERS.md");
    assert!(guide.len() <= 10_000, "{} bytes, at most 10,000", guide.len());
    let links = guide.split("](").skip(1).filter_map(|rest| rest.split_once(')')).map(|(path, _)| path);
    let missing: Vec<_> = links.filter(|path| !root.join(path).exists()).collect();
    assert!(missing.is_empty(), "{missing:?}");
    for page in std::fs::read_dir(root.join("docs")).expect("there are docs") {
        let name = page.expect("a page").file_name().into_string().expect("a name");
        assert!(guide.contains(&format!("(docs/{name})")), "DEVELOPERS.md does not link docs/{name}");
    }
}

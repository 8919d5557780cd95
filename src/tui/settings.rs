//! A room's settings of its screens: text in, checked settings out; and the commented file with every key.
//!
//! Nothing in it changes what fits, what is written or what is handed over: that is the protocol's business.

mod remap;

pub use super::preferences::Settings;
pub use remap::{Change, remapped};

use super::keys::{Action, Key, Keys, Place, SHARED};
use super::preferences::Background;
use super::state::places;
use crate::intake::{self, At, FileFault, Node, Table, Value, hint};
use crate::units::Decimal;

/// The name of the file in a room's folder.
pub const FILE: &str = "settings.toml";

/// One key or a list of them, as text.
struct Spellings(Vec<String>);

impl Value for Spellings {
    const WANTED: &'static str = "a key in quotes, or a list of them in brackets";
    fn take(value: &Node) -> Option<Self> {
        match value {
            Node::Array(items) => {
                let all = items.iter().map(|item| String::take(item.get_ref()));
                all.collect::<Option<Vec<String>>>().map(Spellings)
            }
            one => String::take(one).map(|one| Spellings(vec![one])),
        }
    }
}

/// Reads a settings file. What is left out keeps its default.
///
/// # Errors
/// Every fault of the file at once.
pub fn read(file: &str, text: &str) -> Result<Settings, Vec<FileFault>> {
    intake::read(file, text, |table| Some(visit(table)))
}

fn visit(table: &mut Table) -> Settings {
    let mut settings = Settings::default();
    table.schema(false);
    settings.background = table.one_of("background", Background::NAMES, Background::from_name);
    settings.decimal = table.one_of("decimal", Decimal::NAMES, Decimal::from_name);
    settings.mouse = table.optional("mouse").unwrap_or(true);
    if let Some(rows) = table.table("keys") {
        settings.keys = keys(&rows);
    }
    settings
}

/// The table of keys: every fault is told at its line.
fn keys(rows: &Table) -> Keys {
    let actions = actions();
    let known: Vec<&str> = actions.iter().map(|action| action.word()).collect();
    let mut changes = Vec::new();
    let mut places = Vec::new();
    for (word, At { value: Spellings(spellings), place }) in rows.entries() {
        let Some(action) = actions.iter().copied().find(|action| action.word() == word) else {
            rows.fault_at(&place, format!("is no action{}", hint(&word, &known)));
            continue;
        };
        let mut keys = Vec::new();
        for spelling in spellings {
            match Key::spelt(&spelling) {
                Some(key) => keys.push(key),
                None => rows.fault_at(
                    &place,
                    format!(
                        "{spelling:?} is no key: write it as F3, Enter, Ctrl+E, Space, Up or one character"
                    ),
                ),
            }
        }
        changes.push(Change { action, keys });
        places.push(place);
    }
    let (keys, faults) = remapped(&changes);
    for (change, why) in faults {
        rows.fault_at(&places[change], why);
    }
    keys
}

const HEAD: &str = "\
# How this room's screens look, and their keys. Save it as settings.toml in the room's folder.
# Every line is optional; a line that begins with # says what holds without it.
schema = 1

# The background of the terminal: \"dark\" or \"light\". Without this line: what the terminal says of
# itself (COLORFGBG), else dark. boxcall --background light does the same for once.
# background = \"dark\"

# The mark of decimals that are read on the screens: \"point\" or \"comma\". Without this line: that of the
# computer's language (LC_ALL, LC_NUMERIC, LANG). Both are always accepted where a number is typed; files and
# records have a point.
# decimal = \"point\"

# The mouse points, clicks and scrolls. With false the terminal's own selection works as ever.
# mouse = true

# Keys of each action. A line here takes the place of all keys that the action had. A key that another
# action has, that a terminal or a scanner takes, or that is text where it is pressed is refused.
[keys]
";

/// The commented file: every setting with its default, every action with its keys.
pub fn commented() -> String {
    let mut text = HEAD.to_string();
    let mut told: Vec<Action> = Vec::new();
    for place in [&SHARED].into_iter().chain(places()) {
        text.push_str(&format!("\n# {}\n", place.title));
        for row in place.rows.iter().filter(|row| !told.contains(&row.action)) {
            let keys: Vec<String> = row.action.spelt().iter().map(|key| format!("{key:?}")).collect();
            text.push_str(&format!("# {} = [{}]   # {}\n", row.action.word(), keys.join(", "), row.doc));
        }
        told.extend(place.rows.iter().map(|row| row.action));
    }
    text
}

/// Every action once, in the order of the help page.
pub fn actions() -> Vec<Action> {
    let mut actions: Vec<Action> = Vec::new();
    for row in [&SHARED].into_iter().chain(places()).flat_map(|place: &Place| place.rows) {
        if !actions.contains(&row.action) {
            actions.push(row.action);
        }
    }
    actions
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::keys::{GO_FETCH, UNDO};

    fn faults(text: &str) -> Vec<String> {
        read(FILE, text).err().unwrap_or_default().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn an_empty_file_changes_nothing() {
        let settings = read(FILE, "").expect("it reads");
        assert_eq!(settings.keys.spelling(UNDO), "u");
        assert!(settings.mouse && settings.background.is_none() && settings.decimal.is_none());
    }

    #[test]
    fn what_is_set_holds() {
        let text = "schema = 1\nbackground = \"light\"\ndecimal = \"comma\"\nmouse = false\n[keys]\nundo = \"z\"\ngo-fetch = [\"F\", \"F3\"]\n";
        let settings = read(FILE, text).expect("it reads");
        assert_eq!(settings.background, Some(Background::Light));
        assert_eq!(settings.decimal, Some(Decimal::Comma));
        assert!(!settings.mouse);
        assert_eq!(settings.keys.spelling(UNDO), "z");
        assert_eq!(settings.keys.spelling(GO_FETCH), "F");
    }

    #[test]
    fn every_fault_is_told_with_its_line_in_one_run() {
        let text = "schema = 2\nbackground = \"drak\"\nmose = true\n[keys]\nundoo = \"z\"\nmeasure = \"u\"\nfind = \"Ctrll+F\"\nleave = []\n";
        let told = faults(text);
        assert_eq!(told.len(), 7, "{told:#?}");
        for (at, (line, word)) in [
            (1, "schema 2 is not known"),
            (2, "the nearest known one is \"dark\""),
            (3, "the nearest known one is \"mouse\""),
            (5, "the nearest known one is \"undo\""),
            (6, "keys.measure: u is undo's key too (Everywhere)"),
            (7, "\"Ctrll+F\" is no key"),
            (8, "leave can't be left without a key"),
        ]
        .into_iter()
        .enumerate()
        {
            assert!(told[at].starts_with(&format!("settings.toml:{line}: ")), "{told:#?}");
            assert!(told[at].contains(word), "{word}: {told:#?}");
        }
    }

    #[test]
    fn two_actions_that_want_one_key_are_both_named() {
        let told = faults("[keys]\nwhy = \"z\"\nmeasure = \"z\"\n").join("\n");
        assert!(told.contains("keys.why: z is measure's key too"), "{told}");
        assert!(told.contains("keys.measure: z is why's key too"), "{told}");
    }

    #[test]
    fn the_commented_file_reads_as_it_is_and_with_every_line_in_force() {
        let text = commented();
        assert!(read(FILE, &text).is_ok());
        let in_force: String = text
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(rest) if rest.contains(" = ") => format!("{rest}\n"),
                _ => format!("{line}\n"),
            })
            .collect();
        assert_eq!(faults(&in_force), Vec::<String>::new());
        for action in actions() {
            assert_eq!(in_force.matches(&format!("\n{} = [", action.word())).count(), 1, "{}", action.word());
        }
    }
}

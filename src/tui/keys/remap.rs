//! Other keys for an action, as a room's settings ask for them: taken, or refused with the reason.

use super::effective::reaches;
use super::{Action, Binding, Key, Keys, Place, TABLE, taken};

/// Other keys for one action; they stand in place of all that it had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    pub action: Action,
    pub keys: Vec<Key>,
}

/// The table with these changes, and what is wrong with them: the number of the change, from 0, and why it is refused.
pub fn remapped(changes: &[Change]) -> (Keys, Vec<(usize, String)>) {
    let mut keys = Keys::default();
    for change in changes {
        keys.set(change.action, &change.keys);
    }
    let mut faults = Vec::new();
    for (index, change) in changes.iter().enumerate() {
        let Some(row) = TABLE.iter().find(|row| row.action == change.action) else { continue };
        faults.extend(own_faults(row, &change.keys).into_iter().map(|why| (index, why)));
        faults.extend(clashes(&keys, row, &change.keys).into_iter().map(|why| (index, why)));
    }
    (keys, faults)
}

/// What is wrong with these keys whatever the others are.
fn own_faults(row: &Binding, keys: &[Key]) -> Vec<String> {
    let mut faults = Vec::new();
    if keys.is_empty() && needed(row.action) {
        faults.push(format!("{} can't be left without a key", row.word()));
    }
    if !keys.is_empty() && keys.iter().all(|key| key.is_function()) && !in_menu(row) {
        faults.push("terminals and remote desktops swallow function keys: give it one that is none".into());
    }
    for key in keys {
        let had = row.keys.iter().any(|spelling| Key::spelt(spelling) == Some(*key));
        if had {
            continue;
        }
        let spelling = key.spelling();
        if let Some(why) = taken(*key) {
            faults.push(format!("{spelling} is not free: {why}"));
        } else if key.ends_a_scan() {
            faults.push(format!(
                "{spelling} is not free: it stands at the end of a scan, which confirms nothing"
            ));
        } else if let Some(c) = key.text() {
            if row.action.destroys() {
                faults.push(format!("{spelling} is a plain character, and none may take something back"));
            } else if row.action == Action::GoBailOut && (c.is_alphanumeric() || c == ' ') {
                // Bail-out reaches where text is typed as well.
                faults
                    .push(format!("{spelling} could not be typed into a field any more: take a sign for it"));
            } else if row.place.takes_text() {
                faults.push(format!("{spelling} is text there: it is typed into the fields"));
            } else if is_of_a_size(c) && matches!(row.place, Place::Everywhere | Place::Sizes) {
                faults.push(format!("{spelling} is a character of a size that is typed"));
            } else if c.is_ascii_digit() && row.place == Place::Choice {
                faults.push(format!("{spelling} is the number of an answer"));
            }
        }
    }
    faults
}

/// The other actions that have one of these keys where this one means something.
fn clashes(keys: &Keys, row: &Binding, wanted: &[Key]) -> Vec<String> {
    let mut faults = Vec::new();
    for key in wanted {
        for other in keys.all().iter().filter(|other| other.action != row.action) {
            let Some(binding) = TABLE.iter().find(|binding| binding.action == other.action) else { continue };
            if other.keys().contains(key) && meet(row, binding, *key) {
                faults.push(format!(
                    "{} is {}'s key too ({}): one key can't mean both",
                    key.spelling(),
                    binding.word(),
                    binding.place.title()
                ));
            }
        }
    }
    faults
}

/// Whether one key would mean both actions somewhere. A pair that the table itself holds is meant.
fn meet(one: &Binding, other: &Binding, key: Key) -> bool {
    let by_table = |row: &Binding| row.keys.iter().any(|spelling| Key::spelt(spelling) == Some(key));
    if by_table(one) && by_table(other) {
        return false;
    }
    match (one.place, other.place) {
        (a, b) if a == b => true,
        (Place::Everywhere, place) => reaches(one.action, place, key),
        (place, Place::Everywhere) => reaches(other.action, place, key),
        _ => false,
    }
}

/// Without these nobody gets out of a screen, out of danger, or out of a slip.
const fn needed(action: Action) -> bool {
    use Action as A;
    matches!(
        action,
        A::GoBailOut
            | A::Undo
            | A::Leave
            | A::Help
            | A::OpenMenu
            | A::TryAgain
            | A::MenuClose
            | A::BailClose
            | A::HelpClose
            | A::FormNext
            | A::FormAccept
            | A::FormAbandon
            | A::FindCall
            | A::FindClose
            | A::PlanClose
            | A::ChoiceTake
            | A::ChoiceClose
            | A::SizeCall
            | A::ReadOpened
            | A::SignOff
    )
}

/// Whether the list of screens leads there as well.
fn in_menu(row: &Binding) -> bool {
    TABLE.iter().any(|entry| entry.place == Place::Menu && row.doc.starts_with(entry.doc))
}

const fn is_of_a_size(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, 'x' | 'X' | '×' | '*' | '.' | ',' | ' ')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(action: Action, keys: &[&str]) -> Change {
        Change { action, keys: keys.iter().map(|spelling| Key::spelt(spelling).expect("a key")).collect() }
    }

    fn why_not(changes: &[Change]) -> String {
        let faults: Vec<String> = remapped(changes).1.into_iter().map(|(_, why)| why).collect();
        faults.join("; ")
    }

    #[test]
    fn a_change_takes_the_place_of_the_keys_that_were() {
        let (keys, faults) = remapped(&[change(Action::GoFetch, &["F", "F3"])]);
        assert_eq!(faults, vec![]);
        assert_eq!(keys.spelling(Action::GoFetch), "F");
        let plain = |spelling: &str| Key::spelt(spelling).expect("a key");
        assert_eq!(keys.action(Place::Sizes, plain("F")), Some(Action::GoFetch));
        let (keys, faults) = remapped(&[change(Action::Undo, &["z"])]);
        assert_eq!(faults, vec![]);
        assert_eq!(keys.action(Place::Fetch, plain("u")), None);
    }

    #[test]
    fn two_actions_may_change_places() {
        assert_eq!(why_not(&[change(Action::Measure, &["w"]), change(Action::Why, &["m"])]), "");
    }

    #[test]
    fn a_clash_names_the_other_action_wherever_they_meet() {
        // In one place; with a key of everywhere, from both sides; and bail-out even where text is typed.
        assert!(why_not(&[change(Action::Measure, &["w"])]).contains("why's key too (Sizes)"));
        assert!(why_not(&[change(Action::Measure, &["u"])]).contains("undo's key too (Everywhere)"));
        assert!(why_not(&[change(Action::Undo, &["m"])]).contains("measure's key too (Sizes)"));
        assert!(why_not(&[change(Action::MenuSizes, &["!"])]).contains("go-bail-out's key too"));
        // Two screens never meet, and a letter of everywhere does not reach into a list of answers.
        assert_eq!(why_not(&[change(Action::FetchReady, &["w"])]), "");
        assert_eq!(why_not(&[change(Action::MenuSizes, &["u"])]), "");
    }

    #[test]
    fn what_could_hurt_is_refused() {
        for (action, keys, word) in [
            (Action::Undo, &[][..], "undo can't be left without a key"),
            (Action::GoBailOut, &[], "go-bail-out can't be left without a key"),
            (Action::Leave, &[], "leave can't be left without a key"),
            (Action::Undo, &["F8"], "separator"),
            (Action::Undo, &["Ctrl+5"], "separator"),
            (Action::Leave, &["Ctrl+B"], "multiplexer"),
            (Action::Undo, &["Ctrl+S"], "flow control"),
            (Action::SignOff, &["Enter"], "end of a scan"),
            (Action::SignOff, &["Tab"], "end of a scan"),
            (Action::FetchCancel, &["c"], "plain character"),
            (Action::OpenedStrike, &["x"], "plain character"),
            (Action::FormAccept, &["a"], "text there"),
            (Action::GoBailOut, &["z"], "could not be typed"),
            (Action::Undo, &["3"], "character of a size"),
            (Action::Measure, &["x"], "character of a size"),
            (Action::Measure, &["F7"], "function keys"),
        ] {
            let why = why_not(&[change(action, keys)]);
            assert!(why.contains(word), "{action:?} {keys:?}: {why:?}");
        }
        // A screen that the list of screens leads to may do with a function key.
        assert_eq!(why_not(&[change(Action::GoFetch, &["F12"]), change(Action::TryAgain, &["R"])]), "");
    }

    #[test]
    fn the_table_itself_has_no_clash_and_no_fault() {
        let changes: Vec<Change> = TABLE.iter().map(|row| change(row.action, row.keys)).collect();
        assert_eq!(why_not(&changes), "");
        for one in TABLE {
            for other in TABLE.iter().filter(|other| other.place == Place::Everywhere) {
                let shared =
                    one.keys.iter().find(|key| other.keys.contains(key)).and_then(|key| Key::spelt(key));
                let hides = one.place != Place::Everywhere
                    && shared.is_some_and(|key| reaches(other.action, one.place, key));
                let meant = matches!(one.action, Action::FormNext | Action::FormPrevious);
                assert!(!hides || meant, "{} hides {}", one.word(), other.word());
            }
        }
    }
}

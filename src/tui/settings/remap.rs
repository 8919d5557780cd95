//! Other keys for an action, as a room's settings ask for them: taken, or refused with the reason.

use crate::tui::keys::{Action, EVERYWHERE, GO_BAIL_OUT, Key, Keys, Place, taken};
use crate::tui::state::{ask, menu, places, sizes};

/// Other keys for one action; they stand in place of all that it had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    pub action: Action,
    pub keys: Vec<Key>,
}

/// The keys with these changes, and what is wrong with them: the number of the change, from 0, and why it is refused.
pub fn remapped(changes: &[Change]) -> (Keys, Vec<(usize, String)>) {
    let mut keys = Keys::default();
    for change in changes {
        keys.set(change.action, &change.keys);
    }
    let faults = |change: &Change| [own_faults(change), clashes(&keys, change)].concat();
    let faults: Vec<(usize, String)> = changes
        .iter()
        .enumerate()
        .flat_map(|(index, change)| faults(change).into_iter().map(move |why| (index, why)))
        .collect();
    (keys, faults)
}

fn is_own(action: Action, key: Key) -> bool {
    action.spelt().iter().any(|spelling| Key::spelt(spelling) == Some(key))
}

/// What is wrong with these keys whatever the others are.
fn own_faults(Change { action, keys }: &Change) -> Vec<String> {
    let places: Vec<&Place> = places().into_iter().filter(|place| place.has(*action)).collect();
    let mut faults = Vec::new();
    if keys.is_empty() && action.is_needed() {
        faults.push(format!("{} can't be left without a key", action.word()));
    }
    if !keys.is_empty() && keys.iter().all(|key| key.is_function()) && !in_menu(*action) {
        faults.push("terminals and remote desktops swallow function keys: give it one that is none".into());
    }
    for key in keys.iter().filter(|key| !is_own(*action, **key)) {
        let spelling = key.spelling();
        if let Some(why) = taken(*key) {
            faults.push(format!("{spelling} is not free: {why}"));
        } else if key.ends_a_scan() {
            faults.push(format!(
                "{spelling} is not free: it stands at the end of a scan, which confirms nothing"
            ));
        } else if let Some(c) = key.text() {
            if action.destroys() {
                faults.push(format!("{spelling} is a plain character, and none may take something back"));
            } else if *action == GO_BAIL_OUT && (c.is_alphanumeric() || c == ' ') {
                // Bail-out reaches where text is typed as well.
                faults
                    .push(format!("{spelling} could not be typed into a field any more: take a sign for it"));
            } else if places.iter().any(|place| place.takes_text())
                && keys.iter().all(|key| key.text().is_some())
            {
                faults.push(format!("{spelling} is text there: it is typed into the fields"));
            } else if is_of_a_size(c)
                && places.iter().any(|place| [&EVERYWHERE, &sizes::PLACE].contains(place))
            {
                faults.push(format!("{spelling} is a character of a size that is typed"));
            } else if c.is_ascii_digit() && places.contains(&&ask::CHOICE) {
                faults.push(format!("{spelling} is the number of an answer"));
            }
        }
    }
    faults
}

/// The other actions that have one of these keys where this one means something. A pair that the tables themselves
/// hold is meant.
fn clashes(keys: &Keys, Change { action, keys: wanted }: &Change) -> Vec<String> {
    let mut faults: Vec<String> = Vec::new();
    for key in wanted {
        let has = |other: Action| other != *action && keys.of(other).contains(key);
        for place in places() {
            let beyond = place
                .beyond()
                .into_iter()
                .flat_map(|beyond| beyond.rows.iter().map(move |row| (beyond, row)));
            let here: Vec<(&Place, Action)> = place
                .rows
                .iter()
                .map(|row| (place, row))
                .chain(beyond)
                .map(|(of, row)| (of, row.action))
                .filter(|(of, action)| *of == place || place.is_reached(*action, *key))
                .collect();
            if !here.iter().any(|(_, here)| here == action) || place.takes_text() && is_typed(*action, *key) {
                continue;
            }
            for (of, other) in here.into_iter().filter(|(_, other)| has(*other)) {
                if !(is_own(*action, *key) && is_own(other, *key)) {
                    faults.push(format!(
                        "{} is {}'s key too ({}): one key can't mean both",
                        key.spelling(),
                        other.word(),
                        of.title
                    ));
                }
            }
        }
    }
    let mut told = std::collections::HashSet::new();
    faults.retain(|fault| told.insert(fault.clone()));
    faults
}

/// Where text is typed only bail-out has a plain character.
fn is_typed(action: Action, key: Key) -> bool {
    key.text().is_some() && action != GO_BAIL_OUT
}

/// Whether the list of screens leads there as well.
fn in_menu(action: Action) -> bool {
    let docs = EVERYWHERE.rows.iter().filter(|row| row.action == action).map(|row| row.doc);
    docs.into_iter().any(|doc| menu::PLACE.rows.iter().any(|entry| doc.starts_with(entry.doc)))
}

const fn is_of_a_size(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, 'x' | 'X' | '×' | '*' | '.' | ',' | ' ')
}

#[cfg(test)]
mod tests {
    use super::super::actions;
    use super::*;
    use crate::tui::keys::*;
    use crate::tui::state::{case_end, fetch, opened};

    fn change(action: Action, keys: &[&str]) -> Change {
        Change { action, keys: keys.iter().map(|spelling| Key::spelt(spelling).expect("a key")).collect() }
    }

    fn why_not(changes: &[Change]) -> String {
        let faults: Vec<String> = remapped(changes).1.into_iter().map(|(_, why)| why).collect();
        faults.join("; ")
    }

    #[test]
    fn a_change_takes_the_place_of_the_keys_that_were() {
        let (keys, faults) = remapped(&[change(GO_FETCH, &["F", "F3"])]);
        assert_eq!(faults, vec![]);
        assert_eq!(keys.spelling(GO_FETCH), "F");
        let plain = |spelling: &str| Key::spelt(spelling).expect("a key");
        assert_eq!(keys.action(&sizes::PLACE, plain("F")), Some(GO_FETCH));
        let (keys, faults) = remapped(&[change(UNDO, &["z"])]);
        assert_eq!(faults, vec![]);
        assert_eq!(keys.action(&fetch::PLACE, plain("u")), None);
    }

    #[test]
    fn two_actions_may_change_places() {
        assert_eq!(why_not(&[change(sizes::MEASURE, &["w"]), change(sizes::WHY, &["m"])]), "");
    }

    #[test]
    fn a_clash_names_the_other_action_wherever_they_meet() {
        // In one place; with a key of everywhere, from both sides; and bail-out even where text is typed.
        assert!(why_not(&[change(sizes::MEASURE, &["w"])]).contains("why's key too (Sizes)"));
        assert!(why_not(&[change(sizes::MEASURE, &["u"])]).contains("undo's key too (Everywhere)"));
        assert!(why_not(&[change(UNDO, &["m"])]).contains("measure's key too (Sizes)"));
        assert!(why_not(&[change(menu::PLACE.rows[0].action, &["!"])]).contains("go-bail-out's key too"));
        // Two screens never meet, and a letter of everywhere does not reach into a list of answers.
        assert_eq!(why_not(&[change(fetch::READY, &["w"])]), "");
        assert_eq!(why_not(&[change(menu::PLACE.rows[0].action, &["u"])]), "");
    }

    #[test]
    fn what_could_hurt_is_refused() {
        for (action, keys, word) in [
            (UNDO, &[][..], "undo can't be left without a key"),
            (GO_BAIL_OUT, &[], "go-bail-out can't be left without a key"),
            (LEAVE, &[], "leave can't be left without a key"),
            (UNDO, &["F8"], "separator"),
            (UNDO, &["Ctrl+5"], "separator"),
            (LEAVE, &["Ctrl+B"], "multiplexer"),
            (UNDO, &["Ctrl+S"], "flow control"),
            (case_end::SIGN_OFF, &["Enter"], "end of a scan"),
            (case_end::SIGN_OFF, &["Tab"], "end of a scan"),
            (fetch::CANCEL, &["c"], "plain character"),
            (opened::STRIKE, &["x"], "plain character"),
            (ACCEPT, &["a"], "text there"),
            (GO_BAIL_OUT, &["z"], "could not be typed"),
            (UNDO, &["3"], "character of a size"),
            (sizes::MEASURE, &["x"], "character of a size"),
            (sizes::MEASURE, &["F7"], "function keys"),
        ] {
            let why = why_not(&[change(action, keys)]);
            assert!(why.contains(word), "{action:?} {keys:?}: {why:?}");
        }
        // A screen that the list of screens leads to may do with a function key.
        assert_eq!(why_not(&[change(GO_FETCH, &["F12"]), change(TRY_AGAIN, &["R"])]), "");
    }

    #[test]
    fn the_tables_themselves_have_no_clash_and_no_fault() {
        let changes: Vec<Change> =
            actions().into_iter().map(|action| change(action, action.spelt())).collect();
        assert_eq!(why_not(&changes), "");
        for place in places().into_iter().filter(|place| place.beyond().is_some()) {
            for row in place.rows {
                for key in row.action.spelt().iter().filter_map(|key| Key::spelt(key)) {
                    let hidden = Keys::default().own(&EVERYWHERE, key);
                    let hides = hidden.is_some_and(|other| place.is_reached(other, key));
                    let meant = [ask::NEXT, ask::PREVIOUS].contains(&row.action);
                    assert!(!hides || meant, "{} hides {hidden:?} in {}", row.action.word(), place.title);
                }
            }
        }
    }

    #[test]
    fn every_spelling_is_a_key_and_none_stands_twice_in_a_place() {
        for place in places() {
            let mut seen = std::collections::HashSet::new();
            for spelling in place.rows.iter().flat_map(|row| row.action.spelt()) {
                let key = Key::spelt(spelling).unwrap_or_else(|| panic!("{spelling} is no key"));
                assert_eq!(key.spelling(), *spelling, "one spelling for one key");
                assert!(seen.insert(key), "{spelling} stands twice in {}", place.title);
                assert_eq!(taken(key), None, "{spelling} in {}", place.title);
            }
        }
    }

    #[test]
    fn every_function_key_has_a_second_way() {
        for action in actions() {
            let plain = action.spelt().iter().any(|key| !Key::spelt(key).is_some_and(Key::is_function));
            assert!(plain || in_menu(action), "{} has no second way", action.word());
        }
    }

    #[test]
    fn no_plain_letter_destroys_anything() {
        for action in actions().into_iter().filter(|action| action.destroys()) {
            let letters =
                action.spelt().iter().filter(|key| Key::spelt(key).is_some_and(|key| key.text().is_some()));
            assert_eq!(letters.count(), 0, "{}", action.word());
        }
    }

    #[test]
    fn every_action_has_a_word_of_its_own_and_every_place_a_title() {
        let words: std::collections::HashSet<&str> =
            actions().into_iter().map(|action| action.word()).collect();
        assert_eq!(words.len(), actions().len());
        assert!(words.contains("go-read-back") && words.contains("choice-1"));
        let titles: std::collections::HashSet<&str> = places().iter().map(|place| place.title).collect();
        assert_eq!(titles.len(), places().len());
    }

    #[test]
    fn letters_are_text_where_text_is_typed_and_bail_out_still_reaches() {
        let keys = Keys::default();
        let action = |place: &Place, spelling| keys.action(place, Key::spelt(spelling).expect("a key"));
        assert_eq!(action(&ask::FIELDS, "u"), None);
        assert_eq!(action(&ask::FIELDS, "!"), Some(GO_BAIL_OUT));
        assert_eq!(action(&ask::CHOICE, "u"), None);
        assert_eq!(action(&sizes::PLACE, "u"), Some(UNDO));
    }

    #[test]
    fn a_letter_may_move_in_every_list_and_stays_text_where_text_is_typed() {
        let (keys, faults) = remapped(&[change(DOWN, &["↓", "j"])]);
        assert_eq!(faults, vec![]);
        let plain = |spelling: &str| Key::spelt(spelling).expect("a key");
        assert_eq!(keys.action(&fetch::PLACE, plain("j")), Some(DOWN));
        assert_eq!(keys.action(&ask::FIELDS, plain("j")), None);
        assert!(why_not(&[change(DOWN, &["j"])]).contains("text there"));
    }
}

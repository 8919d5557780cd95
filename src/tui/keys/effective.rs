//! The table as it is in force in this room: the keys of `TABLE`, or those of the settings file.

use super::{Action, Binding, Key, Place, TABLE};

/// One row of the table in force.
#[derive(Debug, Clone)]
pub struct Row {
    pub action: Action,
    pub place: Place,
    /// The word in the footer; empty: not shown there.
    pub short: &'static str,
    /// The line of help.
    pub doc: &'static str,
    keys: Vec<Key>,
}

impl Row {
    fn of(binding: &Binding) -> Self {
        let keys = binding.keys.iter().filter_map(|spelling| Key::spelt(spelling)).collect();
        Row { action: binding.action, place: binding.place, short: binding.short, doc: binding.doc, keys }
    }

    pub fn keys(&self) -> &[Key] {
        &self.keys
    }

    /// How its keys are spelt, the first one first.
    pub fn spellings(&self) -> Vec<String> {
        self.keys.iter().map(|key| key.spelling()).collect()
    }

    /// The spelling that a line of text names; empty where the room took every key away.
    pub fn first(&self) -> String {
        self.keys.first().map(|key| key.spelling()).unwrap_or_default()
    }
}

/// The keys in force.
#[derive(Debug, Clone)]
pub struct Keys {
    rows: Vec<Row>,
}

impl Default for Keys {
    fn default() -> Self {
        Keys { rows: TABLE.iter().map(Row::of).collect() }
    }
}

impl Keys {
    /// Gives an action other keys. What they must not be is `remapped`'s business.
    pub(super) fn set(&mut self, action: Action, keys: &[Key]) {
        if let Some(row) = self.rows.iter_mut().find(|row| row.action == action) {
            row.keys.clear();
            for key in keys {
                if !row.keys.contains(key) {
                    row.keys.push(*key);
                }
            }
        }
    }

    /// The rows of one place, in the order of the table.
    pub fn rows(&self, place: Place) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(move |row| row.place == place)
    }

    pub fn all(&self) -> &[Row] {
        &self.rows
    }

    /// The spelling of the first key of an action, for a line of text that names it.
    pub fn spelling(&self, action: Action) -> String {
        self.rows.iter().find(|row| row.action == action).map(Row::first).unwrap_or_default()
    }

    /// What a key does in this place: its own keys first, then those of everywhere that reach it.
    pub fn action(&self, place: Place, key: Key) -> Option<Action> {
        let own = self.find(place, key);
        let everywhere = || self.find(Place::Everywhere, key).filter(|action| reaches(*action, place, key));
        own.or_else(everywhere)
    }

    fn find(&self, place: Place, key: Key) -> Option<Action> {
        self.rows.iter().find(|row| row.place == place && row.keys.contains(&key)).map(|row| row.action)
    }
}

/// Whether a key of everywhere means its action in this place. Where characters are text or answers, only keys
/// that are no characters do, and the keys of bail-out.
pub(super) fn reaches(action: Action, place: Place, key: Key) -> bool {
    let characters_are_its_own = place.takes_text() || place.stands_alone();
    !characters_are_its_own || key.text().is_none() || action == Action::GoBailOut
}

#[cfg(test)]
mod tests {
    use super::*;

    fn action(place: Place, spelling: &str) -> Option<Action> {
        Keys::default().action(place, Key::spelt(spelling).expect("a key"))
    }

    #[test]
    fn letters_are_text_where_text_is_typed_and_bail_out_still_reaches() {
        assert_eq!(action(Place::Form, "u"), None);
        assert_eq!(action(Place::Form, "!"), Some(Action::GoBailOut));
        assert_eq!(action(Place::Find, "F9"), Some(Action::GoBailOut));
        assert_eq!(action(Place::Choice, "u"), None);
        assert_eq!(action(Place::Sizes, "u"), Some(Action::Undo));
    }
}

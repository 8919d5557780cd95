//! Actions, their keys, and the places where they mean something: dispatch, the help page and the footer are read
//! from the tables that the places are made of. The names of keys are spelt here and in those tables alone.
//!
//! No action needs a chord: what a multiplexer, a browser, a screen reader or a scanner takes for itself
//! (`keys/taken.rs`) is left to them. A room may give an action other keys.

mod key;
mod taken;

pub use key::Key;
pub use taken::taken;

/// Something that a key does, wherever a place has a row for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Action {
    word: &'static str,
    keys: &'static [&'static str],
    weight: Weight,
    decides: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Weight {
    Plain,
    /// Without it nobody gets out of a screen, out of danger, or out of a mistake.
    Needed,
    /// Takes something back or out of the record: no plain letter may do that.
    Destroys,
}

impl Action {
    /// `word` names it in the settings file; `keys` are those that it has unless the room gives it others.
    pub const fn new(word: &'static str, keys: &'static [&'static str]) -> Self {
        Action { word, keys, weight: Weight::Plain, decides: false }
    }

    pub const fn needed(word: &'static str, keys: &'static [&'static str]) -> Self {
        Action { word, keys, weight: Weight::Needed, decides: false }
    }

    pub const fn destroying(word: &'static str, keys: &'static [&'static str]) -> Self {
        Action { word, keys, weight: Weight::Destroys, decides: false }
    }

    /// The same, which decides about a box: it rests for a moment after the screen has changed.
    pub const fn deciding(self) -> Self {
        Action { decides: true, ..self }
    }

    pub const fn decides(self) -> bool {
        self.decides
    }

    pub const fn word(self) -> &'static str {
        self.word
    }

    pub const fn is_needed(self) -> bool {
        matches!(self.weight, Weight::Needed)
    }

    pub const fn destroys(self) -> bool {
        matches!(self.weight, Weight::Destroys)
    }

    /// How its keys are spelt unless the room gives it others.
    pub const fn spelt(self) -> &'static [&'static str] {
        self.keys
    }

    /// What it does in one place: the word in the footer (empty: not shown there) and the line of help.
    pub const fn row(self, short: &'static str, doc: &'static str) -> Row {
        Row { action: self, short, doc, wide: false }
    }
}

/// An action in one place.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    pub action: Action,
    pub short: &'static str,
    pub doc: &'static str,
    wide: bool,
}

impl Row {
    /// The footer has room for its word only on a screen wider than the smallest.
    pub const fn wide(self) -> Self {
        Row { wide: true, ..self }
    }

    pub const fn is_wide(&self) -> bool {
        self.wide
    }
}

/// What a plain letter means in a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Letters {
    /// What this place says, else what it means everywhere.
    Shared,
    /// What this place says, or nothing.
    Own,
    /// Itself: text is typed.
    Text,
}

/// Where a key means something.
#[derive(Debug)]
pub struct Place {
    /// The heading of this place on the help page; no other place has it.
    pub title: &'static str,
    letters: Letters,
    pub rows: &'static [Row],
    /// The keys that mean something here as well.
    beyond: Option<&'static Place>,
}

impl PartialEq for Place {
    fn eq(&self, other: &Self) -> bool {
        self.title == other.title
    }
}

impl Eq for Place {}

impl Place {
    pub const fn new(title: &'static str, letters: Letters, rows: &'static [Row]) -> Self {
        Place { title, letters, rows, beyond: None }
    }

    /// The same, where the keys of `beyond` mean something as well.
    pub const fn within(self, beyond: &'static Place) -> Self {
        Place { beyond: Some(beyond), ..self }
    }

    pub const fn takes_text(&self) -> bool {
        matches!(self.letters, Letters::Text)
    }

    pub const fn has_own_letters(&self) -> bool {
        !matches!(self.letters, Letters::Shared)
    }

    pub const fn beyond(&self) -> Option<&'static Place> {
        self.beyond
    }

    pub fn has(&self, action: Action) -> bool {
        self.rows.iter().any(|row| row.action == action)
    }

    /// Whether a key of everywhere means its action in this place. Where characters are text or answers, only keys
    /// that are no characters do, and the keys of bail-out.
    pub fn is_reached(&self, action: Action, key: Key) -> bool {
        !self.has_own_letters() || key.text().is_none() || action == GO_BAIL_OUT
    }
}

/// The keys in force: those of the actions, or those of the room's settings file.
#[derive(Debug, Clone, Default)]
pub struct Keys {
    changed: Vec<(Action, Vec<Key>)>,
}

impl Keys {
    /// Gives an action other keys, in place of all that it had.
    pub fn set(&mut self, action: Action, keys: &[Key]) {
        let mut own: Vec<Key> = Vec::new();
        keys.iter().for_each(|key| {
            if !own.contains(key) {
                own.push(*key)
            }
        });
        self.changed.retain(|(changed, _)| *changed != action);
        self.changed.push((action, own));
    }

    pub fn of(&self, action: Action) -> Vec<Key> {
        match self.changed.iter().find(|(changed, _)| *changed == action) {
            Some((_, keys)) => keys.clone(),
            None => action.keys.iter().filter_map(|spelling| Key::spelt(spelling)).collect(),
        }
    }

    /// How its keys are spelt, the first one first.
    pub fn spellings(&self, action: Action) -> Vec<String> {
        self.of(action).into_iter().map(Key::spelling).collect()
    }

    /// The spelling that a line of text names; empty where the room took every key away.
    pub fn spelling(&self, action: Action) -> String {
        self.spellings(action).into_iter().next().unwrap_or_default()
    }

    /// What a key does in this place: its own keys first, then those beyond it that reach it.
    pub fn action(&self, place: &Place, key: Key) -> Option<Action> {
        let beyond = || self.own(place.beyond?, key).filter(|action| place.is_reached(*action, key));
        self.own(place, key).or_else(beyond)
    }

    /// What a key does by the rows of this place alone.
    pub fn own(&self, place: &Place, key: Key) -> Option<Action> {
        let is_text = place.takes_text() && key.text().is_some();
        let mut actions = place.rows.iter().map(|row| row.action).filter(|_| !is_text);
        actions.find(|action| self.of(*action).contains(&key))
    }
}

// The actions of every list, text and form.
pub const UP: Action = Action::new("up", &["↑"]);
pub const DOWN: Action = Action::new("down", &["↓"]);
pub const LEFT: Action = Action::new("left", &["←"]);
pub const RIGHT: Action = Action::new("right", &["→"]);
pub const PAGE_UP: Action = Action::new("page-up", &["PgUp"]);
pub const PAGE_DOWN: Action = Action::new("page-down", &["PgDn"]);
pub const ERASE: Action = Action::new("erase", &["Backspace"]);
pub const ACCEPT: Action = Action::needed("accept", &["Enter"]);
pub const CLOSE: Action = Action::needed("close", &["Esc"]);

/// What they do, for the settings file.
pub static SHARED: Place = Place::new(
    "In every list, text and form",
    Letters::Shared,
    &[
        UP.row("", "the one before, or further up"),
        DOWN.row("", "the next one, or further down"),
        LEFT.row("", "to the left"),
        RIGHT.row("", "to the right"),
        PAGE_UP.row("", "a page further up"),
        PAGE_DOWN.row("", "a page further down"),
        ERASE.row("", "take back the last character"),
        ACCEPT.row("", "take the one under the cursor, or what stands in the fields"),
        CLOSE.row("", "back, or nothing of it"),
    ],
);

// The actions of everywhere.
pub const HELP: Action = Action::needed("help", &["F1", "?"]);
pub const GO_SIZES: Action = Action::new("go-sizes", &["F2"]);
pub const GO_FETCH: Action = Action::new("go-fetch", &["F3"]);
pub const GO_READ_BACK: Action = Action::new("go-read-back", &["F4"]);
pub const GO_OPENED: Action = Action::new("go-opened", &["F5"]);
pub const GO_CASE_END: Action = Action::new("go-case-end", &["F6"]);
pub const GO_SHELF: Action = Action::new("go-shelf", &["F7"]);
pub const GO_BAIL_OUT: Action = Action::needed("go-bail-out", &["F9", "!"]);
pub const OPEN_MENU: Action = Action::needed("open-menu", &["g"]);
pub const NEXT_SCREEN: Action = Action::new("next-screen", &["Tab"]);
pub const PREVIOUS_SCREEN: Action = Action::new("previous-screen", &["Shift+Tab"]);
pub const UNDO: Action = Action::needed("undo", &["u"]);
pub const BEGIN_CASE: Action = Action::new("begin-case", &["n"]);
pub const OTHER_CASE: Action = Action::new("other-case", &["N"]);
pub const CONFIRM_DATE: Action = Action::new("confirm-date", &["D"]);
pub const TRY_AGAIN: Action = Action::needed("try-again", &["R", "F12"]);
pub const PRACTISE: Action = Action::new("practise", &["P"]);
pub const PRACTISE_WRONG: Action = Action::new("practise-wrong", &["W"]);
pub const LEAVE: Action = Action::needed("leave", &["Q"]);

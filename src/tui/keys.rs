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

/// A place and the actions that it declares, a key a line:
/// `NAME = kind("word", ["key"]) => "hint of the footer", "line of the help page"`; an action that is declared elsewhere
/// stands without its word and keys. A hint that needs more than the smallest screen ends with `wide`.
macro_rules! place {
    ($place:ident: $title:literal, $letters:ident $(, within $beyond:ident)?;
        $($action:ident $(= $kind:ident($word:literal, [$($key:literal),*]) $(. $how:ident())*)?
            => $short:literal, $doc:literal $(, $wide:ident)?;)*) => {
        $($(pub const $action: Action = Action::$kind($word, &[$($key),*]) $(.$how())*;)?)*

        pub static $place: Place =
            Place::new($title, Letters::$letters, &[$($action.row($short, $doc) $(.$wide())?),*])
                $(.within(&$beyond))?;
    };
}

pub(super) use place;

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
                own.push(*key);
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

// The actions of every list, text and form, as the settings file has them.
place! {
    SHARED: "In every list, text and form", Shared;
    UP = new("up", ["↑"]) => "", "the one before, or further up";
    DOWN = new("down", ["↓"]) => "", "the next one, or further down";
    LEFT = new("left", ["←"]) => "", "to the left";
    RIGHT = new("right", ["→"]) => "", "to the right";
    PAGE_UP = new("page-up", ["PgUp"]) => "", "a page further up";
    PAGE_DOWN = new("page-down", ["PgDn"]) => "", "a page further down";
    ERASE = new("erase", ["Backspace"]) => "", "take back the last character";
    ACCEPT = needed("accept", ["Enter"]) => "", "take the one under the cursor, or what stands in the fields";
    CLOSE = needed("close", ["Esc"]) => "", "back, or nothing of it";
}

// What keys do on every screen.
place! {
    EVERYWHERE: "Everywhere", Shared;
    HELP = needed("help", ["F1", "?"]) => "help", "this page";
    GO_SIZES = new("go-sizes", ["F2"]) => "", "Sizes: what was measured, what fits and why; call a size";
    GO_FETCH = new("go-fetch", ["F3"]) => "", "Fetch: what to bring, where it lies, what to say back";
    GO_READ_BACK = new("go-read-back", ["F4"]) => "", "Read-back: the box's label against the call";
    GO_OPENED = new("go-opened", ["F5"]) => "", "Opened: every box, its inflations, what became of it";
    GO_CASE_END = new("go-case-end", ["F6"])
        => "", "Case end: what is unsettled, totals, sign-off, the record";
    GO_SHELF = new("go-shelf", ["F7"]) => "", "Shelf: pieces, what runs out or expires, gaps";
    GO_BAIL_OUT = needed("go-bail-out", ["F9", "!"])
        => "bail-out", "Bail-out: covered stents and where they lie, from everywhere", wide;
    OPEN_MENU = needed("open-menu", ["g"])
        => "go to", "go to a screen by a letter, where function keys are not to be had", wide;
    NEXT_SCREEN = new("next-screen", ["Tab"]) => "", "the next screen";
    PREVIOUS_SCREEN = new("previous-screen", ["Shift+Tab"]) => "", "the screen before";
    UNDO = needed("undo", ["u"]) => "undo", "strike out the last thing written in this case", wide;
    BEGIN_CASE = new("begin-case", ["n"]) => "", "begin a case; an earlier one may still await its sign-off";
    OTHER_CASE = new("other-case", ["N"]) => "", "work on another case that is not signed off";
    CONFIRM_DATE = new("confirm-date", ["D"])
        => "", "the computer's date is in doubt: confirm it, with a reason";
    TRY_AGAIN = needed("try-again", ["R", "F12"])
        => "", "try again to save what waits; lists it where the disk still refuses";
    PRACTISE = new("practise", ["P"]) => "", "demo room: scan the box that was called, as a scanner would";
    PRACTISE_WRONG = new("practise-wrong", ["W"])
        => "", "demo room: scan a box that looks like it and is not";
    LEAVE = needed("leave", ["Q"]) => "", "leave boxcall; asks first where something is not saved";
}

//! The one table of keys: dispatch, the help page and the footer are read from it. Nothing else spells a key.
//!
//! No action needs a chord: what a multiplexer, a browser, a screen reader or a scanner takes for itself
//! (`keys/taken.rs`) is left to them. A room may give an action other keys (`keys/effective.rs`).

mod effective;
mod key;
mod remap;
mod taken;

pub use effective::{Keys, Row};
pub use key::Key;
pub use remap::{Change, remapped};
pub use taken::taken;

/// Where a key means something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Place {
    Everywhere,
    Sizes,
    Fetch,
    ReadBack,
    Opened,
    CaseEnd,
    Shelf,
    BailOut,
    Help,
    /// The list of screens that opens over a screen.
    Menu,
    /// Fields that are being typed into.
    Form,
    /// The list that answers `/`.
    Find,
    /// A question with numbered answers.
    Choice,
    /// The plans for a long lesion.
    Plans,
    /// The list of what is not saved.
    Unsaved,
    /// The whole arithmetic of a verdict.
    Why,
    /// The demo room's first page.
    Welcome,
    /// What an empty room still needs.
    FirstSteps,
    /// Lines that show what would be written, or what is wrong.
    Sheet,
    /// The page that shows what a scanner sends.
    Trial,
    /// Boxes are scanned to be received, counted or moved.
    Tally,
    /// What those boxes come to, before it is written.
    Sum,
    /// The second monitor.
    Far,
}

impl Place {
    pub const ALL: &'static [Place] = &[
        Place::Everywhere,
        Place::Sizes,
        Place::Fetch,
        Place::ReadBack,
        Place::Opened,
        Place::CaseEnd,
        Place::Shelf,
        Place::BailOut,
        Place::Help,
        Place::Menu,
        Place::Form,
        Place::Find,
        Place::Choice,
        Place::Plans,
        Place::Unsaved,
        Place::Why,
        Place::Welcome,
        Place::FirstSteps,
        Place::Sheet,
        Place::Trial,
        Place::Tally,
        Place::Sum,
        Place::Far,
    ];

    /// The heading of this place on the help page.
    pub const fn title(self) -> &'static str {
        match self {
            Place::Everywhere => "Everywhere",
            Place::Sizes => "Sizes",
            Place::Fetch => "Fetch",
            Place::ReadBack => "Read-back",
            Place::Opened => "Opened",
            Place::CaseEnd => "Case end",
            Place::Shelf => "Shelf",
            Place::BailOut => "Bail-out",
            Place::Help => "Help",
            Place::Menu => "Go to",
            Place::Form => "While typing into fields",
            Place::Find => "While finding",
            Place::Choice => "While choosing",
            Place::Plans => "Plans for a long lesion",
            Place::Unsaved => "What is not saved",
            Place::Why => "While reading the arithmetic",
            Place::Welcome => "The demo room's first page",
            Place::FirstSteps => "First steps",
            Place::Sheet => "What would be written, or is wrong",
            Place::Trial => "Trying a scanner",
            Place::Tally => "While boxes are received, counted or moved",
            Place::Sum => "Before they are written",
            Place::Far => "On a second monitor: boxcall far",
        }
    }

    /// Plain characters are text here, so keys of `Everywhere` that are plain letters do not reach.
    pub const fn takes_text(self) -> bool {
        matches!(self, Place::Form | Place::Find | Place::Trial)
    }

    /// A plain letter means what this place says, or nothing.
    pub const fn stands_alone(self) -> bool {
        matches!(
            self,
            Place::Menu
                | Place::Choice
                | Place::Plans
                | Place::Unsaved
                | Place::Why
                | Place::Sheet
                | Place::Tally
                | Place::Sum
        )
    }
}

macro_rules! actions {
    ($($action:ident: $place:ident, [$($key:literal),+], $short:literal, $doc:literal;)+) => {
        /// Everything that a key can do.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Action { $($action),+ }

        /// The table: action, place, keys, the word in the footer (empty: not shown there), the line of help.
        pub const TABLE: &[Binding] = &[
            $(Binding {
                action: Action::$action,
                name: stringify!($action),
                place: Place::$place,
                keys: &[$($key),+],
                short: $short,
                doc: $doc,
            }),+
        ];
    };
}

/// One row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    pub action: Action,
    name: &'static str,
    pub place: Place,
    pub keys: &'static [&'static str],
    pub short: &'static str,
    pub doc: &'static str,
}

actions! {
    Help: Everywhere, ["F1", "?"], "help", "this page";
    GoSizes: Everywhere, ["F2"], "", "Sizes: what was measured, what fits and why; call a size";
    GoFetch: Everywhere, ["F3"], "", "Fetch: what to bring, where it lies, what to say back";
    GoReadBack: Everywhere, ["F4"], "", "Read-back: the box's label against the call";
    GoOpened: Everywhere, ["F5"], "", "Opened: every box, its inflations, what became of it";
    GoCaseEnd: Everywhere, ["F6"], "", "Case end: what is unsettled, totals, sign-off, the record";
    GoShelf: Everywhere, ["F7"], "", "Shelf: pieces, what runs out or expires, gaps";
    GoBailOut: Everywhere, ["F9", "!"], "bail-out", "Bail-out: covered stents and where they lie, from everywhere";
    OpenMenu: Everywhere, ["g"], "go to", "go to a screen by a letter, where function keys are not to be had";
    NextScreen: Everywhere, ["Tab"], "", "the next screen";
    PreviousScreen: Everywhere, ["Shift+Tab"], "", "the screen before";
    Undo: Everywhere, ["u"], "undo", "strike out the last thing written in this case";
    BeginCase: Everywhere, ["n"], "", "begin a case; an earlier one may still await its sign-off";
    OtherCase: Everywhere, ["N"], "", "work on another case that is not signed off";
    ConfirmDate: Everywhere, ["D"], "", "the computer's date is in doubt: confirm it, with a reason";
    TryAgain: Everywhere, ["R", "F12"], "", "try again to save what waits; lists it where the disk still refuses";
    Practise: Everywhere, ["P"], "", "demo room: scan the box that was called, as a scanner would";
    PractiseWrong: Everywhere, ["W"], "", "demo room: scan a box that looks like it and is not";
    Leave: Everywhere, ["Q"], "", "leave boxcall; asks first where something is not saved";

    MenuSizes: Menu, ["s"], "sizes", "Sizes";
    MenuFetch: Menu, ["f"], "fetch", "Fetch";
    MenuReadBack: Menu, ["r"], "read-back", "Read-back";
    MenuOpened: Menu, ["o"], "opened", "Opened";
    MenuCaseEnd: Menu, ["e"], "case end", "Case end";
    MenuShelf: Menu, ["h"], "shelf", "Shelf";
    MenuBailOut: Menu, ["b"], "bail-out", "Bail-out";
    MenuHelp: Menu, ["k"], "keys", "Help";
    MenuTour: Menu, ["t"], "tour", "Tour of the demo room: take it up, or leave it";
    MenuFirst: Menu, ["1"], "first steps", "First steps";
    MenuLeave: Menu, ["q"], "leave", "leave boxcall";
    MenuClose: Menu, ["Esc"], "back", "stay here";

    SizeCall: Sizes, ["Enter"], "call", "call the size typed, or the one under the cursor";
    SizeReady: Sizes, ["h"], "have ready", "the same, but only have it ready: in the room, unopened";
    Measure: Sizes, ["m"], "measure", "type what was measured";
    Why: Sizes, ["w"], "why", "the whole arithmetic for the size under the cursor";
    Find: Sizes, ["/"], "find", "find any product, REF or size, spelt loosely";
    MarkBox: Sizes, ["c"], "compare", "mark the box under the cursor: the next ones stand beside it; Esc leaves";
    DrawVessel: Sizes, ["v"], "vessel", "the measured vessel to scale in the grid's place, and back";
    NextProduct: Sizes, ["p"], "product", "show the next product alone, then all together";
    NextLesion: Sizes, ["l"], "lesion", "the next lesion of this case: 1, 2, 3";
    NextBox: Sizes, ["b"], "next product", "the next product that has the size under the cursor";
    OpenPlans: Sizes, ["s"], "span", "sets of overlapping devices for a long lesion, out of today's shelf";
    Longer: Sizes, [">"], "", "call the next length up from the last call";
    Shorter: Sizes, ["<"], "", "call the next length down from the last call";
    Wider: Sizes, ["+"], "", "call the next diameter up from the last call";
    Narrower: Sizes, ["-"], "", "call the next diameter down from the last call";
    SameAgain: Sizes, ["="], "again", "call the same again";
    SizeUp: Sizes, ["↑"], "", "cursor to the smaller diameter";
    SizeDown: Sizes, ["↓"], "", "cursor to the larger diameter";
    SizeLeft: Sizes, ["←"], "", "cursor to the shorter length";
    SizeRight: Sizes, ["→"], "", "cursor to the longer length";
    SizeErase: Sizes, ["Backspace"], "", "take back the last character of the size typed";
    SizeClear: Sizes, ["Esc"], "", "forget the size typed, take the cursor off the grid";

    FetchNext: Fetch, ["↓"], "next call", "show the next call large";
    FetchPrevious: Fetch, ["↑"], "", "show the call before large";
    FetchCancel: Fetch, ["Delete", "Backspace"], "cancel", "cancel the call that is shown large";
    FetchReady: Fetch, ["h"], "ask / have ready", "asked for now, or only have it ready";

    FetchUseOpen: Fetch, ["a"], "use the open one", "use the balloon that is open already for the call shown large";

    ReadOpened: ReadBack, ["o"], "opened", "its seal is broken: write it down (SAME, or no call waiting)";
    ReadKeep: ReadBack, ["h"], "at hand", "keep it in the room, unopened";
    ReadPutBack: ReadBack, ["b", "Delete"], "put back", "put it back, unopened; the call stands";
    ReadAnyway: ReadBack, ["d"], "go on", "go on all the same: type the size on the box and a reason";
    ReadEarlier: ReadBack, ["a"], "minutes ago", "it was opened some minutes ago";
    ReadTypeLabel: ReadBack, ["t"], "type label", "type the label: (01)… (17)… (10)…";
    ReadTypeBox: ReadBack, ["y"], "type box", "no label can be read: type what the box says";
    ReadEnrol: ReadBack, ["e"], "enrol", "no product file has it: type what its front says, kept unverified";
    ReadForget: ReadBack, ["Esc"], "", "forget what was read; nothing is written about it";
    ReadNext: ReadBack, ["↓"], "", "the next call or box at hand";
    ReadPrevious: ReadBack, ["↑"], "", "the one before";

    OpenedDown: Opened, ["↓"], "", "the next box";
    OpenedUp: Opened, ["↑"], "", "the box before";
    OpenedInflate: Opened, ["i"], "inflate", "its balloon went up: pressure and seconds; or the pressure for a diameter";
    OpenedClock: Opened, ["c"], "clock", "its balloon goes up, and the clock runs; the same key when it comes down";
    OpenedBalloon: Opened, ["b"], "balloon", "which balloon gives a wanted diameter inside it, at which pressure; call it";
    OpenedAreas: Opened, ["e"], "expansion", "the areas measured inside it, against the published criteria";
    OpenedFate: Opened, ["f"], "fate", "what became of it";
    OpenedOverlap: Opened, ["o"], "overlap", "how it lies to another stent of the same lesion: overlap or gap in mm";
    OpenedTable: Opened, ["t"], "on the table", "it would not cross and lies on the table again";
    OpenedAgain: Opened, ["a"], "again", "it is used on the lesion in work as well";

    OpenedStrike: Opened, ["Delete"], "strike out", "this box was written down wrongly: strike its opening out, with a reason";

    SignNow: CaseEnd, ["Enter"], "", "sign a settled case off, straight after this screen was opened";
    SignOff: CaseEnd, ["s"], "sign off", "sign the case off; with something unsettled it asks why";
    WriteRecord: CaseEnd, ["w"], "write record", "write the record into the room's folder now";
    EndDown: CaseEnd, ["↓"], "", "further down";
    EndUp: CaseEnd, ["↑"], "", "further up";
    EndPageDown: CaseEnd, ["PgDn"], "further", "a page further down";
    EndPageUp: CaseEnd, ["PgUp"], "", "a page further up";

    ShelfRight: Shelf, ["→"], "next page", "the next page of the shelf";
    ShelfLeft: Shelf, ["←"], "", "the page before";
    ShelfDown: Shelf, ["↓"], "", "further down";
    ShelfUp: Shelf, ["↑"], "", "further up";
    ShelfPageDown: Shelf, ["PgDn"], "", "a page further down";
    ShelfPageUp: Shelf, ["PgUp"], "", "a page further up";
    ShelfReceive: Shelf, ["i"], "receive", "receive boxes: each is scanned and counted, place and owner said first";
    ShelfCount: Shelf, ["c"], "count", "count one place: scan all that lies there, then see what differs";
    ShelfMove: Shelf, ["m"], "move", "move boxes to another place by scanning them";
    ShelfPull: Shelf, ["x"], "pull", "take what is expired or recalled off the shelf: the list first";
    ShelfRecall: Shelf, ["r"], "recall a lot", "type a lot that is recalled: it is marked, and stops a read-back";

    TallyDone: Tally, ["d"], "done: the sum", "see what the boxes come to; nothing is written yet";
    TallyBack: Tally, ["u", "Backspace"], "take the last back", "take the last scan back";
    TallyType: Tally, ["t"], "type label", "type a label that can't be scanned";
    TallyLeave: Tally, ["Esc"], "leave", "leave without writing; with boxes counted it asks for the key twice";

    SumWrite: Sum, ["w"], "WRITE it", "write it, as it stands here";
    SumBack: Sum, ["Esc"], "back", "back without writing";
    SumDown: Sum, ["↓"], "", "further down";
    SumUp: Sum, ["↑"], "", "further up";

    BailDown: BailOut, ["↓"], "", "the next covered stent";
    BailUp: BailOut, ["↑"], "", "the one before";
    BailCall: BailOut, ["Enter"], "call", "call the one under the cursor";
    BailClose: BailOut, ["Esc"], "back", "back to the screen before";

    HelpDown: Help, ["↓", "PgDn"], "further", "further down";
    HelpUp: Help, ["↑", "PgUp"], "", "further up";
    HelpClose: Help, ["Esc"], "back", "back to the screen before";

    FormNext: Form, ["Tab", "↓"], "next", "the next field";
    FormPrevious: Form, ["Shift+Tab", "↑"], "", "the field before";
    FormLeft: Form, ["←"], "", "the choice before";
    FormRight: Form, ["→"], "", "the next choice";
    FormErase: Form, ["Backspace"], "", "take back the last character";
    FormAccept: Form, ["Enter"], "done", "take what stands in the fields";
    FormAbandon: Form, ["Esc"], "back", "leave without it; nothing is written";

    FindDown: Find, ["↓"], "", "the next found";
    FindUp: Find, ["↑"], "", "the one before";
    FindErase: Find, ["Backspace"], "", "take back the last character";
    FindCall: Find, ["Enter"], "call", "call the one under the cursor";
    FindClose: Find, ["Esc"], "back", "leave without a call";

    PlanDown: Plans, ["↓"], "next plan", "the next plan";
    PlanUp: Plans, ["↑"], "", "the plan before";
    PlanCall: Plans, ["Enter"], "call them", "call every device of this plan, distal first";
    PlanTogether: Plans, ["t"], "all lesions", "every measured lesion of this case out of one shelf";
    PlanInAlready: Plans, ["i"], "in already", "what is left to span beside the stents that are in: where they lie is asked";
    PlanClose: Plans, ["Esc"], "back", "back to the grid; nothing is called";

    UnsavedDown: Unsaved, ["↓"], "", "further down";
    UnsavedUp: Unsaved, ["↑"], "", "further up";
    UnsavedAgain: Unsaved, ["r"], "try again", "try now to save what waits";
    UnsavedFile: Unsaved, ["w"], "to a file", "write what waits to a file on another disk";
    UnsavedClose: Unsaved, ["Esc"], "back", "back to work; what waits is saved as soon as the disk takes it";

    WhyDown: Why, ["↓", "PgDn"], "further", "further down";
    WhyUp: Why, ["↑", "PgUp"], "", "further up";
    WhyClose: Why, ["Esc", "w"], "back", "back to the grid";

    TourBegin: Welcome, ["Enter"], "the tour", "the guided tour: a whole case, in about three minutes";

    FirstDo: FirstSteps, ["Enter"], "do it", "do the step under the cursor; what would be written is shown first";
    FirstRelease: FirstSteps, ["r"], "release", "products out of a release of the public device database";
    FirstDown: FirstSteps, ["↓"], "", "the next step";
    FirstUp: FirstSteps, ["↑"], "", "the step before";
    FirstClose: FirstSteps, ["Esc"], "skip", "skip it for now; the list of screens has it";

    SheetLay: Sheet, ["Enter"], "write it", "write what is shown; where something is wrong, back";
    SheetDown: Sheet, ["↓", "PgDn"], "further", "further down";
    SheetUp: Sheet, ["↑", "PgUp"], "", "further up";
    SheetClose: Sheet, ["Esc"], "back", "back; nothing is written";

    TrialClose: Trial, ["Esc"], "back", "enough of it";

    FarLeave: Far, ["Esc"], "leave", "leave; it only looks on, and no other key does anything there";

    ChoiceDown: Choice, ["↓"], "", "the next answer";
    ChoiceUp: Choice, ["↑"], "", "the answer before";
    ChoiceTake: Choice, ["Enter"], "take", "take the answer under the cursor";
    Choice1: Choice, ["1"], "", "the first answer";
    Choice2: Choice, ["2"], "", "the second answer";
    Choice3: Choice, ["3"], "", "the third answer";
    Choice4: Choice, ["4"], "", "the fourth answer";
    Choice5: Choice, ["5"], "", "the fifth answer";
    Choice6: Choice, ["6"], "", "the sixth answer";
    Choice7: Choice, ["7"], "", "the seventh answer";
    Choice8: Choice, ["8"], "", "the eighth answer";
    Choice9: Choice, ["9"], "", "the ninth answer";
    ChoiceClose: Choice, ["Esc"], "back", "no answer; nothing is written";
}

impl Binding {
    /// The word of this action in the settings file: its name in lower case, `go-fetch`.
    pub fn word(&self) -> String {
        let mut word = String::new();
        for c in self.name.chars() {
            if !word.is_empty() && (c.is_ascii_uppercase() || c.is_ascii_digit()) {
                word.push('-');
            }
            word.push(c.to_ascii_lowercase());
        }
        word
    }
}

/// What the arrow up or down does in a place by the table, whatever keys the room has given it.
pub fn turned(place: Place, down: bool) -> Option<Action> {
    let arrow = if down { "↓" } else { "↑" };
    TABLE.iter().find(|row| row.place == place && row.keys.contains(&arrow)).map(|row| row.action)
}

impl Action {
    /// Takes something back or out of the record: no plain letter may do that.
    pub const fn destroys(self) -> bool {
        matches!(self, Action::FetchCancel | Action::OpenedStrike)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_spelling_is_a_key_and_none_stands_twice_in_a_place() {
        for place in Place::ALL {
            let mut seen = HashSet::new();
            for spelling in TABLE.iter().filter(|row| row.place == *place).flat_map(|row| row.keys) {
                let key = Key::spelt(spelling).unwrap_or_else(|| panic!("{spelling} is no key"));
                assert_eq!(key.spelling(), *spelling, "one spelling for one key");
                assert!(seen.insert(key), "{spelling} stands twice in {}", place.title());
            }
        }
    }

    #[test]
    fn every_function_key_has_a_second_way() {
        let menu: Vec<&str> =
            TABLE.iter().filter(|row| row.place == Place::Menu).map(|row| row.doc).collect();
        for row in TABLE {
            let by_menu = menu.iter().any(|doc| row.doc.starts_with(doc));
            let plain = row.keys.iter().any(|key| !Key::spelt(key).is_some_and(Key::is_function));
            assert!(plain || by_menu, "{} has no second way", row.keys[0]);
        }
    }

    #[test]
    fn the_table_uses_no_key_that_something_else_takes() {
        for row in TABLE {
            for spelling in row.keys {
                let key = Key::spelt(spelling).expect("checked above");
                assert_eq!(taken(key), None, "{spelling} of {}", row.word());
            }
        }
    }

    #[test]
    fn no_plain_letter_destroys_anything() {
        for row in TABLE.iter().filter(|row| row.action.destroys()) {
            let letters =
                row.keys.iter().filter(|key| Key::spelt(key).is_some_and(|key| key.text().is_some()));
            assert_eq!(letters.count(), 0, "{}", row.word());
        }
    }

    #[test]
    fn every_action_has_a_word_of_its_own() {
        let words: HashSet<String> = TABLE.iter().map(Binding::word).collect();
        assert_eq!(words.len(), TABLE.len());
        assert!(words.contains("go-read-back") && words.contains("choice-1"));
    }
}

//! The screens' state: a message in, effects out. Touches no terminal, no clock and no disk, so that a whole
//! case can be replayed in a test.
//!
//! Each screen, and each thing that lies over one, is a module with a [`Front`]: its keys, what they do, its list.
//! Here stand the tables of them and the routes of messages.

mod after;
pub mod arithmetic;
pub mod ask;
mod axes;
pub mod bailout;
mod case_code;
pub mod case_end;
mod compare;
mod clock;
mod date;
pub mod far;
pub mod fetch;
pub mod find;
mod findings;
pub mod first;
mod form;
mod front;
mod grid;
mod follow;
mod hear;
pub mod help;
mod measures;
pub mod menu;
mod message;
mod mouse;
pub mod opened;
mod order;
mod overlap;
pub mod plans;
mod plans_more;
mod practise;
pub mod readback;
pub mod shelf;
mod size_call;
pub mod sizes;
mod vessel;
pub mod tally;
mod tour;
pub mod unsaved;
pub mod welcome;
mod world;

pub use after::Offer;
pub use arithmetic::Arithmetic;
pub use ask::{Choice, Purpose};
pub use axes::Axes;
pub use case_end::AtCaseEnd;
pub use compare::{Compared, Marked};
pub use far::{Far, FarMessage, Lost};
pub use find::Finding;
pub use findings::{Judged, Subject};
pub use first::{Answer, Ask, AtFirstSteps, Lays, PathFor, STEPS, Sheet, Step, StepLine, Task, Trial};
pub use form::{Field, Form, Input};
pub use front::{Front, List, Passing};
pub use grid::{Cell, CellBox, Grid};
pub use message::{Effect, Effects, Message};
pub use opened::AtOpened;
pub use order::InOrder;
pub use plans::{Offered, Plans};
pub use readback::{AtReadBack, Held};
pub use shelf::{AtShelf, PAGES as SHELF_PAGES, Page as ShelfPage};
pub use sizes::Sizes;
pub use tally::{LastScan, Scanning, SumRow};
pub use tour::Tour;
pub use unsaved::{Draft, Unsaved, Waiting};
pub use vessel::Spanned;
pub use world::{Wanted, World};

use super::keys::*;
pub use super::paint::{Clock, Drawn, Spot};
use super::preferences::Settings;
use crate::case::{Glance, Reading, label_words};
use crate::journal::{CaseCode, Fact};
use crate::units::{Decimal, shown_with};

front::screens! {
    Sizes => sizes::FRONT,
    Fetch => fetch::FRONT,
    ReadBack => readback::FRONT,
    Opened => opened::FRONT,
    CaseEnd => case_end::FRONT,
    Shelf => shelf::FRONT,
    BailOut => bailout::FRONT,
    FirstSteps => first::FRONT,
    Help => help::FRONT,
}

front::overlays! {
    Menu => menu::FRONT,
    Form(Form) => ask::FORM,
    Find(Finding) => find::FRONT,
    Choice(Choice) => ask::QUESTION,
    Plans(Plans) => plans::FRONT,
    /// What waits for the disk, one by one.
    Unsaved => unsaved::FRONT,
    /// The whole arithmetic of a verdict.
    Arithmetic(Arithmetic) => arithmetic::FRONT,
    /// What the demo room is and how to walk through it.
    Welcome => welcome::FRONT,
    /// The code of the case that has just begun, in big letters.
    CaseCode(CaseCode) => case_code::FRONT,
    /// What would be written, or what is wrong.
    Sheet(Sheet) => first::OVER_SHEET,
    /// What a scanner sends while it is tried.
    Trial(Trial) => first::OVER_TRIAL,
}

impl Screen {
    /// Those that Tab goes through.
    pub const ROUND: &'static [Screen] =
        &[Screen::Sizes, Screen::Fetch, Screen::ReadBack, Screen::Opened, Screen::CaseEnd, Screen::Shelf];
}

/// What keys do on every screen.
pub static EVERYWHERE: Place = Place::new(
    "Everywhere",
    Letters::Shared,
    &[
        HELP.row("help", "this page"),
        GO_SIZES.row("", "Sizes: what was measured, what fits and why; call a size"),
        GO_FETCH.row("", "Fetch: what to bring, where it lies, what to say back"),
        GO_READ_BACK.row("", "Read-back: the box's label against the call"),
        GO_OPENED.row("", "Opened: every box, its inflations, what became of it"),
        GO_CASE_END.row("", "Case end: what is unsettled, totals, sign-off, the record"),
        GO_SHELF.row("", "Shelf: pieces, what runs out or expires, gaps"),
        GO_BAIL_OUT.row("bail-out", "Bail-out: covered stents and where they lie, from everywhere"),
        OPEN_MENU.row("go to", "go to a screen by a letter, where function keys are not to be had"),
        NEXT_SCREEN.row("", "the next screen"),
        PREVIOUS_SCREEN.row("", "the screen before"),
        UNDO.row("undo", "strike out the last thing written in this case"),
        BEGIN_CASE.row("", "begin a case; an earlier one may still await its sign-off"),
        OTHER_CASE.row("", "work on another case that is not signed off"),
        CONFIRM_DATE.row("", "the computer's date is in doubt: confirm it, with a reason"),
        TRY_AGAIN.row("", "try again to save what waits; lists it where the disk still refuses"),
        PRACTISE.row("", "demo room: scan the box that was called, as a scanner would"),
        PRACTISE_WRONG.row("", "demo room: scan a box that looks like it and is not"),
        LEAVE.row("", "leave boxcall; asks first where something is not saved"),
    ],
);

/// Every place where a key means something, in the order of the help page.
pub fn places() -> Vec<&'static Place> {
    let fronts = [Screen::FRONTS, Overlay::FRONTS, &[&tally::COUNTS, &tally::SUMS]].concat();
    let own = fronts.into_iter().map(|front| front.place).filter(|place| !place.rows.is_empty());
    [&EVERYWHERE].into_iter().chain(own).chain([&far::PLACE]).collect()
}

/// Lines that a page key scrolls: less than the smallest screen shows.
const PAGE: usize = 15;

/// The line that says what has just happened.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Said {
    pub words: String,
    /// To be heeded, not merely noted.
    pub heed: bool,
    /// It is on disk: it says what has just been written down.
    pub written: bool,
    /// The entry that was written down, where one key strikes it out.
    undo: Option<u64>,
}

/// Everything that the views are a function of.
#[derive(Debug, Clone)]
pub struct State {
    pub world: World,
    /// What this room has set for its screens.
    pub settings: Settings,
    pub screen: Screen,
    /// Where help and bail-out go back to.
    pub back: Screen,
    pub overlay: Option<Overlay>,
    /// A form that a scan interrupted; it comes back with its screen.
    stashed: Option<(Screen, Form)>,
    pub said: Said,
    pub unsaved: Unsaved,
    /// The lesion that is being worked on, from 1.
    pub lesion: u8,
    pub sizes: Sizes,
    /// Which of the calls is shown large.
    pub fetch_shown: usize,
    pub readback: AtReadBack,
    pub opened: AtOpened,
    pub end: AtCaseEnd,
    pub shelf: AtShelf,
    /// What `/` looks in.
    gone: find::Gone,
    /// Boxes are being received, counted, moved or pulled.
    pub tally: Option<Scanning>,
    pub bail_shown: usize,
    pub help_scroll: usize,
    pub first: AtFirstSteps,
    /// None where it was never begun.
    pub tour: Option<Tour>,
    /// Somebody has left; the shell ends.
    pub left: bool,
}

impl State {
    /// The screens of a room as it is opened, with what it has set for them.
    pub fn new(world: World, settings: Settings) -> Self {
        shown_with(settings.decimal.unwrap_or_default(), || State::begin(world, settings))
    }

    fn begin(mut world: World, settings: Settings) -> Self {
        // Its words were made before the mark was known.
        world.retell();
        let overlay = (world.demo && world.case.is_none()).then_some(Overlay::Welcome);
        let screen = if world.is_bare() { Screen::FirstSteps } else { Screen::Sizes };
        let mut state = State {
            world,
            settings,
            screen,
            back: Screen::Sizes,
            overlay,
            stashed: None,
            said: Said::default(),
            unsaved: Unsaved::default(),
            lesion: 1,
            sizes: Sizes::default(),
            fetch_shown: 0,
            readback: AtReadBack::default(),
            opened: AtOpened::default(),
            end: AtCaseEnd::default(),
            shelf: AtShelf::default(),
            gone: find::Gone::default(),
            tally: None,
            bail_shown: 0,
            help_scroll: 0,
            first: AtFirstSteps::default(),
            tour: None,
            left: false,
        };
        state.greet();
        state.step_on();
        state.resume_measurements();
        state
    }

    /// Says where things stand when the program starts.
    fn greet(&mut self) {
        let words = match &self.world.case {
            Some(case) if case.signed.is_none() => {
                let last =
                    case.story.last().map_or(String::new(), |line| format!("; last written: {}", line.words));
                format!("Case {} goes on{last}", case.code)
            }
            _ => format!("No case is open: a first call begins one, and so does {}", self.key(BEGIN_CASE)),
        };
        self.say(words);
    }

    /// Says what was on disk when the program ended, and that nobody may have seen it.
    fn tell_unseen(&mut self, shown: u64) -> Effects {
        let Some(case) = self.world.case.as_ref().filter(|case| case.signed.is_none()) else {
            return Effects::new();
        };
        let unseen: Vec<_> = case.story.iter().filter(|line| line.seq > shown).collect();
        let Some(last) = unseen.last() else { return Effects::new() };
        let more = if unseen.len() > 1 { format!(", {} before it", unseen.len() - 1) } else { String::new() };
        let (at, words) = (last.at.format("%H:%M"), &last.words);
        self.heed(format!(
            "Case {} goes on; saved, perhaps not seen: {words} ({at}{more}). It needs no second entry",
            case.code
        ))
    }

    /// The key of an action, for a line of text that names it.
    pub fn key(&self, action: Action) -> String {
        self.settings.keys.spelling(action)
    }

    /// The first key that does this where the next key is pressed; empty where none reaches there.
    pub fn key_here(&self, action: Action) -> String {
        let keys = &self.settings.keys;
        let here = keys.of(action).into_iter().find(|key| keys.action(self.place(), *key) == Some(action));
        here.map(|key| key.spelling()).unwrap_or_default()
    }

    /// Takes a message in. Words are made with the decimal mark of the reader; facts hold numbers, not words.
    pub fn on(&mut self, message: Message) -> Effects {
        shown_with(self.decimal(), || {
            let written = !matches!(message, Message::Tick(_) | Message::News(_));
            let effects = self.take(message);
            self.watch_findings(written);
            self.renew_page();
            self.watch_tour();
            effects
        })
    }

    /// The mark of numbers that are read.
    pub fn decimal(&self) -> Decimal {
        self.settings.decimal.unwrap_or_default()
    }

    fn take(&mut self, message: Message) -> Effects {
        match message {
            Message::Key(key) => self.pressed(key),
            Message::Scan { bytes, complete, arrival } => {
                if self.takes_paste(&bytes, arrival) {
                    return Vec::new();
                }
                let mut effects = self.notes_scanner(&bytes, arrival);
                if matches!(self.overlay, Some(Overlay::Trial(_))) {
                    self.tried(&bytes, complete);
                } else {
                    self.first.left |= self.screen == Screen::FirstSteps;
                    effects.extend(self.scanned(bytes, complete, arrival));
                }
                effects
            }
            Message::Click(spot) => self.clicked(spot),
            Message::Wheel { down } => self.wheeled(down),
            Message::Tick(now) => self.tick(now),
            Message::Written(entries) => self.written(entries, false),
            Message::WrittenAlready(entries) => self.written(entries, true),
            Message::News(entries) => self.news(entries),
            Message::NotWritten { draft, why } => self.not_written(draft, why),
            Message::JournalGone => {
                let key = self.key_here(TRY_AGAIN);
                self.heed(format!("THE JOURNAL IS GONE from its place. {key} puts it back, whole"))
            }
            Message::PutBack => self.journal_back(),
            Message::Rescued { drafts, place, leave } => self.rescued(drafts, &place, leave),
            Message::ShownUpTo(seq) => self.tell_unseen(seq),
            Message::Warned(words) => self.heed(words),
            Message::SpareCode(code) => {
                self.world.spare_code = code;
                Vec::new()
            }
            Message::Arrived(behind) => self.arrived(*behind),
            Message::NotArrived { why } => self.not_arrived(why),
            Message::CaseRead(entries) => self.case_read(entries),
            Message::Broken(why) => {
                self.world.broken = Some(why);
                self.heed("Go on, all is written. Tell the room's keeper: boxcall journal check")
            }
            Message::RecordWritten { code, place } => self.record_written(code, place),
            Message::Enrolled(catalogue) => self.enrolled(catalogue),
            Message::Furnished(answer) => self.furnished(answer),
        }
    }

    /// What takes the keys.
    pub fn front(&self) -> &'static Front {
        match &self.overlay {
            Some(overlay) => overlay.front(),
            None => self.beneath(),
        }
    }

    /// What takes the keys where nothing lies over the screen.
    fn beneath(&self) -> &'static Front {
        match (&self.tally, self.screen) {
            (Some(scanning), Screen::Shelf) => scanning.front(),
            _ => self.screen.front(),
        }
    }

    /// Where the next key means something.
    pub fn place(&self) -> &'static Place {
        let front = self.front();
        if front.passing.is_some() { self.beneath().place } else { front.place }
    }

    /// Whether a key would do something now: the footer names only those. One that is pressed all the same says
    /// why it does nothing.
    pub fn offers(&self, action: Action) -> bool {
        (self.front().offers)(self, action)
    }

    fn pressed(&mut self, key: Key) -> Effects {
        let front = self.front();
        if let Some(passing) = front.passing {
            self.overlay = None;
            if let Some(action) = self.settings.keys.own(front.place, key) {
                return (front.act)(self, action);
            }
            if passing == Passing::TakesKey && self.settings.keys.own(&EVERYWHERE, key) != Some(LEAVE) {
                return Effects::new();
            }
        }
        let place = self.place();
        match self.settings.keys.action(place, key) {
            Some(action) => self.act(action),
            None if key == Key::INTERRUPT => {
                let (key, back) = (self.key(LEAVE), self.key(CLOSE));
                let first = if place.takes_text() { format!("{back} and then ") } else { String::new() };
                self.say(format!("{first}{key} leaves boxcall; nothing was done"))
            }
            None => {
                // A scanner that types too slowly to be told as one ends with Enter: that signs nothing.
                self.end.fresh = false;
                key.text().map(|c| (self.front().typed)(self, c)).unwrap_or_default()
            }
        }
    }

    fn act(&mut self, action: Action) -> Effects {
        if self.is_at_rest(action) {
            return self.say_it_rests();
        }
        let front = self.front();
        match action {
            UP | DOWN | PAGE_UP | PAGE_DOWN if let Some(list) = (front.list)(self) => list.step(action),
            HELP => self.visit(Screen::Help),
            GO_SIZES => self.go(Screen::Sizes),
            GO_FETCH => self.go(Screen::Fetch),
            GO_READ_BACK => self.go(Screen::ReadBack),
            GO_OPENED => self.go(Screen::Opened),
            GO_CASE_END => self.go(Screen::CaseEnd),
            GO_SHELF => self.go(Screen::Shelf),
            GO_BAIL_OUT => self.visit(Screen::BailOut),
            OPEN_MENU => return self.open(Overlay::Menu),
            NEXT_SCREEN => self.go_round(1),
            PREVIOUS_SCREEN => self.go_round(Screen::ROUND.len() - 1),
            CLOSE if self.overlay.is_some() => self.close(),
            UNDO => return self.undo(),
            BEGIN_CASE => return self.begin_case(),
            OTHER_CASE => return self.other_case(),
            CONFIRM_DATE => return self.ask_date(),
            TRY_AGAIN => return self.try_again(),
            PRACTISE => return self.practise(false),
            PRACTISE_WRONG => return self.practise(true),
            LEAVE => return self.leave(),
            _ => return (front.act)(self, action),
        }
        Effects::new()
    }

    /// Lays this over the screen.
    fn open(&mut self, overlay: Overlay) -> Effects {
        self.overlay = Some(overlay);
        Effects::new()
    }

    /// Takes away what lies over the screen, with what was typed into it.
    fn close(&mut self) {
        if self.overlay.take().is_some_and(|overlay| overlay.measures()) {
            self.resume_measurements();
        }
    }

    /// Goes to a screen; a form that a scan interrupted there comes back.
    fn go(&mut self, screen: Screen) {
        self.stash_form();
        self.overlay = None;
        self.screen = screen;
        self.end.fresh = screen == Screen::CaseEnd;
        if screen == Screen::CaseEnd {
            self.end.scroll = 0;
        }
        if let Some((_, form)) = self.stashed.take_if(|(there, _)| *there == screen) {
            self.overlay = Some(Overlay::Form(form));
        }
    }

    /// Goes to a screen that has a way back.
    fn visit(&mut self, screen: Screen) {
        if !matches!(self.screen, Screen::Help | Screen::BailOut) {
            self.back = self.screen;
        }
        self.help_scroll = 0;
        self.bail_shown = 0;
        self.go(screen);
    }

    fn go_round(&mut self, by: usize) {
        let here = Screen::ROUND.iter().position(|screen| *screen == self.screen).unwrap_or(0);
        self.go(Screen::ROUND[(here + by) % Screen::ROUND.len()]);
    }

    /// Keeps what was being typed when something else takes the screen.
    fn stash_form(&mut self) {
        if let Some(Overlay::Form(form)) = &self.overlay
            && form.purpose.outlives_its_screen()
        {
            self.stashed = Some((self.screen, form.clone()));
        }
    }

    /// Says what has happened, or why nothing has: that has no effects.
    fn say(&mut self, words: impl Into<String>) -> Effects {
        self.said = Said { words: words.into(), ..Said::default() };
        Effects::new()
    }

    /// The same, to be heeded.
    fn heed(&mut self, words: impl Into<String>) -> Effects {
        self.said = Said { words: words.into(), heed: true, ..Said::default() };
        Effects::new()
    }

    /// Facts of the case in work, which begins if none is open.
    fn write(&mut self, facts: Vec<Fact>) -> Effects {
        match self.world.open_case() {
            Some(code) => self.submit(Some(code), facts),
            None => self.write_in_new_case(facts),
        }
    }

    fn write_in_new_case(&mut self, facts: Vec<Fact>) -> Effects {
        let code = self.world.spare_code.clone();
        let facts = std::iter::once(Fact::CaseBegun).chain(facts).collect();
        let mut effects = self.submit(Some(code), facts);
        effects.push(Effect::AnotherCode);
        effects
    }

    /// Facts of the case that is shown, signed off or not: what was left unsettled is settled later.
    fn write_in_shown_case(&mut self, facts: Vec<Fact>) -> Effects {
        match self.world.case.as_ref().map(|case| case.code.clone()) {
            Some(code) => self.submit(Some(code), facts),
            None => Vec::new(),
        }
    }

    /// Facts of the room.
    fn write_for_room(&mut self, facts: Vec<Fact>) -> Effects {
        self.submit(None, facts)
    }

    /// Whether the shell is to end.
    pub fn leave_now(&self) -> bool {
        self.left
    }

    /// Keeps every cursor on something that is still there.
    fn clamp(&mut self) {
        for front in [&fetch::FRONT, &readback::FRONT, &opened::FRONT] {
            (front.list)(self).into_iter().for_each(List::clamp);
        }
    }

    /// Whether the key that strikes out would take back what the message line says, here and now.
    pub fn can_take_back(&self) -> bool {
        let last = self.world.case.as_ref().and_then(|case| case.last_undoable()).map(|(entry, _)| entry);
        let key = self.settings.keys.of(UNDO).into_iter().next();
        let reaches = key.is_some_and(|key| self.settings.keys.action(self.place(), key) == Some(UNDO));
        self.said.undo.is_some() && self.said.undo == last && reaches
    }

    fn undo(&mut self) -> Effects {
        // What is written is written with a point, whoever reads the screen.
        match shown_with(Decimal::Point, || self.world.last_undoable()) {
            Some((entry, words)) => {
                let why = format!("undone: {words}");
                self.write_in_shown_case(vec![Fact::StruckOut { entry, why }])
            }
            None => self.say("There is nothing to undo in this case"),
        }
    }

    /// What a second monitor is to show of these screens.
    pub fn glance(&self) -> Glance {
        let read =
            self.held().map(|held| Reading { signal: held.signal(), words: label_words(&held.back.read) });
        let unsaved: usize = self.unsaved.count();
        Glance {
            call: self.call_shown().map(|call| call.number),
            read,
            unsaved: u32::try_from(unsaved).unwrap_or(u32::MAX),
        }
    }

    fn begin_case(&mut self) -> Effects {
        self.sizes = Sizes::default();
        self.lesion = 1;
        self.screen = Screen::Sizes;
        self.write_in_new_case(Vec::new())
    }
}

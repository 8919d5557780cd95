//! The screens' state: a message in, effects out. Touches no terminal, no clock and no disk, so that a whole
//! case can be replayed in a test.

mod after;
mod arithmetic;
mod ask;
mod axes;
mod bailout;
mod case_end;
mod compare;
mod clock;
mod date;
mod far;
mod fetch;
mod find;
mod findings;
mod first;
mod form;
mod grid;
mod follow;
mod hear;
mod measures;
mod message;
mod mouse;
mod offers;
mod opened;
mod order;
mod overlap;
mod plans;
mod plans_more;
mod practise;
mod readback;
mod screen;
mod shelf;
mod size_call;
mod sizes;
mod vessel;
mod tally;
mod tour;
mod unsaved;
mod world;

pub use after::Offer;
pub use arithmetic::Arithmetic;
pub use ask::{Choice, Purpose};
pub use axes::Axes;
pub use case_end::AtCaseEnd;
pub use clock::Clock;
pub use compare::{Compared, Marked};
pub use far::{Far, FarMessage, Lost};
pub use find::Finding;
pub use findings::{Judged, Subject};
pub use first::{Answer, Ask, AtFirstSteps, Lays, PathFor, STEPS, Sheet, Step, StepLine, Task, Trial};
pub use form::{Field, Form, Input};
pub use grid::{Cell, CellBox, Grid};
pub use message::{Effect, Message};
pub use mouse::Spot;
pub use opened::AtOpened;
pub use order::InOrder;
pub use plans::{Offered, Plans};
pub use readback::{AtReadBack, Held};
pub use screen::{Overlay, Screen};
pub use shelf::{AtShelf, PAGES as SHELF_PAGES, Page as ShelfPage};
pub use sizes::Sizes;
pub use tally::{LastScan, Scanning, SumRow};
pub use tour::Tour;
pub use unsaved::{Draft, Unsaved, Waiting};
pub use vessel::{Drawn, Spanned};
pub use world::{Wanted, World};

use super::keys::{Action, Key, Place};
use super::settings::Settings;
use crate::case::{Glance, Reading, label_words};
use crate::journal::Fact;
use crate::units::{Decimal, shown_with};

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
            _ => format!(
                "No case is open: a first call begins one, and so does {}",
                self.key(Action::BeginCase)
            ),
        };
        self.say(words);
    }

    /// Says what was on disk when the program ended, and that nobody may have seen it.
    fn tell_unseen(&mut self, shown: u64) {
        let Some(case) = self.world.case.as_ref().filter(|case| case.signed.is_none()) else { return };
        let unseen: Vec<_> = case.story.iter().filter(|line| line.seq > shown).collect();
        let Some(last) = unseen.last() else { return };
        let more = if unseen.len() > 1 { format!(", {} before it", unseen.len() - 1) } else { String::new() };
        let (at, words) = (last.at.format("%H:%M"), &last.words);
        self.heed(format!(
            "Case {} goes on; saved, perhaps not seen: {words} ({at}{more}). It needs no second entry",
            case.code
        ));
    }

    /// The key of an action, for a line of text that names it.
    pub fn key(&self, action: Action) -> String {
        self.settings.keys.spelling(action)
    }

    /// The first key that does this where the next key is pressed; empty where none reaches there.
    pub fn key_here(&self, action: Action) -> String {
        let keys = &self.settings.keys;
        let own = keys.all().iter().filter(|row| row.action == action).flat_map(|row| row.keys());
        let here = own.into_iter().find(|key| keys.action(self.place(), **key) == Some(action));
        here.map(|key| key.spelling()).unwrap_or_default()
    }

    /// Takes a message in. Words are made with the decimal mark of the reader; facts hold numbers, not words.
    pub fn on(&mut self, message: Message) -> Vec<Effect> {
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

    fn take(&mut self, message: Message) -> Vec<Effect> {
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
                let key = self.key_here(Action::TryAgain);
                self.heed(format!("THE JOURNAL IS GONE from its place. {key} puts it back, whole"));
                Vec::new()
            }
            Message::PutBack => {
                self.journal_back();
                Vec::new()
            }
            Message::Rescued { drafts, place, leave } => self.rescued(drafts, &place, leave),
            Message::ShownUpTo(seq) => {
                self.tell_unseen(seq);
                Vec::new()
            }
            Message::Warned(words) => {
                self.heed(words);
                Vec::new()
            }
            Message::SpareCode(code) => {
                self.world.spare_code = code;
                Vec::new()
            }
            Message::Arrived(behind) => self.arrived(*behind),
            Message::NotArrived { why } => {
                self.not_arrived(why);
                Vec::new()
            }
            Message::CaseRead(entries) => self.case_read(entries),
            Message::Broken(why) => {
                self.heed("Go on, all is written. Tell the room's keeper: boxcall journal check".into());
                self.world.broken = Some(why);
                Vec::new()
            }
            Message::RecordWritten { code, place } => {
                self.record_written(code, place);
                Vec::new()
            }
            Message::Enrolled(catalogue) => {
                self.enrolled(catalogue);
                Vec::new()
            }
            Message::Furnished(answer) => self.furnished(answer),
        }
    }

    /// Where the next key means something.
    pub fn place(&self) -> Place {
        match &self.overlay {
            Some(Overlay::Menu) => Place::Menu,
            Some(Overlay::Form(_)) => Place::Form,
            Some(Overlay::Find(_)) => Place::Find,
            Some(Overlay::Choice(_)) => Place::Choice,
            Some(Overlay::Plans(_)) => Place::Plans,
            Some(Overlay::Unsaved) => Place::Unsaved,
            Some(Overlay::Arithmetic(_)) => Place::Why,
            Some(Overlay::Sheet(_)) => Place::Sheet,
            Some(Overlay::Trial(_)) => Place::Trial,
            Some(Overlay::CaseCode(_) | Overlay::Welcome) | None => match (&self.tally, self.screen) {
                (Some(scanning), Screen::Shelf) => scanning.place(),
                _ => self.screen.place(),
            },
        }
    }

    fn pressed(&mut self, key: Key) -> Vec<Effect> {
        if matches!(self.overlay, Some(Overlay::CaseCode(_) | Overlay::Welcome)) {
            let was_welcome = self.overlay == Some(Overlay::Welcome);
            self.overlay = None;
            if was_welcome && self.settings.keys.action(Place::Welcome, key) == Some(Action::TourBegin) {
                self.begin_tour();
                return Vec::new();
            }
            // The welcome only asks to be seen: a letter or an Enter that closes it does nothing else.
            if was_welcome
                && self.settings.keys.action(Place::Help, key).is_none_or(|action| action != Action::Leave)
            {
                return Vec::new();
            }
        }
        let place = self.place();
        match self.settings.keys.action(place, key) {
            Some(action) => self.act(action),
            None if key == Key::INTERRUPT => {
                let (key, back) = (self.key(Action::Leave), self.key(Action::FormAbandon));
                let first = if place.takes_text() { format!("{back} and then ") } else { String::new() };
                self.say(format!("{first}{key} leaves boxcall; nothing was done"));
                Vec::new()
            }
            None => {
                // A scanner that types too slowly to be told as one ends with Enter: that signs nothing.
                self.end.fresh = false;
                match (place, key.text()) {
                    (Place::Form, Some(c)) => self.form_char(c),
                    (Place::Find, Some(c)) => self.find_char(c),
                    (Place::Sizes, Some(c)) => self.size_char(c),
                    (Place::Trial, Some(c)) => self.loose_char(c),
                    _ => Vec::new(),
                }
            }
        }
    }

    fn act(&mut self, action: Action) -> Vec<Effect> {
        use Action as A;
        if self.is_at_rest(action) {
            return self.say_it_rests();
        }
        match action {
            A::Help | A::MenuHelp => self.visit(Screen::Help),
            A::GoSizes | A::MenuSizes => self.go(Screen::Sizes),
            A::GoFetch | A::MenuFetch => self.go(Screen::Fetch),
            A::GoReadBack | A::MenuReadBack => self.go(Screen::ReadBack),
            A::GoOpened | A::MenuOpened => self.go(Screen::Opened),
            A::GoCaseEnd | A::MenuCaseEnd => self.go(Screen::CaseEnd),
            A::GoShelf | A::MenuShelf => self.go(Screen::Shelf),
            A::GoBailOut | A::MenuBailOut => self.visit(Screen::BailOut),
            A::MenuTour => self.turn_tour(),
            A::MenuFirst => {
                self.go(Screen::FirstSteps);
                self.step_on();
            }
            A::OpenMenu => self.overlay = Some(Overlay::Menu),
            A::NextScreen => self.go_round(1),
            A::PreviousScreen => self.go_round(Screen::ROUND.len() - 1),
            A::BailClose | A::HelpClose => self.go(self.back),
            A::MenuClose
            | A::FindClose
            | A::ChoiceClose
            | A::PlanClose
            | A::WhyClose
            | A::SheetClose
            | A::TrialClose
            | A::UnsavedClose => {
                self.overlay = None;
            }
            A::FormAbandon => self.abandon_form(),
            A::Undo => return self.undo(),
            A::BeginCase => return self.begin_case(),
            A::OtherCase => return self.other_case(),
            A::ConfirmDate => self.ask_date(),
            A::TryAgain => return self.try_again(),
            A::Practise => return self.practise(false),
            A::PractiseWrong => return self.practise(true),
            A::Leave | A::MenuLeave => return self.leave(),
            A::HelpDown => self.help_scroll += 1,
            A::HelpUp => self.help_scroll = self.help_scroll.saturating_sub(1),
            _ => return self.act_on_screen(action),
        }
        Vec::new()
    }

    fn act_on_screen(&mut self, action: Action) -> Vec<Effect> {
        match self.place() {
            Place::Sizes => self.act_sizes(action),
            Place::Fetch => self.act_fetch(action),
            Place::ReadBack => self.act_readback(action),
            Place::Opened => self.act_opened(action),
            Place::CaseEnd => self.act_case_end(action),
            Place::Shelf => self.act_shelf(action),
            Place::BailOut => self.act_bailout(action),
            Place::Form => self.act_form(action),
            Place::Find => self.act_find(action),
            Place::Choice => self.act_choice(action),
            Place::Plans => self.act_plans(action),
            Place::Unsaved => self.act_unsaved(action),
            Place::Why => self.act_arithmetic(action),
            Place::FirstSteps => self.act_first(action),
            Place::Sheet => self.act_sheet(action),
            Place::Tally | Place::Sum => self.act_tally(action),
            Place::Everywhere | Place::Help | Place::Menu | Place::Trial | Place::Welcome | Place::Far => {
                Vec::new()
            }
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

    pub(super) fn say(&mut self, words: String) {
        self.said = Said { words, ..Said::default() };
    }

    pub(super) fn heed(&mut self, words: String) {
        self.said = Said { words, heed: true, ..Said::default() };
    }

    /// Facts of the case in work, which begins if none is open.
    fn write(&mut self, facts: Vec<Fact>) -> Vec<Effect> {
        match self.world.open_case() {
            Some(code) => self.submit(Some(code), facts),
            None => self.write_in_new_case(facts),
        }
    }

    fn write_in_new_case(&mut self, facts: Vec<Fact>) -> Vec<Effect> {
        let code = self.world.spare_code.clone();
        let facts = std::iter::once(Fact::CaseBegun).chain(facts).collect();
        let mut effects = self.submit(Some(code), facts);
        effects.push(Effect::AnotherCode);
        effects
    }

    /// Facts of the case that is shown, signed off or not: what was left unsettled is settled later.
    fn write_in_shown_case(&mut self, facts: Vec<Fact>) -> Vec<Effect> {
        match self.world.case.as_ref().map(|case| case.code.clone()) {
            Some(code) => self.submit(Some(code), facts),
            None => Vec::new(),
        }
    }

    /// Facts of the room.
    fn write_for_room(&mut self, facts: Vec<Fact>) -> Vec<Effect> {
        self.submit(None, facts)
    }

    /// Whether the shell is to end.
    pub fn leave_now(&self) -> bool {
        self.left
    }

    /// Keeps every cursor on something that is still there.
    fn clamp(&mut self) {
        let calls = self.world.waiting().len();
        self.fetch_shown = self.fetch_shown.min(calls.saturating_sub(1));
        let (items, at_hand) = (self.world.opened().len(), self.world.at_hand().len());
        self.opened.shown = self.opened.shown.min(items.saturating_sub(1));
        self.readback.at_hand = self.readback.at_hand.min(at_hand.saturating_sub(1));
    }

    fn undo(&mut self) -> Vec<Effect> {
        // What is written is written with a point, whoever reads the screen.
        match shown_with(Decimal::Point, || self.world.last_undoable()) {
            Some((entry, words)) => {
                let why = format!("undone: {words}");
                self.write_in_shown_case(vec![Fact::StruckOut { entry, why }])
            }
            None => {
                self.say("There is nothing to undo in this case".to_string());
                Vec::new()
            }
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

    fn begin_case(&mut self) -> Vec<Effect> {
        self.sizes = Sizes::default();
        self.lesion = 1;
        self.screen = Screen::Sizes;
        self.write_in_new_case(Vec::new())
    }
}

//! The router: a message in, effects out. It gives each key to the component in front and carries out what that asks
//! for. Touches no terminal, no clock and no disk, so that a whole case can be replayed in a test.

pub mod far;
mod follow;
mod mouse;
mod scan;

pub use super::model::*;
pub use super::paint::Spot;
pub use super::screens::*;
pub use far::{Far, FarMessage, Lost};

use super::keys::*;
use super::preferences::Settings;
use crate::case::{Call, LiveStatus, UndecidedReadBack, label_words};
use crate::journal::Fact;
use crate::shelf::FetchCard;
use crate::units::{Decimal, shown_with};
use std::ops::{Deref, DerefMut};
use tour::{Observed, Tour};

/// Every place where a key means something, in the order of the help page; the second monitor's last.
pub fn places() -> Vec<&'static Place> {
    let mut places = super::screens::places();
    places.push(&far::PLACE);
    places
}

/// Everything that is drawn: what the screens share, each screen, and which of them takes the keys.
#[derive(Debug, Clone)]
pub struct State {
    session: Session,
    screens: Screens,
    /// Where help and bail-out go back to.
    back: Screen,
    overlay: Option<Box<dyn Component>>,
    /// A form that a scan interrupted; it comes back with its screen.
    stashed: Option<(Screen, Box<dyn Component>)>,
    /// None where it was never begun.
    tour: Option<Tour>,
    /// Somebody has left; the shell ends.
    pub left: bool,
}

impl Deref for State {
    type Target = Session;

    fn deref(&self) -> &Session {
        &self.session
    }
}

impl DerefMut for State {
    fn deref_mut(&mut self) -> &mut Session {
        &mut self.session
    }
}

impl State {
    /// The screens of a room as it is opened, with what it has set for them.
    pub fn new(world: World, settings: Settings) -> Self {
        shown_with(settings.decimal.unwrap_or_default(), || State::begin(world, settings))
    }

    fn begin(mut world: World, settings: Settings) -> Self {
        // Its words were made before the mark was known.
        world.retell();
        let overlay: Option<Box<dyn Component>> =
            if world.demo && world.case.is_none() { Some(Box::new(welcome::Welcome)) } else { None };
        let screen = if world.is_bare() { Screen::FirstSteps } else { Screen::Sizes };
        let mut state = State {
            session: Session::new(world, settings, screen, places()),
            screens: Screens::default(),
            back: Screen::Sizes,
            overlay,
            stashed: None,
            tour: None,
            left: false,
        };
        state.greet();
        state.screens.first_steps.step_on(&state.session);
        state.resume_measurements();
        state.screens.sizes.follow(&state.session);
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
    fn warn_of_unseen(&mut self, shown: u64) -> Effects {
        let Some(case) = self.world.case.as_ref().filter(|case| case.signed.is_none()) else {
            return Effects::new();
        };
        let unseen: Vec<_> = case.story.iter().filter(|line| line.seq > shown).collect();
        let Some(last) = unseen.last() else { return Effects::new() };
        let more = if unseen.len() > 1 { format!(", {} before it", unseen.len() - 1) } else { String::new() };
        let (at, words) = (last.at.format("%H:%M"), &last.words);
        let words = format!(
            "Case {} goes on; saved, perhaps not seen: {words} ({at}{more}). It needs no second entry",
            case.code
        );
        self.warn(words)
    }

    /// The first key that does this where the next key is pressed; empty where none reaches there.
    pub fn key_here(&self, action: Action) -> String {
        let keys = &self.settings.keys;
        let here = keys.of(action).into_iter().find(|key| keys.action(self.place(), *key) == Some(action));
        here.map(|key| key.spelling()).unwrap_or_default()
    }

    /// Takes a message in. Words are made with the decimal mark of the reader; facts hold numbers, not words.
    pub fn on(&mut self, message: Message) -> Vec<Effect> {
        shown_with(self.decimal(), || {
            let written = !matches!(message, Message::Tick(_) | Message::News(_));
            let effects = self.take(message);
            self.watch_findings(written);
            self.screens.sizes.follow(&self.session);
            self.screens.shelf.renew(&self.session);
            self.watch_tour();
            effects
        })
    }

    fn take(&mut self, message: Message) -> Vec<Effect> {
        let effects = match message {
            Message::Key(key) => return self.pressed(key),
            Message::Scan { bytes, complete, arrival } => return self.scan_arrived(bytes, complete, arrival),
            Message::Click(spot) => return self.clicked(spot),
            Message::Wheel { down } => return self.wheeled(down),
            Message::Tick(now) => self.tick(now),
            Message::Written(entries) => self.written(entries, false),
            Message::WrittenAlready(entries) => self.written(entries, true),
            Message::News(entries) => self.news(entries),
            Message::NotWritten { draft, why } => self.not_written(draft, why),
            Message::JournalGone => {
                let key = self.key_here(TRY_AGAIN);
                self.warn(format!("THE JOURNAL IS GONE from its place. {key} puts it back, whole"))
            }
            Message::PutBack => self.journal_back(),
            Message::Rescued { drafts, place, leave } => unsaved::rescued(self, drafts, &place, leave),
            Message::ShownUpTo(seq) => self.warn_of_unseen(seq),
            Message::Warned(words) => self.warn(words),
            Message::SpareCode(code) => {
                self.world.spare_code = code;
                Effects::new()
            }
            Message::Arrived(behind) => self.arrived(*behind),
            Message::NotArrived { why } => self.not_arrived(why),
            Message::CaseRead(entries) => self.case_read(entries),
            Message::Broken(why) => {
                self.world.broken = Some(why);
                self.warn("Go on, all is written. Tell the room's keeper: boxcall journal check")
            }
            Message::RecordWritten { code, place } => case_end::record_written(self, code, place),
            Message::Enrolled(catalogue) => readback::enrolled(self, catalogue),
            Message::Furnished(answer) => {
                let is_in_front = self.screen() == Screen::FirstSteps && self.overlay.is_none();
                self.screens.first_steps.furnished(&mut self.session, answer, is_in_front)
            }
        };
        self.carry_out(effects)
    }

    /// What takes the keys.
    pub fn front(&self) -> &dyn Component {
        self.over().unwrap_or_else(|| self.beneath())
    }

    /// The overlay.
    pub fn over(&self) -> Option<&dyn Component> {
        self.overlay.as_deref()
    }

    /// The screen, whatever is over it.
    pub fn beneath(&self) -> &dyn Component {
        self.screens.get(self.session.screen())
    }

    pub const fn screens(&self) -> &Screens {
        &self.screens
    }

    /// The fields that are typed into.
    pub fn form(&self) -> Option<&Form> {
        self.over().and_then(Component::form)
    }

    /// Where the next key means something while this overlay is there.
    pub fn overlay_place(&self) -> Option<&'static Place> {
        self.over().map(|over| over.place(&self.session))
    }

    /// The call that is shown large.
    pub fn call_shown(&self) -> Option<&Call> {
        self.screens.fetch.call_shown(&self.session)
    }

    /// What is to be brought for it.
    pub fn card(&self) -> Option<FetchCard> {
        self.screens.fetch.card(&self.session)
    }

    /// Shows an overlay.
    pub fn open(&mut self, overlay: impl Component + 'static) {
        self.overlay = Some(Box::new(overlay));
    }

    fn front_mut(&mut self) -> (&mut dyn Component, &mut Session) {
        let front: &mut dyn Component = match &mut self.overlay {
            Some(overlay) => &mut **overlay,
            None => self.screens.get_mut(self.session.screen()),
        };
        (front, &mut self.session)
    }

    /// Where the next key means something.
    pub fn place(&self) -> &'static Place {
        let front = if self.front().any_key().is_some() { self.beneath() } else { self.front() };
        front.place(&self.session)
    }

    /// The place that help was asked for on.
    pub fn place_of(&self, screen: Screen) -> &'static Place {
        self.screens.get(screen).place(&self.session)
    }

    /// Whether a key would do something now: the footer names only those. One that is pressed all the same says
    /// why it does nothing.
    pub fn offers(&self, action: Action) -> bool {
        self.front().offers(&self.session, action)
    }

    fn pressed(&mut self, key: Key) -> Vec<Effect> {
        if let Some(any_key) = self.front().any_key() {
            let place = self.front().place(&self.session);
            if let Some(action) = self.settings.keys.own(place, key) {
                let (front, session) = self.front_mut();
                let effects = front.act(session, action);
                self.overlay = None;
                return self.carry_out(effects);
            }
            self.overlay = None;
            if any_key == AnyKey::Taken && self.settings.keys.own(&EVERYWHERE, key) != Some(LEAVE) {
                return Vec::new();
            }
        }
        let place = self.place();
        match self.settings.keys.action(place, key) {
            Some(action) => self.act(action),
            None if key == Key::INTERRUPT => {
                let (key, back) = (self.key(LEAVE), self.key(CLOSE));
                let first = if place.takes_text() { format!("{back} and then ") } else { String::new() };
                self.say(format!("{first}{key} leaves boxcall; nothing was done"));
                Vec::new()
            }
            None => {
                // A scanner that types too slowly to be told as one ends with Enter: that signs nothing.
                self.screens.case_end.end_shortcut();
                let Some(c) = key.text() else { return Vec::new() };
                let (front, session) = self.front_mut();
                let effects = front.typed(session, c);
                self.carry_out(effects)
            }
        }
    }

    fn act(&mut self, action: Action) -> Vec<Effect> {
        if self.front().decides(&self.session, action)
            && crate::control::holds("keys-rest-after-a-finding")
            && self.rests()
        {
            self.warn_resting();
            return Vec::new();
        }
        if [UP, DOWN, PAGE_UP, PAGE_DOWN].contains(&action) {
            let (front, session) = self.front_mut();
            if let Some(list) = front.list(session) {
                list.step(action);
                return Vec::new();
            }
        }
        if action == CLOSE && self.overlay.is_some() {
            let (front, session) = self.front_mut();
            front.abandoned(session);
            self.overlay = None;
            return Vec::new();
        }
        if EVERYWHERE.has(action) {
            return self.act_everywhere(action);
        }
        if action == CLOSE && matches!(self.screen(), Screen::Help | Screen::BailOut) {
            self.go(self.back);
            return Vec::new();
        }
        let (front, session) = self.front_mut();
        let effects = front.act(session, action);
        self.carry_out(effects)
    }

    /// What an action does wherever it is asked for.
    fn act_everywhere(&mut self, action: Action) -> Vec<Effect> {
        let effects = match action {
            UNDO => self.undo(),
            BEGIN_CASE => self.begin_case(),
            OTHER_CASE => self.other_case(),
            CONFIRM_DATE => date::ask_date(&mut self.session),
            TRY_AGAIN => unsaved::try_again(&mut self.session),
            PRACTISE => return self.practise(false),
            PRACTISE_WRONG => return self.practise(true),
            LEAVE => unsaved::leave(&self.session),
            OPEN_MENU => open(menu::Menu),
            _ => {
                match action {
                    HELP => self.visit(Screen::Help),
                    GO_SIZES => self.go(Screen::Sizes),
                    GO_FETCH => self.go(Screen::Fetch),
                    GO_READ_BACK => self.go(Screen::ReadBack),
                    GO_OPENED => self.go(Screen::Opened),
                    GO_CASE_END => self.go(Screen::CaseEnd),
                    GO_SHELF => self.go(Screen::Shelf),
                    GO_BAIL_OUT => self.visit(Screen::BailOut),
                    NEXT_SCREEN => self.go_round(1),
                    PREVIOUS_SCREEN => self.go_round(Screen::ROUND.len() - 1),
                    menu::FIRST => {
                        self.go(Screen::FirstSteps);
                        self.screens.first_steps.step_on(&self.session);
                    }
                    menu::TOUR => self.turn_tour(),
                    _ => {}
                }
                return Vec::new();
            }
        };
        self.carry_out(effects)
    }

    /// Does what a component has asked for; returns what is left for the shell.
    fn carry_out(&mut self, effects: Effects) -> Vec<Effect> {
        let mut left = Vec::new();
        for request in effects {
            match request {
                Request::Go(screen) => self.turn(screen),
                Request::ShowOpened(item) => {
                    self.turn(Screen::Opened);
                    self.screens.opened.show(&self.session, item);
                }
                Request::Open(overlay) => self.overlay = Some(overlay),
                Request::Close => self.overlay = None,
                Request::Act(action) => left.extend(self.act_everywhere(action)),
                Request::Scan { bytes, arrival } => left.extend(self.scanned(bytes, true, arrival)),
                Request::Effect(effect) => left.push(effect),
            }
        }
        left
    }

    /// Another screen in front, under the same overlay.
    fn turn(&mut self, screen: Screen) {
        self.screens.case_end.end_shortcut();
        self.session.turn_to(screen);
    }

    /// Goes to a screen; a form that a scan interrupted there comes back.
    pub fn go(&mut self, screen: Screen) {
        self.stash_form();
        self.overlay = None;
        self.turn(screen);
        self.screens.get_mut(screen).entered(&mut self.session);
        if let Some((_, form)) = self.stashed.take_if(|(there, _)| *there == screen) {
            self.overlay = Some(form);
        }
    }

    /// Goes to a screen that has a way back.
    fn visit(&mut self, screen: Screen) {
        if !matches!(self.screen(), Screen::Help | Screen::BailOut) {
            self.back = self.screen();
        }
        let here = self.place_of(self.back);
        self.screens.help.asked_on(here);
        self.go(screen);
    }

    fn go_round(&mut self, by: usize) {
        let here = Screen::ROUND.iter().position(|screen| *screen == self.screen()).unwrap_or(0);
        self.go(Screen::ROUND[(here + by) % Screen::ROUND.len()]);
    }

    /// Keeps what was being typed when something else takes the screen.
    fn stash_form(&mut self) {
        if self.form().is_some_and(Form::survives) {
            self.stashed = self.overlay.take().map(|form| (self.session.screen(), form));
        }
    }

    /// Whether the shell is to end.
    pub fn leave_now(&self) -> bool {
        self.left
    }

    /// Keeps every cursor on something that is still there.
    fn clamp(&mut self) {
        for screen in [Screen::Fetch, Screen::ReadBack, Screen::Opened] {
            self.screens.get_mut(screen).refresh(&mut self.session);
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
    pub fn glance(&self) -> LiveStatus {
        let read = self
            .held()
            .map(|held| UndecidedReadBack { signal: held.signal(), words: label_words(&held.back.read) });
        let unsaved: usize = self.unsaved.count();
        LiveStatus {
            call: self.call_shown().map(|call| call.number),
            read,
            unsaved: u32::try_from(unsaved).unwrap_or(u32::MAX),
        }
    }

    fn begin_case(&mut self) -> Effects {
        self.screens.sizes = sizes::Sizes::default();
        self.session.work = Work { judged: self.session.work.judged, ..Work::default() };
        self.session.lesion = 1;
        self.turn(Screen::Sizes);
        self.write_in_new_case(Vec::new())
    }

    /// The key of the menu takes the tour up or leaves it; a demo room alone has it.
    fn turn_tour(&mut self) {
        self.overlay = None;
        if !self.world.demo {
            self.say("The tour is in the demo room: boxcall demo");
            return;
        }
        match &mut self.tour {
            Some(tour) if tour.on => tour.on = false,
            // Unless the last stop was seen: then it begins anew.
            Some(tour) if !tour.is_over() => {
                tour.on = true;
                return;
            }
            _ => {
                self.go(Screen::Sizes);
                self.tour = Some(Tour::begun(&self.session));
                self.say("The tour has begun: the two lines above say what to do");
                return;
            }
        }
        let (menu, tour) = (self.key(OPEN_MENU), self.key(menu::TOUR));
        self.say(format!("The tour waits: {menu} and then {tour} take it up"));
    }

    fn seen(&self) -> Observed<'_> {
        Observed {
            session: &self.session,
            over: self.over(),
            call_shown: self.call_shown().is_some(),
            signs_at_once: self.screens.case_end.signs_at_once(&self.session),
        }
    }

    fn watch_tour(&mut self) {
        if let Some(mut tour) = self.tour.take() {
            tour.watch(&self.seen());
            self.tour = Some(tour);
        }
    }

    /// How far the tour is, what to do now, and what that is for; none where it is not shown.
    pub fn tour_lines(&self) -> Option<[String; 3]> {
        self.tour.as_ref()?.lines(&self.seen())
    }
}

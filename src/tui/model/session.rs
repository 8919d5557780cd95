//! What all screens share, and what the router sees of each: a component with its keys, its update and its drawing.
//!
//! A component changes itself and the session; where it wants another screen, an overlay or something of the shell, it
//! returns that. So no screen can reach into another.

use super::form::Form;
use super::index::Searchable;
use super::judged::Findings;
use super::message::Effect;
use super::pending::{Draft, Unsaved, Waiting};
use super::screen::Screen;
use super::tally::Scanning;
use super::work::Work;
use super::world::World;
use crate::journal::{CaseCode, Fact};
use crate::label::Arrival;
use crate::tui::keys::*;
use crate::tui::paint::{Drawn, Hits, Spot};
use crate::tui::preferences::Settings;
use crate::units::Decimal;
use chrono::{DateTime, FixedOffset, TimeDelta};
use ratatui::prelude::*;
use std::fmt::Debug;

/// The line that says what has just happened.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Said {
    pub words: String,
    /// A warning, not merely a note.
    pub warns: bool,
    /// It is on disk: it says what has just been written down.
    pub written: bool,
    /// The entry that was written down, where one key strikes it out.
    pub undo: Option<u64>,
}

/// What all screens share.
#[derive(Debug, Clone)]
pub struct Session {
    pub world: World,
    /// What this room has set for its screens.
    pub settings: Settings,
    /// The screen in front; the router alone turns to another.
    screen: Screen,
    pub said: Said,
    pub unsaved: Unsaved,
    /// The lesion that is being worked on, from 1.
    pub lesion: u8,
    pub work: Work,
    pub findings: Findings,
    /// Boxes are being received, counted, moved or pulled.
    pub tally: Option<Scanning>,
    /// Balloons that were up when the clock was set back, and by how much it was since.
    pub clocks: Vec<((u32, DateTime<FixedOffset>), TimeDelta)>,
    /// The last record that was written: of which case, and the page for people.
    pub record: Option<(CaseCode, String)>,
    /// A scan has left the first steps.
    pub left_first_steps: bool,
    pub searchable: Searchable,
    /// Every place where a key means something, in the order of the help page.
    pub places: Vec<&'static Place>,
}

/// What a component asks of the router.
#[derive(Debug, Clone)]
pub enum Request {
    Go(Screen),
    /// Opened, with this box under the cursor as soon as it is there.
    ShowOpened(u32),
    Open(Box<dyn Component>),
    /// Close the overlay.
    Close,
    /// Do what this action does everywhere.
    Act(Action),
    /// A label that was typed goes where a scan goes.
    Scan {
        bytes: Vec<u8>,
        arrival: Arrival,
    },
    Effect(Effect),
}

/// What an update asks for, in this order.
pub type Effects = Vec<Request>;

impl From<Effect> for Request {
    fn from(effect: Effect) -> Self {
        Request::Effect(effect)
    }
}

/// Asks for an overlay.
pub fn open(overlay: impl Component + 'static) -> Effects {
    vec![Request::Open(Box::new(overlay))]
}

/// Asks for a screen, then for the rest.
pub fn go(screen: Screen, effects: Effects) -> Effects {
    [vec![Request::Go(screen)], effects].concat()
}

/// Closes the overlay, then asks for the rest.
pub fn close(effects: Effects) -> Effects {
    [vec![Request::Close], effects].concat()
}

/// What becomes of the key that takes something away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnyKey {
    /// It does what it does on the screen beneath.
    PassedOn,
    /// It does nothing else.
    Taken,
}

/// Where a component is drawn.
pub struct Canvas<'a> {
    pub area: Rect,
    pub buffer: &'a mut Buffer,
    /// What can be pointed at.
    pub hits: &'a mut Hits,
    /// The overlay, for the screen beneath it.
    pub over: Option<&'a dyn Component>,
}

/// A screen or an overlay: its keys, its update, its drawing.
pub trait Component: Debug + CloneBox + Send + Sync {
    /// Where the next key means something while this is in front.
    fn place(&self, session: &Session) -> &'static Place;

    /// What an action of its own does.
    fn act(&mut self, _: &mut Session, _: Action) -> Effects {
        Effects::new()
    }

    fn draw(&self, session: &Session, on: Canvas);

    /// What up, down and the page keys move in.
    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        None
    }

    /// Whether a key of its own would do something now.
    fn offers(&self, _: &Session, _: Action) -> bool {
        true
    }

    /// Whether this decides about a box, or signs: it rests when the screen has just changed.
    fn decides(&self, _: &Session, action: Action) -> bool {
        action.decides()
    }

    /// What a character that is no key does.
    fn typed(&mut self, _: &mut Session, _: char) -> Effects {
        Effects::new()
    }

    /// What a click on something that only this knows does.
    fn clicked(&mut self, _: &mut Session, _: Spot) {}

    /// Any key closes it.
    fn any_key(&self) -> Option<AnyKey> {
        None
    }

    /// The screen is turned to.
    fn entered(&mut self, _: &mut Session) {}

    /// What is shown may have changed under the cursor.
    fn refresh(&mut self, session: &mut Session) {
        if let Some(list) = self.list(session) {
            list.clamp();
        }
    }

    /// It is closed without an answer.
    fn abandoned(&mut self, _: &mut Session) {}

    /// Takes a scan or a paste that is meant for this alone; whether it did.
    fn scanned(&mut self, _: &Session, _: &[u8], _: bool, _: Arrival) -> bool {
        false
    }

    /// The fields that are typed into.
    fn form(&self) -> Option<&Form> {
        None
    }

    /// The action that asks this.
    fn asked_by(&self) -> Option<Action> {
        self.form().and_then(Form::asked_by)
    }

    /// A vessel that this draws itself.
    fn drawn<'a>(&'a self, _: &'a Session) -> Option<Drawn<'a>> {
        None
    }
}

/// A component that can be copied.
pub trait CloneBox {
    fn clone_box(&self) -> Box<dyn Component>;
}

impl<T: Component + Clone + 'static> CloneBox for T {
    fn clone_box(&self) -> Box<dyn Component> {
        Box::new(self.clone())
    }
}

impl Clone for Box<dyn Component> {
    fn clone(&self) -> Self {
        (**self).clone_box()
    }
}

/// Lines that a page key scrolls: less than the smallest screen shows.
pub const PAGE: usize = 15;

/// A cursor or a place in a text, which up and down move.
pub struct List<'a> {
    at: &'a mut usize,
    last: usize,
    page: usize,
    round: bool,
}

impl<'a> List<'a> {
    /// Something with so many entries.
    pub const fn new(at: &'a mut usize, count: usize) -> Self {
        List { at, last: count.saturating_sub(1), page: 1, round: false }
    }

    /// A page key moves by so many.
    pub const fn paged(self, page: usize) -> Self {
        List { page, ..self }
    }

    /// The first follows the last.
    pub const fn round(self) -> Self {
        List { round: true, ..self }
    }

    pub fn step(self, action: Action) {
        let (at, last) = (*self.at, self.last);
        *self.at = match action {
            DOWN if self.round && at >= last => 0,
            UP if self.round && at == 0 => last,
            DOWN => (at + 1).min(last),
            PAGE_DOWN => (at + self.page).min(last),
            UP => at.saturating_sub(1),
            PAGE_UP => at.saturating_sub(self.page),
            _ => at,
        };
    }

    pub fn set(self, at: usize) {
        *self.at = at.min(self.last);
    }

    pub fn clamp(self) {
        *self.at = (*self.at).min(self.last);
    }
}

impl Session {
    pub fn new(world: World, settings: Settings, screen: Screen, places: Vec<&'static Place>) -> Self {
        Session {
            world,
            settings,
            screen,
            said: Said::default(),
            unsaved: Unsaved::default(),
            lesion: 1,
            work: Work::default(),
            findings: Findings::default(),
            tally: None,
            clocks: Vec::new(),
            record: None,
            left_first_steps: false,
            searchable: Searchable::default(),
            places,
        }
    }

    /// The screen in front.
    pub const fn screen(&self) -> Screen {
        self.screen
    }

    /// For the router alone.
    pub(in crate::tui) const fn turn_to(&mut self, screen: Screen) {
        self.screen = screen;
    }

    /// The key of an action, for a line of text that names it.
    pub fn key(&self, action: Action) -> String {
        self.settings.keys.spelling(action)
    }

    /// The mark of numbers that are read.
    pub fn decimal(&self) -> Decimal {
        self.settings.decimal.unwrap_or_default()
    }

    /// Says what has happened, or why nothing has: that has no effects.
    pub fn say(&mut self, words: impl Into<String>) -> Effects {
        self.said = Said { words: words.into(), ..Said::default() };
        Effects::new()
    }

    /// The same, as a warning.
    pub fn warn(&mut self, words: impl Into<String>) -> Effects {
        self.said = Said { words: words.into(), warns: true, ..Said::default() };
        Effects::new()
    }

    /// Facts of the case in work, which begins if none is open.
    pub fn write(&mut self, facts: Vec<Fact>) -> Effects {
        match self.world.open_case() {
            Some(code) => self.submit(Some(code), facts),
            None => self.write_in_new_case(facts),
        }
    }

    pub fn write_in_new_case(&mut self, facts: Vec<Fact>) -> Effects {
        let code = self.world.spare_code.clone();
        let facts = std::iter::once(Fact::CaseBegun).chain(facts).collect();
        let mut effects = self.submit(Some(code), facts);
        effects.push(Effect::AnotherCode.into());
        effects
    }

    /// Facts of the case that is shown, signed off or not: what was left unsettled is settled later.
    pub fn write_in_shown_case(&mut self, facts: Vec<Fact>) -> Effects {
        match self.world.case.as_ref().map(|case| case.code.clone()) {
            Some(code) => self.submit(Some(code), facts),
            None => Vec::new(),
        }
    }

    /// Facts of the room.
    pub fn write_for_room(&mut self, facts: Vec<Fact>) -> Effects {
        self.submit(None, facts)
    }

    /// Sends facts to the disk, behind what waits.
    pub fn submit(&mut self, case: Option<CaseCode>, facts: Vec<Fact>) -> Effects {
        self.unsaved.made += 1;
        let draft =
            Draft { number: self.unsaved.made, id: None, entered: self.world.now, case, facts, tried: false };
        vec![Effect::Write(draft).into()]
    }

    /// Whether this draft may go to the disk now; if not it waits behind those that were entered before it.
    pub fn may_go(&self, draft: &Draft) -> bool {
        self.unsaved.drafts.first().is_none_or(|first| first.number == draft.number)
    }

    /// The number of the last entry that is on disk, as far as it is known here.
    pub fn saved_seq(&self) -> u64 {
        self.world.saved_seq()
    }

    /// Whether this entry only waits to be written.
    pub fn is_unsaved(&self, seq: u64) -> bool {
        seq > self.saved_seq()
    }

    /// What waits, each with the numbers under which it is shown.
    pub fn waiting_drafts(&self) -> Vec<Waiting> {
        let mut next = self.saved_seq();
        let drafts = self.unsaved.drafts.iter().cloned();
        drafts
            .map(|draft| {
                let seqs = draft.facts.iter().map(|_| {
                    next += 1;
                    next
                });
                Waiting { seqs: seqs.collect(), draft }
            })
            .collect()
    }

    /// Where the record of the case that is shown was written, if it was.
    pub fn record_place(&self) -> Option<&str> {
        let case = self.world.case.as_ref()?;
        let (code, place) = self.record.as_ref()?;
        (*code == case.code).then_some(place.as_str())
    }
}

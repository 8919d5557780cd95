//! The screens of a room, as the loop serves them: the state with its folder behind it.

use super::effects::{self, Backend, InRoom};
use super::follow;
use super::locale;
use super::pace::Pace;
use super::settings::{self, Settings};
use super::shell::{self, Screens};
use super::state::{Effect, Message, State};
use super::terminal::{Arrived, has_terminal};
use super::view::{self, Background, Hits, Look};
use crate::room::{Beacon, Fault, Room, SinceShown, Stirrings};
use ratatui::prelude::*;
use std::io::{self, Write};
use std::sync::mpsc;
use std::time::Instant;

/// Runs the screens of a room until somebody leaves. `background` outranks the room's settings.
///
/// # Errors
/// When there is no terminal, or it fails, or something is wrong in the room's settings. What was written is safe
/// in each case.
pub fn run(room: Room, background: Option<Background>) -> Result<(), Fault> {
    has_terminal()?;
    let settings = settings_of(&room)?;
    let look = Look::of(|name| std::env::var(name).ok(), background.or(settings.background));
    let mouse = settings.mouse;
    let mut state = State::new(follow::open(&room)?, settings);
    match room.since_shown() {
        Some(SinceShown::More(seq)) => drop(state.on(Message::ShownUpTo(seq))),
        Some(SinceShown::Other(words)) => drop(state.on(Message::Warned(words))),
        None => {}
    }
    let (sender, receiver) = mpsc::channel();
    let mut pace = Pace::new(Stirrings::of(room.dir(), false, Arrived::stirred(sender.clone())));
    let beacon = Beacon::light(room.dir());
    let mut screens =
        OfRoom { state, beacon, backend: InRoom::new(room, sender.clone()), look, shown: 0, gone: false };
    let outcome = shell::serve(&mut screens, mouse, &mut pace, (sender, &receiver));
    screens.take_leave(!matches!(outcome, Ok(None)));
    // A throw-away room goes with it, also where a signal ends the program.
    drop(screens);
    shell::end(outcome)
}

/// The room's settings; what they leave open is as the computer's language has it.
pub(super) fn settings_of(room: &Room) -> Result<Settings, Fault> {
    let path = room.dir().join(settings::FILE);
    let mut settings = if path.exists() {
        settings::read(&path.display().to_string(), &crate::room::files::text(&path)?)
            .map_err(|faults| Fault::of_files(&faults))?
    } else {
        Settings::default()
    };
    settings.decimal = settings.decimal.or_else(|| Some(locale::decimal(|name| std::env::var(name).ok())));
    Ok(settings)
}

struct OfRoom {
    state: State,
    /// What a second monitor is to show; before the room, whose folder may go with it.
    beacon: Option<Beacon>,
    backend: InRoom,
    look: Look,
    /// The number of the last entry that a frame has shown.
    shown: u64,
    /// The journal is not where it was opened, and that has been said.
    gone: bool,
}

impl Screens for OfRoom {
    fn on(&mut self, message: Message) {
        let effects = self.state.on(message);
        effects::carry_out(&mut self.state, &mut self.backend, effects);
    }

    fn opened(&mut self) {
        let world = &self.state.world;
        let hand_over = self.backend.hand_over();
        follow::read_behind(&self.backend.room, world.begins_at(), Some(world.now), hand_over);
    }

    fn look(&mut self, pace: &mut Pace) -> bool {
        let now = self.backend.room.now();
        let shown = |state: &State| {
            let minute = state.world.now.format("%F %R").to_string();
            (minute, state.balloon_seconds(), state.rests(), state.said.clone())
        };
        let before = shown(&self.state);
        let effects = self.state.on(Message::Tick(now));
        let mut changed = !effects.is_empty();
        effects::carry_out(&mut self.state, &mut self.backend, effects);
        let gone = self.backend.room.in_place().is_err();
        if gone && !self.gone {
            self.on(Message::JournalGone);
        }
        self.gone = gone;
        if let Some(news) = follow::news(&mut self.backend.room, &self.state) {
            changed = true;
            self.on(news);
        }
        self.beat();
        let soon = self.state.balloon_seconds().is_some() || self.state.rests();
        pace.looked(Instant::now(), self.state.world.now, soon);
        changed || before != shown(&self.state)
    }

    fn draw(&self, area: Rect, buffer: &mut Buffer) -> Hits {
        view::draw(&self.state, self.look, area, buffer)
    }

    fn drawn(&mut self) {
        let saved = self.state.saved_seq();
        if self.shown != saved {
            self.shown = saved;
            self.backend.room.mark_shown(saved);
        }
        self.beat();
    }

    fn has_left(&self) -> bool {
        self.state.leave_now()
    }
}

impl OfRoom {
    /// What a second monitor is to show, and that this program is alive.
    fn beat(&mut self) {
        if let Some(beacon) = &mut self.beacon {
            beacon.show(&self.state.glance(), Instant::now());
        }
    }

    /// A journal that is gone is put back before its last reader ends. Where nobody asked the program to end, what waits
    /// is saved or kept elsewhere, and whoever finds the terminal can read that.
    fn take_leave(&mut self, unasked: bool) {
        let mut words = Vec::new();
        if self.backend.put_back() {
            words.push("The journal was gone and was put back, whole.".to_string());
        }
        if unasked {
            let first = self.state.waiting_drafts().into_iter().next();
            let effects = first.map(|waiting| Effect::Write(waiting.draft)).into_iter().collect();
            effects::carry_out(&mut self.state, &mut self.backend, effects);
            let goes_on = match self.state.world.open_case() {
                Some(case) => format!(" Case {case} goes on when boxcall is started again."),
                None => String::new(),
            };
            if !self.backend.room.is_passing() {
                words.push(format!("boxcall has ended. What it showed as saved is on disk.{goes_on}"));
            }
            let count = self.state.unsaved.count();
            if count > 0 {
                words.push(match effects::rescue(&self.state, &mut self.backend, None, false) {
                    Message::Rescued { place, .. } => format!(
                        "NOT SAVED in the journal, but in a file: {count}. To take in:\n\
                         boxcall journal take-in {place}"
                    ),
                    _ => format!("NOT SAVED, AND LOST:\n{}", self.state.unsaved.in_words().join("\n")),
                });
            }
        }
        if !words.is_empty() {
            // The terminal may be gone too.
            let _ = writeln!(io::stderr(), "{}", words.join("\n"));
        }
    }
}

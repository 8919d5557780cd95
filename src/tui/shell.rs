//! The loop that touches the terminal: events in, frames out, effects carried out.
//!
//! Keys are read in a thread of their own and stamped as they arrive: a partial sequence can then freeze no
//! clock, and a burst is told from typing by when its characters came, not by when they were handled.

use super::follow;
use super::furnish::Furnisher;
use super::input::Mapper;
use super::keys::Key;
use super::locale;
use super::pace::Pace;
use super::settings::{self, Settings};
use super::state::{Draft, Effect, Message, State, Waiting, Wanted};
use super::view::{self, Background, Hits, Look};
use crate::case::entry_words;
use crate::journal::CaseCode;
use crate::label::Arrival;
use crate::label::burst::{Config, Detector, Stroke, Told};
use crate::room::{Beacon, Fault, Kept, Room, SinceShown, Stir, Stirrings};
use crate::store::{Appended, Stamp};
use crossterm::cursor::Show;
use crossterm::event::{
    self, DisableBracketedPaste, EnableBracketedPaste, Event, MouseButton, MouseEvent, MouseEventKind,
};
use crossterm::execute;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate};
use ratatui::DefaultTerminal;
use signal_hook::consts::{SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP};
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread;
use std::time::Instant;

/// What the threads send to the loop.
pub(super) enum Arrived {
    Input(Instant, Event),
    Signal(i32),
    /// Something in the room's folder may have changed.
    Stirred(Stir),
    /// What was read behind the screens.
    Message(Message),
    /// The terminal is gone.
    End,
}

/// Runs the screens of a room until somebody leaves. `background` outranks the room's settings.
///
/// # Errors
/// When there is no terminal, or it fails, or something is wrong in the room's settings. What was written is safe
/// in each case.
pub fn run(room: Room, background: Option<Background>) -> Result<(), Fault> {
    has_terminal()?;
    let settings = settings_of(&room)?;
    let background = background.or(settings.background);
    let mut state = State::new(follow::open(&room)?, settings);
    let (sender, receiver) = mpsc::channel();
    let mouse = state.settings.mouse;
    let terminal = open_terminal(mouse).map_err(|error| Fault::terminal(error.to_string()))?;
    close_on_panic();
    read_input(sender.clone());
    let furnisher = furnisher(sender.clone());
    let behind = sender.clone();
    let pace = Pace::new(Stirrings::of(room.dir(), false, stirred(sender.clone())));
    read_signals(sender).map_err(|error| Fault::terminal(error.to_string()))?;
    let mut shell = Shell {
        beacon: Beacon::light(room.dir()),
        room,
        behind,
        terminal,
        look: Look::of(|name| std::env::var(name).ok(), background),
        detector: Detector::new(Config::default()),
        mapper: Mapper::default(),
        hits: Hits::default(),
        mouse,
        started: Instant::now(),
        pace,
        size: (0, 0),
        shown: 0,
        gone: false,
        furnisher,
        leaving: None,
    };
    for message in shell.room.since_shown().into_iter().map(on_start) {
        state.on(message);
    }
    let outcome = shell.serve(&mut state, &receiver);
    close_terminal();
    let leaving = shell.leaving;
    shell.take_leave(&mut state, outcome.is_err() || leaving.is_some());
    // A throw-away room goes with it, also where a signal ends the program.
    let Shell { beacon, room, terminal, .. } = shell;
    drop(beacon);
    drop(room);
    // It has been closed above; should that have failed, its own words on that would end the program.
    std::mem::forget(terminal);
    match (outcome, leaving) {
        // It is gone: whether the signal or the end of its file came first is chance.
        (Err(error), _) if is_gone(&error) => std::process::exit(128 + SIGHUP),
        (Err(error), _) => Err(Fault::terminal(error.to_string())),
        // The way in which a program says that a signal ended it.
        (Ok(()), Some(signal)) => std::process::exit(128 + signal),
        (Ok(()), None) => Ok(()),
    }
}

/// A terminal that was closed answers every write with an error of the device (EIO 5, ENXIO 6), or as a broken pipe.
fn is_gone(error: &io::Error) -> bool {
    error.kind() == io::ErrorKind::BrokenPipe || matches!(error.raw_os_error(), Some(5 | 6))
}

fn on_start(since: SinceShown) -> Message {
    match since {
        SinceShown::More(seq) => Message::ShownUpTo(seq),
        SinceShown::Other(words) => Message::Warned(words),
    }
}

/// That there is a terminal which can show the screens.
pub(super) fn has_terminal() -> Result<(), Fault> {
    if !io::stdout().is_terminal() || std::env::var("TERM").is_ok_and(|term| term == "dumb") {
        return Err(Fault::terminal(
            "the screens need a terminal; `boxcall demo --plain` and the commands do not",
        ));
    }
    Ok(())
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

/// Clicks and the wheel alone, told in figures (DEC private modes 1000 and 1006): every motion would flood a slow
/// connection.
const MOUSE_ON: &[u8] = b"\x1b[?1000h\x1b[?1006h";
const MOUSE_OFF: &[u8] = b"\x1b[?1006l\x1b[?1000l";

pub(super) fn open_terminal(mouse: bool) -> io::Result<DefaultTerminal> {
    // crossterm's own NO_COLOR writes an empty style that also wipes bold and reverse: the cursor of the grid
    // would be lost. The theme takes the colours out instead.
    crossterm::style::force_color_output(true);
    let terminal = ratatui::try_init()?;
    execute!(io::stdout(), EnableBracketedPaste)?;
    if mouse {
        io::stdout().write_all(MOUSE_ON)?;
        io::stdout().flush()?;
    }
    Ok(terminal)
}

/// ratatui's own hook leaves the alternate screen; paste and mouse are ours to switch off.
pub(super) fn close_on_panic() {
    let earlier = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        close_terminal();
        earlier(info);
    }));
}

/// Leaves the terminal as it was. Nothing more can be done where that fails.
pub(super) fn close_terminal() {
    let _ = io::stdout().write_all(MOUSE_OFF);
    let _ = execute!(io::stdout(), DisableBracketedPaste, Show);
    // The terminal may be gone, and standard error with it: its own words on that would end the program.
    let _ = ratatui::try_restore();
}

pub(super) fn read_input(sender: Sender<Arrived>) {
    thread::spawn(move || {
        loop {
            let arrived = match event::read() {
                Ok(event) => Arrived::Input(Instant::now(), event),
                Err(_) => Arrived::End,
            };
            let ends = matches!(arrived, Arrived::End);
            if sender.send(arrived).is_err() || ends {
                return;
            }
        }
    });
}

/// What tells the loop that its room has stirred.
pub(super) fn stirred(sender: Sender<Arrived>) -> impl Fn(Stir) + Send + 'static {
    // Nobody is left to be told once the loop has ended.
    move |stir| _ = sender.send(Arrived::Stirred(stir))
}

/// What takes a while comes back through the loop.
fn furnisher(sender: Sender<Arrived>) -> Furnisher {
    Furnisher::new(move |answer| sender.send(Arrived::Message(Message::Furnished(answer))).is_ok())
}

pub(super) fn read_signals(sender: Sender<Arrived>) -> io::Result<()> {
    let mut signals = signal_hook::iterator::Signals::new([SIGTERM, SIGHUP, SIGINT, SIGQUIT, SIGTSTP])?;
    thread::spawn(move || {
        for signal in signals.forever() {
            if sender.send(Arrived::Signal(signal)).is_err() {
                return;
            }
        }
    });
    Ok(())
}

struct Shell {
    /// What a second monitor is to show; before the room, whose folder may go with it.
    beacon: Option<Beacon>,
    room: Room,
    /// For what is read behind the screens.
    behind: Sender<Arrived>,
    terminal: DefaultTerminal,
    look: Look,
    detector: Detector<Key>,
    mapper: Mapper,
    /// Where things stood in the frame that is shown.
    hits: Hits,
    mouse: bool,
    started: Instant,
    pace: Pace,
    furnisher: Furnisher,
    /// Columns and rows of the frame that is shown.
    size: (u16, u16),
    /// The number of the last entry that a frame has shown.
    shown: u64,
    /// The journal is not where it was opened, and that has been said.
    gone: bool,
    /// The signal that ended it; none when somebody left.
    leaving: Option<i32>,
}

impl Shell {
    fn serve(&mut self, state: &mut State, receiver: &Receiver<Arrived>) -> io::Result<()> {
        self.draw(state)?;
        follow::first_behind(&self.room, &state.world, self.tell());
        loop {
            let held_until = self.detector.deadline().map(|since| self.started + since);
            let until = held_until.map_or(self.pace.next(), |held| held.min(self.pace.next()));
            let mut changed = match receiver.recv_timeout(until.saturating_duration_since(Instant::now())) {
                Ok(Arrived::Input(at, event)) => self.input(state, at, event),
                Ok(Arrived::Message(message)) => {
                    let effects = state.on(Message::Tick(self.room.now()));
                    self.carry_out(state, effects);
                    let effects = state.on(message);
                    self.carry_out(state, effects);
                    true
                }
                Ok(Arrived::Stirred(stir)) => {
                    self.pace.stirred(stir, Instant::now());
                    false
                }
                Ok(Arrived::Signal(SIGTSTP)) => {
                    self.suspend()?;
                    true
                }
                Ok(Arrived::Signal(signal)) => {
                    self.leaving = Some(signal);
                    return Ok(());
                }
                Ok(Arrived::End) | Err(RecvTimeoutError::Disconnected) => {
                    self.leaving = Some(SIGHUP);
                    return Ok(());
                }
                Err(RecvTimeoutError::Timeout) => false,
            };
            let told = self.detector.tick(self.started.elapsed());
            changed |= !told.is_empty();
            self.told(state, told);
            if self.pace.is_due(Instant::now()) {
                changed |= self.tick(state);
                let soon = state.balloon_seconds().is_some() || state.rests();
                self.pace.looked(Instant::now(), state.world.now, soon);
            }
            if state.leave_now() {
                return Ok(());
            }
            if changed {
                self.draw(state)?;
            }
            if let Some(beacon) = &mut self.beacon {
                beacon.show(&state.glance(), Instant::now());
            }
        }
    }

    fn draw(&mut self, state: &State) -> io::Result<()> {
        let look = self.look;
        let mut hits = Hits::default();
        execute!(io::stdout(), BeginSynchronizedUpdate)?;
        self.terminal.draw(|frame| {
            let area = frame.area();
            hits = view::draw(state, look, area, frame.buffer_mut());
        })?;
        self.hits = hits;
        self.size = self.terminal.size().map_or(self.size, |size| (size.width, size.height));
        execute!(io::stdout(), EndSynchronizedUpdate)?;
        let saved = state.saved_seq();
        if self.shown != saved {
            self.shown = saved;
            self.room.mark_shown(saved);
        }
        Ok(())
    }

    /// The clock, and what other programs have written to this room.
    fn tick(&mut self, state: &mut State) -> bool {
        let now = self.room.now();
        let minute_passed = now.format("%F %R").to_string() != state.world.now.format("%F %R").to_string();
        let (seconds, rested) = (state.balloon_seconds(), state.rests());
        let mut changed = minute_passed;
        let said = state.said.clone();
        let effects = state.on(Message::Tick(now));
        changed |= !effects.is_empty() || state.said != said;
        self.carry_out(state, effects);
        changed |= seconds != state.balloon_seconds() || rested != state.rests();
        // A terminal that grew before anybody listened for it tells nobody that it did.
        changed |= self.terminal.size().is_ok_and(|size| (size.width, size.height) != self.size);
        let gone = self.room.in_place().is_err();
        if gone && !self.gone {
            changed = true;
            state.on(Message::JournalGone);
        }
        self.gone = gone;
        if let Some(news) = follow::news(&mut self.room, state) {
            changed = true;
            let effects = state.on(news);
            self.carry_out(state, effects);
        }
        changed
    }

    fn input(&mut self, state: &mut State, at: Instant, event: Event) -> bool {
        match event {
            Event::Key(event) => {
                let Some((stroke, key)) = self.mapper.map(event) else { return false };
                let told = self.detector.push(at.duration_since(self.started), stroke, key);
                // A key that is held to tell a scan from typing changes nothing yet.
                let changed = !told.is_empty() || stroke == Stroke::Other;
                self.told(state, told);
                changed
            }
            Event::Paste(text) => {
                let effects = state.on(Message::Scan {
                    bytes: text.into_bytes(),
                    complete: true,
                    arrival: Arrival::Pasted,
                });
                self.carry_out(state, effects);
                true
            }
            Event::Mouse(event) => self.pointed(state, event),
            Event::Resize(..) => true,
            _ => false,
        }
    }

    fn pointed(&mut self, state: &mut State, event: MouseEvent) -> bool {
        let message = match event.kind {
            MouseEventKind::Down(MouseButton::Left) => {
                let Some(spot) = self.hits.at(event.column, event.row) else { return false };
                Message::Click(spot)
            }
            MouseEventKind::ScrollDown => Message::Wheel { down: true },
            MouseEventKind::ScrollUp => Message::Wheel { down: false },
            _ => return false,
        };
        let effects = state.on(message);
        self.carry_out(state, effects);
        true
    }

    fn told(&mut self, state: &mut State, told: Vec<Told<Key>>) {
        if !told.is_empty() {
            // What is entered now has this time, also after a sleep of the machine.
            let effects = state.on(Message::Tick(self.room.now()));
            self.carry_out(state, effects);
        }
        for told in told {
            let message = match told {
                Told::Typed(key) => Message::Key(key),
                Told::Scan { text, complete } => {
                    Message::Scan { bytes: text.into_bytes(), complete, arrival: Arrival::Scanned }
                }
            };
            let effects = state.on(message);
            self.carry_out(state, effects);
        }
    }

    /// Each effect's answer goes back to the state before the next effect.
    fn carry_out(&mut self, state: &mut State, effects: Vec<Effect>) {
        let mut waiting = std::collections::VecDeque::from(effects);
        while let Some(effect) = waiting.pop_front() {
            let answer = match effect {
                Effect::Write(draft) => Some(self.write(state, draft)),
                // What is wrong is told by the write that follows.
                Effect::PutBack => self.room.put_back().is_ok_and(|back| back).then_some(Message::PutBack),
                Effect::Rescue { folder, leave } => {
                    Some(self.rescue(state, folder.map(PathBuf::from), leave))
                }
                Effect::Enrol(front) => Some(match self.room.enrol(&front) {
                    Ok(catalogue) => Message::Enrolled(catalogue),
                    Err(fault) => Message::NotEnrolled { why: fault.message().to_string() },
                }),
                Effect::Furnish(ask) => self.furnisher.ask(&mut self.room, ask).map(Message::Furnished),
                Effect::Record(code) => Some(self.record(code)),
                Effect::AnotherCode => Some(Message::SpareCode(self.spare_code(state))),
                Effect::Read(Wanted::Shelf { back_to }) => {
                    follow::read_behind(&self.room, back_to, self.tell());
                    None
                }
                Effect::Read(Wanted::Case(code)) => match self.room.case_entries(&code) {
                    Ok(entries) => Some(Message::CaseRead(entries)),
                    Err(fault) => Some(Message::NotRead { why: fault.message().to_string() }),
                },
                Effect::Leave => {
                    state.left = true;
                    None
                }
            };
            if let Some(answer) = answer {
                waiting.extend(state.on(answer));
            }
        }
    }

    /// Writes a draft, unless others wait before it; what others wrote before it is told first.
    fn write(&mut self, state: &mut State, mut draft: Draft) -> Message {
        if !state.may_go(&draft) {
            return Message::NotWritten { draft, why: None };
        }
        let stamp = self.room.stamp();
        let id = draft.id.get_or_insert(stamp.id).clone();
        let stamp = Stamp { id, entered: draft.entered, now: stamp.now };
        let case = draft.case.as_ref();
        let written = if draft.tried {
            self.room.write_again(&stamp, case, &draft.facts)
        } else {
            self.room.write_stamped(&stamp, case, &draft.facts)
        };
        match written {
            Ok(Appended { entries, already }) => {
                let saved = state.saved_seq();
                let first = entries.first().map_or(saved, |entry| entry.seq);
                if first > saved + 1 {
                    // Should they not be read now, the next look at what is new finds a gap no more: so it is tried
                    // here, and a disk that can't be read has other news to tell.
                    let mut between = self.room.entries_after(saved).unwrap_or_default();
                    between.retain(|entry| entry.seq < first);
                    let effects = state.on(Message::News(between));
                    self.carry_out(state, effects);
                }
                if already { Message::WrittenAlready(entries) } else { Message::Written(entries) }
            }
            Err(fault) => Message::NotWritten { draft, why: Some(fault.message().to_string()) },
        }
    }

    /// A code that no case has, of the journal or of what waits.
    fn spare_code(&self, state: &State) -> CaseCode {
        loop {
            let code = self.room.spare_code().unwrap_or_else(|_| Room::any_code());
            if state.waiting_drafts().iter().all(|waiting| waiting.draft.case.as_ref() != Some(&code)) {
                return code;
            }
        }
    }

    fn rescue(&mut self, state: &State, folder: Option<PathBuf>, leave: bool) -> Message {
        let mut waiting = state.waiting_drafts();
        for waiting in &mut waiting {
            waiting.draft.id.get_or_insert_with(|| self.room.stamp().id);
        }
        let kept: Vec<Kept> = waiting
            .iter()
            .map(|Waiting { draft, seqs }| Kept {
                id: draft.id.clone().unwrap_or_default(),
                entered: draft.entered,
                case: draft.case.clone(),
                numbers: seqs.clone(),
                words: draft.facts.iter().map(entry_words).collect(),
                facts: draft.facts.clone(),
            })
            .collect();
        match self.room.write_rescue(folder.as_deref(), kept) {
            Ok(place) => {
                let drafts = waiting.into_iter().map(|waiting| waiting.draft).collect();
                Message::Rescued { drafts, place: place.display().to_string(), leave }
            }
            Err(fault) => Message::NotRescued { why: fault.message().to_string() },
        }
    }

    /// How a thread hands over what it has read.
    fn tell(&self) -> impl Fn(Message) + Send + 'static {
        let sender = self.behind.clone();
        // Nobody is left to be told once the loop has ended.
        move |message| _ = sender.send(Arrived::Message(message))
    }

    fn record(&mut self, code: CaseCode) -> Message {
        match self.room.write_record(&code) {
            Ok(place) => Message::RecordWritten { code, place: place.display().to_string() },
            Err(fault) => Message::RecordFailed { why: fault.message().to_string() },
        }
    }

    /// A journal that is gone is put back before its last reader ends. Where nobody asked the program to end, what waits
    /// is saved or kept elsewhere, and whoever finds the terminal is told.
    fn take_leave(&mut self, state: &mut State, unasked: bool) {
        let mut words = Vec::new();
        if self.room.put_back().is_ok_and(|back| back) {
            words.push("The journal was gone and was put back, whole.".to_string());
        }
        if unasked {
            let effects =
                state.waiting_drafts().into_iter().map(|waiting| Effect::Write(waiting.draft)).take(1);
            self.carry_out(state, effects.collect());
            let goes_on = match state.world.open_case() {
                Some(case) => format!(" Case {case} goes on when boxcall is started again."),
                None => String::new(),
            };
            if !self.room.is_passing() {
                words.push(format!("boxcall has ended. What it showed as saved is on disk.{goes_on}"));
            }
            let count = state.unsaved.count();
            if count > 0 {
                words.push(match self.rescue(state, None, false) {
                    Message::Rescued { place, .. } => format!(
                        "NOT SAVED in the journal, but in a file: {count}. To take in:\n\
                         boxcall journal take-in {place}"
                    ),
                    _ => format!("NOT SAVED, AND LOST:\n{}", state.waiting_words().join("\n")),
                });
            }
        }
        if !words.is_empty() {
            // The terminal may be gone too.
            let _ = writeln!(io::stderr(), "{}", words.join("\n"));
        }
    }

    /// Stops like any program, with the terminal as it was, and comes back with a fresh screen.
    fn suspend(&mut self) -> io::Result<()> {
        close_terminal();
        signal_hook::low_level::raise(signal_hook::consts::SIGSTOP)?;
        self.terminal = open_terminal(self.mouse)?;
        Ok(())
    }
}

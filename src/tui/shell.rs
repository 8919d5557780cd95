//! The loop that touches the terminal: events in, frames out, effects carried out.
//!
//! Keys are read in a thread of their own and stamped as they arrive: a partial sequence can then freeze no
//! clock, and a burst is told from typing by when its characters came, not by when they were handled.

use super::follow;
use super::furnish::Furnisher;
use super::input::Mapper;
use super::keys::Key;
use super::locale;
use super::settings::{self, Settings};
use super::state::{Effect, Message, State, Wanted};
use super::view::{self, Background, Hits, Look};
use crate::journal::CaseCode;
use crate::label::Arrival;
use crate::label::burst::{Config, Detector, Stroke, Told};
use crate::room::{Beacon, Fault, Room};
use crossterm::cursor::Show;
use crossterm::event::{
    self, DisableBracketedPaste, EnableBracketedPaste, Event, MouseButton, MouseEvent, MouseEventKind,
};
use crossterm::execute;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate};
use ratatui::DefaultTerminal;
use signal_hook::consts::{SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP};
use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread;
use std::time::{Duration, Instant};

/// How often the clock is looked at, and whether another program has written to the room: asking that costs about a
/// microsecond.
const TICK: Duration = Duration::from_millis(30);

/// What the threads send to the loop.
pub(super) enum Arrived {
    Input(Instant, Event),
    Signal(i32),
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
    let mut state = State::with(follow::open(&room)?, settings);
    let (sender, receiver) = mpsc::channel();
    let mouse = state.settings.mouse;
    let terminal = open_terminal(mouse).map_err(|error| Fault::terminal(error.to_string()))?;
    close_on_panic();
    read_input(sender.clone());
    let furnisher = furnisher(sender.clone());
    let behind = sender.clone();
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
        furnisher,
        leaving: None,
    };
    let outcome = shell.serve(&mut state, &receiver);
    close_terminal();
    let leaving = shell.leaving;
    // A throw-away room goes with it, also where a signal ends the program.
    drop(shell);
    match (outcome, leaving) {
        (Err(error), _) => Err(Fault::terminal(error.to_string())),
        // The way in which a program says that a signal ended it.
        (Ok(()), Some(signal)) => std::process::exit(128 + signal),
        (Ok(()), None) => Ok(()),
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
    ratatui::restore();
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
    furnisher: Furnisher,
    /// The signal that ended it, or zero when somebody left.
    leaving: Option<i32>,
}

impl Shell {
    fn serve(&mut self, state: &mut State, receiver: &Receiver<Arrived>) -> io::Result<()> {
        self.draw(state)?;
        follow::first_behind(&self.room, &state.world, self.tell());
        let mut next_tick = Instant::now() + TICK;
        loop {
            let held_until = self.detector.deadline().map(|since| self.started + since);
            let until = held_until.map_or(next_tick, |held| held.min(next_tick));
            let mut changed = match receiver.recv_timeout(until.saturating_duration_since(Instant::now())) {
                Ok(Arrived::Input(at, event)) => self.input(state, at, event),
                Ok(Arrived::Message(message)) => {
                    let effects = state.on(message);
                    self.carry_out(state, effects);
                    true
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
            if Instant::now() >= next_tick {
                next_tick = Instant::now() + TICK;
                changed |= self.tick(state);
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
        execute!(io::stdout(), EndSynchronizedUpdate)
    }

    /// The clock, and what other programs have written to this room.
    fn tick(&mut self, state: &mut State) -> bool {
        let now = self.room.now();
        let minute_passed = now.format("%F %R").to_string() != state.world.now.format("%F %R").to_string();
        let seconds = state.balloon_seconds();
        let mut changed = minute_passed;
        let effects = state.on(Message::Tick(now));
        self.carry_out(state, effects);
        changed |= seconds != state.balloon_seconds();
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
                Effect::Write(draft) => match self.room.write(draft.case.as_ref(), &draft.facts) {
                    Ok(entries) => Some(Message::Written(entries)),
                    Err(fault) => Some(Message::NotWritten { draft, why: fault.message().to_string() }),
                },
                Effect::Enrol(front) => Some(match self.room.enrol(&front) {
                    Ok(catalogue) => Message::Enrolled(catalogue),
                    Err(fault) => Message::NotEnrolled { why: fault.message().to_string() },
                }),
                Effect::Furnish(ask) => self.furnisher.ask(&mut self.room, ask).map(Message::Furnished),
                Effect::Record(code) => Some(self.record(code)),
                Effect::AnotherCode => self.room.spare_code().ok().map(Message::SpareCode),
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

    /// Stops like any program, with the terminal as it was, and comes back with a fresh screen.
    fn suspend(&mut self) -> io::Result<()> {
        close_terminal();
        signal_hook::low_level::raise(signal_hook::consts::SIGSTOP)?;
        self.terminal = open_terminal(self.mouse)?;
        Ok(())
    }
}

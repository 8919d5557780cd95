//! The loop of the screens, those of a room and those of the second monitor: input and messages in, frames out.
//!
//! Everything that has arrived is taken in before the next frame is drawn: a flood of labels costs what the labels
//! cost, and holds no key back.

use super::input::Decoder;
use super::pace::Pace;
use super::state::Message;
use super::terminal::{self, Arrived, Terminal, is_gone, read_input, read_signals};
use super::view::Hits;
use crate::room::{Fault, now};
use crossterm::event::{Event, MouseButton, MouseEvent, MouseEventKind};
use ratatui::prelude::*;
use signal_hook::consts::{SIGHUP, SIGTSTP};
use std::io;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

/// While more and more arrives, a frame is drawn so often.
const FLOODED: Duration = Duration::from_millis(100);

/// A frame that takes this long is felt by whoever types: it is logged. No source.
const SLOW: Duration = Duration::from_millis(50);

/// What the loop serves.
pub(super) trait Screens {
    /// Takes a message in, and carries out what follows from it.
    fn on(&mut self, message: Message);

    /// Before the first wait: the first frame is shown.
    fn opened(&mut self) {}

    /// The clock, and what other programs have written; says to `pace` when it is to be looked at again. Whether
    /// something is to be drawn.
    fn look(&mut self, pace: &mut Pace) -> bool;

    fn draw(&self, area: Rect, buffer: &mut Buffer) -> Hits;

    /// A frame has been shown.
    fn drawn(&mut self) {}

    fn has_left(&self) -> bool;
}

/// Opens the terminal, serves these screens until somebody leaves, and closes it. The signal that ended it; none when
/// somebody left.
///
/// # Errors
/// The terminal can't be opened, or it fails.
pub(super) fn serve(
    screens: &mut impl Screens,
    mouse: bool,
    pace: &mut Pace,
    (sender, receiver): (Sender<Arrived>, &Receiver<Arrived>),
) -> io::Result<Option<i32>> {
    read_signals(sender.clone())?;
    let terminal = Terminal::open(mouse)?;
    tracing::info!(version = env!("CARGO_PKG_VERSION"), "screens opened");
    read_input(sender);
    let outcome = Loop { screens, terminal, receiver, pace, hits: Hits::default() }.run();
    terminal::close();
    match &outcome {
        Ok(signal) => tracing::info!(signal, "screens closed"),
        Err(error) => tracing::error!(os_error = error.raw_os_error(), "the terminal failed"),
    }
    outcome
}

/// Ends the program as its loop has ended.
///
/// # Errors
/// The terminal has failed.
pub(super) fn end(outcome: io::Result<Option<i32>>) -> Result<(), Fault> {
    match outcome {
        // It is gone: whether the signal or the end of its file came first is chance.
        Err(error) if is_gone(&error) => std::process::exit(128 + SIGHUP),
        Err(error) => Err(Fault::terminal(error.to_string())),
        // The way in which a program says that a signal ended it.
        Ok(Some(signal)) => std::process::exit(128 + signal),
        Ok(None) => Ok(()),
    }
}

struct Loop<'a, S> {
    screens: &'a mut S,
    terminal: Terminal,
    receiver: &'a Receiver<Arrived>,
    pace: &'a mut Pace,
    /// Where things are in the frame that is shown.
    hits: Hits,
}

impl<S: Screens> Loop<'_, S> {
    fn run(mut self) -> io::Result<Option<i32>> {
        let mut decoder = Decoder::new(Instant::now());
        self.draw()?;
        self.screens.opened();
        loop {
            let until = decoder.held_until().map_or(self.pace.next(), |held| held.min(self.pace.next()));
            let mut next = self.receiver.recv_timeout(until.saturating_duration_since(Instant::now()));
            let awake = Instant::now();
            let mut changed = false;
            loop {
                match next {
                    Ok(Arrived::Input(at, Event::Key(event))) => {
                        changed |= self.take(decoder.key(at, event));
                    }
                    Ok(Arrived::Input(_, Event::Paste(text))) => {
                        changed |= self.take(vec![Message::pasted(text)]);
                    }
                    Ok(Arrived::Input(_, Event::Mouse(event))) => {
                        // A click is on what is seen.
                        if std::mem::take(&mut changed) {
                            self.draw()?;
                        }
                        let pointed = self.pointed(event);
                        changed |= self.take(pointed.into_iter().collect());
                    }
                    Ok(Arrived::Input(_, event)) => changed |= matches!(event, Event::Resize(..)),
                    Ok(Arrived::Message(message)) => changed |= self.take(vec![message]),
                    Ok(Arrived::Stirred(stir)) => self.pace.stirred(stir, Instant::now()),
                    Ok(Arrived::Signal(SIGTSTP)) => {
                        self.terminal.suspend()?;
                        changed = true;
                    }
                    Ok(Arrived::Signal(signal)) => return Ok(Some(signal)),
                    Ok(Arrived::End) | Err(RecvTimeoutError::Disconnected) => return Ok(Some(SIGHUP)),
                    Err(RecvTimeoutError::Timeout) => {
                        // Characters that have arrived and were not taken in yet would look like a gap.
                        changed |= self.take(decoder.waited(Instant::now()));
                        break;
                    }
                }
                if self.screens.has_left() || awake.elapsed() >= FLOODED {
                    break;
                }
                next = self.receiver.recv_timeout(Duration::ZERO);
            }
            if self.pace.is_due(Instant::now()) {
                changed |= self.screens.look(self.pace) || self.terminal.has_other_size();
            }
            if self.screens.has_left() {
                return Ok(None);
            }
            if changed {
                self.draw()?;
            }
        }
    }

    fn draw(&mut self) -> io::Result<()> {
        let begun = Instant::now();
        let screens = &*self.screens;
        self.hits = self.terminal.draw(|area, buffer| screens.draw(area, buffer))?;
        self.screens.drawn();
        let took = begun.elapsed();
        if took >= SLOW {
            tracing::warn!(ms = took.as_secs_f64() * 1000.0, "slow frame");
        }
        Ok(())
    }

    /// What somebody did, or what was read; whether it was anything.
    fn take(&mut self, messages: Vec<Message>) -> bool {
        if messages.is_empty() {
            return false;
        }
        // What is entered now has this time, also after a sleep of the machine.
        self.screens.on(Message::Tick(now()));
        messages.into_iter().for_each(|message| self.screens.on(message));
        true
    }

    fn pointed(&self, event: MouseEvent) -> Option<Message> {
        match event.kind {
            MouseEventKind::Down(MouseButton::Left) => {
                self.hits.at(event.column, event.row).map(Message::Click)
            }
            MouseEventKind::ScrollDown => Some(Message::Wheel { down: true }),
            MouseEventKind::ScrollUp => Some(Message::Wheel { down: false }),
            _ => None,
        }
    }
}

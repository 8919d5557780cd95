//! The terminal: opened, drawn on, and left as it was; what it sends comes from threads of their own.
//!
//! Input is stamped in its thread as it arrives: a partial sequence then freezes no clock, and a burst is told from
//! typing by when its characters came, not by when they were handled.

use super::state::Message;
use super::view::Hits;
use crate::room::{Fault, Stir};
use crossterm::cursor::Show;
use crossterm::event::{self, DisableBracketedPaste, EnableBracketedPaste, Event};
use crossterm::execute;
use crossterm::terminal::{BeginSynchronizedUpdate, EndSynchronizedUpdate};
use ratatui::DefaultTerminal;
use ratatui::prelude::*;
use signal_hook::consts::{SIGALRM, SIGHUP, SIGINT, SIGQUIT, SIGSTOP, SIGTERM, SIGTSTP, SIGUSR1, SIGUSR2};
use std::io::{self, IsTerminal, Write};
use std::mem::ManuallyDrop;
use std::sync::mpsc::Sender;
use std::thread;
use std::time::Instant;

/// What the threads send to the loop of the screens.
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

impl Arrived {
    /// What sends on that something may have changed in the room's folder.
    pub(super) fn stirred(sender: Sender<Arrived>) -> impl Fn(Stir) + Send + 'static {
        // Nobody is there to take it once the loop has ended.
        move |stir| _ = sender.send(Arrived::Stirred(stir))
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

/// Columns and rows of the terminal; none where there is none.
pub fn size() -> Option<(u16, u16)> {
    crossterm::terminal::size().ok()
}

/// Clicks and the wheel alone, in decimal figures (DEC private modes 1000 and 1006): every motion would flood a slow
/// connection.
const MOUSE_ON: &[u8] = b"\x1b[?1000h\x1b[?1006h";
const MOUSE_OFF: &[u8] = b"\x1b[?1006l\x1b[?1000l";

/// A terminal that shows screens, until it is closed.
pub(super) struct Terminal {
    /// Never dropped: it is restored by [`close`], and should that fail, its own words on that would end the program.
    inner: ManuallyDrop<DefaultTerminal>,
    mouse: bool,
    /// Columns and rows of the frame that is shown.
    size: (u16, u16),
}

impl Terminal {
    /// Opens it, with a mouse or without, and closes it again should the program panic.
    pub(super) fn open(mouse: bool) -> io::Result<Terminal> {
        let terminal = Terminal { inner: ManuallyDrop::new(open(mouse)?), mouse, size: (0, 0) };
        // ratatui's own hook leaves the alternate screen; paste and mouse are ours to switch off.
        let earlier = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            close();
            earlier(info);
        }));
        Ok(terminal)
    }

    /// One frame, shown at once.
    pub(super) fn draw(&mut self, draw: impl Fn(Rect, &mut Buffer) -> Hits) -> io::Result<Hits> {
        let mut hits = Hits::default();
        execute!(io::stdout(), BeginSynchronizedUpdate)?;
        self.inner.draw(|frame| hits = draw(frame.area(), frame.buffer_mut()))?;
        self.size = self.inner.size().map_or(self.size, |size| (size.width, size.height));
        execute!(io::stdout(), EndSynchronizedUpdate)?;
        Ok(hits)
    }

    /// Whether it has another size than its frame: one that grew before anybody listened for it reports nothing.
    pub(super) fn has_other_size(&self) -> bool {
        self.inner.size().is_ok_and(|size| (size.width, size.height) != self.size)
    }

    /// Stops like any program, with the terminal as it was, and comes back with a fresh screen.
    pub(super) fn suspend(&mut self) -> io::Result<()> {
        close();
        signal_hook::low_level::raise(SIGSTOP)?;
        self.inner = ManuallyDrop::new(open(self.mouse)?);
        Ok(())
    }
}

fn open(mouse: bool) -> io::Result<DefaultTerminal> {
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

/// Leaves the terminal as it was. Nothing more can be done where that fails.
pub(super) fn close() {
    if !crate::control::holds("terminal-closed") {
        return;
    }
    let _ = io::stdout().write_all(MOUSE_OFF);
    let _ = execute!(io::stdout(), DisableBracketedPaste, Show);
    // The terminal may be gone, and standard error with it: its own words on that would end the program.
    let _ = ratatui::try_restore();
}

/// A terminal that was closed answers every write with an error of the device (EIO 5, ENXIO 6), or as a broken pipe.
pub(super) fn is_gone(error: &io::Error) -> bool {
    error.kind() == io::ErrorKind::BrokenPipe || matches!(error.raw_os_error(), Some(5 | 6))
}

/// Reads what is typed, scanned, pasted and clicked, in a thread of its own.
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

/// Hands on the signals that stop or end a program.
pub(super) fn read_signals(sender: Sender<Arrived>) -> io::Result<()> {
    // Those that nobody means for this program would end it as well, and leave the terminal as the screens have it.
    let signals = [SIGTERM, SIGHUP, SIGINT, SIGQUIT, SIGTSTP, SIGUSR1, SIGUSR2, SIGALRM];
    let mut signals = signal_hook::iterator::Signals::new(signals)?;
    thread::spawn(move || {
        for signal in signals.forever() {
            if sender.send(Arrived::Signal(signal)).is_err() {
                return;
            }
        }
    });
    Ok(())
}

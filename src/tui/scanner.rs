//! Trying a scanner: what arrives, what is understood of it, and what to set in the scanner.

use super::input::{Decoder, leaves};
use super::scan_report::report;
use super::state::Message;
use super::terminal::{Arrived, read_input};
use crate::deference::LINE;
use crate::room::Fault;
use crossterm::event::Event;
use crossterm::terminal::{disable_raw_mode, enable_raw_mode};
use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::{Duration, Instant};

/// How long to wait while nothing is held.
const PATIENCE: Duration = Duration::from_millis(200);

/// Shows scan after scan until somebody leaves with Esc or Ctrl+C. `year` is for the century of dates.
///
/// # Errors
/// There is no terminal, or it fails.
pub fn try_scanner(year: i32) -> Result<(), Fault> {
    if !io::stdin().is_terminal() || !io::stdout().is_terminal() {
        return Err(Fault::terminal("a scanner in keyboard mode types into a terminal; here is none"));
    }
    enable_raw_mode().map_err(|error| Fault::terminal(error.to_string()))?;
    let outcome = listen(year);
    // Nothing more can be done where that fails.
    let _ = disable_raw_mode();
    outcome.map_err(|error| Fault::terminal(error.to_string()))
}

fn listen(year: i32) -> io::Result<()> {
    let (sender, receiver) = mpsc::channel();
    read_input(sender);
    show(&[
        "Scan any box. What arrives is shown; nothing is kept. Esc or Ctrl+C leaves.".into(),
        LINE.into(),
    ])?;
    let mut decoder = Decoder::new(Instant::now());
    loop {
        let until = decoder.held_until().unwrap_or(Instant::now() + PATIENCE);
        let messages = match receiver.recv_timeout(until.saturating_duration_since(Instant::now())) {
            Ok(Arrived::Input(at, Event::Key(event))) => decoder.key(at, event),
            Ok(Arrived::Input(_, Event::Paste(text))) => vec![Message::pasted(text)],
            Err(RecvTimeoutError::Timeout) => decoder.waited(Instant::now()),
            Ok(Arrived::End) | Err(RecvTimeoutError::Disconnected) => return Ok(()),
            Ok(_) => Vec::new(),
        };
        for message in messages {
            match message {
                Message::Key(key) if leaves(key) => {
                    return Ok(());
                }
                Message::Scan { bytes, complete, .. } => show(&report(&bytes, complete, year))?,
                _ => {}
            }
        }
    }
}

/// In raw mode a line ends with both.
fn show(lines: &[String]) -> io::Result<()> {
    let mut out = io::stdout().lock();
    for line in lines {
        write!(out, "{line}\r\n")?;
    }
    out.flush()
}

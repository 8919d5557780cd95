//! Trying a scanner: what arrives, what is understood of it, and what to set in the scanner.

use super::input::{Mapper, leaves};
use crate::deference::LINE;
use crate::label::burst::{Config, Detector, Stroke, Told};
use crate::label::{self, Label, Refusal, Settings, card};
use crate::room::Fault;
use crossterm::event::{self, Event};
use crossterm::terminal::{disable_raw_mode, enable_raw_mode};
use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant};

/// How long nothing may arrive before the keyboard is looked at again.
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
    thread::spawn(move || {
        while let Ok(event) = event::read() {
            if sender.send((Instant::now(), event)).is_err() {
                return;
            }
        }
    });
    show(&[
        "Scan any box. What arrives is shown; nothing is kept. Esc or Ctrl+C leaves.".into(),
        LINE.into(),
    ])?;
    let started = Instant::now();
    let mut mapper = Mapper::default();
    let mut detector: Detector<char> = Detector::new(Config::default());
    loop {
        let until = detector
            .deadline()
            .map_or(PATIENCE, |at| (started + at).saturating_duration_since(Instant::now()));
        let told = match receiver.recv_timeout(until) {
            Ok((_, Event::Key(key))) if leaves(&key) => return Ok(()),
            Ok((at, Event::Key(key))) => match mapper.map(key) {
                Some((stroke, _)) => {
                    let c = if let Stroke::Char(c) = stroke { c } else { '\r' };
                    detector.push(at.duration_since(started), stroke, c)
                }
                None => Vec::new(),
            },
            Ok((_, Event::Paste(text))) => vec![Told::Scan { text, complete: true }],
            Ok(_) | Err(RecvTimeoutError::Timeout) => Vec::new(),
            Err(RecvTimeoutError::Disconnected) => return Ok(()),
        };
        for told in told.into_iter().chain(detector.tick(started.elapsed())) {
            if let Told::Scan { text, complete } = told {
                show(&report(text.as_bytes(), complete, year))?;
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

/// One scan in plain lines: its bytes, its fields, what to set.
pub fn report(bytes: &[u8], complete: bool, year: i32) -> Vec<String> {
    let hex: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    let shown: String = String::from_utf8_lossy(bytes)
        .chars()
        .map(|c| match c {
            '\u{1d}' => '␝',
            c if c.is_control() => '·',
            c => c,
        })
        .collect();
    let mut lines =
        vec![String::new(), format!("arrived     {shown}"), format!("in bytes    {}", hex.join(" "))];
    if !complete {
        lines.push("at its end  nothing: let the scanner send Enter behind each code".into());
    }
    if let Some(command) = card::read(bytes) {
        lines.push(match command {
            Ok(command) => format!("command     {}", command.word()),
            Err(refusal) => format!("command     not taken: {}", refusal.message),
        });
        return lines;
    }
    match label::read(bytes, &Settings::of_year(year)) {
        Ok(label) => lines.extend(understood(&label)),
        Err(refusal) => lines.extend(not_understood(&refusal)),
    }
    lines
}

fn understood(label: &Label) -> Vec<String> {
    let mut lines = vec![format!("understood  {}  {}", label.system, label.human_readable())];
    lines.extend(label.warnings.iter().map(|warning| format!("but         {}", warning.message)));
    if label.has_warning("ambiguous-no-separator") {
        lines.push("to set      let the scanner send GS (FNC1) as Ctrl+] or as F8".into());
    }
    lines
}

fn not_understood(refusal: &Refusal) -> Vec<String> {
    let mut lines = vec![format!("refused     {}", refusal.message)];
    if refusal.code == "keyboard-layout" {
        lines.push("to set      the scanner's keyboard layout must be this computer's".into());
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lost_separator_tells_what_to_set() {
        let text = report(b"]d201095212345432131727022810LOT721S0001", true, 2026).join("\n");
        assert!(text.contains("to set      let the scanner send GS"), "{text}");
        let whole = report(b"]d201095212345432131727022810LOT7\x1d21S0001", true, 2026).join("\n");
        assert!(whole.contains("(10)LOT7(21)S0001") && !whole.contains("to set"), "{whole}");
        let unended = report(b"]d20109521234543213", false, 2026).join("\n");
        assert!(unended.contains("send Enter"), "{unended}");
    }
}

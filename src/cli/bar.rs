//! How far something long is, on standard error.

#![allow(clippy::cast_possible_truncation, reason = "columns of a line")]

use std::io::{IsTerminal, Write};

/// How far it is, on standard error, where somebody looks at it.
#[derive(Debug)]
pub(super) struct Bar {
    shown: Option<u64>,
    wanted: bool,
}

impl Bar {
    const WIDTH: u64 = 40;

    pub(super) fn new(json: bool) -> Bar {
        Bar { shown: None, wanted: !json && std::io::stderr().is_terminal() }
    }

    pub(super) fn show(&mut self, done: u64, total: u64) {
        let percent = done * 100 / total.max(1);
        if !self.wanted || self.shown == Some(percent) {
            return;
        }
        self.shown = Some(percent);
        let full = (percent * Self::WIDTH / 100) as usize;
        let bar = format!("{}{}", "#".repeat(full), ".".repeat(Self::WIDTH as usize - full));
        // Nobody is left to be told when standard error is gone.
        let _ = write!(std::io::stderr().lock(), "\r[{bar}] {percent:>3} %");
    }

    pub(super) fn end(&self) {
        if self.shown.is_some() {
            let _ = writeln!(std::io::stderr().lock());
        }
    }
}

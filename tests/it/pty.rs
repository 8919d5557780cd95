//! A pseudo-terminal for the real binary, its screen read as a terminal would show it.
//!
//! Characters that arrive within the gap of each other and number six or more are a scan, so what is typed here
//! goes out in shorter pieces, each of which is waited for on the screen.

use boxcall::catalogue::Piece;
use boxcall::shelf::{Shelf, scan_of};
use boxcall::store::Store;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// How long anything may take before a test gives up; nothing is measured by it.
const PATIENCE: Duration = Duration::from_secs(20);
const POLL: Duration = Duration::from_millis(2);

pub struct Terminal {
    pub screen: Arc<Mutex<vt100::Parser>>,
    keyboard: Box<dyn Write + Send>,
    pub child: Box<dyn Child + Send + Sync>,
    pub master: Box<dyn MasterPty + Send>,
    closing: Arc<AtomicBool>,
    reader: std::thread::JoinHandle<()>,
}

fn cells(count: u16) -> NonZero<u16> {
    NonZero::new(count).expect("a terminal has cells")
}

impl Terminal {
    pub(crate) fn open(arguments: &[&str], env: &[(&str, &str)], width: u16, height: u16) -> Self {
        let size = PtySize { rows: height, cols: width, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_boxcall"));
        command.args(arguments);
        command.env_clear();
        for (name, value) in
            [("TERM", "xterm-256color"), ("LANG", "C.UTF-8"), ("TZ", "UTC")].iter().chain(env)
        {
            command.env(name, value);
        }
        #[cfg(feature = "proving")]
        for name in [boxcall::control::TAKEN_OUT, boxcall::control::REACHED] {
            if let Some(value) = std::env::var_os(name) {
                command.env(name, value);
            }
        }
        let child = pair.slave.spawn_command(command).expect("the program starts");
        // Or the reader never sees the end.
        drop(pair.slave);
        let screen = Arc::new(Mutex::new(vt100::Parser::new(cells(height), cells(width), 0)));
        let mut output = pair.master.try_clone_reader().expect("a reader");
        let shown = screen.clone();
        let closing = Arc::new(AtomicBool::new(false));
        let closes = closing.clone();
        let reader = std::thread::spawn(move || {
            let mut bytes = [0; 65_536];
            while let Ok(count @ 1..) = output.read(&mut bytes) {
                shown.lock().unwrap().process(&bytes[..count]);
                if closes.load(Ordering::SeqCst) {
                    return;
                }
            }
        });
        let keyboard = pair.master.take_writer().expect("a writer");
        Terminal { screen, keyboard, child, master: pair.master, closing, reader }
    }

    pub fn contents(&self) -> String {
        self.screen.lock().unwrap().screen().contents()
    }

    pub fn wait(&self, what: &str, holds: impl Fn(&vt100::Screen) -> bool) {
        let end = Instant::now() + PATIENCE;
        while Instant::now() < end {
            if holds(self.screen.lock().unwrap().screen()) {
                return;
            }
            std::thread::sleep(POLL);
        }
        panic!("never seen: {what}\n{}", self.contents());
    }

    pub(crate) fn sees(&self, words: &str) {
        self.wait(words, |screen| screen.contents().contains(words));
    }

    pub(crate) fn send(&mut self, bytes: &[u8]) -> &mut Self {
        self.keyboard.write_all(bytes).expect("the keyboard works");
        self.keyboard.flush().expect("the keyboard works");
        self
    }

    /// The terminal is given another size.
    pub fn grow(&self, width: u16, height: u16) {
        self.screen.lock().unwrap().screen_mut().set_size(cells(height), cells(width));
        let size = PtySize { rows: height, cols: width, pixel_width: 0, pixel_height: 0 };
        self.master.resize(size).expect("it takes another size");
    }

    /// Waits for the arrow before the next step: keys that decide about the box rest no more.
    pub(crate) fn awake(&mut self) -> &mut Self {
        self.wait("keys that decide", |screen| {
            screen.contents().lines().any(|line| line.trim_start().starts_with("▸ "))
        });
        self
    }

    /// One key or a few characters; then waits for what they bring.
    pub(crate) fn press(&mut self, keys: &str, then: &str) -> &mut Self {
        assert!(keys.chars().count() < 6, "{keys:?} would be taken for a scan");
        self.send(keys.as_bytes()).sees(then);
        self
    }

    pub(crate) fn process(&self) -> u32 {
        self.child.process_id().expect("it runs")
    }

    /// The window is closed; what is left is the program, to be waited for.
    pub(crate) fn close(mut self) -> Box<dyn Child + Send + Sync> {
        self.closing.store(true, Ordering::SeqCst);
        // The reader lets go of its end when it has read once more.
        self.send(F5.as_bytes());
        self.reader.join().expect("it only reads");
        drop(self.keyboard);
        drop(self.master);
        self.child
    }

    pub(crate) fn signal(&self, signal: i32) {
        let process = self.child.process_id().expect("it runs") as i32;
        // SAFETY: sends a signal to the child that this test started.
        unsafe { assert_eq!(libc::kill(process, signal), 0) };
    }

    pub(crate) fn ended(&mut self) -> u32 {
        let end = Instant::now() + PATIENCE;
        while Instant::now() < end {
            if let Some(status) = self.child.try_wait().expect("a child") {
                return status.exit_code();
            }
            std::thread::sleep(POLL);
        }
        panic!("it does not end\n{}", self.contents());
    }

    fn is_cooked(&self) -> bool {
        self.master.get_termios().is_some_and(|mode| format!("{:?}", mode.local_flags).contains("ICANON"))
    }

    /// The terminal is as it was before the program: its own screen, lines, a cursor.
    pub(crate) fn is_restored(&self) {
        self.wait("the screen from before", |screen| !screen.alternate_screen() && !screen.hide_cursor());
        let end = Instant::now() + PATIENCE;
        while !self.is_cooked() && Instant::now() < end {
            std::thread::sleep(POLL);
        }
        assert!(self.is_cooked(), "lines are lines again");
    }
}

pub(crate) const F3: &str = "\x1bOR";
pub(crate) const F5: &str = "\x1b[15~";
pub(crate) const F6: &str = "\x1b[17~";
pub(crate) const F7: &str = "\x1b[18~";
pub const LEAVE: &str = "Q";

/// A piece of this catalogue number on the shelf of a room, in date by far.
pub fn piece(room: &Path, reference: &str) -> Piece {
    let store = Store::open_read_only(&room.join("journal.db")).expect("the room has a journal");
    let entries = store.entries_after(0).expect("it can be read");
    let catalogue = crate::hand::demo_catalogue();
    let shelf = Shelf::fold_with(&catalogue, &entries);
    let known =
        |piece: &&&Piece| catalogue.find(&piece.di).is_some_and(|found| found.reference() == reference);
    let pieces = shelf.pieces();
    let latest = pieces.iter().filter(known).max_by_key(|piece| piece.use_by).expect("it lies on the shelf");
    Piece::clone(latest)
}

pub fn scan(piece: &Piece, end: &str) -> Vec<u8> {
    let mut bytes = scan_of(piece);
    bytes.extend(end.bytes());
    bytes
}

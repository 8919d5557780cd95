//! `cargo bench --bench together`: how long it takes from a call on one screen until two others of the same room show
//! it, and what the screens cost while nothing happens. The real program, three times, each in a pseudo-terminal.

use boxcall::room::Room;
use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

const CALLS: usize = 20;
const IDLE: Duration = Duration::from_secs(10);
const PATIENCE: Duration = Duration::from_secs(20);

struct Screen {
    shown: Arc<Mutex<vt100::Parser>>,
    keyboard: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    _master: Box<dyn portable_pty::MasterPty + Send>,
}

impl Screen {
    fn open(room: &Path) -> Screen {
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_boxcall"));
        command.args(["--room", room.to_str().expect("a path")]);
        command.env_clear();
        for (name, value) in [("TERM", "xterm-256color"), ("LANG", "C.UTF-8"), ("TZ", "UTC")] {
            command.env(name, value);
        }
        let child = pair.slave.spawn_command(command).expect("the program starts");
        drop(pair.slave);
        let cells = |count: u16| NonZero::new(count).expect("a terminal has cells");
        let shown = Arc::new(Mutex::new(vt100::Parser::new(cells(24), cells(80), 0)));
        let mut output = pair.master.try_clone_reader().expect("a reader");
        let screen = shown.clone();
        std::thread::spawn(move || {
            let mut bytes = [0; 65_536];
            while let Ok(count @ 1..) = output.read(&mut bytes) {
                screen.lock().expect("a screen").process(&bytes[..count]);
            }
        });
        let keyboard = pair.master.take_writer().expect("a writer");
        Screen { shown, keyboard, child, _master: pair.master }
    }

    /// When these words stand there.
    fn sees(&self, words: &str) -> Instant {
        let end = Instant::now() + PATIENCE;
        while Instant::now() < end {
            if self.shown.lock().expect("a screen").screen().contents().contains(words) {
                return Instant::now();
            }
            std::thread::sleep(Duration::from_micros(200));
        }
        panic!("never seen: {words}\n{}", self.shown.lock().expect("a screen").screen().contents());
    }

    fn send(&mut self, bytes: &[u8]) {
        self.keyboard.write_all(bytes).expect("the keyboard works");
    }

    /// Processor time so far, by /proc/PID/stat (proc(5)), in clock ticks of 10 ms.
    fn ticks(&self) -> Option<u64> {
        let stat = std::fs::read_to_string(format!("/proc/{}/stat", self.child.process_id()?)).ok()?;
        let fields: Vec<&str> = stat.rsplit_once(')')?.1.split_whitespace().collect();
        Some(fields.get(11)?.parse::<u64>().ok()? + fields.get(12)?.parse::<u64>().ok()?)
    }
}

fn main() {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let room = folder.path().join("room");
    drop(Room::lay_demo(&room).expect("a room"));
    let mut screens: Vec<Screen> = (0..3).map(|_| Screen::open(&room)).collect();
    for screen in &mut screens {
        screen.sees("any key goes on");
        screen.send(b"?");
        screen.sees("Sizes");
    }
    let mut late = Vec::new();
    for call in 1..=CALLS {
        screens[0].send(b"3 29");
        screens[0].sees("calls it");
        screens[0].send(b"\r");
        let words = format!("{call} to fetch");
        let written = screens[0].sees(&words);
        for other in &screens[1..] {
            late.push(other.sees(&words).saturating_duration_since(written));
        }
        if call == 1 {
            screens[0].send(b"?");
        }
        screens[0].send(b"\x1bOQ");
    }
    late.sort_unstable();
    println!(
        "shown on another screen: median {:.0} ms, worst of {} {:.0} ms after the first shows it",
        late[late.len() / 2].as_secs_f64() * 1e3,
        late.len(),
        late[late.len() - 1].as_secs_f64() * 1e3
    );
    let before: Vec<_> = screens.iter().map(Screen::ticks).collect();
    std::thread::sleep(IDLE);
    for (screen, before) in screens.iter().zip(before) {
        if let (Some(before), Some(after)) = (before, screen.ticks()) {
            let share = (after - before) as f64 / 100.0 / IDLE.as_secs_f64();
            println!("idle: {:.2} % of a core", share * 100.0);
        }
    }
    for screen in &mut screens {
        screen.child.kill().expect("it ends");
    }
}

//! `cargo bench --bench flood`: labels that arrive faster than they can be shown, as from a scanner that empties its
//! memory. The real program in a pseudo-terminal takes 400 and 800 labels in one go, while boxes are received and while
//! labels are read back; then a key is pressed. Every label has to be taken in, and no character of one run as a key.
//!
//! The promises: twice the labels take twice the time, and the key is answered within the gap that tells a scan from
//! typing and 50 ms of the last byte.

use boxcall::catalogue::Piece;
use boxcall::label::burst::Config;
use boxcall::room::Room;
use boxcall::shelf::{Shelf, scan_of};
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::error::Error;
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

const FEW: usize = 400;
const MANY: usize = 800;
const RUNS: usize = 3;
const PATIENCE: Duration = Duration::from_secs(60);
/// Past the gap.
const PROMISED: Duration = Duration::from_millis(50);

/// F7: a key that is answered without waiting for more characters.
const SHELF: &[u8] = b"\x1b[18~";

/// What is done with the labels.
#[derive(Clone, Copy)]
enum Job {
    Received,
    ReadBack,
}

/// How long it took from the first byte and from the last one to the key's answer.
struct Took {
    whole: Duration,
    after: Duration,
}

fn flood(room: &Path, job: Job, labels: &[Vec<u8>]) -> Result<Took, Box<dyn Error>> {
    let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size)?;
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_boxcall"));
    command.args(["--room", room.to_str().ok_or("a path")?]);
    command.env_clear();
    for (name, value) in [("TERM", "xterm-256color"), ("LANG", "C.UTF-8"), ("TZ", "UTC")] {
        command.env(name, value);
    }
    let mut child = pair.slave.spawn_command(command)?;
    drop(pair.slave);
    let cells = |count: u16| NonZero::new(count).unwrap_or(NonZero::<u16>::MIN);
    let shown = Arc::new(Mutex::new(vt100::Parser::new(cells(24), cells(80), 0)));
    let mut output = pair.master.try_clone_reader()?;
    let screen = shown.clone();
    std::thread::spawn(move || {
        let mut bytes = [0; 65_536];
        while let Ok(count @ 1..) = output.read(&mut bytes) {
            screen.lock().expect("a screen").process(&bytes[..count]);
        }
    });
    let contents = || shown.lock().expect("a screen").screen().contents();
    let sees = |words: &str| -> Result<Instant, Box<dyn Error>> {
        let end = Instant::now() + PATIENCE;
        while Instant::now() < end {
            if contents().contains(words) {
                return Ok(Instant::now());
            }
            std::thread::sleep(Duration::from_micros(200));
        }
        Err(format!("never seen: {words}\n{}", contents()).into())
    };
    let mut keyboard = pair.master.take_writer()?;
    let mut press = |keys: &[u8], then: &str| -> Result<Instant, Box<dyn Error>> {
        keyboard.write_all(keys)?;
        keyboard.flush()?;
        sees(then)
    };
    press(b"", "any key goes on")?;
    press(b"\x1b[A", "nothing measured")?;
    if let Job::Received = job {
        press(SHELF, "receive")?;
        press(b"i", "they go to")?;
        press(b"c9\t\t\r", "COUNTED HERE")?;
    }
    let bytes: Vec<u8> = labels.iter().flat_map(|label| [label.as_slice(), b"\r"].concat()).collect();
    let start = Instant::now();
    keyboard.write_all(&bytes)?;
    keyboard.flush()?;
    let (sent, answered) = match job {
        Job::Received => {
            let sent = Instant::now();
            keyboard.write_all(b"d")?;
            keyboard.flush()?;
            (sent, sees(&format!("Boxes: {}", labels.len()))?)
        }
        Job::ReadBack => {
            let sent = Instant::now();
            keyboard.write_all(SHELF)?;
            keyboard.flush()?;
            (sent, sees("receive")?)
        }
    };
    child.kill()?;
    child.wait()?;
    Ok(Took { whole: answered - start, after: answered - sent })
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR"))?;
    let place = folder.path().join("room");
    let room = Room::lay_demo(&place)?;
    let shelf = Shelf::fold_with(&room.catalogue, &room.entries_after(0)?);
    let one = shelf.pieces().into_iter().find(|piece| piece.serial.is_none()).ok_or("a piece")?.clone();
    drop(room);
    let labels: Vec<Vec<u8>> = (0..MANY)
        .map(|number| {
            scan_of(&Piece { serial: Some(format!("F{number:04}")), lot: "F1".into(), ..one.clone() })
        })
        .collect();
    let gap = Config::default().gap();
    for (job, words) in [(Job::Received, "received"), (Job::ReadBack, "read back")] {
        let mut best = Vec::new();
        for count in [FEW, MANY] {
            let mut runs = Vec::new();
            for _ in 0..RUNS {
                runs.push(flood(&place, job, &labels[..count])?);
            }
            let fastest = runs.iter().map(|took| took.whole).min().ok_or("a run")?;
            let after = runs.iter().map(|took| took.after).min().ok_or("a run")?;
            println!("{count} labels {words}: {fastest:?}; the key after them is answered in {after:?}");
            best.push((fastest, after));
        }
        let (few, many) = (best[0], best[1]);
        println!(
            "{words}: time of {MANY} labels / time of {FEW} {:.2} (promised: below 2.5); delay of the key / promise {:.2} (promised: below 1)",
            many.0.as_secs_f64() / few.0.as_secs_f64(),
            many.1.as_secs_f64() / (gap + PROMISED).as_secs_f64()
        );
    }
    Ok(())
}

//! A key to the end of its frame, through a pseudo-terminal: the real program in 200x60, a grid of 40 diameters by 40
//! lengths, a measured lesion, the cursor going about. Then the program is left alone. `cargo bench --bench frames`.
//!
//! The promises: p99 under 8 ms; no time of the processor where nothing happens.

mod timing;

use boxcall::room::Room;
use boxcall::udi::mod10_check;
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::error::Error;
use std::fmt::Write as _;
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};
use timing::median;

const SIZE: (u16, u16) = (200, 60);
const SIDE: usize = 40;
const KEYS: usize = 500;
const WARM_UP: usize = 20;
const IDLE: Duration = Duration::from_secs(5);
const PROMISED: Duration = Duration::from_millis(8);
/// How long anything may take before the run is given up.
const PATIENCE: Duration = Duration::from_secs(20);
/// What ends a synchronised frame.
const END: &[u8] = b"\x1b[?2026l";

/// One product of 40 diameters from 1.50 by 0.10 and 40 lengths from 8 by 2.
fn product() -> Result<String, Box<dyn Error>> {
    let mut text = String::from(
        "schema = 1\nid = \"moor\"\nname = \"Moor\"\nmaker = \"Lowfell (invented)\"\nkind = \"drug-eluting stent\"\nmaterial = \"cobalt-chromium\"\nshaft_cm = 145\nwire_in = 0.014\n",
    );
    for d in 0..SIDE {
        let mm = 1.5 + d as f64 / 10.0;
        writeln!(
            text,
            "\n[[diameter]]\nmm = {mm:.2}\nnominal_atm = 11\nrated_burst_atm = 18\nexpansion_limit_mm = {:.2}",
            mm + 0.8
        )?;
        writeln!(text, "chart = [[11, {mm:.2}], [18, {:.2}]]\nboxes = [", mm + 0.2)?;
        for l in 0..SIDE {
            let body = format!("0952{:09}", d * SIDE + l);
            let check = mod10_check(&body).ok_or("digits")?;
            writeln!(
                text,
                "  {{ length_mm = {}, ref = \"FR{d:02}{l:02}\", di = [\"{body}{check}\"] }},",
                8 + 2 * l
            )?;
        }
        text.push_str("]\n");
    }
    Ok(text)
}

fn room(place: &Path) -> Result<(), Box<dyn Error>> {
    drop(Room::lay_demo(place)?);
    let products = place.join("catalogue");
    for file in std::fs::read_dir(&products)? {
        let file = file?.path();
        if file.file_name().is_none_or(|name| name != "guides.toml") {
            std::fs::remove_file(file)?;
        }
    }
    std::fs::write(products.join("moor.toml"), product()?)?;
    Ok(())
}

/// What the terminal was sent at a time, and what it shows after it.
struct Sent {
    at: Instant,
    bytes: Vec<u8>,
    shows: String,
}

/// When the next frame had come whole, and how many bytes that took.
fn frame(output: &Receiver<Sent>) -> Result<(Instant, usize), Box<dyn Error>> {
    let mut bytes = Vec::new();
    loop {
        let sent = output.recv_timeout(PATIENCE)?;
        bytes.extend(sent.bytes);
        if bytes.windows(END.len()).any(|window| window == END) {
            return Ok((sent.at, bytes.len()));
        }
    }
}

/// Waits until these words stand on the screen.
fn seen(output: &Receiver<Sent>, words: &str) -> Result<(), Box<dyn Error>> {
    let mut shows = String::new();
    loop {
        let sent = output.recv_timeout(PATIENCE).map_err(|_| format!("never seen: {words}\n{shows}"))?;
        shows = sent.shows;
        if shows.contains(words) {
            return Ok(());
        }
    }
}

/// Processor time so far, by /proc/PID/stat (proc(5)), in clock ticks of 10 ms.
fn ticks(process: u32) -> Option<u64> {
    let stat = std::fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    let fields: Vec<&str> = stat.rsplit_once(')')?.1.split_whitespace().collect();
    Some(fields.get(11)?.parse::<u64>().ok()? + fields.get(12)?.parse::<u64>().ok()?)
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR"))?;
    let place = folder.path().join("room");
    room(&place)?;
    let size = PtySize { rows: SIZE.1, cols: SIZE.0, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size)?;
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_boxcall"));
    command.args(["--room", place.to_str().ok_or("a path")?]);
    for (name, value) in [("TERM", "xterm-256color"), ("LANG", "C.UTF-8")] {
        command.env(name, value);
    }
    let mut child = pair.slave.spawn_command(command)?;
    let mut reader = pair.master.try_clone_reader()?;
    let mut keyboard = pair.master.take_writer()?;
    let (sender, output) = mpsc::channel();
    std::thread::spawn(move || {
        let cells = |count| NonZero::new(count).unwrap_or(NonZero::<u16>::MIN);
        let mut screen = vt100::Parser::new(cells(SIZE.1), cells(SIZE.0), 0);
        let mut bytes = [0; 65_536];
        while let Ok(count @ 1..) = reader.read(&mut bytes) {
            let at = Instant::now();
            screen.process(&bytes[..count]);
            let sent = Sent { at, bytes: bytes[..count].to_vec(), shows: screen.screen().contents() };
            if sender.send(sent).is_err() {
                return;
            }
        }
    });
    let mut press = |key: &[u8]| -> Result<Instant, Box<dyn Error>> {
        let at = Instant::now();
        keyboard.write_all(key)?;
        keyboard.flush()?;
        Ok(at)
    };
    seen(&output, "any key goes on")?;
    press(b"\x1b[A")?;
    seen(&output, "nothing measured")?;
    while output.try_recv().is_ok() {}
    // One character after the other has been drawn: none of it is a burst.
    press(b"m")?;
    seen(&output, "measured")?;
    for key in [
        "o", "\t", "2", ".", "9", "\t", "3", ".", "2", "\t", "3", ".", "2", "\t", "3", ".", "5", "\t", "2",
        "4",
    ] {
        press(key.as_bytes())?;
        frame(&output)?;
    }
    press(b"\r")?;
    seen(&output, "A case has begun")?;
    press(b"\x1b[A")?;
    let (mut times, mut sizes) = (Vec::new(), Vec::new());
    for number in 0..WARM_UP + KEYS {
        while output.try_recv().is_ok() {}
        let arrow: &[u8] = match (number / SIDE) % 4 {
            0 => b"\x1b[C",
            1 => b"\x1b[B",
            2 => b"\x1b[D",
            _ => b"\x1b[A",
        };
        let pressed = press(arrow)?;
        let (drawn, bytes) = frame(&output)?;
        if number >= WARM_UP {
            times.push(drawn.saturating_duration_since(pressed));
            sizes.push(bytes);
        }
    }
    times.sort_unstable();
    let p99 = times[times.len() * 99 / 100];
    println!(
        "key to the end of its frame, {SIDE}x{SIDE} grid, 200x60: median {:?}, p99 {p99:?}, worst {:?}",
        median(&times),
        times[times.len() - 1]
    );
    println!(
        "ratio of p99 to the promise {:.2} (promised: below 1, at {PROMISED:?})",
        p99.as_secs_f64() / PROMISED.as_secs_f64()
    );
    println!(
        "bytes a frame: median {}, most {}",
        median(&sizes),
        sizes.iter().max().copied().unwrap_or_default()
    );
    let process = child.process_id().ok_or("a process")?;
    let before = ticks(process);
    std::thread::sleep(IDLE);
    while output.try_recv().is_ok() {}
    if let (Some(before), Some(after)) = (before, ticks(process)) {
        println!("left alone: {:.2} % of a core", (after - before) as f64 / IDLE.as_secs_f64());
    }
    child.kill()?;
    Ok(())
}

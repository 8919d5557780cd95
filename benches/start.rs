//! `cargo bench --bench start [ENTRIES …]`: how long the program takes until its first frame shows the case in work, and
//! until the shelf is known and the place of the box that is called stands there. The real program in a
//! pseudo-terminal, on a room that is all but empty and on full ones (100,000 and 1,000,000 entries), in one run.

mod filled;
mod timing;

use boxcall::room::{Room, files};
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::time::{Duration, Instant};
use timing::median;

const RUNS: usize = 7;
const F3: &[u8] = b"\x1bOR";

/// From the start of the program: the first frame with the case, and the place of the box.
fn start(room: &Path, case: &str) -> (Duration, Duration) {
    let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_boxcall"));
    command.args(["--room", room.to_str().expect("a path")]);
    command.env_clear();
    for (name, value) in [("TERM", "xterm-256color"), ("LANG", "C.UTF-8"), ("TZ", "UTC")] {
        command.env(name, value);
    }
    let mut output = pair.master.try_clone_reader().expect("a reader");
    let mut keyboard = pair.master.take_writer().expect("a writer");
    let begun = Instant::now();
    let mut child = pair.slave.spawn_command(command).expect("the program starts");
    drop(pair.slave);
    let cells = |count: u16| NonZero::new(count).expect("a terminal has cells");
    let mut screen = vt100::Parser::new(cells(24), cells(80), 0);
    let mut bytes = [0; 65_536];
    let (mut first, mut placed) = (None, None);
    while placed.is_none() {
        let count = output.read(&mut bytes).expect("it draws");
        assert!(count > 0, "it ended: {}", screen.screen().contents());
        screen.process(&bytes[..count]);
        let shown = screen.screen().contents();
        if first.is_none() && shown.contains(case) && shown.contains("1 to fetch") {
            first = Some(begun.elapsed());
            keyboard.write_all(F3).expect("the keyboard works");
        }
        if shown.contains("▸ cupboard 2, shelf E") {
            placed = Some(begun.elapsed());
        }
        assert!(!shown.contains("NONE"), "a box that is there is called missing: {shown}");
    }
    child.kill().expect("it ends");
    let _ = child.wait();
    (first.expect("shown before its place"), placed.expect("placed"))
}

fn main() {
    let mut sizes: Vec<usize> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    if sizes.is_empty() {
        sizes = vec![100_000, 1_000_000];
    }
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let mut least = None;
    for entries in std::iter::once(0).chain(sizes) {
        let room = folder.path().join(format!("room-{entries}"));
        drop(Room::lay_demo(&room).expect("a room"));
        // The demo's own shelf would be another one.
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(room.join(format!("{}{end}", files::JOURNAL)));
        }
        let begun = Instant::now();
        let count = filled::fill(&room.join(files::JOURNAL), entries);
        let written = begun.elapsed().as_secs_f64();
        let case = filled::code(entries / filled::A_CASE).to_string();
        let (mut firsts, mut places) = (Vec::new(), Vec::new());
        for _ in 0..RUNS {
            let (first, placed) = start(&room, &case);
            firsts.push(first);
            places.push(placed);
        }
        let (first, placed) = (median(&firsts), median(&places));
        let ms = |time: Duration| time.as_secs_f64() * 1_000.0;
        let (first_least, placed_least) = *least.get_or_insert((first, placed));
        println!(
            "{count:>9} entries: first frame {:6.1} ms ({:.2} of the empty room), box placed {:7.1} ms ({:.2}); \
             filled in {written:.0} s",
            ms(first),
            first.as_secs_f64() / first_least.as_secs_f64(),
            ms(placed),
            placed.as_secs_f64() / placed_least.as_secs_f64(),
        );
    }
}

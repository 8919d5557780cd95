//! From an entry that is on disk to the second monitor's finished frame, as a terminal shows it: the real program in
//! a pseudo-terminal of 200 by 60, in a room that many cases have gone through. Run: `cargo bench --bench far`.

use boxcall::journal::{CaseCode, Fact, Readiness, Wanted};
use boxcall::room::Room;
use boxcall::units::{Diameter, Length};
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::error::Error;
use std::io::Read;
use std::num::NonZero;
use std::sync::mpsc;
use std::time::{Duration, Instant};

const ROUNDS: u32 = 200;
/// Before the first that counts.
const WARM_UP: u32 = 10;
/// Entries of earlier cases.
const EARLIER: u32 = 20_000;
/// The promise: an entry is followed within this time.
const PROMISED: Duration = Duration::from_millis(100);
/// How long anything may take before the run is given up.
const PATIENCE: Duration = Duration::from_secs(20);
const SIZE: (u16, u16) = (200, 60);

fn call(number: u32) -> Fact {
    let wanted = Wanted {
        product: Some("fell".into()),
        name: Some("Fell".into()),
        diameter: Some(Diameter::from_mm(3.0)),
        length: Some(Length::from_mm(29.0)),
        ..Wanted::default()
    };
    Fact::Called {
        call: number,
        lesion: Some(1),
        wanted,
        readiness: Readiness::Asked,
        verdict: None,
        why: None,
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    // In the build's own folder: the system's folder for temporary files may lie in memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR"))?;
    let place = folder.path().join("room");
    let mut room = Room::lay_demo(&place)?;
    for case in 0..EARLIER / 200 {
        let [low, high, ..] = case.to_le_bytes();
        let code = CaseCode::from_random([low, low / 23, high, 7, 7]);
        let facts = (0..100).flat_map(|number| [call(number), Fact::CallCancelled { call: number }]);
        room.write(Some(&code), &facts.collect::<Vec<_>>())?;
    }
    let size = PtySize { rows: SIZE.1, cols: SIZE.0, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size)?;
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_boxcall"));
    command.args(["far", "--room", place.to_str().ok_or("a path")?]);
    for (name, value) in [("TERM", "xterm-256color"), ("LANG", "C.UTF-8")] {
        command.env(name, value);
    }
    let mut child = pair.slave.spawn_command(command)?;
    let mut output = pair.master.try_clone_reader()?;
    let (sender, receiver) = mpsc::channel();
    std::thread::spawn(move || {
        let cells = |count| NonZero::new(count).unwrap_or(NonZero::<u16>::MIN);
        let mut screen = vt100::Parser::new(cells(SIZE.1), cells(SIZE.0), 0);
        let mut bytes = [0; 65_536];
        while let Ok(count @ 1..) = output.read(&mut bytes) {
            let at = Instant::now();
            screen.process(&bytes[..count]);
            if sender.send((at, screen.screen().contents())).is_err() {
                return;
            }
        }
    });
    // When these words are on the screen.
    let seen = |words: &str| -> Result<Instant, Box<dyn Error>> {
        loop {
            let (at, screen) = receiver.recv_timeout(PATIENCE)?;
            if screen.contains(words) {
                return Ok(at);
            }
        }
    };
    seen("boxcall far")?;
    let code = CaseCode::from_random([1, 2, 3, 4, 5]);
    room.write(Some(&code), &[Fact::CaseBegun])?;
    let mut times = Vec::new();
    for round in 1..=WARM_UP + ROUNDS {
        room.write(Some(&code), &[call(round)])?;
        let committed = Instant::now();
        let shown = seen(&format!("call {round} · FETCH"))?;
        if round > WARM_UP {
            times.push(shown.saturating_duration_since(committed));
        }
        room.write(Some(&code), &[Fact::CallCancelled { call: round }])?;
        seen(&format!("call {round} cancelled"))?;
    }
    child.kill()?;
    times.sort_unstable();
    let (median, worst) = (times[times.len() / 2], times[times.len() - 1]);
    let p99 = times[times.len() * 99 / 100];
    println!(
        "entry on disk to the far view's frame, after {EARLIER} entries: median {median:?}, p99 {p99:?}, worst {worst:?}"
    );
    println!(
        "ratio of p99 to the promise {:.2} (promised: below 1, at {PROMISED:?})",
        p99.as_secs_f64() / PROMISED.as_secs_f64()
    );
    Ok(())
}

//! An opened box on disk: the median of `Store::append` against a bare append + fdatasync of as many bytes, by
//! turns on the same disk, so that whatever else keeps the disk busy meets both. Run: `cargo bench --bench store`.

mod timing;

use boxcall::journal::{BoxRead, CaseCode, Fact};
use boxcall::store::{Stamp, Store};
use chrono::{DateTime, Duration as Span};
use std::error::Error;
use std::fs::OpenOptions;
use std::io::Write;
use std::time::Instant;
use timing::median;

const ROUNDS: u32 = 500;
/// Before the first that counts: the log's first pages, the caches.
const WARM_UP: u32 = 50;
/// The promise: at most this many times a bare append + fdatasync.
const PROMISED: f64 = 2.2;

fn main() -> Result<(), Box<dyn Error>> {
    // In the build's own folder: the system's folder for temporary files may lie in memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR"))?;
    let mut store = Store::open(&folder.path().join("journal.db"))?;
    let mut bare = OpenOptions::new().create(true).append(true).open(folder.path().join("bare"))?;
    let begun = DateTime::parse_from_rfc3339("2026-02-03T12:00:00+01:00")?;
    let case = CaseCode::from_random([0, 1, 2, 3, 4]);
    let (mut ours, mut bares) = (Vec::new(), Vec::new());
    for round in 0..WARM_UP + ROUNDS {
        let label = BoxRead { name: "Fell 3.00 x 29".into(), lot: Some("L952".into()), ..BoxRead::default() };
        let fact = Fact::BoxOpened {
            item: round,
            call: Some(1),
            lesion: Some(1),
            label,
            finding: "SAME".into(),
            reason: None,
            minutes_ago: None,
        };
        let at = begun + Span::seconds(i64::from(round));
        let command = format!("bench-{round}");

        let start = Instant::now();
        let entries = store.append(&Stamp::new(&command, at), Some(&case), &[fact])?.entries;
        let our_time = start.elapsed();

        let line = entries[0].body()? + "\n";
        let start = Instant::now();
        bare.write_all(line.as_bytes())?;
        bare.sync_data()?;
        let bare_time = start.elapsed();
        if round >= WARM_UP {
            ours.push(our_time);
            bares.push(bare_time);
        }
    }
    let (ours, bare) = (median(&ours), median(&bares));
    let ratio = ours.as_secs_f64() / bare.as_secs_f64();
    println!("append {ours:?}, bare append + fdatasync {bare:?} (medians of {ROUNDS})");
    println!("ratio {ratio:.2} (promised: at most {PROMISED})");
    Ok(())
}

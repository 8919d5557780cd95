//! `cargo bench --bench chain [ENTRIES]`: the whole chain of a journal of a million entries checked, beside the program
//! `sha256sum` over as many bytes as are hashed, in one run.

mod filled;
mod timing;

use boxcall::store::Store;
use std::io::Write;
use std::process::Command;
use std::time::Instant;
use timing::{median, middle};

const RUNS: usize = 5;

fn main() {
    let entries = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(1_000_000);
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let path = folder.path().join("journal.db");
    let count = filled::fill(&path, entries);
    let store = Store::open_read_only(&path).expect("a journal");
    // What the chain hashes: before each body the hash of the entry before it.
    let plain = folder.path().join("plain");
    let mut file = std::io::BufWriter::new(std::fs::File::create(&plain).expect("a file"));
    let mut bytes = 0;
    for entry in store.entries_after(0).expect("entries") {
        let body = entry.body().expect("a body");
        file.write_all(&[0xa5; 32]).expect("written");
        file.write_all(body.as_bytes()).expect("written");
        bytes += 32 + body.len();
    }
    file.into_inner().expect("written").sync_all().expect("written");
    let (mut checks, mut sums) = (Vec::new(), Vec::new());
    for _ in 0..RUNS {
        let begun = Instant::now();
        let verified = store.verify(&mut |_| {}).expect("it holds");
        checks.push(begun.elapsed().as_secs_f64());
        assert_eq!(verified.entries, count);
        let begun = Instant::now();
        match Command::new("sha256sum").arg(&plain).output() {
            Ok(output) if output.status.success() => sums.push(begun.elapsed().as_secs_f64()),
            _ => println!("no sha256sum here to stand beside"),
        }
    }
    let (check, sum) = (median(&checks), middle(&sums).unwrap_or(f64::NAN));
    let rate = |time: f64| bytes as f64 / time / 1e6;
    println!(
        "{count} entries, {:.0} MB hashed: checked in {check:.2} s ({:.2} M entries/s, {:.0} MB/s); \
         sha256sum {sum:.2} s ({:.0} MB/s); ratio {:.1}",
        bytes as f64 / 1e6,
        count as f64 / check / 1e6,
        rate(check),
        rate(sum),
        check / sum
    );
}

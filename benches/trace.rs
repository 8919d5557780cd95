//! `cargo bench --bench trace [ENTRIES]`: how long it takes to find one lot in a journal of a million entries, beside
//! reading the same file once (`cat FILE > /dev/null`, in one run).

mod filled;
mod timing;

use boxcall::ledger::Notice;
use boxcall::room::Room;
use filled::{A_CASE, fill};
use std::io::Read;
use std::time::Instant;
use timing::median;

fn main() {
    let entries = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(1_000_000usize);
    let folder = std::env::temp_dir().join(format!("boxcall-trace-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join("journal.db");
    let begun = Instant::now();
    let written = fill(&path, entries);
    println!("{written} entries written in {:.1} s", begun.elapsed().as_secs_f64());
    let mut read = Vec::new();
    let mut traced = Vec::new();
    for run in 0..5 {
        let begun = Instant::now();
        let mut file = std::fs::File::open(&path).expect("a file");
        let mut block = vec![0; 1 << 20];
        let mut bytes = 0;
        while let Ok(count @ 1..) = file.read(&mut block) {
            bytes += count;
        }
        read.push(begun.elapsed().as_secs_f64());
        let notice = [Notice::of_lot(&format!("tn{:06}", entries / A_CASE / 2 * 5 + run))];
        let begun = Instant::now();
        let room = Room::journal_alone(&folder).expect("a room");
        let found = room.trace(&notice).expect("entries");
        traced.push(begun.elapsed().as_secs_f64());
        assert_eq!(found.had.len(), 1);
        if run == 0 {
            println!("{} MB", bytes / 1_000_000);
        }
    }
    let (read, traced) = (median(&read), median(&traced));
    println!("one lot found in {traced:.3} s; reading the file once {read:.3} s; ratio {:.1}", traced / read);
    let _ = std::fs::remove_dir_all(&folder);
}

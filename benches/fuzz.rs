//! Random hands, as many sequences as are asked for, on every core: `cargo bench --bench fuzz -- 100000 [FIRST SEED]`.
//! What has to hold is in `tests/it/fuzz.rs`.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "figures of a benchmark are small"
)]

#[path = "../tests/it/fuzz.rs"]
#[allow(dead_code, reason = "the test's own count")]
mod fuzz;
#[path = "../tests/it/hand.rs"]
#[allow(dead_code, reason = "made for all tests")]
mod hand;

use std::process::ExitCode;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

const STACK: usize = 64 << 20;

fn main() -> ExitCode {
    let mut numbers = std::env::args().skip(1).filter_map(|word| word.parse::<u64>().ok());
    let count = numbers.next().unwrap_or(5_000);
    let first = numbers.next().unwrap_or(0);
    println!("seeds {first} to {}", first + count.max(1) - 1);
    // A panic is caught and told with its steps.
    std::panic::set_hook(Box::new(|_| {}));
    let begun = Instant::now();
    let [next, steps, written, failed] = [const { AtomicU64::new(0) }; 4];
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            // A hand carries out what follows from what follows: many entries that waited are deep.
            let roomy = std::thread::Builder::new().stack_size(STACK);
            let spawned = roomy.spawn_scoped(scope, || {
                let rooms = fuzz::Rooms::laid();
                loop {
                    let turn = next.fetch_add(1, Ordering::Relaxed);
                    // Ten are enough to read.
                    if turn >= count || failed.load(Ordering::Relaxed) >= 10 {
                        return;
                    }
                    match rooms.run(first + turn) {
                        Ok(told) => {
                            steps.fetch_add(told.steps, Ordering::Relaxed);
                            written.fetch_add(told.written, Ordering::Relaxed);
                        }
                        Err(why) => {
                            failed.fetch_add(1, Ordering::Relaxed);
                            println!("{why}\n");
                        }
                    }
                }
            });
            spawned.expect("a thread");
        }
    });
    let [steps, written, failed] = [steps, written, failed].map(AtomicU64::into_inner);
    println!(
        "{count} sequences: {steps} steps, {written} entries written, {failed} failed, {:.1} s",
        begun.elapsed().as_secs_f64()
    );
    if failed > 0 || written < count { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

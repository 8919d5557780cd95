//! What the benches share: the middle of several runs.

// Each bench is a program of its own and takes what it needs.
#![allow(dead_code)]

use std::hint::black_box;
use std::time::{Duration, Instant};

/// The middle one; none where there are none.
pub fn middle<T: PartialOrd + Copy>(times: &[T]) -> Option<T> {
    let mut times = times.to_vec();
    times.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
    times.get(times.len() / 2).copied()
}

/// The middle one of at least one.
pub fn median<T: PartialOrd + Copy>(times: &[T]) -> T {
    middle(times).expect("a run")
}

/// The median time of so many runs, after one that warms up.
pub fn timed<T>(rounds: usize, mut work: impl FnMut() -> T) -> Duration {
    black_box(work());
    let mut run = || {
        let start = Instant::now();
        black_box(work());
        start.elapsed()
    };
    median(&(0..rounds).map(|_| run()).collect::<Vec<_>>())
}

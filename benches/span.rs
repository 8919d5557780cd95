//! Spans: the instances of `tests/reference/span_instances.tsv` next to the integer programming solver's own times
//! there, and the promise: 40 lengths × 9 diameters, a taper, stock limits, up to 6 devices, proved in under 50 ms.
//!
//! `cargo bench --bench span`.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "figures of a benchmark are small"
)]

#[path = "../tests/it/span_shelf.rs"]
mod span_shelf;
mod timing;

use boxcall::fit::span::{Options, plan};
use boxcall::measure::{Kind, Rule};
use boxcall::units::Length;
use span_shelf::{Sizes, branched, instances, policy, shelf, today};
use std::hint::black_box;
use std::time::Instant;
use timing::median;

/// The largest of these.
fn worst(times: &[f64]) -> f64 {
    times.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

fn reference() {
    let (mut ours, mut theirs, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for case in instances() {
        let options = Options { max_devices: Some(case.max_devices), most: case.most, ..Options::default() };
        let stock = case.stocked.then_some(case.pieces.as_slice());
        let kinds = [Kind::DrugElutingStent];
        let began = Instant::now();
        let found =
            black_box(plan(&case.catalogue, &kinds, &case.lesion, &case.policy, stock, today(), &options));
        let took = began.elapsed().as_secs_f64() * 1e3;
        let solver: f64 = case.line.rsplit('\t').next().and_then(|ms| ms.parse().ok()).expect("a time");
        let devices = found.plans.first().map(|best| best.devices.len());
        assert_eq!(devices, case.expected.map(|(devices, ..)| devices), "{}", case.line);
        ours.push(took);
        // Where no flow reaches an end the solver was never asked.
        if solver > 0.0 {
            theirs.push(solver);
            ratios.push(solver / took);
        }
    }
    println!("{} instances: median {:.3} ms, worst {:.3} ms", ours.len(), median(&ours), worst(&ours));
    println!("integer programs: median {:.1} ms, worst {:.1} ms", median(&theirs), worst(&theirs));
    println!(
        "the solver takes {:.0} times as long (median), {:.1} at the least",
        median(&ratios),
        -worst(&ratios.iter().map(|ratio| -ratio).collect::<Vec<_>>())
    );
}

/// Counts and needs from a fixed row of numbers, so that every run is the same.
fn promise() {
    let mut seed = 1u32;
    let mut next = move |below: u32| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 16) % below
    };
    let (mut times, mut spanned, mut unproved) = (Vec::new(), 0, 0);
    for round in 0..200 {
        let product = (0..9)
            .map(|i| {
                let diameter = 2.25 + 0.25 * f64::from(i);
                let lengths = (0..40).map(|i| (8.0 + f64::from(i), next(3))).collect();
                Sizes { diameter, limit: Some(diameter + 1.0), burst: Some(diameter + 0.2), lengths }
            })
            .collect();
        let (catalogue, pieces) = shelf(&[product]);
        let policy = policy(3.0, 2.0, 5.0);
        let distal = 2.5 + f64::from(next(50)) / 100.0;
        let ends = [Some(distal), Some(distal + 0.4 + f64::from(next(60)) / 100.0)];
        let need = 100.0 + f64::from(next(150));
        let most = (round % 2 == 0).then_some(need + 4.0).filter(|most| *most <= 150.0);
        let branch = (Some(2.5), Some(need / 2.0));
        let lesion = branched(Rule::DistalEem, ends, need, None, branch, &policy);
        let most = most.map(Length::from_mm);
        let options = Options { max_devices: Some(6), most, ..Options::default() };
        let began = Instant::now();
        let kinds = [Kind::DrugElutingStent];
        let found = plan(&catalogue, &kinds, &lesion, &policy, Some(&pieces), today(), &options);
        times.push(began.elapsed().as_secs_f64() * 1e3);
        spanned += usize::from(found.is_spanned());
        unproved += usize::from(found.plans.first().is_some_and(|best| !best.optimal));
    }
    let middle = median(&times);
    let worst = worst(&times);
    println!("40 lengths × 9 diameters, stock: median {middle:.2} ms, worst {worst:.2} ms");
    println!("{} of {} spanned, {unproved} not proved", spanned, times.len());
}

fn main() {
    reference();
    promise();
}

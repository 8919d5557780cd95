//! Several lesions out of one shelf, against full enumeration.

use crate::span::lengths;
use crate::span_shelf::{lesion, policy, today};
use boxcall::fit::span::together;
use boxcall::lesion::Lesion;
use boxcall::measure::{Kind, Rule};
use proptest::prelude::*;

const LENGTHS: [f64; 5] = [7.0, 16.0, 20.0, 29.0, 34.0];
type Counts = [u32; 5];

/// Every multiset of up to so many of the five lengths.
fn multisets(most: u32) -> Vec<Counts> {
    let mut all = vec![[0; 5]];
    for place in 0..5 {
        let grown = all.iter().flat_map(|counts| {
            let used: u32 = counts.iter().sum();
            (0..=most - used).map(move |more| {
                let mut counts = *counts;
                counts[place] = more;
                counts
            })
        });
        all = grown.collect();
    }
    all.retain(|counts| counts.iter().sum::<u32>() > 0);
    all
}

/// Fewest devices, then least excess, over every choice for every lesion.
fn enumerate(needs: &[f64], left: Counts, most: u32) -> Option<(u32, f64)> {
    let Some((need, rest)) = needs.split_first() else { return Some((0, 0.0)) };
    let mut best: Option<(u32, f64)> = None;
    for counts in multisets(most) {
        let n: u32 = counts.iter().sum();
        let total: f64 = counts.iter().zip(LENGTHS).map(|(count, length)| f64::from(*count) * length).sum();
        let excess = total - 3.0 * f64::from(n - 1) - need;
        if excess < 0.0 || counts.iter().zip(left).any(|(count, left)| *count > left) {
            continue;
        }
        let mut after = left;
        after.iter_mut().zip(counts).for_each(|(left, count)| *left -= count);
        let Some((devices, more)) = enumerate(rest, after, most) else { continue };
        let found = (n + devices, excess + more);
        if best.is_none_or(|best| found < best) {
            best = Some(found);
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]
    #[test]
    fn lesions_that_share_a_shelf_get_the_best_of_full_enumeration(
        needs in prop::collection::vec(6u32..60, 2..4),
        left in prop::array::uniform5(0u32..3),
    ) {
        let policy = policy(3.0, 3.0, 3.0);
        let (catalogue, pieces) = lengths(&LENGTHS, |i| left[i]);
        let needs: Vec<f64> = needs.into_iter().map(f64::from).collect();
        let level = |need: f64| lesion(Rule::DistalEem, [Some(3.0), None], need, None, &policy);
        let lesions: Vec<(String, Lesion)> = needs.iter().map(|need| (need.to_string(), level(*need))).collect();
        let kinds = [Kind::DrugElutingStent];
        let found = together(&catalogue, &kinds, &lesions, &policy, Some(&pieces), today(), Some(3));
        let best = enumerate(&needs, left, 3);
        prop_assert_eq!(found.devices.map(|n| n as u32).zip(found.excess_mm), best);
        prop_assert_eq!(found.optimal, best.is_some());
        let devices = found.lesions.iter().flat_map(|lesion| &lesion.plans).flat_map(|plan| &plan.devices);
        let mut used = [0; 5];
        devices.for_each(|device| used[LENGTHS.iter().position(|l| *l == device.length_mm).expect("made")] += 1);
        prop_assert!(used.iter().zip(left).all(|(used, left)| *used <= left), "a piece is used twice: {:?}", used);
    }
}

//! Spans beside devices that are in already.

use crate::span_shelf::{Sizes, lesion, policy, shelf, today};
use boxcall::fit::span::{Options, Placed, Plan, Spanned, plan};
use boxcall::measure::{Kind, Rule};
use boxcall::units::{Diameter, Length};
use proptest::prelude::*;

const STENTS: [Kind; 1] = [Kind::DrugElutingStent];

fn placed(diameter: f64, length: f64, at: f64) -> Placed {
    Placed { diameter: Diameter::from_mm(diameter), length: Length::from_mm(length), at: Length::from_mm(at) }
}

/// Every diameter from 2.50 to 4.00 in these lengths.
fn products(lengths: &[(f64, u32)]) -> Vec<Vec<Sizes>> {
    let sizes = |quarters: u32| Sizes {
        diameter: f64::from(quarters) / 4.0,
        limit: Some(f64::from(quarters) / 4.0 + 1.0),
        burst: Some(f64::from(quarters) / 4.0 + 0.2),
        lengths: lengths.to_vec(),
    };
    vec![(10..=16).map(sizes).collect()]
}

/// Distal and proximal end of everything that lies there, with its diameter; distal first.
fn all(plan: &Plan, placed: &[Placed]) -> Vec<(f64, f64, f64)> {
    let devices = plan.begins_mm.iter().zip(&plan.devices);
    let mut all: Vec<_> = devices.map(|(at, d)| (*at, at + d.length_mm, d.diameter_mm)).collect();
    all.extend(placed.iter().map(|p| (p.at.mm(), p.at.mm() + p.length.mm(), p.diameter.mm())));
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

/// What must hold of what is placed in the end.
fn holds(
    found: &Spanned,
    placed: &[Placed],
    need: f64,
    [planned, most]: [f64; 2],
) -> Result<(), TestCaseError> {
    for plan in &found.plans {
        let all = all(plan, placed);
        prop_assert!(all[0].0 <= 1e-6 && all[all.len() - 1].1 >= need - 1e-6, "{:?}", all);
        for (pair, told) in all.windows(2).zip(&plan.overlaps_mm) {
            let overlap = pair[0].1 - pair[1].0;
            prop_assert!((overlap - told).abs() < 1e-6, "{} {:?}", told, all);
            prop_assert!(overlap >= planned - 1e-6 && overlap <= most + 1e-6, "{:?}", all);
            let step = pair[1].2 - pair[0].2;
            prop_assert!(step >= -1e-9, "{:?}", all);
        }
        prop_assert_eq!(plan.overlaps_mm.len() + 1, all.len());
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    /// A level vessel of one diameter is the same from both ends, and a stretch of S beside a device asks for what
    /// a lesion of S and one overlap more asks for.
    #[test]
    fn a_stretch_at_either_end_is_a_lesion_of_its_own(
        counts in prop::collection::vec(0u32..3, 6),
        stretch in 5u32..90,
        most_devices in 1usize..5,
    ) {
        let lengths = [7.0, 11.0, 16.0, 20.0, 25.0, 34.0].into_iter().zip(counts).collect();
        let (catalogue, pieces) = shelf(&[vec![Sizes { diameter: 3.0, limit: Some(4.0), burst: Some(3.2), lengths }]]);
        let policy = policy(3.0, 2.0, 5.0);
        let stretch = f64::from(stretch);
        let level = |need: f64| lesion(Rule::DistalEem, [Some(3.0), None], need, None, &policy);
        let span = |need: f64, placed: Vec<Placed>| {
            let options = Options { max_devices: Some(most_devices), placed, ..Options::default() };
            let found = plan(&catalogue, &STENTS, &level(need), &policy, Some(&pieces), today(), &options);
            found.plans.first().map(|best| (best.devices.len(), best.metal_mm, best.optimal))
        };
        let alone = span(stretch + 3.0, vec![]);
        prop_assert_eq!(span(stretch + 20.0, vec![placed(3.0, 20.0, 0.0)]), alone);
        prop_assert_eq!(span(stretch + 20.0, vec![placed(3.0, 20.0, stretch)]), alone);
    }

    #[test]
    fn whatever_is_put_beside_joins_and_covers(
        counts in prop::collection::vec(0u32..3, 6),
        need in 40u32..110,
        at in 0u32..100,
        second in prop::option::of(5u32..60),
        taper in 0u32..100,
        stocked in any::<bool>(),
    ) {
        let lengths: Vec<(f64, u32)> = [7.0, 11.0, 16.0, 20.0, 25.0, 34.0].into_iter().zip(counts).collect();
        let (catalogue, pieces) = shelf(&products(&lengths));
        let policy = policy(3.0, 2.0, 5.0);
        let (need, at) = (f64::from(need), f64::from(at.min(need - 1)));
        let lesion = lesion(
            Rule::DistalEem, [Some(3.0), Some(3.0 + f64::from(taper) / 100.0)], need, None, &policy,
        );
        let mut inside = vec![placed(3.0, 18.0, at)];
        inside.extend(second.map(|gap| placed(3.25, 12.0, at + 18.0 + f64::from(gap))));
        inside.retain(|device| device.at.mm() < need);
        let options = Options { placed: inside.clone(), ..Options::default() };
        let stock = stocked.then_some(pieces.as_slice());
        let found = plan(&catalogue, &STENTS, &lesion, &policy, stock, today(), &options);
        holds(&found, &inside, need, [3.0, 5.0])?;
    }
}

// By hand: 20 mm are open between 0 to 18 and 38 to 56; one device of 26 overlaps each by 3, one of 30 by 5, one of
// 31 by too much, two of 15 and 14 by 3 each.
#[test]
fn between_two_devices_the_overlaps_take_up_the_rest() {
    let policy = policy(3.0, 2.0, 5.0);
    let lesion = lesion(Rule::DistalEem, [Some(3.0), None], 56.0, None, &policy);
    let span = |lengths: &[f64]| {
        let lengths: Vec<(f64, u32)> = lengths.iter().map(|length| (*length, 1)).collect();
        let (catalogue, pieces) =
            shelf(&[vec![Sizes { diameter: 3.0, limit: Some(4.0), burst: Some(3.2), lengths }]]);
        let options =
            Options { placed: vec![placed(3.0, 18.0, 38.0), placed(3.0, 18.0, 0.0)], ..Options::default() };
        let found = plan(&catalogue, &STENTS, &lesion, &policy, Some(&pieces), today(), &options);
        found.plans.first().map(|best| {
            let lengths: Vec<f64> = best.devices.iter().map(|device| device.length_mm).collect();
            (lengths, best.overlaps_mm.clone(), best.begins_mm.clone(), best.optimal)
        })
    };
    assert_eq!(span(&[26.0, 30.0]), Some((vec![26.0], vec![3.0, 3.0], vec![15.0], true)));
    assert_eq!(span(&[30.0]), Some((vec![30.0], vec![5.0, 5.0], vec![13.0], true)));
    assert_eq!(span(&[31.0]), None);
    let (lengths, overlaps, ..) = span(&[14.0, 15.0]).expect("two do");
    assert_eq!((lengths.iter().sum::<f64>(), overlaps), (29.0, vec![3.0, 3.0, 3.0]));
}

#[test]
fn nothing_left_is_a_plan_of_no_device() {
    let (catalogue, _) = shelf(&products(&[(12.0, 1)]));
    let policy = policy(3.0, 2.0, 5.0);
    let lesion = lesion(Rule::DistalEem, [Some(3.0), None], 20.0, None, &policy);
    let options = Options { placed: vec![placed(3.0, 28.0, -2.0)], ..Options::default() };
    let found = plan(&catalogue, &STENTS, &lesion, &policy, None, today(), &options);
    assert_eq!(found.plans.len(), 1);
    assert!(found.plans[0].devices.is_empty() && found.plans[0].overlaps_mm.is_empty());
}

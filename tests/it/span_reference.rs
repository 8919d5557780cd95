//! Every span of `tests/reference/span_instances.tsv`, solved there as an integer program by another solver.

use crate::span_shelf::{instances, today};
use boxcall::fit::span::{Options, plan};
use boxcall::lesion::Lesion;
use boxcall::measure::Kind;

/// The distal reference of a device that begins here.
fn reference(lesion: &Lesion, begins: f64) -> f64 {
    let target = &lesion.target;
    let distal = target.distal.mm();
    let share = (begins / target.length_min.mm()).min(1.0);
    target.proximal.map_or(distal, |proximal| distal + (proximal.mm() - distal) * share)
}

#[test]
fn two_thousand_spans_agree_with_integer_programming() {
    let (mut ran, mut spanned) = (0, 0);
    for case in instances() {
        let options = Options { max_devices: Some(case.max_devices), ..Options::default() };
        let kinds = [Kind::DrugElutingStent];
        let stock = case.stocked.then_some(case.pieces.as_slice());
        let found = plan(&case.catalogue, &kinds, &case.lesion, &case.policy, stock, today(), &options);
        ran += 1;
        let line = case.line;
        let Some((devices, total, off)) = case.expected else {
            assert!(!found.is_spanned(), "{line}: {found:?}");
            continue;
        };
        spanned += 1;
        let best = found.plans.first().unwrap_or_else(|| panic!("{line}: no plan"));
        assert_eq!((best.devices.len(), best.metal_mm), (devices, total), "{line}: {best:?}");
        assert!(best.optimal, "{line}: {best:?}");
        let sum: f64 = best
            .begins_mm
            .iter()
            .enumerate()
            .map(|(i, _)| {
                let before: f64 = best.devices[..i].iter().map(|device| device.length_mm).sum();
                let begins = before - i as f64 * case.policy.overlap.planned.mm();
                (best.devices[i].diameter_mm - reference(&case.lesion, begins)).abs()
            })
            .sum();
        assert!((sum - off).abs() < 1e-6, "{line}: {sum} {best:?}");
    }
    assert_eq!(ran, 2_000);
    assert!(spanned > 800, "{spanned}");
}

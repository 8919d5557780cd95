//! Every span of `tests/reference/span_instances.tsv`, solved there as an integer program by another solver.

use crate::span_shelf::{instances, today};
use boxcall::fit::span::{Device, Options, plan};
use boxcall::measure::Kind;

#[test]
fn a_thousand_spans_agree_with_integer_programming() {
    let (mut ran, mut spanned) = (0, 0);
    for case in instances() {
        let options = Options { max_devices: Some(case.max_devices), most: case.most, ..Options::default() };
        let kinds = [Kind::DrugElutingStent];
        let stock = case.stocked.then_some(case.pieces.as_slice());
        let found = plan(&case.catalogue, &kinds, &case.lesion, &case.policy, stock, today(), &options);
        ran += 1;
        let line = case.line;
        let Some((devices, on_branch, total, off)) = case.expected else {
            assert!(!found.is_spanned(), "{line}: {found:?}");
            continue;
        };
        spanned += 1;
        let best = found.plans.first().unwrap_or_else(|| panic!("{line}: no plan"));
        let found = (best.devices.len(), best.overlaps_on_branch, best.metal_mm);
        assert_eq!(found, (devices, on_branch, total), "{line}: {best:?}");
        assert!(best.optimal, "{line}: {best:?}");
        let border = case.lesion.target.rule.border();
        let off_aim = |device: &Device| {
            let at = device.lies.expect("a device of a plan").at_mm;
            (device.diameter_mm - case.lesion.vessel.begins(border, at).expect("measured")).abs()
        };
        let sum: f64 = best.devices.iter().map(off_aim).sum();
        assert!((sum - off).abs() < 1e-6, "{line}: {sum} {best:?}");
    }
    assert_eq!(ran, 1_000);
    assert!(spanned > 400, "{spanned}");
}

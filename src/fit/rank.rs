//! The order of the sizes that fit.

use super::{JudgedSize, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::Lesion;

/// Fine enough for a hundredth of a millimetre, coarse enough for binary fractions; whole numbers order totally.
fn at_tolerance(value: f64) -> i64 {
    (value / crate::units::TOLERANCE).round() as i64
}

/// Numbers the sizes that fit from 1: those that the guide does not take last; `fits` before the others; then
/// least excess length, least |D − aim|, steadiness at six decimals, product and REF by bytes.
pub(super) fn rank(sizes: &mut [JudgedSize], catalogue: &Catalogue, lesion: &Lesion) {
    let (need, aim) = (lesion.target.length_min.mm(), lesion.target.aim.mm());
    let mut order: Vec<_> = sizes
        .iter()
        .enumerate()
        .filter(|(_, size)| size.verdict.is_fit())
        .map(|(index, size)| {
            let steadiness = (size.steadiness.unwrap_or(0.0) * 1e6).round() as i64;
            let key = (
                size.guide_ok == Some(false),
                size.verdict == Verdict::FitsAfterPostDilatation,
                at_tolerance(size.length.mm() - need),
                at_tolerance((size.diameter.mm() - aim).abs()),
                -steadiness,
            );
            (key, index as u32)
        })
        .collect();
    order.sort_unstable_by(|(a, i), (b, j)| {
        let name = |index: u32| {
            let size = &sizes[index as usize];
            (size.product(catalogue).id.as_bytes(), size.pack(catalogue).reference.as_bytes())
        };
        a.cmp(b).then_with(|| name(*i).cmp(&name(*j))).then_with(|| i.cmp(j))
    });
    for (rank, (_, index)) in order.into_iter().enumerate() {
        sizes[index as usize].rank = Some(rank as u32 + 1);
    }
}

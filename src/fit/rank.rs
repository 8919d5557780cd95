//! The order of the sizes that fit.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "ranks of boxes, and millimetres above 0 counted in tolerances"
)]

use super::{JudgedSize, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::Lesion;

/// A whole number of billionths, which orders totally, cut to so many bits.
fn at_tolerance(value: f64, bits: u32) -> u128 {
    // A cast from a float saturates; what is below nothing by a rounding error is nothing.
    u128::from((value / crate::units::TOLERANCE).round() as u64).min((1 << bits) - 1)
}

/// Numbers the sizes that fit from 1: those that the guide does not take last; `fits` before the others; then
/// least excess length, least |D − aim|, steadiness at six decimals, product and REF by bytes.
pub(super) fn rank(sizes: &mut [JudgedSize], catalogue: &Catalogue, lesion: &Lesion) {
    let (need, aim) = (lesion.target.length_min.mm(), lesion.target.aim.mm());
    let by_id = product_order(catalogue);
    // All but the REF in one number: a sort of numbers is several times faster than one of tuples.
    let mut order: Vec<(u128, u32)> = Vec::new();
    for (index, size) in sizes.iter().enumerate().filter(|(_, size)| size.verdict.is_fit()) {
        let steadiness = (size.steadiness.unwrap_or(0.0) * 1e6).round() as u32;
        let product = by_id.as_ref().map_or(size.place.product, |order| order[size.place.product as usize]);
        let parts = [
            (1, u128::from(size.guide_ok == Some(false))),
            (1, u128::from(size.verdict == Verdict::FitsAfterPostDilatation)),
            (38, at_tolerance(size.length.mm() - need, 38)),
            (35, at_tolerance((size.diameter.mm() - aim).abs(), 35)),
            (20, u128::from(1_000_000 - steadiness.min(1_000_000))),
            (32, u128::from(product)),
        ];
        let key = parts.iter().fold(0, |key, (bits, part)| (key << bits) | part);
        order.push((key, index as u32));
    }
    order.sort_unstable();
    for same in order.chunk_by_mut(|a, b| a.0 == b.0).filter(|same| same.len() > 1) {
        same.sort_by(|a, b| {
            let reference = |index: u32| sizes[index as usize].pack(catalogue).reference.as_bytes();
            reference(a.1).cmp(reference(b.1))
        });
    }
    for (rank, (_, index)) in order.into_iter().enumerate() {
        sizes[index as usize].rank = Some(rank as u32 + 1);
    }
}

/// Each product's place by the bytes of its id; none where they stand so already, as a loaded catalogue does.
fn product_order(catalogue: &Catalogue) -> Option<Vec<u32>> {
    let products = &catalogue.products;
    if products.windows(2).all(|pair| pair[0].id.as_bytes() <= pair[1].id.as_bytes()) {
        return None;
    }
    let mut sorted: Vec<u32> = (0..products.len() as u32).collect();
    sorted.sort_by(|a, b| products[*a as usize].id.as_bytes().cmp(products[*b as usize].id.as_bytes()));
    let mut order = vec![0; products.len()];
    for (place, product) in sorted.into_iter().enumerate() {
        order[product as usize] = place as u32;
    }
    Some(order)
}

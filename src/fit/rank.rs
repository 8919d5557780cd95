//! The order of the sizes that fit, and why one is not first.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "ranks of boxes, and millimetres above 0 counted in tolerances"
)]

use super::cover::Cover;
use super::{JudgedSize, Judgement, Verdict};
use crate::catalogue::Catalogue;
use crate::lesion::{Lesion, Target};
use crate::policy::Policy;
use crate::units::{Figure, at_most, plain};

/// A whole number of billionths, which orders totally, cut to so many bits.
fn at_tolerance(value: f64, bits: u32) -> u128 {
    // A cast from a float saturates; what is below nothing by a rounding error is nothing.
    u128::from((value / crate::units::TOLERANCE).round() as u64).min((1 << bits) - 1)
}

/// What the order asks of a size, one after the other: what is false, or least, comes first.
struct Order<'a> {
    target: &'a Target,
    cover: Cover,
    /// In mm.
    long: f64,
}

/// What the order finds of one size.
#[allow(clippy::struct_excessive_bools, reason = "one for each question of the order")]
struct Asked {
    guide_too_small: bool,
    too_long: bool,
    not_on_shelf: bool,
    post_dilated: bool,
    next_size_down: bool,
    unsteady: bool,
    /// Longer than needed, in mm.
    excess: f64,
    /// |D − aim|, in mm.
    off_aim: f64,
    /// At six decimals, in millionths.
    steadiness: u32,
}

impl<'a> Order<'a> {
    fn new(lesion: &'a Lesion, policy: &Policy) -> Self {
        Order { target: &lesion.target, cover: Cover::of(lesion, policy), long: policy.rank.long.mm() }
    }

    fn of(&self, size: &JudgedSize) -> Asked {
        let excess = size.length.mm() - self.target.length_min.mm();
        Asked {
            guide_too_small: size.guide_ok == Some(false),
            too_long: !at_most(excess, self.long),
            not_on_shelf: size.on_shelf == Some(0),
            post_dilated: size.verdict == Verdict::FitsAfterPostDilatation,
            next_size_down: !self.target.takes_diameter(size.diameter),
            unsteady: !self.cover.is_steady(size.length.mm()),
            excess,
            off_aim: (size.diameter.mm() - self.target.aim.mm()).abs(),
            steadiness: (size.steadiness.unwrap_or(0.0) * 1e6).round() as u32,
        }
    }
}

impl Asked {
    /// All but the REF in one number: a sort of numbers is several times faster than one of tuples. `product` is its
    /// place among the products.
    fn packed(&self, product: u32) -> u128 {
        let bit = |asked: bool| (1, u128::from(asked));
        let parts = [
            bit(self.guide_too_small),
            bit(self.too_long),
            bit(self.not_on_shelf),
            bit(self.post_dilated),
            bit(self.next_size_down),
            bit(self.unsteady),
            (38, at_tolerance(self.excess, 38)),
            (33, at_tolerance(self.off_aim, 33)),
            (20, u128::from(1_000_000 - self.steadiness.min(1_000_000))),
            (31, u128::from(product)),
        ];
        parts.iter().fold(0, |key, (bits, part)| (key << bits) | part)
    }

    /// Why a size with this is not before the first, in words: the first question that tells the two apart.
    fn behind(&self, first: &Asked, order: &Order) -> String {
        let same = |a: f64, b: f64| at_tolerance(a, 38) == at_tolerance(b, 38);
        let asked: [(bool, bool, String); 6] = [
            (self.guide_too_small, first.guide_too_small, "needs a larger guide than the one in use".into()),
            (self.too_long, first.too_long, format!("more than {} mm longer than needed", plain(order.long))),
            (self.not_on_shelf, first.not_on_shelf, "none in date on the shelf".into()),
            (self.post_dilated, first.post_dilated, "fits only after post-dilatation".into()),
            (self.next_size_down, first.next_size_down, "the next size down, below the window".into()),
            (self.unsteady, first.unsteady, "less sure to be long enough".into()),
        ];
        if let Some((.., words)) = asked.into_iter().find(|(own, first, _)| own != first) {
            return words;
        }
        if !same(self.excess, first.excess) {
            return format!(
                "{} mm longer than needed, the first {}",
                plain(self.excess),
                plain(first.excess.max(0.0))
            );
        }
        if !same(self.off_aim, first.off_aim) {
            return format!(
                "{:.2} from the aim, the first {:.2}",
                Figure(self.off_aim),
                Figure(first.off_aim)
            );
        }
        if self.steadiness != first.steadiness {
            return "hangs more on the error of measurement".into();
        }
        "equal by the rules; in the order of names".into()
    }
}

/// Numbers the sizes that fit from 1, in the order of `Asked`, then product and REF by bytes.
pub(super) fn rank(sizes: &mut [JudgedSize], catalogue: &Catalogue, lesion: &Lesion, policy: &Policy) {
    let asks = Order::new(lesion, policy);
    let by_id = product_order(catalogue);
    let mut order: Vec<(u128, u32)> = Vec::new();
    for (index, size) in sizes.iter().enumerate().filter(|(_, size)| size.verdict.is_fit()) {
        let product = by_id.as_ref().map_or(size.place.product, |order| order[size.place.product as usize]);
        order.push((asks.of(size).packed(product), index as u32));
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

/// The first of the sizes that fit, against which the others are held.
pub struct Behind<'a> {
    order: Order<'a>,
    first: Option<Asked>,
}

impl Judgement {
    /// What says why a size is not first. The lesion and policy are those that it was judged with.
    pub fn behind<'a>(&self, lesion: &'a Lesion, policy: &Policy) -> Behind<'a> {
        let order = Order::new(lesion, policy);
        let first = self.sizes.iter().find(|size| size.rank == Some(1)).map(|size| order.of(size));
        Behind { order, first }
    }
}

impl Behind<'_> {
    /// Why this size is not first, in one line; none for the first and for those that don't fit.
    pub fn why(&self, size: &JudgedSize) -> Option<String> {
        let first = self.first.as_ref().filter(|_| size.rank.is_some_and(|rank| rank > 1))?;
        Some(self.order.of(size).behind(first, &self.order))
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

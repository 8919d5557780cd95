//! The normal distribution, and Gauss-Legendre quadrature.

use std::cell::Cell;

/// Probability that a standard normal value lies below z.
pub(super) fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Density of a standard normal value.
pub(super) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// A true value, normal around the measured one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Normal {
    pub mean: f64,
    pub sd: f64,
}

impl Normal {
    /// Probability of a value below `limit`. Without an error of measurement the value is the measured one.
    pub fn below(self, limit: f64) -> f64 {
        if self.sd > 0.0 {
            below((limit - self.mean) / self.sd)
        } else {
            f64::from(u8::from(self.mean <= limit))
        }
    }
}

/// A normal value whose probabilities are kept by threshold: a catalogue has few different labels, and `erfc` is what
/// costs most. One slot a threshold; a newcomer takes the place of whoever hashes alike.
#[derive(Debug, Clone)]
pub(super) struct Tabled {
    pub normal: Normal,
    slots: Vec<Cell<(u64, f64)>>,
}

/// Two to the power of the bits that the hash keeps.
const SLOTS: usize = 128;

impl Tabled {
    pub fn new(normal: Normal) -> Self {
        // The pattern of a NaN, which is never asked for.
        Tabled { normal, slots: vec![Cell::new((u64::MAX, 0.0)); SLOTS] }
    }

    pub fn below(&self, limit: f64) -> f64 {
        let bits = limit.to_bits();
        // Fibonacci hashing: the high bits of the product are well mixed.
        let hash = bits.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> (u64::BITS - SLOTS.ilog2());
        let slot = &self.slots[hash as usize];
        let (key, kept) = slot.get();
        if key == bits {
            return kept;
        }
        let value = self.normal.below(limit);
        slot.set((bits, value));
        value
    }

    /// Probability of a value between the two; 0 where they stand the other way round.
    pub fn between(&self, from: f64, to: f64) -> f64 {
        (self.below(to) - self.below(from)).max(0.0)
    }

    /// Whether all of this range lies so far out that its probability is below 1e-16.
    pub fn hardly_between(&self, from: f64, to: f64) -> bool {
        let Normal { mean, sd } = self.normal;
        to < mean - FAR * sd || from > mean + FAR * sd
    }
}

/// Standard errors beyond which less than 1e-16 lies.
pub(super) const FAR: f64 = 8.5;

/// Half of the nodes and weights of the 20-point rule on [-1, 1]; the other half is their mirror.
/// Source: Abramowitz and Stegun 1964, table 25.4; a test checks them against exact integrals.
const NODES: [(f64, f64); 10] = [
    (0.076_526_521_133_497_33, 0.152_753_387_130_725_85),
    (0.227_785_851_141_645_08, 0.149_172_986_472_603_75),
    (0.373_706_088_715_419_56, 0.142_096_109_318_382_05),
    (0.510_867_001_950_827_1, 0.131_688_638_449_176_63),
    (0.636_053_680_726_515, 0.118_194_531_961_518_42),
    (0.746_331_906_460_150_8, 0.101_930_119_817_240_44),
    (0.839_116_971_822_218_8, 0.083_276_741_576_704_75),
    (0.912_234_428_251_326, 0.062_672_048_334_109_06),
    (0.963_971_927_277_913_8, 0.040_601_429_800_386_94),
    (0.993_128_599_185_094_9, 0.017_614_007_139_152_118),
];

/// The integral of a smooth function from a to b.
pub(super) fn integral(a: f64, b: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (middle, half) = ((a + b) / 2.0, (b - a) / 2.0);
    half * NODES.iter().map(|(x, w)| w * (f(middle - half * x) + f(middle + half * x))).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Abramowitz and Stegun, table 26.1: P(1.96) to ten places.
    #[test]
    fn the_normal_distribution_is_the_tabulated_one() {
        assert!((below(1.96) - 0.975_002_104_9).abs() < 1e-10);
        assert!((below(-1.0) - 0.158_655_253_9).abs() < 1e-10);
        assert_eq!(below(f64::INFINITY), 1.0);
        assert_eq!(below(f64::NEG_INFINITY), 0.0);
    }

    // A 20-point rule is exact for polynomials of degree 39: the integral of x^n from 0 to 1 is 1/(n+1).
    #[test]
    fn quadrature_is_exact_where_the_rule_says_so() {
        for degree in 0..40 {
            let value = integral(0.0, 1.0, |x| x.powi(degree));
            assert!((value - 1.0 / f64::from(degree + 1)).abs() < 1e-14, "degree {degree}: {value}");
        }
    }
}

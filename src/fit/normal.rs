//! The normal distribution, and Gauss-Legendre quadrature.

#![allow(clippy::cast_possible_truncation, reason = "a hash that is cut to the number of slots")]

use std::cell::Cell;

/// Probability that a standard normal value is below z.
pub(super) fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Density of a standard normal value.
pub(super) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// The standard normal value below which a value lies with this probability; infinite at 0 and 1.
pub(super) fn quantile(probability: f64) -> f64 {
    if probability <= 0.0 || probability >= 1.0 {
        return if probability <= 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let (mut low, mut high) = (-40.0, 40.0);
    // Halvings until the two are neighbours among binary fractions.
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if below(middle) < probability { low = middle } else { high = middle }
    }
    high
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

    /// Probability of a value between the two; 0 where they are the other way round.
    pub fn between(self, from: f64, to: f64) -> f64 {
        (self.below(to) - self.below(from)).max(0.0)
    }

    /// Whether all of this range lies so far out that its probability is below 1e-16.
    pub fn hardly_between(self, from: f64, to: f64) -> bool {
        to < self.mean - FAR * self.sd || from > self.mean + FAR * self.sd
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
}

/// Standard errors beyond which less than 1e-16 lies.
pub(super) const FAR: f64 = 8.5;

/// Half of the nodes and weights of the 10-point rule on [-1, 1]; the other half is their mirror.
/// Source: @abramowitz-1964, table 25.4; a test checks them against exact integrals.
const NODES: [(f64, f64); 5] = [
    (0.148_874_338_981_631_22, 0.295_524_224_714_752_87),
    (0.433_395_394_129_247_2, 0.269_266_719_309_996_35),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
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
        assert!((quantile(0.975) - 1.959_963_984_5).abs() < 1e-9);
        assert_eq!([quantile(0.0), quantile(1.0)], [f64::NEG_INFINITY, f64::INFINITY]);
    }

    // A 10-point rule is exact for polynomials of degree 19: the integral of x^n from 0 to 1 is 1/(n+1).
    #[test]
    fn quadrature_is_exact_where_the_rule_says_so() {
        for degree in 0..20 {
            let value = integral(0.0, 1.0, |x| x.powi(degree));
            assert!((value - 1.0 / f64::from(degree + 1)).abs() < 1e-14, "degree {degree}: {value}");
        }
    }
}

//! Numbers at random that are the same each time: Steele, Lea, Flood: Fast splittable pseudorandom number generators
//! (2014), "SplitMix64".

use std::f64::consts::PI;

/// A series of such numbers.
#[derive(Debug, Clone)]
pub(crate) struct Chance(u64);

impl Chance {
    /// The series of a seed.
    pub(crate) fn new(seed: u64) -> Self {
        Chance(seed)
    }

    /// Evenly spread: more than 0, at most 1.
    pub(crate) fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^= mixed >> 31;
        ((mixed >> 11) as f64 + 1.0) / (1u64 << 53) as f64
    }

    /// Normal, of deviation 1: Box and Muller (1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let (long, round) = (self.even(), self.even());
        (-2.0 * long.ln()).sqrt() * (2.0 * PI * round).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_their_mean_and_their_spread() {
        let mut chance = Chance::new(1);
        let all: Vec<f64> = (0..40_000).map(|_| chance.normal()).collect();
        let mean = all.iter().sum::<f64>() / 40_000.0;
        let within = all.iter().filter(|number| number.abs() < 1.959_964).count() as f64 / 40_000.0;
        // The deviation of the mean is 0.005, that of the part within 0.001.
        assert!(mean.abs() < 0.02 && (within - 0.95).abs() < 0.005, "{mean} {within}");
    }
}

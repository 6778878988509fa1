//! Chance with a fixed seed: the same sample every time, on every machine.

/// `SplitMix64` (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number generators", Fig. 17).
#[derive(Debug)]
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number from 0 up to, not including, 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Whether something of this probability happens.
    pub(crate) fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// A bell-shaped deviation of mean 0 and variance 1: twelve units summed, exact on every machine as a
    /// logarithm might not be.
    pub(crate) fn bell(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }

    /// How many of `trials` happen, each with this probability.
    pub(crate) fn of(&mut self, trials: u32, probability: f64) -> u32 {
        (0..trials)
            .map(|_| u32::from(self.happens(probability)))
            .sum()
    }
}

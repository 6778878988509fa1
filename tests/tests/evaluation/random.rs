//! Reproducible random numbers for simulated records.

/// SplitMix64 (Steele, Lea & Flood 2014, OOPSLA), with normal deviates by Box & Muller (1958).
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform on the open interval from 0 to 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    pub(crate) fn below(&mut self, end: usize) -> usize {
        (self.uniform() * end as f64) as usize
    }

    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }

    pub(crate) fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

//! Repeatable chance.

/// Repeatable random numbers: `SplitMix64` (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number
/// generators", Fig. 17).
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    /// Dice that fall the same way for the same seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Any number.
    pub const fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `bound`; 0 if that is 0.
    pub const fn below(&mut self, bound: usize) -> usize {
        if bound == 0 {
            return 0;
        }
        (self.roll() % bound as u64) as usize
    }

    /// True once in so many times.
    pub const fn one_in(&mut self, times: usize) -> bool {
        self.below(times) == 0
    }

    /// One of these; nothing if there are none.
    pub fn pick<'a, T>(&mut self, among: &'a [T]) -> Option<&'a T> {
        among.get(self.below(among.len()))
    }
}

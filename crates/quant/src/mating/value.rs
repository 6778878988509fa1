//! The expected value of the best few plants of many families.

use super::Family;
use crate::chance::normal;

/// Levels at which plants are counted; an even number of steps, for Simpson's rule.
const STEPS: usize = 48;
/// How many standard deviations above its mean a family is followed.
const REACH: f64 = 6.0;

/// Levels t from the floor up, their weights, and each family's chance that a seed becomes a plant above each.
#[derive(Clone, Debug)]
pub(super) struct Levels {
    wanted: u32,
    /// Weights of Simpson's rule, divided by the number wanted: all above 0.
    pub(super) weights: Vec<f64>,
    /// Plants above each level from one portion of seed, family by family.
    pub(super) above: Vec<Vec<f64>>,
}

impl Levels {
    pub(super) fn new(families: &[Family], portion: u32, wanted: u32, floor: f64) -> Self {
        let top = families
            .iter()
            .map(|family| family.mean + REACH * family.deviation)
            .fold(floor, f64::max);
        let step = (top - floor) / STEPS as f64;
        let simpson = |level: usize| match level {
            0 | STEPS => 1.0,
            odd if odd % 2 == 1 => 4.0,
            _ => 2.0,
        };
        let weights = (0..=STEPS)
            .map(|level| simpson(level) * step / 3.0 / f64::from(wanted))
            .collect();
        let above = families
            .iter()
            .map(|family| {
                let plants = f64::from(portion) * family.rate;
                (0..=STEPS)
                    .map(|level| plants * family.above(floor + step * level as f64))
                    .collect()
            })
            .collect();
        Self {
            wanted,
            weights,
            above,
        }
    }

    /// How many levels there are.
    pub(super) fn len(&self) -> usize {
        self.weights.len()
    }

    /// The expected value of the best few, for so many plants expected above each level.
    pub(super) fn gain(&self, plants: impl Iterator<Item = f64>) -> f64 {
        let levels = self.weights.iter().zip(plants);
        levels
            .map(|(weight, plants)| weight * self.kept(plants).0)
            .sum()
    }

    /// E min(k, N) for a Poisson number N of mean `plants`, and its slope P(N < k).
    pub(super) fn kept(&self, plants: f64) -> (f64, f64) {
        let most = f64::from(self.wanted);
        let mut chance = (-plants).exp();
        let (mut missing, mut fewer) = (0.0, 0.0);
        for count in 0..self.wanted {
            missing += (most - f64::from(count)) * chance;
            fewer += chance;
            chance *= plants / f64::from(count + 1);
        }
        (most - missing, fewer)
    }
}

impl Family {
    /// The share of its plants whose value is above `level`.
    fn above(&self, level: f64) -> f64 {
        if self.deviation == 0.0 {
            return if self.mean > level { 1.0 } else { 0.0 };
        }
        normal::above((level - self.mean) / self.deviation)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Poisson with mean 2: P(0) = e⁻², P(1) = 2e⁻², so E min(2, N) = 2 - 2 P(0) - P(1) = 2 - 4e⁻²; by hand.
    #[test]
    fn few_of_a_poisson_number_are_kept() {
        let levels = Levels::new(&[], 1, 2, 0.0);
        let (kept, slope) = levels.kept(2.0);
        let zero = (-2.0_f64).exp();
        assert!((kept - (2.0 - 4.0 * zero)).abs() < 1e-12);
        assert!((slope - 3.0 * zero).abs() < 1e-12);
        assert_eq!(levels.kept(0.0), (0.0, 1.0));
        assert!((levels.kept(1e4).0 - 2.0).abs() < 1e-12);
    }

    /// The mean of the best 5 of 100 is 2.0182 standard deviations (Harter 1961, Biometrika 48:151-165); with a
    /// Poisson number of plants it is lower by less than a part in 300.
    #[test]
    fn best_few_of_one_family_come_near_exact_order_statistics() {
        for (size, wanted, exact) in [(100, 5, 2.0182), (100, 10, 1.7298), (100, 20, 1.3857)] {
            let family = Family {
                female: 0,
                male: 1,
                mean: 10.0,
                deviation: 2.0,
                rate: 1.0,
                most: 1,
            };
            let levels = Levels::new(&[family], size, wanted, 4.0);
            let gain = levels.gain(levels.above[0].iter().copied());
            let best = (gain + 4.0 - 10.0) / 2.0;
            assert!(
                best < exact && best > exact * (1.0 - 1.0 / 300.0),
                "{best} for {exact}"
            );
        }
    }
}

//! Seed in stock: its number by weight, with error, and its viability over the years.

use crate::counted::total;
use crate::likelihood::{ConfidenceRegion, Maximum, maximize};
use crate::proportion::{Interval, normal_quantile};
use statrs::distribution::{ContinuousCDF as _, Normal, StudentsT};

/// The weight of replicates of counted seeds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeedWeight {
    /// The weight of a thousand seeds.
    pub thousand: f64,
    /// The standard deviation of a replicate.
    pub standard_deviation: f64,
    /// The coefficient of variation of a replicate, in percent. The International Rules for Seed Testing (chapter 10)
    /// ask for more replicates where that of eight of 100 seeds is above 4 (6 for chaffy seed; from memory).
    pub variation: f64,
    /// The standard error of the thousand-seed weight.
    pub standard_error: f64,
    /// How many replicates.
    pub replicates: usize,
}

impl SeedWeight {
    /// From the weights of replicates of so many seeds each. `None` below two replicates, or where one weighs nothing.
    pub fn of(weights: &[f64], seeds_each: u32) -> Option<Self> {
        let count = weights.len() as f64;
        let sound = weights
            .iter()
            .all(|weight| weight.is_finite() && *weight > 0.0);
        if weights.len() < 2 || seeds_each == 0 || !sound {
            return None;
        }
        let mean = weights.iter().sum::<f64>() / count;
        let squares: f64 = weights.iter().map(|weight| (weight - mean).powi(2)).sum();
        let deviation = (squares / (count - 1.0)).sqrt();
        let times = 1000.0 / f64::from(seeds_each);
        Some(Self {
            thousand: mean * times,
            standard_deviation: deviation,
            variation: 100.0 * deviation / mean,
            standard_error: times * deviation / count.sqrt(),
            replicates: weights.len(),
        })
    }

    /// How many seeds a weight is, with its interval: the replicates' weights taken as normal (Student's t), the lot's
    /// own weight as exact. An end is infinite where the replicates say too little.
    pub fn seeds(&self, weight: f64, level: f64) -> (f64, Interval) {
        let half = StudentsT::new(0.0, 1.0, (self.replicates - 1) as f64)
            .map_or(f64::INFINITY, |law| {
                law.inverse_cdf(f64::midpoint(1.0, level)) * self.standard_error
            });
        let seeds = |thousand: f64| {
            if thousand > 0.0 {
                1000.0 * weight / thousand
            } else {
                f64::INFINITY
            }
        };
        let interval = Interval {
            low: seeds(self.thousand + half),
            high: seeds(self.thousand - half),
        };
        (seeds(self.thousand), interval)
    }
}

/// A germination test of stored seed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// Years from the beginning of storage.
    pub age: f64,
    /// Seeds tested.
    pub seeds: u32,
    /// Seeds that germinated.
    pub germinated: u32,
}

/// The decline of viability in store: in probits a straight line, `v = initial - age / sigma` (Ellis & Roberts 1980,
/// Annals of Botany 45:13–30), fitted to tests by maximum likelihood.
#[derive(Debug, Clone, PartialEq)]
pub struct Decline {
    /// The probit at the beginning, and the probits lost a year.
    fitted: [f64; 2],
    region: ConfidenceRegion,
}

impl Decline {
    /// Fits tests, with intervals at `level`. Seed that doesn't lose viability loses none: it never gains. `None` unless
    /// tests of two different ages are there, and some seed germinated and some did not.
    pub fn fit(tests: &[Test], level: f64) -> Option<Self> {
        let tests: Vec<_> = tests.iter().filter(|test| test.seeds > 0).collect();
        let seeds = total(tests.iter().map(|test| test.seeds));
        let up = total(tests.iter().map(|test| test.germinated.min(test.seeds)));
        let first = tests.first()?.age;
        let span = tests
            .iter()
            .map(|test| (test.age - first).abs())
            .fold(0.0, f64::max);
        if span <= 0.0 || up == 0 || up == seeds {
            return None;
        }
        let bounds = [(-6.0, 12.0), (0.0, 12.0 / span)];
        let likelihood = |at: &[f64]| {
            let inside = at
                .iter()
                .zip(&bounds)
                .all(|(at, bound)| bound.0 <= *at && *at <= bound.1);
            if !inside {
                return f64::NEG_INFINITY;
            }
            tests
                .iter()
                .map(|test| {
                    let probit = at[0] - at[1] * test.age;
                    let (up, down) = (
                        Normal::standard().cdf(probit),
                        Normal::standard().cdf(-probit),
                    );
                    let germinated = test.germinated.min(test.seeds);
                    f64::from(germinated) * up.max(1e-300).ln()
                        + f64::from(test.seeds - germinated) * down.max(1e-300).ln()
                })
                .sum()
        };
        let start = normal_quantile((f64::from(up) + 0.5) / (f64::from(seeds) + 1.0));
        let starts = [0.0, 0.3 / span, 1.0 / span];
        let maxima = starts.map(|loss| {
            let from = [start + loss * span / 2.0, loss];
            let maximized = maximize(&likelihood, &from, &[0.3, 0.2 / span]);
            // The simplex comes near a bound, not onto it: on it one parameter is left.
            let kept = maximize(&|at: &[f64]| likelihood(&[at[0], 0.0]), &[start], &[0.3]);
            if kept.value >= maximized.value - 1e-9 {
                Maximum {
                    at: vec![kept.at[0], 0.0],
                    value: kept.value,
                }
            } else {
                maximized
            }
        });
        let maximum = maxima
            .into_iter()
            .reduce(|one, other| if other.value > one.value { other } else { one })?;
        Some(Self {
            fitted: [maximum.at[0], maximum.at[1]],
            region: ConfidenceRegion::around(&likelihood, &maximum, &bounds, level),
        })
    }

    fn figure(&self, of: impl Fn(&[f64]) -> f64) -> (f64, Interval) {
        (of(&self.fitted), self.region.range(of))
    }

    /// The probit of viability at the beginning.
    pub fn initial(&self) -> (f64, Interval) {
        self.figure(|at| at[0])
    }

    /// Probits lost a year: one over sigma.
    pub fn loss(&self) -> (f64, Interval) {
        self.figure(|at| at[1])
    }

    /// The viable share at an age in years.
    pub fn viability(&self, age: f64) -> (f64, Interval) {
        self.figure(|at| viability(at[0], at[1], age))
    }

    /// The age in years at which half is viable; infinite where nothing is lost.
    pub fn half_viable(&self) -> (f64, Interval) {
        self.figure(|at| {
            if at[1] > 0.0 {
                (at[0] / at[1]).max(0.0)
            } else {
                f64::INFINITY
            }
        })
    }
}

/// The viable share after some time, from the probit at the beginning and the probits lost in a unit of time.
pub fn viability(initial: f64, loss: f64, age: f64) -> f64 {
    Normal::standard().cdf(initial - loss * age)
}

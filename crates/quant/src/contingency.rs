//! Two counts against each other: Fisher's exact test and the odds ratio with its exact interval.
//!
//! ```
//! use quant::contingency::TwoByTwo;
//!
//! let table = TwoByTwo::of((18, 20), (11, 20));
//! let swapped = TwoByTwo::of((11, 20), (18, 20));
//! assert!((table.fisher() - swapped.fisher()).abs() < 1e-12);
//! ```

use crate::proportion::{Interval, TIE};
use statrs::distribution::{ChiSquared, ContinuousCDF as _};
use statrs::function::factorial::ln_binomial;

/// Successes and trials of two groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TwoByTwo {
    first: (u32, u32),
    second: (u32, u32),
}

/// An odds ratio: the conditional maximum-likelihood estimate and its exact interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddsRatio {
    /// The estimate; 0 or infinite at the edge.
    pub estimate: f64,
    /// The interval; an end is 0 or infinite at the edge.
    pub interval: Interval,
}

impl TwoByTwo {
    /// The table of `(successes, trials)` of two groups; successes beyond the trials count as trials.
    pub fn of(first: (u32, u32), second: (u32, u32)) -> Self {
        let sound = |(successes, trials): (u32, u32)| (successes.min(trials), trials);
        Self {
            first: sound(first),
            second: sound(second),
        }
    }

    /// The two-sided p of Fisher's exact test (Fisher 1935, Journal of the Royal Statistical Society 98:39–82): given
    /// both margins, the probability of all tables no likelier than the observed one.
    pub fn fisher(&self) -> f64 {
        let chances = self.chances(0.0);
        let observed = chances[self.place()] * TIE;
        let total: f64 = chances.iter().filter(|each| **each <= observed).sum();
        total.min(1.0)
    }

    /// The odds of success in the first group over those in the second, with its exact interval (Cornfield 1956): both
    /// margins given, as in the test. `None` when all succeeded or none did, or a group is empty.
    pub fn odds_ratio(&self, level: f64) -> Option<OddsRatio> {
        let last = self.chances(0.0).len() - 1;
        if last == 0 {
            return None;
        }
        let (place, tail) = (self.place(), (1.0 - level) / 2.0);
        let mean = |log: f64| {
            let chances = self.chances(log);
            let weighed = chances.iter().enumerate();
            weighed.map(|(at, each)| at as f64 * each).sum::<f64>()
        };
        let upper = |log: f64| self.chances(log)[place..].iter().sum::<f64>();
        let lower = |log: f64| self.chances(log)[..=place].iter().sum::<f64>();
        let (at_bottom, at_top) = (place == 0, place == last);
        Some(OddsRatio {
            estimate: match (at_bottom, at_top) {
                (true, _) => 0.0,
                (_, true) => f64::INFINITY,
                _ => rising_root(|log| mean(log) - place as f64).exp(),
            },
            interval: Interval {
                low: if at_bottom {
                    0.0
                } else {
                    rising_root(|log| upper(log) - tail).exp()
                },
                high: if at_top {
                    f64::INFINITY
                } else {
                    rising_root(|log| tail - lower(log)).exp()
                },
            },
        })
    }

    /// The fewest successes that the first group can have, given the margins.
    fn fewest(&self) -> u32 {
        (self.first.0 + self.second.0).saturating_sub(self.second.1)
    }

    fn place(&self) -> usize {
        (self.first.0 - self.fewest()) as usize
    }

    /// The probabilities of all tables with these margins, where the odds ratio has this logarithm.
    fn chances(&self, log_odds_ratio: f64) -> Vec<f64> {
        let successes = self.first.0 + self.second.0;
        let most = self.first.1.min(successes);
        let logs: Vec<f64> = (self.fewest()..=most)
            .map(|each| {
                ln_binomial(u64::from(self.first.1), u64::from(each))
                    + ln_binomial(u64::from(self.second.1), u64::from(successes - each))
                    + f64::from(each) * log_odds_ratio
            })
            .collect();
        let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = logs.iter().map(|log| (log - highest).exp()).collect();
        let total: f64 = weights.iter().sum();
        weights.into_iter().map(|each| each / total).collect()
    }
}

/// Where a rising function of a logarithm crosses zero.
fn rising_root(value: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (-60.0, 60.0);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if value(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// A chi-square statistic with what it says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChiSquare {
    /// The statistic.
    pub statistic: f64,
    /// Its degrees of freedom.
    pub degrees: usize,
    /// The probability of one as large by chance alone.
    pub p: f64,
}

impl ChiSquare {
    /// A statistic with its p; `None` without a degree of freedom.
    pub fn of(statistic: f64, degrees: usize) -> Option<Self> {
        let law = ChiSquared::new(degrees as f64).ok()?;
        Some(Self {
            statistic,
            degrees,
            p: law.sf(statistic),
        })
    }
}

/// Whether groups of `(successes, trials)` differ more than chance alone would have it: Pearson's chi-square. `None`
/// unless two groups have trials and some, not all, succeeded; or where a group is expected to have fewer than one
/// success or failure, or a fifth of them fewer than five (Cochran 1954, Biometrics 10:417–451).
pub fn homogeneity(groups: &[(u32, u32)]) -> Option<ChiSquare> {
    let groups: Vec<(f64, f64)> = groups
        .iter()
        .filter(|group| group.1 > 0)
        .map(|group| (f64::from(group.0.min(group.1)), f64::from(group.1)))
        .collect();
    let (successes, trials) = groups
        .iter()
        .fold((0.0, 0.0), |sum, group| (sum.0 + group.0, sum.1 + group.1));
    if groups.len() < 2 || successes == 0.0 || successes == trials {
        return None;
    }
    let share = successes / trials;
    let expected: Vec<f64> = groups
        .iter()
        .flat_map(|group| [group.1 * share, group.1 * (1.0 - share)])
        .collect();
    let few = expected.iter().filter(|each| **each < 5.0).count();
    if expected.iter().any(|each| *each < 1.0) || few * 5 > expected.len() {
        return None;
    }
    let statistic = groups
        .iter()
        .map(|group| (group.0 - group.1 * share).powi(2) / (group.1 * share * (1.0 - share)))
        .sum();
    ChiSquare::of(statistic, groups.len() - 1)
}

/// p values of several tests made at once, raised so that the chance of any false alarm stays as low as that of one
/// (Holm 1979, Scandinavian Journal of Statistics 6:65–70), in the order given.
pub fn holm(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|one, other| values[*one].total_cmp(&values[*other]));
    let mut raised = vec![1.0; values.len()];
    let mut highest: f64 = 0.0;
    for (nth, at) in order.into_iter().enumerate() {
        highest = highest.max((values[at] * (values.len() - nth) as f64).min(1.0));
        raised[at] = highest;
    }
    raised
}

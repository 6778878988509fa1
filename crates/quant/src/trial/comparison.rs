//! Entries against each other and against checks.

use faer::Mat;
use statrs::distribution::{ContinuousCDF as _, StudentsT};

use super::{Analysis, Entries};
use crate::chance::student::Together;
use crate::chance::{normal, range_quantile};
use crate::evaluation::{Combination, Estimate, SmallSample};

/// The other entries against a check.
#[derive(Clone, Debug, PartialEq)]
pub struct Against {
    /// How many standard errors a difference has to exceed, so that by chance none does.
    pub critical: f64,
    /// The mean degrees of freedom of the differences.
    pub degrees_of_freedom: f64,
    /// The entries that lie above the check.
    pub above: Vec<usize>,
    /// The entries that lie below it.
    pub below: Vec<usize>,
}

/// With more degrees of freedom than this t is the normal distribution to more digits than are of use.
const MANY: f64 = 1e7;

/// The least significant difference: the standard error of a difference times the quantile of t.
pub fn least_difference(variance: f64, degrees_of_freedom: f64, significance: f64) -> f64 {
    let share = 1.0 - significance / 2.0;
    let times = if degrees_of_freedom < MANY {
        StudentsT::new(0.0, 1.0, degrees_of_freedom).map_or(f64::NAN, |t| t.inverse_cdf(share))
    } else {
        normal::quantile(share)
    };
    times * variance.sqrt()
}

/// The least significant differences between all pairs of entries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastDifferences {
    /// That of the mean variance of a difference.
    pub mean: f64,
    /// The least of all pairs.
    pub lowest: f64,
    /// The largest of all pairs.
    pub highest: f64,
    /// The mean degrees of freedom of up to a hundred pairs.
    pub degrees_of_freedom: f64,
    /// The difference that none of all pairs exceeds by accident, of the mean variance of a difference (Tukey 1953; Kramer
    /// 1956, Biometrics 12:307–310, where variances differ); `None` where it can't be found.
    pub honest: Option<f64>,
}

/// The pairs whose degrees of freedom are looked at.
const MOST_PAIRS: usize = 100;

impl Analysis {
    /// Whether random entries were found not to differ.
    pub fn entries_are_alike(&self) -> bool {
        self.entries == Entries::Random && self.fit.components().get(0).get(0, 0) == 0.0
    }

    /// The errors of adjusted means after Kenward & Roger; `None` where they aren't worked out (see
    /// [`crate::evaluation::Model::small_sample`]): the errors of comparisons are then those of the variances as they are
    /// estimated, with degrees of freedom after Satterthwaite.
    pub fn small_sample(&self) -> Option<&SmallSample> {
        let found = self.small_sample.get_or_init(|| {
            if self.entries == Entries::Random {
                return None;
            }
            let found = self.model.small_sample(&self.fit, &self.combinations);
            found.ok().flatten()
        });
        found.as_ref()
    }

    /// The variance of a difference of two entries, as comparisons take it: [`Self::small_sample`] where it is worked out.
    fn variance_of_difference(&self, one: usize, other: usize) -> f64 {
        match self.small_sample() {
            Some(errors) => errors.variance_of_difference(one, other),
            None => self.combined.variance_of_difference(one, other),
        }
    }

    fn covariance(&self, one: usize, other: usize) -> f64 {
        match self.small_sample() {
            Some(errors) => errors.covariance(one, other),
            None => self.combined.covariance(one, other),
        }
    }

    /// The first entry minus the second, with the error that comparisons take.
    pub fn difference(&self, one: usize, other: usize) -> Estimate {
        Estimate {
            standard_error: self.variance_of_difference(one, other).sqrt(),
            ..self.combined.difference(one, other)
        }
    }

    /// The degrees of freedom of differences; infinite where their variance is known. `None` where variances don't fit
    /// the model.
    pub fn degrees_of_freedom(&self, pairs: &[(usize, usize)]) -> Option<Vec<f64>> {
        if let Some(errors) = self.small_sample() {
            let of = |&(one, other): &(usize, usize)| {
                errors.degrees_of_freedom_of_difference(one, other)
            };
            return Some(pairs.iter().map(of).collect());
        }
        let differences: Vec<Combination> = pairs
            .iter()
            .map(|&(one, other)| self.combinations[one].minus(&self.combinations[other]))
            .collect();
        self.model.degrees_of_freedom(&self.fit, &differences).ok()
    }

    /// Whether the errors of the entries are known. They aren't where the residual variance of one of several parts is at
    /// 0: its records would count without end, and what follows from that is no error of theirs.
    pub fn errors_are_known(&self) -> bool {
        let parts = self.fit.components().residuals.len();
        parts < 2 || !(0..parts).any(|part| self.fit.residual_is_zero(part))
    }

    /// Whether the records can compare all entries with each other.
    pub fn all_comparable(&self) -> bool {
        self.group.iter().all(|&group| group == 0)
    }

    /// The least significant differences; `None` where some entries can't be compared.
    pub fn least_difference(&self, significance: f64) -> Option<LeastDifferences> {
        let count = self.combined.len();
        if !self.all_comparable() || !self.errors_are_known() || count < 2 {
            return None;
        }
        let pairs = || (0..count).flat_map(|one| (0..one).map(move |other| (one, other)));
        let (mut lowest, mut highest, mut sum) = (f64::INFINITY, 0.0_f64, 0.0);
        for (one, other) in pairs() {
            let variance = self.variance_of_difference(one, other);
            lowest = lowest.min(variance);
            highest = highest.max(variance);
            sum += variance;
        }
        let all = count * (count - 1) / 2;
        let some: Vec<(usize, usize)> = pairs().step_by(all.div_ceil(MOST_PAIRS)).collect();
        let degrees_of_freedom = self.mean_degrees_of_freedom(&some)?;
        let of = |variance| least_difference(variance, degrees_of_freedom, significance);
        let mean = sum / all as f64;
        let range = range_quantile(1.0 - significance, count, degrees_of_freedom);
        Some(LeastDifferences {
            honest: range.map(|range| range * (mean / 2.0).sqrt()),
            mean: of(mean),
            lowest: of(lowest),
            highest: of(highest),
            degrees_of_freedom,
        })
    }

    fn mean_degrees_of_freedom(&self, pairs: &[(usize, usize)]) -> Option<f64> {
        let degrees = self.degrees_of_freedom(pairs)?;
        let finite: Vec<f64> = degrees.into_iter().filter(|&d| d < MANY).collect();
        Some(if finite.is_empty() {
            f64::INFINITY
        } else {
            (finite.iter().sum::<f64>() / finite.len() as f64).max(1.0)
        })
    }

    /// All other entries against a check, so that the chance that any differs by accident is `significance` (Dunnett
    /// 1955, with the correlations of these differences). `None` where no other entry can be compared with it.
    pub fn against(&self, check: usize, significance: f64) -> Option<Against> {
        let (others, together, degrees_of_freedom) = self.together(check)?;
        let critical = together.critical(1.0 - significance);
        let beyond = |sign: f64| {
            let differs = |&entry: &usize| {
                let difference = self.difference(entry, check);
                sign * difference.value > critical * difference.standard_error
            };
            others.iter().copied().filter(differs).collect()
        };
        Some(Against {
            critical,
            degrees_of_freedom,
            above: beyond(1.0),
            below: beyond(-1.0),
        })
    }

    /// How often the entry farthest from a check, in standard errors, would lie as far by accident, all comparisons
    /// together: [`Self::against`] finds it at every significance above this. `None` as there.
    pub fn significance_of_the_farthest(&self, check: usize) -> Option<f64> {
        let (others, together, _) = self.together(check)?;
        let far = |entry| {
            let difference = self.difference(entry, check);
            difference.value.abs() / difference.standard_error
        };
        let farthest = others.into_iter().map(far).fold(0.0, f64::max);
        Some(1.0 - together.within(farthest))
    }

    /// The entries that can be compared with a check, the distribution of their differences, and its degrees of freedom.
    fn together(&self, check: usize) -> Option<(Vec<usize>, Together, f64)> {
        if !self.errors_are_known() {
            return None;
        }
        let others: Vec<usize> = (0..self.combined.len())
            .filter(|&entry| entry != check && self.group[entry] == self.group[check])
            .filter(|&entry| self.variance_of_difference(entry, check) > 0.0)
            .collect();
        if others.is_empty() {
            return None;
        }
        let v = |one, other| self.covariance(one, other);
        let covariances = Mat::from_fn(others.len(), others.len(), |i, j| {
            let (i, j) = (others[i], others[j]);
            v(i, j) - v(i, check) - v(j, check) + v(check, check)
        });
        let pairs: Vec<_> = others.iter().map(|&entry| (entry, check)).collect();
        let degrees_of_freedom = self.mean_degrees_of_freedom(&pairs)?;
        let together = Together::new(&covariances, degrees_of_freedom)?;
        Some((others, together, degrees_of_freedom))
    }

    /// The probability that an entry beats another by more than an amount: of the true values given the records where
    /// entries are random; where they are fixed, the confidence that the difference is as large. By t with the degrees
    /// of freedom that the variances of the model leave to the difference, as they are estimates. `None` where the
    /// difference can't be told.
    pub fn probability_of_beating(&self, entry: usize, other: usize, amount: f64) -> Option<f64> {
        self.chances(&[entry], other, amount)[0]
    }

    /// [`Self::probability_of_beating`] of every entry against one; `None` against itself.
    pub fn probabilities_of_beating(&self, other: usize, amount: f64) -> Vec<Option<f64>> {
        let all: Vec<usize> = (0..self.combined.len()).collect();
        self.chances(&all, other, amount)
    }

    fn chances(&self, entries: &[usize], other: usize, amount: f64) -> Vec<Option<f64>> {
        let mut chances = vec![None; entries.len()];
        if !self.errors_are_known() {
            return chances;
        }
        let told: Vec<usize> = (0..entries.len())
            .filter(|&nth| self.group[entries[nth]] == self.group[other])
            .filter(|&nth| self.variance_of_difference(entries[nth], other) > 0.0)
            .collect();
        let pairs: Vec<(usize, usize)> = told.iter().map(|&nth| (entries[nth], other)).collect();
        let Some(degrees) = self.degrees_of_freedom(&pairs) else {
            return chances;
        };
        for (nth, degrees) in told.into_iter().zip(degrees) {
            let difference = self.difference(entries[nth], other);
            let short = (amount - difference.value) / difference.standard_error;
            chances[nth] = Some(match StudentsT::new(0.0, 1.0, degrees.max(1.0)) {
                Ok(t) if degrees < MANY => t.sf(short),
                _ => normal::above(short),
            });
        }
        chances
    }
}

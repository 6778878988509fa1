//! Entries against each other and against checks.

use faer::Mat;
use statrs::distribution::{ContinuousCDF as _, StudentsT};

use super::Analysis;
use crate::chance::normal;
use crate::chance::student::Together;

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

/// The least significant difference: the standard error of a difference times the quantile of t.
pub fn least_difference(variance: f64, degrees_of_freedom: f64, significance: f64) -> f64 {
    let share = 1.0 - significance / 2.0;
    let times = if degrees_of_freedom.is_finite() {
        StudentsT::new(0.0, 1.0, degrees_of_freedom).map_or(f64::NAN, |t| t.inverse_cdf(share))
    } else {
        normal::quantile(share)
    };
    times * variance.sqrt()
}

impl Analysis {
    /// All other entries against a check, so that the chance that any differs by accident is `significance` (Dunnett
    /// 1955, with the correlations of these differences). `None` where the check or all others have no mean.
    pub fn against(&self, check: usize, significance: f64) -> Option<Against> {
        let others: Vec<usize> = (0..self.combined.len())
            .filter(|&entry| entry != check && self.estimable[entry])
            .filter(|&entry| self.combined.variance_of_difference(entry, check) > 0.0)
            .collect();
        if !self.estimable[check] || others.is_empty() {
            return None;
        }
        let v = |one, other| self.combined.covariance(one, other);
        let covariances = Mat::from_fn(others.len(), others.len(), |i, j| {
            let (i, j) = (others[i], others[j]);
            v(i, j) - v(i, check) - v(j, check) + v(check, check)
        });
        let differences: Vec<_> = others
            .iter()
            .map(|&entry| self.combinations[entry].minus(&self.combinations[check]))
            .collect();
        let degrees = self
            .model
            .degrees_of_freedom(&self.fit, &differences)
            .ok()?;
        let finite: Vec<f64> = degrees.into_iter().filter(|d| d.is_finite()).collect();
        let degrees_of_freedom = if finite.is_empty() {
            f64::INFINITY
        } else {
            (finite.iter().sum::<f64>() / finite.len() as f64).max(1.0)
        };
        let critical =
            Together::new(&covariances, degrees_of_freedom)?.critical(1.0 - significance);
        let beyond = |sign: f64| {
            let differs = |&entry: &usize| {
                let difference = self.combined.difference(entry, check);
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

    /// The probability that an entry beats another by more than an amount: of the true values given the records where
    /// entries are random; where they are fixed, the confidence that the difference is as large.
    pub fn probability_of_beating(&self, entry: usize, other: usize, amount: f64) -> Option<f64> {
        if !(self.estimable[entry] && self.estimable[other]) {
            return None;
        }
        let difference = self.combined.difference(entry, other);
        let error = difference.standard_error;
        (error > 0.0).then(|| normal::above((amount - difference.value) / error))
    }
}

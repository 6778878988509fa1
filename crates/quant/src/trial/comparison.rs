//! Entries against each other and against checks.

use faer::Mat;
use statrs::distribution::{ChiSquared, ContinuousCDF as _, StudentsT};

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

/// The significance of what a larger model gains over one that it holds: twice the difference of the restricted
/// log-likelihoods of models with the same fixed terms. `at_bound` parameters are on their bound in the smaller model,
/// such as variances of 0, `free` inside it, such as correlations of 0. The distribution is a mixture of χ² with binomial
/// weights (Self & Liang 1987, Journal of the American Statistical Association 82:605–610; Stram & Lee 1994, Biometrics
/// 50:1171–1177). Where correlations mean nothing without a variance that is 0 in the smaller model, count them free:
/// the significance is then about right, and not exact.
pub fn likelihood_ratio_test(gain: f64, at_bound: u32, free: u32) -> f64 {
    let mut weight = 0.5_f64.powi(at_bound as i32);
    let mut significance = 0.0;
    for raised in 0..=at_bound {
        let degrees = free + raised;
        let beyond = match ChiSquared::new(f64::from(degrees)) {
            Ok(distribution) => distribution.sf(gain.max(0.0)),
            // Without a degree of freedom nothing lies beyond 0.
            Err(_) => f64::from(u8::from(gain <= 0.0)),
        };
        significance += weight * beyond;
        weight *= f64::from(at_bound - raised) / f64::from(raised + 1);
    }
    significance
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
    /// entries are random; where they are fixed, the confidence that the difference is as large. By t with the degrees
    /// of freedom that the variances of the model leave to the difference, as they are estimates. `None` where the
    /// difference can't be told.
    pub fn probability_of_beating(&self, entry: usize, other: usize, amount: f64) -> Option<f64> {
        if !(self.estimable[entry] && self.estimable[other]) {
            return None;
        }
        let difference = self.combined.difference(entry, other);
        let error = difference.standard_error;
        if error.is_nan() || error <= 0.0 {
            return None;
        }
        let short = (amount - difference.value) / error;
        let combination = self.combinations[entry].minus(&self.combinations[other]);
        let degrees = self.model.degrees_of_freedom(&self.fit, &[combination]);
        let degrees = degrees.ok()?.first().copied()?.max(1.0);
        Some(match StudentsT::new(0.0, 1.0, degrees) {
            Ok(t) if degrees.is_finite() => t.sf(short),
            _ => normal::above(short),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::likelihood_ratio_test;

    /// Points of χ² of any table: 2.705543 is that of 10 % with one degree of freedom, 5.991465 that of 5 % with two.
    #[test]
    fn half_of_a_variance_at_its_bound_counts() {
        assert!((likelihood_ratio_test(2.705543, 1, 0) - 0.05).abs() < 1e-6);
        assert!((likelihood_ratio_test(5.991465, 0, 2) - 0.05).abs() < 1e-6);
        assert!((likelihood_ratio_test(0.0, 1, 0) - 1.0).abs() < 1e-12);
        // Stram & Lee's case of one more variance and its covariance: the mean of χ² with one and with two.
        let mixed = likelihood_ratio_test(5.138, 1, 1);
        assert!((mixed - 0.05).abs() < 1e-3, "{mixed}");
    }
}

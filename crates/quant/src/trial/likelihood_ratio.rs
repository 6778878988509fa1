//! Whether a larger model is worth its parameters.

use statrs::distribution::{ChiSquared, ContinuousCDF as _};

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

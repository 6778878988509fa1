//! Normal order statistics: what the best of so many is expected to be.
//!
//! > mean of the best k of n = (n/k) ∫ x φ(x) P[Binomial(n-1, 1 - Φ(x)) ≤ k-1] dx
//!
//! The binomial chance lies between 0 and 1, so that nothing overflows and no gamma functions cancel, whatever n; it
//! is a regularized incomplete beta function, which gives n a meaning between whole numbers too: a family of 12.4
//! expected seedlings. The integral is taken by the trapezoidal rule, whose error falls faster than any power of the
//! step for a smooth function that fades at both ends (Trefethen & Weideman 2014, SIAM Review 56:385-458).

use super::normal::{above, below, density, quantile};
use statrs::function::beta::checked_beta_reg;

/// Step of the trapezoidal rule.
const STEP: f64 = 1.0 / 32.0;
/// Steps on each side of 0: the density fades below 1e-18 at 9.
const REACH: i32 = 288;

/// Selection intensity in a population without end: the mean of the best share `p`, in standard deviations.
/// Infinite for 0.
pub fn intensity(p: f64) -> f64 {
    if p >= 1.0 {
        return 0.0;
    }
    if p <= 0.0 {
        return f64::INFINITY;
    }
    density(quantile(p)) / p
}

/// Expected value of the best of `n`, 1 or more: 0 for one alone.
pub fn expected_best(n: f64) -> f64 {
    best_few(n, 1)
}

/// Mean of the best `k` of `n` expected, the selection intensity in a small population. `n` need not be whole.
/// 0 where all are kept.
pub fn best_few(n: f64, k: u32) -> f64 {
    let kept = f64::from(k.max(1));
    if n.is_nan() || n <= kept {
        return 0.0;
    }
    let rest = n - kept;
    let sum: f64 = (-REACH..=REACH)
        .map(|step| {
            let x = f64::from(step) * STEP;
            x * density(x) * among_best(x, rest, kept)
        })
        .sum();
    n / kept * STEP * sum
}

/// Expected value of the `k`-th best of `n`, the best the first. `None` for a place that isn't there.
pub fn nth_best(n: f64, k: u32) -> Option<f64> {
    if k == 0 || f64::from(k) > n {
        return None;
    }
    let sum_of_best = |few: u32| f64::from(few) * best_few(n, few);
    let before = if k == 1 { 0.0 } else { sum_of_best(k - 1) };
    Some(sum_of_best(k) - before)
}

/// P[Binomial(n-1, 1 - Φ(x)) ≤ k-1]: the chance that fewer than `kept` of the others lie above `x`.
fn among_best(x: f64, rest: f64, kept: f64) -> f64 {
    if kept == 1.0 {
        // Φ to the power of the others, which keeps its digits however many they are.
        return (rest * (-above(x)).ln_1p()).exp();
    }
    // The tail that is small is the one that keeps its digits.
    let chance = if x > 0.0 {
        checked_beta_reg(kept, rest, above(x)).map(|more| 1.0 - more)
    } else {
        checked_beta_reg(rest, kept, below(x))
    };
    chance.unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Falconer & Mackay (1996), Introduction to Quantitative Genetics, 4th ed., appendix table A; more digits by
    /// i = z / p.
    #[test]
    fn intensity_is_that_of_the_table() {
        let table = [
            (0.001, 3.3671),
            (0.005, 2.8919),
            (0.01, 2.6652),
            (0.02, 2.4209),
            (0.05, 2.0627),
            (0.1, 1.7550),
            (0.15, 1.5544),
            (0.2, 1.3998),
            (0.25, 1.2711),
            (0.3, 1.1590),
            (0.4, 0.9659),
            (0.5, 0.7979),
            (0.6, 0.6439),
            (0.7, 0.4967),
            (0.8, 0.3500),
            (0.9, 0.1950),
        ];
        for (p, expected) in table {
            assert!(
                (intensity(p) - expected).abs() < 6e-5,
                "i({p}) = {}",
                intensity(p)
            );
        }
        assert_eq!(intensity(1.0), 0.0);
    }

    /// Exact normal order statistics: Harter (1961), Biometrika 48:151-165, averaged over the best.
    #[test]
    fn finite_intensity_is_exact() {
        let table = [
            (2.0, 1, 0.5642),
            (3.0, 1, 0.8463),
            (4.0, 1, 1.0294),
            (5.0, 1, 1.1630),
            (10.0, 1, 1.5388),
            (10.0, 2, 1.2701),
            (10.0, 5, 0.7389),
            (20.0, 1, 1.8675),
            (20.0, 2, 1.6375),
            (20.0, 4, 1.3318),
            (50.0, 1, 2.2491),
            (50.0, 5, 1.7055),
            (100.0, 1, 2.5076),
            (100.0, 5, 2.0182),
            (100.0, 10, 1.7298),
            (100.0, 20, 1.3857),
        ];
        for (n, k, expected) in table {
            let found = best_few(n, k);
            assert!((found - expected).abs() < 6e-5, "i({n}, {k}) = {found}");
        }
    }

    /// Closed forms: 1/√π for two and 3/(2√π) for three (David & Nagaraja 2003, Order Statistics, 3rd ed., ch. 3).
    #[test]
    fn the_best_of_two_and_three_have_closed_forms() {
        let root = std::f64::consts::PI.sqrt();
        assert!((expected_best(2.0) - 1.0 / root).abs() < 1e-12);
        assert!((expected_best(3.0) - 1.5 / root).abs() < 1e-12);
        assert_eq!(expected_best(1.0), 0.0);
    }

    /// By the alternative integral ∫ 1 - Φⁿ - (1 - Φ)ⁿ over the positive half, with a step eight times finer.
    #[test]
    fn large_families_agree_with_another_integral() {
        for n in [7.0, 365.5, 1e4, 1e5] {
            let step = 1.0 / 256.0;
            let term = |x: f64| 1.0 - below(x).powf(n) - above(x).powf(n);
            let inner: f64 = (1..=2560).map(|i| term(f64::from(i) * step)).sum();
            let other = step * (inner + 0.5 * term(0.0));
            // The integrand doesn't fade at 0, so this rule errs by its end correction, h² f'(0) / 12 = 0 here by
            // symmetry of the two terms for whole and broken n alike only in sum; what is left is below 1e-8.
            let found = expected_best(n);
            assert!((found - other).abs() < 1e-5, "{n}: {found} and {other}");
        }
    }

    #[test]
    fn places_add_up_and_mirror_each_other() {
        let all: Vec<f64> = (1..=9).filter_map(|k| nth_best(9.0, k)).collect();
        assert!(all.iter().sum::<f64>().abs() < 1e-10);
        for (up, down) in all.iter().zip(all.iter().rev()) {
            assert!((up + down).abs() < 1e-10);
        }
        // Harter (1961): second of 5 is 0.49502.
        assert!((nth_best(5.0, 2).unwrap() - 0.49502).abs() < 6e-6);
        assert_eq!(nth_best(5.0, 6), None);
    }
}

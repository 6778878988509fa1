//! The standard normal distribution.

use libm::erfc;
use statrs::function::erf::erfc_inv;
use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

/// 1 / √(2π).
const DENSITY_AT_ZERO: f64 = 0.398_942_280_401_432_7;

/// The density at `x`.
pub fn density(x: f64) -> f64 {
    DENSITY_AT_ZERO * (-0.5 * x * x).exp()
}

/// The chance of a value at most `x`, exact to the last digits in the lower tail too.
pub fn below(x: f64) -> f64 {
    0.5 * erfc(-x * FRAC_1_SQRT_2)
}

/// The chance of a value above `x`, exact to the last digits in the upper tail too.
pub fn above(x: f64) -> f64 {
    below(-x)
}

/// The value that a share `p` lies below: infinite for 0 and 1.
pub fn quantile(p: f64) -> f64 {
    -SQRT_2 * erfc_inv(2.0 * p.clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun (1964), Handbook of Mathematical Functions, table 26.1 (P(x), from memory) and table 26.2
    /// (upper tails as -log10 Q, from memory).
    #[test]
    fn tails_are_those_of_the_tables() {
        for (x, p) in [
            (0.0, 0.5),
            (0.5, 0.691_462_461_274_013),
            (1.0, 0.841_344_746_068_543),
            (1.5, 0.933_192_798_731_142),
            (2.0, 0.977_249_868_051_821),
            (3.0, 0.998_650_101_968_370),
        ] {
            assert!((below(x) - p).abs() < 1e-14, "P({x}) = {}", below(x));
            assert!((above(-x) - p).abs() < 1e-14);
        }
        for (x, minus_log) in [(5.0, 6.54265), (10.0, 23.11805), (15.0, 50.43522)] {
            let found = -above(x).log10();
            assert!((found - minus_log).abs() < 5e-6, "-log Q({x}) = {found}");
        }
    }

    /// Percentage points: Abramowitz & Stegun (1964), table 26.5 (from memory).
    #[test]
    fn quantiles_are_those_of_the_tables() {
        for (upper, x) in [
            (0.5, 0.0),
            (0.25, 0.674_490),
            (0.1, 1.281_552),
            (0.05, 1.644_854),
            (0.01, 2.326_348),
            (0.001, 3.090_232),
        ] {
            assert!((quantile(1.0 - upper) - x).abs() < 5e-7);
            assert!((quantile(upper) + x).abs() < 5e-7);
        }
        for exponent in -30..=-1 {
            let p = 10_f64.powi(exponent);
            let back = below(quantile(p)) / p;
            assert!((back - 1.0).abs() < 1e-12, "{p}: {back}");
        }
        assert_eq!(quantile(0.0), f64::NEG_INFINITY);
        assert_eq!(quantile(1.0), f64::INFINITY);
    }
}

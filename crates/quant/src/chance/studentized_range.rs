//! The range of several values over their error (Tukey's studentized range).

use super::normal::below;
use super::student::{errors, normal_mean};

/// The chance that the highest of `count` independent normal values lies within `range` standard errors of the lowest, the
/// error known from so many degrees of freedom.
pub fn range_within(range: f64, count: usize, degrees_of_freedom: f64) -> f64 {
    if range <= 0.0 || count < 2 {
        return f64::from(u8::from(count < 2 && range >= 0.0));
    }
    within(range, count, &errors(degrees_of_freedom))
}

/// Given the highest value the others lie within reach below it.
fn within(range: f64, count: usize, errors: &[(f64, f64)]) -> f64 {
    let of_error = |&(weight, spread): &(f64, f64)| {
        let reach = range * spread;
        let others = i32::try_from(count - 1).unwrap_or(i32::MAX);
        weight * count as f64 * normal_mean(|z| (below(z) - below(z - reach)).powi(others))
    };
    errors.iter().map(of_error).sum::<f64>().clamp(0.0, 1.0)
}

/// The range that is not exceeded with this chance; `None` below two values, or without degrees of freedom.
pub fn range_quantile(chance: f64, count: usize, degrees_of_freedom: f64) -> Option<f64> {
    let known = degrees_of_freedom > 0.0 && chance > 0.0 && chance < 1.0;
    if count < 2 || !known {
        return None;
    }
    let errors = errors(degrees_of_freedom);
    let (mut low, mut high) = (0.0, 4.0);
    while within(high, count, &errors) < chance {
        low = high;
        high *= 2.0;
        if high > 1e6 {
            return None;
        }
    }
    while high - low > 1e-7 * high {
        let middle = f64::midpoint(low, high);
        if within(middle, count, &errors) < chance {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Upper 5 % and 1 % points of the studentized range, Pearson & Hartley (1966), Biometrika Tables for Statisticians I,
    /// table 29 (from memory).
    #[test]
    fn points_of_the_table() {
        for (chance, count, degrees, point) in [
            (0.95, 2, 10.0, 3.15),
            (0.95, 3, 10.0, 3.88),
            (0.95, 5, 20.0, 4.23),
            (0.95, 10, 20.0, 5.01),
            (0.95, 20, f64::INFINITY, 5.01),
            (0.99, 3, 10.0, 5.27),
            (0.99, 10, 60.0, 5.45),
        ] {
            let found = range_quantile(chance, count, degrees).unwrap();
            assert!(
                (found - point).abs() <= 0.005_1,
                "{chance} {count} {degrees}: {found}"
            );
        }
    }

    /// Of two values the range is √2 times the distance from zero of their difference: Student's t, 97.5 % point with 27
    /// degrees of freedom 2.051831 (any table).
    #[test]
    fn of_two_values_it_is_students_t() {
        let found = range_quantile(0.95, 2, 27.0).unwrap();
        assert!(
            (found / std::f64::consts::SQRT_2 - 2.051_831).abs() < 2e-6,
            "{found}"
        );
    }
}

//! The chance that several normal values lie between bounds together.
//!
//! Genz (1992), "Numerical computation of multivariate normal probabilities", J. Comput. Graph. Stat. 1:141-149:
//! the region is turned into a unit cube, one variable after the other, the one least likely to fit first (Gibson,
//! Glasbey & Elston 1994); the integral over the cube is taken on lattice points (Richtmyer's, with the tent
//! transform), shifted several times. The shifts are always the same, so is the answer; how far they lie apart tells
//! the error.

use super::normal::{below, density, quantile};
use crate::evaluation::Covariance;

/// A chance and how far it may be off: three standard errors of the mean over the shifts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// The chance.
    pub value: f64,
    /// The most it is likely to be off.
    pub error: f64,
}

/// Shifts of the lattice.
const SHIFTS: u32 = 8;
/// Points of the first lattice, and of the largest.
const POINTS: [u32; 2] = [32, 1 << 16];
/// What the shifts step by: the golden ratio's fraction, which keeps them apart.
const STEP: f64 = 0.618_033_988_749_894_8;
/// A conditional variance below this share is none: the variable follows from those before.
const NOTHING: f64 = 1e-12;
/// Square roots of primes are the generators of the lattice.
const PRIMES: [f64; 16] = [
    2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0, 31.0, 37.0, 41.0, 43.0, 47.0, 53.0,
];

/// The chance that normal values of mean 0 and these covariances lie within `lower` and `upper`, each in the order of
/// the covariances; infinite bounds are none. Points are doubled until the error is at most `tolerance`, or 65,536
/// were used on each shift.
///
/// `None` where the bounds are not as many as the variables, there are more than 17, a bound is not a number, or
/// the covariances are those of no variables (a variance below 0, a correlation beyond 1).
pub fn multivariate_normal_probability(
    lower: &[f64],
    upper: &[f64],
    covariances: &Covariance,
    tolerance: f64,
) -> Option<Chance> {
    let order = covariances.order();
    if lower.len() != order || upper.len() != order || order > PRIMES.len() + 1 {
        return None;
    }
    if lower.iter().chain(upper).any(|bound| bound.is_nan()) {
        return None;
    }
    let region = IntegrationRegion::new(lower, upper, covariances)?;
    let dimensions = order.saturating_sub(1);
    if dimensions == 0 {
        return Some(Chance {
            value: region.at(&[]),
            error: 0.0,
        });
    }
    let mut points = POINTS[0];
    loop {
        let chance = on_lattice(&region, dimensions, points);
        if chance.error <= tolerance || points >= POINTS[1] {
            return Some(chance);
        }
        points *= 2;
    }
}

fn on_lattice(region: &IntegrationRegion, dimensions: usize, points: u32) -> Chance {
    let mut at = vec![0.0; dimensions];
    let means: Vec<f64> = (0..SHIFTS)
        .map(|shift| {
            let sum: f64 = (1..=points)
                .map(|point| {
                    for (axis, (place, prime)) in at.iter_mut().zip(PRIMES).enumerate() {
                        let begin = f64::from(shift) * STEP * (1.0 + axis as f64);
                        let along = (f64::from(point) * prime.sqrt() + begin).fract();
                        *place = (2.0 * along - 1.0).abs();
                    }
                    region.at(&at)
                })
                .sum();
            sum / f64::from(points)
        })
        .collect();
    let count = f64::from(SHIFTS);
    let value = means.iter().sum::<f64>() / count;
    let scatter: f64 = means.iter().map(|mean| (mean - value).powi(2)).sum();
    Chance {
        value,
        error: 3.0 * (scatter / (count * (count - 1.0))).sqrt(),
    }
}

/// The region with its variables in the order they are taken, and the lower triangle L of their covariances.
struct IntegrationRegion {
    lower: Vec<f64>,
    upper: Vec<f64>,
    factor: Vec<Vec<f64>>,
}

impl IntegrationRegion {
    /// Cholesky factor with the variables ordered on the way: next comes the one whose chance to fit is least, those
    /// before it being at their expected values.
    fn new(lower: &[f64], upper: &[f64], covariances: &Covariance) -> Option<Self> {
        let order = lower.len();
        let mut left: Vec<usize> = (0..order).collect();
        let mut rows: Vec<Vec<f64>> = vec![Vec::with_capacity(order); order];
        let mut expected: Vec<f64> = Vec::with_capacity(order);
        let mut region = Self {
            lower: Vec::with_capacity(order),
            upper: Vec::with_capacity(order),
            factor: Vec::with_capacity(order),
        };
        while !left.is_empty() {
            let mut best: Option<(usize, f64, [f64; 2])> = None;
            for (place, &each) in left.iter().enumerate() {
                let known: f64 = rows[each].iter().map(|part| part * part).sum();
                let whole = covariances.get(each, each);
                let rest = whole - known;
                if !whole.is_finite() || whole < 0.0 || rest < -1e-9 * whole {
                    return None;
                }
                let deviation = if rest <= NOTHING * whole {
                    0.0
                } else {
                    rest.sqrt()
                };
                let centre: f64 = rows[each].iter().zip(&expected).map(|(l, y)| l * y).sum();
                let bounds =
                    [lower[each], upper[each]].map(|bound| scaled(bound - centre, deviation));
                let fits = between(bounds);
                if best.is_none_or(|(_, _, of_best)| fits < between(of_best)) {
                    best = Some((place, deviation, bounds));
                }
            }
            let (place, deviation, bounds) = best?;
            let chosen = left.remove(place);
            let mut row = std::mem::take(&mut rows[chosen]);
            for &other in &left {
                let shared: f64 = row.iter().zip(&rows[other]).map(|(a, b)| a * b).sum();
                let rest = covariances.get(chosen, other) - shared;
                rows[other].push(if deviation > 0.0 {
                    rest / deviation
                } else {
                    0.0
                });
            }
            expected.push(mean_between(bounds));
            row.push(deviation);
            region.lower.push(lower[chosen]);
            region.upper.push(upper[chosen]);
            region.factor.push(row);
        }
        Some(region)
    }

    /// The integrand at a point of the unit cube.
    fn at(&self, point: &[f64]) -> f64 {
        let order = self.lower.len();
        let mut fixed = [0.0_f64; 17];
        let mut chance = 1.0;
        for variable in 0..order {
            let (row, before) = (&self.factor[variable], &fixed[..variable]);
            let centre: f64 = row.iter().zip(before).map(|(l, y)| l * y).sum();
            let deviation = row[variable];
            let low = below(scaled(self.lower[variable] - centre, deviation));
            let high = below(scaled(self.upper[variable] - centre, deviation));
            let part = high - low;
            if part <= 0.0 {
                return 0.0;
            }
            chance *= part;
            if variable + 1 < order {
                // An end of the scale would be infinite.
                let share = (low + point[variable] * part).clamp(1e-300, 1.0 - 1e-16);
                fixed[variable] = quantile(share);
            }
        }
        chance
    }
}

/// A distance in standard deviations; without deviation a bound is met or not, and one just met is met.
fn scaled(distance: f64, deviation: f64) -> f64 {
    if deviation > 0.0 {
        distance / deviation
    } else if distance > 0.0 {
        f64::INFINITY
    } else {
        f64::NEG_INFINITY
    }
}

fn between([low, high]: [f64; 2]) -> f64 {
    (below(high) - below(low)).max(0.0)
}

/// The mean of a standard normal value between bounds.
fn mean_between([low, high]: [f64; 2]) -> f64 {
    let chance = between([low, high]);
    if chance < 1e-10 {
        // Far out, it lies at the nearer bound.
        return if low.abs() < high.abs() { low } else { high };
    }
    (density(low) - density(high)) / chance
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE: f64 = f64::INFINITY;

    fn above(lower: &[f64], covariances: &Covariance) -> Chance {
        multivariate_normal_probability(lower, &vec![NONE; lower.len()], covariances, 1e-5).unwrap()
    }

    fn alike(order: usize, correlation: f64) -> Covariance {
        let mut matrix = Covariance::diagonal(&vec![1.0; order]);
        for a in 0..order {
            for b in 0..a {
                matrix.set(a, b, correlation);
            }
        }
        matrix
    }

    /// Sheppard (1899): the chance that two, or three, values of mean 0 are all positive is 1/4 + asin r / 2π, or
    /// 1/8 + (asin r₁₂ + asin r₁₃ + asin r₂₃) / 4π.
    #[test]
    fn orthants_of_two_and_three_have_closed_forms() {
        let circle = std::f64::consts::TAU;
        for r in [-0.9, -0.3, 0.0, 0.5, 0.95] {
            let found = above(&[0.0, 0.0], &alike(2, r));
            let expected = 0.25 + f64::asin(r) / circle;
            assert!(
                (found.value - expected).abs() < 2e-5,
                "{r}: {found:?}, {expected}"
            );
            assert!(found.error <= 1e-5);
        }
        let three = Covariance::from_lower(&[1.0, 0.6, 1.0, -0.2, 0.3, 1.0]).unwrap();
        let sum: f64 = [0.6_f64, -0.2, 0.3].map(f64::asin).iter().sum();
        let found = above(&[0.0; 3], &three).value;
        assert!((found - (0.125 + sum / (2.0 * circle))).abs() < 2e-5);
    }

    /// With correlation 1/2 throughout, all m of them are positive with chance 1 / (m + 1): value i is that of plant i
    /// less that of one more plant, which is then the lowest of m + 1.
    #[test]
    fn six_equally_correlated_traits() {
        for order in [4, 6, 10] {
            let found = above(&vec![0.0; order], &alike(order, 0.5));
            let expected = 1.0 / (order as f64 + 1.0);
            assert!((found.value - expected).abs() < 5e-5, "{order}: {found:?}");
        }
    }

    /// The example of Genz (1992), J. Comput. Graph. Stat. 1:141-149, b = (1, 4, 2): 0.82798 (from memory).
    #[test]
    fn the_published_example() {
        let matrix = Covariance::from_lower(&[1.0, 0.6, 1.0, 1.0 / 3.0, 11.0 / 15.0, 1.0]).unwrap();
        let found =
            multivariate_normal_probability(&[-NONE; 3], &[1.0, 4.0, 2.0], &matrix, 1e-6).unwrap();
        assert!((found.value - 0.827_985).abs() < 2e-6, "{found:?}");
    }

    #[test]
    fn independent_traits_multiply_and_units_do_not_matter() {
        let wide = Covariance::diagonal(&[4.0, 25.0, 0.01]);
        let found = above(&[1.0, -5.0, 0.05], &wide).value;
        let product: f64 = [0.5, -1.0, 0.5].map(|x| below(-x)).iter().product();
        assert!((found - product).abs() < 1e-9);
        let one = multivariate_normal_probability(&[-1.0], &[2.0], &Covariance::variance(1.0), 0.1)
            .unwrap();
        assert!((one.value - (below(2.0) - below(-1.0))).abs() < 1e-15 && one.error == 0.0);
    }

    #[test]
    fn a_trait_that_follows_from_another_asks_nothing_more() {
        let twice = Covariance::from_lower(&[1.0, 2.0, 4.0]).unwrap();
        assert!((above(&[0.5, 1.0], &twice).value - below(-0.5)).abs() < 1e-9);
        assert!((above(&[0.5, 3.0], &twice).value - below(-1.5)).abs() < 1e-5);
        let fixed = Covariance::diagonal(&[0.0, 1.0]);
        assert!((above(&[-1.0, 0.0], &fixed).value - 0.5).abs() < 1e-12);
        assert_eq!(above(&[1.0, 0.0], &fixed).value, 0.0);
    }

    #[test]
    fn refuses_what_is_no_matrix_of_variables() {
        let wrong = Covariance::from_lower(&[1.0, 1.2, 1.0]).unwrap();
        assert_eq!(
            multivariate_normal_probability(&[0.0; 2], &[NONE; 2], &wrong, 1e-4),
            None
        );
        assert_eq!(
            multivariate_normal_probability(&[0.0], &[NONE], &alike(2, 0.1), 1e-4),
            None
        );
        assert_eq!(
            multivariate_normal_probability(&[f64::NAN; 2], &[NONE; 2], &alike(2, 0.1), 1e-4),
            None
        );
    }
}

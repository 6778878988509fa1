//! How far several t values that share their error lie from zero together (Dunnett 1955, Journal of the American
//! Statistical Association 50:1096–1121).
//!
//! Genz & Bretz (1999), Journal of Statistical Computation and Simulation 63:361–378: the error's chi is the first
//! variable of the cube, the normal values follow one after the other given those before. The lattice is Richtmyer's
//! with the tent transform, its shifts always the same.
//!
//! Where each correlation is a product of one number a value, as of differences from a check in complete blocks, the
//! values are independent given one normal value that they share, and the chance is an integral over that and the error
//! (Dunnett & Sobel 1955, Biometrika 42:258–260), exact to more digits than tables have.

use faer::Mat;
use statrs::distribution::{ChiSquared, Continuous as _, ContinuousCDF as _, StudentsT};
use statrs::function::gamma::ln_gamma;

use super::normal::{below, density, quantile};

/// Points of each of the lattice's shifts: many for few values, fewer where each costs more.
const WORK: usize = 40_000_000;
const SHIFTS: usize = 4;
/// How closely a critical value is found, itself and its chance.
const CLOSE: f64 = 1e-5;
const CLOSE_CHANCE: f64 = 1e-7;
/// How far a correlation may be from a product to be taken for one.
const NO_PRODUCT: f64 = 1e-7;
/// Beyond this what values share leaves too narrow a room for the steps of the integral.
const MOST_SHARED: f64 = 0.995;
/// The integrals over a normal value go from minus this to plus this, in such steps.
const REACH: f64 = 8.0;
const STEP: f64 = 0.1;

/// Values with correlations and degrees of freedom in common, laid out for their chance to be asked often.
#[derive(Debug)]
pub struct Together {
    count: usize,
    layout: Layout,
    degrees_of_freedom: f64,
}

#[derive(Debug)]
enum Layout {
    /// What each value shares with the others, and how many share as much; the error, with weights.
    Shared(Vec<(f64, i32)>, Vec<(f64, f64)>),
    Lattice {
        /// The factor of the correlations, row by row.
        lower: Vec<Vec<f64>>,
        /// By point: the root of chi-square over its degrees of freedom, and the place in the cube.
        points: Vec<(f64, Vec<f64>)>,
    },
}

impl Together {
    /// Values with these correlations (or covariances); infinite degrees of freedom are normal values. `None` if the
    /// matrix is none of covariances.
    pub fn new(covariances: &Mat<f64>, degrees_of_freedom: f64) -> Option<Self> {
        let count = covariances.nrows();
        let lower = factor(covariances)?;
        let chi = degrees_of_freedom
            .is_finite()
            .then(|| ChiSquared::new(degrees_of_freedom).ok())
            .flatten();
        if chi.is_none() && degrees_of_freedom.is_finite() {
            return None;
        }
        let layout = match shared(covariances) {
            Some(shared) => Layout::Shared(shared, errors(degrees_of_freedom)),
            None => lattice(lower, chi.as_ref(), degrees_of_freedom),
        };
        Some(Self {
            count,
            layout,
            degrees_of_freedom,
        })
    }

    /// The chance that all values lie within `bound` of zero.
    pub fn within(&self, bound: f64) -> f64 {
        self.chance(bound, true)
    }

    /// The chance that no value lies above `bound`.
    pub fn under(&self, bound: f64) -> f64 {
        self.chance(bound, false)
    }

    fn chance(&self, bound: f64, both_sides: bool) -> f64 {
        match &self.layout {
            Layout::Shared(shared, errors) => {
                let of_error = |&(weight, spread): &(f64, f64)| {
                    let reach = bound * spread;
                    weight
                        * normal_mean(|z| {
                            let of_values = |&(share, times): &(f64, i32)| {
                                let own = (1.0 - share * share).sqrt();
                                let high = below((reach - share * z) / own);
                                let low = if both_sides {
                                    below((-reach - share * z) / own)
                                } else {
                                    0.0
                                };
                                (high - low).powi(times)
                            };
                            shared.iter().map(of_values).product()
                        })
                };
                errors.iter().map(of_error).sum()
            }
            Layout::Lattice { lower, points } => on_lattice(lower, points, bound, both_sides),
        }
    }

    /// The distance from zero that none of the values exceeds with this chance.
    pub fn critical(&self, chance: f64) -> f64 {
        self.bound(chance, true)
    }

    /// The value that none of them lies above with this chance, of a half and more.
    pub fn critical_above(&self, chance: f64) -> f64 {
        self.bound(chance, false)
    }

    fn bound(&self, chance: f64, both_sides: bool) -> f64 {
        let single = |share: f64| {
            if self.degrees_of_freedom.is_finite() {
                StudentsT::new(0.0, 1.0, self.degrees_of_freedom)
                    .map_or(f64::NAN, |t| t.inverse_cdf(share))
            } else {
                quantile(share)
            }
        };
        let count = self.count.max(1) as f64;
        // Between that of one value, and that of values that never share an excess.
        let sides = if both_sides { 2.0 } else { 1.0 };
        let mut low = single(1.0 - (1.0 - chance) / sides);
        let mut high = single(1.0 - (1.0 - chance) / (sides * count));
        if self.count < 2 {
            return low;
        }
        // False position, halving the weight of an end that stays (the Illinois rule).
        let beyond = |bound: f64| self.chance(bound, both_sides) - chance;
        let (mut at_low, mut at_high) = (beyond(low), beyond(high));
        let mut stayed = 0_i8;
        while high - low > CLOSE && at_low < 0.0 && at_high > 0.0 {
            let middle = low - at_low * (high - low) / (at_high - at_low);
            let at_middle = beyond(middle);
            if at_middle.abs() < CLOSE_CHANCE {
                return middle;
            }
            if at_middle > 0.0 {
                (high, at_high) = (middle, at_middle);
                at_low *= if stayed == 1 { 0.5 } else { 1.0 };
                stayed = 1;
            } else {
                (low, at_low) = (middle, at_middle);
                at_high *= if stayed == -1 { 0.5 } else { 1.0 };
                stayed = -1;
            }
        }
        f64::midpoint(low, high)
    }
}

/// The mean of a function of a standard normal value, by equal steps, which for smooth functions are as good as any.
pub(crate) fn normal_mean(of: impl Fn(f64) -> f64) -> f64 {
    let steps = (REACH / STEP) as i32;
    (-steps..=steps)
        .map(|step| f64::from(step) * STEP)
        .map(|z| STEP * density(z) * of(z))
        .sum()
}

/// Roots of chi-square over its degrees of freedom with their weights: the error as a share of the true one.
pub(crate) fn errors(degrees_of_freedom: f64) -> Vec<(f64, f64)> {
    let chi = degrees_of_freedom
        .is_finite()
        .then(|| ChiSquared::new(degrees_of_freedom).ok())
        .flatten();
    let Some(chi) = chi else {
        return vec![(1.0, 1.0)];
    };
    let quantiles = Quantiles::of(&chi);
    // Where the table of quantiles ends, next to nothing is left.
    let steps = (7.0 / STEP) as i32;
    (-steps..=steps)
        .map(|step| f64::from(step) * STEP)
        .map(|x| {
            (
                STEP * density(x),
                (quantiles.at(below(x)) / degrees_of_freedom).sqrt(),
            )
        })
        .collect()
}

/// What each value shares with the others, where each correlation is the product of two such numbers; alike ones together.
fn shared(covariances: &Mat<f64>) -> Option<Vec<(f64, i32)>> {
    let count = covariances.nrows();
    let r = |i: usize, j: usize| {
        covariances[(i, j)] / (covariances[(i, i)] * covariances[(j, j)]).sqrt()
    };
    let shares: Vec<f64> = match count {
        0 => return None,
        1 => vec![0.0],
        2 => {
            let root = r(0, 1).abs().sqrt();
            vec![root, root * r(0, 1).signum()]
        }
        _ => {
            let square = r(0, 1) * r(0, 2) / r(1, 2);
            // Values that share nothing, all of them.
            let first = if square.is_finite() {
                square.max(0.0).sqrt()
            } else {
                0.0
            };
            let other = |j: usize| if first > 0.0 { r(0, j) / first } else { 0.0 };
            std::iter::once(first)
                .chain((1..count).map(other))
                .collect()
        }
    };
    if shares
        .iter()
        .any(|share| share.is_nan() || share.abs() > MOST_SHARED)
    {
        return None;
    }
    for i in 0..count {
        for j in 0..i {
            if (r(i, j) - shares[i] * shares[j]).abs() > NO_PRODUCT {
                return None;
            }
        }
    }
    let mut alike: Vec<(f64, i32)> = Vec::new();
    for share in shares {
        match alike
            .iter_mut()
            .find(|(known, _)| (known - share).abs() < NO_PRODUCT)
        {
            Some((_, times)) => *times += 1,
            None => alike.push((share, 1)),
        }
    }
    Some(alike)
}

fn lattice(lower: Vec<Vec<f64>>, chi: Option<&ChiSquared>, degrees_of_freedom: f64) -> Layout {
    let count = lower.len();
    let per_shift = (WORK / (SHIFTS * (count * count + 40))).clamp(500, 8_000);
    let roots: Vec<f64> = primes().take(count + 1).map(f64::sqrt).collect();
    let chi = chi.map(Quantiles::of);
    let points = (0..SHIFTS).flat_map(|shift| (1..=per_shift).map(move |point| (shift, point)));
    let points = points
        .map(|(shift, point)| {
            let mut place: Vec<f64> = roots
                .iter()
                .map(|root| {
                    let begin = (shift as f64 + 0.5) * root * 0.754_877_666;
                    let along = (point as f64 * root + begin).fract();
                    (2.0 * along - 1.0).abs().clamp(1e-12, 1.0 - 1e-12)
                })
                .collect();
            let first = place.swap_remove(0);
            let spread = chi
                .as_ref()
                .map_or(1.0, |chi| (chi.at(first) / degrees_of_freedom).sqrt());
            (spread, place)
        })
        .collect();
    Layout::Lattice { lower, points }
}

fn on_lattice(lower: &[Vec<f64>], points: &[(f64, Vec<f64>)], bound: f64, both_sides: bool) -> f64 {
    let mut values = vec![0.0; lower.len()];
    let sum: f64 = points
        .iter()
        .map(|(spread, place)| {
            let reach = bound * spread;
            let mut chance = 1.0;
            for (nth, row) in lower.iter().enumerate() {
                let mean: f64 = row[..nth].iter().zip(&values).map(|(l, v)| l * v).sum();
                let own = row[nth];
                if own == 0.0 {
                    // It follows from those before.
                    if mean > reach || both_sides && mean < -reach {
                        return 0.0;
                    }
                    values[nth] = 0.0;
                    continue;
                }
                let high = below((reach - mean) / own);
                let low = if both_sides {
                    below((-reach - mean) / own)
                } else {
                    0.0
                };
                chance *= high - low;
                if chance <= 0.0 {
                    return 0.0;
                }
                values[nth] =
                    quantile((low + place[nth] * (high - low)).clamp(1e-300, 1.0 - 1e-16));
            }
            chance
        })
        .sum();
    sum / points.len() as f64
}

/// Quantiles of chi-square from a table of their logarithms by the normal quantile of the share, cubic between its places:
/// each by itself takes long, and thousands are asked for.
struct Quantiles(Vec<f64>);

impl Quantiles {
    /// The table goes from minus this to plus this.
    const REACH: f64 = 7.5;
    const STEPS_A_UNIT: f64 = 40.0;

    fn of(chi: &ChiSquared) -> Self {
        let steps = (2.0 * Self::REACH * Self::STEPS_A_UNIT) as usize;
        let place = |step: usize| step as f64 / Self::STEPS_A_UNIT - Self::REACH;
        Self(
            (0..=steps)
                .map(|step| quantile_of(chi, below(place(step))).ln())
                .collect(),
        )
    }

    fn at(&self, share: f64) -> f64 {
        let along = (quantile(share) + Self::REACH) * Self::STEPS_A_UNIT;
        let first = (along.floor().max(1.0) as usize - 1).min(self.0.len() - 4);
        let t = along - first as f64 - 1.0;
        let [a, b, c, d] = [0, 1, 2, 3].map(|nth| self.0[first + nth]);
        // Lagrange through four places.
        let sum = -t * (t - 1.0) * (t - 2.0) / 6.0 * a
            + (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0 * b
            - (t + 1.0) * t * (t - 2.0) / 2.0 * c
            + (t + 1.0) * t * (t - 1.0) / 6.0 * d;
        sum.exp()
    }
}

/// The quantile of a chi-square distribution, right in its lower tail too, where the library's own ends too early.
fn quantile_of(chi: &ChiSquared, share: f64) -> f64 {
    let mut at = chi.inverse_cdf(share);
    if share > 0.5 {
        return at;
    }
    let half = 0.5 * chi.freedom();
    let off = (chi.cdf(at) / share - 1.0).abs();
    if off.is_nan() || off >= 0.5 {
        // The first term of its series (Abramowitz & Stegun 1964, 6.5.29, from memory).
        at = 2.0 * ((share.ln() + ln_gamma(half + 1.0)) / half).exp();
    }
    // Newton's steps on the logarithm.
    for _ in 0..4 {
        at *= ((share - chi.cdf(at)) / (at * chi.pdf(at))).exp();
    }
    at
}

/// The Cholesky factor of the correlations; a row that follows from those before ends in zero.
fn factor(covariances: &Mat<f64>) -> Option<Vec<Vec<f64>>> {
    let count = covariances.nrows();
    let mut lower: Vec<Vec<f64>> = Vec::with_capacity(count);
    for i in 0..count {
        let mut row = Vec::with_capacity(i + 1);
        for j in 0..i {
            let scale = (covariances[(i, i)] * covariances[(j, j)]).sqrt();
            let product: f64 = lower[j][..j].iter().zip(&row).map(|(x, z)| x * z).sum();
            let rest = covariances[(i, j)] / scale - product;
            row.push(if lower[j][j] > 0.0 {
                rest / lower[j][j]
            } else {
                0.0
            });
        }
        let rest = 1.0 - row.iter().map(|x: &f64| x * x).sum::<f64>();
        if !(rest > -1e-8 && covariances[(i, i)] > 0.0) {
            return None;
        }
        row.push(if rest > 1e-10 { rest.sqrt() } else { 0.0 });
        lower.push(row);
    }
    Some(lower)
}

fn primes() -> impl Iterator<Item = f64> {
    let is_prime = |n: &u32| {
        (2..*n)
            .take_while(|d| d * d <= *n)
            .all(|d| !n.is_multiple_of(d))
    };
    (2..).filter(is_prime).map(f64::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the distribution function of `statrs` 0.19, `ChiSquared::cdf`.
    #[test]
    fn quantiles_from_the_table() {
        for degrees in [1.0, 2.5, 9.0, 40.0, 800.0] {
            let chi = ChiSquared::new(degrees).unwrap();
            let table = Quantiles::of(&chi);
            for share in [1e-9, 1e-4, 0.013, 0.3, 0.5, 0.77, 0.9999, 1.0 - 1e-9] {
                let found = chi.cdf(table.at(share));
                let off = (found - share).abs() / f64::min(share, 1.0 - share);
                assert!(off < 1e-5, "{degrees} {share}: {found}");
            }
        }
    }

    /// The lattice, which any correlations go to, against the integral.
    #[test]
    fn both_ways_agree() {
        let shares = [0.3, 0.75, 0.6, -0.4, 0.5];
        for degrees in [6.0, 30.0, f64::INFINITY] {
            let product = Mat::from_fn(
                5,
                5,
                |i, j| {
                    if i == j { 1.0 } else { shares[i] * shares[j] }
                },
            );
            let exact = Together::new(&product, degrees).unwrap();
            assert!(matches!(exact.layout, Layout::Shared(..)));
            let chi = degrees
                .is_finite()
                .then(|| ChiSquared::new(degrees).unwrap());
            let other = Together {
                count: 5,
                layout: lattice(factor(&product).unwrap(), chi.as_ref(), degrees),
                degrees_of_freedom: degrees,
            };
            for bound in [0.7, 2.0, 3.1] {
                let (one, two) = (exact.within(bound), other.within(bound));
                assert!((one - two).abs() < 3e-4, "{degrees} {bound}: {one} {two}");
            }
        }
    }

    /// 5 % points of Dunnett (1964) Biometrics 20:482–491, equal replication: recomputed by quadrature, as printed; two-sided,
    /// and one-sided with 20 degrees of freedom.
    #[test]
    fn dunnetts_table() {
        let table = [
            (
                10.0,
                [
                    2.2281, 2.5683, 2.7590, 2.8905, 2.9903, 3.0704, 3.1372, 3.1943, 3.2442,
                ],
            ),
            (
                20.0,
                [
                    2.0860, 2.3787, 2.5403, 2.6510, 2.7347, 2.8016, 2.8573, 2.9049, 2.9463,
                ],
            ),
            (
                f64::INFINITY,
                [
                    1.9600, 2.2121, 2.3490, 2.4418, 2.5115, 2.5670, 2.6130, 2.6522, 2.6862,
                ],
            ),
        ];
        for (nth, point) in [1.7247, 2.0273, 2.1923, 2.3044, 2.3888]
            .into_iter()
            .enumerate()
        {
            let half = Mat::from_fn(nth + 1, nth + 1, |i, j| if i == j { 1.0 } else { 0.5 });
            let found = Together::new(&half, 20.0).unwrap().critical_above(0.95);
            assert!(
                (found - point).abs() < 6e-5,
                "one side {nth}: {found}, not {point}"
            );
        }
        for (degrees, points) in table {
            for (nth, point) in points.into_iter().enumerate() {
                let count = nth + 1;
                let half = Mat::from_fn(count, count, |i, j| if i == j { 1.0 } else { 0.5 });
                let found = Together::new(&half, degrees).unwrap().critical(0.95);
                assert!(
                    (found - point).abs() < 6e-5,
                    "{degrees} {count}: {found}, not {point}"
                );
            }
        }
    }
}

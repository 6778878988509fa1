//! The maximum of a likelihood in few dimensions, and the region around it that is consistent with the data.
//!
//! The region holds every parameter with `2 (ln L at the maximum - ln L) ≤ χ²`, χ² of one degree of freedom at the level.
//! The range over it of any figure made of the parameters is that figure's profile-likelihood interval (Venzon &
//! Moolgavkar 1988, Applied Statistics 37:87–94), so that one region gives every interval and every band, lopsided
//! where the data are, without asking that the maximum be smooth or inside.

use crate::proportion::{Interval, normal_quantile};
use faer::{Mat, Side};

/// Rays to the edge of the region from the maximum, and from each of its tips. From the maximum, the extent of an ellipsoid in
/// three dimensions is met to within half a percent.
const RAYS: [usize; 2] = [400, 60];
/// How many rounds of searching for tips.
const ROUNDS: usize = 3;
/// Directions in which the likelihood is flatter than this are walked in strides of this many units, no longer ones.
const LONGEST_STRIDE: f64 = 10.0;

/// The maximum of a likelihood.
#[derive(Debug, Clone, PartialEq)]
pub struct Maximum {
    /// The parameters there.
    pub at: Vec<f64>,
    /// The log-likelihood there.
    pub value: f64,
}

/// Maximizes from `start`, whose surroundings of the size of `steps` are tried first: the simplex of Nelder & Mead (1965,
/// Computer Journal 7:308–313), restarted until that gains nothing. A value that isn't a number counts as lowest.
pub fn maximize(value: &impl Fn(&[f64]) -> f64, start: &[f64], steps: &[f64]) -> Maximum {
    let mut maximum = simplex(value, start, steps);
    for round in 0..12 {
        let smaller: Vec<f64> = steps
            .iter()
            .map(|step| step * 0.5_f64.powi(round))
            .collect();
        let next = simplex(value, &maximum.at, &smaller);
        let gain = next.value - maximum.value;
        if gain > 0.0 {
            maximum = next;
        }
        if gain < 1e-11 {
            break;
        }
    }
    maximum
}

fn simplex(value: &impl Fn(&[f64]) -> f64, start: &[f64], steps: &[f64]) -> Maximum {
    let height = |at: &[f64]| {
        let height = value(at);
        if height.is_nan() {
            f64::NEG_INFINITY
        } else {
            height
        }
    };
    let size = start.len();
    let mut corners: Vec<Maximum> = (0..=size)
        .map(|corner| {
            let mut at = start.to_vec();
            if let Some(place) = corner.checked_sub(1) {
                at[place] += steps[place];
            }
            Maximum {
                value: height(&at),
                at,
            }
        })
        .collect();
    for _ in 0..400 * size {
        corners.sort_by(|one, other| other.value.total_cmp(&one.value));
        let (best, worst) = (corners[0].value, corners[size].value);
        let wide = (0..size).any(|place| {
            corners
                .iter()
                .any(|corner| (corner.at[place] - corners[0].at[place]).abs() > 1e-9)
        });
        if best - worst < 1e-12 && !wide {
            break;
        }
        let middle: Vec<f64> = (0..size)
            .map(|place| {
                corners[..size]
                    .iter()
                    .map(|corner| corner.at[place])
                    .sum::<f64>()
                    / size as f64
            })
            .collect();
        let toward = |times: f64| {
            let at: Vec<f64> = middle
                .iter()
                .zip(&corners[size].at)
                .map(|(middle, worst)| middle + times * (worst - middle))
                .collect();
            Maximum {
                value: height(&at),
                at,
            }
        };
        let mirrored = toward(-1.0);
        let next = if mirrored.value > best {
            let beyond = toward(-2.0);
            Some(if beyond.value > mirrored.value {
                beyond
            } else {
                mirrored
            })
        } else if mirrored.value > corners[size - 1].value {
            Some(mirrored)
        } else {
            let inner = if mirrored.value > worst {
                toward(-0.5)
            } else {
                toward(0.5)
            };
            (inner.value > worst.max(mirrored.value)).then_some(inner)
        };
        if let Some(next) = next {
            corners[size] = next;
        } else {
            let best = corners[0].at.clone();
            for corner in &mut corners[1..] {
                for (at, best) in corner.at.iter_mut().zip(&best) {
                    *at = f64::midpoint(*at, *best);
                }
                corner.value = height(&corner.at);
            }
        }
    }
    corners.sort_by(|one, other| other.value.total_cmp(&one.value));
    corners.swap_remove(0)
}

/// The edge of the region of parameters that is consistent with the data.
#[derive(Debug, Clone, PartialEq)]
pub struct ConfidenceRegion {
    points: Vec<Vec<f64>>,
}

impl ConfidenceRegion {
    /// The region at this level around the maximum of a likelihood of one to three parameters, each within its bounds.
    pub fn around(
        value: &impl Fn(&[f64]) -> f64,
        maximum: &Maximum,
        bounds: &[(f64, f64)],
        level: f64,
    ) -> Self {
        let size = maximum.at.len();
        let radius = normal_quantile(f64::midpoint(1.0, level));
        let floor = maximum.value - radius * radius / 2.0;
        let strides = strides(value, &maximum.at);
        let holds = |at: &[f64]| {
            at.iter()
                .zip(bounds)
                .all(|(at, bound)| bound.0 <= *at && *at <= bound.1)
                && value(at) >= floor
        };
        let edge = |from: &[f64], ray: &[f64]| {
            let way: Vec<f64> = (0..size)
                .map(|row| {
                    (0..size)
                        .map(|column| strides[(row, column)] * ray[column])
                        .sum()
                })
                .collect();
            let point = |far: f64| -> Vec<f64> {
                from.iter()
                    .zip(&way)
                    .map(|(from, way)| from + far * way)
                    .collect()
            };
            let (mut inside, mut outside) = (0.0, radius);
            while holds(&point(outside)) && outside < 1e6 {
                inside = outside;
                outside *= 2.0;
            }
            for _ in 0..30 {
                let middle = f64::midpoint(inside, outside);
                if holds(&point(middle)) {
                    inside = middle;
                } else {
                    outside = middle;
                }
            }
            point(inside)
        };
        let mut points = vec![maximum.at.clone()];
        points.extend(rays(size, RAYS[0]).iter().map(|ray| edge(&maximum.at, ray)));
        // A bent region hides its tips from the maximum: they are looked for from the farthest points found so far.
        let around = rays(size, RAYS[1]);
        for _ in 0..ROUNDS {
            let tips: Vec<Vec<f64>> = (0..size)
                .flat_map(|place| {
                    let by =
                        |one: &&Vec<f64>, other: &&Vec<f64>| one[place].total_cmp(&other[place]);
                    [points.iter().min_by(by), points.iter().max_by(by)]
                })
                .flatten()
                .cloned()
                .collect();
            for tip in tips {
                points.extend(around.iter().map(|ray| edge(&tip, ray)));
            }
        }
        Self { points }
    }

    /// The interval of a figure made of the parameters.
    pub fn range(&self, figure: impl Fn(&[f64]) -> f64) -> Interval {
        let mut range = Interval {
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
        };
        for point in &self.points {
            let value = figure(point);
            range.low = range.low.min(value);
            range.high = range.high.max(value);
        }
        range
    }
}

/// Steps, one a column, along which the likelihood falls off alike: from its curvature, where that is known.
fn strides(value: &impl Fn(&[f64]) -> f64, maximum: &[f64]) -> Mat<f64> {
    const STEP: f64 = 1e-3;
    let size = maximum.len();
    let at = |moves: &[(usize, f64)]| {
        let mut at = maximum.to_vec();
        for (place, by) in moves {
            at[*place] += by;
        }
        value(&at)
    };
    let curvature = Mat::from_fn(size, size, |row, column| {
        let corner = |one: f64, other: f64| at(&[(row, one * STEP), (column, other * STEP)]);
        -(corner(1.0, 1.0) - corner(1.0, -1.0) - corner(-1.0, 1.0) + corner(-1.0, -1.0))
            / (4.0 * STEP * STEP)
    });
    let whole = (0..size).all(|row| (0..size).all(|column| curvature[(row, column)].is_finite()));
    let eigen = whole
        .then(|| curvature.self_adjoint_eigen(Side::Lower).ok())
        .flatten();
    match eigen {
        Some(eigen) => Mat::from_fn(size, size, |row, column| {
            let bent = eigen.S()[column].max(LONGEST_STRIDE.powi(-2));
            eigen.U()[(row, column)] / bent.sqrt()
        }),
        None => Mat::identity(size, size),
    }
}

/// So many directions spread evenly over the circle, or over the sphere by Fibonacci's spiral.
fn rays(size: usize, count: usize) -> Vec<Vec<f64>> {
    use std::f64::consts::PI;
    let count = if size == 2 { count / 4 } else { count };
    match size {
        1 => vec![vec![1.0], vec![-1.0]],
        2 => (0..count)
            .map(|nth| {
                let turn = 2.0 * PI * nth as f64 / count as f64;
                vec![turn.cos(), turn.sin()]
            })
            .collect(),
        _ => (0..count)
            .map(|nth| {
                let height = 1.0 - (2 * nth + 1) as f64 / count as f64;
                let across = (1.0 - height * height).sqrt();
                let turn = PI * (3.0 - 5.0_f64.sqrt()) * nth as f64;
                vec![across * turn.cos(), across * turn.sin(), height]
            })
            .collect(),
    }
}

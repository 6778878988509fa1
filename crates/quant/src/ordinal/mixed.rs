//! The cumulative logit model with a random term, such as the person who scored or the block.

use super::cumulative::{Height, invert, newton};
use super::likelihood::{bounds, piece};
use super::{OrdinalError, Scores, cumulative_logit, gauss_hermite};
use faer::Mat;

/// A fitted cumulative logit model with a random term.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixed {
    /// The thresholds between the classes, rising, at the mean of the groups.
    pub thresholds: Vec<f64>,
    /// The effect of each predictor: positive lifts the score.
    pub effects: Vec<f64>,
    /// The standard deviation of the groups' effects; 0 where the likelihood is greatest there.
    pub deviation: f64,
    /// Covariances of thresholds, effects and, unless it is 0, the deviation, in this order.
    pub covariance: Mat<f64>,
    /// The log-likelihood, the groups' effects integrated out.
    pub log_likelihood: f64,
    /// What is known of each group.
    pub groups: Vec<GroupEffect>,
}

/// What is known of a group, given the other estimates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroupEffect {
    /// The expected effect.
    pub mean: f64,
    /// Its standard deviation.
    pub deviation: f64,
}

/// Fits thresholds, effects and the deviation of a random effect of each group, which is integrated out on `points`
/// points placed around where each group's effect is likeliest (adaptive Gauss–Hermite quadrature, Pinheiro & Bates
/// 1995, J. Comput. Graph. Stat. 4:12–35); 1 is Laplace's approximation, 10 or more leave no error that matters.
/// `groups` tells the group of each record, from 0.
///
/// # Errors
/// See [`OrdinalError`].
pub fn with_groups(
    scores: &Scores,
    groups: &[usize],
    points: usize,
) -> Result<Mixed, OrdinalError> {
    let fixed = cumulative_logit(scores)?;
    if groups.len() != scores.records() || points == 0 {
        return Err(OrdinalError::Figures);
    }
    let count = groups.iter().max().map_or(0, |&most| most + 1);
    let mut members = vec![Vec::new(); count];
    for (record, &group) in groups.iter().enumerate() {
        members[group].push(record);
    }
    let model = Model {
        scores,
        members,
        points: gauss_hermite(points),
    };
    let mut start = fixed.thresholds.clone();
    start.extend(&fixed.effects);
    start.push(1.0);
    let split = fixed.thresholds.len();
    let (mut at, log_likelihood, information) = newton(start, &|at| model.height(at))?;
    let last = at.len() - 1;
    // The sign of the deviation is nobody's.
    at[last] = at[last].abs();
    if at[last] < 1e-3 || log_likelihood <= fixed.log_likelihood {
        return Ok(Mixed {
            groups: vec![
                GroupEffect {
                    mean: 0.0,
                    deviation: 0.0
                };
                count
            ],
            thresholds: fixed.thresholds,
            effects: fixed.effects,
            deviation: 0.0,
            covariance: fixed.covariance,
            log_likelihood: fixed.log_likelihood,
        });
    }
    Ok(Mixed {
        groups: model.groups(&at),
        thresholds: at[..split].to_vec(),
        effects: at[split..last].to_vec(),
        deviation: at[last],
        covariance: invert(&information)?,
        log_likelihood,
    })
}

struct Model<'a> {
    scores: &'a Scores,
    members: Vec<Vec<usize>>,
    points: Vec<(f64, f64)>,
}

/// A group's integral: its logarithm, and points z with their share of it.
struct Integral {
    log: f64,
    points: Vec<(f64, f64)>,
}

impl Model<'_> {
    /// log Π chance × φ(z) without its constant, its slope and its bend in z.
    fn joint(&self, records: &[usize], at: &[f64], z: f64) -> [f64; 3] {
        let split = self.scores.class_count() - 1;
        let deviation = at[at.len() - 1];
        let mut sum = [-0.5 * z * z, -z, -1.0];
        for &record in records {
            let weight = self.scores.weight(record);
            if weight == 0.0 {
                continue;
            }
            let linear = self.scores.linear(record, at) + deviation * z;
            let (lower, upper) = bounds(self.scores.classes[record], &at[..split], linear);
            let piece = piece(lower, upper);
            let [above, below] = piece.slopes;
            let [uu, ll, ul] = piece.bends;
            sum[0] += weight * piece.log;
            sum[1] -= weight * deviation * (above + below);
            sum[2] += weight * deviation * deviation * (uu + ll + 2.0 * ul);
        }
        sum
    }

    fn integral(&self, records: &[usize], at: &[f64]) -> Integral {
        // The joint density is log-concave in z: Newton's steps, halved where needed, find its top.
        let mut z = 0.0;
        let mut here = self.joint(records, at, z);
        for _ in 0..100 {
            let mut step = -here[1] / here[2];
            if step.abs() <= 1e-7 {
                // Too near for heights to tell which is higher; the step squares what is left.
                z += step;
                here = self.joint(records, at, z);
                break;
            }
            let mut next = self.joint(records, at, z + step);
            while (next[0].is_nan() || next[0] < here[0]) && step.abs() > 1e-12 {
                step /= 2.0;
                next = self.joint(records, at, z + step);
            }
            z += step;
            here = next;
        }
        let width = (-here[2]).recip().sqrt();
        let terms: Vec<(f64, f64)> = self
            .points
            .iter()
            .map(|&(point, weight)| {
                let place = z + width * point;
                let height = self.joint(records, at, place)[0] - here[0] + 0.5 * point * point;
                (place, weight * height.exp())
            })
            .collect();
        let sum: f64 = terms.iter().map(|term| term.1).sum();
        Integral {
            log: here[0] + width.ln() + sum.ln(),
            points: terms
                .into_iter()
                .map(|(place, term)| (place, term / sum))
                .collect(),
        }
    }

    fn log_likelihood(&self, at: &[f64]) -> f64 {
        let split = self.scores.class_count() - 1;
        if at[..split].windows(2).any(|pair| pair[0] >= pair[1]) {
            return f64::NEG_INFINITY;
        }
        self.members
            .iter()
            .map(|records| self.integral(records, at).log)
            .sum()
    }

    /// The log-likelihood with slopes and bends by differences: what is differentiated is the sum itself, so that top
    /// and standard errors are those of the quadrature that is used.
    fn height(&self, at: &[f64]) -> Height {
        const STEP: f64 = 1e-4;
        let size = at.len();
        let value = self.log_likelihood(at);
        let moved = |moves: &[(usize, f64)]| {
            let mut there = at.to_vec();
            for &(place, by) in moves {
                there[place] += by;
            }
            self.log_likelihood(&there)
        };
        if !value.is_finite() {
            return (value, vec![0.0; size], Mat::identity(size, size));
        }
        let around: Vec<[f64; 2]> = (0..size)
            .map(|place| [moved(&[(place, STEP)]), moved(&[(place, -STEP)])])
            .collect();
        let slopes = around
            .iter()
            .map(|[up, down]| (up - down) / (2.0 * STEP))
            .collect();
        let mut information = Mat::<f64>::zeros(size, size);
        for row in 0..size {
            let [up, down] = around[row];
            information[(row, row)] = -(up - 2.0 * value + down) / (STEP * STEP);
            for column in 0..row {
                let corner =
                    |one: f64, other: f64| moved(&[(row, one * STEP), (column, other * STEP)]);
                let bend = (corner(1.0, 1.0) - corner(1.0, -1.0) - corner(-1.0, 1.0)
                    + corner(-1.0, -1.0))
                    / (4.0 * STEP * STEP);
                information[(row, column)] = -bend;
                information[(column, row)] = -bend;
            }
        }
        (value, slopes, information)
    }

    fn groups(&self, at: &[f64]) -> Vec<GroupEffect> {
        let deviation = at[at.len() - 1];
        self.members
            .iter()
            .map(|records| {
                let points = self.integral(records, at).points;
                let mean: f64 = points.iter().map(|(place, share)| place * share).sum();
                let square: f64 = points
                    .iter()
                    .map(|(place, share)| place * place * share)
                    .sum();
                GroupEffect {
                    mean: deviation * mean,
                    deviation: deviation * (square - mean * mean).max(0.0).sqrt(),
                }
            })
            .collect()
    }
}

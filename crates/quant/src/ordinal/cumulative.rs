//! The cumulative logit model by maximum likelihood.

use super::likelihood::{bounds, piece};
use super::{OrdinalError, Scores};
use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

/// Newton's steps at most.
const STEPS: usize = 200;
/// Effects beyond this are taken to have no end: odds of e³⁰.
const ENDLESS: f64 = 30.0;

/// A fitted cumulative logit model.
#[derive(Clone, Debug, PartialEq)]
pub struct CumulativeLogit {
    /// The thresholds between the classes, rising.
    pub thresholds: Vec<f64>,
    /// The effect of each predictor: positive lifts the score.
    pub effects: Vec<f64>,
    /// Covariances of thresholds and effects, in this order, from the observed information.
    pub covariance: Mat<f64>,
    /// The log-likelihood.
    pub log_likelihood: f64,
}

impl CumulativeLogit {
    /// The standard errors of thresholds and effects, in this order.
    pub fn standard_errors(&self) -> Vec<f64> {
        (0..self.covariance.nrows())
            .map(|place| self.covariance[(place, place)].sqrt())
            .collect()
    }

    /// The chance of each class at these predictors.
    pub fn chances(&self, predictors: &[f64]) -> Vec<f64> {
        let linear: f64 = predictors
            .iter()
            .zip(&self.effects)
            .map(|(x, b)| x * b)
            .sum();
        (0..=self.thresholds.len())
            .map(|class| {
                let (lower, upper) = bounds(class, &self.thresholds, linear);
                piece(lower, upper).log.exp()
            })
            .collect()
    }
}

/// Fits thresholds and effects to scores.
///
/// # Errors
/// See [`OrdinalError`].
pub fn cumulative_logit(scores: &Scores) -> Result<CumulativeLogit, OrdinalError> {
    scores.check()?;
    let rise = |at: &[f64]| whole(scores, at);
    let (at, log_likelihood, information) = newton(scores.start(), &rise)?;
    let split = scores.class_count() - 1;
    if at.iter().any(|value| value.abs() > ENDLESS)
        && at[split..]
            .iter()
            .any(|effect| effect.abs() > ENDLESS / 2.0)
    {
        return Err(OrdinalError::Endless);
    }
    Ok(CumulativeLogit {
        thresholds: at[..split].to_vec(),
        effects: at[split..].to_vec(),
        covariance: invert(&information)?,
        log_likelihood,
    })
}

pub(super) fn invert(information: &Mat<f64>) -> Result<Mat<f64>, OrdinalError> {
    let size = information.nrows();
    let factor = information
        .llt(Side::Lower)
        .map_err(|_singular| OrdinalError::Endless)?;
    let inverse = factor.solve(&Mat::<f64>::identity(size, size));
    if (0..size).all(|place| inverse[(place, place)] < 1e8) {
        Ok(inverse)
    } else {
        Err(OrdinalError::Endless)
    }
}

/// A log-likelihood, its slopes, and its bends with the sign turned.
pub(super) type Height = (f64, Vec<f64>, Mat<f64>);

/// Climbs by Newton's steps, halved where they go too far and stiffened where the ground bends the wrong way.
pub(super) fn newton(
    mut at: Vec<f64>,
    height: &dyn Fn(&[f64]) -> Height,
) -> Result<(Vec<f64>, f64, Mat<f64>), OrdinalError> {
    let size = at.len();
    let (mut value, mut slopes, mut information) = height(&at);
    for _ in 0..STEPS {
        let right = Mat::from_fn(size, 1, |row, _| slopes[row]);
        let scale = (0..size)
            .map(|place| information[(place, place)].abs())
            .fold(1e-3, f64::max);
        let mut stiff = 0.0;
        let step = loop {
            let stiffened = Mat::from_fn(size, size, |row, column| {
                information[(row, column)] + if row == column { stiff } else { 0.0 }
            });
            if let Ok(factor) = stiffened.llt(Side::Lower) {
                break factor.solve(&right);
            }
            stiff = if stiff == 0.0 {
                scale * 1e-6
            } else {
                stiff * 10.0
            };
            if !stiff.is_finite() {
                return Err(OrdinalError::Endless);
            }
        };
        let gain: f64 = (0..size)
            .map(|place| step[(place, 0)] * slopes[place])
            .sum();
        let mut share = 1.0;
        let next = loop {
            let tried: Vec<f64> = at
                .iter()
                .enumerate()
                .map(|(place, value)| value + share * step[(place, 0)])
                .collect();
            let found = height(&tried);
            if found.0 >= value - 1e-12 * value.abs() {
                break Some((tried, found));
            }
            share /= 2.0;
            if share < 1e-10 {
                break None;
            }
        };
        let Some((tried, found)) = next else {
            return Ok((at, value, information));
        };
        at = tried;
        (value, slopes, information) = found;
        if gain.abs() < 1e-12 * value.abs().max(1.0) {
            return Ok((at, value, information));
        }
    }
    Err(OrdinalError::Endless)
}

/// The log-likelihood of all records with slopes and information.
fn whole(scores: &Scores, at: &[f64]) -> Height {
    let (size, split) = (scores.size(), scores.class_count() - 1);
    let (mut log, mut slopes) = (0.0, vec![0.0; size]);
    let mut information = Mat::<f64>::zeros(size, size);
    let mut rows = [vec![0.0; size], vec![0.0; size]];
    for record in 0..scores.records() {
        let weight = scores.weight(record);
        if weight == 0.0 {
            continue;
        }
        let class = scores.classes[record];
        let (lower, upper) = bounds(class, &at[..split], scores.linear(record, at));
        let piece = piece(lower, upper);
        log += weight * piece.log;
        for (which, row) in rows.iter_mut().enumerate() {
            row.fill(0.0);
            let threshold = if which == 0 {
                Some(class).filter(|&class| class < split)
            } else {
                class.checked_sub(1)
            };
            // An infinite bound has no slope.
            if let Some(threshold) = threshold {
                row[threshold] = 1.0;
                for column in 0..size - split {
                    row[split + column] = -scores.predictors[(record, column)];
                }
            }
        }
        let [upper, lower] = &rows;
        for row in 0..size {
            slopes[row] += weight * (piece.slopes[0] * upper[row] + piece.slopes[1] * lower[row]);
            for column in 0..size {
                information[(row, column)] -= weight
                    * (piece.bends[0] * upper[row] * upper[column]
                        + piece.bends[1] * lower[row] * lower[column]
                        + piece.bends[2]
                            * (upper[row] * lower[column] + lower[row] * upper[column]));
            }
        }
    }
    (log, slopes, information)
}

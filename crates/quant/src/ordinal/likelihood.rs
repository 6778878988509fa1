//! The likelihood of scores, with its slopes.

use super::OrdinalError;
use faer::Mat;

/// Scores in classes, with what may explain them.
#[derive(Clone, Debug, PartialEq)]
pub struct Scores {
    /// The class of each record, from 0, the lowest first.
    pub classes: Vec<usize>,
    /// Records × predictors, without a constant: the thresholds are that.
    pub predictors: Mat<f64>,
    /// How often each record was met; once each if empty.
    pub weights: Vec<f64>,
}

impl Scores {
    pub(super) fn records(&self) -> usize {
        self.classes.len()
    }

    pub(super) fn class_count(&self) -> usize {
        self.classes.iter().max().map_or(0, |&most| most + 1)
    }

    pub(super) fn weight(&self, record: usize) -> f64 {
        self.weights.get(record).copied().unwrap_or(1.0)
    }

    /// Thresholds and predictors.
    pub(super) fn size(&self) -> usize {
        self.class_count() - 1 + self.predictors.ncols()
    }

    pub(super) fn check(&self) -> Result<(), OrdinalError> {
        let records = self.records();
        let predictors = &self.predictors;
        let numbers = (0..predictors.nrows())
            .all(|row| (0..predictors.ncols()).all(|column| predictors[(row, column)].is_finite()));
        let weights = self
            .weights
            .iter()
            .all(|&weight| weight.is_finite() && weight >= 0.0);
        if predictors.nrows() != records
            || !(self.weights.is_empty() || self.weights.len() == records)
            || !numbers
            || !weights
        {
            return Err(OrdinalError::Figures);
        }
        if self.class_count() < 2 {
            return Err(OrdinalError::Empty(1));
        }
        for class in 0..self.class_count() {
            if !(0..records)
                .any(|record| self.classes[record] == class && self.weight(record) > 0.0)
            {
                return Err(OrdinalError::Empty(class));
            }
        }
        Ok(())
    }

    /// The thresholds that fit the classes alone, and no effects.
    pub(super) fn start(&self) -> Vec<f64> {
        let mut counts = vec![0.0; self.class_count()];
        for record in 0..self.records() {
            counts[self.classes[record]] += self.weight(record);
        }
        let all: f64 = counts.iter().sum();
        let mut below = 0.0;
        let mut at: Vec<f64> = counts[..counts.len() - 1]
            .iter()
            .map(|count| {
                below += count;
                (below / (all - below)).ln()
            })
            .collect();
        at.resize(self.size(), 0.0);
        at
    }

    /// x'b of a record.
    pub(super) fn linear(&self, record: usize, at: &[f64]) -> f64 {
        let effects = &at[self.class_count() - 1..self.size()];
        effects
            .iter()
            .enumerate()
            .map(|(column, effect)| effect * self.predictors[(record, column)])
            .sum()
    }
}

/// The logarithm of the chance of a class, its slopes on the upper and the lower bound, and its bends: upper, lower,
/// both.
pub(super) struct Piece {
    pub(super) log: f64,
    pub(super) slopes: [f64; 2],
    pub(super) bends: [f64; 3],
}

/// The logistic distribution between `lower` and `upper`, of which either may be infinite.
pub(super) fn piece(lower: f64, upper: f64) -> Piece {
    // Shares below and above each bound.
    let ([lower_below, lower_above], [upper_below, upper_above]) = (shares(lower), shares(upper));
    // Taken in the tail where it is small, so that no digits are lost.
    let chance = if lower > 0.0 {
        lower_above - upper_above
    } else {
        upper_below - lower_below
    };
    if chance.is_nan() || chance <= 0.0 {
        return Piece {
            log: f64::NEG_INFINITY,
            slopes: [0.0; 2],
            bends: [0.0; 3],
        };
    }
    let (at_lower, at_upper) = (lower_below * lower_above, upper_below * upper_above);
    let slopes = [at_upper / chance, -at_lower / chance];
    Piece {
        log: chance.ln(),
        slopes,
        bends: [
            slopes[0] * (upper_above - upper_below) - slopes[0] * slopes[0],
            slopes[1] * (lower_above - lower_below) - slopes[1] * slopes[1],
            -slopes[0] * slopes[1],
        ],
    }
}

/// The shares of the logistic distribution below and above a place, which may be infinite.
fn shares(place: f64) -> [f64; 2] {
    let small = (-place.abs()).exp();
    let (far, near) = (small / (1.0 + small), 1.0 / (1.0 + small));
    if place < 0.0 {
        [far, near]
    } else {
        [near, far]
    }
}

/// The bounds of a class around a linear predictor.
pub(super) fn bounds(class: usize, thresholds: &[f64], linear: f64) -> (f64, f64) {
    let lower = class
        .checked_sub(1)
        .map_or(f64::NEG_INFINITY, |below| thresholds[below]);
    let upper = thresholds.get(class).copied().unwrap_or(f64::INFINITY);
    (lower - linear, upper - linear)
}

//! Where a search may start from beside equal shares: likelihoods with correlations between neighbours, or with residual
//! variances that differ by group, can have more than one top.

use std::ops::ControlFlow;

use super::search::Search;
use super::{Components, Covariance, EvaluationError, Fit, Iteration};

/// Models of more records than this are searched once: their tops lie far enough apart, and a search takes long.
const MOST_RECORDS: usize = 1500;
/// So many groups of residuals are each tried small.
const MOST_PARTS: usize = 6;
/// The share of its usual start at which a residual is tried small.
const SMALL: f64 = 0.03;
/// Another top must be higher than this in minus two log likelihoods to be taken.
const HIGHER: f64 = 1e-6;
/// Correlations along the two directions, weak ones apart and strong ones alike.
const CORRELATIONS: [[f64; 2]; 5] = [
    [-0.5, -0.5],
    [-0.5, 0.5],
    [0.5, -0.5],
    [0.9, 0.9],
    [-0.9, -0.9],
];

impl Search<'_> {
    /// The highest top found from all starting points; of equal ones that of equal shares.
    pub(super) fn highest(
        &self,
        watch: &mut dyn FnMut(Iteration) -> ControlFlow<()>,
    ) -> Result<Fit, EvaluationError> {
        let mut best = self.run(watch);
        if matches!(best, Err(EvaluationError::Cancelled)) {
            return best;
        }
        for start in self.further_starts() {
            match self.run_from(start, watch) {
                Err(EvaluationError::Cancelled) => return Err(EvaluationError::Cancelled),
                // A start from which nothing can be solved, or nothing settles, says nothing of the others.
                Err(_) => {}
                Ok(fit) => {
                    let higher = best.as_ref().map_or(true, |best| {
                        fit.minus_two_log_likelihood() < best.minus_two_log_likelihood() - HIGHER
                    });
                    if higher {
                        best = Ok(fit);
                    }
                }
            }
        }
        best
    }

    fn further_starts(&self) -> Vec<Components> {
        let model = self.model();
        if model.observations().records() > MOST_RECORDS || model.traits() > 1 {
            return Vec::new();
        }
        let usual = self.start();
        let mut starts = Vec::new();
        for effect in 0..model.random().len() {
            let shapes = model.shape_parameters(effect);
            if shapes.is_empty() || shapes.iter().any(|shape| shape.lower >= 0.0) {
                continue;
            }
            for correlations in CORRELATIONS {
                let mut start = usual.clone();
                for (place, shape) in shapes.iter().enumerate() {
                    let wanted = correlations.get(place).copied().unwrap_or(shape.start);
                    start.shapes[effect][place] = wanted.clamp(shape.lower, shape.upper);
                }
                // Most of what varies is shared by neighbours, little is each plot's own.
                for residual in &mut start.residuals {
                    *residual = times(residual, SMALL);
                }
                starts.push(start);
            }
        }
        if (2..=MOST_PARTS).contains(&usual.residuals.len()) {
            for part in 0..usual.residuals.len() {
                let mut start = usual.clone();
                start.residuals[part] = times(&start.residuals[part], SMALL);
                starts.push(start);
            }
        }
        starts
    }
}

fn times(of: &Covariance, by: f64) -> Covariance {
    Covariance::variance(by * of.get(0, 0))
}

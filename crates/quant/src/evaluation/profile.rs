//! Intervals of variances and correlations by the profile of the likelihood.

use std::ops::ControlFlow;

use super::search::{FLOOR, Search};
use super::{Coordinate, EvaluationError, Fit, Model};
use crate::chance::normal::quantile;
use crate::proportion::Interval;

/// How closely the ends are found, as a share of their distance from the estimate.
const CLOSE: f64 = 1e-4;
const MOST_STEPS: usize = 60;

impl Model {
    /// The values of a variance or correlation that the data do not speak against: with all others estimated anew, the
    /// likelihood ratio to the best is within χ² of one degree of freedom at this level (Venzon & Moolgavkar 1988,
    /// Applied Statistics 37:87–94). A variance's interval ends at 0 where 0 is among them.
    ///
    /// # Errors
    /// A likelihood that can't be found on the way.
    pub fn profile_interval(
        &self,
        fit: &Fit,
        coordinate: Coordinate,
        level: f64,
    ) -> Result<Interval, EvaluationError> {
        let mut start = fit.components().clone();
        for component in 0..self.components() {
            for a in 0..self.traits() {
                let floor = FLOOR * self.fixed.residual_mean_square[a];
                let covariance = start.get_mut(component);
                covariance.set(a, a, covariance.get(a, a).max(floor));
            }
        }
        let (estimate, lowest, highest, reach) = match coordinate {
            Coordinate::Entry(p) => {
                let scale = self.fixed.residual_mean_square[p.a];
                let estimate = fit.components().get(p.component).get(p.a, p.b);
                let lowest = if p.a == p.b {
                    FLOOR * scale
                } else {
                    f64::NEG_INFINITY
                };
                (estimate, lowest, f64::INFINITY, 0.1 * scale)
            }
            Coordinate::Shape { component, index } => {
                let p = self.shape_parameters(component)[index];
                let estimate = fit.components().shapes[component][index];
                (estimate, p.lower, p.upper, 0.1 * (p.upper - p.lower))
            }
        };
        let error = match coordinate {
            Coordinate::Entry(p) => fit.standard_error(p.component, p.a, p.b),
            Coordinate::Shape { component, index } => fit.shape_standard_error(component, index),
        };
        let reach = error.unwrap_or(reach);
        let width = quantile(f64::midpoint(1.0, level));
        // How far beyond the level a value lies, on the scale of standard errors.
        let beyond = |value: f64| -> Result<f64, EvaluationError> {
            let search = Search::holding(self, coordinate, value);
            let held = search.run_from(start.clone(), &mut |_| ControlFlow::Continue(()))?;
            let rise = held.minus_two_log_likelihood() - fit.minus_two_log_likelihood();
            Ok(rise.max(0.0).sqrt() - width)
        };
        let end = |direction: f64, bound: f64| -> Result<f64, EvaluationError> {
            let (mut inside, mut at_inside) = (estimate, -width);
            let mut outside = estimate;
            let mut at_outside = -width;
            let mut step = reach;
            for _ in 0..MOST_STEPS {
                outside = (outside + direction * step).clamp(lowest, highest);
                at_outside = beyond(outside)?;
                if at_outside >= 0.0 || outside == bound {
                    break;
                }
                (inside, at_inside) = (outside, at_outside);
                step *= 2.0;
            }
            if at_outside < 0.0 {
                return Ok(bound);
            }
            // False position, halving the weight of an end that stays (the Illinois rule).
            let mut stayed = 0_i8;
            for _ in 0..MOST_STEPS {
                if (outside - inside).abs() <= CLOSE * (outside - estimate).abs() {
                    break;
                }
                let middle = outside - at_outside * (outside - inside) / (at_outside - at_inside);
                let at_middle = beyond(middle)?;
                if at_middle.abs() < CLOSE {
                    return Ok(middle);
                }
                if at_middle > 0.0 {
                    (outside, at_outside) = (middle, at_middle);
                    if stayed == 1 {
                        at_inside *= 0.5;
                    }
                    stayed = 1;
                } else {
                    (inside, at_inside) = (middle, at_middle);
                    if stayed == -1 {
                        at_outside *= 0.5;
                    }
                    stayed = -1;
                }
            }
            Ok(f64::midpoint(inside, outside))
        };
        let low = end(-1.0, lowest)?;
        let is_variance = matches!(coordinate, Coordinate::Entry(p) if p.a == p.b);
        Ok(Interval {
            low: if is_variance && low <= lowest {
                0.0
            } else {
                low
            },
            high: end(1.0, highest)?,
        })
    }
}

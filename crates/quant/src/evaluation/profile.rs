//! Intervals of variances and correlations by the profile of the likelihood.

use std::ops::ControlFlow;

use super::search::{FLOOR, Search, value};
use super::{Components, Coordinate, EvaluationError, Fit, Model};
use crate::chance::normal::quantile;

/// How closely the ends are found, as a share of their distance from the estimate.
const CLOSE: f64 = 1e-4;
const MOST_STEPS: usize = 60;
/// The least share of itself that a variance falls to in one step: near 0 the likelihood of a residual falls without end.
const SHRINKING: f64 = 0.3;
/// An end that lies so many times farther than the estimate and its error is none.
const FAR: f64 = 1e9;
/// Variances that a refit may start from are at least this share of the variance about the fixed effects.
const STARTING: f64 = 1e-3;

/// The interval of a variance or correlation, end by end.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfileInterval {
    /// The lower end; 0 for a variance that may be 0.
    pub low: Result<f64, NoEnd>,
    /// The upper end.
    pub high: Result<f64, NoEnd>,
}

/// Why an end wasn't found.
#[derive(Clone, Debug, PartialEq)]
pub enum NoEnd {
    /// There is none: values as large as this, and any beyond, fit about as well.
    Unbounded(f64),
    /// With this value held, the rest of the model can't be fitted.
    Unfit {
        /// The value.
        value: f64,
        /// Why not.
        why: EvaluationError,
    },
}

impl ProfileInterval {
    /// Whether a value lies in it; an end that wasn't found parts nothing off.
    pub fn contains(&self, value: f64) -> bool {
        let below = matches!(self.low, Ok(low) if value < low);
        let above = matches!(self.high, Ok(high) if value > high);
        !below && !above
    }
}

/// A fit with the coordinate held at a value.
#[derive(Clone, Debug)]
struct Held {
    value: f64,
    /// How far beyond the level it lies, on the scale of standard errors.
    beyond: f64,
    components: Components,
}

/// The search for the ends of one interval.
struct Profile<'a> {
    model: &'a Model,
    fit: &'a Fit,
    coordinate: Coordinate,
    /// The distance of the level in standard errors.
    width: f64,
    /// Of a variance: its values are positive, and it is stepped down by shares.
    is_variance: bool,
    lowest: f64,
    highest: f64,
    reach: f64,
}

impl Model {
    /// The values of a variance or correlation that the data do not speak against: with all others estimated anew, the
    /// likelihood ratio to the best is within χ² of one degree of freedom at this level (Venzon & Moolgavkar 1988,
    /// Applied Statistics 37:87–94). A variance's interval ends at 0 where 0 is among them.
    pub fn profile_interval(
        &self,
        fit: &Fit,
        coordinate: Coordinate,
        level: f64,
    ) -> ProfileInterval {
        let scale = &self.fixed.residual_mean_square;
        let estimate = value(fit.components(), coordinate);
        let (is_variance, lowest, highest, reach, error) = match coordinate {
            Coordinate::Entry(p) => {
                let is_variance = p.a == p.b;
                let lowest = if is_variance {
                    FLOOR * scale[p.a]
                } else {
                    f64::NEG_INFINITY
                };
                let error = fit.standard_error(p.component, p.a, p.b);
                (
                    is_variance,
                    lowest,
                    f64::INFINITY,
                    0.1 * scale[p.a].max(scale[p.b]),
                    error,
                )
            }
            Coordinate::Shape { component, index } => {
                let p = self.shape_parameters(component)[index];
                let error = fit.shape_standard_error(component, index);
                (false, p.lower, p.upper, 0.1 * (p.upper - p.lower), error)
            }
        };
        let profile = Profile {
            model: self,
            fit,
            coordinate,
            width: quantile(f64::midpoint(1.0, level)),
            is_variance,
            lowest,
            highest,
            reach: error.unwrap_or(reach),
        };
        let low = if is_variance && estimate <= lowest {
            Ok(lowest)
        } else {
            profile.end(estimate, -1.0)
        };
        ProfileInterval {
            low: low.map(|low| {
                if is_variance && low <= lowest {
                    0.0
                } else {
                    low
                }
            }),
            high: profile.end(estimate, 1.0),
        }
    }
}

impl Profile<'_> {
    /// The end in a direction: stepped to, then closed in on.
    fn end(&self, estimate: f64, direction: f64) -> Result<f64, NoEnd> {
        let bound = if direction < 0.0 {
            self.lowest
        } else {
            self.highest
        };
        let mut inside = Held {
            value: estimate,
            beyond: -self.width,
            components: self.fit.components().clone(),
        };
        let mut step = self.reach;
        let mut outside = None;
        for _ in 0..MOST_STEPS {
            let mut next = inside.value + direction * step;
            if self.is_variance && direction < 0.0 && !self.may_vanish() {
                next = next.max(SHRINKING * inside.value);
            }
            let next = next.clamp(self.lowest, self.highest);
            let held = self.held(next, &inside)?;
            if held.beyond >= 0.0 {
                outside = Some(held);
                break;
            }
            if next == bound {
                return Ok(bound);
            }
            inside = held;
            step *= 2.0;
            if step > FAR * (estimate.abs() + self.reach) {
                break;
            }
        }
        let Some(mut outside) = outside else {
            return if self.is_variance && direction < 0.0 {
                Ok(bound)
            } else {
                Err(NoEnd::Unbounded(inside.value))
            };
        };
        // False position, halving the weight of an end that stays (the Illinois rule).
        let (mut at_inside, mut at_outside) = (inside.beyond, outside.beyond);
        let mut stayed = 0_i8;
        for _ in 0..MOST_STEPS {
            let gap = outside.value - inside.value;
            if gap.abs() <= CLOSE * (outside.value - estimate).abs() {
                break;
            }
            let middle = outside.value - at_outside * gap / (at_outside - at_inside);
            let held = self.held(middle, &inside)?;
            if held.beyond.abs() < CLOSE {
                return Ok(middle);
            }
            if held.beyond > 0.0 {
                at_outside = held.beyond;
                outside = held;
                if stayed == 1 {
                    at_inside *= 0.5;
                }
                stayed = 1;
            } else {
                at_inside = held.beyond;
                inside = held;
                if stayed == -1 {
                    at_outside *= 0.5;
                }
                stayed = -1;
            }
        }
        Ok(f64::midpoint(inside.value, outside.value))
    }

    /// Whether a variance may be 0: a residual may not, or every record would be explained.
    fn may_vanish(&self) -> bool {
        self.coordinate.component() < self.model.random.len()
    }

    /// The model fitted anew with the coordinate at a value: from a fit beside it, else from other places.
    fn held(&self, value: f64, beside: &Held) -> Result<Held, NoEnd> {
        let search = Search::holding(self.model, self.coordinate, value);
        let best = self.fit.minus_two_log_likelihood();
        let mut why = None;
        for start in self.starts(value, beside) {
            match search.run_from(start, &mut |_| ControlFlow::Continue(())) {
                Ok(found) => {
                    let rise = found.minus_two_log_likelihood() - best;
                    return Ok(Held {
                        value,
                        beyond: rise.max(0.0).sqrt() - self.width,
                        components: found.components().clone(),
                    });
                }
                Err(error) => why = why.or(Some(error)),
            }
        }
        Err(NoEnd::Unfit {
            value,
            why: why.unwrap_or(EvaluationError::Singular),
        })
    }

    /// Where to start from: the fit beside, the same with the other variances taking up or giving way to what the held
    /// one changes by, the best fit, and equal shares.
    fn starts(&self, value: f64, beside: &Held) -> Vec<Components> {
        let lifted = |mut components: Components, share: f64| {
            for component in 0..self.model.components() {
                for (a, scale) in self.model.fixed.residual_mean_square.iter().enumerate() {
                    let covariance = components.get_mut(component);
                    covariance.set(a, a, covariance.get(a, a).max(share * scale));
                }
            }
            components
        };
        let near = lifted(beside.components.clone(), STARTING);
        let mut starts = vec![near.clone()];
        if let (Coordinate::Entry(p), true) = (self.coordinate, self.is_variance) {
            let mut scaled = near;
            let others: f64 = (0..self.model.components())
                .filter(|&k| k != p.component)
                .map(|k| scaled.get(k).get(p.a, p.a))
                .sum();
            let left = others - (value - beside.value);
            let times = (left / others).clamp(0.05, 20.0);
            for k in (0..self.model.components()).filter(|&k| k != p.component) {
                let mut covariance = super::Covariance::zeros(self.model.traits());
                covariance.add_scaled(times, scaled.get(k));
                *scaled.get_mut(k) = covariance;
            }
            starts.push(lifted(scaled, STARTING));
        }
        starts.push(lifted(self.fit.components().clone(), FLOOR));
        starts.push(lifted(self.fit.components().clone(), 0.1));
        starts.push(Search::new(self.model).start());
        starts
    }
}

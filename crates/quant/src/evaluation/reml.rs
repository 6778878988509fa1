//! Variances by restricted maximum likelihood.

use std::ops::ControlFlow;

use super::equations::pairs;
use super::search::{NEAR_FLOOR, Search};
use super::{Components, EvaluationError, Fit, Model, Role};

/// One number to estimate: a variance (`a == b`) or covariance of traits within a component.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parameter {
    /// The random effect, or the number of effects for the residual.
    pub component: usize,
    /// The trait.
    pub a: usize,
    /// The other trait, not after `a`.
    pub b: usize,
}

/// A direction of the search: an entry of a covariance matrix, or a parameter of a structure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coordinate {
    /// A variance or covariance.
    Entry(Parameter),
    /// A parameter of a component's correlations.
    Shape {
        /// The random effect, or the number of effects and the part of the residual.
        component: usize,
        /// Which of its parameters.
        index: usize,
    },
}

impl Coordinate {
    /// The component that it belongs to.
    pub fn component(self) -> usize {
        match self {
            Self::Entry(parameter) => parameter.component,
            Self::Shape { component, .. } => component,
        }
    }
}

/// Where an estimation stands.
#[derive(Clone, Copy, Debug)]
pub struct Iteration {
    /// Iterations made, from 1.
    pub number: usize,
    /// −2 times the restricted log-likelihood.
    pub minus_two_log_likelihood: f64,
}

impl Model {
    /// Estimates all variances and covariances.
    ///
    /// # Errors
    /// Records that can't support the model (the error names the simpler one), or iterations
    /// that don't settle. No number is returned from such a fit.
    pub fn estimate(&self) -> Result<Fit, EvaluationError> {
        self.estimate_watched(&mut |_| ControlFlow::Continue(()))
    }

    /// [`Self::estimate`], calling `watch` after each iteration; `Break` stops it.
    ///
    /// # Errors
    /// Also [`EvaluationError::Cancelled`] when `watch` says so.
    pub fn estimate_watched(
        &self,
        watch: &mut dyn FnMut(Iteration) -> ControlFlow<()>,
    ) -> Result<Fit, EvaluationError> {
        self.check_support()?;
        let fit = Search::new(self).highest(watch)?;
        let dropped: Vec<usize> = (0..self.random.len())
            .filter(|&k| self.at_floor(fit.components(), k, NEAR_FLOOR, f64::max))
            .collect();
        if dropped.is_empty() {
            return Ok(fit);
        }
        let simpler = self.with_effects(|k| !dropped.contains(&k))?;
        let fit = simpler.estimate_watched(watch)?;
        Ok(fit.with_effects_at_zero(self, &dropped))
    }

    /// What can be seen before any iteration.
    fn check_support(&self) -> Result<(), EvaluationError> {
        for of_trait in 0..self.traits() {
            let records = self.observations.count(of_trait);
            let fixed = self.fixed.rank(of_trait);
            let variances = self.random.len() + 1;
            if records <= fixed + self.random.len() {
                return Err(EvaluationError::TooFewRecords {
                    of_trait,
                    records,
                    fixed,
                    variances,
                });
            }
            // What is left has to exceed the rounding of the sums it comes from, and that of the numbers themselves.
            let (spread, largest) = self.observations.spread(of_trait);
            let left = self.fixed.residual_mean_square[of_trait];
            if left <= 1e-14 * spread || left <= (4.0 * f64::EPSILON * largest).powi(2) {
                return Err(EvaluationError::NoVariation { of_trait });
            }
            for (effect, model) in self.random.iter().enumerate() {
                if !model.relationship.is_independent() {
                    continue;
                }
                let mut count = vec![0_usize; model.relationship.levels()];
                for (record, level) in model.level.iter().enumerate() {
                    if let (Some(level), Some(_)) = (level, self.observations.get(record, of_trait))
                    {
                        count[*level] += 1;
                    }
                }
                if count.iter().all(|&count| count < 2) {
                    return Err(EvaluationError::NotReplicated {
                        role: model.role,
                        effect,
                    });
                }
            }
        }
        Ok(())
    }

    /// Whether the smallest (or, by `pick`, largest) variance of a component is at its floor.
    fn at_floor(
        &self,
        components: &Components,
        component: usize,
        share: f64,
        pick: fn(f64, f64) -> f64,
    ) -> bool {
        let covariance = components.get(component);
        let shares =
            (0..self.traits()).map(|a| covariance.get(a, a) / self.fixed.residual_mean_square[a]);
        shares.reduce(pick).is_some_and(|found| found < share)
    }

    pub(super) fn parameters(&self) -> Vec<Coordinate> {
        let entries = (0..self.components())
            .flat_map(|component| {
                pairs(self.traits()).map(move |(a, b)| Parameter { component, a, b })
            })
            .filter(|p| self.informs(p.component, p.a, p.b))
            .map(Coordinate::Entry);
        let shapes = (0..self.components()).flat_map(|component| {
            let count = self.shape_parameters(component).len();
            (0..count).map(move |index| Coordinate::Shape { component, index })
        });
        entries.chain(shapes).collect()
    }

    pub(super) fn role(&self, component: usize) -> Option<Role> {
        self.random.get(component).map(|effect| effect.role)
    }
}

/// The order in which effects are given up for a simpler model.
pub(super) fn dispensable(role: Role) -> u8 {
    match role {
        Role::Additive => 0,
        Role::Clonal => 1,
        Role::Permanent => 2,
        Role::Other => 3,
    }
}

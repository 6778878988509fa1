//! Sums of effects: adjusted means, differences, and their whole covariance.

use faer::Mat;

use super::equations::Equations;
use super::solved::Solved;
use super::{Components, Estimate, EvaluationError, Model};

/// A sum of effects with weights on one trait: a mean of an entry over blocks, a difference of two clones.
///
/// A covariate is a single level, 0; where the model has a factor it counts from its mean, so that a combination
/// without it is taken at the mean.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Combination {
    fixed: Vec<(usize, usize, f64)>,
    random: Vec<(usize, usize, f64)>,
}

impl Combination {
    /// Nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds `weight` times the effect of a level of a fixed effect.
    #[must_use]
    pub fn with_fixed(mut self, effect: usize, level: usize, weight: f64) -> Self {
        self.fixed.push((effect, level, weight));
        self
    }

    /// Adds `weight` times the effect of a level of a random effect.
    #[must_use]
    pub fn with_random(mut self, effect: usize, level: usize, weight: f64) -> Self {
        self.random.push((effect, level, weight));
        self
    }
}

impl Combination {
    /// In a model of only these random effects, in their order.
    pub(super) fn renumbered(&self, kept: &[usize]) -> Self {
        let random = self.random.iter().filter_map(|&(effect, level, weight)| {
            let place = kept.binary_search(&effect).ok()?;
            Some((place, level, weight))
        });
        Self {
            fixed: self.fixed.clone(),
            random: random.collect(),
        }
    }

    /// The same with the level of each fixed effect renumbered, by effect and level.
    pub(crate) fn with_fixed_renumbered(self, level_of: impl Fn(usize, usize) -> usize) -> Self {
        let moved = |(effect, level, weight)| (effect, level_of(effect, level), weight);
        Self {
            fixed: self.fixed.into_iter().map(moved).collect(),
            random: self.random,
        }
    }

    /// Whether a random effect is part of it.
    pub(super) fn has_random(&self) -> bool {
        self.random.iter().any(|&(_, _, weight)| weight != 0.0)
    }

    /// This minus another.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        let turned = |&(effect, level, weight): &(usize, usize, f64)| (effect, level, -weight);
        let mut difference = self.clone();
        difference.fixed.extend(other.fixed.iter().map(turned));
        difference.random.extend(other.random.iter().map(turned));
        difference
    }
}

/// Combinations with the covariances of their errors: of the estimate for fixed parts, of the departure from the true
/// value for random ones.
#[derive(Clone, Debug)]
pub struct Combined {
    values: Vec<f64>,
    covariance: Mat<f64>,
}

impl Combined {
    /// All of them larger by an amount.
    #[must_use]
    pub fn shifted(mut self, by: f64) -> Self {
        self.values.iter_mut().for_each(|value| *value += by);
        self
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// One of them.
    pub fn estimate(&self, nth: usize) -> Estimate {
        Estimate {
            value: self.values[nth],
            standard_error: self.covariance[(nth, nth)].max(0.0).sqrt(),
        }
    }

    /// The covariance of the errors of two.
    pub fn covariance(&self, one: usize, other: usize) -> f64 {
        self.covariance[(one, other)]
    }

    /// The first minus the second.
    pub fn difference(&self, one: usize, other: usize) -> Estimate {
        Estimate {
            value: self.values[one] - self.values[other],
            standard_error: self.variance_of_difference(one, other).sqrt(),
        }
    }

    /// The variance of the error of the first minus the second.
    pub fn variance_of_difference(&self, one: usize, other: usize) -> f64 {
        let own = self.covariance[(one, one)] + self.covariance[(other, other)];
        (own - 2.0 * self.covariance[(one, other)]).max(0.0)
    }

    /// The mean of [`Self::variance_of_difference`] over all pairs; `None` below two.
    pub fn mean_variance_of_difference(&self) -> Option<f64> {
        let count = self.len();
        let pairs = count * count.saturating_sub(1) / 2;
        let sum: f64 = (0..count)
            .flat_map(|one| (0..one).map(move |other| (one, other)))
            .map(|(one, other)| self.variance_of_difference(one, other))
            .sum();
        (pairs > 0).then(|| sum / pairs as f64)
    }
}

impl Model {
    /// Whether the records can estimate a combination: whether its fixed part means the same however the columns that
    /// depend on others are left out.
    ///
    /// Entries that never meet, by way of blocks or otherwise, can't be compared; levels without records have no mean.
    pub fn is_estimable(&self, combination: &Combination, of_trait: usize) -> bool {
        let mut weights = vec![0.0; self.fixed.columns()];
        for &(effect, level, weight) in &combination.fixed {
            weights[self.fixed.first_column[effect] + level] += weight;
        }
        let scale: f64 = weights.iter().map(|weight: &f64| weight.abs()).sum();
        self.fixed.dependent[of_trait].iter().all(|dependent| {
            let through: f64 = dependent
                .on
                .iter()
                .map(|&(column, times)| weights[column] * times)
                .sum();
            (weights[dependent.column] - through).abs() <= 1e-7 * scale.max(1.0)
        })
    }

    /// Estimates combinations of a trait's effects together, at known variances.
    ///
    /// # Errors
    /// Variances that don't fit the model.
    pub fn combine(
        &self,
        components: &Components,
        of_trait: usize,
        combinations: &[Combination],
    ) -> Result<Combined, EvaluationError> {
        self.check_components(components)?;
        let varying: Vec<usize> = (0..self.random.len())
            .filter(|&k| !components.effects[k].is_zero())
            .collect();
        if varying.len() < self.random.len() {
            // An effect that does not vary is zero for certain.
            let renumbered = combinations.iter().map(|one| one.renumbered(&varying));
            let part = components.restricted(|k| varying.contains(&k));
            let simpler = self.with_effects(|k| varying.contains(&k))?;
            return simpler.combine(&part, of_trait, &renumbered.collect::<Vec<_>>());
        }
        let solved = Solved::new(self, components.clone())?;
        let sums: Vec<Vec<(usize, f64)>> = combinations
            .iter()
            .map(|combination| self.unknowns_of(&self.equations, combination, of_trait))
            .collect();
        let size = self.equations.size;
        let mut right = vec![0.0; size * sums.len()];
        for (column, sum) in right.chunks_exact_mut(size).zip(&sums) {
            for &(unknown, weight) in sum {
                column[unknown] += weight;
            }
        }
        solved.solve_in_place(&mut right);
        let through = |sum: &[(usize, f64)], values: &[f64]| -> f64 {
            sum.iter().map(|&(unknown, w)| w * values[unknown]).sum()
        };
        let columns: Vec<&[f64]> = right.chunks_exact(size).collect();
        Ok(Combined {
            values: sums
                .iter()
                .map(|sum| through(sum, &solved.unknowns))
                .collect(),
            covariance: Mat::from_fn(sums.len(), sums.len(), |i, j| {
                through(&sums[i.max(j)], columns[i.min(j)])
            }),
        })
    }

    pub(super) fn unknowns_of(
        &self,
        equations: &Equations,
        combination: &Combination,
        of_trait: usize,
    ) -> Vec<(usize, f64)> {
        let fixed = combination
            .fixed
            .iter()
            .filter_map(|&(effect, level, weight)| {
                let column = self.fixed.first_column[effect] + level;
                Some((equations.fixed(of_trait, column)?, weight))
            });
        let random = combination
            .random
            .iter()
            .flat_map(|&(effect, level, weight)| {
                let relationship = &self.random[effect].relationship;
                let terms = equations.terms(effect, relationship, level, of_trait);
                terms.map(move |(unknown, times)| (unknown, weight * times))
            });
        fixed.chain(random).collect()
    }
}

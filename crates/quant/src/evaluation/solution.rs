//! Estimates of fixed effects and predictions of random ones.

use super::solved::Solved;
use super::structure::ShapeParameter;
use super::{Components, EvaluationError, Model};

/// An estimate and its standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The estimate.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// The prediction of a random effect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prediction {
    /// The predicted value, as a departure from the mean of the base population.
    pub value: f64,
    /// The prediction error variance: of the difference from the true value.
    pub error_variance: f64,
    /// The variance before any record was seen, such as `a_ii · σ²_a`.
    pub prior_variance: f64,
}

impl Prediction {
    const NOTHING: Self = Self {
        value: 0.0,
        error_variance: 0.0,
        prior_variance: 0.0,
    };

    /// The squared correlation of predicted and true value: 1 − PEV / prior variance.
    ///
    /// Zero where nothing varies.
    pub fn reliability(&self) -> f64 {
        if self.prior_variance > 0.0 {
            (1.0 - self.error_variance / self.prior_variance).clamp(0.0, 1.0)
        } else {
            0.0
        }
    }

    /// The correlation of predicted and true value.
    pub fn accuracy(&self) -> f64 {
        self.reliability().sqrt()
    }

    /// The standard error of prediction.
    pub fn standard_error(&self) -> f64 {
        self.error_variance.sqrt()
    }
}

/// Best linear unbiased estimates and predictions at given variances.
#[derive(Clone, Debug)]
pub struct Solution {
    traits: usize,
    fixed: Vec<Vec<Option<Estimate>>>,
    random: Vec<Vec<Prediction>>,
    genetic: Vec<Prediction>,
    minus_two_log_likelihood: f64,
    quadratic: f64,
    degrees: f64,
}

impl Solution {
    /// The effect of a level of a factor (level 0 for a covariate's slope) on a trait.
    ///
    /// `None` when the records can't estimate it beside the others: it then counts as zero, as
    /// the reference for its factor or because it has no records.
    pub fn fixed(&self, effect: usize, level: usize, of_trait: usize) -> Option<Estimate> {
        self.fixed[effect][level * self.traits + of_trait]
    }

    /// The prediction for a level of a random effect.
    pub fn random(&self, effect: usize, level: usize, of_trait: usize) -> Prediction {
        self.random[effect][level * self.traits + of_trait]
    }

    /// The whole genetic value of a clone: the sum of the effects that are genetic, which must
    /// share their levels; its error variance counts the errors they share.
    ///
    /// `None` when the model has no genetic effect or they don't share their levels.
    pub fn genetic(&self, level: usize, of_trait: usize) -> Option<Prediction> {
        self.genetic.get(level * self.traits + of_trait).copied()
    }

    /// −2 times the restricted log-likelihood at these variances, with all its constants.
    pub fn minus_two_log_likelihood(&self) -> f64 {
        self.minus_two_log_likelihood
    }

    /// What these variances would be multiplied by to fit best, all alike, and its degrees of freedom: `y′Py` over the
    /// records that the fixed effects leave.
    pub fn best_scale(&self) -> (f64, f64) {
        (self.quadratic / self.degrees, self.degrees)
    }

    /// −2 times the logarithm of the likelihood, but for a constant, with the size of all variances together integrated
    /// out and only their shares held. What isn't known of the size counts as 1 over it, as Jeffreys has it; then the
    /// restricted likelihood of shares is `|…|^−½ (y′Py)^(−ν/2)` (Box & Tiao 1973, *Bayesian Inference in Statistical
    /// Analysis*, chapter 8).
    pub fn minus_two_log_likelihood_of_shares(&self) -> f64 {
        self.minus_two_log_likelihood - self.quadratic + self.degrees * self.quadratic.ln()
    }
}

impl Model {
    /// Solves the equations at known variances, with the error variance of every estimate.
    ///
    /// An effect with no variance at all is left out and predicted as zero.
    ///
    /// # Errors
    /// Variances that don't fit the model or are not positive definite.
    pub fn solve(&self, components: &Components) -> Result<Solution, EvaluationError> {
        self.check_components(components)?;
        let varies = |k: usize| !components.effects[k].is_zero();
        if (0..self.random.len()).all(varies) {
            return Ok(self.describe(&Solved::new(self, components.clone())?));
        }
        let part = components.restricted(varies);
        let mut solution = self.with_effects(varies)?.solve(&part)?;
        let mut solved = std::mem::take(&mut solution.random).into_iter();
        for (k, effect) in self.random.iter().enumerate() {
            let nothing =
                || vec![Prediction::NOTHING; effect.relationship.levels() * self.traits()];
            let predictions = if varies(k) { solved.next() } else { None };
            solution.random.push(predictions.unwrap_or_else(nothing));
        }
        Ok(solution)
    }

    pub(super) fn check_components(&self, components: &Components) -> Result<(), EvaluationError> {
        let fault = |effect, reason| Err(EvaluationError::Variances { effect, reason });
        if components.effects.len() != self.random.len() {
            return fault(
                None,
                "comes with another number of random effects than the model has",
            );
        }
        if components.residuals.len() != self.residual.parts.len() {
            return fault(None, "is not given for each environment");
        }
        if components.shapes.len() != self.components() {
            return fault(None, "comes without the parameters of each structure");
        }
        for component in 0..self.components() {
            let shape = &components.shapes[component];
            let parameters = self.shape_parameters(component);
            let inside = |(value, p): (&f64, &ShapeParameter)| (p.lower..=p.upper).contains(value);
            if shape.len() != parameters.len() || !shape.iter().zip(parameters).all(inside) {
                let effect = (component < self.random.len()).then_some(component);
                return fault(effect, "has correlations outside their bounds");
            }
            let effect = (component < self.random.len()).then_some(component);
            let covariance = components.get(component);
            if covariance.order() != self.traits() {
                return fault(effect, "is not given for each trait");
            }
            let may_be_zero = effect.is_some() && covariance.is_zero();
            if !may_be_zero && covariance.inverse().is_none() {
                return fault(
                    effect,
                    "is not positive (as a matrix: not positive definite)",
                );
            }
        }
        Ok(())
    }

    fn describe(&self, solved: &Solved<'_>) -> Solution {
        let traits = self.traits();
        let inverse = solved.selected_inverse();
        let estimate = |unknown: usize| {
            let own = || std::iter::once((unknown, 1.0));
            Estimate {
                value: solved.unknowns[unknown],
                standard_error: inverse.bilinear(own, own).sqrt(),
            }
        };
        let fixed = self.fixed.first_column.windows(2).map(|ends| {
            let columns = (ends[0]..ends[1]).flat_map(|c| (0..traits).map(move |a| (a, c)));
            columns
                .map(|(a, c)| self.equations.fixed(a, c).map(estimate))
                .collect()
        });
        let random = self.random.iter().enumerate().map(|(k, effect)| {
            let variance = &solved.components.effects[k];
            let levels = effect.relationship.diagonal().iter().enumerate();
            let places = levels.flat_map(|(level, &own)| (0..traits).map(move |a| (level, own, a)));
            let predict = |(level, own, a): (usize, f64, usize)| {
                let terms = || self.equations.terms(k, &effect.relationship, level, a);
                Prediction {
                    value: terms()
                        .map(|(unknown, weight)| weight * solved.unknowns[unknown])
                        .sum(),
                    error_variance: inverse.bilinear(terms, terms),
                    prior_variance: own * variance.get(a, a),
                }
            };
            places.map(predict).collect()
        });
        let random: Vec<Vec<Prediction>> = random.collect();
        Solution {
            traits,
            fixed: fixed.collect(),
            genetic: self.genetic_values(&random, &inverse),
            random,
            minus_two_log_likelihood: solved.minus_two_log_likelihood,
            quadratic: solved.quadratic(&self.equations.values),
            degrees: self.degrees(),
        }
    }

    fn genetic_values(
        &self,
        random: &[Vec<Prediction>],
        inverse: &super::selected::SelectedInverse<'_>,
    ) -> Vec<Prediction> {
        let parts: Vec<usize> = (0..self.random.len())
            .filter(|&k| self.random[k].role.is_genetic())
            .collect();
        let Some((&first, others)) = parts.split_first() else {
            return Vec::new();
        };
        let alike = |&k: &usize| random[k].len() == random[first].len();
        if !others.iter().all(alike) {
            return Vec::new();
        }
        (0..random[first].len())
            .map(|place| {
                let (level, a) = (place / self.traits(), place % self.traits());
                let mut sum = Prediction::NOTHING;
                for (n, &k) in parts.iter().enumerate() {
                    let part = random[k][place];
                    sum.value += part.value;
                    sum.prior_variance += part.prior_variance;
                    sum.error_variance += part.error_variance;
                    let terms = |k: usize| {
                        self.equations
                            .terms(k, &self.random[k].relationship, level, a)
                    };
                    for &other in &parts[..n] {
                        sum.error_variance += 2.0 * inverse.bilinear(|| terms(k), || terms(other));
                    }
                }
                sum
            })
            .collect()
    }
}

impl Model {
    /// The effective dimension of a random effect of one trait: how many of its levels' worth the records tell, 0 where
    /// it does not vary.
    ///
    /// # Errors
    /// Variances that don't fit the model.
    pub fn effective_dimension(
        &self,
        components: &Components,
        effect: usize,
    ) -> Result<f64, EvaluationError> {
        self.check_components(components)?;
        if components.effects[effect].is_zero() {
            return Ok(0.0);
        }
        let varies = |k: usize| !components.effects[k].is_zero();
        if (0..self.random.len()).all(varies) {
            return Ok(Solved::new(self, components.clone())?.effective_dimension(effect));
        }
        let place = (0..effect).filter(|&k| varies(k)).count();
        self.with_effects(varies)?
            .effective_dimension(&components.restricted(varies), place)
    }

    /// What the fixed and random effects leave of each record of one trait; `None` without an observation.
    ///
    /// # Errors
    /// Variances that don't fit the model.
    pub fn residuals(&self, components: &Components) -> Result<Vec<Option<f64>>, EvaluationError> {
        self.check_components(components)?;
        let varies = |k: usize| !components.effects[k].is_zero();
        if (0..self.random.len()).all(varies) {
            return Ok(Solved::new(self, components.clone())?.residuals());
        }
        self.with_effects(varies)?
            .residuals(&components.restricted(varies))
    }
}

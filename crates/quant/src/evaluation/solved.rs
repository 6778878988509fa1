//! The equations solved at one set of variances, and the slope of the likelihood there.

use std::f64::consts::TAU;

use faer::Mat;

use super::equations::{Part, pairs};
use super::factor::Factor;
use super::selected::SelectedInverse;
use super::{Components, Covariance, EvaluationError, Model, Parameter};

/// Variances, the solution they give, and its restricted likelihood.
#[derive(Debug)]
pub(super) struct Solved<'m> {
    model: &'m Model,
    pub(super) components: Components,
    /// `G_k⁻¹` by effect.
    effect_inverse: Vec<Covariance>,
    /// R⁻¹ by pattern of recorded traits.
    residual_inverse: Vec<Covariance>,
    factor: Factor<'m>,
    /// Random effects and fixed effects, numbered as in the equations.
    pub(super) unknowns: Vec<f64>,
    /// y − Xb − Zu by observation.
    residual: Vec<f64>,
    /// P y = R⁻¹ times the residual, by observation.
    projected: Vec<f64>,
    /// −2 ln L, restricted, with all its constants.
    pub(super) minus_two_log_likelihood: f64,
}

impl<'m> Solved<'m> {
    /// Solves for the model's own observations.
    pub(super) fn new(model: &'m Model, components: Components) -> Result<Self, EvaluationError> {
        Self::with_values(model, components, &model.equations.values)
    }

    /// Solves for other values in the same places.
    pub(super) fn with_values(
        model: &'m Model,
        components: Components,
        values: &[f64],
    ) -> Result<Self, EvaluationError> {
        let equations = &model.equations;
        let mut log_determinants = 0.0;

        let mut effect_inverse = Vec::with_capacity(model.random.len());
        for (effect, covariance) in model.random.iter().zip(&components.effects) {
            let (inverse, log_determinant) =
                covariance.inverse().ok_or(EvaluationError::Singular)?;
            log_determinants += effect.relationship.equations() as f64 * log_determinant
                + model.traits() as f64 * effect.relationship.log_determinant();
            effect_inverse.push(inverse);
        }
        let mut residual_inverse = Vec::with_capacity(equations.patterns.len());
        let mut log_determinant_of_pattern = Vec::with_capacity(equations.patterns.len());
        for recorded in &equations.patterns {
            let (inverse, log_determinant) = components
                .residual
                .restricted(recorded)
                .inverse()
                .ok_or(EvaluationError::Singular)?;
            residual_inverse.push(inverse);
            log_determinant_of_pattern.push(log_determinant);
        }
        log_determinants += equations
            .rows
            .iter()
            .map(|row| log_determinant_of_pattern[row.pattern])
            .sum::<f64>();

        let coefficients = equations.fill(|part| match part {
            Part::Residual { pattern, a, b } => residual_inverse[pattern].get(a, b),
            Part::Effect { effect, a, b } => effect_inverse[effect].get(a, b),
        });
        let factor = model.elimination.factorize(&coefficients)?;
        let mut unknowns = equations.gathered(&equations.weighted(&residual_inverse, values));
        factor.solve_in_place(&mut unknowns);
        let fitted = equations.fitted(&unknowns);
        let residual: Vec<f64> = values
            .iter()
            .zip(&fitted)
            .map(|(value, fit)| value - fit)
            .collect();
        let projected = equations.weighted(&residual_inverse, &residual);

        let rank: usize = (0..model.traits()).map(|a| model.fixed.rank(a)).sum();
        let free = (equations.values.len() - rank) as f64;
        let minus_two_log_likelihood =
            free * TAU.ln() + log_determinants + factor.log_determinant() + dot(values, &projected);
        if !minus_two_log_likelihood.is_finite() {
            return Err(EvaluationError::Singular);
        }
        Ok(Self {
            model,
            components,
            effect_inverse,
            residual_inverse,
            factor,
            unknowns,
            residual,
            projected,
            minus_two_log_likelihood,
        })
    }

    /// Replaces columns of right-hand sides by C⁻¹ times each.
    pub(super) fn solve_in_place(&self, right: &mut [f64]) {
        self.factor.solve_in_place(right);
    }

    pub(super) fn selected_inverse(&self) -> SelectedInverse<'m> {
        SelectedInverse::new(&self.factor, &self.model.places)
    }

    /// The slope of ln L for each covariance matrix, effects first, then the residual: S such
    /// that a small change D of the matrix changes ln L by tr(S D).
    ///
    /// For an effect with q levels, S = ½ (G⁻¹ M G⁻¹ − q G⁻¹) where M holds `û_a′K⁻¹û_b +
    /// tr(K⁻¹ C^ab)`; for the residual likewise with the residuals, pattern by pattern (Johnson &
    /// Thompson 1995, Journal of Dairy Science 78:449–456; Jensen et al. 1997, Journal of the
    /// Indian Society of Agricultural Statistics 49:215–236).
    pub(super) fn gradient(&self) -> Vec<Covariance> {
        let (model, equations) = (self.model, &self.model.equations);
        let inverse = self.selected_inverse();
        let mut effect_moments = vec![Covariance::zeros(model.traits()); model.random.len()];
        let mut residual_moments: Vec<Covariance> = equations
            .patterns
            .iter()
            .map(|recorded| Covariance::zeros(recorded.len()))
            .collect();
        for template in &equations.templates {
            // A template off the diagonal holds its matrix and the transpose.
            let share = |a, b| if a == b { 1.0 } else { 0.5 };
            let trace = equations.trace(template, &inverse);
            match template.part {
                Part::Residual { pattern, a, b } => {
                    residual_moments[pattern].set(a, b, share(a, b) * trace);
                }
                Part::Effect { effect, a, b } => {
                    let square = equations.quadratic(template, &self.unknowns);
                    effect_moments[effect].set(a, b, share(a, b) * (trace + square));
                }
            }
        }
        let mut rows_of_pattern = vec![0; equations.patterns.len()];
        for row in &equations.rows {
            rows_of_pattern[row.pattern] += 1;
            let moments = &mut residual_moments[row.pattern];
            for (a, b) in pairs(moments.order()) {
                let product = self.residual[row.first + a] * self.residual[row.first + b];
                moments.set(a, b, moments.get(a, b) + product);
            }
        }
        let slope = |inverse: &Covariance, moments: &Covariance, count: usize| {
            let mut slope = inverse.sandwich(moments);
            slope.add_scaled(-(count as f64), inverse);
            slope
        };
        let mut slopes = Vec::with_capacity(model.random.len() + 1);
        for (k, effect) in model.random.iter().enumerate() {
            let whole = slope(
                &self.effect_inverse[k],
                &effect_moments[k],
                effect.relationship.equations(),
            );
            let mut half = Covariance::zeros(model.traits());
            half.add_scaled(0.5, &whole);
            slopes.push(half);
        }
        let mut residual_slope = Covariance::zeros(model.traits());
        for (pattern, recorded) in equations.patterns.iter().enumerate() {
            let part = slope(
                &self.residual_inverse[pattern],
                &residual_moments[pattern],
                rows_of_pattern[pattern],
            );
            for (a, b) in pairs(recorded.len()) {
                let (i, j) = (recorded[a], recorded[b]);
                residual_slope.set(i, j, residual_slope.get(i, j) + 0.5 * part.get(a, b));
            }
        }
        slopes.push(residual_slope);
        slopes
    }

    /// The average of observed and expected information about the `parameters`, row by row:
    /// `½ f_i′ P f_j` with `f_i = (∂V/∂θ_i) P y` (Gilmour, Thompson & Cullis 1995, Biometrics
    /// 51:1440–1450).
    pub(super) fn average_information(&self, parameters: &[Parameter]) -> Mat<f64> {
        let equations = &self.model.equations;
        let working: Vec<Vec<f64>> = parameters
            .iter()
            .map(|&p| self.working_variate(p))
            .collect();
        let weighted: Vec<Vec<f64>> = working
            .iter()
            .map(|f| equations.weighted(&self.residual_inverse, f))
            .collect();
        let gathered: Vec<Vec<f64>> = weighted.iter().map(|v| equations.gathered(v)).collect();
        let mut solved = gathered.concat();
        self.factor.solve_in_place(&mut solved);
        let solved: Vec<&[f64]> = solved.chunks_exact(equations.size).collect();
        Mat::from_fn(parameters.len(), parameters.len(), |i, j| {
            let (i, j) = (i.max(j), i.min(j));
            0.5 * (dot(&working[i], &weighted[j]) - dot(&gathered[i], solved[j]))
        })
    }

    /// (∂V/∂θ) P y by observation.
    fn working_variate(&self, parameter: Parameter) -> Vec<f64> {
        let (model, equations) = (self.model, &self.model.equations);
        let Parameter { component, a, b } = parameter;
        let mut working = vec![0.0; equations.values.len()];
        for row in &equations.rows {
            let recorded = &equations.patterns[row.pattern];
            let place = |of_trait| recorded.iter().position(|&t| t == of_trait);
            // K cancels: (E ⊗ K) Z′P y = (E G⁻¹ ⊗ I) û.
            let scaled = |of_trait: usize| {
                if component == model.random.len() {
                    return place(of_trait).map_or(0.0, |n| self.projected[row.first + n]);
                }
                let Some(level) = model.random[component].level[row.record] else {
                    return 0.0;
                };
                let inverse = &self.effect_inverse[component];
                let relationship = &model.random[component].relationship;
                let value = |t| {
                    let terms = equations.terms(component, relationship, level, t);
                    terms
                        .map(|(unknown, weight)| weight * self.unknowns[unknown])
                        .sum::<f64>()
                };
                (0..model.traits())
                    .map(|t| inverse.get(of_trait, t) * value(t))
                    .sum()
            };
            if let Some(n) = place(a) {
                working[row.first + n] += scaled(b);
            }
            if a != b
                && let Some(n) = place(b)
            {
                working[row.first + n] += scaled(a);
            }
        }
        working
    }
}

fn dot(left: &[f64], right: &[f64]) -> f64 {
    left.iter().zip(right).map(|(x, y)| x * y).sum()
}

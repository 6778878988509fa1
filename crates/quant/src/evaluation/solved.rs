//! The equations solved at one set of variances, and the slope of the likelihood there.

use std::f64::consts::TAU;

use faer::Mat;

use super::equations::{Part, ResidualInverse, pairs};
use super::factor::Factor;
use super::reml::Coordinate;
use super::selected::SelectedInverse;
use super::{Components, Covariance, EvaluationError, Model, Parameter};

/// Variances, the solution they give, and its restricted likelihood.
#[derive(Debug)]
pub(super) struct Solved<'m> {
    pub(super) model: &'m Model,
    pub(super) components: Components,
    /// `G_k⁻¹` by effect.
    effect_inverse: Vec<Covariance>,
    residual_inverse: ResidualInverse,
    /// By component: the coefficients of the pieces of its correlations.
    pub(super) coefficients: Vec<Vec<f64>>,
    /// By component: the factor of its inverse correlations, where they have parameters.
    structures: Vec<Option<Factor<'m>>>,
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

impl Model {
    /// The observations that the fixed effects leave.
    pub(super) fn degrees(&self) -> f64 {
        let rank: usize = (0..self.traits()).map(|a| self.fixed.rank(a)).sum();
        (self.equations.values.len() - rank - self.equations.empty_places) as f64
    }
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
        let mut coefficients = Vec::with_capacity(model.components());
        let mut structures = Vec::with_capacity(model.components());
        for (component, shape) in components.shapes.iter().enumerate() {
            let structure = model.shape(component);
            coefficients.push(structure.map_or_else(|| vec![1.0], |s| s.coefficients(shape)));
            let factor = structure.map(|s| s.factorize(shape)).transpose()?;
            // The factor is that of K⁻¹.
            log_determinants -= factor.as_ref().map_or(0.0, |factor| {
                model.traits() as f64 * factor.log_determinant()
            });
            structures.push(factor);
        }

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
        for pattern in &equations.patterns {
            let (inverse, log_determinant) = components.residuals[pattern.part]
                .restricted(&pattern.traits)
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

        let first_part = model.random.len();
        let residual_inverse = ResidualInverse {
            matrices: residual_inverse,
            coefficients: coefficients[first_part..].to_vec(),
        };
        let filled = equations.fill(|part| match part {
            Part::Residual {
                pattern,
                a,
                b,
                piece,
            } => {
                let times = coefficients[first_part + equations.patterns[pattern].part][piece];
                times * residual_inverse.matrices[pattern].get(a, b)
            }
            Part::Effect {
                effect,
                a,
                b,
                piece,
            } => coefficients[effect][piece] * effect_inverse[effect].get(a, b),
        });
        let factor = model.elimination.factorize(&filled)?;
        let weighted = equations.weighted(&model.residual, &residual_inverse, values);
        let mut unknowns = equations.gathered(&weighted);
        factor.solve_in_place(&mut unknowns);
        let fitted = equations.fitted(&unknowns);
        let residual: Vec<f64> = values
            .iter()
            .zip(&fitted)
            .map(|(value, fit)| value - fit)
            .collect();
        let projected = equations.weighted(&model.residual, &residual_inverse, &residual);

        let free = model.degrees();
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
            coefficients,
            structures,
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

    /// `y′Py` for the values that were solved for.
    pub(super) fn quadratic(&self, values: &[f64]) -> f64 {
        dot(values, &self.projected)
    }

    /// The weights that the observations have in what `x` = C⁻¹l stands for: R⁻¹Wx.
    pub(super) fn weights(&self, x: &[f64]) -> Vec<f64> {
        let equations = &self.model.equations;
        let fitted = equations.fitted(x);
        equations.weighted(&self.model.residual, &self.residual_inverse, &fitted)
    }

    /// For each of several vectors of values in place of the observations, the unknowns and P times it.
    pub(super) fn project(&self, values: Vec<Vec<f64>>) -> Vec<(Vec<f64>, Vec<f64>)> {
        let equations = &self.model.equations;
        let weighted =
            |v: &[f64]| equations.weighted(&self.model.residual, &self.residual_inverse, v);
        let mut right: Vec<f64> = values
            .iter()
            .flat_map(|v| equations.gathered(&weighted(v)))
            .collect();
        self.factor.solve_in_place(&mut right);
        let solved = right.chunks_exact(equations.size);
        values
            .into_iter()
            .zip(solved)
            .map(|(mut left, unknowns)| {
                for (value, fit) in left.iter_mut().zip(equations.fitted(unknowns)) {
                    *value -= fit;
                }
                (unknowns.to_vec(), weighted(&left))
            })
            .collect()
    }

    pub(super) fn selected_inverse(&self) -> SelectedInverse<'m> {
        SelectedInverse::new(&self.factor, &self.model.places)
    }

    /// The slope of ln L for each covariance matrix, effects first, then the residual: S such
    /// that a small change D of the matrix changes ln L by tr(S D); and for each parameter of a structure.
    ///
    /// For an effect with q levels, S = ½ (G⁻¹ M G⁻¹ − q G⁻¹) where M holds `û_a′K⁻¹û_b +
    /// tr(K⁻¹ C^ab)`; for the residual likewise with the residuals, pattern by pattern (Johnson &
    /// Thompson 1995, Journal of Dairy Science 78:449–456; Jensen et al. 1997, Journal of the
    /// Indian Society of Agricultural Statistics 49:215–236).
    ///
    /// For a parameter φ of the correlations of an effect it is `−½ [t ∂ln|K| + Σ (G⁻¹)_ab (û_a′ ∂K⁻¹ û_b + tr(∂K⁻¹
    /// C^ab))]` with t traits: `y′Py` is the least of the penalized sum of squares, so that its slope is that with the
    /// unknowns held.
    #[expect(
        clippy::too_many_lines,
        reason = "one list of sums, read from top to bottom"
    )]
    pub(super) fn gradient(&self) -> Slopes {
        let (model, equations) = (self.model, &self.model.equations);
        let inverse = self.selected_inverse();
        let mut effect_moments = vec![Covariance::zeros(model.traits()); model.random.len()];
        let mut residual_moments: Vec<Covariance> = equations
            .patterns
            .iter()
            .map(|pattern| Covariance::zeros(pattern.traits.len()))
            .collect();
        let first_part = model.random.len();
        let mut shapes: Vec<Vec<f64>> = self.slopes_of_log_determinants();
        let slopes = self.slopes_of_pieces();
        let mut residual_squares: Vec<Vec<f64>> = vec![Vec::new(); equations.patterns.len()];
        for correlated in &equations.correlated {
            if let Some(shape) = model.residual.shape(correlated.part) {
                let by_level = correlated.by_level(&self.residual);
                residual_squares[correlated.pattern] = shape.quadratics(&by_level);
            }
        }
        for template in &equations.templates {
            // A template off the diagonal holds its matrix and the transpose.
            let share = |a, b| if a == b { 1.0 } else { 0.5 };
            let trace = equations.trace(template, &inverse);
            match template.part {
                Part::Residual {
                    pattern,
                    a,
                    b,
                    piece,
                } => {
                    let component = first_part + equations.patterns[pattern].part;
                    let square = residual_squares[pattern].get(piece).copied().unwrap_or(0.0);
                    let moments = &mut residual_moments[pattern];
                    let moment = self.coefficients[component][piece] * (trace + square);
                    moments.set(a, b, moments.get(a, b) + share(a, b) * moment);
                    let precision = self.residual_inverse.matrices[pattern].get(a, b);
                    for (slope, of_pieces) in shapes[component].iter_mut().zip(&slopes[component]) {
                        *slope += precision * of_pieces[piece] * (trace + square);
                    }
                }
                Part::Effect {
                    effect,
                    a,
                    b,
                    piece,
                } => {
                    let both = trace + equations.quadratic(template, &self.unknowns);
                    let moments = &mut effect_moments[effect];
                    let moment = self.coefficients[effect][piece] * both;
                    moments.set(a, b, moments.get(a, b) + share(a, b) * moment);
                    let precision = self.effect_inverse[effect].get(a, b);
                    for (slope, of_pieces) in shapes[effect].iter_mut().zip(&slopes[effect]) {
                        *slope += precision * of_pieces[piece] * both;
                    }
                }
            }
        }
        let mut rows_of_pattern = vec![0; equations.patterns.len()];
        for row in &equations.rows {
            rows_of_pattern[row.pattern] += 1;
            if !residual_squares[row.pattern].is_empty() {
                continue;
            }
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
        let mut matrices = Vec::with_capacity(model.components());
        for (k, effect) in model.random.iter().enumerate() {
            let whole = slope(
                &self.effect_inverse[k],
                &effect_moments[k],
                effect.relationship.equations(),
            );
            let mut half = Covariance::zeros(model.traits());
            half.add_scaled(0.5, &whole);
            matrices.push(half);
        }
        matrices.resize(model.components(), Covariance::zeros(model.traits()));
        for (pattern, of_pattern) in equations.patterns.iter().enumerate() {
            let recorded = &of_pattern.traits;
            let residual_slope = &mut matrices[first_part + of_pattern.part];
            let part = slope(
                &self.residual_inverse.matrices[pattern],
                &residual_moments[pattern],
                rows_of_pattern[pattern],
            );
            for (a, b) in pairs(recorded.len()) {
                let (i, j) = (recorded[a], recorded[b]);
                residual_slope.set(i, j, residual_slope.get(i, j) + 0.5 * part.get(a, b));
            }
        }
        for slope in shapes.iter_mut().flatten() {
            *slope *= -0.5;
        }
        Slopes { matrices, shapes }
    }

    /// By component, parameter of its structure and piece: the slope of what the piece is multiplied by.
    fn slopes_of_pieces(&self) -> Vec<Vec<Vec<f64>>> {
        let of_component = |(component, shape): (usize, &Vec<f64>)| {
            let structure = self.model.shape(component);
            let of = |index| structure.map(|s| s.slopes(shape, index));
            (0..shape.len()).filter_map(of).collect()
        };
        self.components
            .shapes
            .iter()
            .enumerate()
            .map(of_component)
            .collect()
    }

    /// By component and parameter of its structure, the slope of `t ln|K|`: `−t tr(K ∂K⁻¹)`.
    fn slopes_of_log_determinants(&self) -> Vec<Vec<f64>> {
        let of_component = |component: usize| {
            let shape = &self.components.shapes[component];
            let (Some(structure), Some(factor), false) = (
                self.model.shape(component),
                &self.structures[component],
                shape.is_empty(),
            ) else {
                return Vec::new();
            };
            let traces = structure.traces(factor);
            let slope = |index| {
                -(self.model.traits() as f64) * dot(&structure.slopes(shape, index), &traces)
            };
            (0..shape.len()).map(slope).collect()
        };
        (0..self.model.components()).map(of_component).collect()
    }

    /// The share of the levels of a random effect that the records tell: `q − tr(K⁻¹ C^kk) / σ²`, the trace of what
    /// takes the effect's part out of the observations (Rodríguez-Álvarez et al. 2018). Of one trait.
    pub(super) fn effective_dimension(&self, effect: usize) -> f64 {
        let equations = &self.model.equations;
        let inverse = self.selected_inverse();
        let mut dimension = self.model.random[effect].relationship.equations() as f64;
        for template in &equations.templates {
            if let Part::Effect {
                effect: own,
                a: 0,
                b: 0,
                piece,
            } = template.part
                && own == effect
            {
                let precision =
                    self.coefficients[effect][piece] * self.effect_inverse[effect].get(0, 0);
                dimension -= precision * equations.trace(template, &inverse);
            }
        }
        dimension
    }

    /// Residuals by record; `None` without an observation. Of one trait.
    pub(super) fn residuals(&self) -> Vec<Option<f64>> {
        let mut residuals = vec![None; self.model.observations.records()];
        for row in &self.model.equations.rows {
            if let Some(record) = row.record {
                residuals[record] = Some(self.residual[row.first]);
            }
        }
        residuals
    }

    /// The average of observed and expected information about the `parameters`, row by row:
    /// `½ f_i′ P f_j` with `f_i = (∂V/∂θ_i) P y` (Gilmour, Thompson & Cullis 1995, Biometrics
    /// 51:1440–1450).
    pub(super) fn average_information(&self, parameters: &[Coordinate]) -> Mat<f64> {
        let equations = &self.model.equations;
        let working: Vec<Vec<f64>> = parameters
            .iter()
            .map(|&p| self.working_variate(p))
            .collect();
        let weighted: Vec<Vec<f64>> = working
            .iter()
            .map(|f| equations.weighted(&self.model.residual, &self.residual_inverse, f))
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
    fn working_variate(&self, coordinate: Coordinate) -> Vec<f64> {
        match coordinate {
            Coordinate::Entry(parameter) => self.working_variate_of_entry(parameter),
            Coordinate::Shape { component, index } => {
                self.working_variate_of_shape(component, index)
            }
        }
    }

    /// For a parameter of correlations: `(I ⊗ ∂K) (G ⊗ I) Z′P y = −(I ⊗ K ∂K⁻¹) û`, brought to the observations; of
    /// the residual, the same with the residuals for û.
    fn working_variate_of_shape(&self, component: usize, index: usize) -> Vec<f64> {
        let (model, equations) = (self.model, &self.model.equations);
        let mut working = vec![0.0; equations.values.len()];
        let (Some(structure), Some(factor)) = (model.shape(component), &self.structures[component])
        else {
            return working;
        };
        let slopes = structure.slopes(&self.components.shapes[component], index);
        let moved = |x: &[f64]| {
            let mut product = structure.times(&slopes, x);
            factor.solve_in_place(&mut product);
            for value in &mut product {
                *value = -*value;
            }
            product
        };
        let Some(effect) = model.random.get(component) else {
            let part = component - model.random.len();
            for correlated in equations.correlated.iter().filter(|one| one.part == part) {
                let by_level = moved(&correlated.by_level(&self.residual));
                for (&observation, value) in correlated.observation.iter().zip(by_level) {
                    working[observation] = value;
                }
            }
            return working;
        };
        let by_trait: Vec<Vec<f64>> = (0..model.traits())
            .map(|of_trait| {
                let of_equation =
                    |equation| self.unknowns[equations.random(component, equation, of_trait)];
                moved(&(0..structure.size()).map(of_equation).collect::<Vec<f64>>())
            })
            .collect();
        for row in &equations.rows {
            let Some(level) = row.record.and_then(|record| effect.level[record]) else {
                continue;
            };
            for (n, &of_trait) in equations.patterns[row.pattern].traits.iter().enumerate() {
                let terms = effect.relationship.terms(level);
                working[row.first + n] = terms
                    .map(|(equation, weight)| weight * by_trait[of_trait][equation])
                    .sum();
            }
        }
        working
    }

    fn working_variate_of_entry(&self, parameter: Parameter) -> Vec<f64> {
        let (model, equations) = (self.model, &self.model.equations);
        let Parameter { component, a, b } = parameter;
        let mut working = vec![0.0; equations.values.len()];
        for row in &equations.rows {
            let of_row = &equations.patterns[row.pattern];
            let recorded = &of_row.traits;
            if component >= model.random.len() {
                if component - model.random.len() != of_row.part {
                    continue;
                }
                if model.residual.shape(of_row.part).is_some() {
                    let precision = self.residual_inverse.matrices[row.pattern].get(0, 0);
                    working[row.first] = precision * self.residual[row.first];
                    continue;
                }
            }
            let place = |of_trait| recorded.iter().position(|&t| t == of_trait);
            // K cancels: (E ⊗ K) Z′P y = (E G⁻¹ ⊗ I) û.
            let scaled = |of_trait: usize| {
                if component >= model.random.len() {
                    return place(of_trait).map_or(0.0, |n| self.projected[row.first + n]);
                }
                let of_record = |record: usize| model.random[component].level[record];
                let Some(level) = row.record.and_then(of_record) else {
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

/// Slopes of ln L.
#[derive(Debug)]
pub(super) struct Slopes {
    /// By component.
    pub(super) matrices: Vec<Covariance>,
    /// By component and parameter of its structure.
    pub(super) shapes: Vec<Vec<f64>>,
}

fn dot(left: &[f64], right: &[f64]) -> f64 {
    left.iter().zip(right).map(|(x, y)| x * y).sum()
}

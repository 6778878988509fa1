//! The climb to the top of the restricted likelihood.
//!
//! Average-information steps (Gilmour, Thompson & Cullis 1995, Biometrics 51:1440–1450; Johnson
//! & Thompson 1995, Journal of Dairy Science 78:449–456), mixed with the step before (Anderson
//! 1965, Journal of the ACM 12:547–560) where that climbs, halved while the likelihood falls; when
//! halving does not help, an expectation-maximisation step, which always climbs (Dempster, Laird
//! & Rubin 1977, Journal of the Royal Statistical Society B 39:1–38). Covariance matrices are
//! kept positive definite by lifting eigenvalues to a floor; an effect that ends at the floor is
//! taken out and the rest fitted again, so that its variance is reported as exactly zero.

use std::ops::ControlFlow;

use faer::linalg::solvers::Solve as _;
use faer::{Mat, Side};

use super::equations::Row;
use super::fit::Convergence;
use super::reml::{Coordinate, dispensable};
use super::solved::{Slopes, Solved};
use super::{
    Components, Covariance, EvaluationError, Finding, Fit, Iteration, Model, Parameter, Role,
    ShapeKind,
};

/// The smallest eigenvalue allowed while iterating, as a share of the variance about the fixed
/// effects.
pub(super) const FLOOR: f64 = 1e-7;
/// A matrix within this of the floor is on the boundary.
pub(super) const NEAR_FLOOR: f64 = 1e-5;
/// The climb in ln L that a Newton step still promises at convergence.
const DECREMENT: f64 = 1e-12;
/// The same where rounding keeps the climb from ending more closely.
const ROUNDED_DECREMENT: f64 = 1e-8;
/// Information on a parameter that is left beside the others, as a share, below which they say the same.
const ALIKE: f64 = 1e-8;
/// A promise that isn't kept for long is one of rounding, as long as it is too small to matter.
const UNKEPT_DECREMENT: f64 = 1e-4;
/// For how many steps.
const STILL: usize = 12;
/// After so many steps it is looked whether a climb by less than this creeps along a ridge.
const CREEPING: usize = 10;
const SLOW: f64 = 1e-2;
/// On the boundary that promise never vanishes; there the climb itself has to end.
const CLIMB: f64 = 1e-7;
const MOST_ITERATIONS: usize = 300;
const MOST_HALVINGS: i32 = 6;
/// The relative rounding allowed for in comparing likelihoods.
const ROUNDING: f64 = 1e-11;
/// Information on a variance, as a share of the sum of squares it would be part of, that is rounding alone.
const DETERMINED: f64 = 1e-16;
/// Eigenvalue of the information, scaled to a unit diagonal, that counts as none.
const NO_INFORMATION: f64 = 1e-9;

/// The climb from a starting point to the top of the likelihood.
pub(super) struct Search<'m> {
    model: &'m Model,
    parameters: Vec<Coordinate>,
    /// Coordinates that keep the value they start from.
    held: Vec<(Coordinate, f64)>,
    scale: &'m [f64],
}

/// A direction to climb: the step, what it promises, and the information it rests on.
struct Newton {
    free: Vec<usize>,
    step: Vec<f64>,
    decrement: f64,
    information: Mat<f64>,
    score: Mat<f64>,
    covariance: Mat<f64>,
}

/// Where a step was taken from, and the step that was computed there.
struct Past {
    free: Vec<usize>,
    from: Vec<f64>,
    step: Vec<f64>,
}

impl<'m> Search<'m> {
    pub(super) fn new(model: &'m Model) -> Self {
        Self {
            model,
            parameters: model.parameters(),
            held: Vec::new(),
            scale: &model.fixed.residual_mean_square,
        }
    }

    pub(super) const fn model(&self) -> &'m Model {
        self.model
    }

    /// A search in which a coordinate keeps a value.
    pub(super) fn holding(model: &'m Model, coordinate: Coordinate, value: f64) -> Self {
        let mut search = Self::new(model);
        search.held.push((coordinate, value));
        search
    }

    pub(super) fn run(
        &self,
        watch: &mut dyn FnMut(Iteration) -> ControlFlow<()>,
    ) -> Result<Fit, EvaluationError> {
        self.check_separable()?;
        self.run_from(self.start(), watch)
    }

    /// Climbs from these components.
    pub(super) fn run_from(
        &self,
        mut start: Components,
        watch: &mut dyn FnMut(Iteration) -> ControlFlow<()>,
    ) -> Result<Fit, EvaluationError> {
        for &(coordinate, value) in &self.held {
            set(&mut start, coordinate, value);
        }
        let mut current = Solved::new(self.model, start)?;
        let mut expectation_steps = 0;
        let mut still = 0;
        let mut past: Option<Past> = None;
        for number in 1..=MOST_ITERATIONS {
            let gradient = current.gradient();
            let newton = self.newton(&current, &gradient);
            let boundary = self.boundary(&current.components);
            let promise = newton
                .as_ref()
                .map_or(f64::INFINITY, |newton| newton.decrement);
            let ended = still >= 3 && (promise < ROUNDED_DECREMENT || !boundary.is_empty())
                || still >= STILL && (promise < UNKEPT_DECREMENT || newton.is_none());
            if promise < DECREMENT || ended {
                let convergence = Convergence {
                    iterations: number,
                    expectation_steps,
                };
                return self.finish(&current, newton, &boundary, convergence);
            }
            let climbed = newton.as_ref().and_then(|newton| {
                let mixed = past
                    .as_ref()
                    .and_then(|past| self.mixed(&current, newton, past));
                mixed.or_else(|| self.climb(&current, newton))
            });
            past = newton.map(|Newton { free, step, .. }| {
                let from = self.values(&current, &free);
                Past { free, from, step }
            });
            let next = if let Some(next) = climbed {
                next
            } else {
                expectation_steps += 1;
                Solved::new(
                    self.model,
                    self.expectation_step(&current.components, &gradient)?,
                )?
            };
            let gain = current.minus_two_log_likelihood - next.minus_two_log_likelihood;
            still = if gain < CLIMB { still + 1 } else { 0 };
            current = next;
            if number.is_multiple_of(CREEPING) && gain < SLOW {
                current = self.bent_one_way(&current).unwrap_or(current);
            }
            let minus_two_log_likelihood = current.minus_two_log_likelihood;
            if watch(Iteration {
                number,
                minus_two_log_likelihood,
            })
            .is_break()
            {
                return Err(EvaluationError::Cancelled);
            }
        }
        Err(EvaluationError::NotConverged {
            iterations: MOST_ITERATIONS,
        })
    }

    /// Equal shares of the variance about the fixed effects.
    pub(super) fn start(&self) -> Components {
        let share = 1.0 / (self.model.random.len() + 1) as f64;
        let starts = |component| {
            let parameters = self.model.shape_parameters(component).iter();
            parameters.map(|parameter| parameter.start).collect()
        };
        let shares: Vec<f64> = self.scale.iter().map(|variance| share * variance).collect();
        let covariance = Covariance::diagonal(&shares);
        Components {
            effects: vec![covariance.clone(); self.model.random.len()],
            residuals: vec![covariance; self.model.residual.parts()],
            shapes: (0..self.model.components()).map(starts).collect(),
        }
    }

    /// The average-information step; `None` when the information can't be inverted. Where that is because a correlation
    /// or a balance says nothing beside the variances, such as of a surface that bends along one side only, it stays.
    fn newton(&self, current: &Solved<'_>, gradient: &Slopes) -> Option<Newton> {
        let free = self.free(current, gradient);
        let is_entry = |&i: &usize| matches!(self.parameters[i], Coordinate::Entry(_));
        let entries: Vec<usize> = free.iter().copied().filter(is_entry).collect();
        let fewer = entries.len() < free.len();
        self.step_in(current, gradient, free)
            .or_else(|| fewer.then(|| self.step_in(current, gradient, entries))?)
    }

    /// The slope of ln L in a coordinate.
    fn slope(gradient: &Slopes, coordinate: Coordinate) -> f64 {
        match coordinate {
            Coordinate::Entry(p) => {
                let times = if p.a == p.b { 1.0 } else { 2.0 };
                times * gradient.matrices[p.component].get(p.a, p.b)
            }
            Coordinate::Shape { component, index } => gradient.shapes[component][index],
        }
    }

    /// The parameters that aren't held where they are.
    fn free(&self, current: &Solved<'_>, gradient: &Slopes) -> Vec<usize> {
        let at_floor = |component: usize| {
            self.model.traits() == 1
                && current.components.get(component).get(0, 0) <= 1.01 * FLOOR * self.scale[0]
        };
        // A variance at its floor that wants to fall stays there, so does a correlation at its bound that wants out;
        // of an effect at its floor the correlations say nothing.
        let held = |coordinate: &Coordinate| {
            let slope = Self::slope(gradient, *coordinate);
            let outward = match *coordinate {
                Coordinate::Entry(p) => at_floor(p.component) && slope < 0.0,
                Coordinate::Shape { component, index } => {
                    let parameter = self.model.shape_parameters(component)[index];
                    let value = current.components.shapes[component][index];
                    let near = 1e-9 * (parameter.upper - parameter.lower);
                    at_floor(component)
                        || (value <= parameter.lower + near && slope < 0.0)
                        || (value >= parameter.upper - near && slope > 0.0)
                }
            };
            outward || self.held.iter().any(|(other, _)| other == coordinate)
        };
        (0..self.parameters.len())
            .filter(|&i| !held(&self.parameters[i]))
            .collect()
    }

    fn step_in(&self, current: &Solved<'_>, gradient: &Slopes, free: Vec<usize>) -> Option<Newton> {
        let parameters: Vec<Coordinate> = free.iter().map(|&i| self.parameters[i]).collect();
        let count = parameters.len();
        let information = current.average_information(&parameters);
        let score = Mat::from_fn(count, 1, |i, _| Self::slope(gradient, parameters[i]));
        if !unlike(&parameters, &information) {
            return None;
        }
        let factor = information.llt(Side::Lower).ok()?;
        let step = factor.solve(&score);
        let decrement = (score.transpose() * &step)[(0, 0)];
        let covariance = factor.solve(Mat::<f64>::identity(count, count));
        let usable = decrement.is_finite() && decrement >= 0.0;
        let step = step.col(0).iter().copied().collect();
        usable.then_some(Newton {
            free,
            step,
            decrement,
            information,
            score,
            covariance,
        })
    }

    /// Refuses a model whose variances the records can't tell apart.
    ///
    /// That is a property of the design, not of what happened to be observed: the information is
    /// taken for arbitrary values in the places of the observations.
    fn check_separable(&self) -> Result<(), EvaluationError> {
        let values: Vec<f64> = (0..self.model.equations.values.len())
            .map(|place| scatter(place as u64))
            .collect();
        let probe = Solved::with_values(self.model, self.start(), &values)?;
        let parameters = &self.parameters;
        let information = probe.average_information(parameters);
        let count = parameters.len();
        // Of an effect that the fixed effects determine nothing but rounding is left.
        let quadratic = probe.quadratic(&values);
        let nothing_left = |&i: &usize| match parameters[i] {
            Coordinate::Entry(p) if p.a == p.b && p.component < self.model.random.len() => {
                let variance = probe.components.get(p.component).get(p.a, p.a);
                information[(i, i)] * variance.powi(2) <= DETERMINED * quadratic
            }
            _ => false,
        };
        if let Some(effect) = (0..count).find(nothing_left) {
            let k = parameters[effect].component();
            return Err(EvaluationError::NotSeparable {
                effects: self
                    .model
                    .role(k)
                    .map(|role| (role, k))
                    .into_iter()
                    .collect(),
                residual: false,
            });
        }
        let unit = Mat::from_fn(count, count, |i, j| {
            let scale = (information[(i, i)] * information[(j, j)]).sqrt();
            if scale > 0.0 {
                information[(i, j)] / scale
            } else {
                0.0
            }
        });
        let eigen = unit
            .self_adjoint_eigen(Side::Lower)
            .map_err(|_no_convergence| EvaluationError::Singular)?;
        let smallest = eigen.S().column_vector()[0];
        if smallest > NO_INFORMATION {
            return Ok(());
        }
        let vector = eigen.U().col(0);
        let mut components: Vec<usize> = (0..count)
            .filter(|&i| vector[i].abs() > 0.1)
            .map(|i| parameters[i].component())
            .collect();
        components.sort_unstable();
        components.dedup();
        let residual = components.last() >= Some(&self.model.random.len());
        let mut effects: Vec<(Role, usize)> = components
            .iter()
            .filter_map(|&k| Some((self.model.role(k)?, k)))
            .collect();
        effects.sort_by_key(|&(role, k)| (dispensable(role), k));
        Err(EvaluationError::NotSeparable { effects, residual })
    }

    /// The longest of the halved steps that does not lower the likelihood.
    fn climb(&self, current: &Solved<'_>, newton: &Newton) -> Option<Solved<'m>> {
        let lengths = (0..=MOST_HALVINGS).map(|halvings| 0.5_f64.powi(halvings));
        lengths
            .map(|length| {
                newton
                    .step
                    .iter()
                    .map(|step| length * step)
                    .collect::<Vec<f64>>()
            })
            .find_map(|step| self.attempt(current, &newton.free, &step))
            .or_else(|| self.damped(current, newton))
    }

    /// The step of an information with its diagonal raised, more and more until the likelihood rises: the direction
    /// turns to that of the slope in each parameter's own scale (Marquardt 1963, Journal of the Society for Industrial
    /// and Applied Mathematics 11:431–441). Correlations far from their estimate need it.
    fn damped(&self, current: &Solved<'_>, newton: &Newton) -> Option<Solved<'m>> {
        let count = newton.free.len();
        (0..6).find_map(|power| {
            let raised = 1.0 + 10.0_f64.powi(power);
            let information = Mat::from_fn(count, count, |i, j| {
                newton.information[(i, j)] * if i == j { raised } else { 1.0 }
            });
            let step = information.llt(Side::Lower).ok()?.solve(&newton.score);
            let step: Vec<f64> = step.col(0).iter().copied().collect();
            self.attempt(current, &newton.free, &step)
        })
    }

    /// The step mixed with the one before it so that, if steps shrink evenly, the end is reached
    /// at once. Average information can be far from the curvature where records don't follow
    /// the model well; steps then shrink slowly.
    fn mixed(&self, current: &Solved<'_>, newton: &Newton, past: &Past) -> Option<Solved<'m>> {
        if past.free != newton.free {
            return None;
        }
        let differences = |now: &[f64], then: &[f64]| -> Vec<f64> {
            now.iter().zip(then).map(|(now, then)| now - then).collect()
        };
        let step_change = differences(&newton.step, &past.step);
        let moved = differences(&self.values(current, &newton.free), &past.from);
        let product = |x: &[f64], y: &[f64]| -> f64 {
            let row = |i: usize| {
                y.iter()
                    .enumerate()
                    .map(move |(j, y)| newton.information[(i, j)] * y)
            };
            x.iter()
                .enumerate()
                .map(|(i, x)| x * row(i).sum::<f64>())
                .sum()
        };
        let share = product(&newton.step, &step_change) / product(&step_change, &step_change);
        let step: Vec<f64> = (0..newton.step.len())
            .map(|i| newton.step[i] - share * (moved[i] + step_change[i]))
            .collect();
        self.attempt(current, &newton.free, &step)
    }

    /// Takes a step in the free parameters, unless the likelihood falls.
    fn attempt(&self, current: &Solved<'_>, free: &[usize], step: &[f64]) -> Option<Solved<'m>> {
        let mut components = current.components.clone();
        for (&i, step) in free.iter().zip(step) {
            let coordinate = self.parameters[i];
            let moved = value(&components, coordinate) + step;
            set(&mut components, coordinate, moved);
        }
        let next = Solved::new(self.model, self.lift(components)?).ok()?;
        let allowance = ROUNDING * (1.0 + current.minus_two_log_likelihood.abs());
        let limit = current.minus_two_log_likelihood + allowance;
        (next.minus_two_log_likelihood <= limit).then_some(next)
    }

    /// Where a surface bends along one side only, its balance and its variance go on for ever together, and what is gained
    /// grows less and less: the end of that ridge at once, if it lies higher.
    fn bent_one_way(&self, current: &Solved<'_>) -> Option<Solved<'m>> {
        (0..self.model.random.len()).find_map(|component| {
            let parameters = self.model.shape_parameters(component);
            let index = parameters
                .iter()
                .position(|p| p.kind == ShapeKind::Balance)?;
            let p = parameters[index];
            let balance = current.components.shapes[component][index];
            let held = |(coordinate, _): &(Coordinate, f64)| coordinate.component() == component;
            if p.at_bound(balance) || self.held.iter().any(held) {
                return None;
            }
            let end = if balance < 0.0 { p.lower } else { p.upper };
            let mut components = current.components.clone();
            components.shapes[component][index] = end;
            // What the surface may bend along its one side stays as it is.
            let variance = components.get(component).get(0, 0) * (-(end - balance).abs()).exp();
            components.get_mut(component).set(0, 0, variance);
            let next = Solved::new(self.model, self.lift(components)?).ok()?;
            (next.minus_two_log_likelihood < current.minus_two_log_likelihood).then_some(next)
        })
    }

    fn values(&self, current: &Solved<'_>, free: &[usize]) -> Vec<f64> {
        free.iter()
            .map(|&i| value(&current.components, self.parameters[i]))
            .collect()
    }

    /// For each matrix G with m draws, G + (2/m) G S G: what expectation-maximisation gives when
    /// the slope S is put in place of the moments.
    fn expectation_step(
        &self,
        components: &Components,
        gradient: &Slopes,
    ) -> Result<Components, EvaluationError> {
        let mut next = components.clone();
        for (component, slope) in gradient.matrices.iter().enumerate() {
            let draws = match self.model.random.get(component) {
                Some(effect) => effect.relationship.equations(),
                None => self.rows_of_part(component - self.model.random.len()),
            };
            let change = components.get(component).sandwich(slope);
            for coordinate in &self.parameters {
                let Coordinate::Entry(p) = *coordinate else {
                    continue;
                };
                let held = self.held.iter().any(|(other, _)| other == coordinate);
                if p.component != component || held {
                    continue;
                }
                let covariance = next.get_mut(component);
                let moved = covariance.get(p.a, p.b) + 2.0 / draws as f64 * change.get(p.a, p.b);
                covariance.set(p.a, p.b, moved);
            }
        }
        self.lift(next).ok_or(EvaluationError::Singular)
    }

    /// The rows whose residual belongs to a part.
    fn rows_of_part(&self, part: usize) -> usize {
        let equations = &self.model.equations;
        let of_part = |row: &&Row| equations.patterns[row.pattern].part == part;
        equations.rows.iter().filter(of_part).count()
    }

    fn lift(&self, mut components: Components) -> Option<Components> {
        for component in 0..self.model.components() {
            let covariance = components.get_mut(component);
            *covariance = covariance.lifted(self.scale, FLOOR)?;
            let parameters = self.model.shape_parameters(component);
            for (value, p) in components.shapes[component].iter_mut().zip(parameters) {
                *value = value.clamp(p.lower, p.upper);
            }
        }
        Some(components)
    }

    /// The components on the boundary.
    fn boundary(&self, components: &Components) -> Vec<usize> {
        let near = |&component: &usize| {
            let smallest = components.get(component).smallest_eigenvalue(self.scale);
            smallest.is_none_or(|smallest| smallest < NEAR_FLOOR)
        };
        (0..self.model.components()).filter(near).collect()
    }

    fn finish(
        &self,
        current: &Solved<'_>,
        newton: Option<Newton>,
        boundary: &[usize],
        convergence: Convergence,
    ) -> Result<Fit, EvaluationError> {
        let residual = self.model.random.len();
        let low = |part: &Covariance, of_trait: usize| {
            part.get(of_trait, of_trait) < NEAR_FLOOR * self.scale[of_trait]
        };
        let parts = current.components.residuals.iter();
        let at_zero: Vec<usize> = (0..)
            .zip(parts.clone())
            .filter(|(_, part)| low(part, 0))
            .map(|(part, _)| part)
            .collect();
        for of_trait in 0..self.model.traits() {
            let any = parts.clone().any(|part| low(part, of_trait));
            if any && !self.rests_at_zero(current, &at_zero) {
                return Err(EvaluationError::ResidualAtZero { of_trait });
            }
        }
        let (parameters, covariance) = match newton {
            Some(newton) => {
                let free = newton.free.iter().map(|&i| self.parameters[i]).collect();
                (free, newton.covariance)
            }
            None => (Vec::new(), Mat::new()),
        };
        let mut fit = Fit::new(
            self.model,
            current.components.clone(),
            parameters,
            covariance,
            current.minus_two_log_likelihood,
            convergence,
        );
        for &part in &at_zero {
            fit.add(Finding::ResidualAtZero { part });
        }
        for &component in boundary {
            let role = self.model.role(component);
            fit.forget(component);
            if component
                .checked_sub(residual)
                .is_some_and(|part| at_zero.contains(&part))
            {
                continue;
            }
            if self.model.traits() > 1 || component >= residual {
                fit.add(Finding::MatrixAtBoundary { role, component });
            }
        }
        for component in
            (0..self.model.components()).filter(|component| !boundary.contains(component))
        {
            let shape = &current.components.shapes[component];
            for (&value, p) in shape.iter().zip(self.model.shape_parameters(component)) {
                if p.at_bound(value) {
                    fit.add(Finding::ShapeAtBound {
                        kind: p.kind,
                        component,
                        bound: value,
                    });
                }
            }
        }
        fit.look_for_weakness();
        Ok(fit)
    }
}

impl Search<'_> {
    /// Whether residual variances at zero are an answer: where other parts or the space still tell records apart, and the
    /// likelihood ends there. Where it rises without end as the variance falls, the effects explain every record.
    fn rests_at_zero(&self, current: &Solved<'_>, parts: &[usize]) -> bool {
        let others = parts.len() < self.model.residual.parts();
        let space = self
            .model
            .random
            .iter()
            .any(|effect| effect.relationship.shape().is_some());
        if self.model.traits() > 1 || !(others || space) {
            return false;
        }
        let gradient = current.gradient();
        parts.iter().all(|part| {
            let component = self.model.random.len() + part;
            let variance = current.components.get(component).get(0, 0);
            // Records explained one by one would each add a half.
            (variance * gradient.matrices[component].get(0, 0)).abs() < 0.1
        })
    }
}

/// Whether correlations and balances among these parameters can be told from the variances here: those of a surface that
/// bends along one side only can't.
fn unlike(parameters: &[Coordinate], information: &Mat<f64>) -> bool {
    if parameters
        .iter()
        .all(|one| matches!(one, Coordinate::Entry(_)))
    {
        return true;
    }
    let count = parameters.len();
    let unit = Mat::from_fn(count, count, |i, j| {
        information[(i, j)] / (information[(i, i)] * information[(j, j)]).sqrt()
    });
    let factor = unit.llt(Side::Lower);
    factor.is_ok_and(|factor| (0..count).all(|i| factor.L()[(i, i)].powi(2) > ALIKE))
}

pub(super) fn value(components: &Components, coordinate: Coordinate) -> f64 {
    match coordinate {
        Coordinate::Entry(Parameter { component, a, b }) => components.get(component).get(a, b),
        Coordinate::Shape { component, index } => components.shapes[component][index],
    }
}

fn set(components: &mut Components, coordinate: Coordinate, value: f64) {
    match coordinate {
        Coordinate::Entry(Parameter { component, a, b }) => {
            components.get_mut(component).set(a, b, value);
        }
        Coordinate::Shape { component, index } => components.shapes[component][index] = value,
    }
}

/// A number between −½ and ½ without pattern in `place`: after Steele, Lea & Flood (2014).
fn scatter(place: u64) -> f64 {
    let mut bits = (place + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    (bits >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
}

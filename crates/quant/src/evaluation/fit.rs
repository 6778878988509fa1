//! Estimated variances, and the ratios made of them.

use faer::Mat;
use statrs::distribution::{ContinuousCDF as _, Normal};

use super::reml::{Coordinate, dispensable};
use super::{Components, Covariance, Finding, Model, Parameter, Role};

/// How an estimation ended; it did converge, or there would be no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Convergence {
    /// Iterations made.
    pub iterations: usize,
    /// How many of them fell back on expectation-maximisation.
    pub expectation_steps: usize,
}

/// Which genetic variance a heritability speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    /// The additive: what crossing passes on.
    Narrow,
    /// Additive and clonal: what copying keeps.
    Broad,
}

/// What kind of observation a heritability speaks of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Basis<'a> {
    /// A single record.
    Plot,
    /// The mean of an entry's records: each component divided by its number, effects first, then
    /// the residual (see [`Model::entry_divisors`]).
    EntryMean(&'a [f64]),
}

/// A share or correlation with its standard error and 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratio {
    /// The estimate.
    pub value: f64,
    /// Its standard error by the delta method.
    pub standard_error: f64,
    /// Lower end of the interval.
    pub lower: f64,
    /// Upper end of the interval.
    pub upper: f64,
}

/// Variances estimated by restricted maximum likelihood.
///
/// Standard errors come from the average information, which holds for many records and
/// estimates inside their bounds; where a variance is at zero or a matrix on its boundary there
/// is none.
#[derive(Clone, Debug)]
pub struct Fit {
    components: Components,
    roles: Vec<Role>,
    parameters: Vec<Coordinate>,
    /// Sampling covariances of the parameters.
    covariance: Mat<f64>,
    minus_two_log_likelihood: f64,
    convergence: Convergence,
    findings: Vec<Finding>,
}

impl Fit {
    pub(super) fn new(
        model: &Model,
        components: Components,
        parameters: Vec<Coordinate>,
        covariance: Mat<f64>,
        minus_two_log_likelihood: f64,
        convergence: Convergence,
    ) -> Self {
        Self {
            components,
            roles: model.random().iter().map(|effect| effect.role).collect(),
            parameters,
            covariance,
            minus_two_log_likelihood,
            convergence,
            findings: Vec::new(),
        }
    }

    /// The estimates, to be given to [`Model::solve`].
    pub fn components(&self) -> &Components {
        &self.components
    }

    /// −2 times the restricted log-likelihood, with all its constants.
    ///
    /// Comparable only between models with the same fixed effects.
    pub fn minus_two_log_likelihood(&self) -> f64 {
        self.minus_two_log_likelihood
    }

    /// How the iterations ended.
    pub fn convergence(&self) -> Convergence {
        self.convergence
    }

    /// Whether the residual variance of a part is estimated as zero.
    pub fn residual_is_zero(&self, part: usize) -> bool {
        self.findings.contains(&Finding::ResidualAtZero { part })
    }

    /// What to know before relying on the fit; empty when there is nothing to say.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// The standard error of a variance (`a == b`) or covariance of a component (a random
    /// effect, or the number of effects for the residual).
    ///
    /// `None` on a bound, and for a covariance that no record informs.
    pub fn standard_error(&self, component: usize, a: usize, b: usize) -> Option<f64> {
        let parameter = Parameter {
            component,
            a: a.max(b),
            b: a.min(b),
        };
        self.sampling_covariance(parameter, parameter)
            .map(f64::sqrt)
    }

    /// The sampling covariance of two estimates.
    pub fn sampling_covariance(&self, first: Parameter, second: Parameter) -> Option<f64> {
        self.covariance_of(Coordinate::Entry(first), Coordinate::Entry(second))
    }

    fn covariance_of(&self, first: Coordinate, second: Coordinate) -> Option<f64> {
        let place = |wanted| self.parameters.iter().position(|&p| p == wanted);
        Some(self.covariance[(place(first)?, place(second)?)])
    }

    /// The standard error of a parameter of a component's structure; `None` on a bound.
    pub fn shape_standard_error(&self, component: usize, index: usize) -> Option<f64> {
        let shape = Coordinate::Shape { component, index };
        self.covariance_of(shape, shape).map(f64::sqrt)
    }

    /// The parameters inside their bounds, with their sampling covariances in this order.
    pub fn sampling(&self) -> (&[Coordinate], &Mat<f64>) {
        (&self.parameters, &self.covariance)
    }

    /// The share of genetic variance in the variance of a trait's observations (of a plant with
    /// `a_ii = 1`, that is not inbred). Its interval is symmetric on the logit scale, so it stays
    /// between 0 and 1.
    ///
    /// `None` when the model has no such genetic effect, its variance is on a bound, or the residual variance differs by
    /// environment.
    pub fn heritability(&self, of_trait: usize, sense: Sense, basis: Basis<'_>) -> Option<Ratio> {
        let divisor = |component: usize| match basis {
            Basis::Plot => 1.0,
            Basis::EntryMean(divisors) => divisors.get(component).copied().unwrap_or(1.0),
        };
        let wanted = |role: Role| match sense {
            Sense::Narrow => role == Role::Additive,
            Sense::Broad => role.is_genetic(),
        };
        let variance = |component: usize| {
            self.components.get(component).get(of_trait, of_trait) / divisor(component)
        };
        if self.components.residuals.len() > 1 {
            return None;
        }
        let whole: f64 = (0..=self.roles.len()).map(variance).sum();
        let genetic = |k: usize| self.roles.get(k).is_some_and(|&role| wanted(role));
        let part: f64 = (0..self.roles.len())
            .filter(|&k| genetic(k))
            .map(variance)
            .sum();
        let value = part / whole;
        let slope = |p: Parameter| {
            let of_part = if genetic(p.component) { 1.0 } else { 0.0 };
            let variance_of_trait = p.a == of_trait && p.b == of_trait;
            if variance_of_trait {
                (of_part - value) / (divisor(p.component) * whole)
            } else {
                0.0
            }
        };
        let genetic_known = (0..self.roles.len())
            .filter(|&k| genetic(k) && !self.components.effects[k].is_zero())
            .all(|k| self.standard_error(k, of_trait, of_trait).is_some());
        if !(value > 0.0 && value < 1.0 && genetic_known) {
            return None;
        }
        let standard_error = self.delta(slope);
        let logit = (value / (1.0 - value)).ln();
        let reach = normal_97_5() * standard_error / (value * (1.0 - value));
        let back = |logit: f64| 1.0 / (1.0 + (-logit).exp());
        Some(Ratio {
            value,
            standard_error,
            lower: back(logit - reach),
            upper: back(logit + reach),
        })
    }

    /// The genetic correlation of two traits within one random effect.
    ///
    /// `None` when its matrix is on the boundary or no record informs it.
    pub fn correlation(&self, effect: usize, a: usize, b: usize) -> Option<Ratio> {
        self.correlation_of_sum(&[effect], a, b)
    }

    /// The phenotypic correlation of two traits: of records on one plant, all components summed.
    pub fn phenotypic_correlation(&self, a: usize, b: usize) -> Option<Ratio> {
        let all: Vec<usize> = (0..=self.roles.len()).collect();
        self.correlation_of_sum(&all, a, b)
    }

    fn correlation_of_sum(&self, components: &[usize], a: usize, b: usize) -> Option<Ratio> {
        let mut sum = Covariance::zeros(self.components.residual().order());
        for &component in components {
            sum.add_scaled(1.0, self.components.get(component));
            if !self.components.get(component).is_zero() {
                self.standard_error(component, a, a)?;
                self.standard_error(component, b, b)?;
            }
        }
        let value = sum.correlation(a, b)?;
        let scale = (sum.get(a, a) * sum.get(b, b)).sqrt();
        let (high, low) = (a.max(b), a.min(b));
        let informed =
            |p: &Parameter| components.contains(&p.component) && (p.a, p.b) == (high, low);
        self.entries().find(informed)?;
        if value.abs() >= 1.0 {
            return None;
        }
        let standard_error = self.delta(|p| match (p.a, p.b) {
            _ if !components.contains(&p.component) => 0.0,
            pair if pair == (high, low) => 1.0 / scale,
            pair if pair == (a, a) || pair == (b, b) => -0.5 * value / sum.get(p.a, p.a),
            _ => 0.0,
        });
        // Symmetric on Fisher's z scale.
        let reach = normal_97_5() * standard_error / (1.0 - value * value);
        let z = value.atanh();
        Some(Ratio {
            value,
            standard_error,
            lower: (z - reach).tanh(),
            upper: (z + reach).tanh(),
        })
    }

    /// The standard error of a function with this slope in each parameter.
    fn delta(&self, slope: impl Fn(Parameter) -> f64) -> f64 {
        let of_coordinate = |&coordinate: &Coordinate| match coordinate {
            Coordinate::Entry(parameter) => slope(parameter),
            Coordinate::Shape { .. } => 0.0,
        };
        let slopes: Vec<f64> = self.parameters.iter().map(of_coordinate).collect();
        let mut variance = 0.0;
        for (i, x) in slopes.iter().enumerate() {
            for (j, y) in slopes.iter().enumerate() {
                variance += x * y * self.covariance[(i, j)];
            }
        }
        variance.max(0.0).sqrt()
    }

    fn entries(&self) -> impl Iterator<Item = Parameter> + '_ {
        self.parameters.iter().filter_map(|&p| match p {
            Coordinate::Entry(parameter) => Some(parameter),
            Coordinate::Shape { .. } => None,
        })
    }

    pub(super) fn add(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// Takes away the standard errors of a component on its boundary.
    pub(super) fn forget(&mut self, component: usize) {
        let kept: Vec<usize> = (0..self.parameters.len())
            .filter(|&i| self.parameters[i].component() != component)
            .collect();
        self.covariance = Mat::from_fn(kept.len(), kept.len(), |i, j| {
            self.covariance[(kept[i], kept[j])]
        });
        self.parameters = kept.iter().map(|&i| self.parameters[i]).collect();
    }

    /// Adds findings on variances that the records hardly know.
    pub(super) fn look_for_weakness(&mut self) {
        for of_trait in 0..self.components.residual().order() {
            let variance = |effect| Parameter {
                component: effect,
                a: of_trait,
                b: of_trait,
            };
            for effect in 0..self.roles.len() {
                let role = self.roles[effect];
                let Some(error) = self.standard_error(effect, of_trait, of_trait) else {
                    continue;
                };
                if error > self.components.effects[effect].get(of_trait, of_trait) {
                    self.findings.push(Finding::PoorlyKnown {
                        role,
                        effect,
                        of_trait,
                    });
                }
                for other in 0..effect {
                    let Some(other_error) = self.standard_error(other, of_trait, of_trait) else {
                        continue;
                    };
                    let shared = self.sampling_covariance(variance(effect), variance(other));
                    let correlation = shared.unwrap_or(0.0) / (error * other_error);
                    if correlation < -0.95 {
                        let mut effects = [other, effect];
                        effects.sort_by_key(|&k| (dispensable(self.roles[k]), k));
                        let roles = effects.map(|k| self.roles[k]);
                        let finding = Finding::HardlySeparable {
                            roles,
                            effects,
                            of_trait,
                            correlation,
                        };
                        self.findings.push(finding);
                    }
                }
            }
        }
    }

    /// This fit of a simpler model as one of `model`, whose `dropped` effects are at zero.
    pub(super) fn with_effects_at_zero(mut self, model: &Model, dropped: &[usize]) -> Self {
        let whole: Vec<usize> = (0..model.random().len())
            .filter(|k| !dropped.contains(k))
            .collect();
        let renumber = |component: &mut usize| {
            *component = match whole.get(*component) {
                Some(&effect) => effect,
                None => *component - whole.len() + model.random().len(),
            };
        };
        for coordinate in &mut self.parameters {
            match coordinate {
                Coordinate::Entry(parameter) => renumber(&mut parameter.component),
                Coordinate::Shape { component, .. } => renumber(component),
            }
        }
        for finding in &mut self.findings {
            match finding {
                Finding::VarianceAtZero { effect, .. } | Finding::PoorlyKnown { effect, .. } => {
                    renumber(effect);
                }
                Finding::ResidualAtZero { .. } => {}
                Finding::MatrixAtBoundary { component, .. }
                | Finding::ShapeAtBound { component, .. } => renumber(component),
                Finding::HardlySeparable { effects, .. } => effects.iter_mut().for_each(renumber),
            }
        }
        for &k in dropped {
            self.components
                .effects
                .insert(k, Covariance::zeros(model.traits()));
            let starts = model.shape_parameters(k).iter().map(|p| p.start).collect();
            self.components.shapes.insert(k, starts);
            let role = model.random()[k].role;
            self.findings
                .insert(0, Finding::VarianceAtZero { role, effect: k });
        }
        self.roles = model.random().iter().map(|effect| effect.role).collect();
        self
    }
}

/// The point below which a standard normal variable falls 97.5 % of the time.
fn normal_97_5() -> f64 {
    Normal::standard().inverse_cdf(0.975)
}

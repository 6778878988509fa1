//! The mixed model of an evaluation, by index: what the project's observations and the command line's tables share.
//!
//! The model of one record is
//!
//! > value = fixed effects + breeding value + clonal effect + permanent environment + residual.
//!
//! Breeding values are related through the pedigree, at any ploidy. The clonal effect is the rest of the genetic
//! value, which cuttings keep and seed does not pass on: it is told from the permanent environment only where a
//! genotype stands on several hills. The permanent environment is what stays with one hill over its records.

use super::{Progress, ProgressSink};
use quant::evaluation::{
    Basis, Components, Covariance, EvaluationError, Fit, FixedEffect, Model, Observations,
    Prediction, RandomEffect, Ratio, Relationship, Role, Sense, Solution,
};
use quant::kinship::Kinship;
use std::fmt;

/// Records on plants of a pedigree, all lists one entry a record.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Records {
    /// How many traits.
    pub traits: usize,
    /// The values: the first record's, trait by trait, then those of the next.
    pub values: Vec<Option<f64>>,
    /// The plant of each record, its index in the pedigree.
    pub plant: Vec<usize>,
    /// The hill of each record, numbered from 0: where a permanent environment stays. One of `hills`.
    pub hill: Vec<usize>,
    /// How many hills.
    pub hills: usize,
    /// Fixed factors.
    pub factors: Vec<FactorColumn>,
}

/// A fixed factor with its levels.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FactorColumn {
    /// Its name.
    pub name: String,
    /// The names of its levels.
    pub levels: Vec<String>,
    /// The level of each record.
    pub level: Vec<usize>,
}

impl FactorColumn {
    /// A factor without records.
    pub fn new(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            ..Self::default()
        }
    }

    /// The number of a level by name, a new one where it has not been seen: hand in a map that is kept with it.
    pub fn push(&mut self, name: &str, seen: &mut std::collections::HashMap<String, usize>) {
        let level = if let Some(&level) = seen.get(name) {
            level
        } else {
            seen.insert(name.into(), self.levels.len());
            self.levels.push(name.into());
            self.levels.len() - 1
        };
        self.level.push(level);
    }
}

impl Records {
    /// How many records.
    pub fn len(&self) -> usize {
        self.plant.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.plant.is_empty()
    }

    /// Records of each plant of a pedigree of `size` that have a value for any trait.
    pub fn per_plant(&self, size: usize) -> Vec<usize> {
        let mut count = vec![0; size];
        for (record, &plant) in self.plant.iter().enumerate() {
            let values = &self.values[record * self.traits..(record + 1) * self.traits];
            count[plant] += usize::from(values.iter().any(Option::is_some));
        }
        count
    }

    /// Whether some hill has several records.
    pub fn repeated(&self) -> bool {
        let mut seen = vec![false; self.hills];
        self.hill
            .iter()
            .any(|&hill| std::mem::replace(&mut seen[hill], true))
    }

    /// Whether some plant stands on several hills.
    pub fn replicated(&self) -> bool {
        let mut hill_of = std::collections::HashMap::new();
        self.plant
            .iter()
            .zip(&self.hill)
            .any(|(&plant, &hill)| *hill_of.entry(plant).or_insert(hill) != hill)
    }
}

/// The random effects besides breeding value and residual.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Effects {
    /// The clonal effect.
    pub clonal: bool,
    /// The permanent environment.
    pub permanent: bool,
    /// Breeding values are left out too: variances alone are estimated.
    pub without_additive: bool,
}

impl Effects {
    /// The roles of the random effects, in the order of the model.
    pub fn roles(self) -> Vec<Role> {
        [
            (!self.without_additive, Role::Additive),
            (self.clonal, Role::Clonal),
            (self.permanent, Role::Permanent),
        ]
        .into_iter()
        .filter_map(|(wanted, role)| wanted.then_some(role))
        .collect()
    }

    /// The same without an effect; `None` if it has no such effect to leave out.
    #[must_use]
    pub fn without(self, role: Role) -> Option<Self> {
        match role {
            Role::Clonal if self.clonal => Some(Self {
                clonal: false,
                ..self
            }),
            Role::Permanent if self.permanent => Some(Self {
                permanent: false,
                ..self
            }),
            _ => None,
        }
    }

    /// The next simpler effects: without permanent environment, then without clonal effect.
    #[must_use]
    pub fn simpler(self) -> Option<Self> {
        self.without(Role::Permanent)
            .or_else(|| self.without(Role::Clonal))
    }
}

/// Variances that are known beforehand, of one trait.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variances {
    /// Of breeding values, of plants of the base population.
    pub additive: f64,
    /// Of clonal effects, if they are in the model.
    pub clonal: Option<f64>,
    /// Of permanent environments, if they are in the model.
    pub permanent: Option<f64>,
    /// Of single records about all these.
    pub residual: f64,
}

impl Variances {
    /// The effects that these are the variances of.
    pub fn effects(&self) -> Effects {
        Effects {
            clonal: self.clonal.is_some(),
            permanent: self.permanent.is_some(),
            without_additive: false,
        }
    }

    fn components(&self) -> Components {
        let effects: Vec<f64> = [Some(self.additive), self.clonal, self.permanent]
            .into_iter()
            .flatten()
            .collect();
        Components::single(&effects, self.residual)
    }
}

/// A model that was fitted: variances known or estimated, and everything predicted.
#[derive(Debug)]
pub struct Fitted {
    /// The random effects.
    pub roles: Vec<Role>,
    /// The variances.
    pub components: Components,
    /// How they were estimated; `None` if they were given.
    pub fit: Option<Fit>,
    /// What was predicted.
    pub solution: Solution,
    divisors: Vec<Vec<f64>>,
}

impl Fitted {
    /// The breeding value of a plant, where the model has them: see [`Effects::without_additive`].
    pub fn breeding(&self, plant: usize, of_trait: usize) -> Prediction {
        self.solution.random(0, plant, of_trait)
    }

    /// The whole genetic value of a clone, breeding value and clonal effect; `None` without clonal effect.
    pub fn clone_value(&self, plant: usize, of_trait: usize) -> Option<Prediction> {
        if !self.roles.contains(&Role::Clonal) {
            return None;
        }
        self.solution.genetic(plant, of_trait)
    }

    /// A variance with its standard error, by place among [`Self::roles`], the residual last.
    pub fn variance(&self, component: usize, of_trait: usize) -> (f64, Option<f64>) {
        let error = self
            .fit
            .as_ref()
            .and_then(|fit| fit.standard_error(component, of_trait, of_trait));
        (
            self.components.get(component).get(of_trait, of_trait),
            error,
        )
    }

    /// Heritability with its interval, of single records or of the mean of a plant's records; the interval is
    /// there only if variances were estimated.
    pub fn heritability(
        &self,
        of_trait: usize,
        sense: Sense,
        of_means: bool,
    ) -> Option<Heritability> {
        let divisors = &self.divisors[of_trait];
        let basis = if of_means {
            Basis::EntryMean(divisors)
        } else {
            Basis::Plot
        };
        let divisor = |component: usize| if of_means { divisors[component] } else { 1.0 };
        let share = |component: usize| {
            self.components.get(component).get(of_trait, of_trait) / divisor(component)
        };
        let wanted = |role: &Role| match sense {
            Sense::Narrow => *role == Role::Additive,
            Sense::Broad => role.is_genetic(),
        };
        let genetic: f64 = (0..self.roles.len())
            .filter(|&k| wanted(&self.roles[k]))
            .map(share)
            .sum();
        let whole: f64 = (0..=self.roles.len()).map(share).sum();
        let ratio = self
            .fit
            .as_ref()
            .and_then(|fit| fit.heritability(of_trait, sense, basis));
        let value = genetic / whole;
        value.is_finite().then_some(Heritability { value, ratio })
    }
}

/// A heritability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heritability {
    /// The share of genetic variance.
    pub value: f64,
    /// With standard error and interval, where variances were estimated inside their bounds.
    pub ratio: Option<Ratio>,
}

/// Why a model could not be fitted, and the simpler one that may do.
#[derive(Debug, Clone, PartialEq)]
pub struct Unfit {
    /// Why.
    pub error: EvaluationError,
    /// The random effects that the records may support; `None` if nothing simpler would give breeding values.
    pub simpler: Option<Effects>,
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = plain(&self.error.to_string());
        let mut letters = text.chars();
        let first = letters
            .next()
            .map(|letter| letter.to_uppercase().to_string())
            .unwrap_or_default();
        write!(f, "{first}{}.", letters.as_str())
    }
}

impl std::error::Error for Unfit {}

/// Effects are named by role here, so their numbers are of no use to a reader.
pub(super) fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find(" (random effect ") {
        let Some(end) = rest[start..].find(')') else {
            break;
        };
        plain.push_str(&rest[..start]);
        rest = &rest[start + end + 1..];
    }
    plain.push_str(rest);
    plain
}

/// Fits the model: with the variances given, or those that restricted maximum likelihood estimates.
///
/// # Errors
/// Records that can't support the model, or that `sink` stopped it ([`EvaluationError::Cancelled`]). No number
/// comes from a failed fit.
pub fn fit(
    kinship: &Kinship,
    records: &Records,
    effects: Effects,
    variances: Option<&Variances>,
    sink: &mut ProgressSink<'_>,
) -> Result<Fitted, Unfit> {
    let effects = variances.map_or(effects, Variances::effects);
    attempt(kinship, records, effects, variances, sink).map_err(|error| {
        let simpler = match &error {
            _ if variances.is_some() => None,
            EvaluationError::NotReplicated { role, .. } => effects.without(*role),
            EvaluationError::NotSeparable {
                effects: concerned, ..
            } => concerned
                .iter()
                .rev()
                .find_map(|(role, _)| effects.without(*role)),
            EvaluationError::TooFewRecords { .. }
            | EvaluationError::ResidualAtZero { .. }
            | EvaluationError::NotConverged { .. } => effects.simpler(),
            _ => None,
        };
        Unfit { error, simpler }
    })
}

/// The step that is told where the equations are large.
pub const LARGE: &str =
    "Solving large equations, which takes minutes, or up to hours where variances are estimated";

/// The equations of records.
pub(super) fn model_of(
    kinship: &Kinship,
    records: &Records,
    effects: Effects,
) -> Result<Model, EvaluationError> {
    let observations = Observations::new(records.traits, records.values.clone())?;
    let mut fixed: Vec<FixedEffect> = records
        .factors
        .iter()
        .map(|factor| FixedEffect::Factor {
            level: factor.level.clone(),
            levels: factor.levels.len(),
        })
        .collect();
    if fixed.is_empty() {
        fixed.push(FixedEffect::mean(records.len()));
    }
    let random = effects
        .roles()
        .iter()
        .map(|&role| match role {
            Role::Additive => {
                RandomEffect::related(role, &records.plant, Relationship::additive(kinship))
            }
            Role::Permanent => RandomEffect::independent(role, &records.hill, records.hills),
            _ => RandomEffect::independent(role, &records.plant, kinship.pedigree().len()),
        })
        .collect();
    Model::new(observations, fixed, random)
}

fn attempt(
    kinship: &Kinship,
    records: &Records,
    effects: Effects,
    variances: Option<&Variances>,
    sink: &mut ProgressSink<'_>,
) -> Result<Fitted, EvaluationError> {
    let mut tell = |step, iteration| {
        let progress = Progress {
            step,
            part: None,
            iteration,
        };
        sink(progress)
    };
    if tell("Setting up the equations", None).is_break() {
        return Err(EvaluationError::Cancelled);
    }
    let model = model_of(kinship, records, effects)?;
    if model.is_large() && tell(LARGE, None).is_break() {
        return Err(EvaluationError::Cancelled);
    }
    let fit = if variances.is_some() {
        None
    } else {
        let mut sink = |iteration: quant::evaluation::Iteration| {
            tell("Estimating variances", Some(iteration.number))
        };
        Some(model.estimate_watched(&mut sink)?)
    };
    if tell("Predicting breeding values", None).is_break() {
        return Err(EvaluationError::Cancelled);
    }
    let components = match (&fit, variances) {
        (Some(fit), _) => fit.components().clone(),
        (None, Some(variances)) => variances.components(),
        (None, None) => Components::new(Vec::new(), Covariance::zeros(records.traits)),
    };
    let solution = model.solve(&components)?;
    let divisors = (0..records.traits)
        .map(|of_trait| {
            if effects.roles().is_empty() {
                vec![1.0]
            } else {
                model.entry_divisors(0, of_trait)
            }
        })
        .collect();
    Ok(Fitted {
        roles: effects.roles(),
        components,
        fit,
        solution,
        divisors,
    })
}

//! The linear mixed model: checked and analysed once, solved or estimated as often as wanted.

use std::fmt;

use super::equations::Equations;
use super::factor::Elimination;
use super::fixed::FixedDesign;
use super::selected::Places;
use super::structure::{ShapeParameter, Structure};
use super::{Covariance, EvaluationError, FixedEffect, Observations, Relationship, Residual};

/// What a random effect stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Breeding values: passed on, related through the pedigree.
    Additive,
    /// The rest of a clone's genetic value: kept by its copies, not passed on.
    Clonal,
    /// What stays with a plant or plot over its records without being genetic.
    Permanent,
    /// Anything else: a block, a season, a genotype in one season.
    Other,
}

impl Role {
    /// Whether it belongs to the genetic value of a clone.
    pub fn is_genetic(self) -> bool {
        matches!(self, Self::Additive | Self::Clonal)
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Additive => "additive genetic effect",
            Self::Clonal => "clonal effect",
            Self::Permanent => "permanent environment effect",
            Self::Other => "further random effect",
        })
    }
}

/// A random effect: each record carries one of its levels, or none.
#[derive(Clone, Debug)]
pub struct RandomEffect {
    /// What it stands for.
    pub role: Role,
    /// The level of each record; `None` where the effect does not act.
    pub level: Vec<Option<usize>>,
    /// How its levels are related. Levels without records are predicted from their relatives.
    pub relationship: Relationship,
}

impl RandomEffect {
    /// An effect with `levels` unrelated levels, one of them in every record.
    pub fn independent(role: Role, level: &[usize], levels: usize) -> Self {
        Self {
            role,
            level: level.iter().copied().map(Some).collect(),
            relationship: Relationship::independent(levels),
        }
    }

    /// An effect whose levels are related, one of them in every record.
    pub fn related(role: Role, level: &[usize], relationship: Relationship) -> Self {
        Self {
            role,
            level: level.iter().copied().map(Some).collect(),
            relationship,
        }
    }
}

/// The variances of a model: one covariance matrix among traits per random effect and per part of the residual; and
/// the parameters of those whose correlations have parameters of their own.
///
/// Components are numbered: the random effects in the model's order, then the parts of the residual.
#[derive(Clone, Debug, PartialEq)]
pub struct Components {
    /// By random effect, in the model's order.
    pub effects: Vec<Covariance>,
    /// Among the values of one record, by part of the residual.
    pub residuals: Vec<Covariance>,
    /// By component: the parameters of its structure, none for most.
    pub shapes: Vec<Vec<f64>>,
}

impl Components {
    /// Random effects and a residual without structures of their own.
    pub fn new(effects: Vec<Covariance>, residual: Covariance) -> Self {
        Self {
            shapes: vec![Vec::new(); effects.len() + 1],
            effects,
            residuals: vec![residual],
        }
    }

    /// The variances of a single trait.
    pub fn single(effects: &[f64], residual: f64) -> Self {
        let variance = |&value: &f64| Covariance::variance(value);
        Self::new(
            effects.iter().map(variance).collect(),
            Covariance::variance(residual),
        )
    }

    /// The covariances among the values of one record, of the first part of the residual.
    pub fn residual(&self) -> &Covariance {
        &self.residuals[0]
    }

    /// The matrix of a component: the effects in their order, then the parts of the residual.
    pub fn get(&self, component: usize) -> &Covariance {
        let part = component.saturating_sub(self.effects.len());
        self.effects.get(component).unwrap_or(&self.residuals[part])
    }

    pub(super) fn get_mut(&mut self, component: usize) -> &mut Covariance {
        let part = component.saturating_sub(self.effects.len());
        self.effects
            .get_mut(component)
            .unwrap_or(&mut self.residuals[part])
    }

    /// How many components there are.
    pub fn count(&self) -> usize {
        self.effects.len() + self.residuals.len()
    }

    /// These without the effects that `keep` refuses.
    pub(super) fn restricted(&self, keep: impl Fn(usize) -> bool) -> Self {
        let effects = self.effects.iter().enumerate();
        let shapes = self.shapes.iter().enumerate();
        let count = self.effects.len();
        Self {
            effects: effects
                .filter(|&(k, _)| keep(k))
                .map(|(_, effect)| effect.clone())
                .collect(),
            residuals: self.residuals.clone(),
            shapes: shapes
                .filter(|&(k, _)| k >= count || keep(k))
                .map(|(_, shape)| shape.clone())
                .collect(),
        }
    }
}

/// The model `y = Xb + Σ Z_k u_k + e` for one or several traits, with `u_k ~ N(0, G_k ⊗ K_k)` and
/// residuals independent between records.
///
/// A value that is missing for one trait leaves the record's other values in use: this is how
/// plants culled after their first scores keep later traits free from the bias of selection
/// (Henderson 1975, Biometrics 31:423–447), as long as the scores they were culled on are in the
/// model.
#[derive(Debug)]
pub struct Model {
    pub(super) observations: Observations,
    pub(super) fixed: FixedDesign,
    pub(super) random: Vec<RandomEffect>,
    pub(super) residual: Residual,
    pub(super) equations: Equations,
    pub(super) elimination: Elimination,
    pub(super) places: Places,
}

impl Model {
    /// Checks the inputs, finds which fixed effects the records can estimate, and chooses the
    /// order of elimination. Time and memory grow with the records and the entries of the
    /// inverse relationship matrices, plus the fill-in; fixed columns are checked densely, so
    /// they should number in the hundreds (a thousand blocks are better off random).
    ///
    /// # Errors
    /// Inputs of different lengths, a level or number out of range, a trait without records.
    pub fn new(
        observations: Observations,
        fixed: Vec<FixedEffect>,
        random: Vec<RandomEffect>,
    ) -> Result<Self, EvaluationError> {
        let residual = Residual::independent(observations.records());
        Self::with_residual(observations, fixed, random, residual)
    }

    /// [`Self::new`] with residuals that differ by environment or are correlated.
    ///
    /// # Errors
    /// Also a residual that doesn't fit the records.
    pub fn with_residual(
        observations: Observations,
        fixed: Vec<FixedEffect>,
        random: Vec<RandomEffect>,
        residual: Residual,
    ) -> Result<Self, EvaluationError> {
        let expected = observations.records();
        for (index, effect) in random.iter().enumerate() {
            let (input, found) = ("random effect", effect.level.len());
            if found != expected {
                return Err(EvaluationError::Length {
                    input,
                    index,
                    found,
                    expected,
                });
            }
            let levels = effect.relationship.levels();
            let outside = |level: &Option<usize>| level.is_some_and(|level| level >= levels);
            if let Some(record) = effect.level.iter().position(outside) {
                let level = effect.level[record].unwrap_or_default();
                return Err(EvaluationError::Level {
                    input,
                    index,
                    record,
                    level,
                    levels,
                });
            }
        }
        if let Some(of_trait) = (0..observations.traits()).find(|&a| observations.count(a) == 0) {
            return Err(EvaluationError::NoRecords { of_trait });
        }
        residual.check(&observations)?;
        let fixed = FixedDesign::new(&observations, fixed)?;
        let equations = Equations::new(&observations, &fixed, &random, &residual);
        let (column_start, row_index) = equations.pattern();
        let elimination = Elimination::new(column_start, row_index)?;
        let places = Places::new(&elimination);
        Ok(Self {
            observations,
            fixed,
            random,
            residual,
            equations,
            elimination,
            places,
        })
    }

    /// Whether solving takes minutes, and estimating longer.
    pub fn is_large(&self) -> bool {
        self.elimination.operations() > 2e10
    }

    /// How many traits.
    pub fn traits(&self) -> usize {
        self.observations.traits()
    }

    /// How many components have a variance: the random effects, then the parts of the residual.
    pub fn components(&self) -> usize {
        self.random.len() + self.residual.parts.len()
    }

    /// The structure of a component's correlations, if it has parameters or pieces of its own.
    pub(super) fn shape(&self, component: usize) -> Option<&Structure> {
        match self.random.get(component) {
            Some(effect) => effect.relationship.shape(),
            None => self.residual.shape(component - self.random.len()),
        }
    }

    /// The parameters of a component's structure; none for most.
    pub fn shape_parameters(&self, component: usize) -> &[ShapeParameter] {
        self.shape(component).map_or(&[], Structure::parameters)
    }

    /// What was observed.
    pub fn observations(&self) -> &Observations {
        &self.observations
    }

    /// The fixed effects, in the order given.
    pub fn fixed(&self) -> &[FixedEffect] {
        self.fixed.effects()
    }

    /// The random effects, in the order given.
    pub fn random(&self) -> &[RandomEffect] {
        &self.random
    }

    /// The same records and fixed effects with only those random effects that `keep` accepts by
    /// index.
    pub fn with_effects(&self, keep: impl Fn(usize) -> bool) -> Result<Self, EvaluationError> {
        let random = self.random.iter().enumerate().filter(|&(k, _)| keep(k));
        Self::with_residual(
            self.observations.clone(),
            self.fixed.effects().to_vec(),
            random.map(|(_, effect)| effect.clone()).collect(),
            self.residual.clone(),
        )
    }

    /// For a trait, how much each component is averaged in the mean of one level of `entry`: one
    /// number per component, effects first, then the residual.
    ///
    /// Genetic effects are not averaged (1). Of another effect, the number of its levels that an
    /// entry's records carry; of the residual, the number of its records; each the harmonic mean
    /// over entries with records. Meant for [`Basis::EntryMean`](super::Basis::EntryMean).
    pub fn entry_divisors(&self, entry: usize, of_trait: usize) -> Vec<f64> {
        let records = |record: usize| {
            self.observations
                .get(record, of_trait)
                .and(self.random[entry].level[record])
        };
        let harmonic = |inner: &dyn Fn(usize) -> Option<usize>| {
            let mut pairs: Vec<(usize, usize)> = (0..self.observations.records())
                .filter_map(|record| Some((records(record)?, inner(record)?)))
                .collect();
            pairs.sort_unstable();
            pairs.dedup();
            let groups = pairs.chunk_by(|left, right| left.0 == right.0);
            let (count, reciprocals) = groups.fold((0.0, 0.0), |(n, sum), group| {
                (n + 1.0, sum + 1.0 / group.len() as f64)
            });
            if count > 0.0 {
                count / reciprocals
            } else {
                1.0
            }
        };
        let effects = self.random.iter().map(|effect| {
            if effect.role.is_genetic() {
                1.0
            } else {
                harmonic(&|record| effect.level[record])
            }
        });
        effects.chain([harmonic(&Some)]).collect()
    }

    /// Whether the records say anything about a covariance of two traits within a component.
    ///
    /// They do when some record (for the residual) or some level (for unrelated levels) has
    /// both traits, and always through relatives.
    pub(super) fn informs(&self, component: usize, a: usize, b: usize) -> bool {
        if a == b {
            return true;
        }
        let Some(effect) = self.random.get(component) else {
            let part = component - self.random.len();
            let of_part = self.equations.patterns.iter().filter(|p| p.part == part);
            return of_part
                .into_iter()
                .any(|p| p.traits.contains(&a) && p.traits.contains(&b));
        };
        if !effect.relationship.is_independent() {
            return true;
        }
        let mut seen = vec![[false; 2]; effect.relationship.levels()];
        for (record, level) in effect.level.iter().enumerate() {
            let Some(level) = *level else { continue };
            for (side, of_trait) in [a, b].into_iter().enumerate() {
                seen[level][side] |= self.observations.get(record, of_trait).is_some();
            }
        }
        seen.contains(&[true, true])
    }
}

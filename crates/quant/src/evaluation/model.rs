//! The linear mixed model: checked and analysed once, solved or estimated as often as wanted.

use std::fmt;

use super::equations::Equations;
use super::factor::Elimination;
use super::fixed::FixedDesign;
use super::selected::Places;
use super::{Covariance, EvaluationError, FixedEffect, Observations, Relationship};

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

/// The variances of a model: one covariance matrix among traits per random effect, and one for
/// the residual.
#[derive(Clone, Debug, PartialEq)]
pub struct Components {
    /// By random effect, in the model's order.
    pub effects: Vec<Covariance>,
    /// Among the values of one record.
    pub residual: Covariance,
}

impl Components {
    /// The variances of a single trait.
    pub fn single(effects: &[f64], residual: f64) -> Self {
        Self {
            effects: effects
                .iter()
                .map(|&value| Covariance::variance(value))
                .collect(),
            residual: Covariance::variance(residual),
        }
    }

    /// The matrix of a component: the effects in their order, then the residual.
    pub fn get(&self, component: usize) -> &Covariance {
        self.effects.get(component).unwrap_or(&self.residual)
    }

    pub(super) fn get_mut(&mut self, component: usize) -> &mut Covariance {
        self.effects
            .get_mut(component)
            .unwrap_or(&mut self.residual)
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
        let fixed = FixedDesign::new(&observations, fixed)?;
        let equations = Equations::new(&observations, &fixed, &random);
        let (column_start, row_index) = equations.pattern();
        let elimination = Elimination::new(column_start, row_index)?;
        let places = Places::new(&elimination);
        Ok(Self {
            observations,
            fixed,
            random,
            equations,
            elimination,
            places,
        })
    }

    /// How many traits.
    pub fn traits(&self) -> usize {
        self.observations.traits()
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
        Self::new(
            self.observations.clone(),
            self.fixed.effects().to_vec(),
            random.map(|(_, effect)| effect.clone()).collect(),
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
            return self
                .equations
                .patterns
                .iter()
                .any(|p| p.contains(&a) && p.contains(&b));
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

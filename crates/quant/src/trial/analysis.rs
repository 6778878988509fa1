//! A trial fitted: entries with their errors, variances, heritabilities.

use super::likelihood_ratio::likelihood_ratio_test;
use super::means::adjusted;
use super::{Entries, Factor, Space, Trial};
use crate::evaluation::{
    Combination, Combined, EvaluationError, Fit, FixedEffect, Model, Observations, RandomEffect,
    Relationship, Residual, Role, SmallSample, Spline, SplineBasis,
};
use std::sync::OnceLock;

/// The most segments of a surface along one side.
const MOST_SEGMENTS: usize = 20;

/// A model of a trial with its variances estimated, and the entries by it.
#[derive(Debug)]
pub struct Analysis {
    /// The model. Random effects: the entries if they are random, the random terms, then the space.
    pub model: Model,
    /// The variances.
    pub fit: Fit,
    /// How the entries were taken.
    pub entries: Entries,
    /// The entries: adjusted means, or predictions.
    pub combined: Combined,
    /// What each entry is estimated as.
    pub combinations: Vec<Combination>,
    /// Whether the records can tell each entry's mean.
    pub estimable: Vec<bool>,
    /// The group of each entry, from 0: entries of one group can be compared, those of different ones can't, because the
    /// records never bring them together, by way of blocks or otherwise. One group for all in most trials.
    pub group: Vec<usize>,
    /// The random effect of the space, if it has one.
    pub space: Option<usize>,
    /// Whether plots were to have errors of their own beside what neighbours share, and the variance of those is 0: the
    /// fit is that of the model without them.
    pub nugget_at_zero: bool,
    /// The fixed effect of the first covariate.
    pub first_covariate: usize,
    /// How many random effects stand before those of the terms.
    pub first_term: usize,
    /// The errors of adjusted means that calculate with the variances being estimates, once they were asked for.
    pub(super) small_sample: OnceLock<Option<SmallSample>>,
}

impl Trial {
    /// Fits the model, with the entries as they are to be taken.
    ///
    /// # Errors
    /// Records that can't support the model.
    pub fn analyse(&self, entries: Entries) -> Result<Analysis, EvaluationError> {
        let found = self.fitted(entries, true)?;
        let Space::Neighbours {
            place,
            size,
            nugget: true,
        } = &self.space
        else {
            return Ok(found);
        };
        if self.residual_by.is_some() {
            return Ok(found);
        }
        let without = Self {
            space: Space::Neighbours {
                place: place.clone(),
                size: *size,
                nugget: false,
            },
            ..self.clone()
        };
        let mut places = place.clone();
        places.sort_unstable();
        // Plots that share a place keep the least error there can be: without any they can't be told apart.
        let shared = places.windows(2).any(|pair| pair[0] == pair[1]);
        let at_zero = found.fit.residual_is_zero(0);
        let exact = match (shared, at_zero) {
            (true, false) => return Ok(found),
            (true, true) => found,
            (false, true) => without.fitted(entries, true)?,
            (false, false) => {
                // A model with more in it never fits worse: where the search says so, it missed the top.
                let simpler = without.fitted(entries, true);
                let likelihood = found.fit.minus_two_log_likelihood();
                match simpler {
                    Ok(simpler) if simpler.fit.minus_two_log_likelihood() < likelihood - 1e-6 => {
                        simpler
                    }
                    _ => return Ok(found),
                }
            }
        };
        Ok(Analysis {
            nugget_at_zero: true,
            ..exact
        })
    }

    /// What the space adds: the fit without it, with the same fixed terms.
    ///
    /// # Errors
    /// Records that can't support the model without space.
    pub fn test_space(&self, with: &Analysis) -> Result<SpaceTest, EvaluationError> {
        let without = self.fitted(with.entries, false)?;
        let gain = without.fit.minus_two_log_likelihood() - with.fit.minus_two_log_likelihood();
        let correlations = match &self.space {
            Space::Neighbours { size, .. } => size.iter().filter(|&&side| side > 1).count() as u32,
            Space::Surface { place } => u32::from(!(0..2).any(|side| in_one_line(place, side))),
            Space::None => 0,
        };
        let at_bound = match self.space {
            Space::None | Space::Neighbours { nugget: false, .. } => 0,
            Space::Neighbours { .. } | Space::Surface { .. } => 1,
        };
        Ok(SpaceTest {
            gain,
            significance: likelihood_ratio_test(gain, at_bound, correlations),
        })
    }

    /// What each entry is estimated as.
    fn combinations(&self, entries: Entries) -> Vec<Combination> {
        match entries {
            Entries::Fixed => adjusted(&self.entry, &self.fixed),
            Entries::Random => {
                let level = |entry: usize| self.related.as_ref().map_or(entry, |r| r.plant[entry]);
                (0..self.entry.levels)
                    .map(|entry| Combination::new().with_random(0, level(entry), 1.0))
                    .collect()
            }
        }
    }

    /// Adjusted means of the entries of each group over the levels of fixed terms that its own records have.
    fn within_groups(&self, group: &[usize]) -> Vec<(usize, Combination)> {
        let count = group.iter().max().map_or(0, |&last| last + 1);
        let mut means = Vec::new();
        for own in 0..count {
            let records: Vec<usize> = (0..self.values.len())
                .filter(|&record| group[self.entry.level[record]] == own)
                .collect();
            let (entry, names) = part_of(&self.entry, &records);
            let (fixed, levels): (Vec<Factor>, Vec<Vec<usize>>) = self
                .fixed
                .iter()
                .map(|term| part_of(term, &records))
                .unzip();
            let of_part = adjusted(&entry, &fixed).into_iter();
            means.extend(names.iter().copied().zip(of_part.map(|mean| {
                mean.with_fixed_renumbered(|effect, level| match effect.checked_sub(1) {
                    None => names[level],
                    Some(term) => levels[term][level],
                })
            })));
        }
        means
    }

    fn fitted(&self, entries: Entries, with_space: bool) -> Result<Analysis, EvaluationError> {
        let count = self.values.len();
        let fixed_factor = |factor: &Factor| FixedEffect::Factor {
            level: factor.level.clone(),
            levels: factor.levels,
        };
        let independent =
            |role, factor: &Factor| RandomEffect::independent(role, &factor.level, factor.levels);
        let mut fixed = Vec::new();
        let mut random = Vec::new();
        match (entries, &self.related) {
            (Entries::Fixed, _) => fixed.push(fixed_factor(&self.entry)),
            (Entries::Random, None) => random.push(independent(Role::Clonal, &self.entry)),
            (Entries::Random, Some(related)) => {
                let plant = |&entry: &usize| related.plant[entry];
                let level: Vec<usize> = self.entry.level.iter().map(plant).collect();
                let relationship = related.relationship.clone();
                random.push(RandomEffect::related(Role::Additive, &level, relationship));
            }
        }
        let first_term = random.len();
        fixed.extend(self.fixed.iter().map(fixed_factor));
        if fixed.is_empty() {
            fixed.push(FixedEffect::mean(count));
        }
        let covariate = |value: &Vec<f64>| FixedEffect::Covariate {
            value: value.clone(),
        };
        let first_covariate = fixed.len();
        fixed.extend(self.covariates.iter().map(covariate));
        random.extend(
            self.random
                .iter()
                .map(|term| independent(Role::Other, term)),
        );
        let mut residual = match &self.residual_by {
            Some(by) => Residual::by_environment(&by.level, by.levels),
            None => Residual::independent(count),
        };
        let mut space = None;
        match &self.space {
            Space::None => {}
            Space::Neighbours { .. } if !with_space => {}
            Space::Neighbours {
                place,
                size,
                nugget,
            } => {
                let level: Vec<usize> = place.iter().map(|[r, c]| r * size[1] + c).collect();
                let grid = Relationship::grid(size[0], size[1])?;
                if *nugget {
                    space = Some(random.len());
                    random.push(RandomEffect::related(Role::Other, &level, grid));
                } else {
                    residual = Residual::correlated(&level, grid);
                }
            }
            Space::Surface { place } => {
                let spline = surface(place)?;
                // The straight part stays where the bent one is left out, so that the likelihoods can be compared.
                fixed.extend(spline.fixed.clone());
                if with_space {
                    space = Some(random.len());
                    let record: Vec<usize> = (0..count).collect();
                    let surface = Relationship::spline(spline);
                    random.push(RandomEffect::related(Role::Other, &record, surface));
                }
            }
        }
        // About their mean, so that a large one costs no digits; it is given back below.
        let mean = self.values.iter().sum::<f64>() / count.max(1) as f64;
        let observed = self.values.iter().map(|value| Some(value - mean)).collect();
        let model = Model::with_residual(Observations::single(observed)?, fixed, random, residual)?;
        let fit = model.estimate()?;
        let mut combinations = self.combinations(entries);
        let is_estimable = |one: &Combination| model.is_estimable(one, 0);
        let mut estimable: Vec<bool> = combinations.iter().map(is_estimable).collect();
        let group = groups(&model, &combinations, &estimable);
        if entries == Entries::Fixed && group.iter().any(|&group| group > 0) {
            // Over the levels of fixed terms that a group meets, so that its entries have means to be compared by.
            for (entry, mean) in self.within_groups(&group) {
                estimable[entry] = is_estimable(&mean);
                combinations[entry] = mean;
            }
        }
        let combined = model.combine(fit.components(), 0, &combinations)?;
        let combined = match entries {
            Entries::Fixed => combined.shifted(mean),
            Entries::Random => combined,
        };
        Ok(Analysis {
            model,
            fit,
            entries,
            combined,
            combinations,
            estimable,
            group,
            space,
            nugget_at_zero: false,
            first_covariate,
            first_term,
            small_sample: OnceLock::new(),
        })
    }
}

/// A factor over some of the records, its levels numbered anew; and the level that each of them was.
fn part_of(factor: &Factor, records: &[usize]) -> (Factor, Vec<usize>) {
    let mut levels: Vec<usize> = records.iter().map(|&record| factor.level[record]).collect();
    let there = levels.clone();
    levels.sort_unstable();
    levels.dedup();
    let renumbered = |level: &usize| levels.binary_search(level).unwrap_or_default();
    let part = Factor {
        level: there.iter().map(renumbered).collect(),
        levels: levels.len(),
    };
    (part, levels)
}

impl Analysis {
    /// Whether the records tell what a covariate does, beside the entries, the fixed terms and the other covariates.
    pub fn tells_covariate(&self, nth: usize) -> bool {
        let slope = Combination::new().with_fixed(self.first_covariate + nth, 0, 1.0);
        self.model.is_estimable(&slope, 0)
    }
}

/// The most groups that entries are told apart by; any further entry is a group of its own.
const MOST_GROUPS: usize = 200;

/// Entries whose differences the records can estimate, together.
fn groups(model: &Model, combinations: &[Combination], estimable: &[bool]) -> Vec<usize> {
    if !estimable.contains(&false) {
        return vec![0; combinations.len()];
    }
    let mut first: Vec<usize> = Vec::new();
    let mut alone = 0;
    combinations
        .iter()
        .enumerate()
        .map(|(entry, combination)| {
            let with = |&other: &usize| {
                let difference = combination.minus(&combinations[other]);
                model.is_estimable(&difference, 0)
            };
            if let Some(group) = first.iter().position(with) {
                return group;
            }
            if first.len() < MOST_GROUPS {
                first.push(entry);
                return first.len() - 1;
            }
            alone += 1;
            MOST_GROUPS + alone - 1
        })
        .collect()
}

/// What the likelihood gains by the space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpaceTest {
    /// Twice the difference of the restricted log-likelihoods.
    pub gain: f64,
    /// How often as much is gained where there is nothing to gain; see [`likelihood_ratio_test`].
    pub significance: f64,
}

/// Whether all plots have the same place along a side.
fn in_one_line(place: &[[f64; 2]], side: usize) -> bool {
    place.iter().all(|at| at[side] == place[0][side])
}

/// A surface over rows and columns; a curve where all plots lie in one of either.
fn surface(place: &[[f64; 2]]) -> Result<Spline, EvaluationError> {
    let side = |nth: usize| place.iter().map(|at| at[nth]).collect::<Vec<f64>>();
    let sides = [side(0), side(1)];
    if in_one_line(place, 0) {
        Spline::curve(basis(&sides[1])?, &sides[1])
    } else if in_one_line(place, 1) {
        Spline::curve(basis(&sides[0])?, &sides[0])
    } else {
        let bases = [basis(&sides[0])?, basis(&sides[1])?];
        Spline::surface(bases, [&sides[0], &sides[1]])
    }
}

/// A segment for every two places, from the first to the last.
fn basis(at: &[f64]) -> Result<SplineBasis, EvaluationError> {
    let mut places = at.to_vec();
    places.sort_by(f64::total_cmp);
    places.dedup();
    let ends = (places.first().copied(), places.last().copied());
    let (Some(low), Some(high)) = ends else {
        return Err(EvaluationError::NoRecords { of_trait: 0 });
    };
    SplineBasis::new(low, high, (places.len() / 2).clamp(2, MOST_SEGMENTS))
}

/// The heritabilities of entry means.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Heritability {
    /// After Cullis, Smith & Coombes (2006).
    pub cullis: Option<f64>,
    /// After Piepho & Möhring (2007).
    pub piepho_mohring: Option<f64>,
}

/// `1 − v / (d σ²_g)`, with v the mean variance of a difference of two predictions and d that of two entries per `σ²_g`, 2
/// if they are unrelated (Cullis, Smith & Coombes 2006, Journal of Agricultural, Biological, and Environmental Statistics
/// 11:381–393). v has to calculate with the estimation of the fixed effects, as [`Combined`] does.
pub fn cullis(genetic: f64, prediction: f64, mean_difference: f64) -> Option<f64> {
    (genetic > 0.0).then(|| 1.0 - prediction / (mean_difference * genetic))
}

/// `σ²_g / (σ²_g + v / 2)`, with v the mean variance of a difference of two adjusted means (Piepho & Möhring 2007,
/// Genetics 177:1881–1888).
pub fn piepho_mohring(genetic: f64, adjusted: f64) -> Option<f64> {
    (genetic > 0.0).then(|| genetic / (genetic + adjusted / 2.0))
}

impl Heritability {
    /// From the same trial fitted with random and with fixed entries; what either can't tell is left out.
    pub fn of(trial: &Trial, random: Option<&Analysis>, fixed: Option<&Analysis>) -> Self {
        let Some(random) = random else {
            return Self::default();
        };
        let genetic = random.fit.components().get(0).get(0, 0);
        let prediction = random
            .combined
            .mean_variance_of_difference()
            .filter(|_| random.errors_are_known());
        let between = trial.related.as_ref().map_or(2.0, |r| r.mean_difference);
        let known = |analysis: &&Analysis| analysis.all_comparable() && analysis.errors_are_known();
        let adjusted = fixed
            .filter(known)
            .and_then(|fixed| fixed.combined.mean_variance_of_difference());
        Self {
            cullis: prediction.and_then(|v| cullis(genetic, v, between)),
            piepho_mohring: adjusted.and_then(|v| piepho_mohring(genetic * between / 2.0, v)),
        }
    }
}

//! Every pair that could be crossed this season, with what is expected of it.

use super::fathers::Fathers;
use super::parent::{Parent, females, males, why_not};
use super::thresholds::{Thresholds, index_weights};
use super::{BestOf, Candidate, Exclusion, Goals, Knowledge, Outlook, Relatedness, TraitKnowledge};
use crate::genetics::{Kinship, Progress, ProgressSink};
use crate::{Genotype, Id, Ploidy, Project};
use chrono::NaiveDate;
use quant::evaluation::Covariance;
use quant::kinship::{Mate, Offspring};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Seed parents and givers of pollen that are looked at, the best by the index, where there are more.
const MOST: [usize; 2] = [300, 200];
/// Seedlings of a family that the order of pairs is calculated for.
pub(super) const FAMILY: u32 = 50;
/// How far a chance in the list may be off.
const TOLERANCE: f64 = 0.002;

/// Every pair that could be crossed this season, at one revision of a project.
#[derive(Debug, Clone)]
pub struct Candidates {
    /// The revision of the project that this holds for.
    pub revision: u64,
    /// The goals it was made for.
    pub goals: Goals,
    /// What is known of the traits.
    pub knowledge: Arc<Knowledge>,
    /// What the kinship was read from.
    pub kinship: Arc<Kinship>,
    /// The seed parents.
    pub females: Vec<Parent>,
    /// The givers of pollen.
    pub males: Vec<Parent>,
    /// How many seed parents and givers of pollen were left out, there being many better by the index.
    pub left_out: [usize; 2],
    /// Mean kinship of the living plants, each with itself included; 0 without any.
    pub program_kinship: f64,
    /// The pairs: those offered first, and of these the one whose best of fifty seedlings promises most.
    pub pairs: Vec<Candidate>,
    thresholds: Option<Thresholds>,
    /// What is needed of the parents whose fathers aren't known for sure.
    pub(super) fathers: Arc<Fathers>,
}

impl Candidates {
    /// Every pair with what is expected of it, but for the chance to reach all thresholds: see
    /// [`Self::with_chances`].
    pub fn rank(
        project: &Project,
        kinship: &Arc<Kinship>,
        knowledge: &Arc<Knowledge>,
        today: NaiveDate,
    ) -> Self {
        let goals = project.settings().goals.clone();
        let scales = Scales::of(project, &goals, knowledge);
        let program: Vec<usize> = project
            .genotypes()
            .iter()
            .filter(|plant| plant.is_alive())
            .filter_map(|plant| kinship.index(plant.id))
            .collect();
        let program_kinship = kinship
            .numbers()
            .group_coancestry(&program)
            .unwrap_or_default();
        let with_program = kinship.numbers().mean_kinship(&program);
        let merit = |plant: Id<Genotype>| scales.merit(knowledge, kinship.index(plant));
        let chosen = |plants: Vec<&Genotype>, female: bool| {
            let most = MOST[usize::from(!female)];
            let mut parents: Vec<Parent> = plants
                .into_iter()
                .map(|plant| {
                    if female {
                        Parent::female(project, plant, today)
                    } else {
                        Parent::male(project, plant, today)
                    }
                })
                .collect();
            let found = parents.len();
            if found > most {
                parents.sort_by(|one, other| {
                    let key = |each: &Parent| (each.hindrances.is_empty(), merit(each.plant));
                    let (a, b) = (key(one), key(other));
                    b.0.cmp(&a.0).then(b.1.total_cmp(&a.1))
                });
                parents.truncate(most);
            }
            (parents, found.saturating_sub(most))
        };
        let (females, females_left) = chosen(females(project), true);
        let (males, males_left) = chosen(males(project), false);
        let mut candidates = Self {
            revision: project.revision(),
            thresholds: Thresholds::of(project, &goals, knowledge),
            goals,
            knowledge: Arc::clone(knowledge),
            kinship: Arc::clone(kinship),
            females,
            males,
            left_out: [females_left, males_left],
            program_kinship,
            pairs: Vec::new(),
            fathers: Arc::default(),
        };
        candidates.pair_up(project, &scales, &with_program);
        candidates.fathers = Arc::new(Fathers::of(
            project,
            kinship,
            [&candidates.females, &candidates.males],
            scales.weights,
        ));
        candidates.flag_bad_cases(project);
        candidates
    }

    fn pair_up(&mut self, project: &Project, scales: &Scales, with_program: &[f64]) {
        let places = |parents: &[Parent]| -> Vec<Option<Place>> {
            parents
                .iter()
                .map(|parent| Place::of(project, &self.kinship, parent.plant))
                .collect()
        };
        let (mothers, fathers) = (places(&self.females), places(&self.males));
        let index = |places: &[Option<Place>]| -> Vec<usize> {
            places
                .iter()
                .map(|each| each.as_ref().map_or(0, |place| place.index))
                .collect()
        };
        let kinship = self
            .kinship
            .numbers()
            .coancestry_block(&index(&mothers), &index(&fathers));
        let of = BestOf::seedlings(FAMILY);
        let mut expected = Expected {
            knowledge: &self.knowledge,
            scales,
            goals: &self.goals,
            program: (self.program_kinship, with_program),
            errors: Vec::new(),
            in_stages: Vec::new(),
        };
        let count = self.females.len() * self.males.len();
        let (mut pairs, mut order) = (Vec::with_capacity(count), Vec::with_capacity(count));
        for (i, (female, mother)) in self.females.iter().zip(&mothers).enumerate() {
            for (j, (male, father)) in self.males.iter().zip(&fathers).enumerate() {
                let (Some(mother), Some(father)) = (mother, father) else {
                    continue;
                };
                let candidate = expected.pair(female, male, mother, father, kinship[(i, j)]);
                order.push((candidate.is_offered(), candidate.best(of), pairs.len()));
                pairs.push(Some(candidate));
            }
        }
        // Candidates are large: their places are sorted, and each is moved once.
        order.sort_by(|one, other| other.0.cmp(&one.0).then(other.1.total_cmp(&one.1)));
        self.pairs = order
            .into_iter()
            .filter_map(|(_, _, place)| pairs[place].take())
            .collect();
    }

    /// The same with the chance of each pair offered that a seedling reaches all thresholds. `None` if `sink` stops
    /// it.
    pub fn with_chances(mut self, sink: &mut ProgressSink<'_>) -> Option<Self> {
        let Some(thresholds) = &self.thresholds else {
            return Some(self);
        };
        let count = self.pairs.len();
        for (nth, pair) in self.pairs.iter_mut().enumerate() {
            if nth % 64 == 0 {
                let progress = Progress {
                    step: "Chances to reach all thresholds",
                    part: Some(nth as f32 / count as f32),
                    iteration: None,
                };
                if sink(progress).is_break() {
                    return None;
                }
            }
            if pair.is_offered() {
                pair.reaches_all = thresholds
                    .chance(
                        &pair.traits,
                        pair.mendelian,
                        thresholds.each().len(),
                        1,
                        TOLERANCE,
                    )
                    .map(|chance| chance.value);
            }
        }
        Some(self)
    }

    /// The thresholds, if there are any and enough is known of their traits.
    pub const fn thresholds(&self) -> Option<&Thresholds> {
        self.thresholds.as_ref()
    }

    /// Covariances of the errors of some plants' breeding values, a matrix a trait; 0 for a plant outside the kinship.
    pub(super) fn errors(&self, plants: &[Id<Genotype>]) -> Vec<Covariance> {
        let places: Vec<Option<usize>> = plants
            .iter()
            .map(|plant| self.kinship.index(*plant))
            .collect();
        let of_trait = |known: &TraitKnowledge| {
            let mut errors = Covariance::zeros(plants.len());
            for (row, one) in places.iter().enumerate() {
                for (column, other) in places[..=row].iter().enumerate() {
                    if let (Some(one), Some(other)) = (one, other) {
                        errors.set(row, column, known.error_covariance(*one, *other));
                    }
                }
            }
            errors
        };
        self.knowledge.traits.iter().map(of_trait).collect()
    }

    /// How well a plant's traits are known, 0 to 1: the accuracy of its breeding values, weighed as the goals weigh the
    /// traits.
    pub fn accuracy(&self, plant: Id<Genotype>) -> f64 {
        let Some(index) = self.kinship.index(plant) else {
            return 0.0;
        };
        let (mut sum, mut all) = (0.0, 0.0);
        for (goal, known) in self.goals.traits.iter().zip(&self.knowledge.traits) {
            sum += goal.weight * known.values[index].accuracy;
            all += goal.weight;
        }
        if all > 0.0 { sum / all } else { 0.0 }
    }

    /// The pair of these two.
    pub fn pair(&self, female: Id<Genotype>, male: Id<Genotype>) -> Option<&Candidate> {
        self.pairs
            .iter()
            .find(|pair| pair.female == female && pair.pollen.male == male)
    }

    /// A seed parent, by the plant.
    pub fn female(&self, plant: Id<Genotype>) -> Option<&Parent> {
        self.females.iter().find(|parent| parent.plant == plant)
    }

    /// A giver of pollen, by the plant.
    pub fn male(&self, plant: Id<Genotype>) -> Option<&Parent> {
        self.males.iter().find(|parent| parent.plant == plant)
    }

    /// How many pairs are not offered for each reason.
    pub fn reasons(&self) -> BTreeMap<&'static str, usize> {
        let mut reasons = BTreeMap::new();
        for pair in &self.pairs {
            let mut words: Vec<_> = pair.exclusions.iter().map(Exclusion::words).collect();
            words.dedup();
            for each in words {
                *reasons.entry(each).or_default() += 1;
            }
        }
        reasons
    }
}

/// A parent in the kinship.
struct Place {
    index: usize,
    mate: Mate,
}

impl Place {
    fn of(project: &Project, kinship: &Kinship, plant: Id<Genotype>) -> Option<Self> {
        let index = kinship.index(plant)?;
        let sets = project.genotypes().get(plant)?.ploidy.0;
        Some(Self {
            index,
            mate: Mate {
                ploidy: quant::kinship::Ploidy::new(sets)?,
                inbreeding: kinship.numbers().inbreeding(index),
            },
        })
    }
}

/// How the traits add up to the index.
pub(super) struct Scales {
    /// What one unit of each trait counts.
    pub(super) weights: Vec<f64>,
    /// Variance of the index among breeding values.
    pub(super) genetic: f64,
    /// Variance that single records of all traits have beside it.
    pub(super) residual: f64,
}

impl Scales {
    pub(super) fn of(project: &Project, goals: &Goals, knowledge: &Knowledge) -> Self {
        let weights = index_weights(project, goals, knowledge);
        let sum = |deviation: &dyn Fn(usize) -> f64| {
            let mut sum = 0.0;
            for (i, one) in weights.iter().enumerate() {
                for (j, other) in weights.iter().enumerate() {
                    sum += one
                        * other
                        * knowledge.correlations.get(i, j)
                        * deviation(i)
                        * deviation(j);
                }
            }
            sum.max(0.0)
        };
        Self {
            genetic: sum(&|place| knowledge.traits[place].deviation().unwrap_or_default()),
            residual: sum(&|place| knowledge.traits[place].residual.sqrt()),
            weights,
        }
    }

    /// How well a record of each trait seen by then tells the true index within a family, year by year in which a trait
    /// is first seen; the last is `all`.
    pub(super) fn stage_accuracies(
        &self,
        knowledge: &Knowledge,
        goals: &Goals,
        mendelian: f64,
        all: f64,
    ) -> Vec<f64> {
        let mut years: Vec<u8> = goals
            .traits
            .iter()
            .zip(&self.weights)
            .filter(|(_, weight)| **weight != 0.0)
            .map(|(goal, _)| goal.seen_in())
            .collect();
        years.sort_unstable();
        years.dedup();
        let genetic = |place: usize| knowledge.traits[place].deviation().unwrap_or_default();
        let other = |place: usize| knowledge.traits[place].residual.sqrt();
        let between = |rows: &dyn Fn(usize) -> bool,
                       columns: &dyn Fn(usize) -> bool,
                       deviation: &dyn Fn(usize) -> f64| {
            let mut sum = 0.0;
            for (i, one) in self.weights.iter().enumerate().filter(|each| rows(each.0)) {
                for (j, two) in self
                    .weights
                    .iter()
                    .enumerate()
                    .filter(|each| columns(each.0))
                {
                    let correlation = knowledge.correlations.get(i, j);
                    sum += one * two * correlation * deviation(i) * deviation(j);
                }
            }
            sum
        };
        let mut best = 0.0_f64;
        let last = years.len().saturating_sub(1);
        let mut found: Vec<f64> = years[..last]
            .iter()
            .map(|year| {
                let seen = |place: usize| goals.traits[place].seen_in() <= *year;
                let covariance = mendelian * between(&seen, &|_| true, &genetic);
                let variance =
                    mendelian * between(&seen, &seen, &genetic) + between(&seen, &seen, &other);
                let whole = mendelian * self.genetic;
                let accuracy = covariance / (variance * whole).sqrt();
                if accuracy.is_finite() {
                    best = best.max(accuracy.min(all));
                }
                best
            })
            .collect();
        found.push(all);
        found
    }

    /// The index of a plant's breeding values.
    fn merit(&self, knowledge: &Knowledge, plant: Option<usize>) -> f64 {
        let value = |(weight, known): (&f64, &super::TraitKnowledge)| {
            plant.map_or(0.0, |plant| weight * known.values[plant].value)
        };
        self.weights.iter().zip(&knowledge.traits).map(value).sum()
    }
}

/// What pairs are calculated from.
struct Expected<'a> {
    knowledge: &'a Knowledge,
    scales: &'a Scales,
    goals: &'a Goals,
    program: (f64, &'a [f64]),
    /// Room for the errors of a pair's traits.
    errors: Vec<f64>,
    /// Accuracies of selection in stages, by the Mendelian share.
    in_stages: Vec<(f64, f64)>,
}

impl Expected<'_> {
    /// The accuracy that selection among [`FAMILY`] seedlings comes to in stages, where some traits are seen in later years
    /// than others; `all` is that of one decision on a record of each trait.
    fn in_stages(&mut self, mendelian: f64, all: f64) -> f64 {
        let place = self
            .in_stages
            .iter()
            .position(|known| known.0.to_bits() == mendelian.to_bits());
        if let Some(place) = place {
            return self.in_stages[place].1;
        }
        let accuracies = self
            .scales
            .stage_accuracies(self.knowledge, self.goals, mendelian, all);
        let accuracy = super::stages::accuracy_in_stages(&accuracies, FAMILY);
        self.in_stages.push((mendelian, accuracy));
        accuracy
    }

    fn pair(
        &mut self,
        female: &Parent,
        male: &Parent,
        mother: &Place,
        father: &Place,
        coancestry: f64,
    ) -> Candidate {
        let mut candidate = Candidate {
            female: female.plant,
            pollen: male.pollen(),
            exclusions: why_not(female, male),
            ploidy: None,
            mendelian: 0.0,
            transmitted: [0.0; 2],
            traits: vec![None; self.knowledge.traits.len()],
            index: Outlook::default(),
            accuracy: 0.0,
            reaches_all: None,
            relatedness: Relatedness {
                of_parents: coancestry,
                inbreeding: coancestry,
                to_program: 0.0,
                added: 0.0,
            },
            sources: [female, male].map(|parent| parent.sources.len()),
            bad_case: None,
        };
        let Some(offspring) = Offspring::of(mother.mate, father.mate, coancestry, 0.0) else {
            return candidate;
        };
        candidate.ploidy = Some(Ploidy(offspring.ploidy.sets()));
        candidate.mendelian = offspring.mendelian;
        candidate.transmitted = offspring.transmitted;
        self.values(&mut candidate, &offspring, [mother.index, father.index]);
        let (program, with_program) = self.program;
        let to_program = offspring.shares[0] * with_program[mother.index]
            + offspring.shares[1] * with_program[father.index];
        candidate.relatedness = Relatedness {
            of_parents: coancestry,
            inbreeding: offspring.inbreeding,
            to_program,
            added: to_program - program,
        };
        // What floating point leaves of 1/8 must not exclude half sibs where they are accepted.
        if offspring.inbreeding > self.goals.inbreeding + 1e-9 {
            candidate.exclusions.push(Exclusion::Inbred {
                inbreeding: offspring.inbreeding,
                accepted: self.goals.inbreeding,
            });
        }
        candidate
    }

    fn values(&mut self, candidate: &mut Candidate, offspring: &Offspring, parents: [usize; 2]) {
        let [from_mother, from_father] = offspring.transmitted;
        let errors = &mut self.errors;
        errors.clear();
        errors.resize(self.knowledge.traits.len(), 0.0);
        for (place, known) in self.knowledge.traits.iter().enumerate() {
            let (Some(base), Some(additive)) = (known.base, known.additive) else {
                continue;
            };
            let [mother, father] = parents.map(|parent| known.values[parent]);
            let between =
                |one: usize, other: usize| known.error_covariance(parents[one], parents[other]);
            let error = from_mother * from_mother * between(0, 0)
                + 2.0 * from_mother * from_father * between(0, 1)
                + from_father * from_father * between(1, 1);
            let error = error.max(0.0).sqrt();
            let gain = from_mother * mother.value + from_father * father.value;
            errors[place] = self.scales.weights[place] * error;
            candidate.index.mean += self.scales.weights[place] * gain;
            candidate.traits[place] = Some(Outlook {
                mean: base + gain,
                standard_error: error,
                spread: (offspring.mendelian * additive).sqrt(),
            });
        }
        let mut variance = 0.0;
        for (i, one) in errors.iter().enumerate() {
            let correlated = (0..i).map(|j| errors[j] * self.knowledge.correlations.get(i, j));
            variance += one * (one + 2.0 * correlated.sum::<f64>());
        }
        candidate.index.standard_error = variance.max(0.0).sqrt();
        let genetic = offspring.mendelian * self.scales.genetic;
        candidate.index.spread = genetic.sqrt();
        if genetic > 0.0 {
            let all = (genetic / (genetic + self.scales.residual)).sqrt();
            candidate.accuracy = self.in_stages(offspring.mendelian, all);
        }
    }
}

//! The thresholds of the goals, all that a seedling must reach, and the chance that it does.

use super::{Goals, Knowledge, Outlook};
use crate::{Id, Project, Trait};
use quant::chance::{Chance, Rate, multivariate_normal_probability};
use quant::evaluation::Covariance;
use quant::mating::Uncertainty;

/// One threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Threshold {
    /// Of a trait, in its unit.
    Trait(Id<Trait>, f64),
    /// Of the index, in its points.
    Index(f64),
}

/// All thresholds of the goals, as bounds of sums of traits.
#[derive(Debug, Clone, PartialEq)]
pub struct Thresholds {
    each: Vec<Threshold>,
    /// What each trait counts in each threshold's sum: 1 or -1 for a threshold of a trait, by which way is better.
    coefficients: Vec<Vec<f64>>,
    /// What the sum must reach; of the index, from the base.
    least: Vec<f64>,
    /// Values of an unselected plant that are taken off first.
    base: Vec<Vec<f64>>,
    /// Covariances of breeding values between the sums.
    genetic: Covariance,
    /// What the sums vary by beside breeding values: see [`Uncertainty::beside`].
    beside: Covariance,
    correlations: Covariance,
}

impl Thresholds {
    /// The thresholds that the goals set, by order of the goals, the index last. `None` where there are none, or one
    /// is of a trait of which too little is known.
    pub fn of(project: &Project, goals: &Goals, knowledge: &Knowledge) -> Option<Self> {
        let count = goals.traits.len();
        let deviation = |place: usize| knowledge.traits[place].deviation();
        let mut found = Self {
            each: Vec::new(),
            coefficients: Vec::new(),
            least: Vec::new(),
            base: Vec::new(),
            genetic: Covariance::zeros(0),
            beside: Covariance::zeros(0),
            correlations: knowledge.correlations.clone(),
        };
        for (place, goal) in goals.traits.iter().enumerate() {
            let Some(threshold) = goal.threshold else {
                continue;
            };
            (deviation(place).is_some() && knowledge.traits[place].base.is_some()).then_some(())?;
            let sign = goal.sign(project);
            let mut row = vec![0.0; count];
            row[place] = sign;
            found.each.push(Threshold::Trait(goal.of_trait, threshold));
            found.coefficients.push(row);
            found.least.push(sign * threshold);
            found.base.push(vec![0.0; count]);
        }
        if let Some(points) = goals.index {
            let weights = index_weights(project, goals, knowledge);
            weights.iter().any(|weight| *weight != 0.0).then_some(())?;
            found.each.push(Threshold::Index(points));
            found.coefficients.push(weights);
            found.least.push(points);
            found.base.push(
                knowledge
                    .traits
                    .iter()
                    .map(|each| each.base.unwrap_or_default())
                    .collect(),
            );
        }
        if found.each.is_empty() {
            return None;
        }
        let deviations: Vec<f64> = (0..count)
            .map(|place| deviation(place).unwrap_or_default())
            .collect();
        found.genetic = found.between(&deviations, found.each.len());
        found.beside = Covariance::zeros(found.each.len());
        Some(found)
    }

    /// The same, and beside each threshold of a trait that is seen in an earlier year than the last trait of the goals
    /// the one that a single record of it reaches the threshold too: seedlings that don't show it are taken not to be
    /// kept until the last trait is seen. `None` where all are seen in one year.
    pub(super) fn with_looks(&self, goals: &Goals, knowledge: &Knowledge) -> Option<Self> {
        let last = last_look(goals)?;
        let mut found = self.clone();
        let mut residual = vec![0.0; self.each.len()];
        for (nth, each) in self.each.iter().enumerate() {
            let Threshold::Trait(of_trait, _) = each else {
                continue;
            };
            let place = goals
                .traits
                .iter()
                .position(|goal| goal.of_trait == *of_trait)?;
            if goals.traits[place].seen_in() >= last {
                continue;
            }
            found.each.push(*each);
            found.coefficients.push(self.coefficients[nth].clone());
            found.least.push(self.least[nth]);
            found.base.push(self.base[nth].clone());
            residual.push(knowledge.traits[place].residual);
        }
        (found.each.len() > self.each.len()).then_some(())?;
        let deviations: Vec<f64> = knowledge
            .traits
            .iter()
            .map(|known| known.deviation().unwrap_or_default())
            .collect();
        found.genetic = found.between(&deviations, found.each.len());
        found.beside = Covariance::diagonal(&residual);
        Some(found)
    }

    /// The thresholds that a record must reach for a seedling to be kept until the last look, of [`Self::with_looks`].
    pub(super) fn looks(&self) -> impl Iterator<Item = &Threshold> {
        let by_record = (0..self.each.len()).filter(|nth| self.beside.get(*nth, *nth) > 0.0);
        by_record.map(|nth| &self.each[nth])
    }

    /// The thresholds.
    pub fn each(&self) -> &[Threshold] {
        &self.each
    }

    /// The chance that a seedling reaches the first `count` thresholds, and that two seedlings of the family both do.
    /// `mendelian` is the family's share of the genetic variance. `None` where a trait's outlook is missing.
    pub(super) fn chance(
        &self,
        outlooks: &[Option<Outlook>],
        mendelian: f64,
        count: usize,
        sibs: usize,
        tolerance: f64,
    ) -> Option<Chance> {
        let known: Vec<Outlook> = outlooks
            .iter()
            .map(|each| each.unwrap_or_default())
            .collect();
        let errors: Vec<f64> = known.iter().map(|each| each.standard_error).collect();
        let shared = self.between(&errors, count);
        let mut lower = Vec::with_capacity(count * sibs);
        for threshold in 0..count {
            let mut mean = 0.0;
            for (place, coefficient) in self.coefficients[threshold].iter().enumerate() {
                if *coefficient != 0.0 {
                    outlooks[place]?;
                    mean += coefficient * (known[place].mean - self.base[threshold][place]);
                }
            }
            lower.push(self.least[threshold] - mean);
        }
        let mut covariances = Covariance::zeros(count * sibs);
        for a in 0..count * sibs {
            for b in 0..=a {
                let (one, other) = (a % count, b % count);
                let own = if a / count == b / count {
                    mendelian * self.genetic.get(one, other) + self.beside.get(one, other)
                } else {
                    0.0
                };
                covariances.set(a, b, shared.get(one, other) + own);
            }
        }
        let lower = lower.repeat(sibs);
        let upper = vec![f64::INFINITY; lower.len()];
        multivariate_normal_probability(&lower, &upper, &covariances, tolerance)
    }

    /// For each threshold, the rate at which seedlings that reached those before it reach it too: Beta, so that means
    /// and variances of the products are those of the normal model. What isn't known of the parents is shared by a
    /// family, so that its seedlings pass or fail together: that is the variance.
    pub fn rates(&self, outlooks: &[Option<Outlook>], mendelian: f64) -> Option<Vec<Rate>> {
        const TOLERANCE: f64 = 5e-4;
        let (mut before, mut before_both) = (1.0, 1.0);
        (1..=self.each.len())
            .map(|count| {
                let one = self.chance(outlooks, mendelian, count, 1, TOLERANCE)?.value;
                let both = self.chance(outlooks, mendelian, count, 2, TOLERANCE)?.value;
                let mean = share(one, before);
                let square = share(both, before_both);
                (before, before_both) = (one, both);
                Some(Rate::of_moments(mean, (square - mean * mean).max(1e-9)))
            })
            .collect()
    }

    /// How far the expected mean of a family lies above each threshold; `None` where a trait's outlook is missing.
    pub(super) fn margins(&self, outlooks: &[Option<Outlook>]) -> Option<Vec<f64>> {
        (0..self.each.len())
            .map(|threshold| {
                let mut mean = 0.0;
                for (place, coefficient) in self.coefficients[threshold].iter().enumerate() {
                    if *coefficient != 0.0 {
                        mean += coefficient * (outlooks[place]?.mean - self.base[threshold][place]);
                    }
                }
                Some(mean - self.least[threshold])
            })
            .collect()
    }

    /// What isn't known of parents, whose breeding values have errors of these covariances, a matrix a trait.
    pub(super) fn uncertainty(&self, errors: Vec<Covariance>) -> Uncertainty {
        Uncertainty {
            thresholds: self.coefficients.clone(),
            genetic: self.genetic.clone(),
            beside: self.beside.clone(),
            correlations: self.correlations.clone(),
            errors,
        }
    }

    /// Covariances between the first `count` sums of traits with these deviations.
    fn between(&self, deviations: &[f64], count: usize) -> Covariance {
        let mut sums = Covariance::zeros(count);
        for a in 0..count {
            for b in 0..=a {
                let mut sum = 0.0;
                for (i, one) in self.coefficients[a].iter().enumerate() {
                    for (j, other) in self.coefficients[b].iter().enumerate() {
                        if *one != 0.0 && *other != 0.0 {
                            sum += one
                                * other
                                * self.correlations.get(i, j)
                                * deviations[i]
                                * deviations[j];
                        }
                    }
                }
                sums.set(a, b, sum);
            }
        }
        sums
    }
}

/// The year in which the last trait that matters is seen; `None` where all are seen in one year.
fn last_look(goals: &Goals) -> Option<u8> {
    let years = || {
        let matter = |goal: &&super::TraitGoal| goal.weight != 0.0 || goal.threshold.is_some();
        goals
            .traits
            .iter()
            .filter(matter)
            .map(super::TraitGoal::seen_in)
    };
    let last = years().max()?;
    (years().min()? < last).then_some(last)
}

fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

/// What one unit of each trait counts in the index: its weight over the standard deviation of breeding values, below
/// 0 where less is better; 0 where too little is known.
pub(super) fn index_weights(project: &Project, goals: &Goals, knowledge: &Knowledge) -> Vec<f64> {
    goals
        .traits
        .iter()
        .zip(&knowledge.traits)
        .map(|(goal, known)| match (known.deviation(), known.base) {
            (Some(deviation), Some(_)) => goal.sign(project) * goal.weight / deviation,
            _ => 0.0,
        })
        .collect()
}

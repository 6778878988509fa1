//! Plants culled on an early score have no later records. With the early score in the model the
//! later trait is judged as if none had been culled; without it, it is not.

use quant::evaluation::{
    Components, Covariance, FixedEffect, Model, Observations, Prediction, RandomEffect, Role,
};

use crate::pedigree::{Parents, relationship};
use crate::random::Random;

const MALES: usize = 8;
const FEMALES: usize = 8;
const FAMILY: usize = 12;
const LATE_MEAN: f64 = 100.0;

/// One male with two females each, and their seedlings.
fn pedigree() -> Vec<Parents> {
    let mut pedigree = vec![[None, None]; MALES + FEMALES];
    for family in 0..2 * MALES {
        let (male, female) = (family / 2, MALES + (family * 3) % FEMALES);
        pedigree.extend([[Some(female), Some(male)]; FAMILY]);
    }
    pedigree
}

/// Variances of the early and the late trait: heritability 0.4 and 0.5, genetic correlation 0.8.
fn components() -> Components {
    Components::new(
        vec![Covariance::from_lower(&[4.0, 8.0, 25.0]).unwrap()],
        Covariance::from_lower(&[6.0, 3.0, 25.0]).unwrap(),
    )
}

/// A pair of deviates with a covariance matrix, times a spread.
fn pair(random: &mut Random, covariance: &Covariance, spread: f64) -> [f64; 2] {
    let (x, z) = (random.normal(), random.normal());
    let first = covariance.get(0, 0).sqrt();
    let slope = covariance.get(0, 1) / first;
    let rest = (covariance.get(1, 1) - slope * slope).sqrt();
    [spread * first * x, spread * (slope * x + rest * z)]
}

struct Program {
    pedigree: Vec<Parents>,
    breeding: Vec<[f64; 2]>,
    /// Early and late values of the seedlings, all of them.
    early: Vec<f64>,
    late: Vec<f64>,
    kept: Vec<bool>,
}

impl Program {
    /// Scores every seedling early and keeps the best quarter for the later trait.
    fn simulated(random: &mut Random) -> Self {
        let (pedigree, components) = (pedigree(), components());
        let mut breeding: Vec<[f64; 2]> = Vec::new();
        let (mut early, mut late) = (Vec::new(), Vec::new());
        for parents in &pedigree {
            let [female, male] = *parents;
            let spread = if female.is_some() {
                0.5_f64.sqrt()
            } else {
                1.0
            };
            let own = pair(random, &components.effects[0], spread);
            let of_parents = |a: usize| {
                [female, male]
                    .into_iter()
                    .flatten()
                    .map(|p| 0.5 * breeding[p][a])
                    .sum::<f64>()
            };
            let value = [own[0] + of_parents(0), own[1] + of_parents(1)];
            if female.is_some() {
                let residual = pair(random, components.residual(), 1.0);
                early.push(5.0 + value[0] + residual[0]);
                late.push(LATE_MEAN + value[1] + residual[1]);
            }
            breeding.push(value);
        }
        let mut sorted = early.clone();
        sorted.sort_by(f64::total_cmp);
        let threshold = sorted[early.len() * 3 / 4];
        let kept = early.iter().map(|&score| score >= threshold).collect();
        Self {
            pedigree,
            breeding,
            early,
            late,
            kept,
        }
    }

    fn seedlings(&self) -> Vec<usize> {
        (MALES + FEMALES..self.pedigree.len()).collect()
    }

    fn additive(&self) -> Vec<RandomEffect> {
        let relationship = relationship(&self.pedigree);
        vec![RandomEffect::related(
            Role::Additive,
            &self.seedlings(),
            relationship,
        )]
    }

    fn late_if_kept(&self, seedling: usize) -> Option<f64> {
        self.kept[seedling].then_some(self.late[seedling])
    }

    /// The late mean and the late breeding values, from both traits.
    fn with_early_scores(&self) -> (f64, Vec<Prediction>) {
        let records = self.early.len();
        let values = (0..records).flat_map(|i| [Some(self.early[i]), self.late_if_kept(i)]);
        let observations = Observations::new(2, values.collect()).unwrap();
        let model = Model::new(
            observations,
            vec![FixedEffect::mean(records)],
            self.additive(),
        )
        .unwrap();
        let solution = model.solve(&components()).unwrap();
        let breeding = (0..self.pedigree.len()).map(|plant| solution.random(0, plant, 1));
        (solution.fixed(0, 0, 1).unwrap().value, breeding.collect())
    }

    /// The same from the late trait alone.
    fn without_early_scores(&self) -> (f64, Vec<Prediction>) {
        let records = self.early.len();
        let values = (0..records).map(|i| self.late_if_kept(i)).collect();
        let observations = Observations::single(values).unwrap();
        let model = Model::new(
            observations,
            vec![FixedEffect::mean(records)],
            self.additive(),
        )
        .unwrap();
        let solution = model.solve(&Components::single(&[25.0], 25.0)).unwrap();
        let breeding = (0..self.pedigree.len()).map(|plant| solution.random(0, plant, 0));
        (solution.fixed(0, 0, 0).unwrap().value, breeding.collect())
    }
}

/// Mean and standard error.
fn summary(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (mean, (squares / (count - 1.0) / count).sqrt())
}

fn correlation(left: &[f64], right: &[f64]) -> f64 {
    let ((x, _), (z, _)) = (summary(left), summary(right));
    let products = |l: &[f64], r: &[f64], m: f64, n: f64| -> f64 {
        l.iter().zip(r).map(|(l, r)| (l - m) * (r - n)).sum()
    };
    products(left, right, x, z) / (products(left, left, x, x) * products(right, right, z, z)).sqrt()
}

#[test]
fn early_scores_take_the_bias_of_selection_out_of_the_later_trait() {
    let mut random = Random::new(1975);
    let (mut with, mut without) = (Vec::new(), Vec::new());
    let (mut culled, mut males, mut males_blind) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..60 {
        let program = Program::simulated(&mut random);
        let true_males: Vec<f64> = (0..MALES).map(|male| program.breeding[male][1]).collect();
        let of_males = |found: &[Prediction]| -> Vec<f64> {
            found[..MALES]
                .iter()
                .map(|prediction| prediction.value)
                .collect()
        };

        let (mean, found) = program.with_early_scores();
        with.push(mean - LATE_MEAN);
        males.push(correlation(&of_males(&found), &true_males));
        // The culled have no late record, and are still predicted without bias.
        let mut errors = Vec::new();
        for (seedling, &plant) in program.seedlings().iter().enumerate() {
            if !program.kept[seedling] {
                errors.push(mean - LATE_MEAN + found[plant].value - program.breeding[plant][1]);
            }
        }
        culled.push(summary(&errors).0);

        let (mean, found) = program.without_early_scores();
        without.push(mean - LATE_MEAN);
        males_blind.push(correlation(&of_males(&found), &true_males));
    }
    let ((bias, error), (blind_bias, blind_error)) = (summary(&with), summary(&without));
    assert!(bias.abs() < 3.0 * error, "biased by {bias} ± {error}");
    assert!(
        blind_bias > 10.0 * blind_error,
        "only {blind_bias} ± {blind_error} without scores"
    );
    let (bias, error) = summary(&culled);
    assert!(
        bias.abs() < 3.0 * error,
        "the culled are biased by {bias} ± {error}"
    );
    // Males have no records of their own: their value comes through their progeny.
    let (seeing, blind) = (summary(&males).0, summary(&males_blind).0);
    assert!(
        seeing > 0.7 && seeing > blind,
        "males: {seeing} with scores, {blind} without"
    );
}

//! Estimates over many simulated programs: right on average, and as variable as they claim.
//!
//! `cargo test --release -p binewright-tests --test evaluation --features slow -- simulation`

use quant::evaluation::{
    Components, Covariance, Fit, FixedEffect, Model, Observations, RandomEffect, Role,
};

use crate::pedigree::{Parents, relationship};
use crate::random::Random;

const REPLICATES: usize = 400;

/// Unrelated parents, each male with several females, and the seedlings of each cross.
fn program(males: usize, females: usize, crosses: usize, family: usize) -> Vec<Parents> {
    let mut pedigree = vec![[None, None]; males + females];
    for cross in 0..crosses {
        let (male, female) = (cross % males, males + (cross * 7 / 3) % females);
        pedigree.extend(std::iter::repeat_n([Some(female), Some(male)], family));
    }
    pedigree
}

/// Draws values for each trait from a covariance matrix of up to two traits.
fn draw(random: &mut Random, covariance: &Covariance, spread: f64) -> Vec<f64> {
    let first = covariance.get(0, 0).sqrt();
    let x = random.normal();
    let mut values = vec![spread * first * x];
    if covariance.order() == 2 {
        let slope = covariance.get(0, 1) / first;
        let rest = (covariance.get(1, 1) - slope * slope).sqrt();
        values.push(spread * (slope * x + rest * random.normal()));
    }
    values
}

fn breeding_values(random: &mut Random, pedigree: &[Parents], g: &Covariance) -> Vec<Vec<f64>> {
    let mut values: Vec<Vec<f64>> = Vec::new();
    for parents in pedigree {
        let known: Vec<usize> = parents.iter().copied().flatten().collect();
        // Parents are founders here: not inbred, so each unknown half adds its full share.
        let mut value = draw(random, g, (1.0 - 0.25 * known.len() as f64).sqrt());
        for parent in known {
            value
                .iter_mut()
                .zip(&values[parent])
                .for_each(|(own, theirs)| *own += 0.5 * theirs);
        }
        values.push(value);
    }
    values
}

/// One estimated number over the replicates, against its true value.
#[derive(Default)]
struct Tally {
    estimates: Vec<f64>,
    variances: Vec<f64>,
}

impl Tally {
    fn add(&mut self, fit: &Fit, component: usize, a: usize, b: usize) {
        self.estimates
            .push(fit.components().get(component).get(a, b));
        self.variances.extend(
            fit.standard_error(component, a, b)
                .map(|error| error * error),
        );
    }

    /// The mean must be within three of its standard errors, and the standard errors within a
    /// fifth of the spread seen.
    #[expect(clippy::print_stderr, reason = "the figures are for whoever runs it")]
    fn check(&self, name: &str, truth: f64) {
        let count = self.estimates.len() as f64;
        let mean = self.estimates.iter().sum::<f64>() / count;
        let spread = (self
            .estimates
            .iter()
            .map(|x| (x - mean).powi(2))
            .sum::<f64>()
            / (count - 1.0))
            .sqrt();
        let claimed = (self.variances.iter().sum::<f64>() / self.variances.len() as f64).sqrt();
        let error = spread / count.sqrt();
        eprintln!(
            "{name}: true {truth}, mean {mean:.4} ± {error:.4}, spread {spread:.4}, claimed {claimed:.4}"
        );
        assert!((mean - truth).abs() < 3.0 * error, "{name} is biased");
        assert!(
            (claimed / spread - 1.0).abs() < 0.2,
            "{name} claims another spread"
        );
    }
}

/// Additive, clonal and plot variance from clones in replicated plots, some plots lost.
#[test]
fn variances_of_replicated_clones_are_recovered() {
    let pedigree = program(10, 10, 30, 10);
    let plants: Vec<usize> = (20..pedigree.len()).collect();
    let truth = Components::single(&[6.0, 3.0], 4.0);
    let mut random = Random::new(2012);
    let mut tallies = [Tally::default(), Tally::default(), Tally::default()];
    for _ in 0..REPLICATES {
        let additive = breeding_values(&mut random, &pedigree, &truth.effects[0]);
        let (mut level, mut block, mut values) = (Vec::new(), Vec::new(), Vec::new());
        for &plant in &plants {
            let clonal = 3.0_f64.sqrt() * random.normal();
            for replicate in 0..3 {
                level.push(plant);
                block.push(replicate);
                let value =
                    50.0 + replicate as f64 + additive[plant][0] + clonal + 2.0 * random.normal();
                values.push((!random.chance(0.15)).then_some(value));
            }
        }
        let model = Model::new(
            Observations::single(values).unwrap(),
            vec![FixedEffect::Factor {
                level: block,
                levels: 3,
            }],
            vec![
                RandomEffect::related(Role::Additive, &level, relationship(&pedigree)),
                RandomEffect::independent(Role::Clonal, &level, pedigree.len()),
            ],
        )
        .unwrap();
        let fit = model.estimate().unwrap();
        for (component, tally) in tallies.iter_mut().enumerate() {
            tally.add(&fit, component, 0, 0);
        }
    }
    for (component, name) in ["additive", "clonal", "residual"].into_iter().enumerate() {
        tallies[component].check(name, truth.get(component).get(0, 0));
    }
}

/// An early and a late trait; only the best third by the early one live to show the late one.
#[test]
fn covariances_are_recovered_through_culling() {
    let pedigree = program(12, 12, 36, 20);
    let plants: Vec<usize> = (24..pedigree.len()).collect();
    let truth = Components::new(
        vec![Covariance::from_lower(&[5.0, 6.0, 20.0]).unwrap()],
        Covariance::from_lower(&[5.0, 2.0, 20.0]).unwrap(),
    );
    let mut random = Random::new(1975);
    let mut tallies: Vec<Tally> = (0..6).map(|_| Tally::default()).collect();
    let entries = [(0, 0), (1, 0), (1, 1)];
    for _ in 0..REPLICATES / 2 {
        let breeding = breeding_values(&mut random, &pedigree, &truth.effects[0]);
        let seen: Vec<[f64; 2]> = plants
            .iter()
            .map(|&plant| {
                let residual = draw(&mut random, truth.residual(), 1.0);
                [0, 1].map(|a| 10.0 + breeding[plant][a] + residual[a])
            })
            .collect();
        let mut early: Vec<f64> = seen.iter().map(|values| values[0]).collect();
        early.sort_by(f64::total_cmp);
        let threshold = early[early.len() * 2 / 3];
        let values = seen
            .iter()
            .flat_map(|&[early, late]| [Some(early), (early >= threshold).then_some(late)]);
        let model = Model::new(
            Observations::new(2, values.collect()).unwrap(),
            vec![FixedEffect::mean(plants.len())],
            vec![RandomEffect::related(
                Role::Additive,
                &plants,
                relationship(&pedigree),
            )],
        )
        .unwrap();
        let fit = model.estimate().unwrap();
        for (n, tally) in tallies.iter_mut().enumerate() {
            let (a, b) = entries[n % 3];
            tally.add(&fit, n / 3, a, b);
        }
    }
    for (n, tally) in tallies.iter().enumerate() {
        let (component, (a, b)) = (n / 3, entries[n % 3]);
        let name = format!("component {component}, traits {a} and {b}");
        tally.check(&name, truth.get(component).get(a, b));
    }
}

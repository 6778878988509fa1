//! Time to evaluate a hop-shaped program, by size, and against a dense solve in the same run.
//!
//! Each generation a few plants are chosen as parents and crossed into large families of full
//! sibs. Half of the plants have records: six plots each, in one of three seasons and ten sites.

#![expect(clippy::print_stdout, reason = "a bench reports to the terminal")]

use std::error::Error;
use std::time::Instant;

use faer::Mat;
use faer::prelude::Solve as _;
use quant::evaluation::{
    Components, EvaluationError, FixedEffect, Model, Observations, RandomEffect, Relationship, Role,
};
use quant::kinship::{Assumptions, Genotype, Kinship, Pedigree, PedigreeError, Ploidy};

/// Additive, clonal and residual.
const VARIANCES: [f64; 3] = [2.0, 1.0, 3.0];
const FAMILY: usize = 100;
const SITES: usize = 10;
const SEASONS: usize = 3;

/// A reproducible stream (Steele, Lea & Flood 2014).
struct Stream(u64);

impl Stream {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, end: usize) -> usize {
        (self.next() * end as f64) as usize
    }
}

/// Parents of each plant: founders, then ten generations of families from chosen parents.
fn pedigree(size: usize, stream: &mut Stream) -> Vec<Option<[usize; 2]>> {
    let founders = (size / 500).max(8);
    let generation = size.div_ceil(10);
    let mut parents: Vec<Option<[usize; 2]>> = vec![None; founders];
    let (mut from, mut to) = (0, founders);
    while parents.len() < size {
        let chosen: Vec<usize> = (0..(generation / 200).max(4))
            .map(|_| from + stream.below(to - from))
            .collect();
        from = parents.len();
        while parents.len() < size.min(from + generation) {
            let pair = [0, 1].map(|_| chosen[stream.below(chosen.len())]);
            if pair[0] != pair[1] {
                let family = FAMILY.min(size - parents.len());
                parents.extend(std::iter::repeat_n(Some(pair), family));
            }
        }
        to = parents.len();
    }
    parents
}

fn kinship(parents: &[Option<[usize; 2]>]) -> Result<Kinship, PedigreeError> {
    let genotypes = parents.iter().map(|pair| match *pair {
        Some([female, male]) => Genotype::diploid(Some(female), Some(male)),
        None => Genotype::founder(Ploidy::DIPLOID),
    });
    Ok(Kinship::new(Pedigree::new(
        genotypes,
        &Assumptions::default(),
    )?))
}

/// A program with simulated breeding values and its kinship.
struct Program {
    kinship: Kinship,
    plant: Vec<usize>,
    values: Vec<Option<f64>>,
}

impl Program {
    fn new(size: usize) -> Result<Self, PedigreeError> {
        let mut stream = Stream(size as u64);
        let parents = pedigree(size, &mut stream);
        let kinship = kinship(&parents)?;
        // Sums of uniform deviates, of variance 1, serve for normal ones.
        let mut deviate = || (0..12).map(|_| stream.next()).sum::<f64>() - 6.0;
        let mut breeding: Vec<f64> = Vec::with_capacity(size);
        for (plant, pair) in parents.iter().enumerate() {
            let average = pair.map_or(0.0, |[f, m]| 0.5 * (breeding[f] + breeding[m]));
            let spread = (VARIANCES[0] * kinship.mendelian_sampling(plant)).sqrt();
            breeding.push(average + spread * deviate());
        }
        let clonal: Vec<f64> = (0..size).map(|_| VARIANCES[1].sqrt() * deviate()).collect();
        let plant: Vec<usize> = (0..3 * size).map(|record| size - 1 - record / 6).collect();
        let values = plant
            .iter()
            .map(|&p| Some(breeding[p] + clonal[p] + VARIANCES[2].sqrt() * deviate()))
            .collect();
        Ok(Self {
            kinship,
            plant,
            values,
        })
    }

    fn model(&self, with_clones: bool) -> Result<Model, EvaluationError> {
        let season = self.plant.iter().map(|plant| plant % SEASONS).collect();
        let site = (0..self.plant.len()).map(|record| record % SITES).collect();
        let additive = Relationship::additive(&self.kinship);
        let mut random = vec![RandomEffect::related(Role::Additive, &self.plant, additive)];
        if with_clones {
            let size = self.kinship.pedigree().len();
            random.push(RandomEffect::independent(Role::Clonal, &self.plant, size));
        }
        Model::new(
            Observations::single(self.values.clone())?,
            vec![
                FixedEffect::Factor {
                    level: season,
                    levels: SEASONS,
                },
                FixedEffect::Factor {
                    level: site,
                    levels: SITES,
                },
            ],
            random,
        )
    }
}

/// The same equations dense, factorized and inverted.
fn dense(model: &Model, kinship: &Kinship, variance: f64, residual: f64) -> f64 {
    let size = kinship.pedigree().len();
    let fixed = SEASONS + SITES - 1;
    let mut left = Mat::<f64>::zeros(size + fixed, size + fixed);
    let mut right = Mat::<f64>::zeros(size + fixed, 1);
    let [
        FixedEffect::Factor { level: season, .. },
        FixedEffect::Factor { level: site, .. },
    ] = model.fixed()
    else {
        return f64::NAN;
    };
    let effect = &model.random()[0];
    for record in 0..model.observations().records() {
        let (Some(plant), Some(value)) =
            (effect.level[record], model.observations().get(record, 0))
        else {
            continue;
        };
        let mut own = vec![plant, size + season[record]];
        own.extend(
            site[record]
                .checked_sub(1)
                .map(|site| size + SEASONS + site),
        );
        for &i in &own {
            right[(i, 0)] += value / residual;
            for &j in &own {
                left[(i, j)] += 1.0 / residual;
            }
        }
    }
    for (i, j, value) in kinship.relationship_inverse().matrix.entries() {
        left[(i, j)] += value / variance;
        if i != j {
            left[(j, i)] += value / variance;
        }
    }
    let Ok(factor) = left.llt(faer::Side::Lower) else {
        return f64::NAN;
    };
    let inverse = factor.solve(Mat::<f64>::identity(size + fixed, size + fixed));
    let solution = factor.solve(&right);
    solution[(size - 1, 0)] + inverse[(size - 1, size - 1)]
}

fn seconds<T>(work: impl FnOnce() -> T) -> (T, f64) {
    let start = Instant::now();
    let result = work();
    (result, start.elapsed().as_secs_f64())
}

/// The largest memory this process has held, in MiB, where the system tells.
fn peak_memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace()
        .nth(1)?
        .parse::<f64>()
        .ok()
        .map(|kibibytes| kibibytes / 1024.0)
}

fn main() -> Result<(), Box<dyn Error>> {
    let [variance, clonal, residual] = VARIANCES;
    println!("known variances, all error variances; seconds (set up, solve) and MiB (peak so far)");
    println!(
        "{:>9} {:>9} {:>8} {:>8} {:>8}",
        "plants", "records", "set up", "solve", "memory"
    );
    for with_clones in [false, true] {
        println!(
            "{}",
            if with_clones {
                "additive and clonal effects"
            } else {
                "additive effect"
            }
        );
        for size in [1_000, 3_000, 10_000, 30_000, 100_000] {
            let program = Program::new(size)?;
            let (model, set_up) = seconds(|| program.model(with_clones));
            let model = model?;
            let variances = if with_clones {
                &[variance, clonal][..]
            } else {
                &[variance][..]
            };
            let (solution, solve) =
                seconds(|| model.solve(&Components::single(variances, residual)));
            solution?;
            let records = 3 * size;
            let memory = peak_memory().map_or(String::from("-"), |memory| format!("{memory:.0}"));
            println!("{size:>9} {records:>9} {set_up:>8.3} {solve:>8.3} {memory:>8}");
        }
    }
    println!("restricted likelihood, additive and clonal effects");
    for size in [1_000, 10_000] {
        let program = Program::new(size)?;
        let (fit, time) = seconds(|| program.model(true).and_then(|model| model.estimate()));
        let iterations = fit?.convergence().iterations;
        println!(
            "{size:>9} {:>9} {time:>8.3} in {iterations} iterations",
            3 * size
        );
    }
    println!("against a dense solve, additive effect");
    for size in [500, 1_000, 2_000] {
        let program = Program::new(size)?;
        let (solution, sparse) = seconds(|| {
            let model = program.model(false)?;
            model.solve(&Components::single(&[variance], residual))
        });
        let last = solution?.random(0, size - 1, 0);
        let model = program.model(false)?;
        let (sum, time) = seconds(|| dense(&model, &program.kinship, variance, residual));
        assert!(
            (sum - last.value - last.error_variance).abs() < 1e-8,
            "the two disagree"
        );
        println!(
            "{size:>9} {:>9} {sparse:>8.3} sparse {time:>8.3} dense",
            3 * size
        );
    }
    Ok(())
}

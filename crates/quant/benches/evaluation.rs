//! Time to evaluate a hop-shaped program, by size, and against a dense solve in the same run.
//!
//! Each generation a few plants are chosen as parents and crossed into large families of full
//! sibs. Half of the plants have records: six plots each, in one of three seasons and ten sites.

#![expect(clippy::print_stdout, reason = "a bench reports to the terminal")]

use std::time::Instant;

use faer::Mat;
use faer::prelude::Solve as _;
use quant::evaluation::{
    Components, EvaluationError, FixedEffect, Model, Observations, RandomEffect, Relationship, Role,
};

const FAMILY: usize = 100;
const SITES: usize = 10;
const SEASONS: usize = 3;

/// A reproducible stream (SplitMix64).
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

/// Henderson's inverse as if no parent were inbred: the same places as the exact one, and
/// positive definite, which is all that a timing needs.
fn relationship(parents: &[Option<[usize; 2]>]) -> Result<Relationship, EvaluationError> {
    let (mut entries, mut log_determinant) = (Vec::new(), 0.0);
    for (plant, pair) in parents.iter().enumerate() {
        let Some([first, second]) = *pair else {
            entries.push((plant, plant, 1.0));
            continue;
        };
        log_determinant += 2.0_f64.ln();
        entries.extend([
            (plant, plant, 2.0),
            (plant, first, -1.0),
            (plant, second, -1.0),
            (first, first, 0.5),
            (second, second, 0.5),
            (first.max(second), first.min(second), 0.5),
        ]);
    }
    Relationship::from_inverse(vec![1.0; parents.len()], entries, log_determinant)
}

fn model(size: usize, with_plants: bool) -> Result<Model, EvaluationError> {
    let mut stream = Stream(size as u64);
    let parents = pedigree(size, &mut stream);
    let records = 3 * size;
    let plant: Vec<usize> = (0..records).map(|record| size - 1 - record / 6).collect();
    let season = plant.iter().map(|plant| plant % SEASONS).collect();
    let site = (0..records).map(|record| record % SITES).collect();
    let values = (0..records).map(|record| {
        let family = parents[plant[record]].map_or(0.0, |[first, _]| (first % 7) as f64);
        Some(family + 4.0 * stream.next())
    });
    let values = values.collect();
    let mut random = vec![RandomEffect::related(
        Role::Additive,
        &plant,
        relationship(&parents)?,
    )];
    if with_plants {
        random.push(RandomEffect::independent(Role::Clonal, &plant, size));
    }
    Model::new(
        Observations::single(values)?,
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

/// The same equations dense, factorized and inverted.
fn dense(model: &Model, size: usize, variance: f64, residual: f64) -> f64 {
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
    effect
        .relationship
        .for_each_entry_of_inverse(|i, j, value| {
            left[(i, j)] += value / variance;
            if i != j {
                left[(j, i)] += value / variance;
            }
        });
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

fn main() -> Result<(), EvaluationError> {
    let (variance, residual) = (2.0, 3.0);
    println!("additive effect, known variances, all error variances; seconds");
    println!(
        "{:>9} {:>9} {:>8} {:>8} {:>8} {:>9}",
        "plants", "records", "set up", "solve", "dense", "peak MiB"
    );
    for size in [1_000, 3_000, 10_000, 30_000, 100_000] {
        let (model, set_up) = seconds(|| model(size, false));
        let model = model?;
        let components = Components::single(&[variance], residual);
        let (solution, solve) = seconds(|| model.solve(&components));
        let last = solution?.random(0, size - 1, 0);
        let by_dense = if size <= 3_000 {
            let (sum, time) = seconds(|| dense(&model, size, variance, residual));
            assert!((sum - last.value - last.error_variance).abs() < 1e-8);
            format!("{time:.3}")
        } else {
            String::from("-")
        };
        let memory = peak_memory().map_or(String::from("-"), |memory| format!("{memory:.0}"));
        println!(
            "{size:>9} {:>9} {set_up:>8.3} {solve:>8.3} {by_dense:>8} {memory:>9}",
            3 * size
        );
    }
    println!("additive and clonal effects");
    for size in [10_000, 100_000] {
        let (model, set_up) = seconds(|| model(size, true));
        let model = model?;
        let (solution, solve) =
            seconds(|| model.solve(&Components::single(&[variance, 1.0], residual)));
        solution?;
        println!("{size:>9} {:>9} {set_up:>8.3} {solve:>8.3}", 3 * size);
    }
    println!("restricted likelihood, additive and clonal effects");
    let size = 10_000;
    let (fit, time) = seconds(|| model(size, true).and_then(|model| model.estimate()));
    println!(
        "{size:>9} {:>9} {time:>8.3} in {} iterations",
        3 * size,
        fit?.convergence().iterations
    );
    Ok(())
}

//! Time to analyse trials, by size, and against dense matrices of all plots in the same run.

#![expect(clippy::print_stdout, reason = "a bench reports to the terminal")]

use std::error::Error;
use std::time::Instant;

use faer::prelude::Solve as _;
use faer::{Mat, Side};
use fastrand::Rng;
use quant::design::{Request, Shape, design};
use quant::evaluation::{Components, Covariance};
use quant::trial::{Entries, Factor, Space, Trial};

type Outcome<T> = Result<T, Box<dyn Error>>;

fn seconds<T>(work: impl FnOnce() -> T) -> (T, f64) {
    let start = Instant::now();
    let result = work();
    (result, start.elapsed().as_secs_f64())
}

/// A sum of uniform deviates, of variance 1, serves for a normal one.
fn deviate(rng: &mut Rng) -> f64 {
    (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0
}

/// −2 times the restricted log-likelihood by a dense V of all records, and the covariances of its fixed effects.
fn dense(values: &[f64], x: &Mat<f64>, v: &Mat<f64>) -> f64 {
    let n = values.len();
    let Ok(factor) = v.llt(Side::Lower) else {
        return f64::NAN;
    };
    let inverse = factor.solve(Mat::<f64>::identity(n, n));
    let y = Mat::from_fn(n, 1, |i, _| values[i]);
    let xv = x.transpose() * &inverse;
    let Ok(of_fixed) = (&xv * x).llt(Side::Lower) else {
        return f64::NAN;
    };
    let b = of_fixed.solve(&xv * &y);
    let residual = &y - x * &b;
    let quadratic = (residual.transpose() * &inverse * &residual)[(0, 0)];
    let log = |factor: &faer::linalg::solvers::Llt<f64>| -> f64 {
        let diagonal = factor.L().diagonal().column_vector();
        2.0 * diagonal.iter().map(|value| value.ln()).sum::<f64>()
    };
    let free = (n - x.ncols()) as f64;
    free * std::f64::consts::TAU.ln() + log(&factor) + log(&of_fixed) + quadratic
}

fn agree(one: f64, other: f64) {
    assert!(
        (one - other).abs() < 1e-6 * other.abs(),
        "the two disagree: {one}, {other}"
    );
}

fn variances(effects: &[f64], residuals: &[f64], shapes: Vec<Vec<f64>>) -> Components {
    let variance = |&value: &f64| Covariance::variance(value);
    Components {
        effects: effects.iter().map(variance).collect(),
        residuals: residuals.iter().map(variance).collect(),
        shapes,
    }
}

/// An unreplicated nursery with checks every fifth plot, neighbours alike, an error for each plot.
fn nursery(rows: usize, columns: usize, rng: &mut Rng) -> Trial {
    let (correlation, plots) = ([0.8_f64, 0.4], rows * columns);
    let mut field: Vec<f64> = (0..plots).map(|_| deviate(rng)).collect();
    for place in 0..plots {
        if place >= columns {
            let own = (1.0 - correlation[0].powi(2)).sqrt() * field[place];
            field[place] = own + correlation[0] * field[place - columns];
        }
    }
    let mut tested = 0;
    let entry: Vec<usize> = (0..plots)
        .map(|place| {
            if place % 5 == 2 {
                return place / 5 % 4;
            }
            tested += 1;
            3 + tested
        })
        .collect();
    let entries = tested + 4;
    let effect: Vec<f64> = (0..entries).map(|_| deviate(rng)).collect();
    Trial {
        values: (0..plots)
            .map(|p| effect[entry[p]] + field[p] + 0.7 * deviate(rng))
            .collect(),
        entry: Factor {
            level: entry,
            levels: entries,
        },
        space: Space::Neighbours {
            place: (0..plots).map(|p| [p / columns, p % columns]).collect(),
            size: [rows, columns],
            nugget: true,
        },
        ..Trial::default()
    }
}

fn nurseries() -> Outcome<()> {
    println!("entries random, neighbours alike with a nugget; seconds");
    let mut rng = Rng::with_seed(1);
    for (rows, columns) in [(17, 10), (34, 10), (67, 10), (134, 10), (134, 20)] {
        let trial = nursery(rows, columns, &mut rng);
        let (plots, entries) = (trial.values.len(), trial.entry.levels);
        let (analysis, fitting) = seconds(|| trial.analyse(Entries::Random));
        let analysis = analysis?;
        let at = variances(&[1.0, 1.0], &[0.5], vec![vec![], vec![0.8, 0.4], vec![]]);
        let (solution, sparse) = seconds(|| analysis.model.solve(&at));
        let iterations = analysis.fit.convergence().iterations;
        print!(
            "{plots:>6} plots {entries:>5} entries: {fitting:>8.3} to fit in {iterations} iterations, {sparse:>8.4} a solve"
        );
        if plots > 1500 {
            println!();
            continue;
        }
        let v = Mat::from_fn(plots, plots, |i, j| {
            let steps = |a: usize, b: usize| a.abs_diff(b) as i32;
            let alike = 0.8_f64.powi(steps(i / columns, j / columns))
                * 0.4_f64.powi(steps(i % columns, j % columns));
            let same = f64::from(u8::from(trial.entry.level[i] == trial.entry.level[j]));
            alike + same + if i == j { 0.5 } else { 0.0 }
        });
        let x = Mat::from_fn(plots, 1, |_, _| 1.0);
        let (found, time) = seconds(|| dense(&trial.values, &x, &v));
        agree(solution?.minus_two_log_likelihood(), found);
        println!(", {time:>8.4} dense, {:.0} times", time / sparse);
    }
    Ok(())
}

/// Clones at sites in years, one record each, errors of very different size by environment.
fn environments(sites: usize, years: usize, clones: usize, rng: &mut Rng) -> Trial {
    let count = sites * years * clones;
    let of = |levels: Vec<usize>, count: usize| Factor {
        level: levels,
        levels: count,
    };
    let clone: Vec<usize> = (0..count).map(|record| record % clones).collect();
    let environment: Vec<usize> = (0..count).map(|record| record / clones).collect();
    let joined = |width: usize, of: &dyn Fn(usize) -> usize| -> Vec<usize> {
        (0..count)
            .map(|record| clone[record] * width + of(environment[record]))
            .collect()
    };
    let by_site = joined(sites, &|e| e % sites);
    let by_year = joined(years, &|e| e / sites);
    let mut draw =
        |count: usize, root: f64| -> Vec<f64> { (0..count).map(|_| root * deviate(rng)).collect() };
    let (own, at_site, in_year) = (
        draw(clones, 1.0),
        draw(clones * sites, 0.5),
        draw(clones * years, 0.6),
    );
    let errors = draw(count, 1.0);
    let values = (0..count)
        .map(|r| {
            let spread = 0.3 + 0.2 * (environment[r] % 12) as f64;
            own[clone[r]] + at_site[by_site[r]] + in_year[by_year[r]] + spread * errors[r]
        })
        .collect();
    let environments = of(environment, sites * years);
    Trial {
        values,
        entry: of(clone, clones),
        fixed: vec![environments.clone()],
        random: vec![of(by_site, clones * sites), of(by_year, clones * years)],
        residual_by: Some(environments),
        ..Trial::default()
    }
}

fn sites_and_years() -> Outcome<()> {
    println!("clones at sites in years, a residual variance for each environment; seconds");
    let mut rng = Rng::with_seed(2);
    for (sites, years, clones) in [(4, 2, 50), (5, 3, 100), (10, 5, 100), (20, 5, 100)] {
        let trial = environments(sites, years, clones, &mut rng);
        let records = trial.values.len();
        let (analysis, fitting) = seconds(|| trial.analyse(Entries::Random));
        let analysis = analysis?;
        let residuals: Vec<f64> = (0..sites * years).map(|e| 0.3 + 0.1 * e as f64).collect();
        let shapes = vec![vec![]; 3 + residuals.len()];
        let at = variances(&[1.0, 0.25, 0.4], &residuals, shapes);
        let (solution, sparse) = seconds(|| analysis.model.solve(&at));
        let iterations = analysis.fit.convergence().iterations;
        print!(
            "{sites:>3} sites {years} years {clones} clones: {fitting:>8.3} to fit in {iterations} iterations, {sparse:>8.4} a solve"
        );
        if records > 2000 {
            println!();
            continue;
        }
        let same = |f: &Factor, i: usize, j: usize| f64::from(u8::from(f.level[i] == f.level[j]));
        let of_record = &trial.fixed[0];
        let v = Mat::from_fn(records, records, |i, j| {
            let own = if i == j {
                residuals[of_record.level[i]]
            } else {
                0.0
            };
            own + same(&trial.entry, i, j)
                + 0.25 * same(&trial.random[0], i, j)
                + 0.4 * same(&trial.random[1], i, j)
        });
        let x = Mat::from_fn(records, of_record.levels, |i, e| {
            f64::from(u8::from(of_record.level[i] == e))
        });
        let (found, time) = seconds(|| dense(&trial.values, &x, &v));
        agree(solution?.minus_two_log_likelihood(), found);
        println!(", {time:>8.4} dense, {:.0} times", time / sparse);
    }
    Ok(())
}

fn surfaces() -> Outcome<()> {
    println!("entries random and a surface, beside a dense matrix of all plots inverted; seconds");
    let mut rng = Rng::with_seed(3);
    for side in [20, 30, 50, 70, 100] {
        let plots = side * side;
        let entries = plots / 4;
        let mut entry: Vec<usize> = (0..plots).map(|plot| plot % entries).collect();
        rng.shuffle(&mut entry);
        let effect: Vec<f64> = (0..entries).map(|_| deviate(&mut rng)).collect();
        let place: Vec<[f64; 2]> = (0..plots)
            .map(|plot| [(plot / side) as f64, (plot % side) as f64])
            .collect();
        let values: Vec<f64> = (0..plots)
            .map(|p| {
                let [row, column] = place[p].map(|at| at / side as f64);
                let hill = 3.0 * (6.0 * row).sin() * (5.0 * column).cos() + 2.0 * row;
                effect[entry[p]] + hill + deviate(&mut rng)
            })
            .collect();
        let trial = Trial {
            values,
            entry: Factor {
                level: entry,
                levels: entries,
            },
            space: Space::Surface { place },
            ..Trial::default()
        };
        let (analysis, fitting) = seconds(|| trial.analyse(Entries::Random));
        let analysis = analysis?;
        let at = analysis.fit.components().clone();
        let (solution, sparse) = seconds(|| analysis.model.solve(&at));
        solution?;
        let iterations = analysis.fit.convergence().iterations;
        print!(
            "{plots:>6} plots: {fitting:>8.3} to fit in {iterations} iterations, {sparse:>8.4} a solve"
        );
        if plots > 2500 {
            println!();
            continue;
        }
        let v = Mat::from_fn(plots, plots, |i, j| {
            let same = f64::from(u8::from(trial.entry.level[i] == trial.entry.level[j]));
            let apart = i.abs_diff(j) as f64;
            same + (-apart / 50.0).exp() + if i == j { 1.0 } else { 0.0 }
        });
        let x = Mat::from_fn(plots, 1, |_, _| 1.0);
        let (found, time) = seconds(|| dense(&trial.values, &x, &v));
        assert!(found.is_finite(), "no inverse");
        println!(", {time:>8.4} dense, {:.0} times", time / sparse);
    }
    Ok(())
}

fn layouts() -> Outcome<()> {
    println!("60 entries three times on 10 rows by 18 columns; seconds");
    for tries in [100_000, 300_000, 1_000_000] {
        let asked = Request {
            entries: 60,
            replicates: 3,
            once_more: 0,
            checks: 0,
            shape: Shape::Grid {
                rows: 10,
                columns: 18,
                missing: Vec::new(),
            },
            seed: 1,
            tries,
        };
        let (made, time) = seconds(|| design(&asked));
        let efficiency = made?.efficiency.average.unwrap_or(f64::NAN);
        println!("{tries:>8} exchanges: {time:>8.3}, efficiency {efficiency:.4}");
    }
    Ok(())
}

fn main() -> Outcome<()> {
    nurseries()?;
    sites_and_years()?;
    surfaces()?;
    layouts()
}

//! Ends of intervals by the profile of the likelihood.

use fastrand::Rng;
use quant::evaluation::{Components, Coordinate, Fit, Model, NoEnd, Parameter};
use quant::trial::{Entries, Factor, Space, Trial};

use crate::table::{Table, near};

fn variance_of(component: usize) -> Coordinate {
    Coordinate::Entry(Parameter {
        component,
        a: 0,
        b: 0,
    })
}

/// The least −2 log-likelihood with one variance held, the others found by golden sections in turn: slow, and nothing of
/// what the program does.
fn profiled(model: &Model, fit: &Fit, held: usize, at: f64) -> f64 {
    let components = fit.components().count();
    let mut values: Vec<f64> = (0..components)
        .map(|k| fit.components().get(k).get(0, 0).max(1e-4))
        .collect();
    values[held] = at;
    let likelihood = |values: &[f64]| {
        let (residual, effects) = values.split_last().unwrap();
        let components = Components::single(effects, *residual);
        model
            .solve(&components)
            .map_or(f64::INFINITY, |s| s.minus_two_log_likelihood())
    };
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..25 {
        for k in (0..components).filter(|&k| k != held) {
            let mut ends = [values[k].ln() - 2.0, values[k].ln() + 2.0];
            let mut at = |log: f64| {
                values[k] = log.exp();
                likelihood(&values)
            };
            for _ in 0..25 {
                let reach = ratio * (ends[1] - ends[0]);
                if at(ends[1] - reach) < at(ends[0] + reach) {
                    ends[1] = ends[0] + reach;
                } else {
                    ends[0] = ends[1] - reach;
                }
            }
            values[k] = f64::midpoint(ends[0], ends[1]).exp().max(1e-9);
        }
    }
    likelihood(&values)
}

/// The residual of Kempton & Fox's rows and columns: with it held near 0 nothing can be fitted, and its interval must be
/// found all the same.
#[test]
fn the_residual_beside_rows_and_columns() {
    let table = Table::read("kempton.rowcol.csv");
    let model = Model::new(
        table.observed("yield"),
        vec![table.fixed(&["gen"]), table.fixed(&["rep"])],
        vec![table.random(&["rep", "row"]), table.random(&["rep", "col"])],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    let interval = model.profile_interval(&fit, variance_of(2), 0.95);
    let [low, high] = [interval.low.unwrap(), interval.high.unwrap()];
    assert!(0.02 < low && low < 0.0901 && 0.0901 < high, "{low} {high}");
    for end in [low, high] {
        let rise = profiled(&model, &fit, 2, end) - fit.minus_two_log_likelihood();
        near(rise, 3.841459, 5e-3);
    }
}

/// Rows and columns, incomplete blocks and lost plots, entries fixed and random: every end is found.
#[test]
fn ends_are_found_whatever_the_variances() {
    let mut rng = Rng::with_seed(11);
    let mut normal = move || -> f64 {
        let radius = (-2.0 * (1.0 - rng.f64()).ln()).sqrt();
        radius * (std::f64::consts::TAU * rng.f64()).cos()
    };
    for trial in 0..24 {
        let (rows, columns) = (4, 5);
        let of_rows: Vec<f64> = (0..3 * rows).map(|_| normal()).collect();
        let of_columns: Vec<f64> = (0..3 * columns).map(|_| normal()).collect();
        let size = [0.0, 0.3, 1.0, 3.0][trial % 4];
        let mut columns_of = [vec![], vec![], vec![], vec![]];
        let mut values = vec![];
        for plot in 0..60 {
            let (rep, row, column) = (plot / 20, plot / 5 % 4, plot % 5);
            if trial % 3 == 0 && plot % 17 == 4 {
                continue;
            }
            let [row_there, column_there] = [rep * rows + row, rep * columns + column];
            let entry = (plot % 20 * [1, 3, 7][rep]) % 20;
            values.push(size * (of_rows[row_there] + of_columns[column_there]) + normal());
            let levels = [entry, rep, row_there, column_there];
            for (all, level) in columns_of.iter_mut().zip(levels) {
                all.push(level);
            }
        }
        let factor = |nth: usize| Factor {
            levels: columns_of[nth].iter().max().unwrap() + 1,
            level: columns_of[nth].clone(),
        };
        let asked = Trial {
            values,
            entry: factor(0),
            fixed: vec![factor(1)],
            random: vec![factor(2), factor(3)],
            space: Space::None,
            ..Trial::default()
        };
        for entries in [Entries::Fixed, Entries::Random] {
            let found = asked.analyse(entries).unwrap();
            for component in 0..found.fit.components().count() {
                let interval =
                    found
                        .model
                        .profile_interval(&found.fit, variance_of(component), 0.95);
                let estimate = found.fit.components().get(component).get(0, 0);
                let (Ok(low), Ok(high)) = (&interval.low, &interval.high) else {
                    panic!("trial {trial}, {entries:?}, {component}: {interval:?}");
                };
                assert!(*low <= estimate && estimate < *high, "{interval:?}");
            }
        }
    }
}

/// A variance between two groups alone has no upper end worth the name at 99.99 %: it is said, not left empty.
#[test]
fn an_end_that_is_not_there_is_said() {
    let table: Vec<(usize, f64)> = vec![(0, 1.0), (0, 1.1), (0, 0.9), (1, 2.0), (1, 2.2), (1, 1.9)];
    let asked = Trial {
        values: table.iter().map(|(_, value)| *value).collect(),
        entry: Factor {
            level: table.iter().map(|(entry, _)| *entry).collect(),
            levels: 2,
        },
        ..Trial::default()
    };
    let found = asked.analyse(Entries::Random).unwrap();
    let interval = found
        .model
        .profile_interval(&found.fit, variance_of(0), 0.999_999_999);
    assert!(
        matches!(interval.high, Err(NoEnd::Unbounded(_))),
        "{interval:?}"
    );
    assert_eq!(interval.low, Ok(0.0));
    let usual = found
        .model
        .profile_interval(&found.fit, variance_of(0), 0.95);
    assert!(usual.high.is_ok_and(|high| high > 10.0));
}

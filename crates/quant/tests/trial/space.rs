//! Neighbours and surfaces.

use quant::evaluation::{
    Combination, Components, Covariance, Finding, FixedEffect, Model, Observations, RandomEffect,
    Relationship, Residual, Role, ShapeKind, Spline, SplineBasis,
};

use crate::table::{Table, adjusted, near};

fn components(effects: &[f64], residual: f64, shapes: Vec<Vec<f64>>) -> Components {
    Components {
        effects: effects.iter().map(|&v| Covariance::variance(v)).collect(),
        residuals: vec![Covariance::variance(residual)],
        shapes,
    }
}

/// A grid of 3 × 4 with a mean, σ² = 1, correlations .5 along columns and .3 along rows: recomputed dense.
#[test]
fn likelihood_on_a_grid() {
    let values = [5.1, 4.8, 6.0, 6.3, 5.5, 5.2, 5.9, 6.8, 4.9, 5.7, 6.4, 7.1];
    let place: Vec<usize> = (0..12).collect();
    let model = |residual| {
        Model::with_residual(
            Observations::single(values.iter().copied().map(Some).collect()).unwrap(),
            vec![FixedEffect::mean(12)],
            vec![],
            residual,
        )
        .unwrap()
    };
    let spatial = model(Residual::correlated(
        &place,
        Relationship::grid(3, 4).unwrap(),
    ));
    let solution = spatial
        .solve(&components(&[], 1.0, vec![vec![0.3, 0.5]]))
        .unwrap();
    let mean = solution.fixed(0, 0, 0).unwrap();
    near(mean.value, 5.845062, 1e-6);
    near(mean.standard_error, 0.490653, 1e-6);
    let constants = 11.0 * std::f64::consts::TAU.ln();
    near(
        solution.minus_two_log_likelihood() - constants,
        3.384687,
        1e-6,
    );
    let plain = model(Residual::independent(12));
    let solution = plain.solve(&Components::single(&[], 1.0)).unwrap();
    near(solution.fixed(0, 0, 0).unwrap().value, 5.808333, 1e-6);
    near(
        solution.minus_two_log_likelihood() - constants,
        8.594073,
        1e-6,
    );
}

/// The Nebraska nursery, `nlme::Wheat2` (Stroup, Baenziger & Mulitze 1994, Crop Science 34:62–66): blocks fail, the
/// correlation of neighbours does not. Published to three digits with the `agridat` data, further digits recomputed.
#[test]
fn nursery_of_stroup() {
    let table = Table::read("wheat2.csv");
    let number = |column: &str, step: f64| -> Vec<usize> {
        let numbers = table.numbers(column).into_iter();
        numbers.map(|v| (v / step).round() as usize - 1).collect()
    };
    let (row, column) = (number("latitude", 4.3), number("longitude", 1.2));
    let place: Vec<usize> = row.iter().zip(&column).map(|(r, c)| r * 22 + c).collect();
    let entries = table.factor(&["variety"]);
    let model = Model::with_residual(
        table.observed("yield"),
        vec![table.fixed(&["variety"])],
        vec![],
        Residual::correlated(&place, Relationship::grid(11, 22).unwrap()),
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    near(fit.components().residual().get(0, 0), 48.7128, 5e-3);
    near(fit.components().shapes[0][0], 0.437465, 1e-4);
    near(fit.components().shapes[0][1], 0.655524, 1e-4);
    near(fit.minus_two_log_likelihood(), 1107.4109, 1e-3);
    let means = model
        .combine(fit.components(), 0, &adjusted(56, &[]))
        .unwrap();
    near(means.mean_variance_of_difference().unwrap(), 8.55441, 1e-3);
    let ranks: Vec<f64> = (0..56).map(|nth| means.estimate(nth).value).collect();
    for (name, value, rank) in [
        ("BUCKSKIN", 35.9359, Some(1)),
        ("LANCER", 24.0897, Some(39)),
        ("ARAPAHOE", 27.0433, None),
    ] {
        let found = ranks[entries.of(name)];
        near(found, value, 1e-3);
        let better = ranks.iter().filter(|&&other| other > found).count();
        assert!(rank.is_none_or(|rank| rank == better + 1));
    }

    // Complete blocks, as the trial was laid out, recomputed.
    let model = Model::new(
        table.observed("yield"),
        vec![table.fixed(&["variety"])],
        vec![table.random(&["Block"])],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    near(fit.components().get(0).get(0, 0), 9.8829, 1e-3);
    near(fit.components().get(1).get(0, 0), 49.5824, 1e-3);
    let means = model
        .combine(fit.components(), 0, &adjusted(56, &[]))
        .unwrap();
    near(means.difference(0, 1).standard_error, 4.97907, 1e-3);
    near(means.estimate(entries.of("BUCKSKIN")).value, 25.5625, 1e-3);
}

/// Early generation trial, 668 plots with 532 entries: Cullis, Lill, Fisher, Read & Gleeson (1989) Applied Statistics
/// 38:361–375; variances and correlations published to the digits of the first tolerance, recomputed further.
#[test]
fn early_generations_of_cullis() {
    let table = Table::read("cullis.earlygen.csv");
    let place = |column: &str| -> Vec<usize> {
        table
            .numbers(column)
            .iter()
            .map(|v| *v as usize - 1)
            .collect()
    };
    let (row, column) = (place("row"), place("col"));
    let (rows, columns) = (
        row.iter().max().unwrap() + 1,
        column.iter().max().unwrap() + 1,
    );
    let place: Vec<usize> = row
        .iter()
        .zip(&column)
        .map(|(r, c)| r * columns + c)
        .collect();
    let grid = Relationship::grid(rows, columns).unwrap();
    let model = Model::new(
        table.observed("yield"),
        vec![
            table.mean(),
            FixedEffect::Covariate {
                value: table.numbers("weed"),
            },
            FixedEffect::Covariate {
                value: table.numbers("col"),
            },
        ],
        vec![
            table.random(&["gen"]),
            RandomEffect::related(Role::Other, &place, grid),
        ],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    for (component, (published, recomputed)) in
        [(73780.0, 73768.8), (54730.0, 54715.4), (30440.0, 30443.1)]
            .into_iter()
            .enumerate()
    {
        let found = fit.components().get(component).get(0, 0);
        near(found / published, 1.0, 1e-3);
        near(found / recomputed, 1.0, 2e-4);
    }
    let shape = &fit.components().shapes[1];
    let mut correlations = [shape[0], shape[1]];
    correlations.sort_by(f64::total_cmp);
    near(correlations[0], 0.37539, 2e-4);
    near(correlations[1], 0.83750, 2e-4);
    near(fit.minus_two_log_likelihood(), 9665.708, 2e-3);
    let solution = model.solve(fit.components()).unwrap();
    near(solution.fixed(1, 0, 0).unwrap().value, -186.407, 0.05);
    near(solution.fixed(2, 0, 0).unwrap().value, -29.3136, 0.05);
}

/// Eilers & Marx (1996): x = 0, …, 20, y = sin(x/3) + .1 (−1)^x, 10 segments, λ = 1; recomputed. With λ the residual
/// variance over that of the spline, effective dimension and fit are those of the mixed model.
#[test]
fn curve_of_eilers_and_marx() {
    let at: Vec<f64> = (0..21).map(f64::from).collect();
    let sign = |n: usize| if n.is_multiple_of(2) { 1.0 } else { -1.0 };
    let values: Vec<f64> = (0..21)
        .map(|n| (at[n] / 3.0).sin() + 0.1 * sign(n))
        .collect();
    let spline = Spline::curve(SplineBasis::new(0.0, 20.0, 10).unwrap(), &at).unwrap();
    let mut fixed = vec![FixedEffect::mean(21)];
    fixed.extend(spline.fixed.clone());
    let record: Vec<usize> = (0..21).collect();
    let curve = RandomEffect::related(Role::Other, &record, Relationship::spline(spline));
    let observed = Observations::single(values.iter().copied().map(Some).collect()).unwrap();
    let model = Model::new(observed, fixed, vec![curve]).unwrap();
    let at_variance = components(&[1.0], 1.0, vec![vec![], vec![]]);
    near(
        2.0 + model.effective_dimension(&at_variance, 0).unwrap(),
        5.021637,
        1e-6,
    );
    let residuals = model.residuals(&at_variance).unwrap();
    let squares: f64 = residuals.iter().map(|r| r.unwrap().powi(2)).sum();
    near(squares, 0.323099, 1e-6);
    for (n, fitted) in [
        (0, 0.188904),
        (5, 0.885628),
        (10, -0.171198),
        (20, 0.313706),
    ] {
        near(values[n] - residuals[n].unwrap(), fitted, 1e-6);
    }
    let stiff = components(&[1e-9], 1.0, vec![vec![], vec![]]);
    near(
        2.0 + model.effective_dimension(&stiff, 0).unwrap(),
        2.0,
        1e-5,
    );
    let residuals = model.residuals(&stiff).unwrap();
    for n in [0, 20] {
        near(
            values[n] - residuals[n].unwrap(),
            0.699472 - 0.067552 * at[n],
            1e-5,
        );
    }
}

/// A surface that may not bend (λ → ∞) is the linear model of its straight part, row, column and their product: fits, errors
/// of estimates, and dimensions.
#[test]
fn a_stiff_surface_is_the_linear_model() {
    let (rows, columns) = (7, 9);
    let n = rows * columns;
    let mut rng = fastrand::Rng::with_seed(5);
    let values: Vec<Option<f64>> = (0..n).map(|_| Some(rng.f64() * 3.0)).collect();
    let row: Vec<f64> = (0..n).map(|place| (place / columns) as f64).collect();
    let column: Vec<f64> = (0..n).map(|place| (place % columns) as f64).collect();
    let entry: Vec<usize> = (0..n).map(|place| place * 5 % 6).collect();
    let bases = [
        SplineBasis::new(0.0, 6.0, 3).unwrap(),
        SplineBasis::new(0.0, 8.0, 4).unwrap(),
    ];
    let spline = Spline::surface(bases, [&row, &column]).unwrap();
    let entries = FixedEffect::Factor {
        level: entry,
        levels: 6,
    };
    let observed = || Observations::single(values.clone()).unwrap();
    let mut fixed = vec![entries.clone()];
    fixed.extend(spline.fixed.clone());
    let record: Vec<usize> = (0..n).collect();
    let surface = RandomEffect::related(Role::Other, &record, Relationship::spline(spline));
    let bent = Model::new(observed(), fixed, vec![surface]).unwrap();
    let product = row.iter().zip(&column).map(|(r, c)| r * c).collect();
    let covariates =
        [row.clone(), column.clone(), product].map(|value| FixedEffect::Covariate { value });
    let straight = Model::new(
        observed(),
        [vec![entries], covariates.to_vec()].concat(),
        vec![],
    )
    .unwrap();
    let start: Vec<f64> = bent.shape_parameters(0).iter().map(|p| p.start).collect();
    let stiff = components(&[1e-10], 0.7, vec![start.clone(), vec![]]);
    let flat = components(&[], 0.7, vec![vec![]]);
    near(bent.effective_dimension(&stiff, 0).unwrap(), 0.0, 1e-6);
    let left = [
        bent.residuals(&stiff).unwrap(),
        straight.residuals(&flat).unwrap(),
    ];
    for (one, other) in left[0].iter().zip(&left[1]) {
        near(one.unwrap(), other.unwrap(), 1e-6);
    }
    let differences: Vec<Combination> = (1..6)
        .map(|entry| {
            Combination::new()
                .with_fixed(0, entry, 1.0)
                .with_fixed(0, 0, -1.0)
        })
        .collect();
    let found = bent.combine(&stiff, 0, &differences).unwrap();
    let expected = straight.combine(&flat, 0, &differences).unwrap();
    for nth in 0..5 {
        near(
            found.estimate(nth).value,
            expected.estimate(nth).value,
            1e-6,
        );
        near(
            found.estimate(nth).standard_error,
            expected.estimate(nth).standard_error,
            1e-6,
        );
    }
    // Let go, it bends.
    let loose = components(&[10.0], 0.7, vec![start, vec![]]);
    assert!(bent.effective_dimension(&loose, 0).unwrap() > 5.0);
}

/// A surface takes what it is made of: a straight and a bent one without error.
#[test]
fn surface_follows_a_field() {
    let (rows, columns) = (12, 15);
    let places: Vec<(f64, f64)> = (0..rows * columns)
        .map(|n| (f64::from(n / columns), f64::from(n % columns)))
        .collect();
    let mut rng = fastrand::Rng::with_seed(18);
    let noise: Vec<f64> = (0..places.len()).map(|_| 0.2 * (rng.f64() - 0.5)).collect();
    let values: Vec<Option<f64>> = places
        .iter()
        .enumerate()
        .map(|(n, (u, v))| Some((u / 3.0).sin() + 0.1 * v + (v / 4.0).cos() + noise[n]))
        .collect();
    let (u, v): (Vec<f64>, Vec<f64>) = places.iter().copied().unzip();
    let bases = [
        SplineBasis::new(0.0, 11.0, 6).unwrap(),
        SplineBasis::new(0.0, 14.0, 7).unwrap(),
    ];
    let spline = Spline::surface(bases, [&u, &v]).unwrap();
    let mut fixed = vec![FixedEffect::mean(places.len())];
    fixed.extend(spline.fixed.clone());
    let record: Vec<usize> = (0..places.len()).collect();
    let surface = RandomEffect::related(Role::Other, &record, Relationship::spline(spline));
    let model = Model::new(Observations::single(values).unwrap(), fixed, vec![surface]).unwrap();
    let fit = model.estimate().unwrap();
    near(fit.components().residual().get(0, 0), 0.04 / 12.0, 2e-3);
    let dimension = model.effective_dimension(fit.components(), 0).unwrap();
    assert!((4.0..60.0).contains(&dimension), "{dimension}");
    // At the top of the likelihood it falls off in every direction.
    for by in [-0.05, 0.05] {
        let mut moved = fit.components().clone();
        moved.shapes[0][0] += by;
        let there = model.solve(&moved).unwrap().minus_two_log_likelihood();
        assert!(there > fit.minus_two_log_likelihood());
    }
}

/// What is the same all along each column, but for the errors of plots, has no range along it: the correlation from row to
/// row ends at the bound of what is tried, and says so.
#[test]
fn a_correlation_at_its_bound_says_so() {
    let (rows, columns) = (8, 20);
    let mut rng = fastrand::Rng::with_seed(7);
    let of_column: Vec<f64> = (0..columns).map(|_| 4.0 * rng.f64()).collect();
    let places: Vec<usize> = (0..rows * columns).collect();
    let values = places
        .iter()
        .map(|place| Some(of_column[place % columns] + rng.f64()))
        .collect();
    let model = Model::new(
        Observations::single(values).unwrap(),
        vec![FixedEffect::mean(places.len())],
        vec![RandomEffect::related(
            Role::Other,
            &places,
            Relationship::grid(rows, columns).unwrap(),
        )],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    let upper = model.shape_parameters(0)[0].upper;
    assert!(fit.components().shapes[0][0] > upper - 1e-6);
    let at_bound = |finding: &Finding| matches!(finding, Finding::ShapeAtBound { kind: ShapeKind::RowCorrelation, bound, .. } if *bound > 0.9);
    assert!(fit.findings().iter().any(at_bound), "{:?}", fit.findings());
    assert!(fit.shape_standard_error(0, 0).is_none());
}

//! Blocks, rows and columns, years and sites, and plots over years.

use quant::chance::range_quantile;
use quant::evaluation::{
    Components, Coordinate, Finding, Fit, FixedEffect, Model, Observations, Parameter,
    RandomEffect, Relationship, Residual, Role,
};

use quant::trial::least_difference;

use crate::table::{Table, adjusted, near, predicted};

fn variance(fit: &Fit, component: usize) -> f64 {
    fit.components().get(component).get(0, 0)
}

/// Latin square: Goulden (1952) *Methods of Statistical Analysis*, 2nd ed., p. 216. Means and error variance by hand
/// from the printed sums of squares.
#[test]
fn latin_square_of_goulden() {
    let table = Table::read("goulden.latin.csv");
    let model = Model::new(
        table.observed("yield"),
        vec![
            table.fixed(&["trt"]),
            table.fixed(&["row"]),
            table.fixed(&["col"]),
        ],
        vec![],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 2.337, 1e-3);
    let means = model
        .combine(fit.components(), 0, &adjusted(5, &[5, 5]))
        .unwrap();
    for (nth, mean) in [6.84, 6.46, 13.12, 7.96, 4.92].into_iter().enumerate() {
        near(means.estimate(nth).value, mean, 1e-6);
    }
    near(means.variance_of_difference(0, 1), 2.0 * 2.337 / 5.0, 1e-3);
}

/// The 60 records of Immer (1934) in `MASS::immer`: variety, site, year.
struct Immer {
    table: Table,
    variety: Vec<usize>,
    site: Vec<usize>,
    year: Vec<usize>,
    values: Vec<Option<f64>>,
}

impl Immer {
    fn read() -> Self {
        let table = Table::read("immer.csv");
        let (variety, site) = (table.factor(&["Var"]).level, table.factor(&["Loc"]).level);
        let twice = |levels: Vec<usize>| [levels.clone(), levels].concat();
        let values = [table.values("Y1"), table.values("Y2")].concat();
        let year = (0..60).map(|record| record / 30).collect();
        Self {
            table,
            variety: twice(variety),
            site: twice(site),
            year,
            values,
        }
    }

    fn joined(left: &[usize], right: &[usize], width: usize) -> Vec<usize> {
        left.iter().zip(right).map(|(l, r)| l * width + r).collect()
    }

    fn random(level: &[usize]) -> RandomEffect {
        RandomEffect::independent(Role::Other, level, level.iter().max().unwrap() + 1)
    }
}

/// `MASS::immer` (Immer 1934; Venables & Ripley 2002), recomputed: the variance of varieties by years stops at 0 and
/// says so.
#[test]
fn barley_over_sites_and_years() {
    let immer = Immer::read();
    let model = Model::new(
        Observations::single(immer.values.clone()).unwrap(),
        vec![FixedEffect::mean(60)],
        vec![
            Immer::random(&immer.variety),
            Immer::random(&immer.site),
            Immer::random(&immer.year),
            Immer::random(&Immer::joined(&immer.variety, &immer.site, 6)),
            Immer::random(&Immer::joined(&immer.variety, &immer.year, 2)),
            Immer::random(&Immer::joined(&immer.site, &immer.year, 2)),
        ],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    for (component, expected) in [92.154, 277.19, 80.66, 46.741, 0.0, 250.12, 128.169]
        .into_iter()
        .enumerate()
    {
        near(variance(&fit, component), expected, 1e-4 * expected + 5e-3);
    }
    near(fit.minus_two_log_likelihood(), 510.949, 1e-3);
    let at_zero = Finding::VarianceAtZero {
        role: Role::Other,
        effect: 4,
    };
    assert!(fit.findings().contains(&at_zero));
    assert_eq!(fit.standard_error(4, 0, 0), None);

    let model = Model::new(
        Observations::single(immer.values.clone()).unwrap(),
        vec![FixedEffect::Factor {
            level: Immer::joined(&immer.site, &immer.year, 2),
            levels: 12,
        }],
        vec![
            Immer::random(&immer.variety),
            Immer::random(&Immer::joined(&immer.variety, &immer.site, 6)),
            Immer::random(&Immer::joined(&immer.variety, &immer.year, 2)),
        ],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 92.154, 1e-2);
    near(variance(&fit, 1), 46.741, 1e-2);
    near(variance(&fit, 2), 0.0, 0.0);
    near(fit.minus_two_log_likelihood(), 408.798, 1e-3);
    let solution = model.solve(fit.components()).unwrap();
    let names = immer.table.factor(&["Var"]);
    for (name, value) in [
        ("M", -5.57992),
        ("P", 1.20928),
        ("S", -8.29421),
        ("T", 14.25315),
        ("V", -1.58831),
    ] {
        near(solution.random(0, names.of(name), 0).value, value, 1e-4);
    }
}

/// The same without T in year 1 and P at C and D in year 2, recomputed: raw means lie where varieties meet different
/// years.
#[test]
fn unlike_years_are_compared_fairly() {
    let mut immer = Immer::read();
    let (names, sites) = (immer.table.factor(&["Var"]), immer.table.factor(&["Loc"]));
    for record in 0..60 {
        let (variety, site, year) = (
            names.names[immer.variety[record]].as_str(),
            sites.names[immer.site[record]].as_str(),
            immer.year[record],
        );
        if (variety == "T" && year == 0)
            || (variety == "P" && year == 1 && ["C", "D"].contains(&site))
        {
            immer.values[record] = None;
        }
    }
    let site_year = FixedEffect::Factor {
        level: Immer::joined(&immer.site, &immer.year, 2),
        levels: 12,
    };
    let variety = FixedEffect::Factor {
        level: immer.variety.clone(),
        levels: 5,
    };
    let observed = || Observations::single(immer.values.clone()).unwrap();
    let model = Model::new(observed(), vec![variety, site_year.clone()], vec![]).unwrap();
    let fit = model.estimate().unwrap();
    let means = model
        .combine(fit.components(), 0, &adjusted(5, &[12]))
        .unwrap();
    let raw_of_p = 106.07;
    for (name, value, error) in [
        ("M", 94.3917, 3.4675),
        ("P", 102.9094, 3.8817),
        ("S", 91.1333, 3.4675),
        ("T", 116.5539, 5.2195),
        ("V", 99.1833, 3.4675),
    ] {
        let mean = means.estimate(names.of(name));
        near(mean.value, value, 1e-4);
        near(mean.standard_error, error, 1e-4);
    }
    assert!((means.estimate(names.of("P")).value - raw_of_p).abs() > 3.0);

    let random = vec![Immer::random(&immer.variety)];
    let model = Model::new(observed(), vec![site_year], random).unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 70.0735, 1e-2);
    near(variance(&fit, 1), 145.3312, 2e-2);
    let solution = model.solve(fit.components()).unwrap();
    for (name, value) in [
        ("M", -5.06712),
        ("P", 2.22140),
        ("S", -7.84530),
        ("T", 11.67259),
        ("V", -0.98157),
    ] {
        near(solution.random(0, names.of(name), 0).value, value, 1e-4);
    }
}

/// Spring oats in an alpha design: John & Williams (1995) *Cyclic and Computer Generated Designs*, p. 146. Published
/// variances, mean variances of differences and both heritabilities: Piepho & Möhring (2007) Genetics 177:1881–1888,
/// Example 1 (.803), after Cullis, Smith & Coombes (2006) .809; further digits recomputed.
#[test]
fn oats_in_incomplete_blocks() {
    let table = Table::read("john.alpha.csv");
    let block = || vec![table.random(&["rep", "block"])];
    let model = Model::new(
        table.observed("yield"),
        vec![table.fixed(&["gen"]), table.fixed(&["rep"])],
        block(),
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 0.0619439, 1e-5);
    near(variance(&fit, 1), 0.0852251, 1e-5);
    near(fit.minus_two_log_likelihood(), 64.8985, 1e-3);
    let means = model
        .combine(fit.components(), 0, &adjusted(24, &[3]))
        .unwrap();
    for (nth, mean) in [5.10770, 4.47853, 3.49920, 4.49009, 5.03721, 4.53666]
        .into_iter()
        .enumerate()
    {
        near(means.estimate(nth).value, mean, 1e-4);
    }
    near(means.estimate(0).standard_error, 0.19554, 1e-4);
    near(means.estimate(4).standard_error, 0.19545, 1e-4);
    let blue = means.mean_variance_of_difference().unwrap();
    near(blue, 0.07010875, 1e-6);

    let mut random = block();
    random.insert(0, table.random(&["gen"]));
    let model = Model::new(table.observed("yield"), vec![table.fixed(&["rep"])], random).unwrap();
    let fit = model.estimate().unwrap();
    let genetic = variance(&fit, 0);
    near(genetic, 0.142902, 1e-5);
    near(variance(&fit, 1), 0.0702183, 1e-5);
    near(variance(&fit, 2), 0.0816172, 1e-5);
    let predictions = model
        .combine(fit.components(), 0, &predicted(0, 24))
        .unwrap();
    let blup = predictions.mean_variance_of_difference().unwrap();
    near(blup, 0.05455038, 1e-6);
    near(1.0 - blup / (2.0 * genetic), 0.809134, 1e-5);
    // Error variances that leave out the estimation of the fixed effects give .0577, and a heritability of about .80.
    assert!((blup - 0.0577).abs() > 3e-3);
    near(genetic / (genetic + blue / 2.0), 0.803017, 1e-5);
}

/// Wheat in rows and columns: Kempton & Fox (1997), p. 62, recomputed.
#[test]
fn wheat_in_rows_and_columns() {
    let table = Table::read("kempton.rowcol.csv");
    let model = Model::new(
        table.observed("yield"),
        vec![table.fixed(&["gen"]), table.fixed(&["rep"])],
        vec![table.random(&["rep", "row"]), table.random(&["rep", "col"])],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 0.0640515, 2e-5);
    near(variance(&fit, 1), 0.192449, 4e-5);
    near(variance(&fit, 2), 0.0901459, 1e-5);
    near(fit.minus_two_log_likelihood(), 70.0235, 1e-3);
    let means = model
        .combine(fit.components(), 0, &adjusted(35, &[2]))
        .unwrap();
    for (nth, value) in [
        (0, 4.81398),
        (1, 3.91490),
        (2, 5.09835),
        (3, 3.52078),
        (4, 4.39570),
        (34, 3.60229),
    ] {
        near(means.estimate(nth).value, value, 1e-4);
    }
    let errors = (0..35).flat_map(|i| (0..i).map(move |j| (i, j)));
    let errors: Vec<f64> = errors
        .map(|(i, j)| means.difference(i, j).standard_error)
        .collect();
    near(
        errors.iter().copied().fold(f64::INFINITY, f64::min),
        0.35107,
        1e-4,
    );
    near(
        errors.iter().sum::<f64>() / errors.len() as f64,
        0.38537,
        1e-4,
    );
    near(errors.iter().copied().fold(0.0, f64::max), 0.53576, 1e-4);
}

/// Federer's (1956) augmented design of 4 checks and 8 new entries in 3 blocks (layout from memory, adjusted means
/// recomputed). The standard error of new against check is that of the matrix, sqrt(s²(1 + 1/r + 1/c − 1/(rc))): a
/// form with + 1/(rc) goes round and gives 6.70475.
#[test]
fn augmented_design_of_federer() {
    let plots: [(usize, &[(char, f64)]); 3] = [
        (
            0,
            &[
                ('A', 83.0),
                ('B', 77.0),
                ('C', 78.0),
                ('D', 78.0),
                ('g', 70.0),
                ('k', 75.0),
                ('l', 74.0),
            ],
        ),
        (
            1,
            &[
                ('A', 79.0),
                ('B', 81.0),
                ('C', 81.0),
                ('D', 91.0),
                ('e', 79.0),
                ('i', 78.0),
            ],
        ),
        (
            2,
            &[
                ('A', 92.0),
                ('B', 79.0),
                ('C', 87.0),
                ('D', 81.0),
                ('f', 96.0),
                ('h', 89.0),
                ('j', 82.0),
            ],
        ),
    ];
    let names = ['A', 'B', 'C', 'D', 'e', 'f', 'g', 'h', 'i', 'j', 'k', 'l'];
    let of = |name: char| names.iter().position(|&known| known == name).unwrap();
    let records: Vec<(usize, usize, f64)> = plots
        .iter()
        .flat_map(|&(block, plots)| plots.iter().map(move |&(name, value)| (block, name, value)))
        .map(|(block, name, value)| (block, of(name), value))
        .collect();
    let observed = || Observations::single(records.iter().map(|r| Some(r.2)).collect()).unwrap();
    let entry: Vec<usize> = records.iter().map(|record| record.1).collect();
    let block = FixedEffect::Factor {
        level: records.iter().map(|record| record.0).collect(),
        levels: 3,
    };
    let entries = FixedEffect::Factor {
        level: entry.clone(),
        levels: 12,
    };
    let model = Model::new(observed(), vec![entries, block.clone()], vec![]).unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 26.9722, 1e-4);
    let means = model
        .combine(fit.components(), 0, &adjusted(12, &[3]))
        .unwrap();
    let expected = [
        84.6667, 79.0, 82.0, 83.3333, 78.25, 93.5, 73.25, 86.5, 77.25, 79.5, 78.25, 77.25,
    ];
    for (nth, mean) in expected.into_iter().enumerate() {
        near(means.estimate(nth).value, mean, 1e-4);
    }
    let error = |one: char, other: char| means.difference(of(one), of(other)).standard_error;
    near(error('A', 'B'), 4.24046, 1e-4);
    near(error('g', 'k'), 7.34469, 1e-4);
    near(error('g', 'e'), 8.21161, 1e-4);
    near(error('g', 'A'), 6.36069, 1e-4);
    assert!((error('g', 'A') - 6.70475).abs() > 0.3);

    // With entries random their variance stops at 0: nothing can be shrunk, and the fit says so.
    let random = RandomEffect::independent(Role::Clonal, &entry, 12);
    let model = Model::new(observed(), vec![block], vec![random]).unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 0.0, 0.0);
    assert!(
        fit.findings()
            .iter()
            .any(|finding| matches!(finding, Finding::VarianceAtZero { .. }))
    );
}

fn asparagus() -> Table {
    let mut table = Table::read("snedecor.asparagus.csv");
    // 13 of the 16 values of 1929 repeat 1930.
    table.keep("year", |year| year != "1929");
    table
}

/// Asparagus, 4 blocks, 4 cutting dates, 4 years: Snedecor & Cochran (1989) *Statistical Methods*, 8th ed.; variances
/// and criterion recomputed. The plot is the unit of the cutting dates: F is 33.12 against it, not 187.0 against years
/// within plots.
#[test]
fn asparagus_over_years() {
    let table = asparagus();
    let plot = ["block", "trt"];
    let model = Model::new(
        table.observed("yield"),
        vec![
            table.fixed(&["trt"]),
            table.fixed(&["year"]),
            table.fixed(&["trt", "year"]),
        ],
        vec![table.random(&["block"]), table.random(&plot)],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    near(variance(&fit, 0), 476.7231, 0.05);
    near(variance(&fit, 1), 499.6971, 0.05);
    near(variance(&fit, 2), 430.1840, 0.05);
    near(fit.minus_two_log_likelihood(), 474.5154, 1e-3);
    let mut means = adjusted(4, &[4]);
    for (level, mean) in means.iter_mut().enumerate() {
        for year in 0..4 {
            *mean = mean.clone().with_fixed(2, level * 4 + year, 0.25);
        }
    }
    let means = model.combine(fit.components(), 0, &means).unwrap();
    let names = table.factor(&["trt"]);
    for (name, mean) in [
        ("Jun-01", 356.625),
        ("Jun-15", 322.875),
        ("Jul-01", 290.8125),
        ("Jul-15", 192.1875),
    ] {
        near(means.estimate(names.of(name)).value, mean, 1e-6);
    }
    let error = means.difference(0, 1).standard_error;
    near(error, 17.4247, 1e-3);
    // The mean square of the means over the variance that their differences rest on.
    let values: Vec<f64> = (0..4).map(|nth| means.estimate(nth).value).collect();
    let mean = values.iter().sum::<f64>() / 4.0;
    let between = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 3.0;
    near(between / (error * error / 2.0), 33.12, 0.01);

    // The year that repeats another, left in: published for the package's data, a warning.
    let table = Table::read("snedecor.asparagus.csv");
    let model = Model::new(
        table.observed("yield"),
        vec![
            table.fixed(&["trt"]),
            table.fixed(&["year"]),
            table.fixed(&["trt", "year"]),
        ],
        vec![table.random(&["block"]), table.random(&plot)],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    for (component, expected) in [354.25, 462.80, 404.65].into_iter().enumerate() {
        near(variance(&fit, component), expected, 0.05);
    }
}

/// The same with blocks fixed and the harvests of a plot correlated, recomputed with nlme: all alike, or less the
/// farther apart.
#[test]
fn harvests_of_a_plot_are_correlated() {
    let table = asparagus();
    let plot = table.factor(&["block", "trt"]).level;
    let year = table.factor(&["year"]).level;
    let place = Immer::joined(&plot, &year, 4);
    for (relationship, rho, sigma, criterion) in [
        (
            Relationship::equicorrelated(&[4; 16]),
            0.537377,
            929.881,
            445.285,
        ),
        (
            Relationship::autoregressive(&[4; 16]),
            0.611957,
            873.633,
            442.167,
        ),
    ] {
        let model = Model::with_residual(
            table.observed("yield"),
            vec![
                table.fixed(&["trt"]),
                table.fixed(&["year"]),
                table.fixed(&["trt", "year"]),
                table.fixed(&["block"]),
            ],
            vec![],
            Residual::correlated(&place, relationship.unwrap()),
        )
        .unwrap();
        let fit = model.estimate().unwrap();
        near(fit.components().shapes[0][0], rho, 1e-4);
        near(variance(&fit, 0), sigma, 0.1);
        near(fit.minus_two_log_likelihood(), criterion, 1e-3);
        assert!(fit.shape_standard_error(0, 0).unwrap() > 0.0);
    }
}

/// Residual variances by site: with sites apart, one model with a variance for each gives what each site alone gives.
#[test]
fn residual_variances_differ_by_site() {
    let immer = Immer::read();
    let observed = |keep: &dyn Fn(usize) -> bool| {
        let values = immer.values.iter().enumerate();
        Observations::single(values.map(|(n, v)| v.filter(|_| keep(n))).collect()).unwrap()
    };
    let cells = |levels: &[usize], width: usize| FixedEffect::Factor {
        level: Immer::joined(levels, &immer.site, 6),
        levels: 6 * width,
    };
    let fixed = || vec![cells(&immer.variety, 5), cells(&immer.year, 2)];
    let whole = Model::with_residual(
        observed(&|_| true),
        fixed(),
        vec![],
        Residual::by_environment(&immer.site, 6),
    )
    .unwrap();
    let fit = whole.estimate().unwrap();
    let mut criterion = 0.0;
    for site in 0..6 {
        let alone = Model::new(
            observed(&|record| immer.site[record] == site),
            fixed(),
            vec![],
        );
        let alone = alone.unwrap().estimate().unwrap();
        near(variance(&fit, site) / variance(&alone, 0), 1.0, 1e-6);
        criterion += alone.minus_two_log_likelihood();
    }
    near(fit.minus_two_log_likelihood(), criterion, 1e-6);
}

/// The profile of the dyestuff-like balanced case has a closed form: with one variance of entries, the interval's ends
/// are where twice the fall of the restricted likelihood is χ² of one degree of freedom, 3.841459 at 95 %.
#[test]
fn interval_ends_where_the_likelihood_has_fallen() {
    let table = Table::read("john.alpha.csv");
    let model = Model::new(
        table.observed("yield"),
        vec![table.fixed(&["rep"])],
        vec![table.random(&["gen"])],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    let variance = Parameter {
        component: 0,
        a: 0,
        b: 0,
    };
    let interval = model.profile_interval(&fit, Coordinate::Entry(variance), 0.95);
    let [low, high] = [interval.low.unwrap(), interval.high.unwrap()];
    for end in [low, high] {
        // With the residual variance estimated anew, by a fine search.
        let fall = (1..4000)
            .map(|n| {
                let components = Components::single(&[end], f64::from(n) * 1e-4);
                model.solve(&components).unwrap().minus_two_log_likelihood()
            })
            .fold(f64::INFINITY, f64::min)
            - fit.minus_two_log_likelihood();
        near(fall, 3.841459, 5e-3);
    }
    assert!(low > 0.0 && low < 0.142 && high > 0.142);
}

/// Degrees of freedom after Satterthwaite are those of the error where there is one stratum: 27 for 10 entries in 4
/// complete blocks; and the least difference of mean square 2.25 is 2.051831 √(2 · 2.25 / 4) = 2.176295 (by hand from
/// the table of t).
#[test]
fn degrees_of_freedom_and_least_difference() {
    let mut rng = fastrand::Rng::with_seed(4);
    let values = (0..40).map(|_| Some(rng.f64())).collect();
    let entry: Vec<usize> = (0..40).map(|record| record % 10).collect();
    let block: Vec<usize> = (0..40).map(|record| record / 10).collect();
    let factor = |level: &Vec<usize>, levels| FixedEffect::Factor {
        level: level.clone(),
        levels,
    };
    let model = Model::new(
        Observations::single(values).unwrap(),
        vec![factor(&entry, 10), factor(&block, 4)],
        vec![],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    let means = adjusted(10, &[4]);
    let degrees = model
        .degrees_of_freedom(&fit, &[means[0].minus(&means[1])])
        .unwrap();
    near(degrees[0], 27.0, 1e-6);
    near(
        least_difference(2.0 * 2.25 / 4.0, 27.0, 0.05),
        2.176295,
        1e-5,
    );
    // Tukey's honestly significant difference for the same, recomputed.
    let range = range_quantile(0.95, 10, 27.0).unwrap();
    near(range * (2.25_f64 / 4.0).sqrt(), 3.648337, 1e-5);
}

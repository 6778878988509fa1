//! Scores in classes, against published fits.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use faer::Mat;
use fastrand::Rng;
use quant::ordinal::{OrdinalError, Scores, cumulative_logit, gauss_hermite, with_groups};

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, not {expected}"
    );
}

fn rows(file: &str) -> Vec<csv::StringRecord> {
    let mut reader = csv::Reader::from_path(format!("tests/data/{file}")).unwrap();
    reader.records().map(Result::unwrap).collect()
}

/// Bitterness of wine, 72 ratings by nine judges: Randall (1989), `wine` of the R package ordinal. Temperature and contact
/// as predictors; the judges.
fn wine() -> (Scores, Vec<usize>) {
    let rows = rows("wine.csv");
    let scores = Scores {
        classes: rows
            .iter()
            .map(|row| row[2].parse::<usize>().unwrap() - 1)
            .collect(),
        predictors: Mat::from_fn(rows.len(), 2, |row, column| {
            f64::from(u8::from(["warm", "yes"][column] == &rows[row][3 + column]))
        }),
        weights: Vec::new(),
    };
    let judges = rows
        .iter()
        .map(|row| row[6].parse::<usize>().unwrap() - 1)
        .collect();
    (scores, judges)
}

/// The tutorial of the R package ordinal (Christensen): effects, thresholds, errors and log-likelihood as printed.
#[test]
fn the_bitterness_of_wine() {
    let (scores, _) = wine();
    let found = cumulative_logit(&scores).unwrap();
    near(found.effects[0], 2.5031, 5.1e-5);
    near(found.effects[1], 1.5278, 5.1e-5);
    for (threshold, expected) in found
        .thresholds
        .iter()
        .zip([-1.3444, 1.2508, 3.4669, 5.0064])
    {
        near(*threshold, expected, 5.1e-5);
    }
    let errors = [0.5171, 0.4379, 0.5978, 0.7309, 0.5287, 0.4766];
    for (error, expected) in found.standard_errors().iter().zip(errors) {
        near(*error, expected, 5.1e-5);
    }
    near(found.log_likelihood, -86.49, 0.005);
    let chances = [0.206790, 0.570650, 0.192291, 0.023619, 0.006650];
    for (chance, expected) in found.chances(&[0.0, 0.0]).iter().zip(chances) {
        near(*chance, expected, 1e-6);
    }
    // TRAP: the sign. A positive effect lifts the score.
    assert!(found.chances(&[1.0, 0.0])[4] > found.chances(&[0.0, 0.0])[4]);
}

/// Satisfaction with housing in Copenhagen, counts as weights: `housing` of the R package MASS, fit as printed by Venables
/// & Ripley (2002), Modern Applied Statistics with S, section 7.3.
#[test]
fn satisfaction_with_housing() {
    let rows = rows("housing.csv");
    let predictors = [
        (2, "Medium"),
        (2, "High"),
        (3, "Apartment"),
        (3, "Atrium"),
        (3, "Terrace"),
        (4, "High"),
    ];
    let scores = Scores {
        classes: rows
            .iter()
            .map(|row| {
                ["Low", "Medium", "High"]
                    .iter()
                    .position(|class| *class == &row[1])
                    .unwrap()
            })
            .collect(),
        predictors: Mat::from_fn(rows.len(), 6, |row, column| {
            let (field, level) = predictors[column];
            f64::from(u8::from(&rows[row][field] == level))
        }),
        weights: rows.iter().map(|row| row[5].parse().unwrap()).collect(),
    };
    let found = cumulative_logit(&scores).unwrap();
    let expected = [0.56639, 1.28882, -0.57235, -0.36619, -1.09101, 0.36028];
    let errors = [0.10465, 0.12716, 0.11924, 0.15517, 0.15149, 0.09554];
    for place in 0..6 {
        near(found.effects[place], expected[place], 1e-5);
        near(found.standard_errors()[2 + place], errors[place], 1e-5);
    }
    near(found.thresholds[0], -0.49614, 1e-5);
    near(found.thresholds[1], 0.69071, 1e-5);
    near(-2.0 * found.log_likelihood, 3479.149, 1e-3);
}

/// The chance of the scores with the judges integrated out on a fine grid, independent of the fit.
fn on_a_grid(
    scores: &Scores,
    judges: &[usize],
    thresholds: &[f64],
    effects: &[f64],
    deviation: f64,
) -> f64 {
    let below = |x: f64| 1.0 / (1.0 + (-x).exp());
    let step = 0.002;
    (0..=*judges.iter().max().unwrap())
        .map(|judge| {
            let integral: f64 = (-4500..=4500)
                .map(|point| {
                    let z = f64::from(point) * step;
                    let mut chance = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
                    for record in (0..judges.len()).filter(|&record| judges[record] == judge) {
                        let linear: f64 = deviation * z
                            + (0..effects.len())
                                .map(|place| effects[place] * scores.predictors[(record, place)])
                                .sum::<f64>();
                        let class = scores.classes[record];
                        let upper = thresholds
                            .get(class)
                            .map_or(1.0, |threshold| below(threshold - linear));
                        let lower = if class == 0 {
                            0.0
                        } else {
                            below(thresholds[class - 1] - linear)
                        };
                        chance *= upper - lower;
                    }
                    chance
                })
                .sum();
            (integral * step).ln()
        })
        .sum()
}

/// Judges as a random term. With Laplace's approximation the package's tutorial prints effects 3.063 and 1.835, a
/// variance of 1.279 and a log-likelihood of -81.57 (from memory); with quadrature the fine grid agrees, and nothing
/// near is likelier.
#[test]
fn judges_differ() {
    let (scores, judges) = wine();
    let laplace = with_groups(&scores, &judges, 1).unwrap();
    near(laplace.effects[0], 3.063, 2e-3);
    near(laplace.effects[1], 1.835, 2e-3);
    near(laplace.deviation.powi(2), 1.279, 3e-3);
    near(laplace.log_likelihood, -81.57, 0.01);
    let found = with_groups(&scores, &judges, 15).unwrap();
    let grid = |thresholds: &[f64], effects: &[f64], deviation| {
        on_a_grid(&scores, &judges, thresholds, effects, deviation)
    };
    let top = grid(&found.thresholds, &found.effects, found.deviation);
    near(found.log_likelihood, top, 1e-6);
    for by in [-0.03, 0.03] {
        assert!(grid(&found.thresholds, &found.effects, found.deviation + by) < top);
        for place in 0..2 {
            let mut effects = found.effects.clone();
            effects[place] += by;
            assert!(grid(&found.thresholds, &effects, found.deviation) < top);
        }
        for place in 0..4 {
            let mut thresholds = found.thresholds.clone();
            thresholds[place] += by;
            assert!(grid(&thresholds, &found.effects, found.deviation) < top);
        }
    }
    // Points beyond ten change nothing that matters.
    let more = with_groups(&scores, &judges, 25).unwrap();
    near(more.log_likelihood, found.log_likelihood, 1e-6);
    near(more.deviation, found.deviation, 1e-4);
    assert_eq!(found.covariance.nrows(), 7);
    assert!(found.groups.iter().any(|group| group.mean.abs() > 1.0));
    // Judges drawn anew for each record differ by nothing: the term stops at 0.
    let shuffled: Vec<usize> = (0..72).map(|record| record % 2).collect();
    let none = with_groups(&scores, &shuffled, 10).unwrap();
    assert!(none.log_likelihood >= cumulative_logit(&scores).unwrap().log_likelihood);
}

/// Effects and the deviation of the groups found again in many simulated trials, and intervals that cover.
#[test]
fn simulated_scores_are_fitted_without_bias() {
    let mut random = Rng::with_seed(8);
    let (truth, deviation) = (0.8, 1.0);
    let trials = 20;
    let (mut effects, mut deviations, mut covered) = (0.0, 0.0, 0);
    for _ in 0..trials {
        let mut uniform = || random.f64().clamp(1e-12, 1.0 - 1e-12);
        let (groups, each) = (30, 8);
        let means: Vec<f64> = (0..groups)
            .map(|_| deviation * quant::chance::normal::quantile(uniform()))
            .collect();
        let records = groups * each;
        let predictors = Mat::from_fn(records, 1, |row, _| f64::from(row as u32 % 2));
        let of_record: Vec<usize> = (0..records).map(|record| record / each).collect();
        let classes = (0..records)
            .map(|record| {
                let u = uniform();
                let latent =
                    truth * predictors[(record, 0)] + means[record / each] + (u / (1.0 - u)).ln();
                [-1.0, 0.5, 2.0]
                    .iter()
                    .filter(|&&threshold| latent > threshold)
                    .count()
            })
            .collect();
        let scores = Scores {
            classes,
            predictors,
            weights: Vec::new(),
        };
        let found = with_groups(&scores, &of_record, 7).unwrap();
        effects += found.effects[0] / f64::from(trials);
        deviations += found.deviation / f64::from(trials);
        let error = found.covariance[(3, 3)].sqrt();
        covered += usize::from((found.effects[0] - truth).abs() < 1.96 * error);
    }
    // Standard errors of the means of 20: about 0.06.
    near(effects, truth, 0.2);
    near(deviations, deviation, 0.2);
    // Fewer than 15 of 20 would happen once in three thousand times at 95 %.
    assert!(covered >= 15, "{covered} of 20 intervals cover");
}

#[test]
fn points_of_gauss_and_hermite() {
    // Moments of the standard normal: 1, 0, 1, 0, 3, 0, 15.
    let points = gauss_hermite(4);
    for (power, moment) in [1.0, 0.0, 1.0, 0.0, 3.0, 0.0, 15.0].into_iter().enumerate() {
        let sum: f64 = points
            .iter()
            .map(|(z, weight)| weight * z.powi(power as i32))
            .sum();
        near(sum, moment, 1e-12);
    }
}

#[test]
fn refuses_what_can_not_be_fitted() {
    let scores = |classes: Vec<usize>, values: &[f64]| Scores {
        predictors: Mat::from_fn(classes.len(), 1, |row, _| values[row]),
        classes,
        weights: Vec::new(),
    };
    let refused = |scores: &Scores| cumulative_logit(scores).unwrap_err();
    let parted = scores(vec![0, 0, 0, 1, 1, 1], &[0.0, 0.1, 0.2, 1.0, 1.1, 1.2]);
    assert_eq!(refused(&parted), OrdinalError::Endless);
    assert_eq!(
        refused(&scores(vec![0, 2, 0, 2], &[0.0, 1.0, 1.0, 0.0])),
        OrdinalError::Empty(1)
    );
    assert_eq!(
        refused(&scores(vec![0, 0], &[0.0, 1.0])),
        OrdinalError::Empty(1)
    );
    assert_eq!(
        refused(&scores(vec![0, 1], &[f64::NAN, 1.0])),
        OrdinalError::Figures
    );
    // A predictor that never changes is a threshold.
    assert_eq!(
        refused(&scores(vec![0, 1, 0, 1], &[1.0; 4])),
        OrdinalError::Endless
    );
}

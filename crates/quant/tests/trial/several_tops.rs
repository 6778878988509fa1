//! Likelihoods with more than one top: the search finds the highest.

use fastrand::Rng;
use quant::trial::{Entries, Space, Trial};

use crate::simulated::{factor, neighbours, normal};

/// 16 entries four times on 8 × 8 plots, with an error of each plot's own beside what neighbours share.
fn field(shape: [f64; 2], own: f64, seed: u64) -> Trial {
    let mut rng = Rng::with_seed(seed);
    let shared = neighbours([8, 8], shape, &mut rng);
    let mut entry: Vec<usize> = (0..64).map(|place| place % 16).collect();
    rng.shuffle(&mut entry);
    let values = shared.iter().zip(&entry);
    Trial {
        values: values
            .map(|(shared, &entry)| 0.3 * entry as f64 + shared + own * normal(&mut rng))
            .collect(),
        entry: factor(entry),
        space: Space::Neighbours {
            place: (0..64).map(|place| [place / 8, place % 8]).collect(),
            size: [8, 8],
            nugget: true,
        },
        ..Trial::default()
    }
}

/// A model with more in it never fits worse, whatever the signs and sizes of its correlations.
#[test]
fn an_error_of_each_plots_own_never_makes_the_fit_worse() {
    let shapes = [
        [-0.9, -0.9],
        [-0.6, 0.0],
        [-0.8, 0.3],
        [0.9, 0.9],
        [0.5, 0.3],
    ];
    for (nth, shape) in shapes.into_iter().enumerate() {
        for (seed, own) in [(1, 0.0), (2, 0.3), (3, 0.7)] {
            let with = field(shape, own, 10 * nth as u64 + seed);
            let mut without = with.clone();
            if let Space::Neighbours { nugget, .. } = &mut without.space {
                *nugget = false;
            }
            let fitted = |trial: &Trial| {
                let analysis = trial.analyse(Entries::Fixed).unwrap();
                analysis.fit.minus_two_log_likelihood()
            };
            let (with, without) = (fitted(&with), fitted(&without));
            assert!(
                with <= without + 1e-5,
                "{shape:?} {own}: {with} against {without}"
            );
        }
    }
}

/// Two sites whose errors differ much, in few plots: of two tops the higher is found. The likelihood at it was computed
/// from dense matrices, minimised from many starts.
#[test]
fn of_two_tops_of_residuals_by_site_the_higher_is_found() {
    let table = include_str!("several_tops.csv");
    let mut rows = table
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect::<Vec<_>>());
    let mut names: Vec<Vec<String>> = vec![Vec::new(); 3];
    let mut level = |column: usize, name: &str| {
        let names = &mut names[column];
        names
            .iter()
            .position(|each| each == name)
            .unwrap_or_else(|| {
                names.push(name.to_owned());
                names.len() - 1
            })
    };
    let (mut entry, mut site, mut block, mut values) = (vec![], vec![], vec![], vec![]);
    for row in rows.by_ref() {
        entry.push(level(0, row[2]));
        site.push(level(1, row[0]));
        block.push(level(2, &format!("{}:{}", row[0], row[1])));
        values.push(row[3].parse().unwrap());
    }
    let trial = Trial {
        values,
        entry: factor(entry),
        fixed: vec![factor(site.clone())],
        random: vec![factor(block)],
        residual_by: Some(factor(site)),
        ..Trial::default()
    };
    let analysis = trial.analyse(Entries::Fixed).unwrap();
    let found = analysis.fit.minus_two_log_likelihood();
    assert!((found - 99.3677).abs() < 1e-3, "{found}");
}

//! Sums of squares by the terms of a model, as tables of the analysis of variance print them: what the residual falls by
//! when a term is added.

use quant::evaluation::{FixedEffect, Model, Observations};
use std::collections::BTreeMap;

use quant::chance::range_quantile;
use quant::trial::least_difference;

use crate::table::{Table, adjusted, near};

/// The residual sum of squares about fixed terms, and its degrees of freedom.
fn residual(values: &[Option<f64>], terms: &[FixedEffect]) -> (f64, f64) {
    let observations = Observations::single(values.to_vec()).unwrap();
    let terms = if terms.is_empty() {
        vec![FixedEffect::mean(values.len())]
    } else {
        terms.to_vec()
    };
    let model = Model::new(observations, terms, vec![]).unwrap();
    let fit = model.estimate().unwrap();
    // -2 ln L of a variance s² at its estimate is f (ln 2πs² + 1) + ln|X'X|: the degrees f come from what the sum of
    // squares of the residuals is of the mean square.
    let mean_square = fit.components().get(0).get(0, 0);
    let left = model.residuals(fit.components()).unwrap();
    let squares: f64 = left.iter().flatten().map(|r| r * r).sum();
    (squares, (squares / mean_square).round())
}

/// What each term takes when they are added in this order, with its degrees of freedom; the residual last.
fn sums(values: &[Option<f64>], terms: &[FixedEffect]) -> Vec<(f64, f64)> {
    let left: Vec<(f64, f64)> = (0..=terms.len())
        .map(|count| residual(values, &terms[..count]))
        .collect();
    let fallen = left
        .windows(2)
        .map(|two| (two[0].0 - two[1].0, two[0].1 - two[1].1));
    fallen.chain(left.last().copied()).collect()
}

fn same(found: &[(f64, f64)], expected: &[(f64, f64)], tolerance: f64) {
    assert_eq!(found.len(), expected.len());
    for (found, expected) in found.iter().zip(expected) {
        near(found.0, expected.0, tolerance);
        near(found.1, expected.1, 0.0);
    }
}

/// Goulden (1952) *Methods of Statistical Analysis*, 2nd ed., p. 216; sums recomputed. F of the treatments is 21.032.
#[test]
fn latin_square() {
    let table = Table::read("goulden.latin.csv");
    let terms = ["row", "col", "trt"].map(|column| table.fixed(&[column]));
    let found = sums(&table.values("yield"), &terms);
    let expected = [(46.668, 4.0), (14.020, 4.0), (196.608, 4.0), (28.044, 12.0)];
    same(&found, &expected, 1e-3);
    near(found[2].0 / 4.0 / (found[3].0 / 12.0), 21.032, 1e-3);
}

/// `MASS::immer` (Immer 1934; Venables & Ripley 2002, whose residual of the two-year means is printed, from memory);
/// sums recomputed.
#[test]
fn barley() {
    let table = Table::read("immer.csv");
    let (variety, site) = (table.fixed(&["Var"]), table.fixed(&["Loc"]));
    let years = ["Y1", "Y2"].map(|year| table.values(year));
    let means: Vec<Option<f64>> = (0..30)
        .map(|record| Some(f64::midpoint(years[0][record]?, years[1][record]?)))
        .collect();
    let found = sums(&means, &[variety, site]);
    same(
        &found,
        &[(2654.986, 4.0), (10610.452, 5.0), (2216.509, 20.0)],
        1e-3,
    );
    near(found[0].0 / 4.0 / (found[2].0 / 20.0), 5.989, 1e-3);

    let twice = |levels: Vec<usize>| [levels.clone(), levels].concat();
    let (variety, site) = (
        twice(table.factor(&["Var"]).level),
        twice(table.factor(&["Loc"]).level),
    );
    let year: Vec<usize> = (0..60).map(|record| record / 30).collect();
    let joined = |one: &[usize], other: &[usize], width: usize| FixedEffect::Factor {
        level: one.iter().zip(other).map(|(a, b)| a * width + b).collect(),
        levels: width * (one.iter().max().unwrap() + 1),
    };
    let single = |level: &[usize]| FixedEffect::Factor {
        level: level.to_vec(),
        levels: level.iter().max().unwrap() + 1,
    };
    let found = sums(
        &years.concat(),
        &[
            single(&variety),
            single(&site),
            single(&year),
            joined(&variety, &site, 6),
            joined(&variety, &year, 2),
            joined(&site, &year, 2),
        ],
    );
    let expected = [
        (5309.97, 4.0),
        (21220.90, 5.0),
        (3798.51, 1.0),
        (4433.02, 20.0),
        (291.81, 4.0),
        (6893.90, 5.0),
        (2784.23, 20.0),
    ];
    same(&found, &expected, 0.01);
}

/// The Nebraska nursery in its complete blocks, `nlme::Wheat2` (Stroup, Baenziger & Mulitze 1994, Crop Science 34:62–66),
/// recomputed; the least significant difference of any two entries is 9.8309.
#[test]
fn nursery() {
    let table = Table::read("wheat2.csv");
    let terms = ["Block", "variety"].map(|column| table.fixed(&[column]));
    let found = sums(&table.values("yield"), &terms);
    same(
        &found,
        &[(1809.08, 3.0), (2387.49, 55.0), (8181.09, 165.0)],
        0.01,
    );
    let mean_square = found[2].0 / 165.0;
    near(found[1].0 / 55.0 / mean_square, 0.8755, 1e-4);
    near(
        least_difference(mean_square / 2.0, 165.0, 0.05),
        9.8309,
        1e-3,
    );
    // The honestly significant difference, recomputed.
    let range = range_quantile(0.95, 56, 165.0).unwrap();
    near(range * (mean_square / 4.0).sqrt(), 20.5525, 1e-3);
}

/// John & Williams (1995) *Cyclic and Computer Generated Designs*, p. 146, recomputed: with blocks left out, with blocks
/// before and after the entries. Means that know no blocks and means within blocks lie to both sides of the adjusted one
/// of an entry that stood in poor blocks; the blocks make the trial worth 1.28 of one in complete blocks.
#[test]
fn oats() {
    let table = Table::read("john.alpha.csv");
    let (replicate, block, entry) = (
        table.fixed(&["rep"]),
        table.fixed(&["rep", "block"]),
        table.fixed(&["gen"]),
    );
    let values = table.values("yield");
    let complete = sums(&values, &[replicate.clone(), entry.clone()]);
    same(
        &complete,
        &[(6.13549, 2.0), (14.07653, 23.0), (6.19095, 46.0)],
        1e-5,
    );
    let blocks_first = [replicate.clone(), block.clone(), entry.clone()];
    let within = sums(&values, &blocks_first);
    same(
        &within,
        &[
            (6.13549, 2.0),
            (7.61823, 15.0),
            (10.06190, 23.0),
            (2.58735, 31.0),
        ],
        1e-5,
    );
    let entries_first = sums(&values, &[replicate.clone(), entry.clone(), block.clone()]);
    near(entries_first[2].0, 3.60360, 1e-5);
    near(complete[2].0 / 46.0 * 2.0 / 3.0 / 0.0701088, 1.2798, 1e-4);

    let mean = |terms: Vec<FixedEffect>, random, others: &[usize]| {
        let model = Model::new(table.observed("yield"), terms, random).unwrap();
        let fit = model.estimate().unwrap();
        let means = model
            .combine(fit.components(), 0, &adjusted(24, others))
            .unwrap();
        (
            means.estimate(2).value,
            means.mean_variance_of_difference().unwrap(),
        )
    };
    let plain = mean(vec![entry.clone(), replicate.clone()], vec![], &[3]);
    let inside = mean(vec![entry.clone(), block], vec![], &[18]);
    let both = mean(
        vec![entry, replicate],
        vec![table.random(&["rep", "block"])],
        &[3],
    );
    near(plain.0, 3.34, 5e-3);
    near(inside.0, 3.61, 5e-3);
    near(inside.1, 0.0765904, 1e-6);
    assert!(plain.0 < both.0 && both.0 < inside.0);
}

/// Snedecor & Cochran (1989) *Statistical Methods*, 8th ed., plots in time, as printed (from memory) and recomputed: the
/// plots' error is not that of years within them.
#[test]
fn asparagus() {
    let mut table = Table::read("snedecor.asparagus.csv");
    table.keep("year", |year| year != "1929");
    let terms = [
        table.fixed(&["block"]),
        table.fixed(&["trt"]),
        table.fixed(&["block", "trt"]),
        table.fixed(&["year"]),
        table.fixed(&["trt", "year"]),
    ];
    let found = sums(&table.values("yield"), &terms);
    let expected = [
        (30170.0, 3.0),
        (241377.0, 3.0),
        (21861.0, 9.0),
        (518722.0, 3.0),
        (51177.0, 9.0),
        (15487.0, 36.0),
    ];
    same(&found, &expected, 0.6);
    let squares: Vec<f64> = found.iter().map(|(sum, degrees)| sum / degrees).collect();
    near(squares[1] / squares[2], 33.12, 0.01);
    near(squares[1] / squares[5], 187.0, 0.1);

    // One value a plot, the mean of its four years, tells the same.
    let mut plots: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    let (block, date) = (table.factor(&["block"]), table.factor(&["trt"]));
    for (record, value) in table.numbers("yield").into_iter().enumerate() {
        *plots
            .entry((block.level[record], date.level[record]))
            .or_default() += value / 4.0;
    }
    let level = |of: fn(&(usize, usize)) -> usize| FixedEffect::Factor {
        level: plots.keys().map(of).collect(),
        levels: 4,
    };
    let values: Vec<Option<f64>> = plots.values().copied().map(Some).collect();
    let found = sums(&values, &[level(|plot| plot.0), level(|plot| plot.1)]);
    let error = found[2].0 / found[2].1;
    near(error, 607.243, 1e-3);
    near((2.0 * error / 4.0).sqrt(), 17.4247, 1e-4);
    near(found[1].0 / 3.0 / error, 33.12, 0.01);
}

/// Federer (1956), layout from memory, sums recomputed: entries adjusted for blocks, blocks for entries, and the new ones
/// among themselves.
#[test]
fn augmented() {
    let plots = "A83 B77 C78 D78 g70 k75 l74|A79 B81 C81 D91 e79 i78|A92 B79 C87 D81 f96 h89 j82";
    let records: Vec<(usize, &str, f64)> = plots
        .split('|')
        .enumerate()
        .flat_map(|(block, plots)| plots.split(' ').map(move |plot| (block, plot)))
        .map(|(block, plot)| (block, &plot[..1], plot[1..].parse().unwrap()))
        .collect();
    let values: Vec<Option<f64>> = records.iter().map(|record| Some(record.2)).collect();
    let names = "ABCDefghijkl";
    let factor = |level: &dyn Fn(&(usize, &str, f64)) -> usize, levels| FixedEffect::Factor {
        level: records.iter().map(level).collect(),
        levels,
    };
    let block = factor(&|record| record.0, 3);
    let entry = factor(&|record| names.find(record.1).unwrap(), 12);
    // All new ones as one.
    let group = factor(&|record| names.find(record.1).unwrap().min(4), 5);
    let found = sums(&values, &[block.clone(), entry.clone()]);
    same(
        &found,
        &[(360.071, 2.0), (285.095, 11.0), (161.833, 6.0)],
        1e-3,
    );
    near(
        sums(&values, &[entry.clone(), block.clone()])[1].0,
        69.5,
        1e-3,
    );
    let found = sums(&values, &[block, group, entry]);
    same(&found[1..3], &[(69.927, 4.0), (215.169, 7.0)], 1e-3);
}

//! Worked examples from books and published data sets.

use quant::evaluation::{
    Basis, Components, Finding, FixedEffect, Model, Observations, RandomEffect, Role, Sense,
    entry_mean_heritability, half_sib_heritability_standard_error,
};

use crate::pedigree::relationship;

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected}"
    );
}

fn single(values: &[f64]) -> Observations {
    Observations::single(values.iter().copied().map(Some).collect()).unwrap()
}

fn factor(level: Vec<usize>) -> FixedEffect {
    let levels = level.iter().max().unwrap() + 1;
    FixedEffect::Factor { level, levels }
}

/// Mrode (2014) *Linear Models for the Prediction of Animal Breeding Values*, 3rd ed., Example
/// 3.1, pp. 37–42: data from the book; solutions from memory and recomputed, diagonals of C⁻¹
/// recomputed. σ²_a = 20, σ²_e = 40.
#[test]
fn animal_model_of_mrode_example_3_1() {
    let pedigree = [
        [None, None],
        [None, None],
        [None, None],
        [Some(0), None],
        [Some(2), Some(1)],
        [Some(0), Some(1)],
        [Some(3), Some(4)],
        [Some(2), Some(5)],
    ];
    let model = Model::new(
        single(&[4.5, 2.9, 3.9, 3.5, 5.0]),
        vec![factor(vec![0, 1, 1, 0, 0])],
        vec![RandomEffect::related(
            Role::Additive,
            &[3, 4, 5, 6, 7],
            relationship(&pedigree),
        )],
    )
    .unwrap();
    let solution = model.solve(&Components::single(&[20.0], 40.0)).unwrap();

    for (level, (value, diagonal)) in [(4.358502, 0.595561), (3.404430, 0.802459)]
        .into_iter()
        .enumerate()
    {
        let sex = solution.fixed(0, level, 0).unwrap();
        close(sex.value, value, 1e-6);
        close(sex.standard_error.powi(2) / 40.0, diagonal, 1e-6);
    }
    let values = [
        0.098445, -0.018770, -0.041084, -0.008663, -0.185732, 0.176872, -0.249459, 0.182615,
    ];
    let diagonals = [
        0.471094, 0.492096, 0.456459, 0.427680, 0.428107, 0.442283, 0.441856, 0.422364,
    ];
    let reliabilities = [
        0.057812, 0.015809, 0.087082, 0.144640, 0.143787, 0.115434, 0.116288, 0.155272,
    ];
    let accuracies = [
        0.240440, 0.125732, 0.295097, 0.380315, 0.379192, 0.339756, 0.341010, 0.394045,
    ];
    let errors = [
        4.3409, 4.4366, 4.2730, 4.1361, 4.1381, 4.2061, 4.2041, 4.1103,
    ];
    for animal in 0..8 {
        let found = solution.random(0, animal, 0);
        close(found.value, values[animal], 1e-6);
        close(found.error_variance / 40.0, diagonals[animal], 1e-6);
        close(found.reliability(), reliabilities[animal], 1e-5);
        close(found.accuracy(), accuracies[animal], 1e-5);
        close(found.standard_error(), errors[animal], 1e-4);
        assert_eq!(solution.genetic(animal, 0), Some(found));
    }
}

/// Mrode (2014), Example 3.2, pp. 46–48: the same records by sire; 4 is a son of 1; σ²_s = 5,
/// σ²_e = 55. Recomputed, and equal to the book from memory.
#[test]
fn sire_model_of_mrode_example_3_2() {
    let pedigree = [[None, None], [None, None], [Some(0), None]];
    let model = Model::new(
        single(&[4.5, 2.9, 3.9, 3.5, 5.0]),
        vec![factor(vec![0, 1, 1, 0, 0])],
        vec![RandomEffect::related(
            Role::Additive,
            &[0, 1, 0, 2, 1],
            relationship(&pedigree),
        )],
    )
    .unwrap();
    let solution = model.solve(&Components::single(&[5.0], 55.0)).unwrap();
    close(solution.fixed(0, 0, 0).unwrap().value, 4.335671, 1e-6);
    close(solution.fixed(0, 1, 0).unwrap().value, 3.381986, 1e-6);
    for (sire, value) in [0.022002, 0.014026, -0.043042].into_iter().enumerate() {
        close(solution.random(0, sire, 0).value, value, 1e-6);
    }
}

/// Mrode (2014), Example 4.1, pp. 62–64: all 17 solutions as printed on p. 64 (records from
/// memory, proved by the solutions), to one unit of the last printed digit. Herd-year-seasons 1
/// and 3 are the ones set to zero.
#[test]
fn repeatability_model_of_mrode_example_4_1() {
    let pedigree = [
        [None, None],
        [None, None],
        [None, None],
        [Some(0), Some(1)],
        [Some(2), Some(1)],
        [Some(0), Some(4)],
        [Some(2), Some(3)],
        [Some(0), Some(6)],
    ];
    let cow = [3, 3, 4, 4, 5, 5, 6, 6, 7, 7];
    let parity = vec![0, 1, 0, 1, 0, 1, 0, 1, 0, 1];
    let season = vec![0, 2, 0, 3, 1, 2, 0, 2, 1, 3];
    let fat = [
        201.0, 280.0, 150.0, 200.0, 160.0, 190.0, 180.0, 250.0, 285.0, 300.0,
    ];
    let model = Model::new(
        single(&fat),
        vec![factor(parity), factor(season)],
        vec![
            RandomEffect::related(Role::Additive, &cow, relationship(&pedigree)),
            RandomEffect::independent(Role::Permanent, &cow, 8),
        ],
    )
    .unwrap();
    let solution = model
        .solve(&Components::single(&[20.0, 12.0], 28.0))
        .unwrap();
    close(solution.fixed(0, 0, 0).unwrap().value, 175.472, 1e-3);
    close(solution.fixed(0, 1, 0).unwrap().value, 241.893, 1e-3);
    assert_eq!(solution.fixed(1, 0, 0), None);
    close(solution.fixed(1, 1, 0).unwrap().value, 44.065, 1e-3);
    assert_eq!(solution.fixed(1, 2, 0), None);
    close(solution.fixed(1, 3, 0).unwrap().value, 0.013, 1e-3);
    let additive = [
        10.148, -3.084, -7.063, 13.581, -18.207, -18.387, 9.328, 24.194,
    ];
    for (animal, value) in additive.into_iter().enumerate() {
        close(solution.random(0, animal, 0).value, value, 1e-3);
    }
    for (cow, value) in (3..).zip([8.417, -7.146, -17.229, -1.390, 17.347]) {
        close(solution.random(1, cow, 0).value, value, 1e-3);
    }
    close(solution.random(0, 7, 0).prior_variance, 20.0 * 1.125, 1e-12);
}

/// Mrode (2014), Section 15.5, p. 255: contrasts with sums of squares 0.3025 (expected σ²_e +
/// 1.5 σ²_s), 0.1250 (σ²_e + σ²_s) and 0.1800 (σ²_e), one degree of freedom each. Three sires with
/// two, one and one progeny have these contrasts; the iterated fit is σ²_e = 0.163, σ²_s = 0.047.
#[test]
fn smallest_analysis_of_variance_of_mrode() {
    let model = Model::new(
        single(&[0.85, 0.25, 0.25, -0.25]),
        vec![FixedEffect::mean(4)],
        vec![RandomEffect::independent(Role::Other, &[0, 0, 1, 2], 3)],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    let (sire, residual) = (
        fit.components().effects[0].get(0, 0),
        fit.components().residual().get(0, 0),
    );
    close(residual, 0.163, 5e-4);
    close(sire, 0.047, 5e-4);
    // The average information by hand: with contrasts s of expectation e + d σ²_s it is the sum of
    // d^k s / 2 e³, k counting the sire variance (Gilmour, Thompson & Cullis 1995).
    let sum = |power: i32| -> f64 {
        [(0.3025, 1.5_f64), (0.1250, 1.0), (0.1800, 0.0)]
            .iter()
            .map(|&(square, d)| d.powi(power) * square / (2.0 * (residual + d * sire).powi(3)))
            .sum()
    };
    let determinant = sum(0) * sum(2) - sum(1) * sum(1);
    close(
        fit.standard_error(0, 0, 0).unwrap().powi(2),
        sum(0) / determinant,
        1e-9,
    );
    close(
        fit.standard_error(1, 0, 0).unwrap().powi(2),
        sum(2) / determinant,
        1e-9,
    );
    // A variance smaller than its standard error is said to be so.
    let finding = Finding::PoorlyKnown {
        role: Role::Other,
        effect: 0,
        of_trait: 0,
    };
    assert!(fit.findings().contains(&finding));
}

/// The rows of a data file below its source line and heading.
fn rows(text: &str) -> Vec<Vec<&str>> {
    text.lines()
        .skip(2)
        .map(|line| line.split(',').collect())
        .collect()
}

/// A column as levels, numbered in order of appearance.
fn levels(rows: &[Vec<&str>], column: usize) -> (Vec<usize>, Vec<String>) {
    let mut names: Vec<String> = Vec::new();
    let level = rows
        .iter()
        .map(|row| {
            names
                .iter()
                .position(|name| name == row[column])
                .unwrap_or_else(|| {
                    names.push(row[column].to_owned());
                    names.len() - 1
                })
        })
        .collect();
    (level, names)
}

fn numbers(rows: &[Vec<&str>], column: usize) -> Vec<f64> {
    rows.iter()
        .map(|row| row[column].parse().unwrap())
        .collect()
}

/// Split plots of oats: Yates (1935), Journal of the Royal Statistical Society Supplement
/// 2:181–247; data `oats` of MASS (Venables & Ripley 2002). Variances, standard deviations and −2
/// ln L as published for both models, and recomputed.
#[test]
fn oats_by_restricted_likelihood() {
    let rows = rows(include_str!("../../data/oats.csv"));
    let yields = numbers(&rows, 3);
    assert_eq!((rows.len(), yields.iter().sum::<f64>()), (72, 7486.0));
    let (block, blocks) = levels(&rows, 0);
    let (variety, varieties) = levels(&rows, 1);
    let (nitrogen, nitrogens) = levels(&rows, 2);
    let joined = |left: &[usize], right: &[usize], width: usize| -> Vec<usize> {
        left.iter().zip(right).map(|(l, r)| l * width + r).collect()
    };
    let plot = joined(&block, &variety, varieties.len());
    let random = || {
        vec![
            RandomEffect::independent(Role::Other, &block, blocks.len()),
            RandomEffect::independent(Role::Other, &plot, blocks.len() * varieties.len()),
        ]
    };
    let interaction = joined(&variety, &nitrogen, nitrogens.len());
    let mains = vec![factor(variety.clone()), factor(nitrogen.clone())];
    let mut all = mains.clone();
    all.push(factor(interaction));

    let fit = Model::new(single(&yields), all, random())
        .unwrap()
        .estimate()
        .unwrap();
    let components = fit.components();
    close(components.effects[0].get(0, 0), 214.4771, 2e-4);
    close(components.effects[1].get(0, 0), 106.0618, 2e-4);
    close(components.residual().get(0, 0), 177.0833, 2e-4);
    close(fit.minus_two_log_likelihood(), 529.0285, 1e-4);
    assert!(fit.standard_error(2, 0, 0).is_some());

    let model = Model::new(single(&yields), mains, random()).unwrap();
    let fit = model.estimate().unwrap();
    let components = fit.components();
    close(components.effects[0].get(0, 0).sqrt(), 14.6450, 1e-4);
    close(components.effects[1].get(0, 0), 109.6929, 2e-4);
    close(components.residual().get(0, 0), 162.5588, 2e-4);
    // In balanced data the contrasts of fitted effects are those of the means.
    let solution = model.solve(components).unwrap();
    let nitrogen_level = |name: &str| nitrogens.iter().position(|known| known == name).unwrap();
    let effect = |name: &str| {
        solution
            .fixed(1, nitrogen_level(name), 0)
            .map_or(0.0, |effect| effect.value)
    };
    close(
        effect("0.6cwt") - effect("0.0cwt"),
        123.3889 - 79.3889,
        1e-3,
    );
    let of_variety = |name: &str| varieties.iter().position(|known| known == name).unwrap();
    let mean = |name: &str| solution.fixed(0, of_variety(name), 0).unwrap().value;
    close(
        mean("Marvellous") - mean("Victory"),
        109.7917 - 97.625,
        1e-3,
    );
}

/// Batches of dyestuff: Davies & Goldsmith (1972); data `Dyestuff` of lme4. Variances, criterion,
/// mean with standard error and batch predictions as published, and recomputed.
#[test]
fn dyestuff_by_restricted_likelihood() {
    let rows = rows(include_str!("../../data/dyestuff.csv"));
    let (batch, batches) = levels(&rows, 0);
    assert_eq!((rows.len(), batches.len()), (30, 6));
    let model = Model::new(
        single(&numbers(&rows, 1)),
        vec![FixedEffect::mean(rows.len())],
        vec![RandomEffect::independent(
            Role::Clonal,
            &batch,
            batches.len(),
        )],
    )
    .unwrap();
    let fit = model.estimate().unwrap();
    close(fit.components().effects[0].get(0, 0), 1764.05, 5e-3);
    close(fit.components().residual().get(0, 0), 2451.25, 5e-3);
    close(fit.minus_two_log_likelihood(), 319.6543, 1e-4);
    let solution = model.solve(fit.components()).unwrap();
    let mean = solution.fixed(0, 0, 0).unwrap();
    close(mean.value, 1527.5, 1e-6);
    close(mean.standard_error, 19.3834, 1e-4);
    let predictions = [-17.6069, 0.3913, 28.5622, -23.0845, 56.7331, -44.9953];
    for (batch, value) in predictions.into_iter().enumerate() {
        close(solution.random(0, batch, 0).value, value, 2e-4);
    }
    // Heritabilities are then plain arithmetic: the intraclass correlation, and of a mean of 5.
    let plot = fit.heritability(0, Sense::Broad, Basis::Plot).unwrap();
    close(plot.value, 1764.05 / (1764.05 + 2451.25), 1e-6);
    assert!(0.0 < plot.lower && plot.lower < plot.value && plot.value < plot.upper);
    let divisors = model.entry_divisors(0, 0);
    close(divisors[1], 5.0, 1e-12);
    let mean = fit
        .heritability(0, Sense::Broad, Basis::EntryMean(&divisors))
        .unwrap();
    close(
        mean.value,
        entry_mean_heritability(1764.05, &[(2451.25, 5.0)]),
        1e-6,
    );
    assert_eq!(fit.heritability(0, Sense::Narrow, Basis::Plot), None);
}

/// Robertson (1959) Biometrics 15:219–226, in the form of Falconer & Mackay (1996) chapter 10;
/// values recomputed.
#[test]
fn standard_error_of_half_sib_heritability() {
    for (families, size, t, expected) in [
        (50, 20, 0.0625, 0.085017),
        (100, 10, 0.05, 0.082552),
        (20, 10, 0.1, 0.233923),
    ] {
        let found = half_sib_heritability_standard_error(families, size, t).unwrap();
        close(found, expected, 1e-6);
    }
    assert_eq!(half_sib_heritability_standard_error(1, 20, 0.1), None);
}

/// Entry means over 3 seasons of 4 plots: genotype by season is averaged 3 times, error 12 times,
/// so that variances 1, 0.5 and 2 give 1 / (1 + 0.5/3 + 2/12) = 0.75 (common practice, worked by
/// hand). A lost plot makes the error's number the harmonic mean of 12 and 11.
#[test]
fn entry_means_average_what_the_design_averages() {
    let (clones, seasons, plots) = (2, 3, 4);
    let records: Vec<[usize; 2]> = (0..clones * seasons * plots)
        .map(|record| [record / (seasons * plots), record / plots])
        .collect();
    let clone: Vec<usize> = records.iter().map(|record| record[0]).collect();
    let by_season: Vec<usize> = records.iter().map(|record| record[1]).collect();
    let divisors = |lost: Option<usize>| {
        let values = (0..records.len())
            .map(|i| (Some(i) != lost).then_some(i as f64))
            .collect();
        let random = vec![
            RandomEffect::independent(Role::Clonal, &clone, clones),
            RandomEffect::independent(Role::Other, &by_season, clones * seasons),
        ];
        let values = Observations::single(values).unwrap();
        Model::new(values, vec![FixedEffect::mean(24)], random)
            .unwrap()
            .entry_divisors(0, 0)
    };
    assert_eq!(divisors(None), [1.0, 3.0, 12.0]);
    let share = entry_mean_heritability(1.0, &[(0.5, 3.0), (2.0, 12.0)]);
    close(share, 0.75, 1e-12);
    close(divisors(Some(5))[2], 2.0 / (1.0 / 12.0 + 1.0 / 11.0), 1e-12);
}

//! What the records can't support is refused, with the simpler model named.

use quant::evaluation::{
    Components, EvaluationError, Finding, FixedEffect, Model, Observations, RandomEffect,
    Relationship, Role,
};

use quant::sparse::SymmetricLower;

use crate::pedigree::relationship;
use crate::random::Random;

fn single(values: &[f64]) -> Observations {
    Observations::single(values.iter().copied().map(Some).collect()).unwrap()
}

/// Two founders and six full sibs.
fn family() -> Relationship {
    let mut pedigree = vec![[None, None], [None, None]];
    pedigree.extend([[Some(0), Some(1)]; 6]);
    relationship(&pedigree)
}

fn noise(count: usize) -> Vec<f64> {
    let mut random = Random::new(5);
    (0..count).map(|_| random.normal()).collect()
}

#[test]
fn a_clonal_effect_needs_replicated_clones() {
    let plants: Vec<usize> = (2..8).collect();
    let model = Model::new(
        single(&noise(6)),
        vec![FixedEffect::mean(6)],
        vec![
            RandomEffect::related(Role::Additive, &plants, family()),
            RandomEffect::independent(Role::Clonal, &plants, 8),
        ],
    )
    .unwrap();
    let error = model.estimate().unwrap_err();
    assert_eq!(
        error,
        EvaluationError::NotReplicated {
            role: Role::Clonal,
            effect: 1
        }
    );
    assert_eq!(
        error.to_string(),
        "the clonal effect (random effect 1) can't be separated from the residual, because none of its levels has \
        two records: fit the model without it, or record replicates"
    );
    // With given variances the same records can be evaluated.
    assert!(model.solve(&Components::single(&[1.0, 0.5], 1.0)).is_ok());
}

#[test]
fn an_additive_effect_needs_relatives_or_replicates() {
    let plants: Vec<usize> = (0..12).collect();
    let unrelated = relationship(&[[None, None]; 12]);
    let model = Model::new(
        single(&noise(12)),
        vec![FixedEffect::mean(12)],
        vec![RandomEffect::related(Role::Additive, &plants, unrelated)],
    )
    .unwrap();
    let error = model.estimate().unwrap_err();
    let effects = vec![(Role::Additive, 0)];
    assert_eq!(
        error,
        EvaluationError::NotSeparable {
            effects,
            residual: true
        }
    );
    assert!(
        error
            .to_string()
            .contains("from the residual: fit the model without the additive")
    );
}

#[test]
fn clonal_and_permanent_effects_on_the_same_plants_are_one() {
    let plants: Vec<usize> = (2..8).flat_map(|plant| [plant; 3]).collect();
    let model = Model::new(
        single(&noise(18)),
        vec![FixedEffect::mean(18)],
        vec![
            RandomEffect::independent(Role::Permanent, &plants, 8),
            RandomEffect::independent(Role::Clonal, &plants, 8),
        ],
    )
    .unwrap();
    let effects = vec![(Role::Clonal, 1), (Role::Permanent, 0)];
    let error = EvaluationError::NotSeparable {
        effects,
        residual: false,
    };
    assert_eq!(model.estimate().unwrap_err(), error);
}

#[test]
fn too_few_records_and_records_that_do_not_vary() {
    let mean = || vec![FixedEffect::mean(2)];
    let pair = || vec![RandomEffect::independent(Role::Clonal, &[0, 0], 1)];
    let model = Model::new(single(&[1.0, 2.0]), mean(), pair()).unwrap();
    assert!(matches!(
        model.estimate(),
        Err(EvaluationError::TooFewRecords { records: 2, .. })
    ));

    let clones = [0, 0, 1, 1, 2, 2];
    let random = || vec![RandomEffect::independent(Role::Clonal, &clones, 3)];
    let mean = || vec![FixedEffect::mean(6)];
    let model = Model::new(single(&[4.0; 6]), mean(), random()).unwrap();
    assert_eq!(
        model.estimate().unwrap_err(),
        EvaluationError::NoVariation { of_trait: 0 }
    );

    let explained = [1.0, 1.0, 3.0, 3.0, 4.0, 4.0];
    let model = Model::new(single(&explained), mean(), random()).unwrap();
    assert_eq!(
        model.estimate().unwrap_err(),
        EvaluationError::ResidualAtZero { of_trait: 0 }
    );
}

/// Clones more alike than chance would have them: the best variance is zero.
#[test]
fn a_variance_at_zero_is_reported_as_the_simpler_model() {
    let clones = [0, 0, 1, 1, 2, 2, 3, 3];
    let values = [1.0, 5.0, 5.1, 0.9, 1.1, 5.0, 4.9, 1.0];
    let random = vec![RandomEffect::independent(Role::Clonal, &clones, 4)];
    let model = Model::new(single(&values), vec![FixedEffect::mean(8)], random).unwrap();
    let fit = model.estimate().unwrap();
    assert_eq!(
        fit.findings(),
        &[Finding::VarianceAtZero {
            role: Role::Clonal,
            effect: 0
        }]
    );
    assert_eq!(fit.components().effects[0].get(0, 0), 0.0);
    assert_eq!(fit.standard_error(0, 0, 0), None);
    assert!(fit.standard_error(1, 0, 0).is_some());
    let mean = values.iter().sum::<f64>() / 8.0;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    assert!((fit.components().residual().get(0, 0) - squares / 7.0).abs() < 1e-9);
    let solution = model.solve(fit.components()).unwrap();
    let prediction = solution.random(0, 2, 0);
    assert_eq!((prediction.value, prediction.accuracy()), (0.0, 0.0));
}

#[test]
fn inputs_that_do_not_fit_are_named() {
    let short = FixedEffect::Factor {
        level: vec![0, 1],
        levels: 2,
    };
    let error = Model::new(single(&[1.0, 2.0, 3.0]), vec![short], vec![]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "fixed factor 0 has 2 values for 3 records: give one value per record"
    );
    let random = vec![RandomEffect::independent(Role::Clonal, &[0, 4, 1], 3)];
    let error = Model::new(single(&[1.0, 2.0, 3.0]), vec![], random).unwrap_err();
    assert_eq!(
        error.to_string(),
        "record 1 names level 4 of random effect 0, which has 3 levels (0 is the first)"
    );
    assert!(Observations::single(vec![Some(f64::NAN)]).is_err());
    let model = Model::new(single(&[1.0, 2.0]), vec![FixedEffect::mean(2)], vec![]).unwrap();
    let error = model.solve(&Components::single(&[], -1.0)).unwrap_err();
    assert!(matches!(
        error,
        EvaluationError::Variances { effect: None, .. }
    ));
    let inverse = SymmetricLower::from_entries(1, &[(0, 0, f64::INFINITY)]);
    assert!(Relationship::from_inverse(vec![1.0], inverse, 0.0).is_err());
}

#[test]
fn an_estimation_can_be_stopped() {
    let clones = [0, 0, 1, 1, 2, 2];
    let random = vec![RandomEffect::independent(Role::Clonal, &clones, 3)];
    let model = Model::new(single(&noise(6)), vec![FixedEffect::mean(6)], random).unwrap();
    let stopped = model.estimate_watched(&mut |_| std::ops::ControlFlow::Break(()));
    assert_eq!(stopped.unwrap_err(), EvaluationError::Cancelled);
}

/// Two traits with the same genes: a genetic correlation of one has no interval, and is said so.
#[test]
fn a_correlation_of_one_is_a_boundary() {
    let mut random = Random::new(77);
    let clones: Vec<usize> = (0..90).map(|record| record / 3).collect();
    let value: Vec<f64> = (0..30).map(|_| 2.0 * random.normal()).collect();
    let observed = clones
        .iter()
        .flat_map(|&clone| {
            [
                value[clone] + random.normal(),
                10.0 + value[clone] + random.normal(),
            ]
        })
        .map(Some)
        .collect();
    let effects = vec![RandomEffect::independent(Role::Clonal, &clones, 30)];
    let observed = Observations::new(2, observed).unwrap();
    let model = Model::new(observed, vec![FixedEffect::mean(90)], effects).unwrap();
    let fit = model.estimate().unwrap();
    let finding = Finding::MatrixAtBoundary {
        role: Some(Role::Clonal),
        component: 0,
    };
    assert_eq!(fit.findings(), [finding]);
    let estimated = fit.components().effects[0].correlation(0, 1).unwrap();
    assert!(estimated > 0.9999, "{estimated}");
    assert_eq!(fit.correlation(0, 0, 1), None);
    assert_eq!(fit.phenotypic_correlation(0, 1), None);
    assert!(fit.standard_error(1, 0, 1).is_some());
    assert!(fit.convergence().iterations < 100);
}

//! Equations that are beyond reach.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use fastrand::Rng;
use quant::evaluation::{
    EvaluationError, FixedEffect, Model, Observations, RandomEffect, Relationship, Role,
};
use quant::kinship::{Assumptions, Genotype, Kinship, Pedigree, Ploidy};

/// A record on each plant of a pedigree in which mates are taken at random from all plants before.
fn mated_at_random(size: usize) -> Result<Model, EvaluationError> {
    let mut rng = Rng::with_seed(77);
    let genotypes: Vec<Genotype> = (0..size)
        .map(|plant| {
            if plant < 100 {
                return Genotype::founder(Ploidy::DIPLOID);
            }
            let female = rng.usize(..plant);
            let male = (female + rng.usize(1..plant)) % plant;
            Genotype::diploid(Some(female), Some(male))
        })
        .collect();
    let kinship = Kinship::new(Pedigree::new(genotypes, &Assumptions::default()).unwrap());
    let plants: Vec<usize> = (0..size).collect();
    let values = (0..size).map(|_| Some(rng.f64())).collect();
    Model::new(
        Observations::single(values)?,
        vec![FixedEffect::mean(size)],
        vec![RandomEffect::related(
            Role::Additive,
            &plants,
            Relationship::additive(&kinship),
        )],
    )
}

/// Such mating ties all plants together: what would take gigabytes and hours is refused as soon as the equations are laid
/// out, with figures; a small program is not.
#[test]
fn equations_beyond_reach_are_refused_before_they_are_solved() {
    let error = mated_at_random(100_000).unwrap_err();
    assert!(matches!(error, EvaluationError::TooLarge { .. }), "{error}");
    assert!(
        error.to_string().contains("evaluate fewer generations"),
        "{error}"
    );
    assert!(!mated_at_random(2_000).unwrap().is_large());
}

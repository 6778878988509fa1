//! What comes of one seed of a family.

use crate::planning::{Candidate, Candidates, Rates, SurvivalStage};

/// What comes of a seed of a family, and what it takes.
#[derive(Debug, Clone, Copy)]
pub(super) struct PerSeed {
    pub(super) sprouts: f64,
    pub(super) females: f64,
    pub(super) cones: f64,
    pub(super) settled: f64,
    pub(super) mean: f64,
    pub(super) accuracy: f64,
}

impl PerSeed {
    pub(super) fn of(candidates: &Candidates, pair: &Candidate, rates: &Rates) -> Self {
        let mean = |step| {
            rates
                .of_stage(step, pair.female, pair.pollen.male)
                .rate
                .mean()
        };
        let sprouts = mean(SurvivalStage::Viable)
            * mean(SurvivalStage::Chilled)
            * mean(SurvivalStage::Germinated);
        let settled = sprouts * mean(SurvivalStage::Potted);
        Self {
            sprouts,
            settled,
            females: settled * mean(SurvivalStage::Female) * pair.reaches_all.unwrap_or(1.0),
            cones: 1.0 / rates.seeds_per_cone(pair.female).value.max(0.01),
            mean: pair.index.mean,
            accuracy: [pair.female, pair.pollen.male]
                .map(|plant| candidates.accuracy(plant))
                .into_iter()
                .fold(1.0, f64::min),
        }
    }
}

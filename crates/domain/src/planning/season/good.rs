//! What makes seedlings of a plan good, as the chance of the goal takes it.

use crate::planning::thresholds::Thresholds;
use crate::planning::{Candidate, Candidates, Rates, SurvivalStage, Threshold};
use crate::{Genotype, Id};
use quant::chance::StageSurvival;
use quant::mating::{FamilyGoal, GoodPlants, Uncertainty};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How many good plants the pairs bring.
#[derive(Debug, Clone)]
pub(super) struct GoodInStages {
    /// Good plants that are kept until the last trait of the goals is seen.
    pub(super) found: GoodPlants,
    /// All good plants, whether they are kept or not; `None` where all traits are seen in one year.
    pub(super) all: Option<GoodPlants>,
    /// What a record must reach in an earlier year for the seedling to be kept.
    pub(super) looks: Vec<Threshold>,
}

impl GoodInStages {
    pub(super) fn of(
        candidates: &Candidates,
        offered: &[&Candidate],
        parents: &[Id<Genotype>],
        rates: &Rates,
    ) -> Self {
        let plain = candidates.thresholds();
        let of = |thresholds| good_plants(candidates, thresholds, offered, parents, rates);
        let staged =
            plain.and_then(|each| each.with_looks(&candidates.goals, &candidates.knowledge));
        let Some(staged) = staged else {
            return Self {
                found: of(plain),
                all: None,
                looks: Vec::new(),
            };
        };
        Self {
            found: of(Some(&staged)),
            all: Some(of(plain)),
            looks: staged.looks().copied().collect(),
        }
    }
}

/// What makes seedlings of the pairs good, and what isn't known of it.
fn good_plants(
    candidates: &Candidates,
    thresholds: Option<&Thresholds>,
    offered: &[&Candidate],
    parents: &[Id<Genotype>],
    rates: &Rates,
) -> GoodPlants {
    let place = |plant: Id<Genotype>| parents.binary_search(&plant).unwrap_or(0);
    let count = thresholds.map_or(0, |thresholds| thresholds.each().len());
    // Families without seed of their own on record share their rates: they are convolved once.
    let mut survivals: BTreeMap<Vec<u64>, Arc<StageSurvival>> = BTreeMap::new();
    let families = offered.iter().map(|pair| {
        let stages = SurvivalStage::ALL
            .map(|stage| rates.of_stage(stage, pair.female, pair.pollen.male).rate);
        let key = stages
            .iter()
            .flat_map(|rate| rate.parameters().map(f64::to_bits))
            .collect();
        let survival = survivals
            .entry(key)
            .or_insert_with(|| Arc::new(StageSurvival::through(&stages)));
        FamilyGoal {
            parents: [place(pair.female), place(pair.pollen.male)],
            transmitted: pair.transmitted,
            // Of what too little is known, no plant is held back.
            margins: thresholds
                .and_then(|thresholds| thresholds.margins(&pair.traits))
                .unwrap_or_else(|| vec![f64::INFINITY; count]),
            mendelian: pair.mendelian,
            survival: Arc::clone(survival),
        }
    });
    let families = families.collect();
    let uncertainty = thresholds.map_or_else(Uncertainty::none, |thresholds| {
        thresholds.uncertainty(candidates.errors(parents))
    });
    GoodPlants::new(candidates.goals.good_females, families, &uncertainty)
}

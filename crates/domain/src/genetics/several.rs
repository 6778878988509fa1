//! Several traits together: correlations, and one figure per plant for selection.

use super::design::{Design, Factor};
use super::evaluation::{
    Component, NotEvaluated, Value, components, findings_of, in_words, no_records, not_evaluated,
    trait_name,
};
use super::model::{self, Effects};
use super::{Kinship, ProgressSink};
use crate::{Genotype, Id, Project, Trait};
use quant::evaluation::{Covariance, Ratio};
use quant::index::{IndexError, SelectionIndex, net_value};

/// How two traits go together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correlation {
    /// One trait, by its place.
    pub one: usize,
    /// The other.
    pub other: usize,
    /// Of breeding values; `None` where the records don't tell.
    pub genetic: Option<Ratio>,
    /// Of records; `None` where no record has both.
    pub phenotypic: Option<Ratio>,
}

/// What selection is to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Wanted {
    /// Trait by trait, what one unit more is worth; below 0 where less is better.
    Worth(Vec<f64>),
    /// Trait by trait, how much is to be gained in proportion to the others; below 0 where less is better.
    Gains(Vec<f64>),
}

/// One figure per plant, and what selecting on it is expected to do.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantIndex {
    /// What one unit of each trait counts: the worth given, or the worth that the gains asked for come to.
    pub worth: Vec<f64>,
    /// The index of every plant, in the order of [`Kinship::plants`].
    pub values: Vec<f64>,
    /// Expected gain in each trait, selecting single records at an intensity of 1 (multiply by the intensity used).
    pub gains: Vec<f64>,
}

/// Breeding values for several traits, evaluated together so that each borrows from the others.
#[derive(Debug, Clone, PartialEq)]
pub struct SeveralTraits {
    /// The revision of the project that this holds for.
    pub revision: u64,
    /// The traits.
    pub traits: Vec<Id<Trait>>,
    /// The model in words.
    pub model: String,
    /// Breeding values of every plant, in the order of [`Kinship::plants`], trait by trait.
    pub values: Vec<Vec<Value>>,
    /// The plants.
    pub plants: Vec<Id<Genotype>>,
    /// Variances, trait by trait.
    pub components: Vec<Vec<Component>>,
    /// Every pair of traits.
    pub correlations: Vec<Correlation>,
    /// How many records went in.
    pub records: usize,
    /// What was left out and why, each a sentence.
    pub dropped: Vec<String>,
    /// What to know before relying on it, each a sentence.
    pub notes: Vec<String>,
    genetic: Covariance,
    phenotypic: Covariance,
}

/// Evaluates several traits together. Time grows steeply with the traits: two to four are usual.
///
/// # Errors
/// As [`evaluate`](super::evaluate); there is no plan to offer.
#[expect(
    clippy::result_large_err,
    reason = "told once, to a person who waits for the answer"
)]
pub fn evaluate_several(
    project: &Project,
    kinship: &Kinship,
    traits: &[Id<Trait>],
    fixed: &[Factor],
    effects: Effects,
    sink: &mut ProgressSink<'_>,
) -> Result<SeveralTraits, NotEvaluated> {
    let names: Vec<&str> = traits
        .iter()
        .map(|&each| trait_name(project, each))
        .collect();
    if traits.is_empty() {
        return Err(NotEvaluated {
            what: "No trait was chosen.".into(),
            remedy: "Choose two or more.".into(),
            simpler: None,
            stopped: false,
        });
    }
    let Design {
        records,
        dropped,
        mut notes,
    } = Design::of(project, kinship, traits, fixed);
    let recorded = |of_trait: usize| {
        records
            .values
            .iter()
            .skip(of_trait)
            .step_by(traits.len())
            .any(Option::is_some)
    };
    if let Some(missing) = (0..traits.len()).find(|&of_trait| !recorded(of_trait)) {
        return Err(no_records(names[missing]));
    }
    let fitted = model::fit(kinship.numbers(), &records, effects, None, sink)
        .map_err(|unfit| not_evaluated(&unfit, &names, None))?;
    notes.extend(findings_of(&fitted, &names).0);
    let pairs = (0..traits.len()).flat_map(|other| (0..other).map(move |one| (one, other)));
    let correlations = pairs
        .map(|(one, other)| Correlation {
            one,
            other,
            genetic: fitted
                .fit
                .as_ref()
                .and_then(|fit| fit.correlation(0, one, other)),
            phenotypic: fitted
                .fit
                .as_ref()
                .and_then(|fit| fit.phenotypic_correlation(one, other)),
        })
        .collect();
    let mut phenotypic = Covariance::zeros(traits.len());
    for component in 0..=fitted.roles.len() {
        let part = fitted.components.get(component);
        for (a, b) in (0..traits.len()).flat_map(|a| (0..=a).map(move |b| (a, b))) {
            phenotypic.set(a, b, phenotypic.get(a, b) + part.get(a, b));
        }
    }
    let values = (0..kinship.plants().len())
        .map(|plant| {
            (0..traits.len())
                .map(|of_trait| fitted.breeding(plant, of_trait).into())
                .collect()
        })
        .collect();
    Ok(SeveralTraits {
        revision: kinship.revision(),
        traits: traits.to_vec(),
        model: in_words(&records, &fitted.roles, false),
        values,
        plants: kinship.plants().to_vec(),
        components: (0..traits.len())
            .map(|of_trait| components(&fitted, of_trait))
            .collect(),
        correlations,
        records: records.len(),
        dropped,
        notes,
        genetic: fitted.components.get(0).clone(),
        phenotypic,
    })
}

impl SeveralTraits {
    /// The selection index of every plant.
    ///
    /// Breeding values are weighted by the worth of each trait: evaluated together they are the best index already.
    /// Gains asked for are turned into the worth that leads to them, a = G⁻¹ P G⁻¹ d (Pesek & Baker 1969, Can. J.
    /// Plant Sci. 49:803-804; Smith 1936, Ann. Eugen. 7:240-250).
    ///
    /// # Errors
    /// Weights for another number of traits, all zero, or covariances that allow no free choice of gains.
    pub fn index(&self, wanted: &Wanted) -> Result<PlantIndex, IndexError> {
        let (genetic, phenotypic) = (&self.genetic, &self.phenotypic);
        let (worth, index) = match wanted {
            Wanted::Worth(worth) => (
                worth.clone(),
                SelectionIndex::smith_hazel(phenotypic, genetic, worth)?,
            ),
            Wanted::Gains(gains) => {
                let index = SelectionIndex::desired_gains(phenotypic, genetic, gains)?;
                let weighted: Vec<f64> = (0..gains.len())
                    .map(|a| {
                        let row = index.weights().iter().enumerate();
                        row.map(|(b, weight)| phenotypic.get(a, b) * weight).sum()
                    })
                    .collect();
                let worth = SelectionIndex::desired_gains(phenotypic, genetic, &weighted)?;
                (worth.weights().to_vec(), index)
            }
        };
        let value = |plant: &Vec<Value>| {
            let values: Vec<f64> = plant.iter().map(|value| value.value).collect();
            net_value(&worth, &values)
        };
        Ok(PlantIndex {
            values: self.values.iter().map(value).collect(),
            gains: index.gains(1.0),
            worth,
        })
    }
}

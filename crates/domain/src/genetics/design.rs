//! From observations to the records of a model.

use super::Kinship;
use super::model::{Effects, FactorColumn, Records, Variances};
use crate::derived_traits::values_of_trait;
use crate::{Genotype, Id, Observation, Project, Trait};
use chrono::{Datelike as _, NaiveDate};
use std::collections::{BTreeMap, HashMap};

/// Something observations can be corrected for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Factor {
    /// The year of the observation.
    Year,
    /// Yard or trial.
    Site,
    /// The stage of selection that the plant has reached now. A plant stands there because of its scores, so this
    /// correction takes away part of what it is to find; the year usually serves better.
    Stage,
    /// Who observed.
    By,
    /// The isolate or race of a disease.
    Isolate,
    /// How it was observed and on what basis: two methods differ by more than chance.
    Method,
}

impl Factor {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Year,
        Self::Site,
        Self::Stage,
        Self::By,
        Self::Isolate,
        Self::Method,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Year => "year",
            Self::Site => "site",
            Self::Stage => "stage",
            Self::By => "observer",
            Self::Isolate => "isolate",
            Self::Method => "method",
        }
    }

    /// The level of an observation, as people call it; empty if it is not recorded.
    pub fn level(self, project: &Project, observation: &Observation) -> String {
        match self {
            Self::Year => observation.day_of_plant(project).year().to_string(),
            Self::Site => observation.site.trim().into(),
            Self::By => observation.by.trim().into(),
            Self::Isolate => observation.isolate.trim().into(),
            Self::Method => observation.method_words(project),
            Self::Stage => project
                .genotypes()
                .get(observation.genotype)
                .and_then(|plant| project.stages().get(plant.stage?))
                .map(|stage| stage.name.clone())
                .unwrap_or_default(),
        }
    }
}

/// How a trait is to be evaluated.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The trait.
    pub of_trait: Id<Trait>,
    /// What observations are corrected for.
    pub fixed: Vec<Factor>,
    /// The random effects besides breeding value and residual; those of [`Self::variances`] if these are given.
    pub effects: Effects,
    /// Variances known beforehand; estimated from the records if `None`.
    pub variances: Option<Variances>,
}

impl Plan {
    /// What the records suggest: corrected for what varies (year, site, observer, isolate, method); with a clonal effect
    /// where plants stand at several sites, and a permanent environment where a plant was observed repeatedly.
    pub fn suggested(project: &Project, of_trait: Id<Trait>) -> Self {
        let observations = values_of_trait(project, of_trait);
        let varies = |factor: &Factor| {
            let mut levels = observations.iter().map(|each| factor.level(project, each));
            let first = levels.next();
            levels.any(|level| Some(level) != first)
        };
        let fixed = Factor::ALL
            .into_iter()
            .filter(|factor| *factor != Factor::Stage && varies(factor))
            .collect();
        let mut hills: BTreeMap<Id<Genotype>, BTreeMap<&str, usize>> = BTreeMap::new();
        for each in &observations {
            *hills
                .entry(each.genotype)
                .or_default()
                .entry(each.site.trim())
                .or_default() += 1;
        }
        let effects = Effects {
            clonal: hills.values().any(|of_plant| of_plant.len() > 1),
            permanent: hills
                .values()
                .flat_map(BTreeMap::values)
                .any(|&count| count > 1),
            without_additive: false,
        };
        Self {
            of_trait,
            fixed,
            effects,
            variances: None,
        }
    }
}

/// Observations made into records, and what was left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// The records, plants by their index in the kinship.
    pub records: Records,
    /// What was left out and why, each a sentence.
    pub dropped: Vec<String>,
    /// What to know about the records, each a sentence.
    pub notes: Vec<String>,
}

impl Design {
    /// The records of some traits. Values of different traits seen on one plant, day and site, alike in all fixed
    /// factors, stand in one record; a plant on one site is a hill.
    pub fn of(
        project: &Project,
        kinship: &Kinship,
        traits: &[Id<Trait>],
        fixed: &[Factor],
    ) -> Self {
        type Key = (usize, NaiveDate, String, Vec<String>, usize);
        let mut rows: BTreeMap<Key, Vec<Option<f64>>> = BTreeMap::new();
        let (mut strangers, mut senseless) = (0_usize, 0_usize);
        for (place, &of_trait) in traits.iter().enumerate() {
            for observation in values_of_trait(project, of_trait) {
                let observation = observation.as_ref();
                let Some(plant) = kinship.index(observation.genotype) else {
                    strangers += 1;
                    continue;
                };
                let Some(value) = observation.number(project) else {
                    senseless += 1;
                    continue;
                };
                let levels = fixed
                    .iter()
                    .map(|factor| factor.level(project, observation))
                    .collect();
                let site = observation.site.trim().to_owned();
                let mut key = (plant, observation.date, site, levels, 0);
                loop {
                    let row = rows
                        .entry(key.clone())
                        .or_insert_with(|| vec![None; traits.len()]);
                    if row[place].is_none() {
                        row[place] = Some(value);
                        break;
                    }
                    key.4 += 1;
                }
            }
        }
        let mut records = Records {
            traits: traits.len(),
            factors: fixed
                .iter()
                .map(|factor| FactorColumn::new(factor.word()))
                .collect(),
            ..Records::default()
        };
        let mut hills: HashMap<(usize, String), usize> = HashMap::new();
        let mut seen: Vec<HashMap<String, usize>> = vec![HashMap::new(); fixed.len()];
        for ((plant, _, site, levels, _), values) in rows {
            let next = hills.len();
            records
                .hill
                .push(*hills.entry((plant, site)).or_insert(next));
            records.plant.push(plant);
            records.values.extend(values);
            for ((column, seen), level) in records.factors.iter_mut().zip(&mut seen).zip(&levels) {
                column.push(
                    if level.is_empty() {
                        "not recorded"
                    } else {
                        level
                    },
                    seen,
                );
            }
        }
        records.hills = hills.len();
        let mut dropped = Vec::new();
        if strangers > 0 {
            dropped.push(format!(
                "{strangers} observations are of plants that are not in the project."
            ));
        }
        if senseless > 0 {
            dropped.push(format!(
                "{senseless} observations have a value that is no number."
            ));
        }
        let mut notes = Vec::new();
        if fixed.contains(&Factor::Stage) {
            notes.push(
                "Correcting for the stage takes away part of what plants were selected for: their breeding values come out too much alike.".into(),
            );
        }
        for column in &records.factors {
            if let Some(blank) = column
                .levels
                .iter()
                .position(|level| level == "not recorded")
            {
                let count = column.level.iter().filter(|&&level| level == blank).count();
                if column.levels.len() > 1 {
                    notes.push(format!("In {count} records the {} is not recorded; they count as a level of their own.", column.name));
                }
            }
        }
        Self {
            records,
            dropped,
            notes,
        }
    }
}

//! A round of observations: what holds for all of it, what a typed cell means, what is recorded for it, and what ought
//! to be asked about a value.
//!
//! A value is recorded whatever is asked about it; only what its scale can't hold is refused, with a sentence.

mod doubts;
mod words;

pub use doubts::Usual;
pub use words::{read, told};

use crate::record::Record as _;
use crate::record::observation::ObservationField;
use crate::record::scale::{Basis, Value};
use crate::{DiseaseTest, Edit, Genotype, Id, IdSource, Observation, Project, Trait};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// A trait of a plant: one cell of a round.
pub type Cell = (Id<Genotype>, Id<Trait>);

/// What holds for every value of a round, set once.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Round {
    /// By whom.
    pub by: String,
    /// Yard or trial.
    pub site: String,
    /// The isolate or race.
    pub isolate: String,
    /// How it is observed, where that isn't as the traits say.
    pub method: String,
    /// What contents and yields are calculated on.
    pub basis: Basis,
    /// The replicate, from 1.
    pub replicate: Option<u32>,
    /// The disease test: it holds for its own trait.
    pub test: Option<Id<DiseaseTest>>,
}

impl Round {
    /// The value of this round that is recorded for a day: all that tells two values of a day apart is as here.
    pub fn existing<'a>(
        &self,
        project: &'a Project,
        (plant, of_trait): Cell,
        day: NaiveDate,
    ) -> Option<&'a Observation> {
        let test = self.test_of(project, of_trait);
        project
            .observations_of(plant)
            .filter(|each| {
                each.of_trait == of_trait
                    && each.date == day
                    && each.sample.is_none()
                    && each.test == test
                    && each.replicate == self.replicate
                    && each.basis == self.basis
                    && each.site.trim() == self.site.trim()
                    && each.isolate.trim() == self.isolate.trim()
                    && each.method.trim() == self.method.trim()
            })
            .last()
    }

    /// The test of the round, where it is scored by this trait.
    fn test_of(&self, project: &Project, of_trait: Id<Trait>) -> Option<Id<DiseaseTest>> {
        let test = project.disease_tests().get(self.test?)?;
        (test.of_trait == of_trait).then_some(test.id)
    }

    fn observation(
        &self,
        project: &Project,
        id: Id<Observation>,
        (plant, of_trait): Cell,
        day: NaiveDate,
        value: Value,
    ) -> Observation {
        Observation {
            site: self.site.trim().to_owned(),
            isolate: self.isolate.trim().to_owned(),
            by: self.by.trim().to_owned(),
            method: self.method.trim().to_owned(),
            basis: self.basis,
            replicate: self.replicate,
            test: self.test_of(project, of_trait),
            ..Observation::new(id, plant, of_trait, day, value)
        }
    }

    /// Records a value for a cell, corrects the one of this round and day, or removes it where `value` is nothing.
    /// Nothing if that is how it stands already.
    pub fn record(
        &self,
        project: &Project,
        cell: Cell,
        day: NaiveDate,
        value: Option<Value>,
        ids: &mut IdSource,
    ) -> Option<Edit> {
        match (self.existing(project, cell, day), value) {
            (Some(there), Some(value)) if there.value == value => None,
            (Some(there), Some(value)) => Some(Edit::set(there.id, ObservationField::Value(value))),
            (Some(there), None) => Some(Edit::remove(there.id)),
            (None, Some(value)) => {
                let id = ids.next();
                Some(Edit::add(self.observation(project, id, cell, day, value)))
            }
            (None, None) => None,
        }
    }

    /// One edit of many values, such as a block that was pasted, and the cells that a rule refuses, each with the
    /// sentence that says why: their values aren't in the edit.
    pub fn record_all(
        &self,
        project: &Project,
        day: NaiveDate,
        values: &[(Cell, Value)],
        ids: &mut IdSource,
    ) -> (Option<Edit>, Vec<(Cell, String)>) {
        let mut edits = Vec::new();
        let mut refused = Vec::new();
        for (cell, value) in values {
            let one = self.observation(project, ids.next(), *cell, day, value.clone());
            if let Err(why) = one.check(project) {
                refused.push((*cell, why.to_string()));
            } else {
                edits.extend(self.record(project, *cell, day, Some(value.clone()), ids));
            }
        }
        if edits.is_empty() {
            return (None, refused);
        }
        let count = edits.len();
        let words = format!(
            "record {count} {}",
            crate::words::plural(u32::try_from(count).unwrap_or(u32::MAX), "value", "values")
        );
        (Some(Edit::all(words, edits)), refused)
    }

    /// The values of a plant in this round, by these traits.
    fn of_plant<'a>(
        &self,
        project: &'a Project,
        plant: Id<Genotype>,
        traits: &[Id<Trait>],
        day: NaiveDate,
    ) -> Vec<&'a Observation> {
        let seen = traits
            .iter()
            .filter_map(|of_trait| self.existing(project, (plant, *of_trait), day));
        seen.collect()
    }

    /// What is remarked on the values of a plant in this round: each remark once.
    pub fn remark(
        &self,
        project: &Project,
        plant: Id<Genotype>,
        traits: &[Id<Trait>],
        day: NaiveDate,
    ) -> String {
        let mut remarks: Vec<&str> = Vec::new();
        for seen in self.of_plant(project, plant, traits, day) {
            let remark = seen.remark.trim();
            if !remark.is_empty() && !remarks.contains(&remark) {
                remarks.push(remark);
            }
        }
        remarks.join("; ")
    }

    /// Puts a remark on the values of a plant in this round.
    ///
    /// # Errors
    /// A sentence, if there is no value yet that it could stand with.
    pub fn set_remark(
        &self,
        project: &Project,
        plant: Id<Genotype>,
        traits: &[Id<Trait>],
        day: NaiveDate,
        remark: &str,
    ) -> Result<Option<Edit>, String> {
        let seen = self.of_plant(project, plant, traits, day);
        if seen.is_empty() {
            return Err("A remark goes with a value. Enter a value of this plant first.".into());
        }
        let changed = seen.iter().filter(|each| each.remark != remark);
        let edits: Vec<Edit> = changed
            .map(|each| Edit::set(each.id, ObservationField::Remark(remark.to_owned())))
            .collect();
        let words = format!("remark on {}", project.code_of(plant));
        Ok((!edits.is_empty()).then(|| Edit::all(words, edits)))
    }
}

#[cfg(test)]
mod tests;

//! What is looked at in plants, and what was seen.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::disease_test::DiseaseTest;
use crate::record::genotype::Genotype;
use crate::record::sample::Sample;
use crate::record::scale::{Basis, Scale, Value};
use crate::refusal::Refusal;
use crate::words::{sentence, with_article};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

record! {
    /// A stage of selection: seedling, single hill, trial.
    Stage, StageField {
        required {
            /// Its name.
            Name name: String,
            /// Its place in the order, lowest first.
            Rank rank: u32,
        }
        optional {
            /// What is done and decided here.
            Purpose purpose: String,
        }
    }
}

record! {
    /// A trait: something scored, counted or measured.
    Trait, TraitField {
        required {
            /// Its name.
            Name name: String,
            /// How it is expressed.
            Scale scale: Scale,
        }
        optional {
            /// Which way is better.
            Direction direction "better direction": Direction,
            /// How it is observed.
            Method method: String,
        }
    }
}

/// Which way a trait is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// More is better.
    Higher,
    /// Less is better.
    Lower,
    /// Neither; it only tells plants apart.
    #[default]
    Neutral,
}

record! {
    /// One trait of one plant, seen on a day.
    Observation, ObservationField {
        required {
            /// The plant.
            Genotype genotype "plant": Id<Genotype>,
            /// The trait.
            OfTrait of_trait "trait": Id<Trait>,
            /// The day.
            Date date: NaiveDate,
            /// The score, number or measurement, in the trait's scale.
            Value value: Value,
        }
        optional {
            /// Yard or trial, where there are several.
            Site site: String,
            /// The isolate or race, where a disease is scored: resistance without it is half a fact.
            Isolate isolate: String,
            /// By whom.
            By by "name of the person": String,
            /// How it was observed, where that isn't as the trait says: 'HPLC', 'spectrophotometer'. Values of two
            /// methods are never taken for each other.
            Method method: String,
            /// What a content or a yield is calculated on.
            Basis basis: Basis,
            /// The replicate, where a plant stands in several.
            Replicate replicate: Option<u32>,
            /// The sample that was analysed. The day is then that of the analysis; the sample knows when it was taken.
            Sample sample: Option<Id<Sample>>,
            /// The disease test that it is a score of.
            Test test "disease test": Option<Id<DiseaseTest>>,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

impl Observation {
    /// What was seen of a trait in a plant on a day, and nothing more.
    pub fn new(
        id: Id<Self>,
        genotype: Id<Genotype>,
        of_trait: Id<Trait>,
        date: NaiveDate,
        value: impl Into<Value>,
    ) -> Self {
        Self {
            id,
            genotype,
            of_trait,
            date,
            value: value.into(),
            site: String::new(),
            isolate: String::new(),
            by: String::new(),
            method: String::new(),
            basis: Basis::Unstated,
            replicate: None,
            sample: None,
            test: None,
            remark: String::new(),
        }
    }

    /// The value as the number that models calculate with: see [`Scale::number`].
    pub fn number(&self, project: &Project) -> Option<f64> {
        project
            .traits()
            .get(self.of_trait)?
            .scale
            .number(&self.value)
    }

    /// How it was observed and on what basis, in words that tell two columns apart: 'HPLC, dry'. The trait's own method
    /// where none is given here.
    pub fn method_words(&self, project: &Project) -> String {
        let own = self.method.trim();
        let method = match project.traits().get(self.of_trait) {
            Some(of_trait) if own.is_empty() => of_trait.method.trim(),
            _ => own,
        };
        match (method, self.basis.to_string()) {
            (method, basis) if basis.is_empty() => method.to_owned(),
            ("", basis) => basis,
            (method, basis) => format!("{method}, {basis}"),
        }
    }

    /// The day that the value speaks of: when its sample was taken, or else its own.
    pub fn day_of_plant(&self, project: &Project) -> NaiveDate {
        self.sample
            .and_then(|sample| project.samples().get(sample))
            .map_or(self.date, |sample| sample.taken)
    }
}

impl Record for Stage {
    fn name(&self, _project: &Project) -> Option<String> {
        Some(self.name.clone())
    }

    fn summary(&self, _project: &Project) -> String {
        format!("stage {}", self.name)
    }

    fn each_reference(&self, _visit: &mut dyn FnMut(AnyId)) {}

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        check_name(
            self.id,
            &self.name,
            project
                .stages()
                .iter()
                .map(|stage| (stage.id, stage.name.as_str())),
        )
    }
}

impl Record for Trait {
    fn name(&self, _project: &Project) -> Option<String> {
        Some(self.name.clone())
    }

    fn summary(&self, _project: &Project) -> String {
        format!("trait {}", self.name)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        if let Scale::Derived { rule } = &self.scale {
            for operand in rule.operands() {
                visit(operand.into());
            }
        }
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if let Some((what, remedy)) = self.scale.own_fault() {
            return Err(Refusal::about(
                self.id,
                format!("{}: {what}.", self.name),
                remedy,
            ));
        }
        self.check_operands(project)?;
        check_name(
            self.id,
            &self.name,
            project
                .traits()
                .iter()
                .map(|each| (each.id, each.name.as_str())),
        )
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        project
            .observations_of_trait(self.id)
            .try_for_each(|observation| observation.check(project))?;
        project
            .referring::<Self>(self.id)
            .try_for_each(|derived| derived.check_operands(project))
    }
}

impl Trait {
    /// A derived trait may rest on derived ones, as long as none rests on itself, and on none that has no numbers.
    fn check_operands(&self, project: &Project) -> Result<(), Refusal> {
        let Scale::Derived { rule } = &self.scale else {
            return Ok(());
        };
        let mut to_see = rule.operands().to_vec();
        let mut seen = BTreeSet::new();
        while let Some(operand) = to_see.pop() {
            if operand == self.id {
                return Err(Refusal::about(
                    self.id,
                    format!("{} can't be calculated from itself.", self.name),
                    "Choose other traits for its rule.",
                ));
            }
            if !seen.insert(operand) {
                continue;
            }
            match project
                .traits()
                .get(operand)
                .map(|each| (each, &each.scale))
            {
                Some((_, Scale::Derived { rule })) => to_see.extend(rule.operands()),
                Some((each, Scale::Text | Scale::Date | Scale::Classes { .. } | Scale::YesNo)) => {
                    return Err(Refusal::about(
                        self.id,
                        format!(
                            "{} can't be calculated from {}, which is no number.",
                            self.name, each.name
                        ),
                        "Choose a trait that is counted, measured or scored.",
                    ));
                }
                _ => {}
            }
        }
        Ok(())
    }
}

/// A name must be there and be the only one of its kind, letters large or small.
fn check_name<'a, R: Record + 'a>(
    id: Id<R>,
    name: &str,
    all: impl Iterator<Item = (Id<R>, &'a str)>,
) -> Result<(), Refusal> {
    if name.trim().is_empty() {
        return Err(Refusal::about(
            id,
            format!("{} needs a name.", sentence(&with_article(R::KIND.noun()))),
            "Type one.",
        ));
    }
    let mut others = all.filter(|(other, _)| *other != id);
    if others.any(|(_, other)| other.to_lowercase() == name.to_lowercase()) {
        return Err(Refusal::about(
            id,
            format!(
                "There is {} called {name} already.",
                with_article(R::KIND.noun())
            ),
            "Choose another name.",
        ));
    }
    Ok(())
}

impl Observation {
    /// Its basis, its sample and its disease test must fit it.
    fn check_surroundings(&self, project: &Project, plant: &Genotype) -> Result<(), Refusal> {
        if let Basis::AsIs { moisture } = self.basis
            && !(0.0..100.0).contains(&moisture)
        {
            return Err(Refusal::about(
                self.id,
                format!("A moisture of {moisture} % makes no sense."),
                "Give the moisture from 0 to less than 100 %.",
            ));
        }
        if let Some(sample) = self.sample.and_then(|id| project.samples().get(id)) {
            if sample.genotype != self.genotype {
                return Err(Refusal::about(
                    self.id,
                    format!(
                        "Sample {} was taken from {}, not from {}.",
                        sample.code,
                        project.code_of(sample.genotype),
                        plant.code
                    ),
                    "Give the sample's own plant, or another sample.",
                ));
            }
            if self.date < sample.taken {
                return Err(Refusal::about(
                    self.id,
                    format!(
                        "Sample {} was taken on {}; it can't have been analysed on {}.",
                        sample.code,
                        sample.taken.in_words(),
                        self.date.in_words()
                    ),
                    "Correct one of the two dates.",
                ));
            }
        }
        if let Some(test) = self.test.and_then(|id| project.disease_tests().get(id)) {
            if test.of_trait != self.of_trait {
                return Err(Refusal::about(
                    self.id,
                    format!("{} is scored by another trait.", test.name),
                    "Record it under the trait of the test.",
                ));
            }
            if self.date < test.date {
                return Err(Refusal::about(
                    self.id,
                    format!(
                        "{} began on {}; this is dated {}.",
                        test.name,
                        test.date.in_words(),
                        self.date.in_words()
                    ),
                    "Correct one of the two dates.",
                ));
            }
        }
        Ok(())
    }
}

impl Record for Observation {
    fn owner(&self) -> Option<AnyId> {
        Some(self.genotype.into())
    }

    fn summary(&self, project: &Project) -> String {
        let name = project
            .traits()
            .get(self.of_trait)
            .map_or("observation", |each| each.name.as_str());
        format!(
            "{name} {} of {}",
            self.value,
            project.code_of(self.genotype)
        )
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.genotype.into());
        visit(self.of_trait.into());
        if let Some(sample) = self.sample {
            visit(sample.into());
        }
        if let Some(test) = self.test {
            visit(test.into());
        }
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        let (Some(plant), Some(of_trait)) = (
            project.genotypes().get(self.genotype),
            project.traits().get(self.of_trait),
        ) else {
            return Ok(());
        };
        let fault = of_trait.scale.fault(&of_trait.name, &self.value);
        if let Some(what) = fault {
            return Err(Refusal::about(self.id, what, "Correct the value."));
        }
        self.check_surroundings(project, plant)?;
        if !is_plausible(self.date) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", self.date.in_words()),
                "Correct the year.",
            ));
        }
        // A sample outlives its plant.
        let day = self.day_of_plant(project);
        if let Some(end) = &plant.end
            && day > end.date.latest()
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} {} on {}; this is dated {}.",
                    plant.code,
                    end.kind.word(),
                    end.date.in_words(),
                    day.in_words()
                ),
                "Give an earlier date, or correct the record of the plant.",
            ));
        }
        Ok(())
    }
}

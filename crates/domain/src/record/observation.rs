//! What is looked at in plants, and what was seen.

use crate::date::is_plausible;
use crate::id::{AnyId, Id, RecordKind};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::genotype::Genotype;
use crate::refusal::Refusal;
use crate::table::Table;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

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

/// How a trait is expressed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Scale {
    /// Whole scores from one number to another, such as 1 to 9.
    Score {
        /// The lowest score.
        from: i32,
        /// The highest score.
        to: i32,
        /// What the lowest means.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        low: String,
        /// What the highest means.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        high: String,
    },
    /// A whole number of things.
    Number,
    /// A measurement.
    Measure {
        /// Its unit.
        unit: String,
    },
}

impl Scale {
    /// Scores 1 to 9, the trade's usual.
    pub fn one_to_nine(low: &str, high: &str) -> Self {
        Self::Score {
            from: 1,
            to: 9,
            low: low.into(),
            high: high.into(),
        }
    }

    /// The scale or unit for a column's header.
    pub fn unit(&self) -> String {
        match self {
            Self::Score { from, to, .. } => format!("{from} to {to}"),
            Self::Number => "number".into(),
            Self::Measure { unit } => unit.clone(),
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
            Value value: f64,
        }
        optional {
            /// Yard or trial, where there are several.
            Site site: String,
            /// The isolate or race, where a disease is scored: resistance without it is half a fact.
            Isolate isolate: String,
            /// By whom.
            By by "name of the person": String,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

impl Record for Stage {
    const KIND: RecordKind = RecordKind::Stage;

    fn id(&self) -> Id<Self> {
        self.id
    }

    fn table(project: &Project) -> &Table<Self> {
        project.stages()
    }

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
    const KIND: RecordKind = RecordKind::Trait;

    fn id(&self) -> Id<Self> {
        self.id
    }

    fn table(project: &Project) -> &Table<Self> {
        project.traits()
    }

    fn name(&self, _project: &Project) -> Option<String> {
        Some(self.name.clone())
    }

    fn summary(&self, _project: &Project) -> String {
        format!("trait {}", self.name)
    }

    fn each_reference(&self, _visit: &mut dyn FnMut(AnyId)) {}

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if let Scale::Score { from, to, .. } = self.scale
            && from >= to
        {
            return Err(Refusal::about(
                self.id,
                format!("{}: scores can't run from {from} to {to}.", self.name),
                "Give the lower score first.",
            ));
        }
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
            .try_for_each(|observation| observation.check(project))
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
            format!("A {} needs a name.", R::KIND.noun()),
            "Type one.",
        ));
    }
    let mut others = all.filter(|(other, _)| *other != id);
    if others.any(|(_, other)| other.to_lowercase() == name.to_lowercase()) {
        return Err(Refusal::about(
            id,
            format!("There is a {} called {name} already.", R::KIND.noun()),
            "Choose another name.",
        ));
    }
    Ok(())
}

impl Record for Observation {
    const KIND: RecordKind = RecordKind::Observation;

    fn id(&self) -> Id<Self> {
        self.id
    }

    fn table(project: &Project) -> &Table<Self> {
        project.observations()
    }

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
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        let (Some(plant), Some(of_trait)) = (
            project.genotypes().get(self.genotype),
            project.traits().get(self.of_trait),
        ) else {
            return Ok(());
        };
        let (name, value) = (&of_trait.name, self.value);
        let fault = match of_trait.scale {
            _ if !value.is_finite() => Some(format!("{name} can't be {value}.")),
            Scale::Score { from, to, .. }
                if value.fract() != 0.0 || value < f64::from(from) || value > f64::from(to) =>
            {
                Some(format!(
                    "{name} is scored in whole numbers from {from} to {to}, not {value}."
                ))
            }
            Scale::Number if value.fract() != 0.0 || value < 0.0 => {
                Some(format!("{name} is a count and can't be {value}."))
            }
            _ => None,
        };
        if let Some(what) = fault {
            return Err(Refusal::about(self.id, what, "Correct the value."));
        }
        if !is_plausible(self.date) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", self.date),
                "Correct the year.",
            ));
        }
        if let Some(end) = &plant.end
            && self.date > end.date.latest()
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} {} on {}; this is dated {}.",
                    plant.code,
                    end.kind.word(),
                    end.date,
                    self.date
                ),
                "Give an earlier date, or correct the record of the plant.",
            ));
        }
        Ok(())
    }
}

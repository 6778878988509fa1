//! A test of plants against a disease, as an event that scores belong to.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::observation::Trait;
use crate::record::sample::PlantPart;
use crate::refusal::Refusal;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

record! {
    /// A test against a disease: plants inoculated on a day, or left to what the season brings.
    DiseaseTest, DiseaseTestField {
        required {
            /// What it is called, such as 'downy mildew, greenhouse 2026'.
            Name name: String,
            /// The trait that it is scored by, whose scale holds for it.
            OfTrait of_trait "trait": Id<Trait>,
            /// The day it began: of inoculation, or of the first look.
            Date date: NaiveDate,
            /// Where the disease came from.
            Infection infection: Infection,
        }
        optional {
            /// The isolate or race. Resistance without it is half a fact.
            Isolate isolate: String,
            /// What is looked at.
            Part part: PlantPart,
            /// Where.
            Site site: String,
            /// By whom.
            By by "name of the person": String,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

/// Where the disease came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Infection {
    /// Plants were inoculated.
    #[default]
    Inoculated,
    /// What the season brought. A plant without it may have escaped.
    Natural,
}

impl Infection {
    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Inoculated => "inoculated",
            Self::Natural => "natural infection",
        }
    }
}

impl Record for DiseaseTest {
    fn name(&self, _project: &Project) -> Option<String> {
        Some(self.name.clone())
    }

    fn summary(&self, _project: &Project) -> String {
        format!("disease test {}", self.name)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.of_trait.into());
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if self.name.trim().is_empty() {
            return Err(Refusal::about(
                self.id,
                "A disease test needs a name.",
                "Type one, such as the disease and the year.",
            ));
        }
        let mut others = project.disease_tests().iter();
        if others.any(|other| {
            other.id != self.id
                && other.name.trim().to_lowercase() == self.name.trim().to_lowercase()
        }) {
            return Err(Refusal::about(
                self.id,
                format!("There is a disease test called {} already.", self.name),
                "Choose another name.",
            ));
        }
        if !is_plausible(self.date) {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be the date of {}.",
                    self.date.in_words(),
                    self.name
                ),
                "Correct the year.",
            ));
        }
        Ok(())
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        project
            .referring::<crate::Observation>(self.id)
            .try_for_each(|observation| observation.check(project))
    }
}

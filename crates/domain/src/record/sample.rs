//! Cones or leaves taken from a plant, labelled, and sent to be analysed.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::genotype::Genotype;
use crate::refusal::Refusal;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

record! {
    /// A part of a plant taken on a day, with a code of its own that goes with it to the laboratory.
    Sample, SampleField {
        required {
            /// What is written on its bag.
            Code code: String,
            /// The plant it was taken from.
            Genotype genotype "plant": Id<Genotype>,
            /// What was taken.
            Part part: PlantPart,
            /// The day it was taken.
            Taken taken "day it was taken": NaiveDate,
        }
        optional {
            /// Yard or trial.
            Site site: String,
            /// The replicate, where a plant stands in several.
            Replicate replicate: Option<u32>,
            /// By whom.
            By by "name of the person": String,
            /// Where it was sent.
            Laboratory laboratory: String,
            /// The day it was sent.
            Sent sent "day it was sent": Option<NaiveDate>,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

/// What of a plant was taken, or looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum PlantPart {
    /// Cones.
    #[default]
    Cones,
    /// Leaves.
    Leaves,
    /// Shoots.
    Shoots,
    /// Roots or the crown.
    Roots,
    /// The whole plant.
    WholePlant,
}

impl PlantPart {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Cones,
        Self::Leaves,
        Self::Shoots,
        Self::Roots,
        Self::WholePlant,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Cones => "cones",
            Self::Leaves => "leaves",
            Self::Shoots => "shoots",
            Self::Roots => "roots",
            Self::WholePlant => "whole plant",
        }
    }
}

impl Record for Sample {
    fn code(&self) -> Option<&str> {
        Some(&self.code)
    }

    fn owner(&self) -> Option<AnyId> {
        Some(self.genotype.into())
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.genotype.into());
    }

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        let days = [Some(self.taken), self.sent];
        if let Some(day) = days.into_iter().flatten().find(|day| !is_plausible(*day)) {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be a date of sample {}.",
                    day.in_words(),
                    self.code
                ),
                "Correct the year.",
            ));
        }
        if let Some(sent) = self.sent
            && sent < self.taken
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Sample {} can't have been sent on {sent}, before it was taken on {}.",
                    self.code, self.taken
                ),
                "Correct one of the two dates.",
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

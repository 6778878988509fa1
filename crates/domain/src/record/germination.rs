//! Boxes in warmth and light, and the counts of what came up.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::chill::ChillBox;
use crate::refusal::Refusal;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

record! {
    /// A box moved to warmth and light.
    Germination, GerminationField {
        required {
            /// The box.
            ChillBox chill_box "box": Id<ChillBox>,
            /// The day it was moved.
            Moved moved "day it came to warmth": NaiveDate,
        }
        optional {
            /// Where it stands.
            Place place: String,
            /// When the run was closed and what became of the rest.
            End end: Option<GerminationEnd>,
        }
    }
}

/// The close of a germination run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GerminationEnd {
    /// When.
    pub date: NaiveDate,
    /// What became of the seeds that had not come up.
    pub rest: RestFate,
    /// Anything worth knowing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

/// What became of seeds that had not come up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum RestFate {
    /// They went back into the cold.
    ChilledAgain,
    /// They were thrown out.
    Discarded,
    /// There were none left.
    NoneLeft,
}

impl RestFate {
    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::ChilledAgain => "rest chilled again",
            Self::Discarded => "rest discarded",
            Self::NoneLeft => "none left",
        }
    }
}

record! {
    /// What had newly come up, or gone wrong, by a day.
    Count, CountField {
        required {
            /// The germination run.
            Run run "germination run": Id<Germination>,
            /// The day.
            Date date: NaiveDate,
        }
        optional {
            /// Newly germinated since the count before.
            Germinated germinated "number germinated": u32,
            /// Newly germinated but abnormal.
            Abnormal abnormal "number abnormal": u32,
            /// Found dead.
            Dead dead "number dead": u32,
            /// Sprouts lost or thinned out before they were potted.
            Lost lost "number lost": u32,
            /// By whom.
            By by "name of the person": String,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

impl Record for Germination {
    fn owner(&self) -> Option<AnyId> {
        Some(self.chill_box.into())
    }

    fn summary(&self, project: &Project) -> String {
        format!("germination run of {}", project.code_of(self.chill_box))
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.chill_box.into());
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        let Some(chill_box) = project.chill_boxes().get(self.chill_box) else {
            return Ok(());
        };
        let code = &chill_box.code;
        if project
            .runs_of(self.chill_box)
            .any(|other| other.id != self.id)
        {
            return Err(Refusal::about(
                self.id,
                format!("Box {code} is in warmth already."),
                "Count in the run that is there.",
            ));
        }
        if let Some(end) = &chill_box.end {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Box {code} was {} on {}.",
                    end.fate.word(),
                    end.date.in_words()
                ),
                "Reopen the box, or choose another.",
            ));
        }
        if !is_plausible(self.moved) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", self.moved.in_words()),
                "Correct the year.",
            ));
        }
        if let Some(batch) = project.chill_batches().get(chill_box.batch)
            && self.moved < batch.start
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Box {code} can't go to warmth on {}, before its chill began on {}.",
                    self.moved.in_words(),
                    batch.start.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        if let Some(end) = &self.end
            && end.date < self.moved
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "The run of box {code} can't close on {}, before it began on {}.",
                    end.date.in_words(),
                    self.moved.in_words()
                ),
                "Correct one of the two dates.",
            ));
        }
        Ok(())
    }

    fn check_dependents(&self, project: &Project) -> Result<(), Refusal> {
        for count in project.counts_of(self.id) {
            count.check(project)?;
        }
        project
            .potted_from(self.id)
            .try_for_each(|plant| plant.check(project))
    }
}

impl Record for Count {
    fn owner(&self) -> Option<AnyId> {
        Some(self.run.into())
    }

    fn summary(&self, project: &Project) -> String {
        let run = project
            .germinations()
            .get(self.run)
            .map_or("a box", |run| project.code_of(run.chill_box));
        format!(
            "count in {run}: {} up, {} abnormal, {} dead",
            self.germinated, self.abnormal, self.dead
        )
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.run.into());
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        let Some(run) = project.germinations().get(self.run) else {
            return Ok(());
        };
        let code = project.code_of(run.chill_box);
        if self.date < run.moved {
            return Err(Refusal::about(
                self.id,
                format!(
                    "Sprouts of box {code} can't be counted on {}: it went to warmth on {}.",
                    self.date.in_words(),
                    run.moved.in_words()
                ),
                "Sprouts found in the cold belong to a check of the box.",
            ));
        }
        if let Some(end) = &run.end
            && self.date > end.date
        {
            return Err(Refusal::about(
                self.id,
                format!(
                    "The run of box {code} was closed on {}.",
                    end.date.in_words()
                ),
                "Give an earlier date, or open the run again.",
            ));
        }
        if !is_plausible(self.date) {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", self.date.in_words()),
                "Correct the year.",
            ));
        }
        Ok(())
    }
}

//! A sheet of paper that was printed to be filled in by hand and read back.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::genotype::Genotype;
use crate::record::observation::Trait;
use crate::record::scale::Value;
use crate::refusal::Refusal;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

record! {
    /// A scoring sheet as it was printed: which plants stand on its rows, which traits over its columns. The paper may
    /// come back weeks later, when plants were added, traits changed: it is read by what is kept here.
    ScoringSheet, ScoringSheetField {
        required {
            /// What it is called, printed at its head.
            Name name: String,
            /// The day it was printed.
            Printed printed "day it was printed": NaiveDate,
            /// The paper.
            Paper paper: SheetPaper,
            /// The traits, from left to right.
            Columns columns: Vec<SheetColumn>,
            /// The plants, from the first row of the first page to the last.
            Plants plants: Vec<Id<Genotype>>,
        }
        optional {
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SheetPaper {
    /// ISO 216 A4.
    #[default]
    A4,
    /// ANSI/ASME Y14.1 A, 'letter'.
    Letter,
}

impl SheetPaper {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "letter",
        }
    }
}

/// A column of a scoring sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SheetColumn {
    /// The trait.
    pub of_trait: Id<Trait>,
    /// What each bubble stands for, from left to right; none where there is a box to write in.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levels: Vec<Value>,
}

impl Record for ScoringSheet {
    fn name(&self, _project: &Project) -> Option<String> {
        Some(self.name.clone())
    }

    fn summary(&self, _project: &Project) -> String {
        format!("scoring sheet {}", self.name)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        for column in &self.columns {
            visit(column.of_trait.into());
        }
        for plant in &self.plants {
            visit((*plant).into());
        }
    }

    fn check(&self, project: &Project) -> Result<(), Refusal> {
        if self.name.trim().is_empty() {
            return Err(Refusal::about(
                self.id,
                "A scoring sheet needs a name.",
                "Type one, such as the yard and the week.",
            ));
        }
        let mut others = project.scoring_sheets().iter();
        if others.any(|other| {
            other.id != self.id
                && other.name.trim().to_lowercase() == self.name.trim().to_lowercase()
        }) {
            return Err(Refusal::about(
                self.id,
                format!("There is a scoring sheet called {} already.", self.name),
                "Choose another name.",
            ));
        }
        if self.columns.is_empty() || self.plants.is_empty() {
            return Err(Refusal::about(
                self.id,
                format!("{} has nothing to fill in.", self.name),
                "Choose at least one plant and one trait.",
            ));
        }
        if !is_plausible(self.printed) {
            return Err(Refusal::about(
                self.id,
                format!(
                    "{} can't be the date of {}.",
                    self.printed.in_words(),
                    self.name
                ),
                "Correct the year.",
            ));
        }
        Ok(())
    }
}

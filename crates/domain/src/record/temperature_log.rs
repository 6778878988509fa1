//! Temperatures of a place, as a logger or a person wrote them down.

use crate::id::{AnyId, Id};
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::record::chill::ChillBatch;
use crate::record::readings::Readings;
use crate::refusal::Refusal;
use crate::words::plural;
use chrono::Datelike as _;
use serde::{Deserialize, Serialize};

record! {
    /// A stretch of temperatures of one place, in the order of time.
    TemperatureLog, TemperatureLogField {
        required {
            /// Where they were taken.
            At at "place": LogPlace,
            /// The temperatures.
            Readings readings: Readings,
        }
        optional {
            /// What wrote them down: the logger and the file, or nothing for readings by hand.
            Source source: String,
            /// What was found when they were read in, or anything else worth knowing.
            Remark remark: String,
        }
    }
}

/// Where temperatures were taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LogPlace {
    /// Among the boxes of one batch.
    Batch(Id<ChillBatch>),
    /// In a place, such as a refrigerator: they hold for every batch that stands there.
    Place(String),
}

impl LogPlace {
    /// The place in words.
    pub fn words(&self, project: &Project) -> String {
        match self {
            Self::Batch(batch) => project.code_of(*batch).to_owned(),
            Self::Place(place) => place.clone(),
        }
    }
}

impl Record for TemperatureLog {
    fn name(&self, project: &Project) -> Option<String> {
        Some(format!("of {}", self.at.words(project)))
    }

    fn summary(&self, project: &Project) -> String {
        let count = self.readings.len() as u32;
        format!(
            "{count} {} of {}",
            plural(count, "temperature", "temperatures"),
            self.at.words(project)
        )
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        if let LogPlace::Batch(batch) = self.at {
            visit(batch.into());
        }
    }

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        let refuse =
            |what: String, remedy: &'static str| Err(Refusal::about(self.id, what, remedy));
        if matches!(&self.at, LogPlace::Place(place) if place.trim().is_empty()) {
            return refuse(
                "These temperatures belong to no place.".into(),
                "Name the place, such as the refrigerator, or choose a batch.",
            );
        }
        if self.readings.is_empty() {
            return refuse(
                "There is no temperature in it.".into(),
                "Import a file with at least one reading, or leave this log out.",
            );
        }
        for reading in self.readings.iter() {
            if !(-8000..=8000).contains(&reading.hundredths) {
                return refuse(
                    format!(
                        "{} can't be the temperature at {}.",
                        reading.celsius(),
                        reading.moment().format("%-d %b %Y %H:%M")
                    ),
                    "Check whether the file is in °C or °F.",
                );
            }
        }
        let ends = [self.readings.first(), self.readings.last()];
        match ends
            .into_iter()
            .flatten()
            .find(|end| !(1970..=2200).contains(&end.moment().year()))
        {
            Some(wrong) => refuse(
                format!(
                    "{} can't be the time of a reading.",
                    wrong.moment().format("%-d %b %Y %H:%M")
                ),
                "Correct the order of day, month and year.",
            ),
            None => Ok(()),
        }
    }
}

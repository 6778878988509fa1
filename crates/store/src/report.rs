//! What opening a project found.

use crate::document::QuarantinedRecord;
use crate::error::ReadOnly;
use chrono::{DateTime, Utc};
use std::path::PathBuf;

/// What opening a project found, for people to read.
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// Changes brought back from the journal.
    pub recovered: Option<Recovered>,
    /// Records that can't be in the project, kept in the file.
    pub quarantined: Vec<QuarantinedRecord>,
    /// Why the project can only be read, if so.
    pub read_only: Option<ReadOnly>,
    /// Files that could not be used and lie beside the project, byte for byte.
    pub kept: Vec<PathBuf>,
    /// Anything else worth telling, as sentences.
    pub notes: Vec<String>,
}

/// Changes made after the last save, brought back from the journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recovered {
    /// How many.
    pub changes: usize,
    /// When the first was made.
    pub from: DateTime<Utc>,
    /// When the last was made.
    pub to: DateTime<Utc>,
}

impl Report {
    /// Whether there is nothing to tell.
    pub fn is_quiet(&self) -> bool {
        self.sentences().is_empty()
    }

    /// Everything, one sentence or two each, the weightiest first.
    pub fn sentences(&self) -> Vec<String> {
        self.sentences_by(|at| at.format("%Y-%m-%d %H:%M UTC").to_string())
    }

    /// The same, with moments as a clock shows them.
    pub fn sentences_by(&self, clock: impl Fn(DateTime<Utc>) -> String) -> Vec<String> {
        let mut sentences = Vec::new();
        sentences.extend(self.read_only.as_ref().map(ToString::to_string));
        sentences.extend(self.recovered.map(|recovered| {
            let changes = match recovered.changes {
                1 => "1 change".to_owned(),
                many => format!("{many} changes"),
            };
            format!(
                "Brought back {changes} made after the last save, up to {}.",
                clock(recovered.to)
            )
        }));
        sentences.extend(self.notes.iter().cloned());
        sentences.extend(self.quarantined.iter().map(ToString::to_string));
        sentences.extend(
            self.kept
                .iter()
                .map(|path| format!("What could not be used is kept: {}", path.display())),
        );
        sentences
    }
}

//! Notes, photos and tasks: what hangs on any record.

use crate::date::InWords as _;
use crate::date::is_plausible;
use crate::id::AnyId;
use crate::macros::record;
use crate::project::Project;
use crate::record::Record;
use crate::refusal::Refusal;
use chrono::NaiveDate;

record! {
    /// A dated note on a record.
    Note, NoteField {
        required {
            /// The record.
            About about "record it is about": AnyId,
            /// The day.
            Date date: NaiveDate,
            /// The words.
            Text text "words": String,
        }
        optional {
            /// By whom.
            By by "name of the writer": String,
        }
    }
}

record! {
    /// A photo of a record, by its path relative to the project file.
    Photo, PhotoField {
        required {
            /// The record.
            About about "record it shows": AnyId,
            /// The path, relative, with forward slashes.
            Path path "file": String,
        }
        optional {
            /// The day it was taken.
            Date date: Option<NaiveDate>,
            /// What it shows.
            Caption caption: String,
        }
    }
}

record! {
    /// Something to do that no record asks for by itself.
    Task, TaskField {
        required {
            /// What to do.
            Title title: String,
            /// The day it is due.
            Due due "due day": NaiveDate,
        }
        optional {
            /// The record it is about.
            About about "record it is about": Option<AnyId>,
            /// The day it was done.
            Done done "day it was done": Option<NaiveDate>,
            /// Anything worth knowing.
            Remark remark: String,
        }
    }
}

impl Record for Note {
    fn owner(&self) -> Option<AnyId> {
        Some(self.about)
    }

    fn summary(&self, project: &Project) -> String {
        format!("note on {}", project.describe(self.about))
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.about);
    }

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        if self.text.trim().is_empty() {
            return Err(Refusal::about(
                self.id,
                "The note is empty.",
                "Write something, or leave it out.",
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

impl Record for Photo {
    fn owner(&self) -> Option<AnyId> {
        Some(self.about)
    }

    fn summary(&self, project: &Project) -> String {
        format!("photo of {}", project.describe(self.about))
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        visit(self.about);
    }

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        if !lies_inside(&self.path) {
            return Err(Refusal::about(
                self.id,
                format!("'{}' doesn't lie in the project's folder.", self.path),
                "Copy the photo beside the project and give its path from there.",
            ));
        }
        Ok(())
    }
}

/// Whether a path leads to a file within the project's folder, on any system: a project travels, and a file from
/// elsewhere must not name what lies outside.
pub fn lies_inside(path: &str) -> bool {
    !path.contains(['\\', ':', '\0'])
        && path
            .split('/')
            .all(|step| !step.is_empty() && step != "." && step != "..")
}

impl Record for Task {
    fn name(&self, _project: &Project) -> Option<String> {
        Some(self.title.clone())
    }

    fn summary(&self, _project: &Project) -> String {
        format!("task: {}", self.title)
    }

    fn each_reference(&self, visit: &mut dyn FnMut(AnyId)) {
        self.about.iter().for_each(|about| visit(*about));
    }

    fn check(&self, _project: &Project) -> Result<(), Refusal> {
        if self.title.trim().is_empty() {
            return Err(Refusal::about(
                self.id,
                "The task has no words.",
                "Say what is to be done.",
            ));
        }
        if let Some(wrong) = [Some(self.due), self.done]
            .into_iter()
            .flatten()
            .find(|day| !is_plausible(*day))
        {
            return Err(Refusal::about(
                self.id,
                format!("{} can't be the date.", wrong.in_words()),
                "Correct the year.",
            ));
        }
        Ok(())
    }
}

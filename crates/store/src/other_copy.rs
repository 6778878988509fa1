//! Another copy of a project, read to be brought together with this one.

use crate::error::StoreError;
use crate::files::beside;
use crate::history::History;
use crate::journal::{Continuation, Mark, Scan, continuation, scan};
use crate::open::Store;
use crate::report::Report;
use chrono::{DateTime, Utc};
use domain::Project;
use std::path::{Path, PathBuf};

/// Another copy, read with its journal; neither locked nor changed.
#[derive(Debug)]
pub struct OtherCopy {
    /// Its file, links followed.
    pub path: PathBuf,
    /// The project in it, with what its journal has beyond the file.
    pub project: Project,
    /// What was found on reading it.
    pub report: Report,
    /// The state that both copies began from, where their journals tell it.
    pub base: Option<Base>,
    /// Its own history; empty if its journal isn't there.
    pub history: History,
}

/// The state that two copies began from.
#[derive(Debug)]
pub struct Base {
    /// The project as it was.
    pub project: Project,
    /// The number of the last change both have.
    pub sequence: u64,
    /// When that was made, if a journal tells.
    pub at: Option<DateTime<Utc>>,
}

impl Store {
    /// Reads another copy of the project in `ours`. Everything of ours must be on the disk:
    /// see [`crate::ProjectFile::flush`].
    pub fn read_copy(&self, ours: &Path, other: &Path) -> Result<OtherCopy, StoreError> {
        let other = self.resolve(other)?;
        let opened = self.open_read_only(&other)?;
        let file_mark = opened.file.file_mark();
        let own_bytes = self.journal_bytes(&self.resolve(ours)?)?;
        let their_bytes = self.journal_bytes(&other)?;
        let own = scan(&own_bytes);
        // A journal that isn't that file's says nothing of it.
        let theirs = scan(&their_bytes)
            .filter(|scan| !matches!(continuation(scan, file_mark), Continuation::Foreign(_)));
        let base = own
            .as_ref()
            .and_then(|own| common(own, theirs.as_ref(), file_mark));
        let history = match theirs {
            Some(_) => History::of(their_bytes, None),
            None => History::default(),
        };
        Ok(OtherCopy {
            path: other,
            project: opened.project,
            report: opened.report,
            base,
            history,
        })
    }

    /// The journal of a project, empty if there is none.
    pub(crate) fn journal_bytes(&self, path: &Path) -> Result<Vec<u8>, StoreError> {
        match self.read(&beside(path, "-journal")) {
            Err(StoreError::Missing(_)) => Ok(Vec::new()),
            result => result,
        }
    }
}

/// The last place that both journals pass through, and the project there.
fn common(own: &Scan<'_>, theirs: Option<&Scan<'_>>, file: Mark) -> Option<Base> {
    let mut marks = theirs.map(Scan::marks).unwrap_or_default();
    marks.push(file);
    marks.sort_by_key(|mark| mark.sequence);
    let ours = own.marks();
    let shared = |mark: &&Mark| {
        ours.binary_search_by_key(&mark.sequence, |own| own.sequence)
            .is_ok_and(|at| ours[at] == **mark)
    };
    let mark = *marks.iter().rev().find(shared)?;
    let project = own
        .project_at(mark.sequence)
        .or_else(|| theirs?.project_at(mark.sequence))?;
    Some(Base {
        project,
        sequence: mark.sequence,
        at: own.time_of(mark.sequence),
    })
}

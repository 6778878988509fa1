//! Another copy of a project, read for a merge with this one.

use crate::document;
use crate::error::StoreError;
use crate::files::beside;
use crate::history::History;
use crate::journal::{Continuation, Mark, Scan, continuation, scan};
use crate::open::Store;
use crate::quarantine::QuarantinedPart;
use crate::report::Report;
use chrono::{DateTime, Utc};
use domain::words::counted;
use domain::{AnyId, Project};
use std::io::ErrorKind;
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
        let name = other.file_name().unwrap_or_default().to_string_lossy();
        if name.contains("-journal.") {
            return self.read_put_aside(ours, &other);
        }
        let opened = self.open_read_only(&other)?;
        if let Some(damage) = &opened.report.damage {
            return Err(damage.refuses_merge(other, false));
        }
        let file_mark = opened.file.file_mark();
        let own_bytes = self.journal_bytes(&self.resolve(ours)?)?;
        let their_bytes = self.journal_bytes(&other)?;
        let own = scan(&own_bytes);
        // A journal that belongs to another file is ignored.
        let theirs = scan(&their_bytes)
            .filter(|scan| !matches!(continuation(scan, file_mark), Continuation::Foreign(_)));
        let base = own
            .as_ref()
            .and_then(|own| common(own, theirs.as_ref(), file_mark));
        let history = match theirs {
            Some(_) => History::whole(their_bytes),
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

    /// The open file as another program left it, with our own journal where that was put aside.
    /// `known` is the project as the window last read or wrote it, at its mark.
    pub(crate) fn read_own(
        &self,
        path: &Path,
        bytes: &[u8],
        known: (Mark, &Project),
    ) -> Result<OtherCopy, StoreError> {
        let document = document::read(bytes).map_err(|why| StoreError::NotAProject {
            path: path.into(),
            why,
        })?;
        if let Some(damage) = self.damage(path, &document) {
            return Err(damage.refuses_merge(path.into(), true));
        }
        let unreadable = document.preserved.quarantined.iter().filter(|record| {
            let id = record.kind().zip(record.id());
            id.is_some_and(|(kind, uuid)| known.1.contains(AnyId { kind, uuid }))
        });
        let unreadable = unreadable.count();
        if unreadable > 0 {
            let records = counted(unreadable, "record", "records");
            return Err(StoreError::Damaged {
                path: path.into(),
                what: format!("The file is damaged: {records} of this project can't be read in it"),
                own: true,
            });
        }
        let own_bytes = self.journal_bytes(path)?;
        let own = scan(&own_bytes);
        let mut project = document.project.clone();
        let mut history = History::default();
        if let Some(mark) = document.mark.filter(|mark| *mark != known.0) {
            for aside in self.quarantined(path)? {
                if aside.what != QuarantinedPart::Other {
                    continue;
                }
                let theirs = self.read(&aside.path)?;
                let Some(scan) = scan(&theirs) else { continue };
                let Continuation::Follows { lines, .. } = continuation(&scan, mark) else {
                    continue;
                };
                for line in &lines {
                    let Ok(entry) = scan.whole_entry(line) else {
                        break;
                    };
                    if project.apply(entry.edit).is_err() {
                        break;
                    }
                }
                history = History::whole(theirs);
                break;
            }
        }
        let on_ours = |mark: Mark| {
            let own = own.as_ref()?;
            let through = own.marks().contains(&mark);
            through.then(|| own.project_at(mark.sequence))?
        };
        let known_base = || (known.0, known.1.clone());
        let base = match document.mark {
            // Changed by hand, its mark left as it was.
            Some(mark) if mark == known.0 => Some(known_base()),
            // An earlier state of this copy, brought back.
            Some(mark) if mark.id == known.0.id => {
                let earlier = on_ours(mark).map(|project| (mark, project));
                // Not in our journal but newer: another machine went on from our last state.
                earlier.or_else(|| (mark.sequence > known.0.sequence).then(known_base))
            }
            Some(_) => None,
            None => Some(known_base()),
        };
        let base = base.map(|(mark, project)| Base {
            project,
            sequence: mark.sequence,
            at: own.as_ref().and_then(|own| own.time_of(mark.sequence)),
        });
        Ok(OtherCopy {
            path: path.into(),
            project,
            report: Report {
                quarantined: document.preserved.quarantined,
                notes: document.notes,
                ..Report::default()
            },
            base,
            history,
        })
    }

    /// A journal that was put aside, as a copy of the project to be brought together with it: what its changes lead to,
    /// from what both began with where that is known.
    pub fn read_put_aside(&self, ours: &Path, journal: &Path) -> Result<OtherCopy, StoreError> {
        let ours = self.resolve(ours)?;
        let bytes = self.read(journal)?;
        let nothing = || StoreError::NotAProject {
            path: journal.into(),
            why: "no project can be had from this journal".into(),
        };
        let theirs = scan(&bytes).ok_or_else(nothing)?;
        let start = theirs.start.ok_or_else(nothing)?;
        let Continuation::Follows { end, .. } = continuation(&theirs, start) else {
            return Err(nothing());
        };
        let project = theirs.project_at(end.sequence).ok_or_else(nothing)?;
        let own_bytes = self.journal_bytes(&ours)?;
        let own = scan(&own_bytes);
        let base = own
            .as_ref()
            .and_then(|own| common(own, Some(&theirs), start));
        Ok(OtherCopy {
            path: journal.into(),
            project,
            report: Report::default(),
            base,
            history: History::whole(bytes),
        })
    }

    /// The journal of a project, empty if there is none.
    pub(crate) fn journal_bytes(&self, path: &Path) -> Result<Vec<u8>, StoreError> {
        match self.read(&beside(path, "-journal")) {
            Err(StoreError::Missing(_)) => Ok(Vec::new()),
            result => result,
        }
    }

    /// The journal of a project from so many bytes on, empty if there is none or it is shorter.
    pub(crate) fn journal_from(&self, path: &Path, from: u64) -> Result<Vec<u8>, StoreError> {
        let journal = beside(path, "-journal");
        match self.files.read_from(&journal, from, self.most) {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(Vec::new()),
            result => {
                result.map_err(|error| StoreError::from_io(&error, "reading the file", &journal))
            }
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

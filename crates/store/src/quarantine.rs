//! What could not be used and lies beside a project, byte for byte.

use crate::error::StoreError;
use crate::files::{beside, folder_of};
use crate::journal::Sum;
use crate::open::Store;
use chrono::{DateTime, Utc};
use std::path::{Path, PathBuf};

/// A file in quarantine: it could not be used, and is kept as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuarantinedFile {
    /// The file.
    pub path: PathBuf,
    /// What it is.
    pub what: QuarantinedPart,
    /// When it was put there, as far as the disk remembers.
    pub at: Option<DateTime<Utc>>,
    /// Its size in bytes.
    pub size: u64,
}

/// What kind of file is in quarantine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum QuarantinedPart {
    /// The end of the journal, torn or damaged.
    Cut,
    /// A journal that isn't this project's, or was replaced.
    Other,
    /// The project file as it was when it was found damaged.
    Damaged,
    /// The project file as another program had left it.
    Outside,
}

impl QuarantinedPart {
    const ALL: [Self; 4] = [Self::Cut, Self::Other, Self::Damaged, Self::Outside];

    /// What stands after the name of the file it comes from, before the sum of its bytes.
    const fn suffix(self) -> &'static str {
        match self {
            Self::Cut => ".cut-",
            Self::Other => ".other-",
            Self::Damaged => ".damaged-",
            Self::Outside => ".outside-",
        }
    }

    /// Where bytes of this file are put.
    pub(crate) fn path(self, of: &Path, bytes: &[u8]) -> PathBuf {
        beside(of, &format!("{}{}", self.suffix(), Sum::of(bytes)))
    }

    /// What a file is whose name goes on so after that of the project.
    fn of_name(rest: &str) -> Option<Self> {
        let (journal, project) = (rest.strip_prefix("-journal"), rest);
        Self::ALL.into_iter().find(|what| match what {
            Self::Cut | Self::Other => journal.is_some_and(|rest| rest.starts_with(what.suffix())),
            Self::Damaged | Self::Outside => project.starts_with(what.suffix()),
        })
    }

    /// What a file is, by its name alone.
    pub fn of(path: &Path) -> Option<Self> {
        let name = path.file_name()?.to_string_lossy();
        let ending = format!(".{}", crate::EXTENSION);
        let (_, rest) = name.split_once(&ending)?;
        Self::of_name(rest)
    }

    /// Whether a project can be had from it, to be brought together with the one it lies beside.
    pub const fn may_come_in(self) -> bool {
        matches!(self, Self::Other | Self::Outside | Self::Damaged)
    }

    /// What it is, as a sentence.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Cut => {
                "The end of the journal, torn or damaged: what could be read of it is in the project."
            }
            Self::Other => {
                "A journal that lay here and isn't this project's: of another project, or of a copy that went its own way."
            }
            Self::Damaged => {
                "The project file as it was found, damaged: what could be read of it is in the project."
            }
            Self::Outside => {
                "The project file as another program had left it, before it was saved over from here."
            }
        }
    }
}

impl Store {
    /// The quarantined files beside a project, the latest first. Asks the disk: not for the drawing thread.
    pub fn quarantined(&self, project: &Path) -> Result<Vec<QuarantinedFile>, StoreError> {
        let project = self.resolve(project)?;
        let folder = folder_of(&project);
        let tell = |error| StoreError::from_io(&error, "looking beside the project", folder);
        let own = project.file_name().unwrap_or_default().to_string_lossy();
        let mut found = Vec::new();
        for name in self.files.list(folder).map_err(tell)? {
            let rest = name.strip_prefix(&*own);
            let Some(what) = rest.and_then(QuarantinedPart::of_name) else {
                continue;
            };
            let path = folder.join(&name);
            if let Some(facts) = self.files.facts(&path).map_err(tell)? {
                found.push(QuarantinedFile {
                    path,
                    what,
                    at: facts.modified.map(DateTime::from),
                    size: facts.length,
                });
            }
        }
        found.sort_by(|a, b| (b.at, &a.path).cmp(&(a.at, &b.path)));
        Ok(found)
    }
}

//! Opening, creating, and bringing back what was not saved.

mod recovery;

use crate::damage::Damage;
use crate::document::{self, Document, FORMAT_MAJOR, FORMAT_MINOR, Preserved, QuarantineReason};
use crate::error::{ReadOnly, StoreError};
use crate::files::{Disk, FileSystem, beside, replace};
use crate::journal::{Begin, JournalEntry, Mark, Memory, Writer, scan};
use crate::lock::{self, Holder, Lock, LockAnswer, OfOthers};
use crate::project_file::{Fingerprint, ProjectFile, Resume, Saved};
use crate::quarantine::QuarantinedPart;
use crate::report::Report;
use domain::{AnyId, IdSource, Project, RecordKind};
use recovery::Opening;
use std::collections::VecDeque;
use std::hash::{BuildHasher as _, Hasher as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;
use uuid::Uuid;

/// The most bytes of a project or a journal that are read: ten times a project of a hundred thousand plants with scores.
pub const MOST_BYTES: u64 = 1 << 30;

/// Where projects are kept, and who works on them.
#[derive(Debug, Clone)]
pub struct Store {
    pub(crate) files: Arc<dyn FileSystem>,
    pub(crate) who: String,
    pub(crate) most: u64,
}

/// A project just opened.
#[derive(Debug)]
pub struct Opened {
    /// The project, with everything brought back that was not saved.
    pub project: Project,
    /// The file it came from.
    pub file: ProjectFile,
    /// What was found.
    pub report: Report,
}

/// What to do with a file that is there already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// Leave it, and say so.
    Keep,
    /// Write over it. Its journal is quarantined.
    Replace,
}

/// What to do about records that are missing from a damaged file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Missing {
    /// Tell of them, and let nothing be changed.
    Tell,
    /// Bring back those that can be had.
    BringBack,
    /// Go on without them.
    Accept,
}

impl Store {
    /// The disk of this machine, used by `who`.
    pub fn new(who: impl Into<String>) -> Self {
        Self::with_files(who, Arc::new(Disk))
    }

    /// Other files than the disk's.
    pub fn with_files(who: impl Into<String>, files: Arc<dyn FileSystem>) -> Self {
        Self {
            files,
            who: who.into(),
            most: MOST_BYTES,
        }
    }

    /// The same with another bound on the size of files.
    #[must_use]
    pub const fn reading_at_most(mut self, bytes: u64) -> Self {
        self.most = bytes;
        self
    }

    /// Who has the project open, as its lock file says.
    pub fn holder(&self, path: &Path) -> Option<Holder> {
        let path = self.files.resolve(path).ok()?;
        lock::read_holder(&*self.files, &path)
    }

    /// Opens a project for writing; for reading, if another window has it open or its place can't be written.
    ///
    /// Nothing is written but the lock, and copies of what can't be used.
    ///
    /// A file from which records are missing opens for reading, with [`Report::damage`]: then [`Self::bring_back`] or
    /// [`Self::go_on_without`].
    pub fn open(&self, path: &Path) -> Result<Opened, StoreError> {
        self.open_locked(path, Missing::Tell, OfOthers::Keep)
    }

    /// Opens a project for writing though the lock file of another machine lies beside it ([`ReadOnly::Elsewhere`]): a
    /// person has seen that nobody works on it there. That lock file is kept under another name.
    pub fn take_over(&self, path: &Path) -> Result<Opened, StoreError> {
        self.open_locked(path, Missing::Tell, OfOthers::TakeOver)
    }

    /// Opens a damaged file with what is missing put back from its journal or a backup, and saves it so. The file as it
    /// was found is kept beside it.
    pub fn bring_back(&self, path: &Path) -> Result<Opened, StoreError> {
        let opened = self.open_locked(path, Missing::BringBack, OfOthers::Keep)?;
        opened.file.save(&opened.project)?;
        Ok(opened)
    }

    /// Opens a damaged file as far as it can be read, and saves it so, with a word of what is missing that stays until it
    /// is there again. The file as it was found is kept beside it.
    pub fn go_on_without(&self, path: &Path) -> Result<Opened, StoreError> {
        let opened = self.open_locked(path, Missing::Accept, OfOthers::Keep)?;
        opened.file.save(&opened.project)?;
        Ok(opened)
    }

    fn open_locked(
        &self,
        path: &Path,
        missing: Missing,
        of_others: OfOthers,
    ) -> Result<Opened, StoreError> {
        let path = self.resolve(path)?;
        let read_only = self.facts(&path)?.read_only;
        let lock = if read_only {
            Err(ReadOnly::NotWritable)
        } else {
            match lock::ask(&self.files, &path, &self.who, of_others) {
                Ok(LockAnswer::Ours(lock)) if lock.follow(&*self.files, &path) => Ok(lock),
                // By another name of the same file.
                Ok(LockAnswer::Ours(_)) => Err(ReadOnly::Held(None)),
                Ok(LockAnswer::Elsewhere(holder)) => Err(ReadOnly::Elsewhere(holder)),
                Ok(LockAnswer::Held(holder)) => Err(ReadOnly::Held(holder)),
                Err(StoreError::Denied(_)) => Err(ReadOnly::NotWritable),
                Err(error) => return Err(error),
            }
        };
        self.open_with(path, lock, missing)
    }

    /// Opens a project for reading only.
    pub fn open_read_only(&self, path: &Path) -> Result<Opened, StoreError> {
        let path = self.resolve(path)?;
        let elsewhere = self.held_elsewhere(&path);
        let mut opened = self.open_with(path, Err(ReadOnly::Asked), Missing::Tell)?;
        opened.report.notes.extend(elsewhere.map(|holder| {
            format!("{holder} has it open on another machine, or left it there without closing it. What was changed there last may not be here.")
        }));
        Ok(opened)
    }

    #[expect(
        clippy::too_many_lines,
        reason = "one step after the other, each with what the last found"
    )]
    fn open_with(
        &self,
        path: PathBuf,
        lock: Result<Lock, ReadOnly>,
        missing: Missing,
    ) -> Result<Opened, StoreError> {
        // In this order: a file changed in between is noticed by its time when it is to be written over.
        let facts = self.facts(&path)?;
        let bytes = self.read(&path)?;
        let document = document::read(&bytes).or_else(|why| {
            self.blank(&path, &bytes).ok_or(StoreError::NotAProject {
                path: path.clone(),
                why,
            })
        })?;
        let damage = self.damage(&path, &document);
        let Document {
            format,
            mut mark,
            mut project,
            mut preserved,
            lost: _,
            changed_outside,
            mut notes,
            torn_note,
            damaged,
        } = document;
        if damage.is_none() {
            notes.extend(torn_note);
        }
        if facts.names > 1 {
            notes.push("The file has another name on this disk (a hard link). From the first save on, each name has a file of its own: what is saved under one isn't under the other.".into());
        }
        if format.is_newer() {
            notes.push(format!(
                "A newer Binewright wrote the file (format {}.{}; this one knows {FORMAT_MAJOR}.{FORMAT_MINOR}). What this one doesn't know is kept in it, and neither shown nor checked.",
                format.major, format.minor
            ));
        }
        if let (
            None,
            Some(Damage {
                source: Some(source),
                ..
            }),
            Missing::BringBack,
        ) = (mark, &damage, missing)
        {
            // What the journal has beyond a backup follows from there.
            mark = source.mark;
        }
        let mark = mark.unwrap_or_else(|| Mark::new(self.new_identity()));
        let lock = if format.major > FORMAT_MAJOR {
            Err(ReadOnly::NewerFormat(format.major))
        } else {
            lock
        };
        let lock = match (lock, &damage, missing) {
            (Ok(_), Some(_), Missing::Tell) => Err(ReadOnly::Damaged),
            (lock, Some(damage), Missing::BringBack) => {
                project = damage.mended(&project);
                let there = |uuid| {
                    let mut kinds = RecordKind::ALL.iter();
                    kinds.any(|kind| project.contains(AnyId { kind: *kind, uuid }))
                };
                // What could not be read is there again, whole; the file as it was found keeps the other.
                preserved.quarantined.retain(|aside| {
                    aside.why == QuarantineReason::Duplicate || !aside.id().is_some_and(there)
                });
                notes.push(format!(
                    "{} were brought back.",
                    crate::damage::in_words(&damage.missing)
                        .unwrap_or_else(|| "What was missing".into())
                ));
                lock
            }
            (lock, Some(damage), Missing::Accept) => {
                let now = self.files.now().into();
                preserved.losses.push(damage.as_loss(&project, now));
                lock
            }
            (lock, _, _) => lock,
        };
        preserved.losses.retain(|loss| !loss.is_mended(&project));
        let (lock, read_only) = match lock {
            Ok(lock) => (Some(lock), None),
            Err(why) => (None, Some(why)),
        };
        let mut opening = Opening {
            store: self,
            path: path.clone(),
            journal: beside(&path, "-journal"),
            project,
            mark,
            writing: lock.is_some(),
            since: VecDeque::new(),
            history: None,
            is_foreign: false,
            report: Report {
                is_hurt: damaged,
                quarantined: preserved.quarantined.clone(),
                losses: preserved.losses.clone(),
                damage: damage.filter(|_| missing == Missing::Tell),
                read_only,
                notes,
                ..Report::default()
            },
        };
        if let Some(holder) = lock.as_ref().and_then(|lock| lock.left_by.as_ref()) {
            opening.report.notes.push(format!(
                "{holder} left the project without closing it. What was recorded there and reached this disk is here."
            ));
        }
        let saved = Saved {
            fingerprint: Fingerprint::of(&bytes, &facts),
            mark,
            preserved,
            original: match (damaged, changed_outside) {
                (true, _) => Some((QuarantinedPart::Damaged, bytes.clone())),
                (false, true) => Some((QuarantinedPart::Outside, bytes.clone())),
                (false, false) => None,
            },
            project: opening.project.clone(),
            met: None,
            backup_trouble: None,
        };
        let begin = opening.recover()?;
        opening.look_aside()?;
        let outside = if changed_outside {
            opening.look_at_outside(&saved, &bytes)?
        } else {
            None
        };
        drop(bytes);
        let Opening {
            project,
            mark,
            report,
            journal,
            since,
            history,
            ..
        } = opening;
        let lock = lock.filter(|_| report.read_only.is_none());
        let file = ProjectFile::new(
            self.clone(),
            path,
            journal,
            saved,
            Resume {
                mark,
                begin,
                since,
                history,
            },
            lock.ok_or_else(|| report.read_only.clone().unwrap_or(ReadOnly::Asked)),
        )?
        .with_change_outside(outside);
        Ok(Opened {
            project,
            file,
            report,
        })
    }

    /// Makes a file for a new project. What the project already holds is where its history begins.
    pub fn create(
        &self,
        path: &Path,
        project: &Project,
        existing: Existing,
    ) -> Result<ProjectFile, StoreError> {
        let mark = Mark::new(self.new_identity());
        self.lay_down(path, project, mark, Preserved::default(), None, existing)
    }

    /// Writes a project file where none was opened, with the journal given, if any.
    pub(crate) fn lay_down(
        &self,
        path: &Path,
        project: &Project,
        mark: Mark,
        preserved: Preserved,
        journal: Option<Vec<u8>>,
        existing: Existing,
    ) -> Result<ProjectFile, StoreError> {
        let path = self.files.resolve(path).unwrap_or_else(|_| path.into());
        let tell = |error| StoreError::from_io(&error, "saving the project", &path);
        if self.files.facts(&path).map_err(tell)?.is_some() && existing == Existing::Keep {
            return Err(StoreError::Exists(path));
        }
        let lock = match lock::ask(&self.files, &path, &self.who, OfOthers::Keep)? {
            LockAnswer::Ours(lock) => lock,
            LockAnswer::Held(holder) => return Err(StoreError::Held { path, holder }),
            LockAnswer::Elsewhere(holder) => {
                let holder = Some(holder);
                return Err(StoreError::Held { path, holder });
            }
        };
        let journal_path = beside(&path, "-journal");
        self.set_journal_aside(&journal_path)?;
        let begin = match &journal {
            Some(text) => {
                replace(&*self.files, &journal_path, text, Some(&path)).map_err(tell)?;
                let facts = self.files.facts(&journal_path).map_err(tell)?;
                Begin::after(text, facts.and_then(|facts| facts.identity))
            }
            None => Begin::New,
        };
        let text = document::write(project, &mark, &preserved)
            .map_err(|why| StoreError::unwritable(&path, why))?;
        replace(&*self.files, &path, &text, Some(&path)).map_err(tell)?;
        let saved = Saved {
            fingerprint: Fingerprint::of(&text, &self.facts(&path)?),
            mark,
            preserved,
            original: None,
            project: project.clone(),
            met: None,
            backup_trouble: None,
        };
        ProjectFile::new(
            self.clone(),
            path,
            journal_path,
            saved,
            Resume {
                mark,
                begin,
                since: VecDeque::new(),
                history: journal.map(Arc::new),
            },
            Ok(lock),
        )
    }

    /// Gives a journal that isn't of this project another name, so that it is neither used nor lost.
    pub(crate) fn set_journal_aside(&self, journal: &Path) -> Result<Option<PathBuf>, StoreError> {
        let tell = |error| StoreError::from_io(&error, "setting the journal aside", journal);
        if self.files.facts(journal).map_err(tell)?.is_none() {
            return Ok(None);
        }
        let bytes = self.read(journal)?;
        let quarantined = QuarantinedPart::Other.path(journal, &bytes);
        self.files.rename(journal, &quarantined).map_err(tell)?;
        self.files
            .sync_folder(crate::files::folder_of(journal))
            .map_err(tell)?;
        Ok(Some(quarantined))
    }

    /// Every change ever made to a project, in order, as far as its journal can be read.
    pub fn history(&self, path: &Path) -> Result<Vec<JournalEntry>, StoreError> {
        let bytes = self.journal_bytes(&self.resolve(path)?)?;
        Ok(scan(&bytes).map(|scan| scan.entries()).unwrap_or_default())
    }

    /// The project as it was after the change of this number, from its journal alone.
    ///
    /// Nothing if the journal doesn't reach back, or not so far forward.
    pub fn project_at(&self, path: &Path, sequence: u64) -> Result<Option<Project>, StoreError> {
        let bytes = self.journal_bytes(&self.resolve(path)?)?;
        Ok(scan(&bytes).and_then(|scan| scan.project_at(sequence)))
    }

    pub(crate) fn resolve(&self, path: &Path) -> Result<PathBuf, StoreError> {
        self.files
            .resolve(path)
            .map_err(|error| StoreError::from_io(&error, "opening the project", path))
    }

    pub(crate) fn facts(&self, path: &Path) -> Result<crate::files::Facts, StoreError> {
        self.files
            .facts(path)
            .map_err(|error| StoreError::from_io(&error, "looking at the file", path))?
            .ok_or_else(|| StoreError::Missing(path.into()))
    }

    /// A whole file, if it is within bounds.
    pub(crate) fn read(&self, path: &Path) -> Result<Vec<u8>, StoreError> {
        self.read_at_most(path, self.most)
    }

    /// A whole file, if it has at most so many bytes.
    pub(crate) fn read_at_most(&self, path: &Path, most: u64) -> Result<Vec<u8>, StoreError> {
        let size = self.facts(path)?.length;
        if size > most {
            return Err(StoreError::TooLarge {
                path: path.into(),
                size,
                most,
            });
        }
        self.files
            .read(path, most)
            .map_err(|error| StoreError::from_io(&error, "reading the file", path))
    }

    fn new_identity(&self) -> Uuid {
        let now = self.files.now().duration_since(SystemTime::UNIX_EPOCH);
        // The standard library seeds its hashers from the system's randomness.
        let seed = std::hash::RandomState::new().build_hasher().finish();
        IdSource::new(now.unwrap_or_default().as_millis() as u64, seed)
            .next::<domain::Genotype>()
            .uuid()
    }
}

/// The journal of a file opened for writing.
pub(crate) fn start_writer(
    files: &Arc<dyn FileSystem>,
    project: &Path,
    journal: &Path,
    mark: Mark,
    begin: Begin,
    memory: Memory,
) -> Result<Writer, StoreError> {
    Writer::start(
        Arc::clone(files),
        project,
        journal.into(),
        mark,
        begin,
        memory,
    )
    .map_err(|error| StoreError::from_io(&error, "starting the journal", journal))
}

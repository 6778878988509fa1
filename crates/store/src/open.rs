//! Opening, creating, and bringing back what was not saved.

use crate::document::{self, Document, FORMAT_MAJOR, Preserved};
use crate::error::{ReadOnly, StoreError};
use crate::files::{Disk, FileSystem, beside, replace};
use crate::journal::{Begin, Continuation, Cut, JournalEntry, Mark, Scan, Stop, Writer};
use crate::journal::{continuation, newer_major, scan};
use crate::lock::{self, Holder, Lock, LockAnswer};
use crate::project_file::{Fingerprint, ProjectFile, Saved};
use crate::quarantine::QuarantinedPart;
use crate::report::{Recovered, Report};
use domain::{IdSource, Project};
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
    pub fn open(&self, path: &Path) -> Result<Opened, StoreError> {
        let path = self.resolve(path)?;
        let read_only = self.facts(&path)?.read_only;
        let lock = if read_only {
            Err(ReadOnly::NotWritable)
        } else {
            match lock::ask(&self.files, &path, &self.who) {
                Ok(LockAnswer::Ours(lock)) => Ok(lock),
                Ok(LockAnswer::Held(holder)) => Err(ReadOnly::Held(holder)),
                Err(StoreError::Denied(_)) => Err(ReadOnly::NotWritable),
                Err(error) => return Err(error),
            }
        };
        self.open_with(path, lock)
    }

    /// Opens a project for reading only.
    pub fn open_read_only(&self, path: &Path) -> Result<Opened, StoreError> {
        self.open_with(self.resolve(path)?, Err(ReadOnly::Asked))
    }

    fn open_with(&self, path: PathBuf, lock: Result<Lock, ReadOnly>) -> Result<Opened, StoreError> {
        // In this order: a file changed in between is noticed by its time when it is to be written over.
        let facts = self.facts(&path)?;
        let bytes = self.read(&path)?;
        let Document {
            format,
            mark,
            project,
            preserved,
            notes,
            damaged,
        } = document::read(&bytes).map_err(|why| StoreError::NotAProject {
            path: path.clone(),
            why,
        })?;
        let mark = mark.unwrap_or_else(|| Mark::new(self.new_identity()));
        let lock = if format.major > FORMAT_MAJOR {
            Err(ReadOnly::NewerFormat(format.major))
        } else {
            lock
        };
        let (lock, read_only) = match lock {
            Ok(lock) => (Some(lock), None),
            Err(why) => (None, Some(why)),
        };
        let mut opening = Opening {
            store: self,
            journal: beside(&path, "-journal"),
            project,
            mark,
            writing: lock.is_some(),
            report: Report {
                quarantined: preserved.quarantined.clone(),
                read_only,
                notes,
                ..Report::default()
            },
        };
        if let Some(holder) = lock.as_ref().and_then(|lock| lock.left_by.as_ref()) {
            opening.report.notes.push(format!(
                "{holder} left the project without closing it. If it is still open there, close it there first."
            ));
        }
        let saved = Saved {
            fingerprint: Fingerprint::of(&bytes, &facts),
            mark,
            preserved,
            damaged: damaged.then(|| bytes.clone()),
            backup_trouble: None,
        };
        drop(bytes);
        let begin = opening.recover()?;
        let Opening {
            project,
            mark,
            report,
            journal,
            ..
        } = opening;
        let lock = lock.filter(|_| report.read_only.is_none());
        let file = ProjectFile::new(
            self.clone(),
            path,
            journal,
            saved,
            (mark, begin),
            lock.ok_or_else(|| report.read_only.clone().unwrap_or(ReadOnly::Asked)),
        )?;
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
        let lock = match lock::ask(&self.files, &path, &self.who)? {
            LockAnswer::Ours(lock) => lock,
            LockAnswer::Held(holder) => return Err(StoreError::Held { path, holder }),
        };
        let journal_path = beside(&path, "-journal");
        self.set_journal_aside(&journal_path)?;
        let begin = match journal {
            Some(text) => {
                replace(&*self.files, &journal_path, &text, Some(&path)).map_err(tell)?;
                Begin::At(text.len() as u64)
            }
            None => Begin::New(Box::new(project.clone())),
        };
        let text = document::write(project, &mark, &preserved);
        replace(&*self.files, &path, &text, Some(&path)).map_err(tell)?;
        let saved = Saved {
            fingerprint: Fingerprint::of(&text, &self.facts(&path)?),
            mark,
            preserved,
            damaged: None,
            backup_trouble: None,
        };
        ProjectFile::new(
            self.clone(),
            path,
            journal_path,
            saved,
            (mark, begin),
            Ok(lock),
        )
    }

    /// Gives a journal that isn't of this project another name, so that it is neither used nor lost.
    fn set_journal_aside(&self, journal: &Path) -> Result<Option<PathBuf>, StoreError> {
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

/// A project being opened, its journal not yet replayed.
struct Opening<'a> {
    store: &'a Store,
    journal: PathBuf,
    project: Project,
    mark: Mark,
    writing: bool,
    report: Report,
}

impl Opening<'_> {
    /// Replays what the journal has beyond the file. Returns how the journal goes on.
    fn recover(&mut self) -> Result<Begin, StoreError> {
        let bytes = match self.store.read(&self.journal) {
            Ok(bytes) => bytes,
            Err(StoreError::Missing(_)) => return Ok(self.begin_anew()),
            Err(error) => return Err(error),
        };
        if let Some(major) = newer_major(&bytes) {
            self.report.read_only = Some(ReadOnly::NewerFormat(major));
            return Ok(self.begin_anew());
        }
        let Some(scan) = scan(&bytes) else {
            return self.quarantine_journal("Its first line can't be read.");
        };
        let (lines, end, mut cut, holes) = match continuation(&scan, self.mark) {
            Continuation::Foreign(why) => return self.quarantine_journal(why),
            Continuation::Follows {
                lines,
                end,
                cut,
                holes,
            } => (lines, end, cut, holes),
        };
        if holes > 0 {
            self.report.notes.push(format!(
                "{holes} lines of the journal are damaged. Their changes are in the project; its history has a gap."
            ));
        }
        if let Some(stopped) = self.replay(&scan, &lines) {
            cut = stopped;
        } else {
            self.mark = end;
        }
        if let Some(cut) = cut {
            self.cut_off(&bytes, cut)?;
            return Ok(Begin::At(cut.at as u64));
        }
        Ok(Begin::At(bytes.len() as u64))
    }

    /// Applies the lines in order. If one can't be, returns where to cut the journal, if it is to be cut.
    #[expect(
        clippy::option_option,
        reason = "whether it stopped, and whether to cut there"
    )]
    fn replay(&mut self, scan: &Scan<'_>, lines: &[std::ops::Range<usize>]) -> Option<Option<Cut>> {
        for (nth, line) in lines.iter().enumerate() {
            let sequence = self.mark.sequence + 1;
            let Ok(entry) = scan.whole_entry(line) else {
                // Sound, but not understood. It stays for the program that wrote it.
                self.report.read_only = Some(ReadOnly::NewerChanges(sequence));
                return Some(None);
            };
            if let Err(refusal) = self.project.apply(entry.edit) {
                self.report.notes.push(format!(
                    "Change {sequence} in the journal and those after it don't fit the project. {refusal}"
                ));
                return Some(Some(Cut {
                    at: line.start,
                    stop: Stop::Damaged,
                    lines: lines.len() - nth,
                }));
            }
            self.mark = scan.mark_after(line, self.mark);
            let recovered = self.report.recovered.get_or_insert(Recovered {
                changes: 0,
                from: entry.at,
                to: entry.at,
            });
            recovered.changes += 1;
            recovered.to = entry.at;
        }
        None
    }

    /// Keeps the end of the journal that can't be used under another name, and cuts it off.
    fn cut_off(&mut self, bytes: &[u8], cut: Cut) -> Result<(), StoreError> {
        self.report.notes.push(match (cut.stop, cut.lines) {
            (Stop::Torn, _) => "The last change in the journal was never finished.".into(),
            (Stop::Damaged, 0) => "The end of the journal is damaged.".into(),
            (Stop::Damaged, lines) => format!(
                "The journal is damaged; {lines} later changes in it could not be brought back."
            ),
        });
        if !self.writing {
            return Ok(());
        }
        let rest = &bytes[cut.at..];
        let kept = QuarantinedPart::Cut.path(&self.journal, rest);
        let files = &*self.store.files;
        let tell = |error| StoreError::from_io(&error, "repairing the journal", &self.journal);
        replace(files, &kept, rest, Some(&self.journal)).map_err(tell)?;
        files
            .continue_at(&self.journal, cut.at as u64)
            .and_then(|mut file| file.sync())
            .map_err(tell)?;
        self.report.kept.push(kept);
        Ok(())
    }

    fn quarantine_journal(&mut self, why: &str) -> Result<Begin, StoreError> {
        self.report.notes.push(format!(
            "The journal beside the project was not used. {why}"
        ));
        if self.writing {
            let kept = self.store.set_journal_aside(&self.journal)?;
            self.report.kept.extend(kept);
        }
        Ok(self.begin_anew())
    }

    fn begin_anew(&self) -> Begin {
        Begin::New(Box::new(self.project.clone()))
    }
}

/// The journal of a file opened for writing.
pub(crate) fn start_writer(
    files: &Arc<dyn FileSystem>,
    project: &Path,
    journal: &Path,
    mark: Mark,
    begin: Begin,
) -> Result<Writer, StoreError> {
    Writer::start(Arc::clone(files), project, journal.into(), mark, begin)
        .map_err(|error| StoreError::from_io(&error, "starting the journal", journal))
}

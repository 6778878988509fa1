//! An open project file.

use crate::document::{self, Preserved};
use crate::error::{ReadOnly, StoreError};
use crate::files::{Facts, beside, replace, replace_keeping};
use crate::journal::{Begin, Handed, JournalEntry, Mark, Memory, Sum, Writer, scan};
use crate::lock::Lock;
use crate::open::{Existing, Store, start_writer};
use crate::other_copy::OtherCopy;
use crate::quarantine::QuarantinedPart;
use domain::{AnyId, Edit, Project};
use std::collections::{BTreeSet, VecDeque};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;
use uuid::Uuid;

/// Who signs what another program did.
const OUTSIDE: &str = "another program";

/// An open project file. All its methods take `&self`, so that a worker can save while changes go on.
///
/// Dropping it waits until the changes handed over are on the disk, then frees the lock. If the disk fails just
/// then, nobody hears of it: call [`Self::flush`] before.
#[derive(Debug)]
pub struct ProjectFile {
    store: Store,
    path: PathBuf,
    journal: PathBuf,
    saved: Mutex<Saved>,
    /// The number in the mark of `saved`, which is held while it is written.
    saved_up_to: AtomicU64,
    /// Where the project stood when the file was opened.
    opened_at: Mark,
    /// How long the journal was when the file was opened, and when it was changed last, for those who only read.
    journal_then: Option<(u64, Option<SystemTime>)>,
    /// Who signs changes.
    who: Mutex<String>,
    /// What another program did to the file before it was opened here: it goes into the journal before the next change.
    outside: Mutex<Option<Edit>>,
    // The writer ends before the lock is freed: fields are dropped in this order.
    writing: Result<Writing, ReadOnly>,
}

#[derive(Debug)]
struct Writing {
    writer: Writer,
    lock: Lock,
}

/// The file as it was last read or written here.
#[derive(Debug)]
pub(crate) struct Saved {
    pub(crate) fingerprint: Fingerprint,
    pub(crate) mark: Mark,
    pub(crate) preserved: Preserved,
    /// The bytes of an original that was damaged or changed by another program, to be kept before it is written over.
    pub(crate) original: Option<(QuarantinedPart, Vec<u8>)>,
    /// The project in it: what this copy and whatever another program makes of the file began from.
    pub(crate) project: Project,
    /// The file of another program that was read to be brought together with this project.
    pub(crate) met: Option<(Fingerprint, Vec<u8>)>,
    pub(crate) backup_trouble: Option<StoreError>,
}

/// Where work on a file is taken up.
#[derive(Debug)]
pub(crate) struct Resume {
    /// The last change there is.
    pub(crate) mark: Mark,
    /// How the journal goes on.
    pub(crate) begin: Begin,
    /// The changes that the file lacks.
    pub(crate) since: VecDeque<Handed>,
    /// The journal up to what the file has, where it is there and not too long to be remembered.
    pub(crate) history: Option<Arc<Vec<u8>>>,
}

/// Enough of a file to know it again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Fingerprint {
    length: u64,
    identity: Option<(u64, u64)>,
    modified: Option<SystemTime>,
    sum: Sum,
}

impl Fingerprint {
    pub(crate) fn of(bytes: &[u8], facts: &Facts) -> Self {
        Self {
            length: bytes.len() as u64,
            identity: facts.identity,
            modified: facts.modified,
            sum: Sum::of(bytes),
        }
    }
}

/// A project together with the place in the journal it stands at, to be saved by a worker.
#[derive(Debug, Clone)]
pub struct Snapshot {
    project: Project,
    mark: Mark,
}

impl ProjectFile {
    pub(crate) fn new(
        store: Store,
        path: PathBuf,
        journal: PathBuf,
        saved: Saved,
        resume: Resume,
        lock: Result<Lock, ReadOnly>,
    ) -> Result<Self, StoreError> {
        let Resume {
            mark,
            begin,
            since,
            history,
        } = resume;
        let memory = Memory {
            mark: saved.mark,
            project: saved.project.clone(),
            since,
            history,
        };
        let writing = match lock {
            Ok(lock) => Ok(Writing {
                writer: start_writer(&store.files, &path, &journal, mark, begin, memory)?,
                lock,
            }),
            Err(why) => Err(why),
        };
        let facts = store.files.facts(&journal).ok().flatten();
        Ok(Self {
            who: Mutex::new(store.who.clone()),
            outside: Mutex::new(None),
            store,
            path,
            journal,
            saved_up_to: AtomicU64::new(saved.mark.sequence),
            saved: Mutex::new(saved),
            opened_at: mark,
            journal_then: facts.map(|facts| (facts.length, facts.modified)),
            writing,
        })
    }

    /// The same, with what another program did to the file, which the journal is to have before the next change.
    pub(crate) fn with_change_outside(mut self, edit: Option<Edit>) -> Self {
        self.outside = Mutex::new(edit);
        self
    }

    /// Hands over what another program did to the file, if that isn't in the journal yet.
    fn take_in_outside(&self, writer: &Writer) {
        let mut outside = self.outside.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(edit) = outside.take() {
            // What can't be written as text isn't in the history; it is in the project.
            let _ = writer.append(self.store.files.now().into(), OUTSIDE, &edit);
        }
    }

    /// Who signs changes from now on.
    pub fn sign_as(&self, who: &str) {
        who.clone_into(&mut self.who.lock().unwrap_or_else(PoisonError::into_inner));
    }

    /// Who signs changes.
    pub fn signed(&self) -> String {
        let who = self.who.lock().unwrap_or_else(PoisonError::into_inner);
        who.clone()
    }

    /// The disk it is on, and who works there.
    pub const fn store(&self) -> &Store {
        &self.store
    }

    /// The last change the file itself contains, as it was last read or written here.
    pub(crate) fn file_mark(&self) -> Mark {
        self.saved().mark
    }

    /// Whether another program, or another window, wrote to the project since it was read or saved here. Asks the disk:
    /// not for the drawing thread.
    pub fn is_changed_elsewhere(&self) -> Result<bool, StoreError> {
        if let Ok(writer) = self.writer() {
            writer.look();
        }
        let tell = |error| StoreError::from_io(&error, "looking at the file", &self.path);
        let mut saved = self.saved();
        let files = &*self.store.files;
        let Some(facts) = files.facts(&self.path).map_err(tell)? else {
            return Ok(true);
        };
        if self.is_changed(&facts, &saved)? {
            return Ok(true);
        }
        // The same bytes with another time needn't be read again.
        saved.fingerprint.modified = facts.modified;
        saved.fingerprint.identity = facts.identity;
        if self.writing.is_ok() {
            return Ok(false);
        }
        let journal = files.facts(&self.journal).map_err(tell)?;
        Ok(journal.map(|facts| (facts.length, facts.modified)) != self.journal_then)
    }

    /// Whether a window that held the project when it was opened here has let go of it, so that opening it again may
    /// give it for writing. Asks the disk: not for the drawing thread.
    pub fn is_let_go(&self) -> bool {
        matches!(self.writing, Err(ReadOnly::Held(_))) && !self.store.is_held(&self.path)
    }

    /// Where the file is, links followed.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The identity of the project and its journal, the same in all its copies.
    pub fn identity(&self) -> Uuid {
        self.opened_at.id
    }

    /// Why the project can only be read, if so.
    pub const fn read_only(&self) -> Option<&ReadOnly> {
        match &self.writing {
            Ok(_) => None,
            Err(why) => Some(why),
        }
    }

    fn writer(&self) -> Result<&Writer, StoreError> {
        match &self.writing {
            Ok(writing) => Ok(&writing.writer),
            Err(why) => Err(StoreError::ReadOnly {
                path: self.path.clone(),
                why: why.clone(),
            }),
        }
    }

    fn saved(&self) -> MutexGuard<'_, Saved> {
        self.saved.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Hands a change that the project took to the journal, and returns its number at once. It is safe when
    /// [`Self::acknowledged`] has reached that number, within about a tenth of a second.
    pub fn append(&self, edit: &Edit) -> Result<u64, StoreError> {
        let writer = self.writer()?;
        self.take_in_outside(writer);
        let who = self.who.lock().unwrap_or_else(PoisonError::into_inner);
        writer
            .append(self.store.files.now().into(), &who, edit)
            .map_err(|error| StoreError::unwritable(&self.journal, error.to_string()))
    }

    /// The number of the last change handed over; changes of a project are counted from 1 through its life.
    pub fn last(&self) -> u64 {
        self.mark().sequence
    }

    /// The number of the last change that no loss of power can take away.
    pub fn acknowledged(&self) -> u64 {
        match &self.writing {
            Ok(writing) => writing.writer.acknowledged().sequence,
            Err(_) => self.opened_at.sequence,
        }
    }

    /// The number of the last change that the project file itself contains.
    pub fn saved_up_to(&self) -> u64 {
        self.saved_up_to.load(Ordering::Relaxed)
    }

    /// Whether the project file lacks changes that the journal has.
    pub fn has_unsaved(&self) -> bool {
        self.saved_up_to() < self.last()
    }

    /// What keeps changes from the disk, if something does. It is tried again every second.
    pub fn trouble(&self) -> Option<StoreError> {
        self.writer().ok().and_then(Writer::trouble)
    }

    /// Why the last save left no backup, if one was due. The save itself succeeded.
    pub fn backup_trouble(&self) -> Option<StoreError> {
        self.saved().backup_trouble.clone()
    }

    /// Waits until every change handed over is on the disk; an error if an attempt to get it there failed.
    pub fn flush(&self) -> Result<(), StoreError> {
        self.writer()?.flush()
    }

    fn mark(&self) -> Mark {
        if let Ok(writer) = self.writer() {
            self.take_in_outside(writer);
        }
        self.writer().map_or(self.opened_at, Writer::last)
    }

    /// The project as it stands after the last change handed over, to be saved elsewhere.
    pub fn snapshot(&self, project: &Project) -> Snapshot {
        Snapshot {
            project: project.clone(),
            mark: self.mark(),
        }
    }

    /// Saves the project as it stands after the last change handed over.
    ///
    /// [`StoreError::ChangedElsewhere`] if another program wrote to the file since: then [`Self::overwrite`]
    /// or [`Self::save_as`], or open it again.
    pub fn save(&self, project: &Project) -> Result<(), StoreError> {
        self.save_snapshot(&self.snapshot(project))
    }

    /// Saves a snapshot. Until the new file stands complete under its name, the old one does.
    pub fn save_snapshot(&self, snapshot: &Snapshot) -> Result<(), StoreError> {
        self.write(snapshot, Existing::Keep)
    }

    /// Saves over a file that another program changed.
    pub fn overwrite(&self, project: &Project) -> Result<(), StoreError> {
        self.overwrite_snapshot(&self.snapshot(project))
    }

    /// Saves a snapshot over a file that another program changed.
    pub fn overwrite_snapshot(&self, snapshot: &Snapshot) -> Result<(), StoreError> {
        self.write(snapshot, Existing::Replace)
    }

    fn write(&self, snapshot: &Snapshot, others: Existing) -> Result<(), StoreError> {
        let writer = self.writer()?;
        let tell = |error| StoreError::from_io(&error, "saving the project", &self.path);
        // One save at a time: the lock is held to the end.
        let mut saved = self.saved();
        // The file must not contain what the journal lacks: its changes are counted on from there.
        writer.flush()?;
        let files = &*self.store.files;
        let there = files.facts(&self.path).map_err(tell)?;
        if let Some(facts) = &there
            && self.is_changed(facts, &saved)?
        {
            if others == Existing::Keep {
                return Err(StoreError::ChangedElsewhere(self.path.clone()));
            }
            // It is somebody's work, whatever was decided here.
            let theirs = self.store.read(&self.path)?;
            let kept = QuarantinedPart::Outside.path(&self.path, &theirs);
            replace(files, &kept, &theirs, Some(&self.path)).map_err(tell)?;
        }
        if let Some((what, original)) = &saved.original {
            let kept = what.path(&self.path, original);
            replace(files, &kept, original, Some(&self.path)).map_err(tell)?;
            saved.original = None;
        }
        let losses = &mut saved.preserved.losses;
        losses.retain(|loss| !loss.is_mended(&snapshot.project));
        let text = document::write(&snapshot.project, &snapshot.mark, &saved.preserved)
            .map_err(|why| StoreError::unwritable(&self.path, why))?;
        let mut renamed = None;
        let like = Some(&*self.path);
        self.set_leftover_aside(&saved)?;
        let known = |facts: &Facts| !Self::is_changed_from(facts, &saved);
        // Another program may have written in the moment since it was looked at.
        let keep = |former: &Path| {
            let theirs = files.read(former, self.store.most)?;
            if Sum::of(&theirs) == saved.fingerprint.sum {
                return Ok(());
            }
            let kept = QuarantinedPart::Outside.path(&self.path, &theirs);
            replace(files, &kept, &theirs, like)
        };
        let written = replace_keeping(files, &self.path, &text, like, known, keep, |facts| {
            renamed = Some(facts);
        });
        // Where an error was told of a step that was made, the new file stands there all the same.
        if renamed.is_none()
            && written.is_err()
            && let Ok(Some(facts)) = files.facts(&self.path)
            && files
                .read(&self.path, self.store.most)
                .is_ok_and(|there| there == text)
        {
            renamed = Some(facts);
        }
        if let Some(facts) = renamed {
            saved.fingerprint = Fingerprint::of(&text, &facts);
        }
        written.map_err(tell)?;
        saved.mark = snapshot.mark;
        saved.project = snapshot.project.clone();
        saved.met = None;
        self.follow_lock();
        writer.is_saved(snapshot.mark, &snapshot.project);
        (self.saved_up_to).store(snapshot.mark.sequence, Ordering::Relaxed);
        saved.backup_trouble = self.store.back_up(&self.path, &text).err();
        Ok(())
    }

    /// Locks the file that a save put in the place of the one before. Nobody else can have it: it was made just now.
    fn follow_lock(&self) {
        if let Ok(writing) = &self.writing {
            let _ = writing.lock.follow(&*self.store.files, &self.path);
        }
    }

    /// What a save that broke off left beside the file may be another program's, just taken from its place: if it is whole,
    /// it is kept.
    fn set_leftover_aside(&self, saved: &Saved) -> Result<(), StoreError> {
        let left = beside(&self.path, "-new");
        let tell = |error| StoreError::from_io(&error, "saving the project", &left);
        let files = &*self.store.files;
        if files.is_odd(&left).map_err(tell)? || files.facts(&left).map_err(tell)?.is_none() {
            return Ok(());
        }
        let bytes = self.store.read(&left)?;
        if document::is_whole(&bytes) && Sum::of(&bytes) != saved.fingerprint.sum {
            let kept = QuarantinedPart::Outside.path(&self.path, &bytes);
            files.rename(&left, &kept).map_err(tell)?;
        }
        Ok(())
    }

    /// Whether the facts of a file aren't those of the one read or written here last.
    fn is_changed_from(facts: &Facts, saved: &Saved) -> bool {
        let known = saved.fingerprint;
        let same = facts.identity == known.identity && facts.modified == known.modified;
        facts.length != known.length || facts.modified.is_none() || !same
    }

    /// Whether the file isn't the one read or written here last. Its bytes are asked only when its length or time differ.
    fn is_changed(&self, facts: &Facts, saved: &Saved) -> Result<bool, StoreError> {
        let known = saved.fingerprint;
        if facts.length != known.length {
            return Ok(true);
        }
        if !Self::is_changed_from(facts, saved) {
            return Ok(false);
        }
        let bytes = self.store.read(&self.path)?;
        Ok(Sum::of(&bytes) != known.sum)
    }

    /// Saves the project under another name, its history with it, and returns the file to go on with. This one
    /// stays as it was last saved; drop it.
    pub fn save_as(
        &self,
        path: &Path,
        project: &Project,
        existing: Existing,
    ) -> Result<Self, StoreError> {
        self.save_snapshot_as(path, &self.snapshot(project), existing)
    }

    /// Saves a snapshot under another name. Changes handed over since it was taken aren't in the new file: hand them
    /// to that one too.
    pub fn save_snapshot_as(
        &self,
        path: &Path,
        snapshot: &Snapshot,
        existing: Existing,
    ) -> Result<Self, StoreError> {
        if self
            .store
            .files
            .resolve(path)
            .is_ok_and(|path| path == self.path)
        {
            return Err(StoreError::Exists(self.path.clone()));
        }
        let Snapshot { project, mark } = snapshot;
        // If the old place fails, the history stays behind: the new file begins its own.
        let flushed = self.writer().map_or(Ok(()), Writer::flush);
        let journal = match flushed {
            Ok(()) => self.store.read(&self.journal).ok(),
            Err(_) => None,
        };
        let journal = journal.and_then(|mut bytes| {
            let length = scan(&bytes)?.length_to(mark.sequence)?;
            bytes.truncate(length);
            scan(&bytes)?.ends_at(*mark).then_some(bytes)
        });
        let preserved = self.saved().preserved.clone();
        self.store
            .lay_down(path, project, *mark, preserved, journal, existing)
    }

    /// Reads another copy to be brought together with this one, or what another program made of this very file: then
    /// what both began from is what this window last read or wrote. Everything of ours must be on the disk: see
    /// [`Self::flush`].
    pub fn read_copy(&self, other: &Path) -> Result<OtherCopy, StoreError> {
        let other = self.store.resolve(other)?;
        if other != self.path {
            return self.store.read_copy(&self.path, &other);
        }
        let mut saved = self.saved();
        let facts = self.store.facts(&self.path)?;
        let bytes = self.store.read(&self.path)?;
        let known = (saved.mark, &saved.project);
        // Nothing in it to merge with: what was the file is kept beside it when it is saved over.
        let own = self.store.read_own(&self.path, &bytes, known);
        let copy = own.map_err(|error| match error {
            StoreError::NotAProject { path, .. } => StoreError::Damaged {
                path,
                what: "The file holds no project any more".into(),
                own: true,
            },
            error => error,
        })?;
        saved.met = Some((Fingerprint::of(&bytes, &facts), bytes));
        Ok(copy)
    }

    /// The file of another program that was read last by [`Self::read_copy`] was brought together with this project: it
    /// may be saved over, and is kept beside it then.
    pub fn is_settled(&self) {
        let mut saved = self.saved();
        if let Some((fingerprint, bytes)) = saved.met.take() {
            saved.fingerprint = fingerprint;
            saved.original = Some((QuarantinedPart::Outside, bytes));
        }
    }

    /// Whether the change of this number is on the disk.
    pub fn is_kept(&self, number: u64) -> bool {
        number <= self.acknowledged()
    }

    /// The records whose changes aren't on the disk within the time it takes where nothing is wrong. Quick: for the
    /// drawing thread.
    pub fn not_on_disk(&self) -> BTreeSet<AnyId> {
        self.writer().map_or_else(|_| BTreeSet::new(), Writer::late)
    }

    /// Every change ever made, in order, as far as the journal can be read: up to the last on the disk.
    pub fn history(&self) -> Result<Vec<JournalEntry>, StoreError> {
        self.store.history(&self.path)
    }

    /// Every change that touched this record.
    pub fn history_of(&self, record: impl Into<AnyId>) -> Result<Vec<JournalEntry>, StoreError> {
        let record = record.into();
        let mut entries = self.history()?;
        entries.retain(|entry| entry.edit.touches().contains(&record));
        Ok(entries)
    }

    /// The project as it was after the change of this number: see [`Store::project_at`].
    pub fn project_at(&self, sequence: u64) -> Result<Option<Project>, StoreError> {
        self.store.project_at(&self.path, sequence)
    }
}

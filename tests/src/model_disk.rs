//! A disk that fails on command and loses what was not synced: a stand-in for the real one.
//!
//! It promises no more than POSIX does. A file's bytes last only after its `sync`, its name only after
//! `sync_folder`. When the power goes, any part of what was not synced may be on the disk and any other part
//! not, in no order. What a failed sync was to write is never written later, even if a later sync succeeds.

use crate::dice::Dice;
use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime};

mod neighbour;
pub use neighbour::Neighbour;
use store::files::{Facts, FileSystem, Guard, Locking, OpenFile};

/// How an operation fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Failure {
    /// The disk is full.
    Full,
    /// The disk can't do it.
    Broken,
    /// A write stops half way; anything else is broken.
    Short,
    /// It was done, but an error is reported.
    Late,
    /// The system refuses it, with these words of its own.
    Refused(io::ErrorKind),
    /// Whoever asks for it breaks off: a fault of the program itself.
    Panics,
}

impl Failure {
    /// The ways to fail that leave the disk in different states.
    pub const ALL: [Self; 4] = [Self::Full, Self::Broken, Self::Short, Self::Late];

    fn error(self) -> io::Error {
        match self {
            Self::Full => io::ErrorKind::StorageFull.into(),
            Self::Refused(kind) => kind.into(),
            Self::Broken | Self::Short | Self::Late => io::Error::other("injected failure"),
            Self::Panics => panic!("injected panic"),
        }
    }
}

/// The failure of the operation of this number, and perhaps of all later ones.
#[derive(Debug, Clone, Copy)]
pub struct Fault {
    /// Which operation fails, counted from 0.
    pub at: usize,
    /// How.
    pub failure: Failure,
    /// Whether every later operation fails too.
    pub lasting: bool,
}

/// The disk. Clones are the same disk.
#[derive(Debug, Clone, Default)]
pub struct ModelDisk(Arc<Mutex<World>>);

#[derive(Debug, Clone)]
enum DataChange {
    Length(usize),
    Bytes(usize, Vec<u8>),
}

#[derive(Debug, Clone)]
enum NameChange {
    Link(PathBuf, usize),
    Unlink(PathBuf),
    Rename(PathBuf, PathBuf, usize),
    /// Each name goes to the inode of the other.
    Exchange((PathBuf, usize), (PathBuf, usize)),
}

#[derive(Debug, Clone, Default)]
struct Inode {
    live: Vec<u8>,
    durable: Vec<u8>,
    pending: Vec<DataChange>,
    modified: Duration,
}

#[derive(Debug, Default)]
struct World {
    names: BTreeMap<PathBuf, usize>,
    durable_names: BTreeMap<PathBuf, usize>,
    pending_names: Vec<NameChange>,
    folders: BTreeSet<PathBuf>,
    inodes: Vec<Inode>,
    locks: BTreeSet<PathBuf>,
    operations: usize,
    fault: Option<Fault>,
    power_off_at: Option<usize>,
    /// What the system says to every operation that would write.
    unwritable: Option<io::ErrorKind>,
    /// How the making of files and folders fails whose path begins so.
    unmakeable: Option<(PathBuf, Failure)>,
    /// To which length another program cuts a file in the moment before it is opened to be written on.
    cut_when_continued: Option<usize>,
    clock: Duration,
    neighbour: Option<Neighbour>,
}

impl DataChange {
    fn apply(&self, bytes: &mut Vec<u8>) {
        match self {
            Self::Length(length) => bytes.resize(*length, 0),
            Self::Bytes(at, new) => {
                if bytes.len() < at + new.len() {
                    bytes.resize(at + new.len(), 0);
                }
                bytes[*at..at + new.len()].copy_from_slice(new);
            }
        }
    }
}

impl NameChange {
    fn apply(&self, names: &mut BTreeMap<PathBuf, usize>) {
        match self {
            Self::Link(path, inode) => {
                names.insert(path.clone(), *inode);
            }
            Self::Unlink(path) => {
                names.remove(path);
            }
            Self::Rename(from, to, inode) => {
                names.remove(from);
                names.insert(to.clone(), *inode);
            }
            Self::Exchange(one, other) => {
                names.insert(one.0.clone(), other.1);
                names.insert(other.0.clone(), one.1);
            }
        }
    }

    fn folder(&self) -> Option<&Path> {
        match self {
            Self::Link(path, _)
            | Self::Unlink(path)
            | Self::Rename(_, path, _)
            | Self::Exchange((path, _), _) => path.parent(),
        }
    }
}

impl World {
    /// Counts an operation. Returns how it is to fail after being done, if late; an error if it fails before.
    fn step(&mut self) -> io::Result<Option<Failure>> {
        if let Some(mut neighbour) = self.neighbour.take() {
            neighbour.come_by(self);
            self.neighbour = Some(neighbour);
        }
        let this = self.operations;
        self.operations += 1;
        self.clock += Duration::from_millis(1);
        if self.power_off_at.is_some_and(|at| this >= at) {
            return Err(io::Error::other("the power is off"));
        }
        let fails = |fault: &Fault| this == fault.at || (fault.lasting && this > fault.at);
        match self.fault.filter(fails) {
            Some(fault) if fault.failure == Failure::Late => Ok(Some(fault.failure)),
            Some(fault) => Err(fault.failure.error()),
            None => Ok(None),
        }
    }

    /// [`Self::step`] of an operation that writes.
    fn step_writing(&mut self) -> io::Result<Option<Failure>> {
        match self.unwritable {
            Some(kind) => Err(kind.into()),
            None => self.step(),
        }
    }

    /// [`Self::step_writing`] of an operation that makes a file or a folder.
    fn step_making(&mut self, path: &Path) -> io::Result<Option<Failure>> {
        match &self.unmakeable {
            Some((within, failure))
                if path
                    .to_string_lossy()
                    .starts_with(&*within.to_string_lossy()) =>
            {
                Err(failure.error())
            }
            _ => self.step_writing(),
        }
    }

    /// The failure that the next operation meets, if any.
    fn next_failure(&self) -> Option<Failure> {
        let next = self.operations;
        let fails = |fault: &Fault| next == fault.at || (fault.lasting && next > fault.at);
        self.fault.filter(fails).map(|fault| fault.failure)
    }

    fn inode(&self, path: &Path) -> io::Result<usize> {
        let inode = self.names.get(path).copied();
        inode.ok_or_else(|| io::ErrorKind::NotFound.into())
    }

    /// What another program does to names lasts at once, and so does what was done to them before.
    fn settle_names(&mut self) {
        for change in std::mem::take(&mut self.pending_names) {
            change.apply(&mut self.durable_names);
        }
    }

    fn put(&mut self, path: &Path, bytes: &[u8]) {
        self.settle_names();
        self.clock += Duration::from_secs(1);
        let inode = self.inodes.len();
        let modified = self.clock;
        self.inodes.push(Inode {
            live: bytes.to_vec(),
            durable: bytes.to_vec(),
            pending: Vec::new(),
            modified,
        });
        self.names.insert(path.into(), inode);
        self.durable_names.insert(path.into(), inode);
    }

    /// Cuts a file where it is, as another program would; it lasts at once.
    fn cut(&mut self, path: &Path, length: usize) {
        let Some(inode) = self.names.get(path).copied() else {
            return;
        };
        self.clock += Duration::from_secs(1);
        let modified = self.clock;
        let inode = &mut self.inodes[inode];
        inode.live.truncate(length);
        inode.durable.clone_from(&inode.live);
        inode.pending.clear();
        inode.modified = modified;
    }

    fn delete(&mut self, path: &Path) {
        self.settle_names();
        self.names.remove(path);
        self.durable_names.remove(path);
    }

    fn rename_now(&mut self, change: NameChange) {
        change.apply(&mut self.names);
        self.pending_names.push(change);
    }

    fn change_data(&mut self, inode: usize, change: DataChange) {
        let now = self.clock;
        let inode = &mut self.inodes[inode];
        change.apply(&mut inode.live);
        inode.pending.push(change);
        inode.modified = now;
    }
}

fn late(late: Option<Failure>) -> io::Result<()> {
    late.map_or(Ok(()), |failure| Err(failure.error()))
}

impl ModelDisk {
    fn world(&self) -> MutexGuard<'_, World> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How many operations were asked for so far.
    pub fn operations(&self) -> usize {
        self.world().operations
    }

    /// Lets an operation fail, or none.
    pub fn set_fault(&self, fault: Option<Fault>) {
        self.world().fault = fault;
    }

    /// Makes the whole disk one that can only be read, or no longer.
    pub fn set_unwritable(&self, says: Option<io::ErrorKind>) {
        self.world().unwritable = says;
    }

    /// Lets the making of files and folders fail whose path begins so, or of none.
    pub fn set_unmakeable(&self, which: Option<(&str, Failure)>) {
        self.world().unmakeable = which.map(|(path, failure)| (path.into(), failure));
    }

    /// The next file that is opened to be written on is cut to this length by another program in the moment before.
    pub fn cut_when_continued(&self, length: usize) {
        self.world().cut_when_continued = Some(length);
    }

    /// Cuts the power before the operation of this number.
    pub fn power_off_at(&self, operation: usize) {
        self.world().power_off_at = Some(operation);
    }

    /// What the disk holds when the power comes back; `seed` decides what of the unsynced was lost.
    #[must_use]
    pub fn restarted(&self, seed: u64) -> Self {
        let world = self.world();
        let mut dice = Dice::new(seed);
        let mut next = World {
            folders: world.folders.clone(),
            names: world.durable_names.clone(),
            clock: world.clock + Duration::from_mins(1),
            ..World::default()
        };
        for change in &world.pending_names {
            if dice.one_in(2) {
                change.apply(&mut next.names);
            }
        }
        for inode in &world.inodes {
            let mut bytes = inode.durable.clone();
            for change in &inode.pending {
                match change {
                    DataChange::Bytes(at, new) if dice.one_in(3) => {
                        let torn = new[..dice.below(new.len() + 1)].to_vec();
                        DataChange::Bytes(*at, torn).apply(&mut bytes);
                    }
                    change if dice.one_in(2) => change.apply(&mut bytes),
                    _ => {}
                }
            }
            next.inodes.push(Inode {
                durable: bytes.clone(),
                live: bytes,
                pending: Vec::new(),
                modified: inode.modified,
            });
        }
        next.durable_names = next.names.clone();
        Self(Arc::new(Mutex::new(next)))
    }

    /// The bytes of a file, for a look from outside that counts as no operation.
    pub fn peek(&self, path: &Path) -> Option<Vec<u8>> {
        let world = self.world();
        let inode = *world.names.get(path)?;
        Some(world.inodes[inode].live.clone())
    }

    /// Writes a file from outside, as another program would; it lasts at once.
    pub fn put(&self, path: &Path, bytes: &[u8]) {
        self.world().put(path, bytes);
    }

    /// Takes a file away from outside, as another program would; it lasts at once.
    pub fn delete(&self, path: &Path) {
        self.world().delete(path);
    }

    /// From now on another program is at work on the same files, before any operation.
    pub fn beside(&self, neighbour: Neighbour) {
        self.world().neighbour = Some(neighbour);
    }

    /// Sends the other program away.
    pub fn alone(&self) -> Option<Neighbour> {
        self.world().neighbour.take()
    }

    /// Every file there is.
    pub fn paths(&self) -> Vec<PathBuf> {
        self.world().names.keys().cloned().collect()
    }

    /// Moves the clock on.
    pub fn pass(&self, time: Duration) {
        self.world().clock += time;
    }
}

#[derive(Debug)]
struct ModelFile {
    disk: ModelDisk,
    inode: usize,
}

impl OpenFile for ModelFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut world = self.disk.world();
        let failure = world.next_failure();
        let step = world.step();
        let written = match (&step, failure) {
            (Ok(_), _) => bytes.len(),
            (Err(_), Some(Failure::Short)) => bytes.len() / 2,
            (Err(_), _) => 0,
        };
        if written > 0 {
            let end = world.inodes[self.inode].live.len();
            let change = DataChange::Bytes(end, bytes[..written].to_vec());
            world.change_data(self.inode, change);
        }
        late(step?)
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut world = self.disk.world();
        let step = world.step();
        let inode = &mut world.inodes[self.inode];
        if step.is_ok() {
            for change in std::mem::take(&mut inode.pending) {
                change.apply(&mut inode.durable);
            }
        } else {
            // The pages count as clean from here on, and never reach the disk.
            inode.pending.clear();
        }
        late(step?)
    }
}

#[derive(Debug)]
struct ModelLock {
    disk: ModelDisk,
    path: PathBuf,
}

impl Guard for ModelLock {}

impl Drop for ModelLock {
    fn drop(&mut self) {
        self.disk.world().locks.remove(&self.path);
    }
}

impl FileSystem for ModelDisk {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        let mut world = self.world();
        late(world.step()?)?;
        world.inode(path).map(|_| path.to_path_buf())
    }

    fn facts(&self, path: &Path) -> io::Result<Option<Facts>> {
        let mut world = self.world();
        late(world.step()?)?;
        Ok(world.names.get(path).map(|inode| Facts {
            length: world.inodes[*inode].live.len() as u64,
            modified: Some(SystemTime::UNIX_EPOCH + world.inodes[*inode].modified),
            read_only: false,
            identity: Some((0, *inode as u64)),
            names: 1,
        }))
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        let mut world = self.world();
        late(world.step()?)?;
        let bytes = &world.inodes[world.inode(path)?].live;
        Ok(bytes[..bytes.len().min(most as usize)].to_vec())
    }

    fn create(&self, path: &Path, _like: Option<&Path>) -> io::Result<Box<dyn OpenFile>> {
        let mut world = self.world();
        let step = world.step_making(path)?;
        let inode = world.inodes.len();
        let modified = world.clock;
        world.inodes.push(Inode {
            modified,
            ..Inode::default()
        });
        world.rename_now(NameChange::Link(path.into(), inode));
        late(step)?;
        Ok(Box::new(ModelFile {
            disk: self.clone(),
            inode,
        }))
    }

    fn continue_at(
        &self,
        path: &Path,
        length: u64,
        is: Option<(u64, u64)>,
    ) -> io::Result<Box<dyn OpenFile>> {
        let mut world = self.world();
        let step = world.step_writing()?;
        if let Some(length) = world.cut_when_continued.take() {
            world.cut(path, length);
        }
        let inode = world.inode(path)?;
        if is.is_some_and(|is| is != (0, inode as u64)) {
            return Err(io::ErrorKind::NotFound.into());
        }
        let length = length as usize;
        if world.inodes[inode].live.len() < length {
            return Err(io::ErrorKind::NotFound.into());
        }
        if world.inodes[inode].live.len() > length {
            world.change_data(inode, DataChange::Length(length));
        }
        late(step)?;
        Ok(Box::new(ModelFile {
            disk: self.clone(),
            inode,
        }))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut world = self.world();
        let step = world.step_writing()?;
        let inode = world.inode(from)?;
        world.rename_now(NameChange::Rename(from.into(), to.into(), inode));
        late(step)
    }

    fn rename_to_free(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut world = self.world();
        let step = world.step_writing()?;
        let inode = world.inode(from)?;
        if world.names.contains_key(to) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        world.rename_now(NameChange::Rename(from.into(), to.into(), inode));
        late(step)
    }

    fn exchange(&self, one: &Path, other: &Path) -> io::Result<bool> {
        let mut world = self.world();
        let step = world.step_writing()?;
        let (first, second) = (world.inode(one)?, world.inode(other)?);
        world.rename_now(NameChange::Exchange(
            (one.into(), first),
            (other.into(), second),
        ));
        late(step)?;
        Ok(true)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        let mut world = self.world();
        let step = world.step_writing()?;
        world.inode(path)?;
        world.rename_now(NameChange::Unlink(path.into()));
        late(step)
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        let mut world = self.world();
        let step = world.step_writing()?;
        let pending = std::mem::take(&mut world.pending_names);
        for change in pending {
            if change.folder() == Some(path) {
                change.apply(&mut world.durable_names);
            } else {
                world.pending_names.push(change);
            }
        }
        late(step)
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        let mut world = self.world();
        let step = world.step_making(path)?;
        world.folders.insert(path.into());
        late(step)
    }

    fn list(&self, path: &Path) -> io::Result<Vec<String>> {
        let mut world = self.world();
        late(world.step()?)?;
        let inside = world
            .names
            .keys()
            .filter(|each| each.parent() == Some(path));
        Ok(inside
            .filter_map(|each| Some(each.file_name()?.to_str()?.to_owned()))
            .collect())
    }

    fn lock(&self, path: &Path, _text: &[u8], _like: &Path) -> io::Result<Locking> {
        let mut world = self.world();
        late(world.step_writing()?)?;
        Ok(if world.locks.insert(path.into()) {
            Locking::Ours(Box::new(ModelLock {
                disk: self.clone(),
                path: path.into(),
            }))
        } else {
            Locking::Held
        })
    }

    fn is_locked(&self, path: &Path) -> io::Result<Option<bool>> {
        let mut world = self.world();
        late(world.step()?)?;
        Ok(Some(world.locks.contains(path)))
    }

    fn now(&self) -> SystemTime {
        // 2026-03-01 08:00 UTC, and on from there.
        SystemTime::UNIX_EPOCH + Duration::from_hours(20_513 * 24 + 8) + self.world().clock
    }
}

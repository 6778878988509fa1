//! The few file operations that the store is made of, so that tests can stand in for a disk and fail.

mod disk;

pub use disk::Disk;

use std::fmt::Debug;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// What is known of a file without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Facts {
    /// Its length in bytes.
    pub length: u64,
    /// When it was last written, as far as the disk remembers.
    pub modified: Option<SystemTime>,
    /// Whether its permissions forbid writing.
    pub read_only: bool,
    /// What tells it from every other file under whatever name, where the disk knows such a thing (device and inode).
    pub identity: Option<(u64, u64)>,
    /// How many names it has: more than one, and another name may be somebody else's.
    pub names: u64,
}

/// A file open for writing. Dropping it closes it; only [`OpenFile::sync`] makes its content last.
pub trait OpenFile: Send {
    /// Writes all the bytes after those written before.
    fn write(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Waits until everything written is on the disk itself.
    fn sync(&mut self) -> io::Result<()>;
}

/// A held lock; dropping it frees the lock.
pub trait Guard: Send + Sync + Debug {}

/// What came of asking for a lock.
#[derive(Debug)]
pub enum Locking {
    /// It is ours until dropped.
    Ours(Box<dyn Guard>),
    /// Somebody else has it.
    Held,
    /// The place knows no locks, as some network folders don't.
    Unknown,
}

/// Files by path. Every operation may fail, and nothing is promised to survive a loss of power before it
/// was synced: a file's bytes by [`OpenFile::sync`], its name by [`FileSystem::sync_folder`].
pub trait FileSystem: Send + Sync + Debug {
    /// The path with its links followed. The file must exist.
    fn resolve(&self, path: &Path) -> io::Result<PathBuf>;

    /// What is known of a file; nothing if there is none.
    fn facts(&self, path: &Path) -> io::Result<Option<Facts>>;

    /// All bytes of a file, at most `most` of them.
    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>>;

    /// The bytes of a file from so many on, at most `most` of them; none where it is shorter.
    fn read_from(&self, path: &Path, from: u64, most: u64) -> io::Result<Vec<u8>> {
        let mut bytes = self.read(path, from.saturating_add(most))?;
        bytes.drain(..bytes.len().min(from as usize));
        Ok(bytes)
    }

    /// A new, empty file, with the permissions and the owner of the file `like`, if that is there and this disk knows
    /// such. What had the name before, a file or a link to one, loses it; nothing is ever written into it.
    fn create(&self, path: &Path, like: Option<&Path>) -> io::Result<Box<dyn OpenFile>>;

    /// An existing file cut to `length` bytes, to be written on at whatever is its end then: where another program cut it
    /// meanwhile, no hole comes to be. A link of this name is refused; another file than the one that `is` meant, and one that
    /// is shorter already, is left alone, and not found.
    fn continue_at(
        &self,
        path: &Path,
        length: u64,
        is: Option<(u64, u64)>,
    ) -> io::Result<Box<dyn OpenFile>>;

    /// Gives a file another name in the same folder, in place of any file that has it, in one step.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Gives a file a name that no other has; where the system can tell, it is left alone if another has it after all.
    fn rename_to_free(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.rename(from, to)
    }

    /// Gives two files in one folder each other's name, in one step, so that what had the name is known for sure. False,
    /// with nothing done, where the system knows no such step.
    fn exchange(&self, _one: &Path, _other: &Path) -> io::Result<bool> {
        Ok(false)
    }

    /// Takes a file away.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Waits until the names in a folder are on the disk itself.
    fn sync_folder(&self, path: &Path) -> io::Result<()>;

    /// Makes a folder, if there is none. The folder it is in must exist.
    fn make_folder(&self, path: &Path) -> io::Result<()>;

    /// The names of the files in a folder, in no order.
    fn list(&self, path: &Path) -> io::Result<Vec<String>>;

    /// Asks for the lock at this path, and leaves `text` there for people to read, who are those that may read the file
    /// `like`. A link of this name is refused.
    fn lock(&self, path: &Path, text: &[u8], like: &Path) -> io::Result<Locking>;

    /// Locks a file itself, whatever its name, so that whoever comes to it by another name (a hard link) meets the lock.
    fn lock_itself(&self, _path: &Path) -> io::Result<Locking> {
        Ok(Locking::Unknown)
    }

    /// Whether something other than a plain file has this name itself: a link, a device, a pipe.
    fn is_odd(&self, _path: &Path) -> io::Result<bool> {
        Ok(false)
    }

    /// Whether somebody holds the lock at this path, without asking for it; nothing where the place knows no locks.
    fn is_locked(&self, _path: &Path) -> io::Result<Option<bool>> {
        Ok(None)
    }

    /// The moment by this disk's clock.
    fn now(&self) -> SystemTime {
        SystemTime::now()
    }
}

/// The folder a file is in.
pub(crate) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// The path with letters added to the file's name: `season.binewright` to `season.binewright-journal`.
pub(crate) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(suffix);
    path.with_file_name(name)
}

/// [`replace`] where another program may put a file of its own in place at any moment: what had the name till then, if it
/// isn't the file that is `known`, is handed to `keep`, wherever the system can tell. `renamed` is called as soon as the
/// new file stands under the name, even if what follows fails.
pub(crate) fn replace_keeping(
    files: &dyn FileSystem,
    path: &Path,
    bytes: &[u8],
    like: Option<&Path>,
    known: impl Fn(&Facts) -> bool,
    keep: impl FnOnce(&Path) -> io::Result<()>,
    renamed: impl FnOnce(Facts),
) -> io::Result<()> {
    let new = beside(path, "-new");
    let written = (|| {
        let mut file = files.create(&new, like)?;
        file.write(bytes)?;
        file.sync()?;
        drop(file);
        let there = files.facts(path)?.is_some();
        // Its own facts, asked for while no other can have its name.
        let facts = files.facts(&new)?.ok_or(io::ErrorKind::NotFound)?;
        Ok((there, facts))
    })();
    let (there, facts) = match written {
        Ok(written) => written,
        Err(error) => {
            // Best effort: a leftover is overwritten by the next save.
            let _ = files.remove(&new);
            return Err(error);
        }
    };
    // From here on the other name may have another program's file: no error takes it away.
    let exchanged = if there {
        match files.exchange(&new, path) {
            Ok(true) => true,
            Ok(false) => files.rename(&new, path).map(|()| false)?,
            // It was taken away in this moment.
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                files.rename_to_free(&new, path).map(|()| false)?
            }
            Err(error) => return Err(error),
        }
    } else {
        match files.rename_to_free(&new, path) {
            Ok(()) => false,
            // It was put there in this moment.
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                let exchanged = files.exchange(&new, path)?;
                if !exchanged {
                    files.rename(&new, path)?;
                }
                exchanged
            }
            Err(error) => return Err(error),
        }
    };
    renamed(facts);
    files.sync_folder(folder_of(path))?;
    if exchanged {
        if !files.facts(&new)?.is_some_and(|facts| known(&facts)) {
            keep(&new)?;
        }
        // What is left there is written over by the next save.
        let _ = files.remove(&new);
    }
    Ok(())
}

/// Writes a whole file so that whoever looks finds the old or the new one, never half of either: beside it,
/// synced, renamed over it, the folder synced.
pub(crate) fn replace(
    files: &dyn FileSystem,
    path: &Path,
    bytes: &[u8],
    like: Option<&Path>,
) -> io::Result<()> {
    let new = beside(path, "-new");
    let written = (|| {
        let mut file = files.create(&new, like)?;
        file.write(bytes)?;
        file.sync()?;
        drop(file);
        files.rename(&new, path)
    })();
    if let Err(error) = written {
        // Best effort: a leftover is overwritten by the next save.
        let _ = files.remove(&new);
        return Err(error);
    }
    files.sync_folder(folder_of(path))
}

//! The real disk.

use super::{Facts, FileSystem, Guard, Locking, OpenFile};
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

/// The disk of this machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl OpenFile for File {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }
}

/// The lock file, locked by the operating system: freed by it even when the program is killed.
#[derive(Debug)]
struct LockedFile {
    path: PathBuf,
    _file: File,
}

impl Guard for LockedFile {}

impl Drop for LockedFile {
    fn drop(&mut self) {
        // While still locked, so that nobody else's lock file is taken away.
        let _ = fs::remove_file(&self.path);
    }
}

impl FileSystem for Disk {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        fs::canonicalize(path)
    }

    fn facts(&self, path: &Path) -> io::Result<Option<Facts>> {
        match fs::metadata(path) {
            // A folder, or what could be read for ever, such as a device or a pipe.
            Ok(metadata) if !metadata.is_file() => Err(io::ErrorKind::IsADirectory.into()),
            Ok(metadata) => Ok(Some(Facts {
                length: metadata.len(),
                modified: metadata.modified().ok(),
                read_only: metadata.permissions().readonly(),
            })),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        let file = File::open(path)?;
        let length = file.metadata()?.len().min(most);
        let mut bytes = Vec::with_capacity(length as usize);
        file.take(most).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn create(&self, path: &Path, like: Option<&Path>) -> io::Result<Box<dyn OpenFile>> {
        let file = File::create(path)?;
        if let Some(Ok(like)) = like.map(fs::metadata) {
            // Refused by disks that know none, such as memory sticks and some network folders.
            let _ = file.set_permissions(like.permissions());
        }
        Ok(Box::new(file))
    }

    fn continue_at(&self, path: &Path, length: u64) -> io::Result<Box<dyn OpenFile>> {
        let mut file = OpenOptions::new().write(true).open(path)?;
        if file.metadata()?.len() != length {
            file.set_len(length)?;
        }
        file.seek(SeekFrom::Start(length))?;
        Ok(Box::new(file))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    #[cfg(unix)]
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        match File::open(path)?.sync_all() {
            // Some network folders can't be synced; they keep names by themselves.
            Err(error) if error.kind() == io::ErrorKind::InvalidInput => Ok(()),
            result => result,
        }
    }

    #[cfg(not(unix))]
    fn sync_folder(&self, _path: &Path) -> io::Result<()> {
        // Folders can't be opened there; the file system keeps names in its own journal.
        Ok(())
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        match fs::create_dir(path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && path.is_dir() => Ok(()),
            result => result,
        }
    }

    fn list(&self, path: &Path) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in fs::read_dir(path)? {
            let entry = entry?;
            if entry.file_type()?.is_file()
                && let Ok(name) = entry.file_name().into_string()
            {
                names.push(name);
            }
        }
        Ok(names)
    }

    fn lock(&self, path: &Path, text: &[u8]) -> io::Result<Locking> {
        // A holder that leaves takes the file away: if that happens between our opening and locking it, we
        // hold a file that has no name any more. Reading it back by its name tells, and we try again.
        for _ in 0..10 {
            let mut file = OpenOptions::new()
                .read(true)
                .write(true)
                .create(true)
                .truncate(false)
                .open(path)?;
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => return Ok(Locking::Held),
                Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => {
                    return Ok(Locking::Unknown);
                }
                Err(TryLockError::Error(error)) => return Err(error),
            }
            file.set_len(0)?;
            file.write_all(text)?;
            if !cfg!(unix) || is_named(&file, path) {
                return Ok(Locking::Ours(Box::new(LockedFile {
                    path: path.to_path_buf(),
                    _file: file,
                })));
            }
        }
        Ok(Locking::Held)
    }

    fn is_locked(&self, path: &Path) -> io::Result<Option<bool>> {
        let file = match File::open(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Some(false)),
            file => file?,
        };
        match file.try_lock_shared() {
            // Closing the file frees it again.
            Ok(()) => Ok(Some(false)),
            Err(TryLockError::WouldBlock) => Ok(Some(true)),
            Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => {
                Ok(None)
            }
            Err(TryLockError::Error(error)) => Err(error),
        }
    }
}

#[cfg(unix)]
fn is_named(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(ours), Ok(named)) => ours.dev() == named.dev() && ours.ino() == named.ino(),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_named(_file: &File, path: &Path) -> bool {
    path.exists()
}

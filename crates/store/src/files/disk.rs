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

/// A lock on an open file, freed when that is closed.
#[cfg(unix)]
#[derive(Debug)]
struct OpenLock {
    file: File,
}

#[cfg(unix)]
impl Guard for OpenLock {}

#[cfg(unix)]
impl Drop for OpenLock {
    fn drop(&mut self) {
        // Closing isn't enough: a program that is just being started from here holds the file open too, for a moment.
        let _ = self.file.unlock();
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
                identity: own::identity(&metadata),
                names: own::names(&metadata),
            })),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        let file = open_plain(path, OpenOptions::new().read(true), Links::Followed)?;
        let length = file.metadata()?.len().min(most);
        let mut bytes = Vec::with_capacity(length as usize);
        file.take(most).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn read_from(&self, path: &Path, from: u64, most: u64) -> io::Result<Vec<u8>> {
        let mut file = open_plain(path, OpenOptions::new().read(true), Links::Followed)?;
        file.seek(SeekFrom::Start(from))?;
        let mut bytes = Vec::new();
        file.take(most).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn create(&self, path: &Path, like: Option<&Path>) -> io::Result<Box<dyn OpenFile>> {
        let like = like.and_then(|like| fs::metadata(like).ok());
        let mut options = OpenOptions::new();
        // Fails where the name is taken, be it by a link that leads nowhere.
        options.write(true).create_new(true);
        if like.is_some() {
            own::for_the_owner_alone(&mut options);
        }
        let file = match options.open(path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                // Left by a program that was killed, or laid there by another: the name goes, not what it leads to.
                fs::remove_file(path)?;
                options.open(path)
            }
            file => file,
        }?;
        if let Some(like) = like {
            own::give(&file, &like);
        }
        Ok(Box::new(file))
    }

    fn continue_at(
        &self,
        path: &Path,
        length: u64,
        is: Option<(u64, u64)>,
    ) -> io::Result<Box<dyn OpenFile>> {
        let mut options = OpenOptions::new();
        // Some systems don't let a file be cut that is open to be appended to.
        let file = open_plain(path, options.write(true), Links::Refused)?;
        let there = file.metadata()?;
        // One that is shorter isn't what was written either: made longer, it would be so by zeros.
        if (is.is_some() && own::identity(&there) != is) || there.len() < length {
            return Err(io::ErrorKind::NotFound.into());
        }
        if there.len() > length {
            file.set_len(length)?;
        }
        let mut options = OpenOptions::new();
        let file = open_plain(path, options.append(true), Links::Refused)?;
        Ok(Box::new(file))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    #[cfg(target_os = "linux")]
    fn rename_to_free(&self, from: &Path, to: &Path) -> io::Result<()> {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        use rustix::io::Errno;
        match renameat_with(CWD, from, CWD, to, RenameFlags::NOREPLACE) {
            Err(Errno::INVAL | Errno::NOSYS | Errno::NOTSUP) => self.rename(from, to),
            renamed => Ok(renamed?),
        }
    }

    #[cfg(target_os = "linux")]
    fn exchange(&self, one: &Path, other: &Path) -> io::Result<bool> {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        use rustix::io::Errno;
        match renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE) {
            Ok(()) => Ok(true),
            // The file system, or the kernel, doesn't know it.
            Err(Errno::INVAL | Errno::NOSYS | Errno::NOTSUP | Errno::PERM) => Ok(false),
            Err(error) => Err(error.into()),
        }
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

    fn is_odd(&self, path: &Path) -> io::Result<bool> {
        match fs::symlink_metadata(path) {
            Ok(there) => Ok(!there.is_file()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
            Err(error) => Err(error),
        }
    }

    fn lock(&self, path: &Path, text: &[u8], like: &Path) -> io::Result<Locking> {
        // A holder that leaves takes the file away: if that happens between our opening and locking it, we
        // hold a file that has no name any more. Reading it back by its name tells, and we try again.
        for _ in 0..10 {
            let mut options = OpenOptions::new();
            let options = options.read(true).write(true).create(true).truncate(false);
            let mut file = open_plain(path, options, Links::Refused)?;
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => return Ok(Locking::Held),
                Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => {
                    return Ok(Locking::Unknown);
                }
                Err(TryLockError::Error(error)) => return Err(error),
            }
            // A file of two names is another's too, and not to be emptied.
            if own::names(&file.metadata()?) > 1 {
                return Err(io::ErrorKind::PermissionDenied.into());
            }
            if let Ok(like) = fs::metadata(like) {
                own::give(&file, &like);
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

    #[cfg(unix)]
    fn lock_itself(&self, path: &Path) -> io::Result<Locking> {
        // Open for writing, or some network folders lock nothing.
        let mut options = OpenOptions::new();
        let file = open_plain(path, options.read(true).write(true), Links::Refused)?;
        match file.try_lock() {
            Ok(()) => Ok(Locking::Ours(Box::new(OpenLock { file }))),
            Err(TryLockError::WouldBlock) => Ok(Locking::Held),
            Err(TryLockError::Error(error)) => Err(error),
        }
    }

    fn is_locked(&self, path: &Path) -> io::Result<Option<bool>> {
        let file = match open_plain(path, OpenOptions::new().read(true), Links::Followed) {
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

/// Whether a link is gone through where a file is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Links {
    Followed,
    Refused,
}

/// Opens a file, and refuses at once what is none: a pipe would wait for its other end, a device may never end.
fn open_plain(path: &Path, options: &mut OpenOptions, links: Links) -> io::Result<File> {
    let file = own::without_waiting(options, links).open(path)?;
    if file.metadata()?.is_file() {
        Ok(file)
    } else {
        Err(io::ErrorKind::IsADirectory.into())
    }
}

#[cfg(unix)]
fn is_named(file: &File, path: &Path) -> bool {
    match (file.metadata(), fs::symlink_metadata(path)) {
        (Ok(ours), Ok(named)) => own::identity(&ours) == own::identity(&named),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_named(_file: &File, path: &Path) -> bool {
    path.exists()
}

/// What each system has its own way for.
#[cfg(unix)]
mod own {
    use super::Links;
    use std::fs::{File, Metadata, OpenOptions, Permissions};
    use std::os::unix::fs::{MetadataExt as _, OpenOptionsExt as _, PermissionsExt as _, fchown};

    #[expect(clippy::unnecessary_wraps, reason = "other systems know none")]
    pub(super) fn identity(metadata: &Metadata) -> Option<(u64, u64)> {
        Some((metadata.dev(), metadata.ino()))
    }

    pub(super) fn names(metadata: &Metadata) -> u64 {
        metadata.nlink()
    }

    pub(super) fn without_waiting(options: &mut OpenOptions, links: Links) -> &mut OpenOptions {
        let link = if links == Links::Refused {
            libc::O_NOFOLLOW
        } else {
            0
        };
        options.custom_flags(libc::O_NONBLOCK | link)
    }

    /// Nobody else reads it before it has the permissions it is to have.
    pub(super) fn for_the_owner_alone(options: &mut OpenOptions) {
        options.mode(0o600);
    }

    /// Gives a new file the owner and the permissions of another, as far as this disk and this user can: memory sticks
    /// and some network folders know none.
    pub(super) fn give(file: &File, like: &Metadata) {
        let mut mode = like.mode() & 0o777;
        let there = file.metadata().ok();
        let same = |there: &Metadata| (there.uid(), there.gid()) == (like.uid(), like.gid());
        if !there.as_ref().is_some_and(same)
            && fchown(file, Some(like.uid()), Some(like.gid())).is_err()
            && fchown(file, None, Some(like.gid())).is_err()
        {
            // What the other's group may do is nothing that ours was given.
            mode &= 0o707;
        }
        if there.is_none_or(|there| there.mode() & 0o777 != mode) {
            let _ = file.set_permissions(Permissions::from_mode(mode));
        }
    }
}

/// Windows by its documentation: no test of ours has run there.
#[cfg(windows)]
mod own {
    use super::Links;
    use std::fs::{File, Metadata, OpenOptions};
    use std::os::windows::fs::OpenOptionsExt as _;

    /// `FILE_FLAG_OPEN_REPARSE_POINT` (Microsoft, `CreateFileW`): opens a link itself, which can't be written as a file.
    const OPEN_REPARSE_POINT: u32 = 0x0020_0000;

    pub(super) fn identity(_: &Metadata) -> Option<(u64, u64)> {
        None
    }

    pub(super) fn names(_: &Metadata) -> u64 {
        1
    }

    pub(super) fn without_waiting(options: &mut OpenOptions, links: Links) -> &mut OpenOptions {
        if links == Links::Refused {
            options.custom_flags(OPEN_REPARSE_POINT);
        }
        options
    }

    pub(super) fn for_the_owner_alone(_: &mut OpenOptions) {}

    /// New files have the permissions of their folder there.
    pub(super) fn give(_: &File, _: &Metadata) {}
}

#[cfg(not(any(unix, windows)))]
mod own {
    use super::Links;
    use std::fs::{File, Metadata, OpenOptions};

    pub(super) fn identity(_: &Metadata) -> Option<(u64, u64)> {
        None
    }

    pub(super) fn names(_: &Metadata) -> u64 {
        1
    }

    pub(super) fn without_waiting(options: &mut OpenOptions, _: Links) -> &mut OpenOptions {
        options
    }

    pub(super) fn for_the_owner_alone(_: &mut OpenOptions) {}

    pub(super) fn give(_: &File, _: &Metadata) {}
}

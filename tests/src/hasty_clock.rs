//! The real disk with a clock that runs fast, so that hours of backups come and go within a test.

use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};
use store::files::{Disk, Facts, FileSystem, Locking, OpenFile};

/// A second on the wall is so many on this clock: about eleven hours.
const HASTE: u32 = 40_000;

/// The disk of this machine under a clock that was right at `since`.
#[derive(Debug, Clone, Copy)]
pub struct HastyClock {
    since: SystemTime,
}

impl HastyClock {
    /// A clock that was right so many milliseconds after 1970 began. All programs given the same have the same time.
    pub fn since(unix_millis: u64) -> Self {
        Self {
            since: SystemTime::UNIX_EPOCH + Duration::from_millis(unix_millis),
        }
    }
}

impl FileSystem for HastyClock {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        Disk.resolve(path)
    }

    fn facts(&self, path: &Path) -> io::Result<Option<Facts>> {
        Disk.facts(path)
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        Disk.read(path, most)
    }

    fn create(&self, path: &Path, like: Option<&Path>) -> io::Result<Box<dyn OpenFile>> {
        Disk.create(path, like)
    }

    fn continue_at(
        &self,
        path: &Path,
        length: u64,
        is: Option<(u64, u64)>,
    ) -> io::Result<Box<dyn OpenFile>> {
        Disk.continue_at(path, length, is)
    }

    fn rename_to_free(&self, from: &Path, to: &Path) -> io::Result<()> {
        Disk.rename_to_free(from, to)
    }

    fn exchange(&self, one: &Path, other: &Path) -> io::Result<bool> {
        Disk.exchange(one, other)
    }

    fn lock_itself(&self, path: &Path) -> io::Result<Locking> {
        Disk.lock_itself(path)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        Disk.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        Disk.remove(path)
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        Disk.sync_folder(path)
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        Disk.make_folder(path)
    }

    fn list(&self, path: &Path) -> io::Result<Vec<String>> {
        Disk.list(path)
    }

    fn lock(&self, path: &Path, text: &[u8], like: &Path) -> io::Result<Locking> {
        Disk.lock(path, text, like)
    }

    fn is_locked(&self, path: &Path) -> io::Result<Option<bool>> {
        Disk.is_locked(path)
    }

    fn now(&self) -> SystemTime {
        let passed = Disk.now().duration_since(self.since).unwrap_or_default();
        self.since + passed * HASTE
    }
}

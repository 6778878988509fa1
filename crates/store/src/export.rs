//! The one way for everything that is no project onto the disk: tables, reports, labels, calendars, preferences.
//!
//! A file is written beside its place, synced and renamed, so that whoever looks finds the old or the new one. It keeps
//! the permissions and the owner of the file it replaces, which stays as `NAME.before`, or, where that is another one,
//! `NAME.before-2` and so on. It is never written through a link, into a pipe or a device, over what it was made from, or over a project or what lies beside one.

use crate::error::StoreError;
use crate::files::{beside, folder_of, replace};
use crate::open::Store;
use std::path::{Path, PathBuf};

/// The most earlier files that are kept beside one.
const MOST_EARLIER: usize = 999;

/// What stands in the file's place already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Earlier {
    /// It stays beside the new one, as `NAME.before`, `NAME.before-2` and so on.
    Keep,
    /// Nobody misses it: the program wrote it for itself.
    Drop,
}

impl Store {
    /// Refuses to write at this path what is made from `inputs`: see the module. Asked again by [`Self::write_file`], it
    /// spares long work whose outcome would be refused.
    pub fn may_write(&self, path: &Path, inputs: &[&Path]) -> Result<(), StoreError> {
        let tell = |error| StoreError::from_io(&error, "looking at the file", path);
        if inputs.iter().any(|input| self.is_same_file(path, input)) {
            return Err(StoreError::IsInput(path.into()));
        }
        if is_projects_name(path) {
            return Err(StoreError::IsProject(path.into()));
        }
        if self.files.is_odd(path).map_err(tell)? {
            // A pipe that nobody reads would hold the program for ever, and a device keeps nothing; what a link leads to
            // isn't ours.
            let leads_to_file = path.is_symlink() && !is_stream(path);
            return Err(if leads_to_file {
                StoreError::IsLink(path.into())
            } else {
                StoreError::NotAFile(path.into())
            });
        }
        let Some(facts) = self.files.facts(path).map_err(tell)? else {
            return Ok(());
        };
        if facts.read_only {
            return Err(StoreError::Denied(path.into()));
        }
        let first = self.files.read(path, 4096).map_err(tell)?;
        if is_projects_text(&first) {
            return Err(StoreError::IsProject(path.into()));
        }
        Ok(())
    }

    /// Writes a file that is made from `inputs` and is no project. What stands there already is kept beside it.
    pub fn write_file(
        &self,
        path: &Path,
        bytes: &[u8],
        inputs: &[&Path],
        earlier: Earlier,
    ) -> Result<(), StoreError> {
        self.stage_file(path, bytes, inputs, earlier)?.put()
    }

    /// The first half of [`Self::write_file`]: the file stands on the disk beside its place, and what can fail has failed,
    /// before anything else is told of it. Dropped, it is gone.
    pub fn stage_file(
        &self,
        path: &Path,
        bytes: &[u8],
        inputs: &[&Path],
        earlier: Earlier,
    ) -> Result<Staged, StoreError> {
        self.may_write(path, inputs)?;
        let tell = |error| StoreError::from_io(&error, "writing the file", path);
        let there = self.files.facts(path).map_err(tell)?;
        let is_kept = there.is_some() && earlier == Earlier::Keep;
        let mut staged = Staged {
            store: self.clone(),
            path: path.into(),
            new: None,
            is_kept,
        };
        if is_kept && self.read(path)? == bytes {
            return Ok(staged);
        }
        let new = beside(path, "-new");
        let written = (|| {
            let mut file = self.files.create(&new, Some(path))?;
            staged.new = Some(new.clone());
            file.write(bytes)?;
            file.sync()
        })();
        written.map_err(tell)?;
        Ok(staged)
    }

    /// Where the file that is replaced is kept, over none that was kept before; `None` where it is kept already.
    fn place_for(&self, path: &Path, before: &[u8]) -> Result<Option<PathBuf>, StoreError> {
        let tell = |error| StoreError::from_io(&error, "keeping the file that was there", path);
        for number in 1..=MOST_EARLIER {
            let earlier = match number {
                1 => beside(path, ".before"),
                number => beside(path, &format!(".before-{number}")),
            };
            if self.files.is_odd(&earlier).map_err(tell)? {
                return Err(StoreError::IsLink(earlier));
            }
            if self.files.facts(&earlier).map_err(tell)?.is_none() {
                return Ok(Some(earlier));
            }
            if self.read(&earlier)? == before {
                return Ok(None);
            }
        }
        let full = std::io::Error::other(format!(
            "{MOST_EARLIER} earlier files are kept beside it; move some elsewhere"
        ));
        Err(tell(full))
    }

    /// Makes the folder of a file that the program writes for itself, and those above it.
    pub fn make_folder_for(&self, path: &Path) -> Result<(), StoreError> {
        let folder = folder_of(path);
        std::fs::create_dir_all(folder)
            .map_err(|error| StoreError::from_io(&error, "making the folder", folder))
    }

    /// Whether two paths lead to one file, be it by links or by two names.
    fn is_same_file(&self, one: &Path, other: &Path) -> bool {
        let resolved = |path: &Path| self.files.resolve(path).ok();
        let identity = |path: &Path| self.files.facts(path).ok().flatten()?.identity;
        let same = |one: Option<_>, other: Option<_>| one.is_some() && one == other;
        one == other
            || resolved(one).is_some_and(|one| Some(one) == resolved(other))
            || same(identity(one), identity(other))
    }
}

/// A file that is on the disk and waits to be put in its place.
pub struct Staged {
    store: Store,
    path: PathBuf,
    /// Where it waits; `None` where the file in its place is the same already.
    new: Option<PathBuf>,
    /// Whether what stands in its place is kept beside it.
    is_kept: bool,
}

impl Staged {
    /// Puts the file in its place; what stood there is kept first, where it is to be.
    pub fn put(mut self) -> Result<(), StoreError> {
        let Some(new) = self.new.clone() else {
            return Ok(());
        };
        let (files, path) = (&*self.store.files, self.path.as_path());
        let tell = |error| StoreError::from_io(&error, "writing the file", path);
        if self.is_kept {
            let before = self.store.read(path)?;
            if let Some(earlier) = self.store.place_for(path, &before)? {
                replace(files, &earlier, &before, Some(path)).map_err(tell)?;
            }
        }
        files.rename(&new, path).map_err(tell)?;
        files.sync_folder(folder_of(path)).map_err(tell)?;
        self.new = None;
        Ok(())
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        if let Some(new) = self.new.take() {
            // Best effort: a leftover is written over by the next one.
            let _ = self.store.files.remove(&new);
        }
    }
}

/// Whether a file of this name is a project or lies beside one: its journal, its lock, a backup.
fn is_projects_name(path: &Path) -> bool {
    let ending = format!(".{}", crate::EXTENSION);
    path.file_name().is_some_and(|name| {
        let name = name.to_string_lossy();
        name.find(&ending).is_some_and(|at| {
            let rest = &name[at + ending.len()..];
            rest.is_empty() || rest.starts_with(['-', '.'])
        })
    })
}

/// Whether a file that begins so is a project or a journal, whatever its name.
fn is_projects_text(first: &[u8]) -> bool {
    let named = |name: &str| {
        first
            .windows(name.len())
            .any(|window| window == name.as_bytes())
    };
    named(crate::document::FORMAT_NAME) || named(crate::journal::JOURNAL_NAME)
}

/// Whether a device or a pipe stands here, or behind the link that stands here.
fn is_stream(path: &Path) -> bool {
    std::fs::metadata(path).is_ok_and(|there| !there.is_file() && !there.is_dir())
}

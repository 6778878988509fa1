//! The one way for everything that is no project onto the disk: tables, reports, labels, calendars, preferences.
//!
//! A file is written beside its place, synced and renamed, so that whoever looks finds the old or the new one. It keeps
//! the permissions and the owner of the file it replaces, which stays as `NAME.before`. It is never written through a
//! link, into a pipe or a device, over what it was made from, or over a project or what lies beside one.

use crate::error::StoreError;
use crate::files::{beside, folder_of, replace};
use crate::open::Store;
use std::path::Path;

/// What stands in the file's place already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Earlier {
    /// It stays beside the new one, as `NAME.before`.
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
        self.may_write(path, inputs)?;
        let tell = |error| StoreError::from_io(&error, "writing the file", path);
        let there = self.files.facts(path).map_err(tell)?;
        if there.is_some() && earlier == Earlier::Keep {
            let before = self.read(path)?;
            if before == bytes {
                return Ok(());
            }
            let earlier = beside(path, ".before");
            if self.files.is_odd(&earlier).map_err(tell)? {
                return Err(StoreError::IsLink(earlier));
            }
            replace(&*self.files, &earlier, &before, Some(path)).map_err(tell)?;
        }
        replace(&*self.files, path, bytes, Some(path)).map_err(tell)
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

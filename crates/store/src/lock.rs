//! One writer at a time.
//!
//! The truth is a lock of the operating system on the file beside the project: it is freed when its holder
//! ends, however it ends. What stands in the file is for people: who has the project open, where, since when.
//! Where a folder knows no locks, the text decides: a holder on this machine that no longer runs is gone.

use crate::error::StoreError;
use crate::files::{FileSystem, Guard, Locking};
use crate::open::Store;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Who has a project open.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Holder {
    /// The person.
    pub who: String,
    /// The machine.
    pub machine: String,
    /// The number of the running program there.
    pub process: u32,
    /// Since when.
    pub since: DateTime<Utc>,
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Without a name of their own people sign by their machine's.
        let who = if self.who.is_empty() || self.who == self.machine {
            "Somebody"
        } else {
            &self.who
        };
        write!(
            f,
            "{who} on {} (since {})",
            self.machine,
            self.since.format("%Y-%m-%d %H:%M UTC")
        )
    }
}

impl Holder {
    fn here(who: &str, now: DateTime<Utc>) -> Self {
        Self {
            who: who.to_owned(),
            machine: machine_name(),
            process: std::process::id(),
            since: now,
        }
    }

    /// Whether the program of this holder is known to have ended.
    fn is_gone(&self, here: &Self) -> bool {
        let processes = Path::new("/proc");
        self.machine == here.machine
            && self.process != here.process
            && processes.join("self").exists()
            && !processes.join(self.process.to_string()).exists()
    }
}

/// The name of this machine.
pub fn machine_name() -> String {
    gethostname::gethostname().to_string_lossy().into_owned()
}

impl Store {
    /// Whether somebody has the project open for writing, as far as can be told without asking for the lock.
    pub(crate) fn is_held(&self, project: &Path) -> bool {
        let path = lock_path(project);
        match self.files.is_locked(&path) {
            Ok(Some(locked)) => locked,
            // Where a folder knows no locks, the text decides. A disk that fails lets go of nothing.
            Ok(None) => read_holder(&*self.files, project).is_some_and(|holder| {
                let here = Holder::here("", self.files.now().into());
                !holder.is_gone(&here)
            }),
            Err(_) => true,
        }
    }
}

/// The lock of a project, ours until dropped.
#[derive(Debug)]
pub(crate) struct Lock {
    _guard: Box<dyn Guard>,
    /// Who left the lock behind without freeing it, if somebody did.
    pub(crate) left_by: Option<Holder>,
}

/// A lock that is only text, for folders that know no other.
#[derive(Debug)]
struct TextLock {
    files: Arc<dyn FileSystem>,
    path: PathBuf,
}

impl Guard for TextLock {}

impl Drop for TextLock {
    fn drop(&mut self) {
        let _ = self.files.remove(&self.path);
    }
}

/// What came of asking for the lock of a project.
pub(crate) enum LockAnswer {
    Ours(Lock),
    Held(Option<Holder>),
}

fn lock_path(project: &Path) -> PathBuf {
    crate::files::beside(project, "-lock")
}

/// Who has the project open, as its lock file says; nothing if there is none.
pub(crate) fn read_holder(files: &dyn FileSystem, project: &Path) -> Option<Holder> {
    let text = files.read(&lock_path(project), 10_000).ok()?;
    serde_json::from_slice(&text).ok()
}

/// Asks for the lock of a project.
pub(crate) fn ask(
    files: &Arc<dyn FileSystem>,
    project: &Path,
    who: &str,
) -> Result<LockAnswer, StoreError> {
    let path = lock_path(project);
    let before = read_holder(&**files, project);
    let here = Holder::here(who, files.now().into());
    let text = serde_json::to_vec(&here).unwrap_or_default();
    let asked = files
        .lock(&path, &text, project)
        .map_err(|error| StoreError::from_io(&error, "locking the project", &path))?;
    Ok(match asked {
        Locking::Ours(guard) => LockAnswer::Ours(Lock {
            _guard: guard,
            left_by: before,
        }),
        Locking::Unknown if before.as_ref().is_none_or(|holder| holder.is_gone(&here)) => {
            crate::files::replace(&**files, &path, &text, Some(project))
                .map_err(|error| StoreError::from_io(&error, "locking the project", &path))?;
            LockAnswer::Ours(Lock {
                _guard: Box::new(TextLock {
                    files: Arc::clone(files),
                    path,
                }),
                left_by: before,
            })
        }
        Locking::Held | Locking::Unknown => {
            LockAnswer::Held(read_holder(&**files, project).or(before))
        }
    })
}

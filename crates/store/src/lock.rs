//! One writer at a time.
//!
//! The truth is a lock of the operating system on the file beside the project: it is freed when its holder
//! ends, however it ends. The project file itself is locked too, for windows that come to it by another name (a hard link).
//! Locks need not reach from one machine to another, and a sync program carries the file alone: one that another machine
//! left is never taken away but by a person's word ([`Store::take_over`]), and is kept then. What stands in the file is for people: who has the project open, where, since when.
//! Where a folder knows no locks, the text decides: a holder on this machine that no longer runs is gone.

use crate::error::StoreError;
use crate::files::{FileSystem, Guard, Locking};
use crate::journal::Sum;
use crate::open::Store;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

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

    /// Whether it is another machine's: whether a program still runs there can't be seen from here.
    fn is_elsewhere(&self, here: &Self) -> bool {
        !self.machine.is_empty() && self.machine != here.machine
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
    /// Who has the project open on another machine, or left it there without closing it, as the lock file says.
    pub(crate) fn held_elsewhere(&self, project: &Path) -> Option<Holder> {
        let holder = read_holder(&*self.files, project)?;
        let here = Holder::here("", self.files.now().into());
        holder.is_elsewhere(&here).then_some(holder)
    }

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
    /// The lock on the project file itself, which a window that came by another name of it meets.
    own: Mutex<Option<Box<dyn Guard>>>,
    /// Who left the lock behind without freeing it, if somebody did.
    pub(crate) left_by: Option<Holder>,
}

impl Lock {
    /// Locks the project file itself too, as it is now: each save puts another in its place. False if a window that knows
    /// it by another name has it open.
    pub(crate) fn follow(&self, files: &dyn FileSystem, project: &Path) -> bool {
        let mut own = self.own.lock().unwrap_or_else(PoisonError::into_inner);
        *own = None;
        match files.lock_itself(project) {
            Ok(Locking::Ours(guard)) => *own = Some(guard),
            Ok(Locking::Held) => return false,
            // Where the file can't be locked, the lock beside it stands alone.
            Ok(Locking::Unknown) | Err(_) => {}
        }
        true
    }
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
    /// Another machine's lock file lies there, and locks need not reach from one machine to another.
    Elsewhere(Holder),
}

/// What to do about the lock file of another machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum OfOthers {
    /// Leave it.
    Keep,
    /// Put it aside: a person has seen that nobody works there.
    TakeOver,
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
    of_others: OfOthers,
) -> Result<LockAnswer, StoreError> {
    let path = lock_path(project);
    // Nobody locks through a link, or into a pipe: what lies there was laid there.
    if files.is_odd(&path).is_ok_and(|odd| odd) {
        return Err(StoreError::OddLock(path));
    }
    let before = read_holder(&**files, project);
    let here = Holder::here(who, files.now().into());
    let text = serde_json::to_vec(&here).unwrap_or_default();
    if let Some(holder) = before.clone().filter(|holder| holder.is_elsewhere(&here)) {
        let tell = |error| StoreError::from_io(&error, "locking the project", &path);
        if of_others == OfOthers::Keep {
            return Ok(match files.is_locked(&path).map_err(tell)? {
                Some(true) => LockAnswer::Held(Some(holder)),
                _ => LockAnswer::Elsewhere(holder),
            });
        }
        let theirs = files.read(&path, 10_000).map_err(tell)?;
        let aside = crate::files::beside(&path, &format!(".other-{}", Sum::of(&theirs)));
        crate::files::replace(&**files, &aside, &theirs, Some(project)).map_err(tell)?;
    }
    let asked = files
        .lock(&path, &text, project)
        .map_err(|error| StoreError::from_io(&error, "locking the project", &path))?;
    Ok(match asked {
        Locking::Ours(guard) => LockAnswer::Ours(Lock {
            _guard: guard,
            own: Mutex::default(),
            left_by: before,
        }),
        Locking::Unknown
            if before.as_ref().is_none_or(|holder| {
                holder.is_gone(&here)
                    || (of_others == OfOthers::TakeOver && holder.is_elsewhere(&here))
            }) =>
        {
            crate::files::replace(&**files, &path, &text, Some(project))
                .map_err(|error| StoreError::from_io(&error, "locking the project", &path))?;
            LockAnswer::Ours(Lock {
                _guard: Box::new(TextLock {
                    files: Arc::clone(files),
                    path,
                }),
                own: Mutex::default(),
                left_by: before,
            })
        }
        Locking::Held | Locking::Unknown => {
            LockAnswer::Held(read_holder(&**files, project).or(before))
        }
    })
}

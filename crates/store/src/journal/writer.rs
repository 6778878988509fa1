//! Changes go to the disk in the background, many at a time.

use super::{Mark, header, line};
use crate::error::StoreError;
use crate::files::FileSystem;
use chrono::{DateTime, Utc};
use domain::{Edit, Project};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Changes made within this time of the last write wait for the next: typing costs few waits for the disk.
const BATCH: Duration = Duration::from_millis(100);
/// After a failure the writer tries again so often by itself.
const RETRY: Duration = Duration::from_secs(1);

/// A journal open for writing.
#[derive(Debug)]
pub(crate) struct Writer {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

#[derive(Debug)]
struct Shared {
    state: Mutex<State>,
    /// The writer has something to do.
    wake: Condvar,
    /// The writer has tried.
    tried: Condvar,
}

#[derive(Debug)]
struct State {
    pending: Vec<u8>,
    last: Mark,
    acknowledged: Mark,
    attempts: u64,
    trouble: Option<StoreError>,
    hurry: bool,
    closing: bool,
}

/// How the journal stands on the disk when writing begins.
#[derive(Debug)]
pub(crate) enum Begin {
    /// It is there, this long.
    At(u64),
    /// It isn't there yet: the first change makes it, with this project to start from.
    New(Box<Project>),
}

impl Writer {
    /// Opens the journal at `path` of the file `project`, which stands at `mark`. Nothing is written before the
    /// first change.
    pub(crate) fn start(
        files: Arc<dyn FileSystem>,
        project: &Path,
        path: PathBuf,
        mark: Mark,
        begin: Begin,
    ) -> io::Result<Self> {
        let shared = Arc::new(Shared {
            state: Mutex::new(State {
                pending: Vec::new(),
                last: mark,
                acknowledged: mark,
                attempts: 0,
                trouble: None,
                hurry: false,
                closing: false,
            }),
            wake: Condvar::new(),
            tried: Condvar::new(),
        });
        let mut tape = Tape {
            files,
            project: project.into(),
            path,
            begin,
            start: mark,
            unsure: false,
        };
        let theirs = Arc::clone(&shared);
        let thread = std::thread::Builder::new()
            .name("journal".into())
            .spawn(move || theirs.run(&mut tape))?;
        Ok(Self {
            shared,
            thread: Some(thread),
        })
    }

    /// Hands over a change; returns its number at once.
    pub(crate) fn append(&self, at: DateTime<Utc>, by: &str, edit: &Edit) -> u64 {
        let mut state = self.shared.state();
        let (text, mark) = line(state.last, at, by, edit);
        state.pending.extend_from_slice(&text);
        state.last = mark;
        self.shared.wake.notify_all();
        mark.sequence
    }

    /// The mark after the last change handed over.
    pub(crate) fn last(&self) -> Mark {
        self.shared.state().last
    }

    /// The mark after the last change that is on the disk.
    pub(crate) fn acknowledged(&self) -> Mark {
        self.shared.state().acknowledged
    }

    /// What keeps changes from the disk, if something does.
    pub(crate) fn trouble(&self) -> Option<StoreError> {
        self.shared.state().trouble.clone()
    }

    /// Waits until every change handed over is on the disk, or an attempt to get it there has failed.
    pub(crate) fn flush(&self) -> Result<(), StoreError> {
        let mut state = self.shared.state();
        let (target, before) = (state.last.sequence, state.attempts);
        while state.acknowledged.sequence < target {
            if state.attempts > before
                && let Some(trouble) = &state.trouble
            {
                return Err(trouble.clone());
            }
            state.hurry = true;
            self.shared.wake.notify_all();
            state = wait(&self.shared.tried, state);
        }
        Ok(())
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        self.shared.state().closing = true;
        self.shared.wake.notify_all();
        if let Some(thread) = self.thread.take() {
            // A panic there has been told already.
            let _ = thread.join();
        }
    }
}

fn wait<'a>(on: &Condvar, state: MutexGuard<'a, State>) -> MutexGuard<'a, State> {
    on.wait(state).unwrap_or_else(PoisonError::into_inner)
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn run(&self, tape: &mut Tape) {
        let mut not_before = Instant::now();
        let mut state = self.state();
        loop {
            while state.pending.is_empty() && !state.closing {
                state = wait(&self.wake, state);
            }
            if state.pending.is_empty() {
                return;
            }
            while !state.hurry && !state.closing {
                let left = not_before.saturating_duration_since(Instant::now());
                if left.is_zero() {
                    break;
                }
                state = match self.wake.wait_timeout(state, left) {
                    Ok((state, _)) => state,
                    Err(poisoned) => poisoned.into_inner().0,
                };
            }
            state.hurry = false;
            let batch = std::mem::take(&mut state.pending);
            let (reached, closing) = (state.last, state.closing);
            drop(state);
            let written = tape.write(&batch);
            state = self.state();
            state.attempts += 1;
            match written {
                Ok(()) => {
                    state.acknowledged = reached;
                    state.trouble = None;
                    not_before = Instant::now() + BATCH;
                }
                Err(error) => {
                    // Nothing is lost yet: the batch goes before what came meanwhile, and is tried again.
                    let newer = std::mem::replace(&mut state.pending, batch);
                    state.pending.extend_from_slice(&newer);
                    state.trouble = Some(error);
                    not_before = Instant::now() + RETRY;
                }
            }
            self.tried.notify_all();
            if closing && state.trouble.is_some() {
                return;
            }
        }
    }
}

/// The file end of the writer.
#[derive(Debug)]
struct Tape {
    files: Arc<dyn FileSystem>,
    /// Who may not read the project may not read its journal.
    project: PathBuf,
    path: PathBuf,
    begin: Begin,
    start: Mark,
    /// Whether our last attempt may have left bytes after the good end.
    unsure: bool,
}

impl Tape {
    fn write(&mut self, batch: &[u8]) -> Result<(), StoreError> {
        let tell =
            |error: io::Error| StoreError::from_io(&error, "writing the journal", &self.path);
        let facts = self.files.facts(&self.path).map_err(tell)?;
        let length = match &self.begin {
            Begin::At(length) => *length,
            Begin::New(base) => {
                if !self.unsure && facts.is_some() {
                    return Err(StoreError::ChangedElsewhere(self.path.clone()));
                }
                self.unsure = true;
                let mut text = header(self.start, base);
                text.extend_from_slice(batch);
                crate::files::replace(&*self.files, &self.path, &text, Some(&self.project))
                    .map_err(tell)?;
                self.unsure = false;
                self.begin = Begin::At(text.len() as u64);
                return Ok(());
            }
        };
        if !self.unsure && facts.is_none_or(|facts| facts.length != length) {
            return Err(StoreError::ChangedElsewhere(self.path.clone()));
        }
        // From here on a failure may leave half a batch. The next attempt cuts it off and writes it whole
        // again: what a failed sync has dropped is never taken for written.
        self.unsure = true;
        let written = (|| {
            let mut file = self.files.continue_at(&self.path, length)?;
            file.write(batch)?;
            file.sync()
        })();
        written.map_err(tell)?;
        self.unsure = false;
        self.begin = Begin::At(length + batch.len() as u64);
        Ok(())
    }
}

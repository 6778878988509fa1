//! Changes go to the disk in the background, many at a time.

use super::Mark;
use super::line;
use super::memory::{Handed, Memory};
use super::tape::{Begin, Tape};
use crate::error::StoreError;
use crate::files::FileSystem;
use chrono::{DateTime, Utc};
use domain::{AnyId, Edit, Project};
use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Changes made within this time of the last write wait for the next, so that fast typing doesn't
/// sync the disk at every key.
const BATCH: Duration = Duration::from_millis(100);
/// How long the writer waits after a failure before it tries again by itself.
const RETRY: Duration = Duration::from_secs(1);

/// A change that isn't on the disk after this long is marked where it was made.
const IN_TIME: Duration = Duration::from_secs(1);

/// A journal open for writing.
#[derive(Debug)]
pub(crate) struct Writer {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

#[derive(Debug)]
struct Shared {
    tape: Mutex<Tape>,
    state: Mutex<State>,
    /// Signalled when the writer has something to do.
    wake: Condvar,
    /// Signalled when the writer has tried.
    tried: Condvar,
}

#[derive(Debug)]
struct State {
    pending: Vec<u8>,
    last: Mark,
    acknowledged: Mark,
    memory: Memory,
    trouble: Option<StoreError>,
    /// A look at the journal is asked for.
    look: bool,
    /// How many looks are finished.
    looked: u64,
    /// The journal isn't what was written, and must be written anew.
    lost: bool,
    closing: bool,
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
        memory: Memory,
    ) -> io::Result<Self> {
        let tape = Tape::new(files, project, path, begin);
        let shared = Arc::new(Shared {
            tape: Mutex::new(tape),
            state: Mutex::new(State {
                pending: Vec::new(),
                last: mark,
                acknowledged: mark,
                memory,
                trouble: None,
                look: false,
                looked: 0,
                lost: false,
                closing: false,
            }),
            wake: Condvar::new(),
            tried: Condvar::new(),
        });
        let theirs = Arc::clone(&shared);
        let thread = std::thread::Builder::new()
            .name("journal".into())
            .spawn(move || theirs.run())?;
        Ok(Self {
            shared,
            thread: Some(thread),
        })
    }

    /// Hands over a change; returns its number at once. An error if it can't be written as text.
    pub(crate) fn append(
        &self,
        at: DateTime<Utc>,
        by: &str,
        edit: &Edit,
    ) -> Result<u64, serde_json::Error> {
        let mut state = self.shared.state();
        let (text, mark) = line(state.last, at, by, edit)?;
        state.pending.extend_from_slice(&text);
        state.memory.since.push_back(Handed {
            text,
            touches: edit.touches(),
            at: Instant::now(),
        });
        state.last = mark;
        self.shared.wake.notify_all();
        Ok(mark.sequence)
    }

    /// The project file contains every change up to `mark`; `project` is what it holds.
    pub(crate) fn is_saved(&self, mark: Mark, project: &Project) {
        self.shared.state().memory.is_saved(mark, project);
    }

    /// The records touched by changes that aren't on the disk after [`IN_TIME`], or because writing failed.
    pub(crate) fn late(&self) -> BTreeSet<AnyId> {
        let state = self.shared.state();
        let kept = state.acknowledged.sequence;
        if kept >= state.last.sequence {
            return BTreeSet::new();
        }
        let kept = kept.saturating_sub(state.memory.mark.sequence) as usize;
        let late = |handed: &&Handed| state.trouble.is_some() || handed.at.elapsed() > IN_TIME;
        let waiting = state.memory.since.iter().skip(kept).filter(late);
        waiting
            .flat_map(|handed| handed.touches.iter().copied())
            .collect()
    }

    /// Looks whether the journal is still what was written, and has it written anew if it isn't. Blocks until
    /// the writer has looked.
    pub(crate) fn look(&self) {
        let mut state = self.shared.state();
        let before = state.looked;
        state.look = true;
        self.shared.wake.notify_all();
        while state.looked == before && !state.closing {
            state = wait(&self.shared.tried, state);
        }
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

    /// Brings every change handed over onto the disk; an error if that failed. Runs on the calling thread.
    pub(crate) fn flush(&self) -> Result<(), StoreError> {
        let target = self.shared.state().last.sequence;
        loop {
            let mut tape = self.shared.tape();
            let mut state = self.shared.state();
            if state.acknowledged.sequence >= target {
                return Ok(());
            }
            state = self.shared.attempt(state, &mut tape);
            self.shared.tried.notify_all();
            if let Some(trouble) = &state.trouble {
                return Err(trouble.clone());
            }
        }
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

    /// The end of the file. Lock order: `tape` before `state`, or the two threads deadlock.
    fn tape(&self) -> MutexGuard<'_, Tape> {
        self.tape.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn run(&self) {
        let mut not_before = Instant::now();
        let mut state = self.state();
        loop {
            while !(state.closing || state.look || state.lost) && state.pending.is_empty() {
                state = wait(&self.wake, state);
            }
            let looks = std::mem::take(&mut state.look);
            if looks && !state.lost {
                drop(state);
                let intact = self.tape().is_intact();
                state = self.state();
                if !intact {
                    state.lose();
                }
            }
            if state.pending.is_empty() && !state.lost {
                if state.closing {
                    return;
                }
                state.looked += u64::from(looks);
                self.tried.notify_all();
                continue;
            }
            while !(state.closing || looks) {
                let left = not_before.saturating_duration_since(Instant::now());
                if left.is_zero() {
                    break;
                }
                state = match self.wake.wait_timeout(state, left) {
                    Ok((state, _)) => state,
                    Err(poisoned) => poisoned.into_inner().0,
                };
            }
            drop(state);
            let mut tape = self.tape();
            state = self.state();
            // A caller of `flush` may have written it meanwhile.
            if state.pending.is_empty() && !state.lost {
                state.looked += u64::from(looks);
                self.tried.notify_all();
                continue;
            }
            let closing = state.closing;
            state = self.attempt(state, &mut tape);
            drop(tape);
            state.looked += u64::from(looks);
            let pause = if state.trouble.is_none() {
                BATCH
            } else {
                RETRY
            };
            not_before = Instant::now() + pause;
            self.tried.notify_all();
            if closing && state.trouble.is_some() {
                return;
            }
        }
    }

    /// Brings what is pending onto the disk, or tells what keeps it from there.
    fn attempt<'a>(
        &'a self,
        mut state: MutexGuard<'a, State>,
        tape: &mut Tape,
    ) -> MutexGuard<'a, State> {
        let mut done = Ok(());
        if !state.lost {
            (state, done) = self.append_pending(state, tape);
        }
        if state.lost {
            (state, done) = self.write_anew(state, tape);
        }
        state.trouble = done.err();
        state
    }

    /// Writes what is pending after what is there. If the file isn't what was written last, marks it
    /// `lost`.
    fn append_pending<'a>(
        &'a self,
        mut state: MutexGuard<'a, State>,
        tape: &mut Tape,
    ) -> (MutexGuard<'a, State>, Result<(), StoreError>) {
        let batch = std::mem::take(&mut state.pending);
        let reached = state.last;
        drop(state);
        let written = tape.append(&batch);
        state = self.state();
        let done = match written {
            Ok(true) => {
                state.acknowledged = reached;
                Ok(())
            }
            Ok(false) => {
                state.lose();
                Ok(())
            }
            Err(error) => {
                // Nothing is lost yet: the batch goes before what came meanwhile, and is tried again.
                let newer = std::mem::replace(&mut state.pending, batch);
                state.pending.extend_from_slice(&newer);
                Err(error)
            }
        };
        (state, done)
    }

    /// Writes all that is remembered in place of what is there.
    fn write_anew<'a>(
        &'a self,
        mut state: MutexGuard<'a, State>,
        tape: &mut Tape,
    ) -> (MutexGuard<'a, State>, Result<(), StoreError>) {
        // What is pending is remembered too.
        state.pending.clear();
        let reached = state.last;
        // The same error comes from `write_anew` below, and is returned from there.
        let _ = state.memory.begin_history();
        let memory = state.memory.clone();
        drop(state);
        let written = tape.write_anew(&memory);
        state = self.state();
        if written.is_ok() {
            state.lost = false;
            state.acknowledged = reached;
        }
        (state, written)
    }
}

impl State {
    /// The journal isn't what was written: nothing after the project file is kept until it is written anew.
    fn lose(&mut self) {
        self.lost = true;
        self.acknowledged = self.memory.mark;
    }
}

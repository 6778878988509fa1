//! Changes go to the disk in the background, many at a time.

use super::{Continuation, Mark, continuation, header, line, scan};
use crate::error::StoreError;
use crate::files::{FileSystem, OpenFile, replace};
use crate::open::MOST_BYTES;
use crate::quarantine::QuarantinedPart;
use chrono::{DateTime, Utc};
use domain::{Edit, Project};
use std::collections::VecDeque;
use std::fmt;
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
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is asked of the thread by another"
)]
struct State {
    pending: Vec<u8>,
    last: Mark,
    acknowledged: Mark,
    memory: Memory,
    attempts: u64,
    trouble: Option<StoreError>,
    hurry: bool,
    /// The journal is to be looked at, and how often it was.
    look: bool,
    looked: u64,
    /// The journal isn't what was written, and must be written anew.
    lost: bool,
    closing: bool,
}

/// What the journal is written anew from when another program took it away: the project as its file has it, and every
/// change since.
#[derive(Debug, Clone)]
pub(crate) struct Memory {
    pub(crate) mark: Mark,
    pub(crate) project: Project,
    /// The lines of the changes after the mark.
    pub(crate) since: VecDeque<Vec<u8>>,
}

impl Memory {
    /// The whole text of a journal that has it all.
    fn text(&self) -> Result<Vec<u8>, serde_json::Error> {
        let mut text = header(self.mark, &self.project)?;
        for line in &self.since {
            text.extend_from_slice(line);
        }
        Ok(text)
    }
}

impl Memory {
    /// What is remembered, written after what is there as far as that is of one story with it; and whether nothing of
    /// what is there is left out.
    fn after(&self, there: &[u8]) -> (Option<Vec<u8>>, bool) {
        let Some(scan) = scan(there) else {
            return (None, false);
        };
        let Continuation::Follows { lines, cut, .. } = continuation(&scan, self.mark) else {
            return (None, false);
        };
        let known = scan.texts(&lines);
        let same = known.iter().zip(&self.since).take_while(|(a, b)| a == b);
        let same = same.count();
        let Some(length) = scan.length_to(self.mark.sequence + same as u64) else {
            return (None, false);
        };
        let mut text = there[..length].to_vec();
        if !text.ends_with(b"\n") {
            text.push(b'\n');
        }
        for line in self.since.iter().skip(same) {
            text.extend_from_slice(line);
        }
        (Some(text), cut.is_none() && same == known.len())
    }
}

/// How the journal stands on the disk when writing begins.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Begin {
    /// It is there, this long, the last line ended or not.
    At {
        /// Its length in bytes.
        length: u64,
        /// Whether the next line needs an end of the last one before it.
        open_ended: bool,
    },
    /// It isn't there yet: the first change makes it, with the project as it is now to start from.
    New,
}

impl Begin {
    /// Going on after these bytes.
    pub(crate) fn after(bytes: &[u8]) -> Self {
        Self::At {
            length: bytes.len() as u64,
            open_ended: bytes.last().is_some_and(|last| *last != b'\n'),
        }
    }
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
        let identity = match begin {
            Begin::At { .. } => files.facts(&path)?.and_then(|facts| facts.identity),
            Begin::New => None,
        };
        let shared = Arc::new(Shared {
            state: Mutex::new(State {
                pending: Vec::new(),
                last: mark,
                acknowledged: mark,
                memory,
                attempts: 0,
                trouble: None,
                hurry: false,
                look: false,
                looked: 0,
                lost: false,
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
            identity,
            file: None,
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
        state.memory.since.push_back(text);
        state.last = mark;
        self.shared.wake.notify_all();
        Ok(mark.sequence)
    }

    /// The project file has it all up to this mark, and `project` is what it has.
    pub(crate) fn is_saved(&self, mark: Mark, project: &Project) {
        let mut state = self.shared.state();
        let passed = mark.sequence.saturating_sub(state.memory.mark.sequence) as usize;
        let passed = passed.min(state.memory.since.len());
        state.memory.since.drain(..passed);
        state.memory.mark = mark;
        state.memory.project = project.clone();
    }

    /// Looks whether the journal is still what was written, and has it written anew if it isn't. Waits for that.
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
            while !(state.closing || state.look || state.lost) && state.pending.is_empty() {
                state = wait(&self.wake, state);
            }
            let looks = std::mem::take(&mut state.look);
            if looks && !state.lost {
                drop(state);
                let intact = tape.is_intact();
                state = self.state();
                if !intact {
                    state.lose();
                    state.hurry = true;
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
            while !(state.hurry || state.closing || looks) {
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
            let closing = state.closing;
            let mut done = Ok(());
            if !state.lost {
                (state, done) = self.append_pending(state, tape);
            }
            if state.lost {
                (state, done) = self.write_anew(state, tape);
            }
            state.attempts += 1;
            state.looked += u64::from(looks);
            not_before = Instant::now() + if done.is_ok() { BATCH } else { RETRY };
            state.trouble = done.err();
            self.tried.notify_all();
            if closing && state.trouble.is_some() {
                return;
            }
        }
    }

    /// Writes what is pending after what is there. If that isn't what was written, it is to be written anew.
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

/// The file end of the writer.
#[derive(Debug)]
struct Tape {
    files: Arc<dyn FileSystem>,
    /// Who may not read the project may not read its journal.
    project: PathBuf,
    path: PathBuf,
    begin: Begin,
    /// Which file it is that we wrote.
    identity: Option<(u64, u64)>,
    file: Option<Box<dyn OpenFile>>,
    /// Whether our last attempt may have left bytes after the good end.
    unsure: bool,
}

impl fmt::Debug for dyn OpenFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an open file")
    }
}

impl Tape {
    fn tell(&self) -> impl Fn(io::Error) -> StoreError + use<> {
        let path = self.path.clone();
        move |error| StoreError::from_io(&error, "writing the journal", &path)
    }

    /// Whether the journal is as it was written, as far as a look from outside tells. A disk that can't be asked is told
    /// of when it is written to.
    fn is_intact(&self) -> bool {
        let Ok(facts) = self.files.facts(&self.path) else {
            return true;
        };
        match self.begin {
            Begin::New => true,
            Begin::At { length, .. } => facts.is_some_and(|facts| {
                let same = facts.length == length || (self.unsure && facts.length > length);
                same && facts.identity == self.identity
            }),
        }
    }

    /// Writes a batch after what is there. False if that isn't what was written, or nothing was yet.
    fn append(&mut self, batch: &[u8]) -> Result<bool, StoreError> {
        let Begin::At { length, open_ended } = self.begin else {
            return Ok(false);
        };
        let tell = self.tell();
        let facts = self.files.facts(&self.path).map_err(&tell)?;
        let same = facts.is_some_and(|facts| {
            let unsure = self.unsure && facts.length > length;
            (facts.length == length || unsure) && facts.identity == self.identity
        });
        if !same {
            self.file = None;
            return Ok(false);
        }
        let file = self.file.take().filter(|_| !self.unsure);
        // From here on a failure may leave half a batch. The next attempt cuts it off and writes it whole
        // again: what a failed sync has dropped is never taken for written.
        self.unsure = true;
        let joined = open_ended.then(|| [b"\n", batch].concat());
        let batch = joined.as_deref().unwrap_or(batch);
        let written = (|| {
            let mut file = match file {
                Some(file) => file,
                None => self.files.continue_at(&self.path, length)?,
            };
            file.write(batch)?;
            file.sync()?;
            Ok(file)
        })();
        self.file = Some(written.map_err(&tell)?);
        // Another program may have put its own in its place meanwhile.
        let facts = self.files.facts(&self.path).map_err(&tell)?;
        if facts.is_none_or(|facts| facts.identity != self.identity) {
            self.file = None;
            return Ok(false);
        }
        self.unsure = false;
        self.begin = Begin::At {
            length: length + batch.len() as u64,
            open_ended: false,
        };
        Ok(true)
    }

    /// Writes all that is remembered in place of what another program left, which is kept beside it.
    fn write_anew(&mut self, memory: &Memory) -> Result<(), StoreError> {
        let tell = self.tell();
        self.file = None;
        let files = &*self.files;
        let mut text = memory
            .text()
            .map_err(|error| StoreError::unwritable(&self.path, error.to_string()))?;
        if files.facts(&self.path).map_err(&tell)?.is_some() {
            let there = files.read(&self.path, MOST_BYTES).map_err(&tell)?;
            let (joined, whole) = memory.after(&there);
            text = joined.unwrap_or(text);
            if !(whole || text.starts_with(&there)) {
                let aside = QuarantinedPart::Other.path(&self.path, &there);
                replace(files, &aside, &there, Some(&self.project)).map_err(&tell)?;
            }
        }
        replace(files, &self.path, &text, Some(&self.project)).map_err(&tell)?;
        let facts = files.facts(&self.path).map_err(&tell)?;
        self.identity = facts.and_then(|facts| facts.identity);
        self.unsure = false;
        self.begin = Begin::after(&text);
        Ok(())
    }
}

//! Changes go to the disk in the background, many at a time.

use super::{Continuation, Mark, continuation, header, line, scan};
use crate::error::StoreError;
use crate::files::{Facts, FileSystem, OpenFile, replace, replace_keeping};
use crate::open::MOST_BYTES;
use crate::quarantine::QuarantinedPart;
use chrono::{DateTime, Utc};
use domain::{AnyId, Edit, Project};
use std::collections::{BTreeSet, VecDeque};
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

/// A change that takes longer to the disk is told of where it was made.
const IN_TIME: Duration = Duration::from_secs(1);
/// The most bytes of history that are remembered, so that a journal that is taken away is written anew with them.
const MOST_HISTORY: usize = 64 << 20;

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
    memory: Memory,
    trouble: Option<StoreError>,
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
    /// The changes after the mark.
    pub(crate) since: VecDeque<Handed>,
    /// The journal up to the mark: the history. Nothing if there is none yet, or more than is remembered.
    pub(crate) history: Option<Arc<Vec<u8>>>,
}

/// A change that was handed over.
#[derive(Debug, Clone)]
pub(crate) struct Handed {
    /// Its line.
    pub(crate) text: Vec<u8>,
    /// The records it touches.
    pub(crate) touches: Vec<AnyId>,
    /// When it was handed over.
    pub(crate) at: Instant,
}

impl Memory {
    /// A history to be remembered: whole lines, not more than is kept in memory.
    pub(crate) fn history(text: &[u8]) -> Option<Arc<Vec<u8>>> {
        if text.is_empty() || text.len() > MOST_HISTORY {
            return None;
        }
        let mut text = text.to_vec();
        if !text.ends_with(b"\n") {
            text.push(b'\n');
        }
        Some(Arc::new(text))
    }

    /// Has a history, if it is only the beginning of one.
    fn begin_history(&mut self) -> Result<(), serde_json::Error> {
        if self.history.is_none() {
            let header = header(self.mark, &self.project)?;
            self.history = Some(Arc::new(header));
        }
        Ok(())
    }

    /// The project file has it all up to this mark.
    fn is_saved(&mut self, mark: Mark, project: &Project) {
        let passed = mark.sequence.saturating_sub(self.mark.sequence) as usize;
        let passed = passed.min(self.since.len());
        for passed in self.since.drain(..passed) {
            if let Some(history) = &mut self.history {
                Arc::make_mut(history).extend_from_slice(&passed.text);
            }
        }
        if self
            .history
            .as_ref()
            .is_some_and(|text| text.len() > MOST_HISTORY)
        {
            self.history = None;
        }
        self.mark = mark;
        self.project = project.clone();
    }

    /// The whole text of a journal that has it all.
    fn text(&self) -> Result<Vec<u8>, serde_json::Error> {
        let mut text = match &self.history {
            Some(history) => history.to_vec(),
            None => header(self.mark, &self.project)?,
        };
        for handed in &self.since {
            text.extend_from_slice(&handed.text);
        }
        Ok(text)
    }

    /// What is remembered, written after what is there as far as that is of one story with it; and whether nothing of
    /// what is there is left out.
    fn after(&self, there: &[u8]) -> (Option<Vec<u8>>, bool) {
        let Some(scan) = scan(there) else {
            return (None, false);
        };
        let Continuation::Follows { lines, cut, .. } = continuation(&scan, self.mark) else {
            return (None, false);
        };
        let known = lines.iter().map(|line| scan.text(line));
        let same = known.zip(&self.since).take_while(|(a, b)| *a == b.text);
        let same = same.count();
        let Some(length) = scan.length_to(self.mark.sequence + same as u64) else {
            return (None, false);
        };
        let mut text = there[..length].to_vec();
        if !text.ends_with(b"\n") {
            text.push(b'\n');
        }
        for handed in self.since.iter().skip(same) {
            text.extend_from_slice(&handed.text);
        }
        (Some(text), cut.is_none() && same == lines.len())
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
        /// Which file it is.
        identity: Option<(u64, u64)>,
    },
    /// It isn't there yet: the first change makes it, with the project as it is now to start from.
    New,
}

impl Begin {
    /// Going on after these bytes.
    pub(crate) fn after(bytes: &[u8], identity: Option<(u64, u64)>) -> Self {
        Self::At {
            identity,
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
        let tape = Tape {
            files,
            project: project.into(),
            path,
            begin,
            file: None,
            unsure: false,
        };
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

    /// The project file has it all up to this mark, and `project` is what it has.
    pub(crate) fn is_saved(&self, mark: Mark, project: &Project) {
        self.shared.state().memory.is_saved(mark, project);
    }

    /// The records touched by changes that aren't on the disk though they should be by now.
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

    /// Brings every change handed over onto the disk; an error if that failed. Done by whoever asks, without waiting for
    /// the thread's turn.
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

    /// The file end, to be asked for before the state, never after.
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
            // Who waits for the disk may have written it already.
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
        // An error comes again where the text of all is made.
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

/// The file end of the writer.
#[derive(Debug)]
struct Tape {
    files: Arc<dyn FileSystem>,
    /// Who may not read the project may not read its journal.
    project: PathBuf,
    path: PathBuf,
    begin: Begin,
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
            Begin::At {
                length, identity, ..
            } => facts.is_some_and(|facts| {
                let same = facts.length == length || (self.unsure && facts.length > length);
                same && facts.identity == identity
            }),
        }
    }

    /// Writes a batch after what is there. False if that isn't what was written, or nothing was yet.
    fn append(&mut self, batch: &[u8]) -> Result<bool, StoreError> {
        let Begin::At {
            length,
            open_ended,
            identity,
        } = self.begin
        else {
            return Ok(false);
        };
        let tell = self.tell();
        let facts = self.files.facts(&self.path).map_err(&tell)?;
        let same = facts.is_some_and(|facts| {
            let unsure = self.unsure && facts.length > length;
            (facts.length == length || unsure) && facts.identity == identity
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
        let written: io::Result<_> = (|| {
            let mut file = match file {
                Some(file) => file,
                None => self.files.continue_at(&self.path, length, identity)?,
            };
            file.write(batch)?;
            file.sync()?;
            Ok(file)
        })();
        self.file = match written {
            Ok(file) => Some(file),
            // Another program put its own in its place in this moment.
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
            Err(error) => return Err(tell(error)),
        };
        // Another program may have put its own in its place meanwhile.
        let facts = self.files.facts(&self.path).map_err(&tell)?;
        let length = length + batch.len() as u64;
        let same = facts.is_some_and(|facts| facts.identity == identity && facts.length == length);
        if !same {
            self.file = None;
            return Ok(false);
        }
        self.unsure = false;
        self.begin = Begin::At {
            length,
            open_ended: false,
            identity,
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
        let mut read = None;
        if let Some(facts) = files.facts(&self.path).map_err(&tell)? {
            read = Some(facts);
            let there = files.read(&self.path, MOST_BYTES).map_err(&tell)?;
            let (joined, whole) = memory.after(&there);
            text = joined.unwrap_or(text);
            if !(whole || text.starts_with(&there)) {
                let aside = QuarantinedPart::Other.path(&self.path, &there);
                replace(files, &aside, &there, Some(&self.project)).map_err(&tell)?;
            }
        }
        // What another program put there in the moment since is kept too.
        let keep = |former: &Path| {
            let there = files.read(former, MOST_BYTES)?;
            let aside = QuarantinedPart::Other.path(&self.path, &there);
            replace(files, &aside, &there, Some(&self.project))
        };
        let known = |facts: &Facts| read == Some(*facts);
        let like = Some(&*self.project);
        let mut written = None;
        replace_keeping(files, &self.path, &text, like, known, keep, |facts| {
            written = facts.identity;
        })
        .map_err(&tell)?;
        self.unsure = false;
        self.begin = Begin::after(&text, written);
        Ok(())
    }
}

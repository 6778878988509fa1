//! The file end of the journal's writer: where the journal ends on the disk, and whether it still is what was written.

use super::Sum;
use super::memory::Memory;
use crate::error::StoreError;
use crate::files::{Facts, FileSystem, OpenFile, beside, replace, replace_keeping};
use crate::open::MOST_BYTES;
use crate::quarantine::QuarantinedPart;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

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
        /// The sum of its bytes.
        sum: Sum,
    },
    /// It isn't there yet: the first change makes it, with the project as it is now to start from.
    New,
}

impl Begin {
    /// Going on after these bytes.
    pub(crate) fn after(bytes: &[u8], identity: Option<(u64, u64)>) -> Self {
        Self::At {
            identity,
            sum: Sum::of(bytes),
            length: bytes.len() as u64,
            open_ended: bytes.last().is_some_and(|last| *last != b'\n'),
        }
    }
}

/// The file end of the writer.
#[derive(Debug)]
pub(super) struct Tape {
    files: Arc<dyn FileSystem>,
    /// Who may not read the project may not read its journal.
    project: PathBuf,
    path: PathBuf,
    begin: Begin,
    file: Option<Box<dyn OpenFile>>,
    /// Whether our last attempt may have left bytes after the good end.
    unsure: bool,
    /// When the file was last changed, as far as it is known to be what was written.
    seen: Option<SystemTime>,
}

impl fmt::Debug for dyn OpenFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an open file")
    }
}

impl Tape {
    /// The journal at `path` of the file `project`. Nothing is written yet.
    pub(super) fn new(
        files: Arc<dyn FileSystem>,
        project: &Path,
        path: PathBuf,
        begin: Begin,
    ) -> Self {
        Self {
            files,
            project: project.into(),
            path,
            begin,
            file: None,
            unsure: false,
            seen: None,
        }
    }

    fn tell(&self) -> impl Fn(io::Error) -> StoreError + use<> {
        let path = self.path.clone();
        move |error| StoreError::from_io(&error, "writing the journal", &path)
    }

    /// Whether the journal is as it was written, as far as a look from outside tells. A disk that can't be asked is told
    /// of when it is written to.
    pub(super) fn is_intact(&mut self) -> bool {
        let Ok(facts) = self.files.facts(&self.path) else {
            return true;
        };
        match self.begin {
            Begin::New => true,
            Begin::At {
                length,
                identity,
                sum,
                ..
            } => facts.is_some_and(|facts| {
                let same = facts.length == length || (self.unsure && facts.length > length);
                same && facts.identity == identity && self.has_sum(&facts, sum)
            }),
        }
    }

    /// Whether the file has the bytes that were written: asked only where its time says that something was written to it
    /// since, be it to the same length. One that can't be read tells of itself where it is written to.
    fn has_sum(&mut self, facts: &Facts, sum: Sum) -> bool {
        if self.unsure || (facts.modified.is_some() && facts.modified == self.seen) {
            return true;
        }
        match self.files.read(&self.path, MOST_BYTES) {
            Ok(bytes) if Sum::of(&bytes) == sum => {
                self.seen = facts.modified;
                true
            }
            Ok(_) => false,
            Err(_) => true,
        }
    }

    /// Writes a batch after what is there. False if that isn't what was written, or nothing was yet.
    pub(super) fn append(&mut self, batch: &[u8]) -> Result<bool, StoreError> {
        let Begin::At {
            length,
            open_ended,
            identity,
            sum,
        } = self.begin
        else {
            return Ok(false);
        };
        let tell = self.tell();
        let facts = self.files.facts(&self.path).map_err(&tell)?;
        let same = facts.is_some_and(|facts| {
            let unsure = self.unsure && facts.length > length;
            (facts.length == length || unsure)
                && facts.identity == identity
                && self.has_sum(&facts, sum)
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
        self.seen = facts.and_then(|facts| facts.modified);
        self.begin = Begin::At {
            length,
            open_ended: false,
            identity,
            sum: sum.with(batch),
        };
        Ok(true)
    }

    /// Writes all that is remembered in place of what another program left, which is kept beside it.
    pub(super) fn write_anew(&mut self, memory: &Memory) -> Result<(), StoreError> {
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
        self.set_leftover_aside(&text)?;
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
        self.seen = None;
        self.begin = Begin::after(&text, written);
        Ok(())
    }

    /// What broke off before may have left another program's journal, just taken from its place. Only the beginning of our own
    /// text is nobody's.
    fn set_leftover_aside(&self, text: &[u8]) -> Result<(), StoreError> {
        let left = beside(&self.path, "-new");
        let tell = self.tell();
        let files = &*self.files;
        if files.is_odd(&left).map_err(&tell)? || files.facts(&left).map_err(&tell)?.is_none() {
            return Ok(());
        }
        let there = files.read(&left, MOST_BYTES).map_err(&tell)?;
        if !text.starts_with(&there) {
            let aside = QuarantinedPart::Other.path(&self.path, &there);
            files.rename(&left, &aside).map_err(&tell)?;
        }
        Ok(())
    }
}

//! What a journal is written anew from.

use super::{Continuation, Mark, continuation, header, scan};
use domain::{AnyId, Project};
use std::collections::VecDeque;
use std::sync::Arc;
use std::time::Instant;

/// The most bytes of history that are remembered, so that a journal that is taken away is written anew with them.
const MOST_HISTORY: usize = 64 << 20;

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
    pub(super) fn begin_history(&mut self) -> Result<(), serde_json::Error> {
        if self.history.is_none() {
            let header = header(self.mark, &self.project)?;
            self.history = Some(Arc::new(header));
        }
        Ok(())
    }

    /// The project file has it all up to this mark.
    pub(super) fn is_saved(&mut self, mark: Mark, project: &Project) {
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
    pub(super) fn text(&self) -> Result<Vec<u8>, serde_json::Error> {
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
    pub(super) fn after(&self, there: &[u8]) -> (Option<Vec<u8>>, bool) {
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

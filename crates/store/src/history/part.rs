//! A stretch of a journal, with an index of its changes.

use super::RecordKinds;
use crate::journal::{JournalEntry, entry_of};
use chrono::{DateTime, Utc};
use domain::AnyId;
use std::ops::Range;

/// Changes that follow each other: their lines as they stand in the journal, and where to find what.
#[derive(Debug, Default)]
pub(super) struct Part {
    /// The place of its first change in the history.
    pub(super) first: usize,
    bytes: Vec<u8>,
    rows: Vec<Row>,
    /// Which changes touched which record, in the order of the records.
    touches: Vec<(AnyId, u32)>,
}

/// What is known of a change without reading it.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) sequence: u64,
    pub(super) at: DateTime<Utc>,
    /// By whom, as a place among the people of the history.
    pub(super) person: u32,
    pub(super) kinds: RecordKinds,
    line: Range<usize>,
}

impl Part {
    pub(super) fn new(first: usize, bytes: Vec<u8>) -> Self {
        Self {
            first,
            bytes,
            ..Self::default()
        }
    }

    /// The change in one of its lines; nothing if a newer program wrote it.
    pub(super) fn read(&self, line: Range<usize>) -> Option<JournalEntry> {
        entry_of(self.bytes.get(line)?)
    }

    /// Takes a change into the index: its line, who made it, and which records it touched.
    pub(super) fn note(
        &mut self,
        line: Range<usize>,
        (entry, person): (&JournalEntry, u32),
        kinds: RecordKinds,
        touched: impl IntoIterator<Item = AnyId>,
    ) {
        let place = (self.first + self.rows.len()) as u32;
        self.touches
            .extend(touched.into_iter().map(|id| (id, place)));
        self.rows.push(Row {
            sequence: entry.sequence,
            at: entry.at,
            person,
            kinds,
            line,
        });
    }

    /// Puts the index in order, once all changes are noted.
    pub(super) fn close(&mut self) {
        self.touches.sort_unstable();
    }

    pub(super) const fn len(&self) -> usize {
        self.rows.len()
    }

    /// A change by its place in the history.
    pub(super) fn row(&self, place: usize) -> Option<&Row> {
        self.rows.get(place.checked_sub(self.first)?)
    }

    /// The line of a change by its place in the history.
    pub(super) fn line(&self, place: usize) -> Option<&[u8]> {
        self.bytes.get(self.row(place)?.line.clone())
    }

    /// Where its last line begins, and the line with its end.
    pub(super) fn last_line(&self) -> Option<(usize, &[u8])> {
        let line = &self.rows.last()?.line;
        Some((line.start, self.bytes.get(line.start..=line.end)?))
    }

    /// The places of the changes that touched a record, in order.
    pub(super) fn of_record(&self, id: AnyId) -> impl DoubleEndedIterator<Item = usize> + '_ {
        let from = self.touches.partition_point(|(other, _)| *other < id);
        let to = self.touches.partition_point(|(other, _)| *other <= id);
        self.touches[from..to]
            .iter()
            .map(|(_, place)| *place as usize)
    }

    /// Both as one; `later` follows on this.
    pub(super) fn with(&self, later: &Self) -> Self {
        let behind = self.bytes.len();
        let moved = |row: &Row| Row {
            line: row.line.start + behind..row.line.end + behind,
            ..row.clone()
        };
        let mut both = Self {
            first: self.first,
            bytes: [&self.bytes[..], &later.bytes].concat(),
            rows: self
                .rows
                .iter()
                .cloned()
                .chain(later.rows.iter().map(moved))
                .collect(),
            touches: [&self.touches[..], &later.touches].concat(),
        };
        both.close();
        both
    }
}

//! The history of a project: its journal, taken apart so that any change can be found and read.
//!
//! Five hundred thousand changes are a few hundred megabytes of text: the text stays as it is, and beside it lies an
//! index of who, when and which records. A change is read from its line when it is looked at.

use crate::error::StoreError;
use crate::journal::{JournalEntry, Scan, scan};
use crate::open::Store;
use chrono::{DateTime, Utc};
use domain::compare::Verb;
use domain::{AnyId, Edit, Project, RecordKind};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::Path;

/// The history of a project, as far as its journal can be read.
#[derive(Debug, Clone, Default)]
pub struct History {
    bytes: Vec<u8>,
    /// The project the journal begins from.
    base: Project,
    rows: Vec<IndexRow>,
    people: Vec<String>,
    /// Which changes touched which record, in the order of the records.
    touches: Vec<(AnyId, u32)>,
    /// Records that were taken away and not brought back.
    gone: BTreeSet<AnyId>,
}

#[derive(Debug, Clone)]
struct IndexRow {
    sequence: u64,
    at: DateTime<Utc>,
    person: u32,
    line: Range<usize>,
    kinds: RecordKinds,
}

/// The kinds of record that a change touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RecordKinds(u32);

impl RecordKinds {
    /// Whether records of this kind are among them.
    pub const fn contains(self, kind: RecordKind) -> bool {
        self.0 & (1 << kind as u32) != 0
    }

    const fn add(&mut self, kind: RecordKind) {
        self.0 |= 1 << kind as u32;
    }
}

/// What is known of a change without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HistoryLine<'a> {
    /// Its number, counted from 1 through the project's life.
    pub sequence: u64,
    /// When it was made.
    pub at: DateTime<Utc>,
    /// By whom; empty where nobody signed.
    pub by: &'a str,
    /// What it touched.
    pub kinds: RecordKinds,
}

impl Store {
    /// The history of a project. `earlier`, read before from the same journal, spares reading its part again.
    pub fn read_history(
        &self,
        path: &Path,
        earlier: Option<&History>,
    ) -> Result<History, StoreError> {
        let bytes = self.journal_bytes(&self.resolve(path)?)?;
        Ok(History::of(bytes, earlier))
    }
}

impl History {
    /// Of a journal's bytes.
    pub(crate) fn of(bytes: Vec<u8>, earlier: Option<&Self>) -> Self {
        let mut history = match earlier {
            Some(earlier) if earlier.begins(&bytes) => Self {
                bytes: Vec::new(),
                ..earlier.clone()
            },
            _ => Self::default(),
        };
        if let Some(scan) = scan(&bytes) {
            history.take(&scan);
        }
        history.bytes = bytes;
        history
    }

    /// Whether this is the beginning of that journal: its last line stands there at the same place.
    fn begins(&self, bytes: &[u8]) -> bool {
        self.rows
            .last()
            .is_some_and(|last| bytes.get(last.line.clone()) == self.bytes.get(last.line.clone()))
    }

    fn take(&mut self, scan: &Scan<'_>) {
        let known = self.rows.last().map_or(0, |last| last.line.end);
        if known == 0 {
            // A base that can't be read leaves some values untold, no more.
            self.base = scan.base().unwrap_or_default();
        }
        let mut people: BTreeMap<String, u32> = self.people.iter().cloned().zip(0..).collect();
        for line in scan.lines().filter(|line| line.start >= known) {
            let Ok(JournalEntry {
                sequence,
                at,
                by,
                edit,
            }) = scan.entry(&line)
            else {
                continue;
            };
            let nth = self.rows.len() as u32;
            let mut kinds = RecordKinds::default();
            let mut touched = BTreeSet::new();
            for part in edit.parts() {
                let Some(id) = part.about() else { continue };
                kinds.add(id.kind);
                touched.insert(id);
                match part.verb() {
                    Verb::Remove => {
                        self.gone.insert(id);
                    }
                    Verb::Add => {
                        self.gone.remove(&id);
                    }
                    Verb::Set | Verb::Several => {}
                }
            }
            self.touches.extend(touched.into_iter().map(|id| (id, nth)));
            let next = people.len() as u32;
            let person = *people.entry(by).or_insert_with_key(|by| {
                self.people.push(by.clone());
                next
            });
            self.rows.push(IndexRow {
                sequence,
                at,
                person,
                line,
                kinds,
            });
        }
        self.touches.sort();
    }

    /// How many changes there are.
    pub const fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there are none.
    pub const fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Everybody who made a change, in the order of their first.
    pub fn people(&self) -> &[String] {
        &self.people
    }

    /// What is known of a change, by its place from 0.
    pub fn line(&self, place: usize) -> Option<HistoryLine<'_>> {
        let row = self.rows.get(place)?;
        Some(HistoryLine {
            sequence: row.sequence,
            at: row.at,
            by: &self.people[row.person as usize],
            kinds: row.kinds,
        })
    }

    /// The change itself.
    pub fn edit(&self, place: usize) -> Option<Edit> {
        let row = self.rows.get(place)?;
        crate::journal::edit_of(self.bytes.get(row.line.clone())?)
    }

    /// The places of the changes that touched a record, in order.
    pub fn of_record(&self, id: AnyId) -> impl DoubleEndedIterator<Item = usize> + '_ {
        let from = self.touches.partition_point(|(other, _)| *other < id);
        let to = self.touches.partition_point(|(other, _)| *other <= id);
        self.touches[from..to]
            .iter()
            .map(|(_, place)| *place as usize)
    }

    /// How the field that `part`, a part of the change at this place, sets stood before; nothing if it wasn't there.
    pub fn before(&self, place: usize, part: &Edit) -> Option<Edit> {
        if part.verb() != Verb::Set {
            return None;
        }
        let found = match part.about() {
            Some(id) => self
                .of_record(id)
                .rev()
                .filter(|other| *other < place)
                .find_map(|other| part.value_after(&self.edit(other)?)),
            // Settings are few: what set one last is looked for from here back.
            None => (0..place)
                .rev()
                .take(5_000)
                .filter(|other| self.rows[*other].kinds == RecordKinds::default())
                .find_map(|other| part.value_after(&self.edit(other)?)),
        };
        found.or_else(|| part.as_in(&self.base))
    }

    /// The last change of what this edit is about: the same field, or else the same record.
    pub fn last_change(&self, of: &Edit) -> Option<HistoryLine<'_>> {
        let id = of.about()?;
        let same = |place: &usize| {
            self.edit(*place).is_some_and(|edit| {
                let mut parts = edit.parts().into_iter();
                match of.verb() {
                    Verb::Set => parts.any(|part| part.same_field(of)),
                    verb => parts.any(|part| part.about() == Some(id) && part.verb() == verb),
                }
            })
        };
        let last = self.of_record(id).next_back()?;
        let place = self.of_record(id).rev().find(same).unwrap_or(last);
        self.line(place)
    }

    /// `project` with the records that were taken away from it put back as they were last: not to be worked on, only so
    /// that changes of the past can be told with the codes of what they were about.
    pub fn with_removed(&self, project: &Project) -> Project {
        let gone = self
            .gone
            .iter()
            .filter(|id| !project.contains(**id))
            .filter_map(|id| self.last_known(*id));
        project.with_removed(gone)
    }

    /// A record as it last was.
    fn last_known(&self, id: AnyId) -> Option<Edit> {
        let mut sets = Vec::new();
        for place in self.of_record(id).rev() {
            let edit = self.edit(place)?;
            for part in edit.parts().into_iter().rev() {
                match part.verb() {
                    _ if part.about() != Some(id) => {}
                    Verb::Set => sets.push(part.clone()),
                    Verb::Add => return Some(part.with_fields(sets.into_iter().rev())),
                    Verb::Remove | Verb::Several => {}
                }
            }
        }
        let record = self.base.record(id)?;
        Some(record.with_fields(sets.into_iter().rev()))
    }
}

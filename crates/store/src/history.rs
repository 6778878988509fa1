//! The history of a project: its journal, taken apart so that any change can be found and read.
//!
//! Five hundred thousand changes are a few hundred megabytes of text: the text stays as it is, and beside it lies an
//! index of who, when and which records. A change is read from its line when it is looked at.

mod moments;
mod part;

use crate::error::StoreError;
use crate::journal::{Mark, Sound, scan, sound_lines};
use crate::open::Store;
use chrono::{DateTime, Utc};
use domain::compare::Verb;
use domain::{AnyId, Edit, Project, RecordKind};
use moments::Moments;
use part::{Part, Row};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;

/// The history of a project, as far as its journal can be read.
///
/// A clone shares nearly all of it, and so does the history that is read once the journal has grown.
#[derive(Debug, Clone)]
pub struct History {
    /// One after the other, each at least twice as long as the next: so there are few, and of what is added little is
    /// ever moved.
    parts: Vec<Arc<Part>>,
    /// The project the journal begins from.
    base: Project,
    /// Where the journal begins.
    start: Option<Mark>,
    /// The place in the journal after the last change.
    end: Option<Mark>,
    /// Where the line of the last change begins in the journal, in bytes, and the line.
    last: Option<(u64, Vec<u8>)>,
    people: Vec<String>,
    /// Records that were taken away and not brought back.
    gone: BTreeSet<AnyId>,
    moments: Moments,
}

impl Default for History {
    fn default() -> Self {
        Self {
            parts: Vec::new(),
            base: Project::default(),
            start: None,
            end: None,
            last: None,
            people: Vec::new(),
            gone: BTreeSet::new(),
            moments: Moments::from(None),
        }
    }
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
    /// The history of a project. `earlier`, read before from the same journal, spares reading its part again. `watch`
    /// is told the part that is done, from 0 to 1; nothing once it says to end.
    pub fn read_history(
        &self,
        path: &Path,
        earlier: Option<&History>,
        watch: &mut dyn FnMut(f32) -> ControlFlow<()>,
    ) -> Result<Option<History>, StoreError> {
        let path = self.resolve(path)?;
        if let Some(earlier) = earlier
            && let Some((from, line)) = &earlier.last
        {
            let tail = self.journal_from(&path, *from)?;
            // Whether it is the same journal still: its last line stands where it stood.
            if tail.starts_with(line) {
                let mut history = earlier.clone();
                let new = tail[line.len()..].to_vec();
                let lines = sound_lines(&new, 0);
                let read = history.take(new, from + line.len() as u64, &lines, watch);
                return Ok(read.is_continue().then_some(history));
            }
        }
        Ok(History::of(self.journal_bytes(&path)?, watch))
    }
}

/// Changes read between two words to who watches.
const WATCHED_EVERY: usize = 1000;

impl History {
    /// Of a journal's bytes; nothing if `watch` ends it.
    pub(crate) fn of(
        bytes: Vec<u8>,
        watch: &mut dyn FnMut(f32) -> ControlFlow<()>,
    ) -> Option<Self> {
        let Some(scan) = scan(&bytes) else {
            return Some(Self::default());
        };
        // A base that can't be read leaves some values and all states of the past untold, no more.
        let base = scan.base();
        let mut history = Self {
            base: base.clone().unwrap_or_default(),
            start: scan.start,
            end: scan.start,
            moments: Moments::from(base),
            ..Self::default()
        };
        let lines: Vec<Sound> = scan.sound().collect();
        let read = history.take(bytes, 0, &lines, watch);
        read.is_continue().then_some(history)
    }

    /// Of a journal's bytes, read to the end.
    pub(crate) fn whole(bytes: Vec<u8>) -> Self {
        // Nothing ends it, so there is one.
        Self::of(bytes, &mut |_| ControlFlow::Continue(())).unwrap_or_default()
    }

    /// Takes in the changes of a stretch of the journal that begins at so many bytes.
    fn take(
        &mut self,
        bytes: Vec<u8>,
        offset: u64,
        lines: &[Sound],
        watch: &mut dyn FnMut(f32) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        let mut part = Part::new(self.len(), bytes);
        let mut people: BTreeMap<String, u32> = self.people.iter().cloned().zip(0..).collect();
        for (nth, line) in lines.iter().enumerate() {
            if nth % WATCHED_EVERY == 0 {
                watch(nth as f32 / lines.len() as f32)?;
            }
            let Some(entry) = part.read(line.range.clone()) else {
                continue;
            };
            let next = people.len() as u32;
            let person = *people.entry(entry.by.clone()).or_insert_with_key(|by| {
                self.people.push(by.clone());
                next
            });
            let mut kinds = RecordKinds::default();
            let mut touched = BTreeSet::new();
            for part in entry.edit.parts() {
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
            part.note(line.range.clone(), (&entry, person), kinds, touched);
            if self.end.is_some_and(|end| line.follows(end)) {
                self.moments.follow(entry.edit);
            } else {
                self.moments.end();
            }
            self.end = self.end.map(|end| line.mark_after(end));
        }
        part.close();
        self.add(part, offset);
        ControlFlow::Continue(())
    }

    /// Adds a part, as one with those before it that aren't twice as long.
    fn add(&mut self, mut part: Part, offset: u64) {
        let Some((at, line)) = part.last_line() else {
            return;
        };
        self.last = Some((offset + at as u64, line.to_vec()));
        while let Some(before) = self.parts.pop_if(|before| before.len() < 2 * part.len()) {
            part = before.with(&part);
        }
        self.parts.push(Arc::new(part));
    }

    /// The part that holds the change at this place.
    fn part(&self, place: usize) -> Option<&Part> {
        let after = self.parts.partition_point(|part| part.first <= place);
        self.parts.get(after.checked_sub(1)?).map(|part| &**part)
    }

    fn row(&self, place: usize) -> Option<&Row> {
        self.part(place)?.row(place)
    }

    /// How many changes there are.
    pub fn len(&self) -> usize {
        self.parts.last().map_or(0, |part| part.first + part.len())
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The project as it was after the change of this number; nothing if the journal doesn't reach back, or not so far
    /// forward, or a change between is missing.
    pub fn project_at(&self, sequence: u64) -> Option<Project> {
        let changes = sequence.checked_sub(self.start?.sequence)? as usize;
        let (before, project) = self.moments.before(changes)?;
        let mut project = project.clone();
        for place in *before..changes {
            project.retrace(self.edit(place)?).ok()?;
        }
        Some(project)
    }

    /// Everybody who made a change, in the order of their first.
    pub fn people(&self) -> &[String] {
        &self.people
    }

    /// What is known of a change, by its place from 0.
    pub fn line(&self, place: usize) -> Option<HistoryLine<'_>> {
        let row = self.row(place)?;
        Some(HistoryLine {
            sequence: row.sequence,
            at: row.at,
            by: &self.people[row.person as usize],
            kinds: row.kinds,
        })
    }

    /// The change itself.
    pub fn edit(&self, place: usize) -> Option<Edit> {
        crate::journal::edit_of(self.part(place)?.line(place)?)
    }

    /// The places of the changes that touched a record, in order.
    pub fn of_record(&self, id: AnyId) -> impl DoubleEndedIterator<Item = usize> + '_ {
        self.parts.iter().flat_map(move |part| part.of_record(id))
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
                .filter(|other| {
                    self.row(*other)
                        .is_some_and(|row| row.kinds == RecordKinds::default())
                })
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

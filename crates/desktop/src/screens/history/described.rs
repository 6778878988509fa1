//! What changes say, in words, kept while they are looked at: to tell how a field stood before, the history is searched.

use crate::record_history::{LoadedHistory, signed, time};
use domain::compare::Verb;
use domain::{AnyId, Edit, Project};
use std::collections::BTreeMap;

/// How many parts of one change are told.
const MOST_PARTS: usize = 100;
/// How many rows are kept.
const MOST_ROWS: usize = 1_000;

/// The words of changes, by their places in one state of the history.
#[derive(Default)]
pub(super) struct Described {
    of: usize,
    /// The record whose changes are looked at, if just one.
    record: Option<AnyId>,
    rows: BTreeMap<usize, Row>,
    chosen: Option<(usize, Vec<String>)>,
    /// What takes the chosen change back, for which revision of the project.
    back: Option<(usize, u64, Option<Edit>)>,
}

/// One change in a row.
#[derive(Default)]
pub(super) struct Row {
    pub(super) when: String,
    pub(super) who: String,
    pub(super) what: String,
    pub(super) was: String,
    pub(super) is: String,
}

impl Described {
    /// Forgets what was told of another state of the history, or of other records.
    pub(super) fn refresh(&mut self, known: &LoadedHistory, record: Option<AnyId>) {
        if (self.of, self.record) != (known.history.len(), record) {
            *self = Self {
                of: known.history.len(),
                record,
                ..Self::default()
            };
        }
        if self.rows.len() > MOST_ROWS {
            self.rows.clear();
        }
    }

    /// The change at this place in a row.
    pub(super) fn row(&mut self, known: &LoadedHistory, place: usize) -> &Row {
        let record = self.record;
        self.rows
            .entry(place)
            .or_insert_with(|| Row::of(known, place, record).unwrap_or_default())
    }

    /// What takes the change at this place back by itself, if anything of it stands.
    pub(super) fn back(
        &mut self,
        known: &LoadedHistory,
        place: usize,
        now: &Project,
    ) -> Option<&Edit> {
        let known_for =
            |(of, revision, _): &(usize, u64, _)| (*of, *revision) == (place, now.revision());
        if !self.back.as_ref().is_some_and(known_for) {
            self.back = Some((place, now.revision(), known.taking_back(place, now)));
        }
        self.back.as_ref().and_then(|(_, _, back)| back.as_ref())
    }

    /// Each part of the change at this place, as far as they are told.
    pub(super) fn parts(&mut self, known: &LoadedHistory, place: usize) -> &[String] {
        if self.chosen.as_ref().is_none_or(|(of, _)| *of != place) {
            self.chosen = Some((place, parts(known, place)));
        }
        self.chosen.as_ref().map_or(&[], |(_, lines)| lines)
    }
}

impl Row {
    fn of(known: &LoadedHistory, place: usize, record: Option<AnyId>) -> Option<Self> {
        let (line, edit) = (known.history.line(place)?, known.history.edit(place)?);
        // Of several, the one part that is about the record looked at.
        let parts = edit.parts().into_iter();
        let mut about = parts.filter(|part| record.is_some() && part.about() == record);
        let part = match (about.next(), about.next()) {
            (Some(only), None) => only,
            _ => &edit,
        };
        Some(Self {
            when: time(line.at),
            who: signed(line.by).to_owned(),
            what: edit.describe(known.with_removed()),
            was: known.was(place, part).unwrap_or_default(),
            is: known.is(part).unwrap_or_default(),
        })
    }
}

fn parts(known: &LoadedHistory, place: usize) -> Vec<String> {
    let Some(edit) = known.history.edit(place) else {
        return Vec::new();
    };
    // A single one is told by its row.
    if edit.verb() != Verb::Several {
        return Vec::new();
    }
    let parts = edit.parts();
    let told = parts.iter().take(MOST_PARTS);
    let mut lines: Vec<_> = told.map(|part| known.told(place, part)).collect();
    if parts.len() > MOST_PARTS {
        lines.push(format!("and {} more", parts.len() - MOST_PARTS));
    }
    lines
}

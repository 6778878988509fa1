//! The history of the open project, as all screens share it.
//!
//! A worker reads it when a screen first asks, and again when a screen asks after a change is on the disk. Nothing is
//! read while no screen asks.

use chrono::{DateTime, Local, Utc};
use domain::compare::{Verb, removal};
use domain::{AnyId, Change, Edit, Project};
use egui::Context;
use kit::fonts::mark;
use kit::worker::{Latest, Worker};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;
use store::{History, ProjectFile};

/// The history with the names of what is no more.
pub struct LoadedHistory {
    /// Every change.
    pub history: History,
    /// The project with what was taken away from it put back, to tell changes with.
    with_removed: Project,
}

/// What a record went through, told.
#[derive(Debug, Default)]
pub struct Timeline {
    /// How many changes there were.
    pub count: usize,
    /// The last of them, the latest first.
    pub last: Vec<TimelineEntry>,
}

/// One change, told.
#[derive(Debug)]
pub struct TimelineEntry {
    /// Its number.
    pub sequence: u64,
    /// When it was made.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
    /// What it did, a line each.
    pub lines: Vec<String>,
}

/// Which record, in which state of the history, up to which change.
type TimelineKey = (AnyId, usize, Option<u64>);

/// The history of the open project, once a screen asked for it.
#[derive(Default)]
pub struct RecordHistory {
    worker: RefCell<Worker<u64, Result<LoadedHistory, String>>>,
    /// The record told last: told again only when something else is asked.
    timeline: RefCell<Option<(TimelineKey, Rc<Timeline>)>>,
}

impl RecordHistory {
    /// The history as last read, or why it can't be; nothing until then. `now` is the project of the present.
    pub fn known(
        &self,
        ctx: &Context,
        file: &ProjectFile,
        now: &Project,
    ) -> Option<Latest<Result<LoadedHistory, String>>> {
        let mut worker = self.worker.borrow_mut();
        let earlier = worker.latest().map(|answer| Arc::clone(&answer.value));
        worker.follow(ctx, file.acknowledged(), || {
            let (store, path) = (file.store().clone(), file.path().to_owned());
            let now = now.clone();
            move |watch| {
                let earlier = earlier.as_deref().and_then(|known| known.as_ref().ok());
                let earlier = earlier.map(|known| &known.history);
                let mut told = |part| watch.tell("Reading the history", Some(part));
                match store.read_history(&path, earlier, &mut told) {
                    Ok(history) => history.map(|history| {
                        Ok(LoadedHistory {
                            with_removed: history.with_removed(&now),
                            history,
                        })
                    }),
                    Err(error) => Some(Err(error.to_string())),
                }
            }
        })
    }

    /// What a record and what hangs on it went through, up to the change of a number; at most so many changes are told.
    pub fn timeline(
        &self,
        known: &LoadedHistory,
        id: AnyId,
        upto: Option<u64>,
        most: usize,
    ) -> Rc<Timeline> {
        let asked = (id, known.history.len(), upto);
        let mut kept = self.timeline.borrow_mut();
        match &*kept {
            Some((of, timeline)) if *of == asked => Rc::clone(timeline),
            _ => {
                let timeline = Rc::new(known.timeline(id, upto, most));
                *kept = Some((asked, Rc::clone(&timeline)));
                timeline
            }
        }
    }
}

impl LoadedHistory {
    /// The project with what was taken away from it put back.
    pub const fn with_removed(&self) -> &Project {
        &self.with_removed
    }

    /// A record and what hangs on it: its notes, its counts, its events.
    fn with_hanging(&self, id: AnyId) -> BTreeSet<AnyId> {
        let hanging = self.with_removed.referrers(id);
        let hanging = hanging.filter(|other| self.with_removed.shown_with(*other) == id);
        std::iter::once(id).chain(hanging).collect()
    }

    /// The places of the changes that touched a record or what hangs on it, in order.
    pub fn places_of(&self, id: AnyId) -> BTreeSet<usize> {
        let records = self.with_hanging(id).into_iter();
        records
            .flat_map(|each| self.history.of_record(each).collect::<Vec<_>>())
            .collect()
    }

    fn timeline(&self, id: AnyId, upto: Option<u64>, most: usize) -> Timeline {
        let records = self.with_hanging(id);
        let mut places = self.places_of(id);
        places.retain(|place| self.is_within(*place, upto));
        let steps = places.iter().rev().take(most);
        Timeline {
            count: places.len(),
            last: steps
                .filter_map(|place| self.step(*place, id, &records))
                .collect(),
        }
    }

    /// Whether a change was made by the change of this number.
    pub fn is_within(&self, place: usize, upto: Option<u64>) -> bool {
        upto.is_none_or(|upto| {
            let line = self.history.line(place);
            line.is_some_and(|line| line.sequence <= upto)
        })
    }

    /// One change, as far as it is about a record and these that hang on it.
    fn step(&self, place: usize, id: AnyId, records: &BTreeSet<AnyId>) -> Option<TimelineEntry> {
        const MOST_PARTS: usize = 4;
        // Whose page it stands on needn't be said.
        let name = self.with_removed.describe(id);
        let (of_it, on_it) = (format!(" of {name}"), format!(" on {name}"));
        let (line, edit) = (self.history.line(place)?, self.history.edit(place)?);
        let parts = edit.parts().into_iter();
        let about: Vec<_> = parts
            .filter(|part| part.about().is_some_and(|id| records.contains(&id)))
            .collect();
        let told = about.iter().take(MOST_PARTS);
        let mut lines: Vec<_> = told
            .map(|part| self.told(place, part))
            .map(|told| told.replacen(&of_it, "", 1).replacen(&on_it, "", 1))
            .collect();
        if about.len() > MOST_PARTS {
            lines.push(format!("and {} more", about.len() - MOST_PARTS));
        }
        Some(TimelineEntry {
            sequence: line.sequence,
            at: line.at,
            by: line.by.to_owned(),
            lines,
        })
    }

    /// A part of the change at this place: what it did, what was and what is.
    pub fn told(&self, place: usize, part: &Edit) -> String {
        let words = part.describe(&self.with_removed);
        match (self.was(place, part), self.is(part)) {
            (Some(was), Some(is)) => format!("{words}: {was} {} {is}", mark::RIGHT),
            (None, Some(value)) | (Some(value), None) => format!("{words}: {value}"),
            (None, None) => words,
        }
    }

    /// How the field that a part of the change at this place sets stood before, in words; what a note said that it
    /// takes away.
    pub fn was(&self, place: usize, part: &Edit) -> Option<String> {
        match part {
            Edit::Note(Change::Remove(id)) => {
                let note = self.with_removed.notes().get(*id)?;
                Some(note.text.clone())
            }
            _ if part.verb() == Verb::Set => {
                let before = self.history.before(place, part)?;
                before.value_words(&self.with_removed)
            }
            _ => None,
        }
    }

    /// What the field that an edit sets is from then on, in words; what a note says that it adds.
    pub fn is(&self, part: &Edit) -> Option<String> {
        match part {
            Edit::Note(Change::Add(note)) => Some(note.text.clone()),
            _ => part.value_words(&self.with_removed),
        }
    }
}

impl LoadedHistory {
    /// What takes the change at this place back by itself, as far as nothing was changed again since: the rest stays.
    /// Nothing if nothing of it stands in the project as it is now.
    pub fn taking_back(&self, place: usize, now: &Project) -> Option<Edit> {
        let edit = self.history.edit(place)?;
        let back = |part: &Edit| match part.verb() {
            Verb::Set if part.as_in(now).as_ref() == Some(part) => self.history.before(place, part),
            Verb::Add => part.about().filter(|id| now.contains(*id)).map(removal),
            Verb::Remove => {
                let gone = part.about().filter(|id| !now.contains(*id));
                gone.and_then(|id| self.with_removed.record(id))
            }
            Verb::Set | Verb::Several => None,
        };
        // Backwards: what was taken away last was needed by nothing that went before.
        let edits: Vec<_> = edit.parts().into_iter().rev().filter_map(back).collect();
        let label = format!("take back: {}", edit.describe(&self.with_removed));
        (!edits.is_empty()).then_some(Edit::All { label, edits })
    }
}

/// A moment as it is written in tables.
pub fn time(at: DateTime<Utc>) -> String {
    at.with_timezone(&Local)
        .format("%-d %b %Y %H:%M")
        .to_string()
}

/// Who made a change, in words.
pub const fn signed(by: &str) -> &str {
    if by.is_empty() { "not signed" } else { by }
}

//! What is to be done, and when: derived from the records, never stored.
//!
//! Completing an item is recording the thing itself (a look, a count, a pollination), so the calendar can't
//! disagree with the records.

use crate::edit::Edit;
use crate::id::{AnyId, IdSource};
use crate::project::Project;
use crate::record::journal::TaskField;
use crate::{ChillBox, Count, Cross, CrossEventKind, actions};
use chrono::NaiveDate;
use std::ops::RangeInclusive;

mod cold;
mod crossing;
mod potting;
mod season;
mod warmth;

pub use cold::{check_is_late, next_check, next_check_if_clear};
pub use crossing::Milestones;

/// One thing to do, or done.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The record it is about.
    pub about: AnyId,
    /// What kind of thing.
    pub kind: ItemKind,
    /// The day it is due; for a thing done, the day it was done.
    pub date: NaiveDate,
    /// The last day it is still in time, where there is a window.
    pub latest: Option<NaiveDate>,
    /// How it stands on the day asked about.
    pub state: ItemState,
    /// What to do or what was done, with the code it concerns.
    pub title: String,
    /// What it is for, or what to look out for.
    pub detail: String,
}

/// How an item stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ItemState {
    /// Its day, or its window, has passed.
    Late,
    /// It is due today, or its window is open.
    Due,
    /// Its day is to come.
    Coming,
    /// It is done.
    Done,
}

impl ItemState {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Late => "late",
            Self::Due => "due",
            Self::Coming => "coming",
            Self::Done => "done",
        }
    }
}

/// The kinds of things to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "each variant says what it is")]
pub enum ItemKind {
    BagFemale,
    GivePollen,
    TakeBagsOff,
    HarvestCones,
    CleanSeed,
    LayInBoxes,
    StartChill,
    CheckBox,
    MoveToWarmth,
    CountSprouts,
    PotUp,
    DecideRest,
    HardenOff,
    PlantOut,
    Task,
}

impl ItemKind {
    /// The button that does it.
    pub const fn verb(self) -> &'static str {
        match self {
            Self::BagFemale => "Bagged",
            Self::GivePollen => "Pollinated",
            Self::TakeBagsOff => "Bags off",
            Self::HarvestCones => "Harvested",
            Self::CleanSeed => "Count seed…",
            Self::StartChill => "Start chill",
            Self::CheckBox => "Checked",
            Self::MoveToWarmth => "Move to warmth",
            Self::CountSprouts => "Count…",
            Self::PotUp => "Pot up…",
            Self::DecideRest => "Close the box…",
            Self::LayInBoxes | Self::HardenOff | Self::PlantOut => "Open",
            Self::Task => "Done",
        }
    }
}

/// What completes an item.
#[derive(Debug, Clone, PartialEq)]
pub enum Completion {
    /// This edit, as it stands.
    Ready(Box<Edit>),
    /// A record that needs a number or a decision first; its screen asks for it.
    Asks,
    /// Nothing: it is done.
    Done,
}

impl Item {
    /// The edit that completes the item on `day`, with nothing special found.
    pub fn completion(&self, project: &Project, day: NaiveDate, ids: &mut IdSource) -> Completion {
        if self.state == ItemState::Done {
            return Completion::Done;
        }
        let event = |what, ids: &mut IdSource| {
            self.about
                .typed::<Cross>()
                .map(|cross| actions::cross_event(cross, day, what, ids))
        };
        let edit = match self.kind {
            ItemKind::BagFemale => event(CrossEventKind::FemaleBagged { bags: None }, ids),
            ItemKind::GivePollen => event(CrossEventKind::Pollinated, ids),
            ItemKind::TakeBagsOff => event(CrossEventKind::BagOff, ids),
            ItemKind::HarvestCones => event(CrossEventKind::ConesHarvested { cones: None }, ids),
            ItemKind::StartChill => self
                .about
                .typed()
                .and_then(|id| project.chill_batches().get(id))
                .map(|batch| actions::start_batch(batch, day)),
            ItemKind::CheckBox => self
                .about
                .typed::<ChillBox>()
                .map(|id| actions::check_boxes(&[id], day, ids)),
            ItemKind::MoveToWarmth => self
                .about
                .typed::<ChillBox>()
                .map(|id| actions::warm(&[id], day, ids)),
            ItemKind::Task => self
                .about
                .typed::<crate::Task>()
                .map(|task| Edit::set(task, TaskField::Done(Some(day)))),
            ItemKind::CleanSeed
            | ItemKind::LayInBoxes
            | ItemKind::CountSprouts
            | ItemKind::PotUp
            | ItemKind::DecideRest
            | ItemKind::HardenOff
            | ItemKind::PlantOut => None,
        };
        edit.map_or(Completion::Asks, |edit| Completion::Ready(Box::new(edit)))
    }

    /// The count that says nothing new came up: the other way to complete a count.
    pub fn nothing_came_up(&self, day: NaiveDate, ids: &mut IdSource) -> Option<Edit> {
        let run = self
            .about
            .typed()
            .filter(|_| self.kind == ItemKind::CountSprouts)?;
        Some(Edit::add(Count {
            id: ids.next(),
            run,
            date: day,
            germinated: 0,
            abnormal: 0,
            dead: 0,
            lost: 0,
            by: String::new(),
            remark: String::new(),
        }))
    }
}

/// Everything done within the days asked about, and everything open that falls due by their end. What is late
/// is told however long ago it fell due.
///
/// Sorted by state (late first), then date, then the order of making.
pub fn agenda(project: &Project, days: RangeInclusive<NaiveDate>, today: NaiveDate) -> Vec<Item> {
    let mut items = Vec::new();
    let mut collect = Collector {
        items: &mut items,
        from: *days.start(),
        to: *days.end(),
        today,
    };
    for cross in project.crosses().iter() {
        crossing::cross_items(project, cross, &mut collect);
    }
    season::season_items(project, &mut collect);
    for batch in project.chill_batches().iter() {
        cold::batch_items(project, batch, &mut collect);
    }
    for run in project.germinations().iter() {
        warmth::run_items(project, run, &mut collect);
    }
    for task in project.tasks().iter() {
        let open = || {
            (
                task.title.clone(),
                task.about
                    .map(|about| project.describe(about))
                    .unwrap_or_default(),
            )
        };
        match task.done {
            Some(day) => collect.done(task.id, ItemKind::Task, day, open),
            None => collect.open(task.id, ItemKind::Task, task.due, None, open),
        }
    }
    in_order(items)
}

/// What is open today in the boxes that are in the cold: that part of the agenda, without the rest.
pub(crate) fn agenda_of_cold(project: &Project, today: NaiveDate) -> Vec<Item> {
    let mut items = Vec::new();
    let mut collect = Collector {
        items: &mut items,
        from: today,
        to: today,
        today,
    };
    for chill_box in project.chill_boxes().iter() {
        if let Some(batch) = project.chill_batches().get(chill_box.batch) {
            cold::open_items(project, batch, chill_box, &mut collect);
        }
    }
    in_order(items)
}

fn in_order(mut items: Vec<Item>) -> Vec<Item> {
    items.sort_by_key(|item| (item.state, item.date, item.kind, item.about));
    items
}

/// Takes items in, keeping those within the days asked about and saying how each stands.
struct Collector<'a> {
    items: &'a mut Vec<Item>,
    from: NaiveDate,
    to: NaiveDate,
    today: NaiveDate,
}

impl Collector<'_> {
    /// A thing done on a day. The words are asked for only if it is kept.
    fn done(
        &mut self,
        about: impl Into<AnyId>,
        kind: ItemKind,
        day: NaiveDate,
        words: impl FnOnce() -> (String, String),
    ) {
        if day < self.from || day > self.to {
            return;
        }
        let (title, detail) = words();
        self.items.push(Item {
            about: about.into(),
            kind,
            date: day,
            latest: None,
            state: ItemState::Done,
            title,
            detail,
        });
    }

    /// A thing to do by a day, or within a window that begins on it.
    fn open(
        &mut self,
        about: impl Into<AnyId>,
        kind: ItemKind,
        due: NaiveDate,
        latest: Option<NaiveDate>,
        words: impl FnOnce() -> (String, String),
    ) {
        if due > self.to {
            return;
        }
        let state = match due {
            _ if is_late(due, latest, self.today) => ItemState::Late,
            _ if due <= self.today => ItemState::Due,
            _ if due < self.from => return,
            _ => ItemState::Coming,
        };
        let (title, detail) = words();
        self.items.push(Item {
            about: about.into(),
            kind,
            date: due,
            latest,
            state,
            title,
            detail,
        });
    }
}

/// Whether something due on a day, or within a window that begins on it, is late: its last day is past.
fn is_late(due: NaiveDate, latest: Option<NaiveDate>, today: NaiveDate) -> bool {
    latest.unwrap_or(due) < today
}

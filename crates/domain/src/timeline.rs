//! The season as lanes: one for each cross and each batch, with what was planned, what was, and what is to come.

use crate::agenda::Milestones;
use crate::date::shift;
use crate::id::AnyId;
use crate::project::Project;
use crate::{ChillBatch, Cross, CrossEventKind};
use chrono::NaiveDate;

/// One lane.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// The cross or batch.
    pub about: AnyId,
    /// Its code.
    pub label: String,
    /// Lengths of time, earliest first.
    pub bars: Vec<Bar>,
    /// Single days.
    pub marks: Vec<(NaiveDate, String)>,
}

/// A length of time on a lane.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
    /// How sure it is.
    pub kind: BarKind,
    /// What it is: 'on the plant', 'cold', 'warmth'.
    pub label: &'static str,
}

/// How sure a length of time is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BarKind {
    /// Planned, not begun.
    Planned,
    /// As it was, up to today.
    Actual,
    /// Begun, and calculated onward from today.
    Projected,
}

/// The lanes that touch the days from `from` to `to`, by their first day.
pub fn lanes(project: &Project, from: NaiveDate, to: NaiveDate, today: NaiveDate) -> Vec<Lane> {
    let crosses = project
        .crosses()
        .iter()
        .map(|cross| cross_lane(project, cross, today));
    let batches = project
        .chill_batches()
        .iter()
        .map(|batch| batch_lane(project, batch, today));
    let mut lanes: Vec<_> = crosses
        .chain(batches)
        .filter(|lane| lane.touches(from, to))
        .collect();
    lanes.sort_by_key(|lane| (lane.first_day(), lane.about));
    lanes
}

impl Lane {
    fn days(&self) -> impl Iterator<Item = NaiveDate> + '_ {
        self.bars
            .iter()
            .flat_map(|bar| [bar.from, bar.to])
            .chain(self.marks.iter().map(|mark| mark.0))
    }

    /// The first day on the lane.
    pub fn first_day(&self) -> Option<NaiveDate> {
        self.days().min()
    }

    fn touches(&self, from: NaiveDate, to: NaiveDate) -> bool {
        self.first_day().is_some_and(|first| first <= to)
            && self.days().max().is_some_and(|last| last >= from)
    }

    /// Adds what lies between two days: actual up to today, projected after it.
    fn run(&mut self, from: NaiveDate, to: NaiveDate, today: NaiveDate, label: &'static str) {
        if from <= today {
            self.bars.push(Bar {
                from,
                to: to.min(today),
                kind: BarKind::Actual,
                label,
            });
        }
        if to > today {
            self.bars.push(Bar {
                from: from.max(today),
                to,
                kind: BarKind::Projected,
                label,
            });
        }
    }
}

fn cross_lane(project: &Project, cross: &Cross, today: NaiveDate) -> Lane {
    let mut lane = Lane {
        about: cross.id.into(),
        label: cross.code.clone(),
        bars: Vec::new(),
        marks: Vec::new(),
    };
    let (mut begun, mut ended) = (None, None);
    for event in project.events_of(cross.id) {
        if event.what == CrossEventKind::Planned {
            continue;
        }
        lane.marks.push((event.date, event.what.words()));
        match event.what {
            CrossEventKind::FemaleBagged { .. } | CrossEventKind::Pollinated => {
                begun = begun.or(Some(event.date));
            }
            CrossEventKind::ConesHarvested { .. } | CrossEventKind::Failed { .. } => {
                ended = Some(event.date);
            }
            _ => {}
        }
    }
    let milestones = Milestones::of(project, cross);
    match (begun, milestones) {
        (Some(begun), _) if ended.is_some() => lane.run(
            begun,
            ended.unwrap_or(begun).max(begun),
            NaiveDate::MAX,
            "on the plant",
        ),
        (Some(begun), Some(ahead)) => {
            lane.run(begun, ahead.ripe_to.max(begun), today, "on the plant");
        }
        (None, Some(ahead)) if ended.is_none() => {
            lane.bars.push(Bar {
                from: ahead.bag,
                to: ahead.ripe_to,
                kind: BarKind::Planned,
                label: "on the plant",
            });
        }
        _ => {}
    }
    lane
}

fn batch_lane(project: &Project, batch: &ChillBatch, today: NaiveDate) -> Lane {
    let mut lane = Lane {
        about: batch.id.into(),
        label: batch.code.clone(),
        bars: Vec::new(),
        marks: Vec::new(),
    };
    let ready = batch.ready_on();
    if !batch.started {
        lane.bars.push(Bar {
            from: batch.start,
            to: ready,
            kind: BarKind::Planned,
            label: "cold",
        });
        return lane;
    }
    let boxes: Vec<_> = project.boxes_of(batch.id).collect();
    let runs: Vec<_> = boxes
        .iter()
        .filter_map(|chill_box| project.run_of(chill_box.id))
        .collect();
    let in_cold = batch.ended.is_none()
        && boxes
            .iter()
            .any(|chill_box| chill_box.end.is_none() && project.run_of(chill_box.id).is_none());
    let left_cold = runs
        .iter()
        .map(|run| run.moved)
        .chain(
            boxes
                .iter()
                .filter_map(|chill_box| chill_box.end.as_ref().map(|end| end.date)),
        )
        .max();
    let cold_end = match (in_cold, batch.ended.or(left_cold)) {
        (false, Some(day)) => day,
        _ => ready.max(today),
    };
    lane.run(batch.start, cold_end, today, "cold");
    if let Some(first) = runs.iter().map(|run| run.moved).min() {
        let last = runs
            .iter()
            .map(|run| {
                run.end.as_ref().map_or_else(
                    || shift(run.moved, batch.regimen.give_up_after.into()).max(today),
                    |end| end.date,
                )
            })
            .max();
        lane.run(first, last.unwrap_or(first), today, "warmth");
    }
    if let Some(bath) = &batch.sterilised {
        lane.marks.push((bath.date, "sterilised".into()));
    }
    let troubled = boxes
        .iter()
        .flat_map(|chill_box| project.checks_of(chill_box.id))
        .filter(|check| check.mouldy_removed > 0);
    lane.marks
        .extend(troubled.map(|check| (check.date, "mould".to_owned())));
    lane.marks.sort();
    lane.marks.dedup();
    lane
}

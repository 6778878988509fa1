//! How batches, boxes and the chill stand on a day: derived from the records, never stored.

use crate::id::Id;
use crate::project::Project;
use crate::record::chill::{BoxFate, ChillBatch, ChillBox};
use crate::record::protocol::Regimen;
use crate::words::plural;
use chrono::NaiveDate;

/// How a batch stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BatchStatus {
    /// Its boxes are in the cold.
    InCold,
    /// It has not started.
    Planned,
    /// Every box has left the cold; it can be ended.
    Emptied,
    /// It was ended.
    Ended,
}

impl BatchStatus {
    /// How this batch stands. One without boxes is in the cold once it has started.
    pub fn of(project: &Project, batch: &ChillBatch) -> Self {
        if batch.ended.is_some() {
            return Self::Ended;
        }
        if !batch.started {
            return Self::Planned;
        }
        let mut boxes = project.boxes_of(batch.id).peekable();
        let out = |each: &ChillBox| each.end.is_some() || project.run_of(each.id).is_some();
        if boxes.peek().is_some() && boxes.all(out) {
            Self::Emptied
        } else {
            Self::InCold
        }
    }

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::InCold => "in the cold",
            Self::Planned => "planned",
            Self::Emptied => "out of the cold",
            Self::Ended => "ended",
        }
    }
}

/// How a box stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoxStatus {
    /// Its batch has not started.
    Planned,
    /// In the cold, its chill not over.
    InCold,
    /// In the cold, its chill over: to be moved to warmth.
    Ready,
    /// Its batch was ended without a word on this box.
    LeftCold,
    /// In warmth and light.
    InWarmth,
    /// Its germination run is closed.
    Closed,
    /// It never reached warmth.
    Gone(BoxFate),
}

impl BoxStatus {
    /// How this box stands on `today`.
    pub fn of(project: &Project, chill_box: &ChillBox, today: NaiveDate) -> Self {
        if let Some(end) = &chill_box.end {
            return Self::Gone(end.fate);
        }
        if let Some(run) = project.run_of(chill_box.id) {
            return if run.end.is_some() {
                Self::Closed
            } else {
                Self::InWarmth
            };
        }
        let Some(batch) = project.chill_batches().get(chill_box.batch) else {
            return Self::Planned;
        };
        match (batch.ended, batch.started) {
            (Some(_), _) => Self::LeftCold,
            (None, false) => Self::Planned,
            (None, true) if batch.ready_on() <= today => Self::Ready,
            (None, true) => Self::InCold,
        }
    }

    /// Whether it is in the cold, its chill over or not.
    pub const fn in_cold(self) -> bool {
        matches!(self, Self::InCold | Self::Ready)
    }

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::InCold => "in the cold",
            Self::Ready => "ready for warmth",
            Self::LeftCold => "batch ended",
            Self::InWarmth => "in warmth",
            Self::Closed => "run closed",
            Self::Gone(fate) => fate.word(),
        }
    }
}

/// The boxes of a batch that are in the cold on `today`.
pub fn boxes_in_cold(
    project: &Project,
    batch: Id<ChillBatch>,
    today: NaiveDate,
) -> Vec<Id<ChillBox>> {
    project
        .boxes_of(batch)
        .filter(|chill_box| BoxStatus::of(project, chill_box, today).in_cold())
        .map(|chill_box| chill_box.id)
        .collect()
}

/// How far the chill of a batch has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChillProgress {
    /// Days of chill behind it: 0 on the day of the start, all of them from the day it is ready.
    pub days: u32,
    /// Days of chill in all: calendar months count the days they have.
    pub of: u32,
    /// The day the chill is over.
    pub ready: NaiveDate,
}

impl ChillProgress {
    /// The progress of this batch on `today`; that of an ended batch as on the day of its end.
    pub fn of(batch: &ChillBatch, today: NaiveDate) -> Self {
        let ready = batch.ready_on();
        let of = days_between(batch.start, ready);
        let days = if batch.started {
            days_between(batch.start, batch.ended.unwrap_or(today)).min(of)
        } else {
            0
        };
        Self { days, of, ready }
    }

    /// The part that is behind it, 0 to 1.
    pub fn part(self) -> f32 {
        if self.of == 0 {
            1.0
        } else {
            self.days as f32 / self.of as f32
        }
    }
}

fn days_between(from: NaiveDate, to: NaiveDate) -> u32 {
    (to - from).num_days().clamp(0, i64::from(u32::MAX)) as u32
}

/// What is wrong with so many seeds in one box under a regimen, if anything.
pub fn crowding(regimen: &Regimen, seeds: u32) -> Option<String> {
    let (from, to) = (regimen.box_from, regimen.box_to);
    if seeds > to {
        let over = seeds - to;
        Some(format!(
            "{seeds} seeds is {over} more than the {to} that fit in a box without touching."
        ))
    } else if seeds > 0 && seeds < from {
        Some(format!(
            "{seeds} {} in a box: a box is meant for {from} to {to}.",
            plural(seeds, "seed", "seeds")
        ))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::date::Span;
    use crate::fixtures::{day, planned};
    use crate::record::chill::ChillBatchField;
    use crate::{Edit, Germination, actions};

    fn status(project: &Project, id: Id<ChillBox>, today: &str) -> BoxStatus {
        BoxStatus::of(project, project.chill_boxes().get(id).unwrap(), day(today))
    }

    #[test]
    fn a_box_is_planned_then_in_the_cold_then_ready_then_in_warmth() {
        let (mut project, batch, boxes, mut ids) = planned();
        assert_eq!(status(&project, boxes[0], "2026-01-01"), BoxStatus::Planned);
        project
            .apply(actions::start_batch(&batch, day("2026-01-01")))
            .unwrap();
        // 60 days from 1 January 2026 end on 2 March.
        assert_eq!(status(&project, boxes[0], "2026-03-01"), BoxStatus::InCold);
        assert_eq!(status(&project, boxes[0], "2026-03-02"), BoxStatus::Ready);
        assert_eq!(boxes_in_cold(&project, batch.id, day("2026-03-02")), boxes);
        project
            .apply(actions::warm(&boxes[..1], day("2026-03-02"), &mut ids))
            .unwrap();
        assert_eq!(
            status(&project, boxes[0], "2026-03-02"),
            BoxStatus::InWarmth
        );
        assert_eq!(
            boxes_in_cold(&project, batch.id, day("2026-03-02")),
            boxes[1..]
        );
    }

    #[test]
    fn a_batch_is_in_the_cold_until_its_last_box_leaves() {
        let (mut project, batch, boxes, mut ids) = planned();
        let of = |project: &Project| {
            BatchStatus::of(project, project.chill_batches().get(batch.id).unwrap())
        };
        assert_eq!(of(&project), BatchStatus::Planned);
        project
            .apply(actions::start_batch(&batch, day("2026-01-01")))
            .unwrap();
        project
            .apply(actions::warm(&boxes[..1], day("2026-03-02"), &mut ids))
            .unwrap();
        assert_eq!(of(&project), BatchStatus::InCold);
        project
            .apply(actions::warm(&boxes[1..], day("2026-03-02"), &mut ids))
            .unwrap();
        assert_eq!(of(&project), BatchStatus::Emptied);
    }

    #[test]
    fn ending_a_batch_accounts_for_every_box_still_in_it() {
        let (mut project, batch, boxes, mut ids) = planned();
        project
            .apply(actions::start_batch(&batch, day("2026-01-01")))
            .unwrap();
        project
            .apply(actions::warm(&boxes[..1], day("2026-02-20"), &mut ids))
            .unwrap();
        let end = actions::end_batch(
            &project,
            batch.id,
            day("2026-02-21"),
            BoxFate::Lost,
            "power cut",
        );
        project.apply(end).unwrap();
        assert_eq!(
            status(&project, boxes[0], "2026-02-21"),
            BoxStatus::InWarmth
        );
        assert_eq!(
            status(&project, boxes[1], "2026-02-21"),
            BoxStatus::Gone(BoxFate::Lost)
        );
        let ended = project.chill_batches().get(batch.id).unwrap();
        assert_eq!(BatchStatus::of(&project, ended), BatchStatus::Ended);
        assert!(project.broken_rules().is_empty());
    }

    #[test]
    fn a_closed_run_and_a_batch_ended_without_a_word_are_told_apart() {
        let (mut project, batch, boxes, mut ids) = planned();
        project
            .apply(actions::start_batch(&batch, day("2026-01-01")))
            .unwrap();
        let run = Germination {
            id: ids.next(),
            chill_box: boxes[0],
            moved: day("2026-03-02"),
            place: String::new(),
            end: Some(crate::GerminationEnd {
                date: day("2026-04-01"),
                rest: crate::RestFate::NoneLeft,
                remark: String::new(),
            }),
        };
        project.apply(Edit::add(run)).unwrap();
        project
            .apply(Edit::set(
                batch.id,
                ChillBatchField::Ended(Some(day("2026-03-02"))),
            ))
            .unwrap();
        assert_eq!(status(&project, boxes[0], "2026-05-01"), BoxStatus::Closed);
        assert_eq!(
            status(&project, boxes[1], "2026-05-01"),
            BoxStatus::LeftCold
        );
    }

    #[test]
    fn two_calendar_months_from_new_year_are_59_days_and_end_on_the_first_of_march() {
        // A project's own rule (issue: 'two months' from 1 January end on 1 March); 31 + 28 days in 2026.
        let (_, mut batch, ..) = planned();
        batch.regimen.chill = Span::Months(2);
        batch.started = true;
        let progress = ChillProgress::of(&batch, day("2026-01-31"));
        assert_eq!((progress.days, progress.of), (30, 59));
        assert_eq!(progress.ready, day("2026-03-01"));
        assert_eq!(ChillProgress::of(&batch, day("2026-06-01")).days, 59);
        batch.ended = Some(day("2026-01-11"));
        assert_eq!(ChillProgress::of(&batch, day("2026-06-01")).days, 10);
        batch.started = false;
        assert_eq!(ChillProgress::of(&batch, day("2026-01-31")).days, 0);
    }

    #[test]
    fn a_crowded_box_is_told_in_numbers() {
        // Common practice: 50 to 100 seeds in a box, no two touching.
        let regimen = Regimen::default();
        assert_eq!(
            crowding(&regimen, 120).unwrap(),
            "120 seeds is 20 more than the 100 that fit in a box without touching."
        );
        assert_eq!(crowding(&regimen, 100), None);
        assert_eq!(crowding(&regimen, 50), None);
        assert!(
            crowding(&regimen, 49)
                .unwrap()
                .contains("meant for 50 to 100")
        );
    }
}

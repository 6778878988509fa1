//! Days on which checks of seed in the cold were due and nobody recorded one: what can be written up afterwards.

use crate::actions::check_boxes;
use crate::agenda::{next_check, next_check_if_clear};
use crate::date::shift;
use crate::edit::Edit;
use crate::id::{Id, IdSource};
use crate::project::Project;
use crate::record::chill::ChillBox;
use crate::words::plural;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// How far back days are looked for. Older ones are of no use to the seed, and nobody remembers them.
const REACH: i64 = 14;

/// A day on which checks were due and none is on record, and the boxes they were due for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissedDay {
    /// The day.
    pub day: NaiveDate,
    /// The boxes that were due, in the order of their codes.
    pub boxes: Vec<Id<ChillBox>>,
}

/// The days since the last check of any box on which boxes were due by their protocol, each check taken to find
/// nothing, and no check is on record; the earliest first. At most the fourteen last days are looked at.
pub fn missed_days(project: &Project, day: NaiveDate) -> Vec<MissedDay> {
    let reach = shift(day, -REACH);
    let last_round = project
        .checks()
        .iter()
        .map(|check| check.date)
        .filter(|on| *on < day)
        .max();
    let first = last_round.map_or(reach, |last| reach.max(shift(last, 1)));
    let mut missed: BTreeMap<NaiveDate, Vec<&ChillBox>> = BTreeMap::new();
    for chill_box in project.chill_boxes().iter() {
        let Some(batch) = project.chill_batches().get(chill_box.batch) else {
            continue;
        };
        let last = project
            .checks_of(chill_box.id)
            .filter(|check| check.date < day)
            .max_by_key(|check| check.date);
        let mut due = next_check(&batch.regimen, batch.start, last).max(reach);
        while due < day {
            if due >= first && was_in_cold(project, chill_box, due) {
                missed.entry(due).or_default().push(chill_box);
            }
            due = next_check_if_clear(&batch.regimen, batch.start, due);
        }
    }
    let in_order = |(day, mut boxes): (NaiveDate, Vec<&ChillBox>)| {
        boxes.sort_by(|one, other| one.code.cmp(&other.code));
        MissedDay {
            day,
            boxes: boxes.into_iter().map(|chill_box| chill_box.id).collect(),
        }
    };
    missed.into_iter().map(in_order).collect()
}

/// One check of each box on each of these days, nothing found: one edit, undone in one step.
pub fn same_checks(missed: &[MissedDay], ids: &mut IdSource) -> Edit {
    let checks: usize = missed.iter().map(|day| day.boxes.len()).sum();
    let days = missed.len() as u32;
    Edit::all(
        format!(
            "{checks} {} for {days} {}",
            plural(checks as u32, "check", "checks"),
            plural(days, "day", "days")
        ),
        missed
            .iter()
            .map(|missed| check_boxes(&missed.boxes, missed.day, ids))
            .collect(),
    )
}

fn was_in_cold(project: &Project, chill_box: &ChillBox, day: NaiveDate) -> bool {
    let Some(batch) = project.chill_batches().get(chill_box.batch) else {
        return false;
    };
    let left = |end: Option<NaiveDate>| end.is_some_and(|end| end <= day);
    batch.started
        && batch.start < day
        && !left(batch.ended)
        && !left(chill_box.end.as_ref().map(|end| end.date))
        && !left(project.run_of(chill_box.id).map(|run| run.moved))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{day, planned};
    use crate::{actions, record::chill::BoxFate};

    /// Two boxes, in the cold from 1 January 2026.
    fn in_cold() -> (Project, Vec<Id<ChillBox>>, IdSource) {
        let (mut project, batch, boxes, ids) = planned();
        let start = actions::start_batch(&batch, day("2026-01-01"));
        project.apply(start).unwrap();
        (project, boxes, ids)
    }

    fn days(missed: &[MissedDay]) -> Vec<String> {
        missed.iter().map(|missed| missed.day.to_string()).collect()
    }

    #[test]
    fn the_days_since_the_last_check_are_missed_and_written_up_in_one_step() {
        let (mut project, boxes, mut ids) = in_cold();
        let check = check_boxes(&boxes[..1], day("2026-01-05"), &mut ids);
        project.apply(check).unwrap();
        let missed = missed_days(&project, day("2026-01-09"));
        assert_eq!(days(&missed), ["2026-01-06", "2026-01-07", "2026-01-08"]);
        assert!(missed.iter().all(|missed| missed.boxes == boxes));
        let before = project.clone();
        let undo = project.apply(same_checks(&missed, &mut ids)).unwrap();
        assert_eq!(project.checks().len(), 1 + 3 * boxes.len());
        assert!(missed_days(&project, day("2026-01-09")).is_empty());
        project.apply(undo).unwrap();
        assert_eq!(project, before);
    }

    #[test]
    fn a_day_before_the_cold_is_not_missed_and_a_box_that_left_is_not_checked() {
        let (mut project, boxes, _) = in_cold();
        let missed = missed_days(&project, day("2026-01-04"));
        assert_eq!(days(&missed), ["2026-01-02", "2026-01-03"]);
        let end = crate::BoxEnd {
            date: day("2026-01-03"),
            fate: BoxFate::Discarded,
            cause: String::new(),
        };
        project.apply(actions::end_box(boxes[0], end)).unwrap();
        let missed = missed_days(&project, day("2026-01-04"));
        assert_eq!(missed[0].boxes, boxes);
        assert_eq!(missed[1].boxes, boxes[1..]);
    }

    /// Daily for a week, then weekly: between two weekly checks no day is missed.
    #[test]
    fn a_day_on_which_no_check_was_due_is_not_missed() {
        let (mut project, boxes, mut ids) = in_cold();
        let check = check_boxes(&boxes, day("2026-02-06"), &mut ids);
        project.apply(check).unwrap();
        assert!(missed_days(&project, day("2026-02-10")).is_empty());
        assert!(missed_days(&project, day("2026-02-13")).is_empty());
        let late = missed_days(&project, day("2026-02-21"));
        assert_eq!(days(&late), ["2026-02-13", "2026-02-20"]);
        project.apply(same_checks(&late, &mut ids)).unwrap();
        assert!(missed_days(&project, day("2026-02-21")).is_empty());
    }

    #[test]
    fn no_more_than_two_weeks_are_offered() {
        let (project, ..) = in_cold();
        let missed = missed_days(&project, day("2026-03-01"));
        assert!(missed.iter().all(|missed| missed.day >= day("2026-02-15")));
        assert!(!missed.is_empty());
    }
}

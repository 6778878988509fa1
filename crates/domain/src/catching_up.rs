//! Days on which seed was in the cold and nobody recorded a check: what can be written up afterwards.

use crate::actions::{check_boxes, plural};
use crate::edit::Edit;
use crate::id::{Id, IdSource};
use crate::project::Project;
use crate::record::chill::ChillBox;
use chrono::NaiveDate;

/// How far back days are looked for. Older ones are of no use to the seed, and nobody remembers them.
const REACH: usize = 14;

/// A day without a check, and the boxes that were in the cold on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissedDay {
    /// The day.
    pub day: NaiveDate,
    /// The boxes that were in the cold, in the order of their codes.
    pub boxes: Vec<Id<ChillBox>>,
}

/// The days in a row just before `day` on which boxes were in the cold and no check of any box is on record, the
/// earliest first. At most the fourteen last.
pub fn missed_days(project: &Project, day: NaiveDate) -> Vec<MissedDay> {
    let mut missed = Vec::new();
    let mut on = day;
    for _ in 0..REACH {
        let Some(before) = on.pred_opt() else { break };
        on = before;
        let mut boxes: Vec<&ChillBox> = project
            .chill_boxes()
            .iter()
            .filter(|chill_box| was_in_cold(project, chill_box, on))
            .collect();
        let checked = boxes.iter().any(|chill_box| {
            project
                .checks_of(chill_box.id)
                .any(|check| check.date == on)
        });
        if boxes.is_empty() || checked {
            break;
        }
        boxes.sort_by(|one, other| one.code.cmp(&other.code));
        missed.push(MissedDay {
            day: on,
            boxes: boxes.into_iter().map(|chill_box| chill_box.id).collect(),
        });
    }
    missed.reverse();
    missed
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
    use crate::{
        LotSource, Protocol, Regimen, SeedAmount, SeedLot, actions, record::chill::BoxFate,
    };

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// Two boxes, in the cold from 1 January 2026.
    fn in_cold() -> (Project, Vec<Id<ChillBox>>, IdSource) {
        let mut ids = IdSource::new(0, 0);
        let mut project = Project::default();
        let protocol = Protocol {
            id: ids.next(),
            name: "usual".into(),
            regimen: Regimen::default(),
            source: String::new(),
        };
        let lot = SeedLot {
            id: ids.next(),
            code: "L".into(),
            source: LotSource::Unknown,
            harvested: None,
            cleaned: None,
            amount: Some(SeedAmount::Counted(500)),
            place: String::new(),
            conditions: String::new(),
        };
        let (protocol_id, lot_id) = (protocol.id, lot.id);
        project.apply(Edit::add(protocol)).unwrap();
        project.apply(Edit::add(lot)).unwrap();
        let start = day("2026-01-01");
        let batch = actions::plan_batch(&project, protocol_id, start, &mut ids).unwrap();
        project.apply(Edit::add(batch.clone())).unwrap();
        let lay = actions::lay_boxes(&project, &batch, lot_id, 150, 100, &mut ids);
        project.apply(lay).unwrap();
        project.apply(actions::start_batch(&batch, start)).unwrap();
        let boxes = project.boxes_of(batch.id).map(|each| each.id).collect();
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

    #[test]
    fn no_more_than_two_weeks_are_offered() {
        let (project, ..) = in_cold();
        let missed = missed_days(&project, day("2026-03-01"));
        assert_eq!(missed.len(), 14);
        assert_eq!(missed[0].day, day("2026-02-15"));
    }
}

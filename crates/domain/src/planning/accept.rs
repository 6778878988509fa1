//! Taking a plan on: its crosses planned, in one edit.

use super::{SeasonDates, SeasonPlan};
use crate::{Advised, Cross, Edit, IdSource, Pollen, Project, Refusal, actions};
use chrono::NaiveDate;

/// Plans every cross of a plan: coded, with its day of pollination and the seeds wanted. One edit, undone in one step.
///
/// Nothing else is written: bagging, pollination, harvest and cleaning follow from the day, and the latest start of
/// chilling, hardening off and planting out from the goals.
///
/// # Errors
/// What the rules of crosses refuse, such as a parent that died in the meantime.
pub fn accept(
    project: &Project,
    plan: &SeasonPlan,
    dates: &SeasonDates,
    today: NaiveDate,
    ids: &mut IdSource,
) -> Result<Edit, Refusal> {
    // Codes are given one after the other, each in sight of those before.
    let mut sketch = project.clone();
    let mut edits = Vec::with_capacity(plan.crosses.len());
    for (cross, &day) in plan.crosses.iter().zip(&dates.pollination) {
        let season = actions::season_of(project, day);
        let planned = Cross {
            id: ids.next(),
            code: actions::next_cross_code(&sketch, season),
            female: cross.female,
            pollen: Pollen::Male(cross.male),
            season,
            planned_pollination: Some(day),
            seeds_wanted: Some(cross.seeds),
            purpose: format!("Plan of season {}.", dates.season),
            advised: Some(Advised {
                on: today,
                season: dates.season,
                wanted: project.settings().goals.good_females,
                chance: plan.chance.clamp(0.0, 1.0),
                seeds: cross.seeds,
                sprouts: cross.sprouts,
                good_females: cross.females,
            }),
        };
        let edit = actions::plan_cross(planned, today, ids);
        sketch.apply(edit.clone())?;
        edits.push(edit);
    }
    let count = edits.len();
    let crosses = if count == 1 { "cross" } else { "crosses" };
    Ok(Edit::all(
        format!("plan {count} {crosses} of {}", dates.season),
        edits,
    ))
}

//! Which box to open first: what is known of each box, weighed.
//!
//! The weights are our own and put boxes in order, no more: each is told with its reason.

use crate::project::Project;
use crate::temperature::{Exposure, cold_week};
use crate::words::plural;
use crate::{Check, ChillBatch, ChillBox, Id, Moisture};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What is known of a box that is in the cold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxRisk {
    /// The box.
    pub chill_box: Id<ChillBox>,
    /// The more, the sooner it wants a look.
    pub weight: u32,
    /// Why, in a few words each, the weightiest first.
    pub reasons: Vec<String>,
}

/// How far back mould is remembered, in days.
const MEMORY: i64 = 28;

/// These boxes, the one that wants a look most first; those alike in the order of their codes.
pub fn by_risk(project: &Project, boxes: &[Id<ChillBox>], today: NaiveDate) -> Vec<BoxRisk> {
    let mut weeks = BTreeMap::<Id<ChillBatch>, Option<Exposure>>::new();
    let mut risks: Vec<(BoxRisk, &str)> = boxes
        .iter()
        .filter_map(|id| project.chill_boxes().get(*id))
        .filter_map(|chill_box| {
            let batch = project.chill_batches().get(chill_box.batch)?;
            let week = weeks
                .entry(batch.id)
                .or_insert_with(|| cold_week(project, batch, today));
            Some((
                risk(project, chill_box, batch, week.as_ref(), today),
                chill_box.code.as_str(),
            ))
        })
        .collect();
    risks.sort_by(|(one, one_code), (other, other_code)| {
        other
            .weight
            .cmp(&one.weight)
            .then_with(|| one_code.cmp(other_code))
    });
    risks.into_iter().map(|(risk, _)| risk).collect()
}

fn risk(
    project: &Project,
    chill_box: &ChillBox,
    batch: &ChillBatch,
    week: Option<&Exposure>,
    today: NaiveDate,
) -> BoxRisk {
    let by_then = |check: &&Check| check.date <= today;
    let checks: Vec<&Check> = project.checks_of(chill_box.id).filter(by_then).collect();
    let last = checks.last();
    let mut weighed: Vec<(u32, String)> = Vec::new();
    let unseen = (today - last.map_or(batch.start, |check| check.date))
        .num_days()
        .max(0) as u32;
    let every = batch.regimen.check_every.max(1);
    if unseen > 1 {
        let weight = (unseen * 10 / every).min(60);
        weighed.push((weight, format!("not checked for {unseen} days")));
    }
    match last.and_then(|check| check.moisture) {
        Some(Moisture::Dry) => weighed.push((25, "dry last time".into())),
        Some(Moisture::Wet) => weighed.push((25, "wet last time".into())),
        Some(Moisture::Moist) | None => {}
    }
    let mouldy = mouldy_looks(&checks, today);
    if mouldy > 0 {
        let lately = last.is_some_and(|check| check.mouldy_removed > 0);
        let weight = (mouldy * 10).min(30) + if lately { 20 } else { 0 };
        let checks = plural(mouldy, "check", "checks");
        weighed.push((weight, format!("mould at {mouldy} recent {checks}")));
    }
    if last.is_some_and(|check| check.sprouted_early > 0) {
        weighed.push((10, "sprouting in the cold".into()));
    }
    if chill_box.seeds > batch.regimen.box_to {
        weighed.push((10, "seeds touch".into()));
    }
    let read = last.and_then(|check| check.temperature);
    if week.is_some_and(|week| week.freezing > 0.0)
        || read.is_some_and(|read| read <= batch.regimen.freezing)
    {
        weighed.push((20, "freezing this week".into()));
    }
    let warm = week.is_some_and(|week| week.above >= 6.0);
    if warm || read.is_some_and(|read| read > batch.regimen.cold_to) {
        weighed.push((15, "warm this week".into()));
    }
    weighed.sort_by_key(|(weight, _)| std::cmp::Reverse(*weight));
    BoxRisk {
        chill_box: chill_box.id,
        weight: weighed.iter().map(|(weight, _)| weight).sum(),
        reasons: weighed.into_iter().map(|(_, reason)| reason).collect(),
    }
}

fn mouldy_looks(checks: &[&Check], today: NaiveDate) -> u32 {
    let mouldy = checks
        .iter()
        .filter(|check| check.mouldy_removed > 0 && (today - check.date).num_days() <= MEMORY);
    mouldy.count() as u32
}

/// Where mould that comes back in a box may come from, and what to look at (common practice); nothing unless it was
/// found on two looks of late.
pub fn mould_advice(project: &Project, chill_box: &ChillBox, today: NaiveDate) -> Vec<String> {
    let checks: Vec<&Check> = project.checks_of(chill_box.id).collect();
    if mouldy_looks(&checks, today) < 2 {
        return Vec::new();
    }
    let Some(batch) = project.chill_batches().get(chill_box.batch) else {
        return Vec::new();
    };
    let mut advice = Vec::new();
    if chill_box.seeds > batch.regimen.box_to {
        advice.push(format!(
            "It holds {} seeds, but only {} fit without touching: spread them over two boxes.",
            chill_box.seeds, batch.regimen.box_to
        ));
    }
    if checks
        .iter()
        .any(|check| check.moisture == Some(Moisture::Wet))
    {
        advice.push("It was wet: let it drain, the towel only damp.".into());
    }
    match &batch.sterilised {
        None => advice.push("No surface sterilisation is recorded for this batch: the seed coats may carry the mould.".into()),
        Some(bath) => advice.push(format!(
            "The bath was {} min: compare its strength and minutes with those of batches without mould.",
            bath.minutes
        )),
    }
    if cold_week(project, batch, today).is_some_and(|week| week.above >= 6.0) {
        advice.push("It was above the target range this week: mould grows faster there.".into());
    }
    let others = project
        .boxes_of(batch.id)
        .filter(|other| other.id != chill_box.id);
    let mouldy = others
        .filter(|other| mouldy_looks(&project.checks_of(other.id).collect::<Vec<_>>(), today) > 0)
        .count();
    advice.push(match mouldy {
        0 => "No other box of the batch had mould recently: change its towel and lid, and check its seed lot.".into(),
        others => format!(
            "{others} other {} of the batch had mould recently: check the bath, the towels and the water.",
            plural(others as u32, "box", "boxes")
        ),
    });
    advice
}

//! Crosses: parents not surely known, females not surely isolated, records that stop halfway.

use super::Found;
use crate::date::shift;
use crate::project::Project;
use crate::{Cross, CrossEventKind, Pollen};
use chrono::NaiveDate;

/// After so many days a harvest without a seed lot is forgotten rather than drying.
const SEED_OVERDUE: i64 = 60;

pub(super) fn find(found: &mut Found<'_>) {
    for cross in found.project.crosses().iter() {
        parents(found, cross);
        let days = Days::of(found.project, cross);
        isolation(found, cross, &days);
        gaps(found, cross, &days);
    }
}

/// The first day each thing happened.
struct Days {
    bagged: Option<NaiveDate>,
    receptive: Option<NaiveDate>,
    pollinated: Option<NaiveDate>,
    last_pollinated: Option<NaiveDate>,
    bag_off: Option<NaiveDate>,
    harvested: Option<NaiveDate>,
    failed: Option<NaiveDate>,
}

impl Days {
    fn of(project: &Project, cross: &Cross) -> Self {
        let first = |wanted: fn(&CrossEventKind) -> bool| {
            project
                .events_of(cross.id)
                .find(|event| wanted(&event.what))
                .map(|event| event.date)
        };
        Self {
            bagged: first(|what| matches!(what, CrossEventKind::FemaleBagged { .. })),
            receptive: first(|what| *what == CrossEventKind::Receptive),
            pollinated: first(|what| *what == CrossEventKind::Pollinated),
            last_pollinated: project.last_pollination(cross.id),
            bag_off: first(|what| *what == CrossEventKind::BagOff),
            harvested: first(|what| matches!(what, CrossEventKind::ConesHarvested { .. })),
            failed: first(|what| matches!(what, CrossEventKind::Failed { .. })),
        }
    }
}

fn parents(found: &mut Found<'_>, cross: &Cross) {
    let (project, code) = (found.project, &cross.code);
    for parent in std::iter::once(cross.female).chain(cross.pollen.males()) {
        if project
            .genotypes()
            .get(parent)
            .is_some_and(|plant| plant.sex.is_none())
        {
            let role = if parent == cross.female {
                "seed parent"
            } else {
                "pollen parent"
            };
            let what = format!(
                "{} is the {role} of {code}, but its sex isn't recorded.",
                project.code_of(parent)
            );
            found.doubt(cross.id, what, "Record its sex when it flowers.");
        }
    }
    match &cross.pollen {
        Pollen::Unknown => {
            let what = format!("The pollen of {code} is unknown.");
            found.gap(
                cross.id,
                what,
                "Record the male if it can still be found out.",
            );
        }
        Pollen::Mix(shares) if shares.iter().any(|share| share.share.is_none()) => {
            let what = format!("The shares of the pollen mix of {code} aren't all known.");
            found.gap(cross.id, what, "Estimate them if you can.");
        }
        _ => {}
    }
}

/// Orders of events that would not have kept stray pollen out.
fn isolation(found: &mut Found<'_>, cross: &Cross, days: &Days) {
    let code = &cross.code;
    if !matches!(cross.pollen, Pollen::Open) {
        match (days.bagged, days.pollinated) {
            (None, Some(day)) => {
                let what = format!("{code} was pollinated on {day} without a bag on record.");
                found.doubt(
                    cross.id,
                    what,
                    "Other pollen may have got in: add the bagging, or call the pollen open.",
                );
            }
            (Some(bag), Some(day)) if bag > day => {
                let what = format!("{code} was bagged on {bag}, after pollen was given on {day}.");
                found.doubt(
                    cross.id,
                    what,
                    "The female wasn't isolated: correct the dates, or doubt the male.",
                );
            }
            _ => {}
        }
    }
    if let (Some(bag), Some(ready)) = (days.bagged, days.receptive)
        && bag >= ready
    {
        let what = format!(
            "{code} was bagged on {bag}, but her flowers were ready for pollen on {ready}."
        );
        found.doubt(
            cross.id,
            what,
            "Stray pollen may have come first: doubt the male of these seeds.",
        );
    }
    if let (Some(off), Some(given)) = (days.bag_off, days.last_pollinated)
        && off <= given
    {
        let what =
            format!("The bags of {code} came off on {off}; pollen was last given on {given}.");
        found.doubt(
            cross.id,
            what,
            "Stray pollen may have got in: correct the dates, or doubt the male.",
        );
    }
}

fn gaps(found: &mut Found<'_>, cross: &Cross, days: &Days) {
    if days.failed.is_some() {
        return;
    }
    let (project, code) = (found.project, &cross.code);
    if days
        .harvested
        .is_some_and(|day| shift(day, SEED_OVERDUE) < found.today)
        && project.lots_of(cross.id).next().is_none()
    {
        let what = format!("{code} was harvested but has no seed lot.");
        found.gap(cross.id, what, "Record the seed, or that the cross failed.");
    }
    if cross.planned_pollination.is_none() && days.pollinated.is_none() && days.harvested.is_none()
    {
        let what = format!("{code} has no day planned for pollination.");
        found.gap(
            cross.id,
            what,
            "Give a day, so that the calendar can remind you.",
        );
    }
}

//! From clean seed to planting out: what the last day to plant out asks of the season's crosses.

use super::{Collector, ItemKind, Milestones};
use crate::date::InWords as _;
use crate::planning::Back;
use crate::project::Project;
use crate::{Cross, CrossEventKind, Regimen};
use chrono::NaiveDate;

/// A day of planting out up to so many days after a cross's harvest is taken to be meant for that cross.
const A_YEAR: i64 = 365;

/// One item of each kind for all crosses of the season, about the first of them: seed into the cold at the latest
/// while there are crosses without a box, hardening off and planting out while their days are to come.
pub(super) fn season_items(project: &Project, collect: &mut Collector<'_>) {
    let Some(plant_out) = project.settings().goals.plant_out_by else {
        return;
    };
    let meant: Vec<&Cross> = project
        .crosses()
        .iter()
        .filter(|cross| is_meant(project, cross, plant_out))
        .collect();
    let Some(first) = meant.first() else {
        return;
    };
    let protocol = project
        .settings()
        .protocol
        .and_then(|protocol| project.protocols().get(protocol));
    let regimen = protocol.map_or_else(Regimen::default, |protocol| protocol.regimen.clone());
    let back = Back::from(plant_out, &regimen);
    let unlaid: Vec<&&Cross> = meant
        .iter()
        .filter(|cross| !is_laid(project, cross))
        .collect();
    if let Some(cross) = unlaid.first() {
        collect.open(cross.id, ItemKind::LayInBoxes, back.chill, None, || {
            (
                format!("Seed of {} into the cold at the latest", counted(&unlaid)),
                format!(
                    "{} of cold, then warmth by {}, to plant out by {}.",
                    regimen.chill,
                    back.warmth.in_words(),
                    plant_out.in_words()
                ),
            )
        });
    }
    let all: Vec<&&Cross> = meant.iter().collect();
    if back.harden >= collect.today {
        collect.open(
            first.id,
            ItemKind::HardenOff,
            back.harden,
            Some(plant_out),
            || {
                (
                    format!("Harden off the seedlings of {}", counted(&all)),
                    "Outdoors by day, out of sun and wind at first.".into(),
                )
            },
        );
    }
    if plant_out >= collect.today {
        collect.open(first.id, ItemKind::PlantOut, plant_out, None, || {
            (
                format!("Plant out the seedlings of {}", counted(&all)),
                "The last day set with the goals.".into(),
            )
        });
    }
}

fn counted(crosses: &[&&Cross]) -> String {
    match crosses {
        [one] => one.code.clone(),
        many => format!("{} crosses", many.len()),
    }
}

/// Whether seedlings of the cross are to be planted out on that day.
fn is_meant(project: &Project, cross: &Cross, plant_out: NaiveDate) -> bool {
    let failed = project
        .events_of(cross.id)
        .any(|event| matches!(event.what, CrossEventKind::Failed { .. }));
    let ripe = Milestones::of(project, cross).map(|milestones| milestones.ripe_from);
    !failed
        && ripe.is_some_and(|ripe| {
            let days = (plant_out - ripe).num_days();
            days > 0 && days <= A_YEAR
        })
}

fn is_laid(project: &Project, cross: &Cross) -> bool {
    project
        .lots_of(cross.id)
        .any(|lot| project.boxes_from(lot.id).next().is_some())
}

//! Sprouts that wait to be potted, from the cold or from warmth, and those that were.

use super::{Collector, ItemKind};
use crate::id::AnyId;
use crate::ledger::unpotted;
use crate::project::Project;
use crate::words::plural;
use crate::{ChillBox, PartialDate};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Asks for the sprouts of a box to be potted within these days, if any wait.
pub(super) fn ask(
    project: &Project,
    chill_box: &ChillBox,
    about: impl Into<AnyId>,
    (due, latest): (NaiveDate, NaiveDate),
    collect: &mut Collector<'_>,
) {
    let waiting = unpotted(project, chill_box);
    if waiting == 0 {
        return;
    }
    collect.open(about, ItemKind::PotUp, due, Some(latest), || {
        let what = plural(waiting, "sprout", "sprouts");
        (
            format!("Pot up {waiting} {what} of box {}", chill_box.code),
            format!(
                "Lot {}. Number each pot as it is filled.",
                project.code_of(chill_box.lot)
            ),
        )
    });
}

/// Tells on which days seedlings of a box were potted.
pub(super) fn tell(project: &Project, chill_box: &ChillBox, collect: &mut Collector<'_>) {
    let mut potted = BTreeMap::new();
    for plant in project.potted_out_of(chill_box.id) {
        if let Some(PartialDate::Day(day)) = plant.born {
            let from = plant
                .potted_from
                .map_or_else(|| AnyId::from(chill_box.id), AnyId::from);
            *potted.entry((day, from)).or_insert(0) += 1;
        }
    }
    for ((day, from), count) in potted {
        collect.done(from, ItemKind::PotUp, day, || {
            let what = plural(count, "seedling", "seedlings");
            (
                format!("Box {}: {count} {what} potted", chill_box.code),
                String::new(),
            )
        });
    }
}

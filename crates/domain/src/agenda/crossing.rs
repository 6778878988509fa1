//! From the bag on the female to clean seed.

use super::{Collector, ItemKind};
use crate::date::shift;
use crate::display::pollen_words;
use crate::project::Project;
use crate::{Cross, CrossEventKind, Pollen};
use chrono::NaiveDate;

/// The milestones of a cross, calculated from its pollination: given, or else planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Milestones {
    /// The female is bagged by this day.
    pub bag: NaiveDate,
    /// Pollen is given, or was first given.
    pub pollinate: NaiveDate,
    /// The bags come off.
    pub bags_off: NaiveDate,
    /// Seed is ripe, at the earliest.
    pub ripe_from: NaiveDate,
    /// Seed is ripe, at the latest.
    pub ripe_to: NaiveDate,
}

impl Milestones {
    /// Nothing while the cross has neither a planned nor a real pollination.
    pub fn of(project: &Project, cross: &Cross) -> Option<Self> {
        let timing = &project.settings().cross_timing;
        let given = |pick: fn(Vec<NaiveDate>) -> Option<NaiveDate>| {
            pick(
                project
                    .events_of(cross.id)
                    .filter(|event| event.what == CrossEventKind::Pollinated)
                    .map(|event| event.date)
                    .collect(),
            )
        };
        let first = given(|days| days.into_iter().min()).or(cross.planned_pollination)?;
        let last = given(|days| days.into_iter().max()).unwrap_or(first);
        Some(Self {
            bag: shift(first, -i64::from(timing.bag_before)),
            pollinate: first,
            bags_off: shift(last, timing.bag_off_after.into()),
            ripe_from: shift(last, timing.ripe_from.into()),
            ripe_to: shift(last, timing.ripe_to.into()),
        })
    }
}

pub(super) fn cross_items(project: &Project, cross: &Cross, collect: &mut Collector<'_>) {
    let (mut bagged, mut pollinated, mut bags_off, mut harvested, mut failed) =
        (false, false, false, None, false);
    for event in project.events_of(cross.id) {
        let kind = match event.what {
            CrossEventKind::FemaleBagged { .. } => {
                bagged = true;
                ItemKind::BagFemale
            }
            CrossEventKind::Pollinated => {
                pollinated = true;
                ItemKind::GivePollen
            }
            CrossEventKind::BagOff => {
                bags_off = true;
                ItemKind::TakeBagsOff
            }
            CrossEventKind::ConesHarvested { .. } => {
                harvested = Some(event.date);
                ItemKind::HarvestCones
            }
            CrossEventKind::Failed { .. } => {
                failed = true;
                continue;
            }
            CrossEventKind::Planned
            | CrossEventKind::Receptive
            | CrossEventKind::PollenCollected
            | CrossEventKind::PollenStored { .. } => continue,
        };
        collect.done(cross.id, kind, event.date, || {
            (
                format!("{}: {}", cross.code, event.what.words()),
                event.remark.clone(),
            )
        });
    }
    let cleaned = project
        .lots_of(cross.id)
        .filter(|lot| lot.amount.is_some())
        .collect::<Vec<_>>();
    for lot in &cleaned {
        if let Some(day) = lot.cleaned {
            collect.done(cross.id, ItemKind::CleanSeed, day, || {
                (
                    format!("{}: seed cleaned, lot {}", cross.code, lot.code),
                    String::new(),
                )
            });
        }
    }
    if failed {
        return;
    }
    if let Some(harvested) = harvested {
        if cleaned.is_empty() {
            let due = shift(
                harvested,
                project.settings().cross_timing.clean_within.into(),
            );
            collect.open(cross.id, ItemKind::CleanSeed, harvested, Some(due), || {
                (
                    format!("Clean and count the seed of {}", cross.code),
                    format!("{}. Dry the cones first.", parents_of(project, cross)),
                )
            });
        }
        return;
    }
    milestone_items(project, cross, [bagged, pollinated, bags_off], collect);
}

/// What is open between the bag and the harvest.
fn milestone_items(
    project: &Project,
    cross: &Cross,
    [bagged, pollinated, bags_off]: [bool; 3],
    collect: &mut Collector<'_>,
) {
    let Some(milestones) = Milestones::of(project, cross) else {
        return;
    };
    let controlled = !matches!(cross.pollen, Pollen::Open);
    if controlled && !bagged && !pollinated {
        collect.open(cross.id, ItemKind::BagFemale, milestones.bag, None, || {
            let detail = format!(
                "{}. Bag before her flowers become receptive; write the label first.",
                parents_of(project, cross)
            );
            (
                format!("Bag {} for {}", project.code_of(cross.female), cross.code),
                detail,
            )
        });
    }
    if controlled && !pollinated {
        collect.open(
            cross.id,
            ItemKind::GivePollen,
            milestones.pollinate,
            None,
            || {
                (
                    format!("Pollinate {}", cross.code),
                    format!(
                        "{}. Read both labels aloud before opening the bag.",
                        parents_of(project, cross)
                    ),
                )
            },
        );
    }
    if controlled && (bagged || !pollinated) && !bags_off {
        collect.open(
            cross.id,
            ItemKind::TakeBagsOff,
            milestones.bags_off,
            None,
            || {
                (
                    format!("Take the bags off {}", cross.code),
                    format!("{}. Leave the labels on.", parents_of(project, cross)),
                )
            },
        );
    }
    collect.open(
        cross.id,
        ItemKind::HarvestCones,
        milestones.ripe_from,
        Some(milestones.ripe_to),
        || {
            (
                format!("Harvest the cones of {}", cross.code),
                format!(
                    "{}. Ripe seed is brown and hard.",
                    parents_of(project, cross)
                ),
            )
        },
    );
}

/// Female and pollen, as on the label.
fn parents_of(project: &Project, cross: &Cross) -> String {
    format!(
        "{} × {}",
        project.code_of(cross.female),
        pollen_words(project, &cross.pollen)
    )
}

//! From the bag on the female to clean seed.

use super::{Collector, Duty};
use crate::date::shift;
use crate::project::Project;
use crate::{Cross, CrossEventKind, Pollen};
use chrono::NaiveDate;

/// The milestones of a cross, reckoned from its pollination: given, or else planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Milestones {
    pub(crate) bag: NaiveDate,
    pub(crate) pollinate: NaiveDate,
    pub(crate) bags_off: NaiveDate,
    pub(crate) ripe_from: NaiveDate,
    pub(crate) ripe_to: NaiveDate,
}

impl Milestones {
    /// Nothing while the cross has neither a planned nor a real pollination.
    pub(crate) fn of(project: &Project, cross: &Cross) -> Option<Self> {
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
    let progress = Progress::of(project, cross);
    done_items(project, cross, collect);
    if has_failed(project, cross) {
        return;
    }
    match progress.harvested {
        Some(day) => seed_items(project, cross, day, collect),
        None => plant_items(project, cross, &progress, collect),
    }
}

fn has_failed(project: &Project, cross: &Cross) -> bool {
    project
        .events_of(cross.id)
        .any(|event| matches!(event.what, CrossEventKind::Failed { .. }))
}

/// How far a cross has come.
#[derive(Default)]
struct Progress {
    bagged: bool,
    pollinated: bool,
    bags_off: bool,
    harvested: Option<NaiveDate>,
}

impl Progress {
    fn of(project: &Project, cross: &Cross) -> Self {
        let mut progress = Self::default();
        for event in project.events_of(cross.id) {
            match event.what {
                CrossEventKind::FemaleBagged { .. } => progress.bagged = true,
                CrossEventKind::Pollinated => progress.pollinated = true,
                CrossEventKind::BagOff => progress.bags_off = true,
                CrossEventKind::ConesHarvested { .. } => progress.harvested = Some(event.date),
                CrossEventKind::Failed { .. }
                | CrossEventKind::Planned
                | CrossEventKind::Receptive
                | CrossEventKind::PollenCollected
                | CrossEventKind::PollenStored { .. } => {}
            }
        }
        progress
    }
}

fn done_items(project: &Project, cross: &Cross, collect: &mut Collector<'_>) {
    for event in project.events_of(cross.id) {
        let duty = match event.what {
            CrossEventKind::FemaleBagged { .. } => Duty::BagFemale,
            CrossEventKind::Pollinated => Duty::GivePollen,
            CrossEventKind::BagOff => Duty::TakeBagsOff,
            CrossEventKind::ConesHarvested { .. } => Duty::HarvestCones,
            _ => continue,
        };
        collect.done(cross.id, duty, event.date, || {
            (
                format!("{}: {}", cross.code, event.what.words()),
                event.remark.clone(),
            )
        });
    }
    for lot in project.lots_of(cross.id).filter(|lot| lot.amount.is_some()) {
        if let Some(day) = lot.cleaned {
            let words = || {
                (
                    format!("{}: seed cleaned, lot {}", cross.code, lot.code),
                    String::new(),
                )
            };
            collect.done(cross.id, Duty::CleanSeed, day, words);
        }
    }
}

/// The seed of a harvested cross waits to be cleaned.
fn seed_items(project: &Project, cross: &Cross, harvested: NaiveDate, collect: &mut Collector<'_>) {
    if project.lots_of(cross.id).any(|lot| lot.amount.is_some()) {
        return;
    }
    let due = shift(
        harvested,
        project.settings().cross_timing.clean_within.into(),
    );
    collect.open(cross.id, Duty::CleanSeed, harvested, Some(due), || {
        let detail = format!("{}. Dry the cones first.", parents(project, cross));
        (
            format!("Clean and count the seed of {}", cross.code),
            detail,
        )
    });
}

/// From the bag on the female to her ripe cones.
fn plant_items(project: &Project, cross: &Cross, progress: &Progress, collect: &mut Collector<'_>) {
    let Some(milestones) = Milestones::of(project, cross) else {
        return;
    };
    let code = &cross.code;
    let with_parents = |advice: &str| format!("{}. {advice}", parents(project, cross));
    let controlled = !matches!(cross.pollen, Pollen::Open);
    if controlled && !progress.bagged && !progress.pollinated {
        collect.open(cross.id, Duty::BagFemale, milestones.bag, None, || {
            let title = format!("Bag {} for {code}", project.code_of(cross.female));
            (
                title,
                with_parents("Bag before her flowers can take pollen; write the label first."),
            )
        });
    }
    if controlled && !progress.pollinated {
        collect.open(
            cross.id,
            Duty::GivePollen,
            milestones.pollinate,
            None,
            || {
                (
                    format!("Pollinate {code}"),
                    with_parents("Read both labels aloud before opening the bag."),
                )
            },
        );
    }
    if controlled && (progress.bagged || !progress.pollinated) && !progress.bags_off {
        collect.open(
            cross.id,
            Duty::TakeBagsOff,
            milestones.bags_off,
            None,
            || {
                (
                    format!("Take the bags off {code}"),
                    with_parents("Leave the labels on."),
                )
            },
        );
    }
    let (from, to) = (milestones.ripe_from, milestones.ripe_to);
    collect.open(cross.id, Duty::HarvestCones, from, Some(to), || {
        (
            format!("Harvest the cones of {code}"),
            with_parents("Ripe seed is brown and hard."),
        )
    });
}

/// Female × male.
fn parents(project: &Project, cross: &Cross) -> String {
    format!(
        "{} × {}",
        project.code_of(cross.female),
        pollen_words(project, &cross.pollen)
    )
}

/// The pollen of a cross in words: the male's code, the males of a mix, or that it is open or unknown.
pub fn pollen_words(project: &Project, pollen: &Pollen) -> String {
    match pollen {
        Pollen::Male(male) => project.code_of(*male).to_owned(),
        Pollen::Mix(shares) => shares
            .iter()
            .map(|share| project.code_of(share.male))
            .collect::<Vec<_>>()
            .join(" + "),
        Pollen::Open => "open".into(),
        Pollen::Unknown => "unknown pollen".into(),
    }
}

//! Runs put together by what is to be compared.

use crate::words::plural;
use crate::{ChillBatch, ChillBox, Cross, Germination, Id, LotSource, Project, SeedLot};
use chrono::Datelike as _;
use std::collections::BTreeMap;

/// By what runs are put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum By {
    /// The seed lot.
    #[default]
    Lot,
    /// The cross the seed is of.
    Cross,
    /// The chill protocol, and whether it was a second chill.
    Treatment,
    /// The weeks in the cold.
    Weeks,
    /// The year the box was moved to warmth.
    Season,
    /// The box alone.
    Box,
}

impl By {
    /// Every way.
    pub const ALL: [Self; 6] = [
        Self::Lot,
        Self::Cross,
        Self::Treatment,
        Self::Weeks,
        Self::Season,
        Self::Box,
    ];

    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Lot => "lots",
            Self::Cross => "crosses",
            Self::Treatment => "treatments",
            Self::Weeks => "weeks of cold",
            Self::Season => "seasons",
            Self::Box => "boxes",
        }
    }

    fn group(self, project: &Project, run: &Germination) -> Option<Group> {
        let chill_box = project.chill_boxes().get(run.chill_box)?;
        let batch = project.chill_batches().get(chill_box.batch);
        match self {
            Self::Box => Some(Group::Box(run.id)),
            Self::Lot => Some(Group::Lot(chill_box.lot)),
            Self::Cross => match project.seed_lots().get(chill_box.lot)?.source {
                LotSource::Cross(cross) => Some(Group::Cross(cross)),
                _ => None,
            },
            Self::Treatment => Some(Group::Treatment(treatment(batch?, chill_box))),
            Self::Weeks => {
                let days = (run.moved - batch?.start).num_days().max(0);
                Some(Group::Weeks((days + 3) as u32 / 7))
            }
            Self::Season => Some(Group::Season(run.moved.year())),
        }
    }
}

pub(super) fn treatment(batch: &ChillBatch, chill_box: &ChillBox) -> String {
    let protocol = if batch.protocol.is_empty() {
        format!("chill of {}", batch.regimen.chill)
    } else {
        batch.protocol.clone()
    };
    if chill_box.rechilled_from.is_some() {
        format!("{protocol}, second chill")
    } else {
        protocol
    }
}

/// Runs that belong together.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Of one lot.
    Lot(Id<SeedLot>),
    /// Of one cross.
    Cross(Id<Cross>),
    /// Of one treatment.
    Treatment(String),
    /// After so many weeks of cold, to the nearest.
    Weeks(u32),
    /// Of one year.
    Season(i32),
    /// One run.
    Box(Id<Germination>),
}

impl Group {
    /// Its name.
    pub fn title(&self, project: &Project) -> String {
        match self {
            Self::Lot(lot) => project.code_of(*lot).to_owned(),
            Self::Cross(cross) => project.code_of(*cross).to_owned(),
            Self::Treatment(name) => name.clone(),
            Self::Weeks(weeks) => format!("{weeks} {} of cold", plural(*weeks, "week", "weeks")),
            Self::Season(year) => year.to_string(),
            Self::Box(run) => project
                .germinations()
                .get(*run)
                .map_or_else(String::new, |run| {
                    format!("Box {}", project.code_of(run.chill_box))
                }),
        }
    }

    /// By what it was put together.
    pub const fn by(&self) -> By {
        match self {
            Self::Lot(_) => By::Lot,
            Self::Cross(_) => By::Cross,
            Self::Treatment(_) => By::Treatment,
            Self::Weeks(_) => By::Weeks,
            Self::Season(_) => By::Season,
            Self::Box(_) => By::Box,
        }
    }
}

/// The groups there are, in the order of their names, each with its runs by day.
pub fn groups(project: &Project, by: By) -> Vec<(Group, Vec<Id<Germination>>)> {
    let mut found: BTreeMap<Group, Vec<&Germination>> = BTreeMap::new();
    for run in project.germinations().iter() {
        if let Some(group) = by.group(project, run) {
            found.entry(group).or_default().push(run);
        }
    }
    let mut groups: Vec<_> = found
        .into_iter()
        .map(|(group, mut runs)| {
            runs.sort_by_key(|run| (run.moved, run.id));
            (group, runs.into_iter().map(|run| run.id).collect())
        })
        .collect();
    if !matches!(by, By::Weeks | By::Season) {
        groups.sort_by_cached_key(|(group, _): &(Group, Vec<_>)| group.title(project));
    }
    groups
}

//! Which plants are listed, and in what order.

use crate::screens::sorting::{Key, holds, sort};
use crate::widgets::Sort;
use chrono::Datelike as _;
use domain::ancestry::{is_parent, origin_words, sources};
use domain::{Genotype, Id, Kind, Project, Sex, Stage};

/// What a plant must be to be listed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Filter {
    /// Part of its code, name, alias or location, or of the code of a parent.
    pub(super) find: String,
    pub(super) show: Show,
    pub(super) stage: Option<Id<Stage>>,
    pub(super) sex: SexFilter,
}

/// Which plants in general.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Show {
    #[default]
    Living,
    All,
    Selected,
    Parents,
}

/// Which sex, one that isn't known among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum SexFilter {
    #[default]
    Any,
    Only(Option<Sex>),
}

impl Filter {
    /// Whether a plant is listed.
    pub(super) fn passes(&self, project: &Project, plant: &Genotype) -> bool {
        self.passes_folded(project, plant, &self.find.trim().to_lowercase())
    }

    fn passes_folded(&self, project: &Project, plant: &Genotype, wanted: &str) -> bool {
        let shown = match self.show {
            Show::Living => plant.is_alive(),
            Show::All => true,
            Show::Selected => plant.selected.is_some(),
            Show::Parents => is_parent(project, plant.id),
        };
        let of_sex = match self.sex {
            SexFilter::Any => true,
            SexFilter::Only(sex) => plant.known_sex() == sex,
        };
        shown
            && of_sex
            && self.stage.is_none_or(|stage| plant.stage == Some(stage))
            && is_found(project, plant, wanted)
    }
}

fn is_found(project: &Project, plant: &Genotype, wanted: &str) -> bool {
    wanted.is_empty()
        || holds(&plant.code, wanted)
        || plant
            .name
            .as_deref()
            .is_some_and(|name| holds(name, wanted))
        || plant.aliases.iter().any(|alias| holds(alias, wanted))
        || holds(&plant.location, wanted)
        || sources(project, plant)
            .into_iter()
            .any(|parent| holds(project.code_of(parent), wanted))
}

/// The plants listed, in order.
pub(super) fn rows(
    project: &Project,
    (filter, order): &(Filter, Option<Sort>),
) -> Vec<Id<Genotype>> {
    let wanted = filter.find.trim().to_lowercase();
    // Codes are kept in order: the usual order costs no sorting.
    let by_code = project
        .codes()
        .filter(|(_, id)| id.kind == Kind::Genotype)
        .filter_map(|(_, id)| id.typed());
    let passing = by_code.filter(|id| {
        project
            .genotypes()
            .get(*id)
            .is_some_and(|plant| filter.passes_folded(project, plant, &wanted))
    });
    let mut ids: Vec<Id<Genotype>> = passing.collect();
    match order {
        None
        | Some(Sort {
            column: 0,
            ascending: true,
        }) => ids,
        Some(Sort {
            column: 0,
            ascending: false,
        }) => {
            ids.reverse();
            ids
        }
        Some(Sort { column, ascending }) => sort(ids, *ascending, |id| {
            key(project, project.genotypes().get(*id)?, *column)
        }),
    }
}

fn key(project: &Project, plant: &Genotype, column: usize) -> Option<Key> {
    match column {
        1 => Key::words(plant.name.as_deref()?),
        2 => Key::words(plant.known_sex()?.word()),
        3 => Some(Key::Number(plant.ploidy.0.into())),
        4 => Key::words(&origin_words(project, &plant.origin)),
        5 => Some(Key::Number(project.stages().get(plant.stage?)?.rank.into())),
        6 => Key::words(&plant.location),
        7 => Some(Key::Number(
            plant.born?.earliest().num_days_from_ce().into(),
        )),
        _ => Key::words(plant.state_word()),
    }
}

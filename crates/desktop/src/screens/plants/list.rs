//! Which plants are listed, and in what order.

use crate::derived::{Figures, Stamp};
use crate::screens::sorting::{Key, holds, sort};
use chrono::Datelike as _;
use domain::ancestry::{is_parent, sources};
use domain::display::origin_words;
use domain::{Genotype, Id, Project, RecordKind, Sex, Stage};
use kit::widgets::Sort;

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

/// A column of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Code,
    Name,
    Sex,
    Ploidy,
    Inbreeding,
    Origin,
    Stage,
    Location,
    Born,
    State,
    /// The last, since it is there only when a trait was evaluated.
    Breeding,
}

/// The columns, in the order they stand in.
pub(super) const FIELDS: [Field; 11] = [
    Field::Code,
    Field::Name,
    Field::Sex,
    Field::Ploidy,
    Field::Inbreeding,
    Field::Origin,
    Field::Stage,
    Field::Location,
    Field::Born,
    Field::State,
    Field::Breeding,
];

/// What the list depends on, besides the project.
pub(super) type ListingKey = (Filter, Option<Sort>, Option<Stamp>);

/// What the list depends on now: on figures only where it is sorted by them.
pub(super) fn listing_key(filter: &Filter, sort: Option<Sort>, figures: &Figures) -> ListingKey {
    let by_figure = sort.is_some_and(|sort| {
        matches!(
            FIELDS.get(sort.column),
            Some(Field::Inbreeding | Field::Breeding)
        )
    });
    (filter.clone(), sort, by_figure.then(|| figures.stamp()))
}

/// The plants listed, in order.
pub(super) fn rows(
    project: &Project,
    figures: &Figures,
    (filter, order, _): &ListingKey,
) -> Vec<Id<Genotype>> {
    let wanted = filter.find.trim().to_lowercase();
    // Codes are kept in order: the usual order costs no sorting.
    let by_code = project
        .codes()
        .filter(|(_, id)| id.kind == RecordKind::Genotype)
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
            let field = *FIELDS.get(*column)?;
            key(project, figures, project.genotypes().get(*id)?, field)
        }),
    }
}

fn key(project: &Project, figures: &Figures, plant: &Genotype, field: Field) -> Option<Key> {
    match field {
        Field::Code => Key::words(&plant.code),
        Field::Name => Key::words(plant.name.as_deref()?),
        Field::Sex => Key::words(plant.known_sex()?.word()),
        Field::Ploidy => Some(Key::Number(plant.ploidy.0.into())),
        Field::Inbreeding => figures.inbreeding(plant.id).map(Key::figure),
        Field::Origin => Key::words(&origin_words(project, &plant.origin)),
        Field::Stage => Some(Key::Number(project.stages().get(plant.stage?)?.rank.into())),
        Field::Location => Key::words(&plant.location),
        Field::Born => Some(Key::Number(
            plant.born?.earliest().num_days_from_ce().into(),
        )),
        Field::State => Key::words(plant.state_word()),
        Field::Breeding => Some(Key::figure(figures.value(plant.id)?.breeding.value)),
    }
}

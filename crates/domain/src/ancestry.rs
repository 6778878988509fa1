//! Who descends from whom.

use crate::agenda::pollen_words;
use crate::id::{Id, RecordKind};
use crate::project::Project;
use crate::record::cross::Cross;
use crate::record::genotype::{Genotype, Origin};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// The plants a plant's genes came from directly: its parents, or the clone it was made from.
pub fn sources(project: &Project, plant: &Genotype) -> Vec<Id<Genotype>> {
    match plant.origin {
        Origin::Cross { cross } => match project.crosses().get(cross) {
            Some(cross) => std::iter::once(cross.female)
                .chain(cross.pollen.males())
                .collect(),
            None => Vec::new(),
        },
        Origin::OpenPollinated { female: source }
        | Origin::Doubled { from: source }
        | Origin::Variant { of: source } => vec![source],
        Origin::Founder { .. } | Origin::Unknown => Vec::new(),
    }
}

/// Where the genes of a plant come from, in words: 'A × B', 'A × open', 'founder, from …'.
pub fn origin_words(project: &Project, origin: &Origin) -> String {
    match origin {
        Origin::Founder { source, .. } if source.is_empty() => "founder".into(),
        Origin::Founder { source, .. } => format!("founder, from {source}"),
        Origin::Cross { cross } => match project.crosses().get(*cross) {
            Some(cross) => format!(
                "{} × {}",
                project.code_of(cross.female),
                pollen_words(project, &cross.pollen)
            ),
            None => "a cross".into(),
        },
        Origin::OpenPollinated { female } => format!("{} × open", project.code_of(*female)),
        Origin::Doubled { from } => format!("{}, doubled", project.code_of(*from)),
        Origin::Variant { of } => format!("variant of {}", project.code_of(*of)),
        Origin::Unknown => "unknown".into(),
    }
}

/// The plants that got genes from a plant directly: progeny of its crosses, open-pollinated seedlings, doubled plants, variants.
pub fn offspring(project: &Project, plant: Id<Genotype>) -> Vec<Id<Genotype>> {
    let direct = project.referring::<Genotype>(plant).map(|child| child.id);
    let crossed = project
        .referring::<Cross>(plant)
        .flat_map(|cross| project.progeny_of(cross.id))
        .map(|child| child.id);
    direct.chain(crossed).collect()
}

/// Whether any plant or cross has its genes from this plant.
pub fn is_parent(project: &Project, plant: Id<Genotype>) -> bool {
    // What refers to a record comes in the order of its kinds, plants and crosses before nearly all else.
    project
        .referrers(plant.into())
        .map(|other| other.kind)
        .take_while(|kind| *kind <= RecordKind::Genotype.max(RecordKind::Cross))
        .any(|kind| matches!(kind, RecordKind::Genotype | RecordKind::Cross))
}

/// The parents of the crosses of a season, each once, in the order of the crosses: female, then males.
pub fn parents_of_season(project: &Project, season: i32) -> Vec<Id<Genotype>> {
    let crosses = project.crosses().iter();
    let parents = crosses
        .filter(|cross| cross.season == season)
        .flat_map(|cross| std::iter::once(cross.female).chain(cross.pollen.males()));
    let mut seen = BTreeSet::new();
    parents.filter(|parent| seen.insert(*parent)).collect()
}

/// These plants and all they descend from.
pub fn ancestors(project: &Project, plants: &[Id<Genotype>]) -> BTreeSet<Id<Genotype>> {
    reach(plants, usize::MAX, |id| {
        project
            .genotypes()
            .get(id)
            .map_or_else(Vec::new, |plant| sources(project, plant))
    })
    .into_keys()
    .collect()
}

/// The ancestors of a plant up to a depth, with how many generations back each first stands; the plant itself at 0.
pub fn ancestors_within(
    project: &Project,
    plant: Id<Genotype>,
    depth: usize,
) -> BTreeMap<Id<Genotype>, usize> {
    reach(&[plant], depth, |id| {
        project
            .genotypes()
            .get(id)
            .map_or_else(Vec::new, |plant| sources(project, plant))
    })
}

/// The descendants of a plant down to a depth, with how many generations on each first stands; the plant itself at 0.
pub fn descendants_within(
    project: &Project,
    plant: Id<Genotype>,
    depth: usize,
) -> BTreeMap<Id<Genotype>, usize> {
    reach(&[plant], depth, |id| offspring(project, id))
}

/// Whether a plant stands among its own ancestors.
pub(crate) fn is_own_ancestor(project: &Project, plant: Id<Genotype>) -> bool {
    let Some(record) = project.genotypes().get(plant) else {
        return false;
    };
    // A plant without offspring can't be anybody's ancestor, its own included: the usual case, at little cost.
    is_parent(project, plant) && ancestors(project, &sources(project, record)).contains(&plant)
}

/// Walks outward, breadth first; each plant once, so that a loop in a damaged file ends too.
fn reach(
    from: &[Id<Genotype>],
    depth: usize,
    next: impl Fn(Id<Genotype>) -> Vec<Id<Genotype>>,
) -> BTreeMap<Id<Genotype>, usize> {
    let mut found: BTreeMap<_, _> = from.iter().map(|id| (*id, 0)).collect();
    let mut queue: VecDeque<_> = from.iter().map(|id| (*id, 0)).collect();
    while let Some((id, generation)) = queue.pop_front() {
        if generation == depth {
            continue;
        }
        for other in next(id) {
            if let Entry::Vacant(new) = found.entry(other) {
                new.insert(generation + 1);
                queue.push_back((other, generation + 1));
            }
        }
    }
    found
}

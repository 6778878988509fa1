//! Who descends from whom.

use crate::id::{Id, RecordKind};
use crate::project::Project;
use crate::record::cross::Cross;
use crate::record::genotype::{Genotype, Origin};
use crate::refusal::Refusal;
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// A plant's direct sources: its parents, or the plant that it is a variant or a doubling of.
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

/// The plants that got genes from a plant directly: progeny of its crosses, open-pollinated seedlings, doubled plants, variants.
pub fn offspring(project: &Project, plant: Id<Genotype>) -> Vec<Id<Genotype>> {
    let direct = project.referring::<Genotype>(plant).map(|child| child.id);
    let crossed = project
        .referring::<Cross>(plant)
        .flat_map(|cross| project.progeny_of(cross.id))
        .map(|child| child.id);
    direct.chain(crossed).collect()
}

/// Whether any plant descends directly from this one, or any cross was made with it, with or without progeny.
pub fn is_parent(project: &Project, plant: Id<Genotype>) -> bool {
    // Referrers come in the order of `RecordKind`: nothing need be read beyond plants and crosses.
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

/// These plants and all their ancestors.
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

/// The ancestors of a plant up to a depth, with the fewest generations back to each; the plant itself at 0.
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

/// The descendants of a plant down to a depth, with the fewest generations on to each; the plant itself at 0.
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

/// The plants that stand among their own ancestors, each with the number of its circle: plants of one circle descend from
/// each other. One walk over all plants, however many there are and however long their lines.
pub(crate) fn circles(project: &Project) -> BTreeMap<Id<Genotype>, usize> {
    /// A plant on the way back from some plant, with those of its sources that are still to be looked at.
    struct OnPath {
        plant: usize,
        left: Vec<Id<Genotype>>,
        own_source: bool,
    }
    let plants: Vec<&Genotype> = project.genotypes().iter().collect();
    let place = |id: Id<Genotype>| plants.binary_search_by_key(&id, |plant| plant.id).ok();
    // Strongly connected components (R. Tarjan, Depth-first search and linear graph algorithms, SIAM Journal on Computing 1
    // (1972) 146-160), with a stack of its own.
    let mut reached: Vec<Option<usize>> = vec![None; plants.len()];
    let mut lowest = vec![0; plants.len()];
    let mut is_open = vec![false; plants.len()];
    let (mut open, mut path) = (Vec::new(), Vec::<OnPath>::new());
    let mut count = 0;
    let mut found = BTreeMap::new();
    for start in 0..plants.len() {
        let mut next = reached[start].is_none().then_some(start);
        loop {
            if let Some(plant) = next.take() {
                reached[plant] = Some(count);
                lowest[plant] = count;
                count += 1;
                is_open[plant] = true;
                open.push(plant);
                path.push(OnPath {
                    plant,
                    left: sources(project, plants[plant]),
                    own_source: false,
                });
            }
            let Some(step) = path.last_mut() else {
                break;
            };
            let plant = step.plant;
            if let Some(source) = step.left.pop() {
                let Some(source) = place(source) else {
                    continue;
                };
                step.own_source |= source == plant;
                match reached[source] {
                    None => next = Some(source),
                    Some(at) if is_open[source] => lowest[plant] = lowest[plant].min(at),
                    Some(_) => {}
                }
                continue;
            }
            let own_source = step.own_source;
            path.pop();
            if let Some(before) = path.last() {
                lowest[before.plant] = lowest[before.plant].min(lowest[plant]);
            }
            if reached[plant] == Some(lowest[plant]) {
                let from = open.iter().rposition(|each| *each == plant).unwrap_or(0);
                let members = open.split_off(from);
                for &member in &members {
                    is_open[member] = false;
                    if members.len() > 1 || own_source {
                        found.insert(plants[member].id, plant);
                    }
                }
            }
        }
    }
    found
}

/// The rules that plants and crosses break by descending from themselves.
pub(crate) fn in_circles(project: &Project) -> impl Iterator<Item = Refusal> + '_ {
    let circles = circles(project);
    let plants = circles.keys().filter_map(|id| project.genotypes().get(*id));
    let plants: Vec<_> = plants.map(Genotype::own_ancestor).collect();
    let crosses = project.crosses().iter().filter_map(move |cross| {
        if circles.is_empty() {
            return None;
        }
        let of_parents: BTreeSet<_> = cross.parents().filter_map(|id| circles.get(&id)).collect();
        let own = project.progeny_of(cross.id).find(|plant| {
            circles
                .get(&plant.id)
                .is_some_and(|circle| of_parents.contains(circle))
        })?;
        Some(cross.own_progeny(&own.code))
    });
    plants.into_iter().chain(crosses)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{IdSource, Pollen, ProjectParts};
    use proptest::prelude::*;

    /// Plants whose sources are any plants, themselves among them.
    fn plants(sources: &[(u8, usize, usize)]) -> Project {
        let mut ids = IdSource::new(1_770_000_000_000, 1);
        let plants: Vec<Id<Genotype>> = sources.iter().map(|_| ids.next()).collect();
        let mut parts = ProjectParts::default();
        for (nth, (how, one, other)) in sources.iter().enumerate() {
            let (one, other) = (plants[one % plants.len()], plants[other % plants.len()]);
            let origin = match how % 4 {
                0 => Origin::Unknown,
                1 => Origin::OpenPollinated { female: one },
                2 => Origin::Doubled { from: one },
                _ => {
                    let cross = Cross {
                        id: ids.next(),
                        code: format!("X{nth}"),
                        female: one,
                        pollen: Pollen::Male(other),
                        season: 2026,
                        planned_pollination: None,
                        seeds_wanted: None,
                        purpose: String::new(),
                        advised: None,
                    };
                    let origin = Origin::Cross { cross: cross.id };
                    parts.crosses.push(cross);
                    origin
                }
            };
            let plant = Genotype::new(plants[nth], format!("P{nth}"), origin);
            parts.genotypes.push(plant);
        }
        Project::from_parts(parts)
    }

    proptest! {
        /// Held against a walk from each plant by itself.
        #[test]
        fn all_circles_are_found_in_one_walk(
            sources in prop::collection::vec((any::<u8>(), 0..30usize, 0..30usize), 1..30),
        ) {
            let project = plants(&sources);
            let circles = circles(&project);
            for plant in project.genotypes().iter() {
                let own = is_own_ancestor(&project, plant.id);
                prop_assert_eq!(circles.contains_key(&plant.id), own);
                for (other, circle) in &circles {
                    let both = ancestors(&project, &[plant.id]).contains(other)
                        && ancestors(&project, &[*other]).contains(&plant.id);
                    let same = circles.get(&plant.id) == Some(circle);
                    prop_assert_eq!(same, both && own);
                }
            }
            let refused: BTreeSet<_> = in_circles(&project).filter_map(|refusal| refusal.about).collect();
            for cross in project.crosses().iter() {
                use crate::record::Record as _;
                prop_assert_eq!(refused.contains(&cross.id.into()), cross.check_descent(&project).is_err());
            }
        }
    }
}

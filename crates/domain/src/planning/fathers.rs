//! The parents whose own father isn't known for sure, their seed having come of mixed pollen.

use super::Parent;
use crate::ancestry::ancestors;
use crate::genetics::{Kinship, settled};
use crate::{Genotype, Id, Origin, Pollen, Project};
use std::collections::{BTreeMap, BTreeSet};

/// A possible father; `None` for a male that isn't known.
pub(super) type Father = Option<Id<Genotype>>;

/// Cases of less chance than this are not told.
pub(super) const NEGLIGIBLE: f64 = 1e-9;

/// The possible fathers of a plant with their chances; empty unless it came of a pollen mix of several.
pub fn possible_fathers(
    project: &Project,
    plant: Id<Genotype>,
) -> Vec<(Option<Id<Genotype>>, f64)> {
    let Some(Origin::Cross { cross }) = project.genotypes().get(plant).map(|each| &each.origin)
    else {
        return Vec::new();
    };
    let Some(Pollen::Mix(shares)) = project.crosses().get(*cross).map(|each| &each.pollen) else {
        return Vec::new();
    };
    let mut fathers: Vec<_> = settled(shares)
        .into_iter()
        .filter(|(_, share)| *share > NEGLIGIBLE)
        .map(|(male, share)| (Some(male), share))
        .collect();
    let rest = 1.0 - fathers.iter().map(|each| each.1).sum::<f64>();
    if rest > 1e-6 {
        fathers.push((None, rest));
    }
    if fathers.len() > 1 {
        fathers
    } else {
        Vec::new()
    }
}

/// What is needed of the parents whose fathers aren't known for sure.
#[derive(Debug, Clone, Default)]
pub(super) struct Fathers {
    /// Their possible fathers, with chances.
    pub(super) of: BTreeMap<Id<Genotype>, Vec<(Father, f64)>>,
    /// All that they descend from.
    pub(super) ancestors: BTreeMap<Id<Genotype>, BTreeSet<Id<Genotype>>>,
    /// Kinship of all parents, and of these ones' mothers and possible fathers, by index.
    pub(super) kinship: BTreeMap<(usize, usize), f64>,
    /// What one unit of each trait counts.
    pub(super) weights: Vec<f64>,
}

impl Fathers {
    pub(super) fn of(
        project: &Project,
        kinship: &Kinship,
        [females, males]: [&[Parent]; 2],
        weights: Vec<f64>,
    ) -> Self {
        let plants: BTreeSet<Id<Genotype>> = females
            .iter()
            .chain(males)
            .map(|parent| parent.plant)
            .collect();
        let of: BTreeMap<_, _> = plants
            .iter()
            .map(|plant| (*plant, possible_fathers(project, *plant)))
            .filter(|(_, fathers)| !fathers.is_empty())
            .collect();
        if of.is_empty() {
            return Self::default();
        }
        let ancestors = of
            .keys()
            .map(|plant| (*plant, ancestors(project, &[*plant])))
            .collect();
        // Of a plant in doubt its mother and possible fathers, of any other itself.
        let mut rows = BTreeSet::new();
        let mut doubtful = BTreeSet::new();
        for plant in &plants {
            rows.extend(kinship.index(*plant));
            if let Some(fathers) = of.get(plant) {
                doubtful.extend(fathers.iter().filter_map(|each| kinship.index(each.0?)));
                doubtful
                    .extend(mother_of(project, *plant).and_then(|mother| kinship.index(mother)));
            }
        }
        rows.extend(&doubtful);
        let (rows, columns): (Vec<_>, Vec<_>) =
            (rows.into_iter().collect(), doubtful.into_iter().collect());
        let block = kinship.numbers().coancestry_block(&rows, &columns);
        let mut of_two = BTreeMap::new();
        for (i, row) in rows.iter().enumerate() {
            for (j, column) in columns.iter().enumerate() {
                of_two.insert((*row, *column), block[(i, j)]);
                of_two.insert((*column, *row), block[(i, j)]);
            }
        }
        Self {
            of,
            ancestors,
            kinship: of_two,
            weights,
        }
    }
}

pub(super) fn mother_of(project: &Project, plant: Id<Genotype>) -> Option<Id<Genotype>> {
    match project.genotypes().get(plant)?.origin {
        Origin::Cross { cross } => Some(project.crosses().get(cross)?.female),
        _ => None,
    }
}

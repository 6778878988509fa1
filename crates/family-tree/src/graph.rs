//! Plants and their parents, as the drawing needs them.
//!
//! A [`FamilyGraph`] is built once from a list of [`Plant`]s and then only read. It never refuses: parents that are not
//! among the plants and records that make a plant its own ancestor are kept as [`Source`]s that say so.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
};

use super::code_order;

/// What tells one plant from another; never shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlantKey(pub u128);

/// A set of full sibs, named by its member with the lowest key (so that it stays the same when sibs are added later).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FamilyKey(pub PlantKey);

/// What is known of a plant's sex.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sex {
    /// Not seen in flower yet.
    #[default]
    Unknown,
    /// Carries cones.
    Female,
    /// Sheds pollen.
    Male,
    /// Both on one plant.
    Monoecious,
}

impl Sex {
    /// The word for it, in lower case.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Unknown => "sex unknown",
            Self::Female => "female",
            Self::Male => "male",
            Self::Monoecious => "monoecious",
        }
    }
}

/// One plant of a pollen mix and its share in parts (any unit: grams, spoons, per mille).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MixPart {
    /// The plant.
    pub plant: PlantKey,
    /// Its share; the whole is the sum over the mix.
    pub parts: u32,
}

/// One side of a cross.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Parent {
    /// Not recorded.
    #[default]
    Unknown,
    /// Whatever pollen the wind brought.
    Open,
    /// This plant.
    Known(PlantKey),
    /// One of these.
    Mix(Vec<MixPart>),
}

/// Where a plant comes from.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Descent {
    /// Nothing is recorded.
    #[default]
    Unrecorded,
    /// Seed.
    Cross {
        /// The seed parent.
        female: Parent,
        /// The pollen parent.
        male: Parent,
    },
    /// The chromosomes of this plant, doubled.
    Doubled {
        /// The plant before doubling.
        from: PlantKey,
    },
    /// A sport or selected variant of this plant.
    Variant {
        /// The plant it arose on.
        of: PlantKey,
    },
}

/// One plant.
#[derive(Clone, Debug, PartialEq)]
pub struct Plant {
    /// What tells it from the others.
    pub key: PlantKey,
    /// The code people read, such as `B26-014`.
    pub code: String,
    /// Its name, if it has one.
    pub name: Option<String>,
    /// Its sex.
    pub sex: Sex,
    /// Its stage in a word or two, such as `seedling`; may be empty.
    pub stage: String,
    /// Chosen for further work.
    pub selected: bool,
    /// No longer alive.
    pub dead: bool,
    /// Sets of chromosomes, when it is worth saying (4 is shown as `4x`).
    pub ploidy: Option<u8>,
    /// Short lines of figures under the code, such as `F 0.125`.
    pub captions: Vec<String>,
    /// Where it comes from.
    pub descent: Descent,
    /// The code of the cross it grew from, such as `B26-01`.
    pub family: Option<String>,
}

impl Plant {
    /// A plant of which only the key and the code are known.
    pub fn new(key: PlantKey, code: impl Into<String>) -> Self {
        Self {
            key,
            code: code.into(),
            name: None,
            sex: Sex::Unknown,
            stage: String::new(),
            selected: false,
            dead: false,
            ploidy: None,
            captions: Vec::new(),
            descent: Descent::Unrecorded,
            family: None,
        }
    }
}

/// The place of a plant in [`FamilyGraph::plants`].
pub type PlantIndex = usize;
/// The place of a family in [`FamilyGraph::families`].
pub type FamilyIndex = usize;

/// How a parent takes part, which decides the line and the mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Line {
    /// The seed parent: a solid line.
    Female,
    /// The pollen parent: a dashed line.
    Male,
    /// The plant before doubling: a double line.
    Doubled,
    /// The plant a variant arose on: a dotted line.
    Variant,
}

/// What is known of one parent of a family.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A plant of the graph.
    Plant(PlantIndex),
    /// Not recorded.
    Unknown,
    /// Open pollination.
    Open,
    /// Recorded, but no such plant is in the graph.
    Missing,
    /// A plant of the graph that also descends from this family; such a line is not followed.
    Loop(PlantIndex),
}

/// One parent of a family.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parentage {
    /// How it takes part.
    pub line: Line,
    /// What is known of it.
    pub source: Source,
    /// Its share in per mille of the pollen, when it is one of a mix.
    pub share: Option<u32>,
}

/// Full sibs: the plants with the same parents and the same family code.
#[derive(Clone, Debug, PartialEq)]
pub struct Family {
    /// What tells it from the others.
    pub key: FamilyKey,
    /// The code of the cross, if it has one.
    pub code: Option<String>,
    /// The parents: the female side first, then the male side.
    pub parents: Vec<Parentage>,
    /// The sibs, by code.
    pub members: Vec<PlantIndex>,
}

/// How many graphs were built, and one; the empty graph of `default` is number 0.
static BUILT: AtomicU64 = AtomicU64::new(1);

/// Plants, the families they fall into, and the way between them in both directions. A clone shares them.
#[derive(Clone, Debug, Default)]
pub struct FamilyGraph {
    parts: Arc<Parts>,
    /// By the place of a plant; empty while nothing is shaded.
    shading: Arc<[Option<f32>]>,
}

#[derive(Debug, Default)]
struct Parts {
    plants: Vec<Plant>,
    families: Vec<Family>,
    family_of: Vec<Option<FamilyIndex>>,
    families_from: Vec<Vec<FamilyIndex>>,
    stamp: u64,
}

impl FamilyGraph {
    /// Builds the graph. Of plants with the same key the first is kept; the order of the rest does not matter.
    pub fn new(mut plants: Vec<Plant>) -> Self {
        plants.sort_by_key(|plant| plant.key);
        plants.dedup_by_key(|plant| plant.key);

        let mut sibs: BTreeMap<(&Descent, Option<&str>), Vec<PlantIndex>> = BTreeMap::new();
        for (index, plant) in plants.iter().enumerate() {
            let nothing_known = match &plant.descent {
                Descent::Unrecorded => true,
                Descent::Cross { female, male } => {
                    *female == Parent::Unknown && *male == Parent::Unknown && plant.family.is_none()
                }
                Descent::Doubled { .. } | Descent::Variant { .. } => false,
            };
            if !nothing_known {
                sibs.entry((&plant.descent, plant.family.as_deref()))
                    .or_default()
                    .push(index);
            }
        }
        let mut families: Vec<Family> = sibs
            .into_iter()
            .map(|((descent, code), mut members)| {
                let key = FamilyKey(plants[members[0]].key);
                members.sort_by(|&a, &b| code_order(&plants[a].code, &plants[b].code));
                Family {
                    key,
                    code: code.map(str::to_owned),
                    parents: parentage(&plants, descent),
                    members,
                }
            })
            .collect();
        families.sort_by_key(|family| family.key);

        let mut family_of = vec![None; plants.len()];
        for (index, family) in families.iter().enumerate() {
            for &member in &family.members {
                family_of[member] = Some(index);
            }
        }
        break_loops(&mut families, &family_of);
        let mut families_from = vec![Vec::new(); plants.len()];
        for (index, family) in families.iter().enumerate() {
            let parents: BTreeSet<PlantIndex> = family.known_parents().collect();
            for parent in parents {
                families_from[parent].push(index);
            }
        }
        Self {
            parts: Arc::new(Parts {
                plants,
                families,
                family_of,
                families_from,
                stamp: BUILT.fetch_add(1, Ordering::Relaxed),
            }),
            shading: Arc::default(),
        }
    }

    /// Differs between any two graphs built in this run of the program; what is derived from a graph is kept by it.
    pub(super) fn stamp(&self) -> u64 {
        self.parts.stamp
    }

    /// Whether the other is this graph, however shaded.
    pub fn is_same(&self, other: &Self) -> bool {
        self.stamp() == other.stamp()
    }

    /// Shades the plants anew, each with a value from 0 to 1 shown as a filled bar, such as kinship to a chosen
    /// plant. Neither who is drawn nor where depends on it, so the drawing stays as it is.
    pub fn shade(&mut self, shading: impl Fn(PlantKey) -> Option<f32>) {
        self.shading = self
            .plants()
            .iter()
            .map(|plant| shading(plant.key))
            .collect();
    }

    /// The value a plant is shaded with.
    pub fn shading(&self, plant: PlantIndex) -> Option<f32> {
        self.shading.get(plant).copied().flatten()
    }

    /// The plants, by key.
    pub fn plants(&self) -> &[Plant] {
        &self.parts.plants
    }

    /// The families, by key.
    pub fn families(&self) -> &[Family] {
        &self.parts.families
    }

    /// Where a plant is, if it is in the graph.
    pub fn index_of(&self, key: PlantKey) -> Option<PlantIndex> {
        self.plants()
            .binary_search_by_key(&key, |plant| plant.key)
            .ok()
    }

    /// The family a plant was born into; none for a founder.
    pub fn family_of(&self, plant: PlantIndex) -> Option<FamilyIndex> {
        self.parts.family_of[plant]
    }

    /// The families a plant is a parent of.
    pub fn families_from(&self, plant: PlantIndex) -> &[FamilyIndex] {
        &self.parts.families_from[plant]
    }

    /// The parents of a plant that are in the graph, female side first. A selfed plant has the same one twice.
    pub fn parents(&self, plant: PlantIndex) -> impl Iterator<Item = PlantIndex> + '_ {
        self.parts.family_of[plant]
            .into_iter()
            .flat_map(|family| self.parts.families[family].known_parents())
    }

    /// The children of a plant, family by family.
    pub fn children(&self, plant: PlantIndex) -> impl Iterator<Item = PlantIndex> + '_ {
        self.parts.families_from[plant]
            .iter()
            .flat_map(|&family| self.parts.families[family].members.iter().copied())
    }

    /// The lines of descent left out because the parent also descends from the child: (a plant of the family, its
    /// recorded parent), for a message such as 'A is recorded as its own ancestor'.
    pub fn loops(&self) -> Vec<(PlantIndex, PlantIndex)> {
        let mut found = Vec::new();
        for family in &self.parts.families {
            for parentage in &family.parents {
                if let (Source::Loop(parent), Some(&member)) =
                    (parentage.source, family.members.first())
                {
                    found.push((member, parent));
                }
            }
        }
        found
    }

    /// Every plant within `steps` of `start` going one way along `next`, without `start` itself.
    pub(super) fn reach<I: Iterator<Item = PlantIndex>>(
        start: PlantIndex,
        steps: u32,
        next: impl Fn(PlantIndex) -> I,
    ) -> BTreeSet<PlantIndex> {
        let mut reached = BTreeSet::new();
        let mut edge = vec![start];
        for _ in 0..steps {
            let mut further = Vec::new();
            for plant in edge {
                further.extend(next(plant).filter(|&other| reached.insert(other)));
            }
            if further.is_empty() {
                break;
            }
            edge = further;
        }
        reached
    }
}

impl Family {
    /// The parents that are plants of the graph and may be followed.
    pub fn known_parents(&self) -> impl Iterator<Item = PlantIndex> + '_ {
        self.parents
            .iter()
            .filter_map(|parentage| match parentage.source {
                Source::Plant(plant) => Some(plant),
                Source::Unknown | Source::Open | Source::Missing | Source::Loop(_) => None,
            })
    }
}

fn parentage(plants: &[Plant], descent: &Descent) -> Vec<Parentage> {
    let source = |key: PlantKey| {
        plants
            .binary_search_by_key(&key, |plant| plant.key)
            .map_or(Source::Missing, Source::Plant)
    };
    let side = |line: Line, parent: &Parent| -> Vec<Parentage> {
        let one = |source| {
            vec![Parentage {
                line,
                source,
                share: None,
            }]
        };
        match parent {
            Parent::Unknown => one(Source::Unknown),
            Parent::Open => one(Source::Open),
            Parent::Known(key) => one(source(*key)),
            Parent::Mix(parts) if parts.is_empty() => one(Source::Unknown),
            Parent::Mix(parts) => {
                let whole: u64 = parts.iter().map(|part| u64::from(part.parts)).sum();
                parts
                    .iter()
                    .map(|part| Parentage {
                        line,
                        source: source(part.plant),
                        // All parts zero means that the shares are not known.
                        share: (u64::from(part.parts) * 1000)
                            .checked_div(whole)
                            .map(|share| share as u32),
                    })
                    .collect()
            }
        }
    };
    match descent {
        Descent::Unrecorded => Vec::new(),
        Descent::Cross { female, male } => {
            let mut both = side(Line::Female, female);
            both.extend(side(Line::Male, male));
            both
        }
        Descent::Doubled { from } => side(Line::Doubled, &Parent::Known(*from)),
        Descent::Variant { of } => side(Line::Variant, &Parent::Known(*of)),
    }
}

/// Turns every parent that closes a circle into [`Source::Loop`], by a depth-first walk in key order.
fn break_loops(families: &mut [Family], family_of: &[Option<FamilyIndex>]) {
    #[derive(Clone, Copy, PartialEq)]
    enum Seen {
        No,
        OnPath,
        Done,
    }
    let mut seen = vec![Seen::No; family_of.len()];
    for start in 0..family_of.len() {
        if seen[start] != Seen::No {
            continue;
        }
        seen[start] = Seen::OnPath;
        // The path from `start`, each with the place in its family's parents to look at next.
        let mut path = vec![(start, 0)];
        while let Some((plant, next)) = path.last_mut() {
            let family = family_of[*plant].map(|family| &mut families[family]);
            let Some(parentage) = family.and_then(|family| family.parents.get_mut(*next)) else {
                seen[*plant] = Seen::Done;
                path.pop();
                continue;
            };
            *next += 1;
            let Source::Plant(parent) = parentage.source else {
                continue;
            };
            match seen[parent] {
                Seen::No => {
                    seen[parent] = Seen::OnPath;
                    path.push((parent, 0));
                }
                Seen::OnPath => parentage.source = Source::Loop(parent),
                Seen::Done => {}
            }
        }
    }
}

#[cfg(test)]
mod tests;

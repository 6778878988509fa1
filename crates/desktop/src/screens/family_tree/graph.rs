//! The project's plants as the family tree's neutral graph.

use crate::derived::Figures;
use crate::screens::explanation::share;
use domain::{AnyId, Cross, Genotype, Id, Origin, Pollen, Project};
use family_tree::{Descent, FamilyGraph, MixPart, Parent, Plant, PlantKey, Sex};

/// The key of a plant in the tree.
pub(super) fn key(plant: Id<Genotype>) -> PlantKey {
    PlantKey(plant.uuid().as_u128())
}

/// The plant behind a key.
pub(super) fn id(key: PlantKey) -> Id<Genotype> {
    Id::from_uuid(domain::Uuid::from_u128(key.0))
}

/// Every plant of the project with its figures.
pub(super) fn of(project: &Project, figures: &Figures) -> FamilyGraph {
    FamilyGraph::new(
        project
            .genotypes()
            .iter()
            .map(|plant| drawn(project, figures, plant))
            .collect(),
    )
}

fn drawn(project: &Project, figures: &Figures, plant: &Genotype) -> Plant {
    let stage = plant
        .stage
        .and_then(|stage| project.stages().get(stage))
        .map(|stage| stage.name.to_lowercase());
    Plant {
        name: plant.name.clone(),
        sex: match plant.known_sex() {
            None => Sex::Unknown,
            Some(domain::Sex::Female) => Sex::Female,
            Some(domain::Sex::Male) => Sex::Male,
            Some(domain::Sex::Monoecious) => Sex::Monoecious,
        },
        stage: match &plant.end {
            Some(end) => end.kind.word().to_owned(),
            None => stage.unwrap_or_default(),
        },
        selected: plant.selected.is_some(),
        dead: plant.end.is_some(),
        ploidy: (plant.ploidy.0 != 2).then_some(plant.ploidy.0),
        captions: captions(figures, plant.id),
        descent: descent(project, plant),
        family: match plant.origin {
            Origin::Cross { cross } => project.code(AnyId::from(cross)).map(str::to_owned),
            _ => None,
        },
        ..Plant::new(key(plant.id), plant.code.clone())
    }
}

/// Inbreeding where there is any, and the breeding value with its accuracy.
fn captions(figures: &Figures, plant: Id<Genotype>) -> Vec<String> {
    let inbreeding = figures
        .inbreeding(plant)
        .filter(|inbreeding| *inbreeding > 0.0);
    let value = figures.value(plant).map(|value| {
        let breeding = value.breeding;
        format!("value {:.2} ({:.2})", breeding.value, breeding.accuracy)
    });
    inbreeding
        .map(|inbreeding| format!("F {}", share(inbreeding)))
        .into_iter()
        .chain(value)
        .collect()
}

fn descent(project: &Project, plant: &Genotype) -> Descent {
    match plant.origin {
        Origin::Cross { cross } => project
            .crosses()
            .get(cross)
            .map_or(Descent::Unrecorded, of_cross),
        Origin::OpenPollinated { female } => Descent::Cross {
            female: Parent::Known(key(female)),
            male: Parent::Open,
        },
        Origin::Doubled { from } => Descent::Doubled { from: key(from) },
        Origin::Variant { of } => Descent::Variant { of: key(of) },
        Origin::Founder { .. } | Origin::Unknown => Descent::Unrecorded,
    }
}

fn of_cross(cross: &Cross) -> Descent {
    let male = match &cross.pollen {
        Pollen::Male(male) => Parent::Known(key(*male)),
        Pollen::Mix(shares) => Parent::Mix(
            // Shares that weren't measured are drawn as equal parts of what is left.
            shares
                .iter()
                .map(|share| MixPart {
                    plant: key(share.male),
                    parts: parts(share.share, shares.len()),
                })
                .collect(),
        ),
        Pollen::Open => Parent::Open,
        Pollen::Unknown => Parent::Unknown,
    };
    Descent::Cross {
        female: Parent::Known(key(cross.female)),
        male,
    }
}

/// A share in parts of a thousand.
fn parts(share: Option<f64>, males: usize) -> u32 {
    (share.unwrap_or(1.0 / males as f64) * 1000.0).round() as u32
}

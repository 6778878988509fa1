use super::*;
use crate::graph::{Descent, Parent, Plant};

fn plant(number: u128, code: &str, parents: Option<(u128, u128)>) -> Plant {
    let descent = parents.map_or(Descent::Unrecorded, |(female, male)| Descent::Cross {
        female: Parent::Known(PlantKey(female)),
        male: Parent::Known(PlantKey(male)),
    });
    Plant {
        descent,
        stage: "seedling".to_owned(),
        ..Plant::new(PlantKey(number), code)
    }
}

/// A (1) × M (2) → B (3); B × N (4) → twelve sibs C-1 … C-12 (11…22); C-1 × M → D (30).
fn graph() -> FamilyGraph {
    let mut plants = vec![
        plant(1, "A", None),
        plant(2, "M", None),
        plant(3, "B", Some((1, 2))),
        plant(4, "N", None),
        plant(30, "D", Some((11, 2))),
    ];
    plants.extend((1..=12).map(|number| Plant {
        family: Some("C".to_owned()),
        ..plant(10 + number, &format!("C-{number}"), Some((3, 4)))
    }));
    FamilyGraph::new(plants)
}

fn labels(graph: &FamilyGraph, extract: &Extract) -> Vec<String> {
    extract
        .boxes
        .iter()
        .map(|content| match content {
            Content::Plant(plant) => graph.plants()[*plant].code.clone(),
            Content::Fold {
                family,
                plants,
                whole,
            } => {
                format!(
                    "{} {}",
                    fold_title(graph, *family, plants),
                    fold_count(graph, plants, *whole)
                )
            }
        })
        .collect()
}

#[test]
fn large_families_are_folded_around_the_sibs_that_have_offspring() {
    let graph = graph();
    let extract = Extract::new(&graph, &Scope::default());
    assert_eq!(
        labels(&graph, &extract),
        ["A", "B", "C-1", "D", "M", "N", "C 11 more seedlings"]
    );
    let fold = extract.box_of[graph.index_of(PlantKey(15)).unwrap()];
    assert_eq!(fold, Some(6));
}

#[test]
fn a_family_can_be_unfolded() {
    let graph = graph();
    let scope = Scope {
        turned: [FamilyKey(PlantKey(11))].into(),
        ..Scope::default()
    };
    assert_eq!(
        Extract::new(&graph, &scope).boxes.len(),
        graph.plants().len()
    );
}

#[test]
fn relatives_are_taken_to_the_chosen_depth_and_parents_beyond_it_are_named() {
    let graph = graph();
    let around = Around {
        plant: PlantKey(11),
        ancestors: 1,
        descendants: 1,
    };
    let extract = Extract::new(
        &graph,
        &Scope {
            around: Some(around),
            ..Scope::default()
        },
    );
    assert_eq!(labels(&graph, &extract), ["B", "C-1", "D", "N"]);
    let ends: Vec<End> = extract
        .families
        .iter()
        .flat_map(|kin| kin.links.iter().map(|link| link.end))
        .collect();
    let hidden = |key| End::Hidden(graph.index_of(PlantKey(key)).unwrap());
    assert_eq!(
        ends,
        [
            hidden(1),
            hidden(2),
            End::Box(0),
            End::Box(3),
            End::Box(1),
            hidden(2)
        ]
    );
}

#[test]
fn hiding_ancestors_keeps_those_that_are_needed_elsewhere() {
    let graph = graph();
    // Above the family of C: B and N go, with B its mother A; M stays, for it is also the father of D.
    let scope = Scope {
        hidden_above: [FamilyKey(PlantKey(11))].into(),
        ..Scope::default()
    };
    assert_eq!(
        labels(&graph, &Extract::new(&graph, &scope)),
        ["C-1", "D", "M", "C 11 more seedlings"]
    );
}

#[test]
fn a_plant_is_described_in_one_line() {
    let mut plants = graph().plants().to_vec();
    plants[2].name = Some("Tarnbell".to_owned());
    plants[2].sex = Sex::Female;
    plants[2].selected = true;
    let graph = FamilyGraph::new(plants);
    assert_eq!(
        describe_plant(&graph, 2),
        "B 'Tarnbell', female, seedling, selected; parents A × M"
    );
    assert_eq!(
        describe_fold(&graph, graph.family_of(10).unwrap(), &[9, 10], false),
        "C, 2 more seedlings; parents B × N"
    );
}

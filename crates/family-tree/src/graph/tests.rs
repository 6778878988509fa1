use super::*;

fn key(number: u128) -> PlantKey {
    PlantKey(number)
}

fn cross(number: u128, code: &str, female: Parent, male: Parent) -> Plant {
    Plant {
        descent: Descent::Cross { female, male },
        ..Plant::new(key(number), code)
    }
}

fn known(number: u128) -> Parent {
    Parent::Known(key(number))
}

#[test]
fn full_sibs_are_one_family_in_the_order_of_their_codes() {
    let graph = FamilyGraph::new(vec![
        cross(4, "B-10", known(1), known(2)),
        cross(3, "B-9", known(1), known(2)),
        Plant::new(key(1), "A"),
        Plant::new(key(2), "M"),
        cross(5, "C-1", known(1), Parent::Open),
    ]);
    assert_eq!(graph.families().len(), 2);
    let family = &graph.families()[0];
    assert_eq!(family.key, FamilyKey(key(3)));
    let codes: Vec<&str> = family
        .members
        .iter()
        .map(|&member| graph.plants()[member].code.as_str())
        .collect();
    assert_eq!(codes, ["B-9", "B-10"]);
    assert_eq!(graph.families_from(0), [0, 1]);
    assert_eq!(graph.children(0).count(), 3);
}

#[test]
fn the_same_parents_crossed_twice_are_two_families() {
    let in_family = |plant: Plant, family: &str| Plant {
        family: Some(family.to_owned()),
        ..plant
    };
    let graph = FamilyGraph::new(vec![
        Plant::new(key(1), "A"),
        in_family(cross(3, "x", known(1), known(2)), "B26-01"),
        in_family(cross(4, "y", known(1), known(2)), "B27-01"),
    ]);
    assert_eq!(graph.families().len(), 2);
    assert_eq!(graph.families()[0].parents[1].source, Source::Missing);
}

#[test]
fn shares_of_a_mix_are_in_per_mille_of_the_whole() {
    let mix = |parts: [u32; 2]| {
        Parent::Mix(vec![
            MixPart {
                plant: key(1),
                parts: parts[0],
            },
            MixPart {
                plant: key(2),
                parts: parts[1],
            },
        ])
    };
    let shares = |parts| {
        let graph = FamilyGraph::new(vec![cross(3, "x", Parent::Unknown, mix(parts))]);
        graph.families()[0]
            .parents
            .iter()
            .map(|parent| parent.share)
            .collect::<Vec<_>>()
    };
    assert_eq!(shares([3, 1]), [None, Some(750), Some(250)]);
    assert_eq!(shares([0, 0]), [None, None, None]);
}

#[test]
fn plants_that_are_their_own_ancestors_are_found_and_the_walk_ends() {
    let graph = FamilyGraph::new(vec![
        cross(1, "A", known(3), Parent::Unknown),
        cross(2, "B", known(1), known(2)),
        cross(3, "C", known(2), known(1)),
        cross(4, "D", known(3), known(3)),
    ]);
    assert!(!graph.loops().is_empty());
    // What is left has no circle: no plant reaches itself.
    for plant in 0..graph.plants().len() {
        assert!(
            !FamilyGraph::reach(plant, u32::MAX, |plant| graph.parents(plant)).contains(&plant)
        );
    }
}

#[test]
fn of_two_plants_with_one_key_the_first_is_kept() {
    let graph = FamilyGraph::new(vec![
        Plant::new(key(1), "first"),
        Plant::new(key(1), "second"),
    ]);
    assert_eq!(graph.plants().len(), 1);
    assert_eq!(graph.plants()[0].code, "first");
}

use super::*;
use crate::{
    graph::{Descent, Parent, Plant, PlantKey},
    scope::{End, Scope},
};

fn plant(number: u128, parents: Option<(u128, u128)>) -> Plant {
    let descent = parents.map_or(Descent::Unrecorded, |(female, male)| Descent::Cross {
        female: Parent::Known(PlantKey(female)),
        male: Parent::Known(PlantKey(male)),
    });
    Plant {
        descent,
        ..Plant::new(PlantKey(number), format!("P{number}"))
    }
}

fn lay_out(plants: Vec<Plant>) -> (Extract, Layout) {
    let graph = FamilyGraph::new(plants);
    let extract = Extract::new(&graph, &Scope::default());
    let layout = Layout::new(&extract, Sizes::fitting(&graph));
    (extract, layout)
}

#[test]
fn a_family_hangs_under_the_middle_of_its_parents() {
    let (_, layout) = lay_out(vec![
        plant(1, None),
        plant(2, None),
        plant(3, Some((1, 2))),
        plant(4, Some((1, 2))),
    ]);
    let x = |index: usize| layout.boxes[index].center().x;
    assert!(
        (x(0) + x(1) - x(2) - x(3)).abs() < 4.0,
        "{:?}",
        layout.boxes
    );
    let [left, right] = layout.families[0].ports.as_slice() else {
        panic!("two sides");
    };
    assert!(left.at.x < right.at.x);
    assert_eq!(layout.crossings, 0);
}

#[test]
fn two_pairs_written_crosswise_are_drawn_without_a_crossing() {
    // Parents in the order 1 2 3 4, but 1 goes with 3 and 2 with 4.
    let (_, layout) = lay_out(vec![
        plant(1, None),
        plant(2, None),
        plant(3, None),
        plant(4, None),
        plant(5, Some((1, 3))),
        plant(6, Some((2, 4))),
        plant(7, Some((5, 6))),
    ]);
    assert_eq!(layout.crossings, 0);
}

#[test]
fn a_father_brought_in_late_stands_just_above_his_first_offspring() {
    let (_, layout) = lay_out(vec![
        plant(1, None),
        plant(2, None),
        plant(3, Some((1, 2))),
        plant(4, Some((3, 2))),
        plant(5, None),
        plant(6, Some((4, 5))),
    ]);
    assert_eq!(
        layout.generation,
        [Some(0), Some(0), Some(1), Some(2), Some(2), Some(3)]
    );
}

#[test]
fn a_parent_of_many_late_families_has_one_line_through_the_bands_between() {
    let mut plants = vec![
        plant(1, None),
        plant(2, None),
        plant(3, Some((1, 2))),
        plant(4, Some((3, 2))),
    ];
    plants.extend((5..=12).map(|number| plant(number, Some((4, 1)))));
    plants.extend((13..=16).map(|number| plant(number, Some((4, number - 8)))));
    let (_, layout) = lay_out(plants);
    let through = |strand: &&ParentLine| strand.parent == 0 && strand.families.len() > 1;
    assert!(layout.parent_lines.iter().filter(through).count() <= 1);
}

#[test]
fn fifty_sibs_have_one_line_from_each_parent() {
    let mut plants = vec![plant(1, None), plant(2, None)];
    plants.extend((3..53).map(|number| plant(number, Some((1, 2)))));
    let graph = FamilyGraph::new(plants);
    let scope = Scope {
        fold_from: usize::MAX,
        ..Scope::default()
    };
    let layout = Layout::new(&Extract::new(&graph, &scope), Sizes::fitting(&graph));
    assert_eq!(layout.boxes.len(), 52);
    assert_eq!(layout.parent_lines.len(), 2);
    assert_eq!(layout.families[0].child_lines.len(), 50);
    assert!(
        layout.rect.width() < 12.0 * layout.sizes.box_size.x,
        "stacked, not in one row"
    );
}

#[test]
fn nothing_makes_an_empty_drawing() {
    let (_, layout) = lay_out(Vec::new());
    assert_eq!(layout.rect.size(), Vec2::ZERO);
}

mod any_records {
    use proptest::prelude::*;

    use super::*;

    /// Any records, also wrong ones: parents are any plants, themselves and later ones included, or no plants at all.
    fn records() -> impl Strategy<Value = Vec<Plant>> {
        let parent = || {
            prop_oneof![
                5 => (0..40_u128).prop_map(|number| Parent::Known(PlantKey(number))),
                1 => Just(Parent::Unknown),
                1 => Just(Parent::Open),
            ]
        };
        let descent = prop_oneof![
            3 => Just(Descent::Unrecorded),
            9 => (parent(), parent()).prop_map(|(female, male)| Descent::Cross { female, male }),
            1 => (0..40_u128).prop_map(|from| Descent::Doubled { from: PlantKey(from) }),
        ];
        prop::collection::vec((descent, any::<bool>()), 0..36).prop_map(|list| {
            list.into_iter()
                .enumerate()
                .map(|(number, (descent, selected))| Plant {
                    selected,
                    descent,
                    ..Plant::new(PlantKey(number as u128), format!("P{number}"))
                })
                .collect()
        })
    }

    /// Records in which nobody is older than his parents, with large families.
    fn program() -> impl Strategy<Value = Vec<Plant>> {
        prop::collection::vec(
            (
                any::<prop::sample::Index>(),
                any::<prop::sample::Index>(),
                1..9_usize,
            ),
            1..16,
        )
        .prop_map(|crosses| {
            let mut plants = vec![plant(0, None), plant(1, None), plant(2, None)];
            for (female, male, sibs) in crosses {
                let known = plants.len();
                let parents = (female.index(known) as u128, male.index(known) as u128);
                for _ in 0..sibs {
                    plants.push(plant(plants.len() as u128, Some(parents)));
                }
            }
            plants
        })
    }

    fn check(extract: &Extract, layout: &Layout) -> Result<(), TestCaseError> {
        // Every box has a place of its own.
        let mut sorted: Vec<Rect> = layout.boxes.clone();
        sorted.sort_by(|a, b| a.left().total_cmp(&b.left()));
        for (place, rect) in sorted.iter().enumerate() {
            prop_assert!(rect.is_finite() && rect.is_positive());
            prop_assert!(layout.rect.contains_rect(*rect));
            for other in sorted[place + 1..]
                .iter()
                .take_while(|other| other.left() < rect.right())
            {
                prop_assert!(
                    !rect.shrink(0.5).intersects(other.shrink(0.5)),
                    "{rect:?} on {other:?}"
                );
            }
        }
        for (kin, place) in extract.families.iter().zip(&layout.families) {
            // Parents stand in a band above their children, and their lines end at the junction above the children.
            for &member in &kin.members {
                for link in &kin.links {
                    if let End::Box(parent) = link.end {
                        prop_assert!(layout.generation[parent] < layout.generation[member]);
                        prop_assert!(layout.boxes[parent].bottom() < place.stem[0].y);
                    }
                }
                prop_assert!(place.stem[1].y < layout.boxes[member].top());
            }
            let members: Vec<usize> = place.child_lines.iter().map(|twig| twig.member).collect();
            prop_assert_eq!(members.len(), kin.members.len());
        }
        // No two families' child_lines share a place on the line where they part.
        let mut spans: Vec<(f32, f32, f32)> = layout
            .families
            .iter()
            .map(|place| {
                let xs = || {
                    place
                        .child_lines
                        .iter()
                        .map(|twig| twig.from.x)
                        .chain([place.stem[1].x])
                };
                (
                    place.stem[1].y,
                    xs().fold(f32::INFINITY, f32::min),
                    xs().fold(f32::NEG_INFINITY, f32::max),
                )
            })
            .collect();
        spans.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        for pair in spans.windows(2) {
            prop_assert!(pair[0].0 < pair[1].0 || pair[0].2 < pair[1].1, "{pair:?}");
        }
        // Every drawn parent has a line to each of its families, made of pieces that meet.
        for (family, kin) in extract.families.iter().enumerate() {
            for link in &kin.links {
                if let End::Box(parent) = link.end {
                    let mut pieces: Vec<&ParentLine> = layout
                        .parent_lines
                        .iter()
                        .filter(|strand| {
                            strand.parent == parent
                                && strand.line == link.line
                                && strand.families.contains(&family)
                        })
                        .collect();
                    pieces.sort_by(|a, b| a.points[0].y.total_cmp(&b.points[0].y));
                    prop_assert!(!pieces.is_empty());
                    prop_assert_eq!(pieces[0].points[0], layout.boxes[parent].center_bottom());
                    for pair in pieces.windows(2) {
                        prop_assert_eq!(pair[0].points[3], pair[1].points[0]);
                    }
                }
            }
        }
        Ok(())
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(96))]

        #[test]
        fn are_drawn_apart_and_in_order(plants in records()) {
            let (extract, layout) = lay_out(plants);
            check(&extract, &layout)?;
        }

        #[test]
        fn of_a_sound_program_are_drawn_apart_and_in_order(plants in program()) {
            let graph = FamilyGraph::new(plants);
            for fold_from in [3, usize::MAX] {
                let extract = Extract::new(&graph, &Scope { fold_from, ..Scope::default() });
                check(&extract, &Layout::new(&extract, Sizes::fitting(&graph)))?;
            }
        }

        #[test]
        fn give_the_same_drawing_in_whatever_order_they_come(
            (plants, shuffled) in records().prop_flat_map(|plants| (Just(plants.clone()), Just(plants).prop_shuffle())),
        ) {
            let (first_extract, first) = lay_out(plants);
            let (second_extract, second) = lay_out(shuffled);
            prop_assert_eq!(first_extract, second_extract);
            prop_assert_eq!(first, second);
        }
    }
}

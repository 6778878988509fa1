//! Planning: which season a cross is for, where a plant goes next, what its origin is called.

use crate::program::{Program, day};
use domain::ancestry::is_parent;
use domain::display::origin_words;
use domain::record::genotype::GenotypeField;
use domain::{Edit, Hemisphere, Origin, Pollen, Sex, actions};

#[test]
fn the_season_is_the_year_of_the_harvest_to_come() {
    // Harvest by the end of September, in the south by the end of March: common practice.
    let north = Program::begun().project;
    let south = Program::begun_in(Hemisphere::Southern).project;
    let planned = |date: &str| {
        (
            actions::season_planned(&north, day(date)),
            actions::season_planned(&south, day(date)),
        )
    };
    assert_eq!(planned("2026-01-20"), (2026, 2026));
    assert_eq!(planned("2026-06-20"), (2026, 2027));
    assert_eq!(planned("2026-12-20"), (2027, 2027));
    // 42 days from pollination to the first ripe seed: over the turn of the year.
    assert_eq!(actions::season_of(&south, day("2026-12-20")), 2027);
    assert_eq!(actions::season_of(&north, day("2026-07-01")), 2026);
}

#[test]
fn plants_move_on_from_the_lowest_stage_among_them() {
    let mut program = Program::begun();
    let (one, other) = (program.founder("F1", None), program.founder("F2", None));
    let stages: Vec<_> = program
        .project
        .stages_in_order()
        .iter()
        .map(|stage| stage.id)
        .collect();
    assert_eq!(
        actions::next_stage(&program.project, &[one, other]),
        Some(stages[0]),
        "on no stage yet"
    );
    program.make(actions::move_to_stage(&program.project, &[one], stages[2]));
    program.make(actions::move_to_stage(
        &program.project,
        &[other],
        stages[0],
    ));
    assert_eq!(
        actions::next_stage(&program.project, &[one, other]),
        Some(stages[1])
    );
    assert_eq!(
        actions::next_stage(&program.project, &[one]),
        Some(stages[3])
    );
    let last = stages[stages.len() - 1];
    program.make(actions::move_to_stage(&program.project, &[one], last));
    assert_eq!(
        actions::next_stage(&program.project, &[one]),
        None,
        "nothing after the last"
    );
    assert_eq!(actions::next_stage(&program.project, &[]), None);
}

#[test]
fn an_origin_is_told_in_the_words_of_the_trade() {
    let mut program = Program::begun();
    let mother = program.founder("F1", Some(Sex::Female));
    let father = program.founder("M1", Some(Sex::Male));
    assert!(!is_parent(&program.project, father));
    let cross = program.cross("26-01", mother, Pollen::Male(father));
    let words = |origin| origin_words(&program.project, &origin);
    assert_eq!(words(Origin::Cross { cross }), "F1 × M1");
    assert_eq!(
        words(Origin::OpenPollinated { female: mother }),
        "F1 × open"
    );
    assert_eq!(words(Origin::Doubled { from: mother }), "F1, doubled");
    assert_eq!(words(Origin::Variant { of: mother }), "variant of F1");
    assert_eq!(words(Origin::Unknown), "unknown");
    assert!(is_parent(&program.project, father) && is_parent(&program.project, mother));
    let sport = program.founder("S1", None);
    assert!(!is_parent(&program.project, sport));
    program.make(Edit::set(
        sport,
        GenotypeField::Origin(Origin::Doubled { from: father }),
    ));
    assert!(is_parent(&program.project, father) && !is_parent(&program.project, sport));
}

//! Codes: unique whatever the size of the letters, and never given twice.

use crate::program::{Program, stated_origin};
use domain::code::{Template, next_code};
use domain::record::genotype::GenotypeField;
use domain::{Edit, Genotype, Origin, actions};

#[test]
fn a_code_is_unique_in_all_kinds_and_letter_sizes() {
    let mut program = Program::begun();
    let plant = program.founder("Abc-1", None);
    for code in ["Abc-1", "aBC-1"] {
        let twin = Genotype::new(program.ids.next(), code, stated_origin());
        assert!(
            program
                .refused(Edit::add(twin))
                .what
                .contains("already the code of a plant")
        );
    }
    let batch = program.batch("Batch", "2026-01-01", false);
    program.refused(Edit::set(
        batch,
        domain::record::chill::ChillBatchField::Code("ABC-1".into()),
    ));
    // Its own code may change its letters' size, and is free again once it has another.
    program.make(Edit::set(plant, GenotypeField::Code("ABC-1".into())));
    program.make(Edit::set(plant, GenotypeField::Code("New".into())));
    program.founder("abc-1", None);
    assert_eq!(
        program.project.find_code("NEW").collect::<Vec<_>>(),
        [plant]
    );
}

#[test]
fn batches_are_lettered_so_that_none_looks_like_a_cross() {
    let mut program = Program::begun();
    let day = |text: &str| text.parse().unwrap();
    let next = |program: &Program, on| actions::next_batch_code(&program.project, day(on));
    assert_eq!(next(&program, "2026-11-02"), "Chill A-26");
    // A code of the older form stays as it is, and is no letter.
    program.batch("Chill 26-01", "2026-01-01", false);
    assert_eq!(next(&program, "2026-11-02"), "Chill A-26");
    program.batch("Chill A-26", "2026-11-02", false);
    program.batch("chill c-26", "2026-11-09", false);
    assert_eq!(next(&program, "2026-12-02"), "Chill D-26");
    assert_eq!(next(&program, "2027-01-02"), "Chill A-27");
    program.batch("Chill Z-27", "2027-01-02", false);
    assert_eq!(next(&program, "2027-01-02"), "Chill AA-27");
    program.batch("Chill AZ-27", "2027-01-02", false);
    assert_eq!(next(&program, "2027-01-02"), "Chill BA-27");
}

#[test]
fn a_code_fits_a_label() {
    let mut program = Program::begun();
    for wrong in ["", "  ", " a", "a ", "a\nb", &"x".repeat(41)] {
        let plant = Genotype::new(program.ids.next(), wrong, stated_origin());
        program.refused(Edit::add(plant));
    }
    program.founder(&"x".repeat(40), None);
}

#[test]
fn numbering_goes_on_after_the_highest_even_past_gaps_and_the_dead() {
    let mut program = Program::begun();
    for code in ["26-01-001", "26-01-007", "26-01-S01", "26-01-x"] {
        program.founder(code, None);
    }
    let template = Template::default();
    assert_eq!(
        template.next_codes(&program.project, "26-01", 2),
        ["26-01-008", "26-01-009"]
    );
    assert_eq!(
        template.next_codes(&program.project, "26-02", 1),
        ["26-02-001"]
    );
    program.founder("26-01-1000", None);
    assert_eq!(
        template.next_codes(&program.project, "26-01", 1),
        ["26-01-1001"]
    );
    assert_eq!(next_code(&program.project, "26-01-S"), "26-01-S02");
    let after = Template("{family}/##b".into());
    program.founder("26-01/04B", None);
    assert_eq!(
        after.next_codes(&program.project, "26-01", 1),
        ["26-01/05b"]
    );
}

#[test]
fn odd_signs_in_a_family_dont_upset_its_numbers() {
    let mut program = Program::begun();
    // A number sign in the family is no place for the number.
    assert_eq!(
        Template::default().next_codes(&program.project, "No#5", 1),
        ["No#5-001"]
    );
    // Letters that take more bytes when small than when large.
    program.founder("İz-001", None);
    assert_eq!(
        Template::default().next_codes(&program.project, "İz", 1),
        ["İz-002"]
    );
    // A number no machine can go on from.
    program.founder("Q-18446744073709551615", None);
    assert_eq!(
        Template::default().next_codes(&program.project, "Q", 2),
        ["Q-001", "Q-002"]
    );
}

#[test]
fn potting_up_twice_never_gives_a_code_again() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    let lot = program.lot_of("26-01-S01", domain::LotSource::Cross(cross), 100);
    let batch = program.batch("Batch", "2027-01-01", true);
    let chill_box = program.chill_box("C-01", batch, lot, 60);
    let run = program.warm(chill_box, "2027-03-02");
    let count = program.count_record(run, "2027-03-10", 5);
    program.add(count);
    let pot = |program: &mut Program, sprouts, day| {
        let edit = actions::pot_up(
            &program.project,
            chill_box,
            sprouts,
            crate::program::day(day),
            &mut program.ids,
        )
        .expect("codes");
        program.make(edit)
    };
    pot(&mut program, 3, "2027-03-12");
    let last = program
        .project
        .progeny_of(cross)
        .last()
        .expect("a seedling")
        .id;
    let edit = actions::end_plants(
        &program.project,
        &[last],
        domain::EndKind::Culled,
        crate::program::day("2027-05-01").into(),
        "weak",
    );
    program.make(edit);
    pot(&mut program, 2, "2027-05-02");
    let codes: Vec<_> = program
        .project
        .progeny_of(cross)
        .map(|plant| plant.code.as_str())
        .collect();
    assert_eq!(
        codes,
        [
            "26-01-001",
            "26-01-002",
            "26-01-003",
            "26-01-004",
            "26-01-005"
        ]
    );
    assert!(
        program
            .project
            .progeny_of(cross)
            .all(|plant| plant.origin == Origin::Cross { cross })
    );
}

//! Findings: each with records that bring it about, and records that don't.

use crate::program::{Program, day, seen, stated_origin};
use domain::findings::{Weight, cautions_for_parents, findings};
use domain::record::chill::ChillBatchField;
use domain::record::cross::CrossField;
use domain::record::genotype::GenotypeField;
use domain::record::seed_lot::SeedLotField;
use domain::{
    Celsius, Cross, CrossEventKind, Edit, Genotype, Id, LotSource, MovementKind, Origin, Ploidy,
    Pollen, PollenShare, Selection, Sex, SexBasis, SexRecord, Sterilisation,
};

const TODAY: &str = "2026-12-01";

fn told(program: &Program, words: &str) -> Vec<Weight> {
    findings(&program.project, day(TODAY))
        .into_iter()
        .filter(|finding| finding.what.contains(words))
        .map(|finding| finding.weight)
        .collect()
}

/// Records that bring about a finding of these words once, and records that don't.
fn finding<A, B>(
    weight: Weight,
    words: &str,
    doubtful: impl FnOnce(&mut Program) -> A,
    sound: impl FnOnce(&mut Program) -> B,
) {
    let mut program = Program::begun();
    sound(&mut program);
    assert_eq!(told(&program, words), [], "told without a cause: {words}");
    let mut program = Program::begun();
    doubtful(&mut program);
    assert_eq!(
        told(&program, words),
        [weight],
        "{words}: {:#?}",
        findings(&program.project, day(TODAY))
    );
    assert!(
        findings(&program.project, day(TODAY))
            .iter()
            .all(|finding| finding.weight != Weight::Fault)
    );
}

fn events(program: &mut Program, list: &[(&str, CrossEventKind)]) -> Id<Cross> {
    let (_, _, cross) = program.usual_cross();
    for (date, what) in list {
        program.event(cross, date, what.clone());
    }
    cross
}

const BAG: CrossEventKind = CrossEventKind::FemaleBagged { bags: None };
const HARVEST: CrossEventKind = CrossEventKind::ConesHarvested { cones: None };
use CrossEventKind::{BagOff, Pollinated, Receptive};

#[test]
fn a_parent_of_unknown_sex() {
    for (sex, role) in [(None, "female parent"), (Some(Sex::Female), "male parent")] {
        finding(
            Weight::Doubt,
            &format!("is the {role} of 26-01, but its sex isn't recorded"),
            |program| {
                let female = program.founder("One", sex);
                let male = program.founder("Two", sex.is_none().then_some(Sex::Male));
                program.cross("26-01", female, Pollen::Male(male));
            },
            Program::usual_cross,
        );
    }
}

#[test]
fn pollen_not_known() {
    finding(
        Weight::Gap,
        "The pollen of 26-01 is unknown",
        |program| {
            let female = program.founder("One", Some(Sex::Female));
            program.cross("26-01", female, Pollen::Unknown);
        },
        Program::usual_cross,
    );
    let mix = |program: &mut Program, shares: [Option<f64>; 2]| {
        let female = program.founder("One", Some(Sex::Female));
        let males = [
            program.founder("A", Some(Sex::Male)),
            program.founder("B", Some(Sex::Male)),
        ];
        let shares = males
            .into_iter()
            .zip(shares)
            .map(|(male, share)| PollenShare { male, share });
        program.cross("26-01", female, Pollen::Mix(shares.collect()));
    };
    finding(
        Weight::Gap,
        "aren't all known",
        |program| mix(program, [Some(0.5), None]),
        |program| mix(program, [Some(0.5), Some(0.5)]),
    );
}

#[test]
fn a_female_not_isolated() {
    finding(
        Weight::Doubt,
        "without a bag on record",
        |program| events(program, &[("2026-07-01", Pollinated)]),
        |program| events(program, &[("2026-06-20", BAG), ("2026-07-01", Pollinated)]),
    );
    finding(
        Weight::Doubt,
        "after pollen was given",
        |program| events(program, &[("2026-07-02", BAG), ("2026-07-01", Pollinated)]),
        |program| events(program, &[("2026-07-01", BAG), ("2026-07-01", Pollinated)]),
    );
    finding(
        Weight::Doubt,
        "her flowers were already receptive",
        |program| events(program, &[("2026-06-20", BAG), ("2026-06-20", Receptive)]),
        |program| events(program, &[("2026-06-20", BAG), ("2026-06-21", Receptive)]),
    );
    finding(
        Weight::Doubt,
        "pollen was last given",
        |program| {
            events(
                program,
                &[
                    ("2026-06-20", BAG),
                    ("2026-07-01", Pollinated),
                    ("2026-07-01", BagOff),
                ],
            )
        },
        |program| {
            events(
                program,
                &[
                    ("2026-06-20", BAG),
                    ("2026-07-01", Pollinated),
                    ("2026-07-02", BagOff),
                ],
            )
        },
    );
}

#[test]
fn a_harvest_without_seed_and_a_cross_without_a_day() {
    finding(
        Weight::Gap,
        "was harvested but has no seed lot",
        |program| events(program, &[("2026-08-20", HARVEST)]),
        |program| {
            let cross = events(program, &[("2026-08-20", HARVEST)]);
            program.lot_of("Seed", LotSource::Cross(cross), 10);
        },
    );
    finding(
        Weight::Gap,
        "has no day planned",
        |program| {
            let cross = events(program, &[]);
            program.make(Edit::set(cross, CrossField::PlannedPollination(None)));
        },
        |program| events(program, &[]),
    );
}

#[test]
fn a_plant_whose_sex_is_doubtful() {
    finding(
        Weight::Doubt,
        "a number ending in M marks a male",
        |program| program.founder("123-45M", Some(Sex::Female)),
        |program| {
            program.founder("123-45M", Some(Sex::Male));
            program.founder("123-46", Some(Sex::Female));
            program.founder("ROOM", Some(Sex::Female));
        },
    );
    let tested = |program: &mut Program, parent: bool| {
        let basis = SexBasis::MarkerTest {
            test: "leaf".into(),
        };
        let plant = program.founder("Tested", None);
        program.make(Edit::set(
            plant,
            GenotypeField::Sex(Some(SexRecord {
                sex: Sex::Female,
                basis,
                date: None,
            })),
        ));
        if parent {
            program.cross("26-01", plant, Pollen::Open);
        }
    };
    finding(
        Weight::Gap,
        "rests on a marker test alone",
        |program| tested(program, true),
        |program| tested(program, false),
    );
    let selected = |program: &mut Program, sex: Option<Sex>| {
        let plant = program.founder("Star", sex);
        let selection = Selection {
            date: day("2026-10-01").into(),
            reason: String::new(),
        };
        program.make(Edit::set(plant, GenotypeField::Selected(Some(selection))));
    };
    finding(
        Weight::Gap,
        "is selected, but its sex isn't known",
        |program| selected(program, None),
        |program| selected(program, Some(Sex::Female)),
    );
}

#[test]
fn a_parent_without_a_permission() {
    let parent = |program: &mut Program, protected: bool, permission: &str| {
        let origin = Origin::Founder {
            source: "yard".into(),
            permission: permission.into(),
            protected,
            imported: false,
        };
        let plant = Genotype {
            sex: Some(seen(Sex::Female)),
            ..Genotype::new(program.ids.next(), "Star", origin)
        };
        let plant = program.add(plant);
        program.cross("26-01", plant, Pollen::Open);
    };
    finding(
        Weight::Doubt,
        "is protected and used as a parent",
        |program| parent(program, true, ""),
        |program| parent(program, true, "a letter"),
    );
    finding(
        Weight::Gap,
        "no note of what its source permits",
        |program| parent(program, false, ""),
        |program| parent(program, false, "free"),
    );
}

#[test]
fn more_seedlings_than_sprouts() {
    let potted = |program: &mut Program, sprouts| {
        let (_, _, chill_box) = program.usual_box("2026-01-01");
        let run = program.warm(chill_box, "2026-03-02");
        let count = program.count_record(run, "2026-03-10", sprouts);
        program.add(count);
        let plant = Genotype {
            potted_from: Some(run),
            ..Genotype::new(program.ids.next(), "Pot-1", stated_origin())
        };
        program.add(plant);
    };
    finding(
        Weight::Doubt,
        "1 seedlings were potted from box Box, but only 0 sprouts were counted",
        |program| potted(program, 0),
        |program| potted(program, 1),
    );
}

#[test]
fn a_lot_without_a_cross_or_a_count() {
    finding(
        Weight::Doubt,
        "The parents of lot",
        |program| program.lot_of("Found", LotSource::Unknown, 5),
        |program| program.lot("Bought", 5),
    );
    finding(
        Weight::Gap,
        "neither counted nor weighed",
        |program| {
            let lot = program.lot("Lot", 5);
            program.make(Edit::set(lot, SeedLotField::Amount(None)));
        },
        |program| program.lot("Lot", 5),
    );
}

#[test]
fn a_box_forgotten() {
    finding(
        Weight::Doubt,
        "was due for a check on",
        |program| program.usual_box("2026-11-20"),
        |program| {
            let (_, _, chill_box) = program.usual_box("2026-11-20");
            program.look(chill_box, "2026-11-30");
        },
    );
    finding(
        Weight::Doubt,
        "has been ready for warmth since",
        |program| program.usual_box("2026-09-01"),
        |program| program.usual_box("2026-10-01"),
    );
    finding(
        Weight::Doubt,
        "but what happened to it is not recorded",
        |program| {
            let (_, batch, _) = program.usual_box("2026-09-01");
            program.make(Edit::set(
                batch,
                ChillBatchField::Ended(Some(day("2026-11-01"))),
            ));
        },
        |program| {
            let (_, batch, chill_box) = program.usual_box("2026-09-01");
            program.warm(chill_box, "2026-11-01");
            program.make(Edit::set(
                batch,
                ChillBatchField::Ended(Some(day("2026-11-01"))),
            ));
        },
    );
}

#[test]
fn seeds_that_dont_add_up() {
    let mouldy = |program: &mut Program, seeds| {
        let (_, _, chill_box) = program.usual_box("2026-11-20");
        let mut check = program.check_record(chill_box, "2026-11-21");
        check.mouldy_removed = seeds;
        program.add(check);
    };
    finding(
        Weight::Doubt,
        "are accounted for",
        |program| mouldy(program, 61),
        |program| mouldy(program, 60),
    );
    let boxed = |program: &mut Program, seeds| {
        let lot = program.lot("Lot", 200);
        let batch = program.batch("Batch", "2026-11-30", true);
        program.chill_box("Box", batch, lot, seeds);
    };
    finding(
        Weight::Doubt,
        "mould spreads",
        |program| boxed(program, 101),
        |program| boxed(program, 100),
    );
    let again = |program: &mut Program, seeds| {
        let (_, batch, chill_box) = program.usual_box("2026-11-20");
        let edit = domain::actions::chill_again(
            &program.project,
            chill_box,
            batch,
            seeds,
            &mut program.ids,
        );
        program.make(edit.expect("a box"));
    };
    finding(
        Weight::Doubt,
        "seeds of box Box were chilled again, but only 60 were left in it",
        |program| again(program, 61),
        |program| again(program, 60),
    );
}

#[test]
fn the_wrong_cold() {
    let read = |program: &mut Program, degrees| {
        let (_, _, chill_box) = program.usual_box("2026-11-20");
        let mut check = program.check_record(chill_box, "2026-11-21");
        check.temperature = Some(Celsius(degrees));
        program.add(check);
    };
    // The band of common practice is 1.1 to 4.4 °C, never freezing.
    finding(
        Weight::Doubt,
        "freezing",
        |program| read(program, 0.0),
        |program| read(program, 0.1),
    );
    finding(
        Weight::Doubt,
        "outside 1.1 °C to 4.4 °C",
        |program| read(program, 4.5),
        |program| read(program, 4.4),
    );
    finding(
        Weight::Doubt,
        "outside 1.1 °C to 4.4 °C",
        |program| read(program, 1.0),
        |program| read(program, 1.1),
    );
}

#[test]
fn a_batch_half_recorded() {
    finding(
        Weight::Gap,
        "has no record of how its seed was surface-sterilised",
        |program| program.usual_box("2026-11-20"),
        |program| {
            let (_, batch, _) = program.usual_box("2026-11-20");
            let bath = Sterilisation {
                date: day("2026-11-20"),
                recipe: "label".into(),
                minutes: 5.0,
                rinses: 3,
                by: String::new(),
            };
            program.make(Edit::set(batch, ChillBatchField::Sterilised(Some(bath))));
        },
    );
    finding(
        Weight::Doubt,
        "is in the cold without a box",
        |program| program.batch("Empty", "2026-11-20", true),
        |program| program.batch("Planned", "2026-12-20", false),
    );
    let looked = |program: &mut Program, started: bool| {
        let (_, batch, chill_box) = program.usual_box("2026-11-20");
        program.make(Edit::set(batch, ChillBatchField::Started(started)));
        program.look(chill_box, "2026-11-21");
    };
    finding(
        Weight::Doubt,
        "has no recorded start of chilling",
        |program| looked(program, false),
        |program| looked(program, true),
    );
}

#[test]
fn a_date_still_to_come() {
    finding(
        Weight::Doubt,
        "which is still to come",
        |program| events(program, &[("2026-12-02", BAG)]),
        |program| events(program, &[("2026-12-01", BAG)]),
    );
    let warmed = |program: &mut Program, date: &str| {
        let (_, _, chill_box) = program.usual_box("2026-10-01");
        program.warm(chill_box, date);
    };
    finding(
        Weight::Doubt,
        "still to come",
        |program| warmed(program, "2026-12-02"),
        |program| warmed(program, TODAY),
    );
    let taken = |program: &mut Program, date: &str| {
        let lot = program.lot("Lot", 10);
        let movement = program.movement(lot, date, MovementKind::Draw, 1);
        program.add(movement);
    };
    finding(
        Weight::Doubt,
        "still to come",
        |program| taken(program, "2026-12-02"),
        |program| taken(program, TODAY),
    );
}

#[test]
fn what_gives_pause_before_a_cross() {
    let mut program = Program::begun();
    let origin = Origin::Founder {
        source: "union".into(),
        permission: String::new(),
        protected: true,
        imported: false,
    };
    let mother = Genotype {
        ploidy: Ploidy::TRIPLOID,
        ..Genotype::new(program.ids.next(), "Mother", origin)
    };
    let mother = program.add(mother);
    let male = program.founder("Father", Some(Sex::Male));
    let end = domain::End {
        date: day("2026-01-01").into(),
        kind: domain::EndKind::Died,
        cause: String::new(),
    };
    program.make(Edit::set(male, GenotypeField::End(Some(end))));
    let words =
        cautions_for_parents(&program.project, mother, &Pollen::Male(male), day(TODAY)).join(" ");
    for expected in [
        "sex of Mother",
        "Father died on 1 Jan 2026",
        "Mother is protected and no permission",
        "Mother is 3x",
    ] {
        assert!(words.contains(expected), "{expected}: {words}");
    }
    let (female, male) = (
        program.founder("F", Some(Sex::Female)),
        program.founder("M", Some(Sex::Male)),
    );
    assert!(
        cautions_for_parents(&program.project, female, &Pollen::Male(male), day(TODAY)).is_empty()
    );
}

#[test]
fn an_empty_project_has_nothing_to_find() {
    let program = Program::begun();
    assert_eq!(findings(&program.project, day(TODAY)), []);
}

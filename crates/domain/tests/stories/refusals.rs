//! What the model refuses, and the reason it gives.

use crate::program::{Program, box_end, day, seen, stated_origin};
use domain::code::Template;
use domain::record::chill::{ChillBatchField, ChillBoxField};
use domain::record::cross::CrossField;
use domain::record::genotype::GenotypeField;
use domain::record::germination::GerminationField;
use domain::record::seed_lot::SeedLotField;
use domain::record::settings::SettingsField;
use domain::{
    BoxFate, Celsius, CrossEventKind, CrossTiming, Edit, End, EndKind, Genotype, GerminationEnd,
    LotSource, Note, Origin, PartialDate, Photo, Ploidy, Pollen, PollenShare, RestFate, SeedAmount,
    SeedLot, Sex,
};

fn died(date: &str) -> GenotypeField {
    GenotypeField::End(Some(End {
        date: date.parse().expect("a date"),
        kind: EndKind::Died,
        cause: String::new(),
    }))
}

#[test]
fn a_male_cant_be_the_female_parent_nor_a_female_give_pollen() {
    let mut program = Program::begun();
    let female = program.founder("Mother", Some(Sex::Female));
    let male = program.founder("Father", Some(Sex::Male));
    let other = program.founder("Other", Some(Sex::Male));
    let wrong = program.cross_record("26-01", male, Pollen::Male(other));
    let refusal = program.refused(Edit::add(wrong));
    assert!(refusal.what.contains("Father is male"), "{refusal}");
    let wrong = program.cross_record("26-01", female, Pollen::Male(female));
    assert!(
        program
            .refused(Edit::add(wrong))
            .what
            .contains("female and has no pollen")
    );
    let cross = program.cross("26-01", female, Pollen::Male(male));
    assert!(
        program
            .refused(Edit::set(cross, CrossField::Female(other)))
            .what
            .contains("male")
    );
    // And from the other side: a parent can't turn out to be of the wrong sex while the cross stands.
    assert!(
        program
            .refused(Edit::set(female, GenotypeField::Sex(Some(seen(Sex::Male)))))
            .what
            .contains("26-01")
    );
    assert!(
        program
            .refused(Edit::set(male, GenotypeField::Sex(Some(seen(Sex::Female)))))
            .what
            .contains("26-01")
    );
    program.make(Edit::set(female, GenotypeField::Sex(None)));
}

#[test]
fn a_plant_of_unknown_sex_may_be_either_parent() {
    let mut program = Program::begun();
    let (one, other) = (program.founder("One", None), program.founder("Other", None));
    program.cross("26-01", one, Pollen::Male(other));
    program.cross("26-02", other, Pollen::Male(one));
}

#[test]
fn a_plant_may_be_selfed_only_while_it_is_monoecious() {
    let mut program = Program::begun();
    let plant = program.founder("Both", Some(Sex::Monoecious));
    program.cross("26-01", plant, Pollen::Male(plant));
    program.refused(Edit::set(plant, GenotypeField::Sex(None)));
    let unsexed = program.founder("Unsexed", None);
    let selfed = program.cross_record("26-02", unsexed, Pollen::Male(unsexed));
    assert!(
        program
            .refused(Edit::add(selfed))
            .what
            .contains("both parents")
    );
}

#[test]
fn nobody_is_their_own_ancestor() {
    let mut program = Program::begun();
    let (female, male, cross) = program.usual_cross();
    let daughter = program.seedling("26-01-001", Origin::Cross { cross });
    let second = program.cross("28-01", daughter, Pollen::Male(male));
    let granddaughter = program.seedling("28-01-001", Origin::Cross { cross: second });
    // Through the cross: its own granddaughter can't become its mother.
    let refusal = program.refused(Edit::set(cross, CrossField::Female(granddaughter)));
    assert!(refusal.what.contains("own ancestor"), "{refusal}");
    let mix = Pollen::Mix(vec![
        PollenShare { male, share: None },
        PollenShare {
            male: daughter,
            share: None,
        },
    ]);
    assert!(
        program
            .refused(Edit::set(cross, CrossField::Pollen(mix)))
            .what
            .contains("own ancestor")
    );
    // Through the plant: the mother can't come from her daughter's cross, nor from a doubled or open daughter.
    for origin in [
        Origin::Cross { cross: second },
        Origin::Doubled {
            from: granddaughter,
        },
        Origin::Variant { of: female },
        Origin::OpenPollinated { female: daughter },
    ] {
        let refusal = program.refused(Edit::set(female, GenotypeField::Origin(origin)));
        assert!(refusal.what.contains("own ancestor"), "{refusal}");
    }
}

#[test]
fn an_open_pollinated_mother_cant_be_male() {
    let mut program = Program::begun();
    let mother = program.founder("Mother", None);
    let male = program.founder("Father", Some(Sex::Male));
    let plant = Genotype::new(
        program.ids.next(),
        "OP-1",
        Origin::OpenPollinated { female: male },
    );
    assert!(
        program
            .refused(Edit::add(plant))
            .what
            .contains("open-pollinated male")
    );
    program.seedling("OP-2", Origin::OpenPollinated { female: mother });
    program.refused(Edit::set(mother, GenotypeField::Sex(Some(seen(Sex::Male)))));
    let bearer = program.founder("Bearer", None);
    let lot = program.lot_of("Open", LotSource::OpenPollinated(bearer), 10);
    program.refused(Edit::set(
        lot,
        SeedLotField::Source(LotSource::OpenPollinated(male)),
    ));
    program.refused(Edit::set(bearer, GenotypeField::Sex(Some(seen(Sex::Male)))));
}

#[test]
fn shares_of_a_pollen_mix_make_a_whole() {
    let mut program = Program::begun();
    let female = program.founder("Mother", Some(Sex::Female));
    let males = [program.founder("A", None), program.founder("B", None)];
    let mix = |shares: [Option<f64>; 2]| {
        Pollen::Mix(
            males
                .iter()
                .zip(shares)
                .map(|(male, share)| PollenShare { male: *male, share })
                .collect(),
        )
    };
    for wrong in [
        Pollen::Mix(vec![]),
        mix([Some(0.5), Some(0.4)]),
        mix([Some(0.9), Some(0.2)]),
        mix([Some(1.2), None]),
        mix([Some(0.0), None]),
        mix([Some(f64::NAN), None]),
        Pollen::Mix(vec![
            PollenShare {
                male: males[0],
                share: None
            };
            2
        ]),
    ] {
        let cross = program.cross_record("26-01", female, wrong);
        program.refused(Edit::add(cross));
    }
    for right in [
        mix([Some(0.5), Some(0.5)]),
        mix([Some(0.3), None]),
        mix([None, None]),
    ] {
        let cross = program.cross_record("26-01", female, right);
        let inverse = program.make(Edit::add(cross));
        program.make(inverse);
    }
}

#[test]
fn ploidy_is_two_three_or_even() {
    let mut program = Program::begun();
    let plant = program.founder("Plant", None);
    for wrong in [0, 1, 5, 7, 14, 255] {
        program.refused(Edit::set(plant, GenotypeField::Ploidy(Ploidy(wrong))));
    }
    for right in [2, 3, 4, 6, 8] {
        program.make(Edit::set(plant, GenotypeField::Ploidy(Ploidy(right))));
    }
}

#[test]
fn cones_are_not_picked_before_pollen_is_given() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    program.event(cross, "2026-07-01", CrossEventKind::Pollinated);
    let early = program.event_record(
        cross,
        "2026-07-01",
        CrossEventKind::ConesHarvested { cones: None },
    );
    assert!(
        program
            .refused(Edit::add(early))
            .what
            .contains("can't be harvested")
    );
    program.event(
        cross,
        "2026-08-20",
        CrossEventKind::ConesHarvested { cones: None },
    );
    let late = program.event_record(cross, "2026-08-21", CrossEventKind::Pollinated);
    program.refused(Edit::add(late));
    program.event(
        cross,
        "2026-06-20",
        CrossEventKind::FemaleBagged { bags: None },
    );
    let off = program.event_record(cross, "2026-06-19", CrossEventKind::BagOff);
    assert!(program.refused(Edit::add(off)).what.contains("bags"));
}

#[test]
fn bags_put_on_twice_keep_their_order_when_the_first_is_taken_away() {
    let mut program = Program::begun();
    let (female, male, cross) = program.usual_cross();
    let first = program.event(
        cross,
        "2026-06-20",
        CrossEventKind::FemaleBagged { bags: None },
    );
    program.event(cross, "2026-06-25", CrossEventKind::BagOff);
    program.event(
        cross,
        "2026-06-27",
        CrossEventKind::FemaleBagged { bags: None },
    );
    program.refused(Edit::remove(first));
    let other = program.cross("26-02", female, Pollen::Male(male));
    program.refused(Edit::set(
        first,
        domain::record::cross::CrossEventField::Cross(other),
    ));
    let off = program.event(cross, "2026-07-10", CrossEventKind::BagOff);
    program.make(Edit::remove(first));
    program.refused(Edit::remove(off));
}

#[test]
fn pollen_is_not_given_after_the_harvest_of_the_seed() {
    let mut program = Program::begun();
    let (_, _, cross) = program.usual_cross();
    program.event(cross, "2026-07-01", CrossEventKind::Pollinated);
    let lot = program.lot_of("Seed", LotSource::Cross(cross), 50);
    assert!(
        program
            .refused(Edit::set(
                lot,
                SeedLotField::Harvested(Some(day("2026-07-01")))
            ))
            .what
            .contains("pollen")
    );
    program.make(Edit::set(
        lot,
        SeedLotField::Harvested(Some(day("2026-08-25"))),
    ));
    program.refused(Edit::set(
        lot,
        SeedLotField::Cleaned(Some(day("2026-08-24"))),
    ));
    let late = program.event_record(cross, "2026-09-01", CrossEventKind::Pollinated);
    program.refused(Edit::add(late));
}

#[test]
fn a_dead_plant_is_neither_scored_nor_pollinated() {
    let mut program = Program::begun();
    let (female, _, cross) = program.usual_cross();
    program.make(Edit::set(female, died("2026-06-10")));
    let event = program.event_record(
        cross,
        "2026-06-11",
        CrossEventKind::FemaleBagged { bags: None },
    );
    assert!(program.refused(Edit::add(event)).what.contains("died"));
    let score = program.score(female, "2026-06-11", 5.0);
    assert!(program.refused(score).what.contains("died"));
    let score = program.score(female, "2026-06-10", 5.0);
    program.make(score);
}

#[test]
fn a_plant_doesnt_die_before_what_was_last_seen_of_it() {
    let mut program = Program::begun();
    let (female, male, cross) = program.usual_cross();
    let score = program.score(male, "2026-06-11", 5.0);
    program.make(score);
    program.refused(Edit::set(male, died("2026-06-10")));
    // Known only to the month, it may have been later in it.
    program.make(Edit::set(male, died("2026-06")));
    program.event(
        cross,
        "2026-06-20",
        CrossEventKind::FemaleBagged { bags: None },
    );
    program.refused(Edit::set(female, died("2026-06-19")));
    program.make(Edit::set(
        female,
        GenotypeField::Born(Some("2024-05".parse::<PartialDate>().expect("a month"))),
    ));
    program.refused(Edit::set(female, died("2023")));
}

#[test]
fn years_that_slipped_are_refused_everywhere() {
    let mut program = Program::begun();
    let (female, _, cross) = program.usual_cross();
    let (lot, batch, chill_box) = program.usual_box("2026-01-01");
    let slip = "0206-05-01";
    let event = program.event_record(cross, slip, CrossEventKind::Planned);
    program.refused(Edit::add(event));
    let far = program.check_record(chill_box, "9026-01-01");
    program.refused(Edit::add(far));
    program.refused(Edit::set(batch, ChillBatchField::Start(day(slip))));
    program.refused(Edit::set(lot, SeedLotField::Harvested(Some(day(slip)))));
    program.refused(Edit::set(cross, CrossField::Season(20266)));
    program.refused(Edit::set(
        cross,
        CrossField::PlannedPollination(Some(day(slip))),
    ));
    program.refused(Edit::set(
        female,
        GenotypeField::Born(Some(PartialDate::Year(20266))),
    ));
    program.refused(Edit::set(
        female,
        GenotypeField::Born(Some(PartialDate::Month(2026, 13))),
    ));
    let score = program.score(female, slip, 5.0);
    program.refused(score);
}

#[test]
fn a_box_isnt_looked_into_before_its_chill_nor_after_its_end() {
    let mut program = Program::begun();
    let (_, batch, chill_box) = program.usual_box("2026-01-10");
    let early = program.check_record(chill_box, "2026-01-09");
    assert!(
        program
            .refused(Edit::add(early))
            .what
            .contains("goes into the cold on 10 Jan 2026")
    );
    program.look(chill_box, "2026-01-12");
    program.refused(Edit::set(batch, ChillBatchField::Start(day("2026-01-13"))));
    program.refused(Edit::set(
        batch,
        ChillBatchField::Ended(Some(day("2026-01-09"))),
    ));
    program.refused(Edit::set(
        chill_box,
        ChillBoxField::End(Some(box_end("2026-01-11", BoxFate::Lost))),
    ));
    program.make(Edit::set(
        chill_box,
        ChillBoxField::End(Some(box_end("2026-01-12", BoxFate::Lost))),
    ));
    let late = program.check_record(chill_box, "2026-01-13");
    program.refused(Edit::add(late));
    let warm = domain::actions::warm(&[chill_box], day("2026-03-11"), &mut program.ids);
    assert!(program.refused(warm).what.contains("lost"));
}

#[test]
fn a_box_doesnt_end_before_its_chill_began() {
    let mut program = Program::begun();
    let (_, batch, chill_box) = program.usual_box("2026-01-10");
    program.refused(Edit::set(
        chill_box,
        ChillBoxField::End(Some(box_end("2026-01-09", BoxFate::Discarded))),
    ));
    program.make(Edit::set(
        chill_box,
        ChillBoxField::End(Some(box_end("2026-01-15", BoxFate::Discarded))),
    ));
    program.refused(Edit::set(batch, ChillBatchField::Start(day("2026-01-16"))));
}

#[test]
fn a_box_doesnt_change_to_a_batch_that_began_after_its_looks() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-10");
    let later = program.batch("Later", "2026-02-01", true);
    program.look(chill_box, "2026-01-12");
    program.refused(Edit::set(chill_box, ChillBoxField::Batch(later)));
}

#[test]
fn seed_chilled_again_stays_seed_of_its_lot_and_comes_from_an_earlier_box() {
    let mut program = Program::begun();
    let (_, batch, first) = program.usual_box("2026-01-10");
    let other_lot = program.lot("Other", 100);
    let mut second = program.box_record("Again", batch, other_lot, 20);
    second.rechilled_from = Some(first);
    assert!(
        program
            .refused(Edit::add(second.clone()))
            .what
            .contains("another lot")
    );
    second.lot = program
        .project
        .chill_boxes()
        .get(first)
        .expect("the box")
        .lot;
    let second = program.add(second);
    program.refused(Edit::set(first, ChillBoxField::Lot(other_lot)));
    // A loop of boxes would draw seed from nowhere.
    program.refused(Edit::set(first, ChillBoxField::RechilledFrom(Some(second))));
    program.refused(Edit::set(first, ChillBoxField::RechilledFrom(Some(first))));
}

#[test]
fn one_run_a_box_and_counts_within_it() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-10");
    let early = domain::actions::warm(&[chill_box], day("2026-01-09"), &mut program.ids);
    program.refused(early);
    let run = program.warm(chill_box, "2026-03-11");
    let again = domain::actions::warm(&[chill_box], day("2026-03-12"), &mut program.ids);
    assert!(program.refused(again).what.contains("in warmth already"));
    let early = program.count_record(run, "2026-03-10", 1);
    assert!(
        program
            .refused(Edit::add(early))
            .what
            .contains("went to warmth on")
    );
    let count = program.count_record(run, "2026-03-18", 3);
    program.add(count);
    let end = |date| {
        GerminationField::End(Some(GerminationEnd {
            date: day(date),
            rest: RestFate::Discarded,
            remark: String::new(),
        }))
    };
    program.refused(Edit::set(run, end("2026-03-17")));
    program.make(Edit::set(run, end("2026-04-08")));
    let late = program.count_record(run, "2026-04-09", 1);
    program.refused(Edit::add(late));
    program.refused(Edit::set(run, GerminationField::Moved(day("2026-03-19"))));
}

#[test]
fn a_seedling_isnt_potted_before_its_box_came_to_warmth() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-10");
    let run = program.warm(chill_box, "2026-03-11");
    let plant = |born: &str, program: &mut Program| Genotype {
        potted_from: Some(run),
        born: Some(born.parse().expect("a date")),
        ..Genotype::new(program.ids.next(), "Sprouted", stated_origin())
    };
    let early = plant("2026-03-10", &mut program);
    program.refused(Edit::add(early));
    let fine = plant("2026-03", &mut program);
    program.add(fine);
    program.refused(Edit::set(run, GerminationField::Moved(day("2026-04-01"))));
}

#[test]
fn a_seedling_isnt_potted_from_a_box_before_it_went_into_the_cold() {
    let mut program = Program::begun();
    let (_, batch, chill_box) = program.usual_box("2026-01-10");
    let plant = |born: &str, program: &mut Program| Genotype {
        sprouted_in: Some(chill_box),
        born: Some(born.parse().expect("a date")),
        ..Genotype::new(program.ids.next(), "Sprouted", stated_origin())
    };
    let early = plant("2026-01-09", &mut program);
    program.refused(Edit::add(early));
    let fine = plant("2026-02-01", &mut program);
    program.add(fine);
    program.refused(Edit::set(batch, ChillBatchField::Start(day("2026-02-02"))));
    program.refused(Edit::remove(chill_box));
}

#[test]
fn temperatures_are_read_from_a_real_thermometer() {
    let mut program = Program::begun();
    let (_, _, chill_box) = program.usual_box("2026-01-10");
    for wrong in [f64::NAN, f64::INFINITY, -81.0, 350.0] {
        let mut check = program.check_record(chill_box, "2026-01-11");
        check.temperature = Some(Celsius(wrong));
        program.refused(Edit::add(check));
    }
}

#[test]
fn scores_stay_on_their_scale() {
    let mut program = Program::begun();
    let plant = program.founder("Plant", None);
    for wrong in [0.0, 10.0, 4.5, f64::NAN] {
        let score = program.score(plant, "2026-06-01", wrong);
        assert!(program.refused(score).what.contains("Vigour"));
    }
    let score = program.score(plant, "2026-06-01", 9.0);
    program.make(score);
}

#[test]
fn what_others_need_isnt_taken_away() {
    let mut program = Program::begun();
    let (female, _, cross) = program.usual_cross();
    let refusal = program.refused(Edit::remove(female));
    assert!(refusal.what.contains("cross 26-01"), "{refusal}");
    let lot = program.lot_of("Seed", LotSource::Cross(cross), 50);
    program.refused(Edit::remove(cross));
    program.make(Edit::remove(lot));
    program.make(Edit::remove(cross));
    program.make(Edit::remove(female));
    let protocol = program.project.settings().protocol.expect("a protocol");
    assert!(
        program
            .refused(Edit::remove(protocol))
            .what
            .contains("New batches")
    );
}

#[test]
fn what_isnt_there_is_refused() {
    let mut program = Program::begun();
    let ghost = program.ids.next::<Genotype>();
    assert!(
        program
            .refused(Edit::remove(ghost))
            .what
            .contains("no such plant")
    );
    program.refused(Edit::set(ghost, GenotypeField::Name(None)));
    let cross = program.cross_record("26-01", ghost, Pollen::Open);
    program.refused(Edit::add(cross));
    let female = program.founder("Mother", None);
    let twice = program
        .project
        .genotypes()
        .get(female)
        .expect("the plant")
        .clone();
    assert!(
        program
            .refused(Edit::add(twice))
            .what
            .contains("there already")
    );
}

#[test]
fn many_edits_are_made_whole_or_not_at_all() {
    let mut program = Program::begun();
    let good = Genotype::new(program.ids.next(), "Good", stated_origin());
    let bad = Genotype::new(program.ids.next(), "good", stated_origin());
    program.refused(Edit::all("both", vec![Edit::add(good), Edit::add(bad)]));
    assert!(program.project.genotypes().is_empty());
}

#[test]
fn weights_that_cant_be_are_refused() {
    let mut program = Program::begun();
    let lot = program.lot("Lot", 10);
    for (weight, thousand) in [
        (f64::NAN, 3.1),
        (-1.0, 3.1),
        (1.0, 0.0),
        (1.0, f64::INFINITY),
        (1e12, 1e-3),
    ] {
        let amount = SeedAmount::Weighed {
            weight: domain::Grams(weight),
            thousand_seed_weight: domain::Grams(thousand),
        };
        program.refused(Edit::set(lot, SeedLotField::Amount(Some(amount))));
    }
}

#[test]
fn photos_lie_in_the_projects_folder() {
    let mut program = Program::begun();
    let plant = program.founder("Plant", None);
    for wrong in [
        "",
        "/etc/x.jpg",
        "../x.jpg",
        "a//b.jpg",
        "C:\\x.jpg",
        "a/./b.jpg",
        "a\0b",
    ] {
        let photo = Photo {
            id: program.ids.next(),
            about: plant.into(),
            path: wrong.into(),
            date: None,
            caption: String::new(),
        };
        program.refused(Edit::add(photo));
    }
    let photo = Photo {
        id: program.ids.next(),
        about: plant.into(),
        path: "photos/a b.jpg".into(),
        date: None,
        caption: String::new(),
    };
    program.add(photo);
}

#[test]
fn settings_that_cant_number_or_ripen_are_refused() {
    let mut program = Program::begun();
    for wrong in ["{family}", "", "#-{family}-##"] {
        program.refused(Edit::Settings(SettingsField::SeedlingCodes(Template(
            wrong.into(),
        ))));
    }
    let timing = CrossTiming {
        ripe_from: 60,
        ripe_to: 50,
        ..CrossTiming::default()
    };
    program.refused(Edit::Settings(SettingsField::CrossTiming(timing)));
}

#[test]
fn a_note_on_itself_can_be_taken_back_and_notes_on_each_other_can_be_told() {
    let mut program = Program::begun();
    let id = program.ids.next::<Note>();
    let note = |id: domain::Id<Note>, about: domain::AnyId| Note {
        id,
        about,
        date: day("2026-01-01"),
        text: "word".into(),
        by: String::new(),
    };
    let inverse = program.make(Edit::add(note(id, id.into())));
    assert_eq!(program.project.describe(id.into()), "a note");
    program.make(inverse);
    let plant = program.founder("Plant", None);
    let first = program.add(note(id, plant.into()));
    let photo = Photo {
        id: program.ids.next(),
        about: first.into(),
        path: "a.jpg".into(),
        date: None,
        caption: String::new(),
    };
    let photo = program.add(photo);
    program.make(Edit::set(
        first,
        domain::record::journal::NoteField::About(photo.into()),
    ));
    assert!(program.project.describe(first.into()).starts_with("a note"));
}

#[test]
fn a_file_with_faults_opens_and_tells_them() {
    let mut program = Program::begun();
    let (female, _, _) = program.usual_cross();
    let mut parts: domain::ProjectParts =
        serde_json::from_value(serde_json::to_value(&program.project).expect("json"))
            .expect("parts");
    parts
        .genotypes
        .iter_mut()
        .find(|plant| plant.id == female)
        .expect("the mother")
        .sex = Some(seen(Sex::Male));
    parts.genotypes.retain(|plant| plant.code != "Father");
    let lot = SeedLot {
        id: program.ids.next(),
        code: "MOTHER".into(),
        source: LotSource::Unknown,
        harvested: None,
        cleaned: None,
        amount: None,
        place: String::new(),
        conditions: String::new(),
    };
    parts.seed_lots.push(lot);
    let project = domain::Project::from_parts(parts);
    let faults: Vec<_> = domain::findings::findings(&project, day("2026-01-01"))
        .into_iter()
        .filter(|finding| finding.weight == domain::findings::Weight::Fault)
        .map(|finding| finding.what)
        .collect();
    for words in [
        "refers to a plant that isn't there",
        "is male and bears no cones",
        "the code of more than one record",
    ] {
        assert!(
            faults.iter().any(|what| what.contains(words)),
            "{words}: {faults:#?}"
        );
    }
}

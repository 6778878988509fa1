//! The program's advice held against what came, and selection in stages.

use crate::program::{Program, day, seen};
use chrono::NaiveDate;
use domain::genetics::{Kinship, ignore_progress};
use domain::own_score::OwnScore;
use domain::planning::{BestOf, Candidates, Goals, Knowledge, TraitGoal};
use domain::record::cross::CrossField;
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{
    Advised, Cross, CrossEventKind, Direction, Edit, Genotype, Id, Observation, Origin, Pollen,
    Project, Scale, Sex, Trait,
};
use std::sync::Arc;

fn scored(program: &mut Program, name: &str) -> Id<Trait> {
    let of_trait = Trait {
        id: program.ids.next(),
        name: name.into(),
        scale: Scale::one_to_nine("least", "most"),
        direction: Direction::Higher,
        method: String::new(),
    };
    program.add(of_trait)
}

fn score(project: &Project, today: &str) -> OwnScore {
    OwnScore::of(project, day(today), &mut |_| true).expect("not stopped")
}

fn advised(on: &str, chance: f64) -> Advised {
    Advised {
        on: day(on),
        season: 2023,
        wanted: 1,
        chance,
        seeds: 100,
        sprouts: 60.0,
        good_females: 2.5,
    }
}

/// A cross of an accepted plan, and a trait with a threshold of 6.
fn with_plan(chance: f64) -> (Program, Id<Cross>, Id<Trait>) {
    let mut program = Program::begun();
    let of_trait = scored(&mut program, "Leafiness");
    let (_, _, cross) = program.usual_cross();
    program.make(Edit::set(
        cross,
        CrossField::Advised(Some(advised("2023-03-01", chance))),
    ));
    program.make(Edit::Settings(SettingsField::Goals(Goals {
        traits: vec![TraitGoal {
            threshold: Some(6.0),
            ..TraitGoal::new(of_trait)
        }],
        good_females: 1,
        ..Goals::default()
    })));
    (program, cross, of_trait)
}

fn seedling(program: &mut Program, cross: Id<Cross>, code: &str, sex: Sex) -> Id<Genotype> {
    let plant = program.seedling(code, Origin::Cross { cross });
    program.make(Edit::set(plant, GenotypeField::Sex(Some(seen(sex)))));
    plant
}

fn observe(program: &mut Program, plant: Id<Genotype>, of_trait: Id<Trait>, value: f64) {
    let seen = Observation::new(
        program.ids.next(),
        plant,
        of_trait,
        day("2025-08-01"),
        value,
    );
    program.add(seen);
}

#[test]
fn a_plans_chance_is_held_against_the_good_females_found() {
    let (mut program, cross, of_trait) = with_plan(0.8);
    // Nothing potted yet, two seasons on: not settled, and no score.
    let early = score(&program.project, "2025-09-01");
    assert_eq!(early.plans[0].reached, None);
    assert_eq!(early.chances, None);
    assert!(early.words()[0].starts_with("Nothing can be said yet"));
    // A male and a female below the threshold: all are judged, and the goal isn't reached.
    let son = seedling(&mut program, cross, "S", Sex::Male);
    let daughter = seedling(&mut program, cross, "D", Sex::Female);
    observe(&mut program, son, of_trait, 9.0);
    observe(&mut program, daughter, of_trait, 5.0);
    let missed = score(&program.project, "2025-09-01");
    assert_eq!(missed.plans[0].reached, Some(false));
    // Told 0.8, came 0: (0.8 - 0)².
    let chances = missed.chances.expect("a score");
    assert!((chances.score - 0.64).abs() < 1e-12);
    // A good female found later: told 0.8, came: 0.04.
    let good = seedling(&mut program, cross, "G", Sex::Female);
    observe(&mut program, good, of_trait, 7.0);
    let found = score(&program.project, "2025-09-01");
    assert_eq!(
        (found.plans[0].good, found.plans[0].reached),
        (1, Some(true))
    );
    assert!((found.chances.expect("a score").score - 0.04).abs() < 1e-12);
    assert!(
        found.plans[0]
            .words()
            .contains("1 good female wanted, 80 % sure")
    );
    // What was advised is kept by the cross, and undone and read out like any field.
    let wrong = Edit::set(
        cross,
        CrossField::Advised(Some(advised("2023-03-01", f64::NAN))),
    );
    program.refused(wrong);
}

#[test]
fn a_plan_without_a_good_female_four_seasons_on_was_not_reached() {
    let (mut program, cross, _) = with_plan(0.3);
    seedling(&mut program, cross, "D", Sex::Female);
    assert_eq!(score(&program.project, "2026-12-31").plans[0].reached, None);
    let late = score(&program.project, "2027-01-01");
    assert_eq!(late.plans[0].reached, Some(false));
}

#[test]
fn days_of_pollination_are_kept_or_missed() {
    let mut program = Program::begun();
    let female = program.founder("F-01", Some(Sex::Female));
    let male = program.founder("M-01", Some(Sex::Male));
    let planned: NaiveDate = day("2026-07-01");
    for (code, done) in [
        ("26-01", Some("2026-07-06")),
        ("26-02", Some("2026-07-20")),
        ("26-03", None),
    ] {
        let cross = program.cross(code, female, Pollen::Male(male));
        program.make(Edit::set(
            cross,
            CrossField::PlannedPollination(Some(planned)),
        ));
        if let Some(date) = done {
            program.event(cross, date, CrossEventKind::Pollinated);
        }
    }
    let dates = score(&program.project, "2026-08-01").dates;
    assert_eq!((dates.done, dates.kept, dates.missed), (2, 1, 1));
    // Before the week is over nothing is missed.
    assert_eq!(score(&program.project, "2026-07-08").dates.missed, 0);
}

#[test]
fn a_trait_seen_late_makes_the_best_of_many_less_good() {
    let mut program = Program::begun();
    let female = program.founder("F-01", Some(Sex::Female));
    let male = program.founder("M-01", Some(Sex::Male));
    let [early, late] = ["Leafiness", "Cones"].map(|name| scored(&mut program, name));
    let of = BestOf::seedlings(50);
    let mut best = |early_year, late_year| {
        let goal = |of_trait, first_seen| TraitGoal {
            first_seen,
            ..TraitGoal::new(of_trait)
        };
        program.make(Edit::Settings(SettingsField::Goals(Goals {
            traits: vec![goal(early, early_year), goal(late, late_year)],
            ..Goals::default()
        })));
        let project = &program.project;
        let kinship = Arc::new(Kinship::of(project, 0.0).expect("a kinship"));
        let knowledge = Knowledge::of(project, &kinship, &mut ignore_progress).expect("known");
        let found = Candidates::rank(project, &kinship, &Arc::new(knowledge), day("2026-03-10"));
        let pair = found.pair(female, male).expect("a pair").clone();
        let told = found.explain_best(project, &pair, of);
        (pair.best(of) - pair.index.mean, told)
    };
    let (at_once, told) = best(None, None);
    assert!(!told.inputs.iter().any(|each| each.name.contains("in year")));
    let (staged, told) = best(None, Some(3));
    assert!(staged < 0.99 * at_once, "{staged} of {at_once}");
    assert!(staged > 0.6 * at_once, "{staged} of {at_once}");
    let seen: Vec<_> = told
        .inputs
        .iter()
        .filter(|each| each.name.contains("in year"))
        .collect();
    assert_eq!(seen.len(), 2);
    assert_eq!(
        (&*seen[1].name, &*seen[1].value),
        ("seen besides in year 3", "Cones")
    );
    // All seen in the same later year is one decision again.
    let (both_late, _) = best(Some(3), Some(3));
    assert!((both_late - at_once).abs() < 1e-12);
    let wrong = Goals {
        traits: vec![TraitGoal {
            first_seen: Some(0),
            ..TraitGoal::new(early)
        }],
        ..Goals::default()
    };
    program.refused(Edit::Settings(SettingsField::Goals(wrong)));
}

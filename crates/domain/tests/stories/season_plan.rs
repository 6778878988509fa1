//! Planning a season: goals, who may meet whom, what is expected of it, how many seeds it takes.

use crate::program::{Program, day, seen};
use chrono::NaiveDate;
use domain::genetics::{Kinship, ignore_progress};
use domain::permission::Limit;
use domain::planning::{
    BestOf, Candidates, Exclusion, Funnel, FunnelStageKind, Goals, Knowledge, NeedKind, Parent,
    Rates, SurvivalStage, TraitGoal, needs, why_not,
};
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{
    CrossEventKind, Direction, Edit, End, EndKind, Genotype, GerminationEnd, Id, LotSource,
    Observation, Origin, PartialDate, Ploidy, Pollen, Project, RestFate, Scale, Sex, Trait,
};
use std::sync::Arc;

fn today() -> NaiveDate {
    day("2026-03-10")
}

fn candidates(project: &Project) -> Candidates {
    let kinship = Arc::new(Kinship::of(project, 0.0).expect("a kinship"));
    let knowledge =
        Arc::new(Knowledge::of(project, &kinship, &mut ignore_progress).expect("not stopped"));
    Candidates::rank(project, &kinship, &knowledge, today())
        .with_chances(&mut ignore_progress)
        .expect("not stopped")
}

/// A trait scored 1 to 9, more is better.
fn scored(program: &mut Program, name: &str) -> Id<Trait> {
    let new = Trait {
        id: program.ids.next(),
        name: name.into(),
        scale: Scale::one_to_nine("least", "most"),
        direction: Direction::Higher,
        method: String::new(),
    };
    program.add(new)
}

fn set_goals(program: &mut Program, goals: Goals) {
    program.make(Edit::Settings(SettingsField::Goals(goals)));
}

fn goal(of_trait: Id<Trait>, threshold: Option<f64>) -> TraitGoal {
    TraitGoal {
        threshold,
        // Stated, so that figures can be worked out by hand.
        heritability: Some(0.25),
        ..TraitGoal::new(of_trait)
    }
}

fn observe(
    program: &mut Program,
    plant: Id<Genotype>,
    of_trait: Id<Trait>,
    value: f64,
    isolate: &str,
) {
    let seen = Observation {
        isolate: isolate.into(),
        ..Observation::new(
            program.ids.next(),
            plant,
            of_trait,
            day("2025-08-01"),
            value,
        )
    };
    program.add(seen);
}

/// A female, a male, and one trait with a threshold.
fn begun_with(threshold: Option<f64>) -> (Program, Id<Genotype>, Id<Genotype>, Id<Trait>) {
    let mut program = Program::begun();
    let female = program.founder("F-01", Some(Sex::Female));
    let male = program.founder("M-01", Some(Sex::Male));
    let of_trait = scored(&mut program, "Mildew resistance");
    let goals = Goals {
        traits: vec![goal(of_trait, threshold)],
        ..Goals::default()
    };
    set_goals(&mut program, goals);
    (program, female, male, of_trait)
}

#[test]
fn goals_are_held_to_sense_and_keep_their_traits() {
    let (mut program, _, _, of_trait) = begun_with(None);
    let twice = Goals {
        traits: vec![TraitGoal::new(of_trait); 2],
        ..Goals::default()
    };
    program.refused(Edit::Settings(SettingsField::Goals(twice)));
    for wrong in [
        Goals {
            sure: 1.0,
            ..Goals::default()
        },
        Goals {
            good_females: 0,
            ..Goals::default()
        },
        Goals {
            inbreeding: 1.5,
            ..Goals::default()
        },
        Goals {
            index: Some(f64::NAN),
            ..Goals::default()
        },
    ] {
        program.refused(Edit::Settings(SettingsField::Goals(wrong)));
    }
    let refusal = program.refused(Edit::remove(of_trait));
    assert!(refusal.what.contains("goals"));
    let undo = program.make(Edit::Settings(SettingsField::Goals(Goals::default())));
    let removed = program.make(Edit::remove(of_trait));
    program.make(removed);
    program.make(undo);
    assert_eq!(program.project.settings().goals.traits.len(), 1);
}

/// By hand, with nothing on record: the base is the middle of the scale, 5; single records spread by a fifth of it,
/// 1.6; a quarter of the variance is additive, 0.64; half of that is Mendelian, and each parent leaves a quarter of
/// it open: 0.32 + 0.32.
#[test]
fn without_records_the_width_is_honest() {
    let (program, female, male, _) = begun_with(Some(5.8));
    let found = candidates(&program.project);
    let pair = found.pair(female, male).unwrap();
    let outlook = pair.traits[0].unwrap();
    assert!((outlook.mean - 5.0).abs() < 1e-12);
    assert!((outlook.spread - 0.32_f64.sqrt()).abs() < 1e-12);
    assert!((outlook.standard_error - 0.32_f64.sqrt()).abs() < 1e-12);
    assert!((outlook.whole() - 0.8).abs() < 1e-12);
    // One standard deviation up: 0.158655 (Abramowitz & Stegun 1964, table 26.1).
    assert!((pair.reaches_all.unwrap() - 0.158655).abs() < 1e-5);
    assert!((pair.index.mean).abs() < 1e-12);
    assert!((pair.index.spread - 0.5_f64.sqrt()).abs() < 1e-12);
    assert!(pair.is_offered());
    let explained = found.explain_trait(&program.project, pair, 0).unwrap();
    assert!(
        explained
            .to_string()
            .contains("every plant counts as average")
    );
}

/// Own scores alone, by hand: the mean of two records is fitted as 5; unrelated plants are predicted by h² times what
/// their records lie from it (Falconer & Mackay 1996, ch. 10), ±1/4 × 4 = ±1.
#[test]
fn parents_own_scores_move_the_family_by_the_heritability() {
    let (mut program, female, male, of_trait) = begun_with(None);
    let other = program.founder("M-02", Some(Sex::Male));
    observe(&mut program, female, of_trait, 9.0, "");
    observe(&mut program, male, of_trait, 1.0, "");
    let found = candidates(&program.project);
    let known = &found.knowledge.traits[0];
    assert_eq!(known.records, 2);
    assert!((known.base.unwrap() - 5.0).abs() < 1e-12);
    let mean = |with| found.pair(female, with).unwrap().traits[0].unwrap().mean;
    assert!((mean(male) - 5.0).abs() < 1e-9, "one up, one down");
    assert!(
        (mean(other) - 5.5).abs() < 1e-9,
        "half of +1: {}",
        mean(other)
    );
    let error = |with| {
        found.pair(female, with).unwrap().traits[0]
            .unwrap()
            .standard_error
    };
    assert!(
        error(other) > error(male),
        "a plant never scored leaves more open"
    );
}

#[test]
fn the_order_of_pairs_goes_by_what_their_best_promises() {
    let (mut program, _, _, of_trait) = begun_with(None);
    let good = program.founder("F-02", Some(Sex::Female));
    for (code, score) in [("A", 3.0), ("B", 4.0)] {
        let plant = program.founder(code, Some(Sex::Female));
        observe(&mut program, plant, of_trait, score, "");
    }
    observe(&mut program, good, of_trait, 9.0, "");
    let found = candidates(&program.project);
    assert_eq!(found.pairs[0].female, good);
    let of = BestOf::seedlings(50);
    assert!(
        found
            .pairs
            .windows(2)
            .all(|two| two[0].best(of) >= two[1].best(of))
    );
    let first = &found.pairs[0];
    // Harter (1961): the best of 50 lies 2.2491 above the mean.
    let expected = first.index.mean + 2.2491 * first.accuracy * first.index.spread;
    assert!((first.best(of) - expected).abs() < 1e-4);
}

#[test]
fn inbred_parents_leave_less_spread_and_near_kin_is_not_offered() {
    let (mut program, female, male, _) = begun_with(None);
    let cross = program.cross("25-01", female, Pollen::Male(male));
    let sister = program.seedling("S", Origin::Cross { cross });
    let brother = program.seedling("B", Origin::Cross { cross });
    for (plant, sex) in [(sister, Sex::Female), (brother, Sex::Male)] {
        program.make(Edit::set(plant, GenotypeField::Sex(Some(seen(sex)))));
    }
    let inner = program.cross("25-02", sister, Pollen::Male(brother));
    let inbred = program.seedling("I", Origin::Cross { cross: inner });
    program.make(Edit::set(
        inbred,
        GenotypeField::Sex(Some(seen(Sex::Female))),
    ));
    let found = candidates(&program.project);
    // Falconer & Mackay (1996), ch. 5: full sibs' children have F = 1/4.
    let sibs = found.pair(sister, brother).unwrap();
    assert!((sibs.relatedness.inbreeding - 0.25).abs() < 1e-12);
    assert!(matches!(sibs.exclusions[..], [Exclusion::Inbred { .. }]));
    // Henderson (1976): 1/2 - (1/4 + 0) / 4.
    let out = found.pair(inbred, male).unwrap();
    assert!((out.mendelian - 0.4375).abs() < 1e-12);
    let accept = Goals {
        inbreeding: 0.25,
        ..program.project.settings().goals.clone()
    };
    set_goals(&mut program, accept);
    assert!(
        candidates(&program.project)
            .pair(sister, brother)
            .unwrap()
            .is_offered()
    );
}

#[test]
fn every_hindrance_has_its_reason() {
    let (mut program, female, male, _) = begun_with(None);
    let other = program.founder("F-02", Some(Sex::Female));
    let ask = |program: &Program, one: Id<Genotype>, two: Id<Genotype>| {
        let plant = |id| program.project.genotypes().get(id).unwrap();
        why_not(
            &Parent::female(&program.project, plant(one), today()),
            &Parent::male(&program.project, plant(two), today()),
        )
    };
    assert_eq!(ask(&program, female, male), []);
    assert_eq!(
        ask(&program, female, other),
        [Exclusion::SameSex(Sex::Female)]
    );
    assert_eq!(ask(&program, female, female), [Exclusion::Itself]);
    assert_eq!(
        ask(&program, male, female),
        [Exclusion::FemaleIsMale, Exclusion::PollenIsFemale]
    );
    let unknown = program.founder("X-01", None);
    assert_eq!(
        ask(&program, unknown, male),
        [Exclusion::SexUnknown { female: true }]
    );

    let triploid = program.founder("T-01", Some(Sex::Female));
    program.make(Edit::set(triploid, GenotypeField::Ploidy(Ploidy::TRIPLOID)));
    assert!(matches!(
        ask(&program, triploid, male)[..],
        [Exclusion::OddGametes { female: true, .. }]
    ));
    let found = candidates(&program.project);
    assert_eq!(found.pair(triploid, male).unwrap().ploidy, None);

    let origin = |permission: &str, protected, imported| {
        GenotypeField::Origin(Origin::Founder {
            source: "a breeder".into(),
            permission: permission.into(),
            protected,
            imported,
        })
    };
    program.make(Edit::set(other, origin("", true, false)));
    assert!(matches!(
        &ask(&program, other, male)[..],
        [Exclusion::Permission {
            limit: Limit::NothingNoted,
            ..
        }]
    ));
    program.make(Edit::set(
        other,
        origin("trial only, not for breeding", false, false),
    ));
    assert!(matches!(
        ask(&program, other, male)[..],
        [Exclusion::Permission { .. }]
    ));
    program.make(Edit::set(other, origin("", false, true)));
    assert_eq!(
        ask(&program, other, male),
        [Exclusion::Imported { female: true }]
    );
    program.make(Edit::set(
        other,
        origin("crossing allowed, released by quarantine", true, true),
    ));
    assert_eq!(ask(&program, other, male), []);
}

#[test]
fn stored_pollen_outlives_its_male_and_bridges_seasons() {
    let (mut program, female, male, _) = begun_with(None);
    let ask = |program: &Program| {
        let plant = |id| program.project.genotypes().get(id).unwrap();
        why_not(
            &Parent::female(&program.project, plant(female), today()),
            &Parent::male(&program.project, plant(male), today()),
        )
    };
    // She was receptive on 20 July, he shed on 20 June: a month apart.
    let other = program.founder("M-02", Some(Sex::Male));
    let hers = program.cross("25-01", female, Pollen::Male(other));
    program.event(hers, "2025-07-20", CrossEventKind::Receptive);
    let mother = program.founder("F-09", Some(Sex::Female));
    let his = program.cross("25-02", mother, Pollen::Male(male));
    program.event(his, "2024-06-20", CrossEventKind::PollenCollected);
    let [
        Exclusion::FlowersApart {
            female: hers,
            male: his_days,
        },
    ] = ask(&program)[..]
    else {
        panic!("{:?}", ask(&program))
    };
    assert_eq!(
        hers.from,
        day("2026-07-20"),
        "brought to the season planned for"
    );
    assert_eq!(his_days.to, day("2026-06-20"));

    program.event(
        his,
        "2025-06-25",
        CrossEventKind::PollenStored {
            place: "freezer".into(),
        },
    );
    assert_eq!(ask(&program), [], "stored, it can wait for her");
    program.make(Edit::set(
        male,
        GenotypeField::End(Some(End {
            date: PartialDate::Year(2025),
            kind: EndKind::Culled,
            cause: String::new(),
        })),
    ));
    assert_eq!(ask(&program), [], "stored, it outlives him");
    let found = candidates(&program.project);
    assert_eq!(
        found.pair(female, male).unwrap().pollen.stored,
        Some(day("2025-06-25"))
    );
    // Haunold & Stanwood (1985): half is left after a year in the freezer; two years on it is not offered.
    let plant = program.project.genotypes().get(male).unwrap();
    let late = Parent::male(&program.project, plant, day("2028-03-10"));
    assert!(matches!(
        late.hindrances[..],
        [Exclusion::Dead { female: false, .. }]
    ));
}

#[test]
fn resistances_of_both_parents_are_told_by_isolate() {
    let (mut program, female, male, of_trait) = begun_with(Some(6.0));
    observe(&mut program, female, of_trait, 8.0, "race A");
    observe(&mut program, female, of_trait, 2.0, "race B");
    observe(&mut program, male, of_trait, 7.0, "race B");
    let found = candidates(&program.project);
    assert_eq!(found.pair(female, male).unwrap().sources, [1, 1]);
    assert_eq!(found.female(female).unwrap().sources[0].isolate, "race A");
    assert_eq!(found.male(male).unwrap().sources[0].isolate, "race B");
}

/// A box of the cross of `female` and `male`, chilled, warmed, counted, closed.
fn closed_box(
    program: &mut Program,
    code: &str,
    source: LotSource,
    seeds: u32,
    germinated: u32,
    dead: u32,
) {
    let lot = program.lot_of(&format!("L {code}"), source, seeds);
    let batch = program.batch(&format!("B {code}"), "2025-01-05", true);
    let chill_box = program.chill_box(&format!("C {code}"), batch, lot, seeds);
    let run = program.warm(chill_box, "2025-03-10");
    let count = domain::Count {
        dead,
        ..program.count_record(run, "2025-03-25", germinated)
    };
    program.add(count);
    let end = GerminationEnd {
        date: day("2025-04-20"),
        rest: RestFate::Discarded,
        remark: String::new(),
    };
    program.make(Edit::set(
        run,
        domain::record::germination::GerminationField::End(Some(end)),
    ));
}

#[test]
fn rates_are_learned_by_family_and_from_the_program() {
    let (mut program, female, male, _) = begun_with(None);
    let before =
        Rates::of(&program.project, today()).of_stage(SurvivalStage::Germinated, female, male);
    assert_eq!(before.own.trials, 0.0);
    // Nothing seen: the mean is the prior's.
    assert!((before.rate.mean() - 0.75).abs() < 1e-9);
    let cross = program.cross("25-01", female, Pollen::Male(male));
    closed_box(&mut program, "1", LotSource::Cross(cross), 80, 20, 10);
    let rates = Rates::of(&program.project, today());
    let own = rates.of_stage(SurvivalStage::Germinated, female, male);
    assert_eq!(
        (own.own.passed, own.own.trials),
        (20.0, 70.0),
        "of 80 less 10 found dead"
    );
    assert!(
        own.rate.mean() < 0.4 && own.rate.mean() > 20.0 / 70.0,
        "{}",
        own.rate.mean()
    );
    let alive = rates.of_stage(SurvivalStage::Viable, female, male);
    assert_eq!((alive.own.passed, alive.own.trials), (70.0, 80.0));
    // Another family hears of it, but is less sure of it, and an open box tells nothing.
    let other = program.founder("F-02", Some(Sex::Female));
    let lot = program.lot("open", 50);
    let batch = program.batch("still cold", "2026-02-01", true);
    program.chill_box("C open", batch, lot, 50);
    let rates = Rates::of(&program.project, today());
    let strange = rates.of_stage(SurvivalStage::Germinated, other, male);
    assert_eq!(
        (strange.own.trials, strange.others.trials, strange.families),
        (0.0, 70.0, 1)
    );
    assert!(strange.rate.mean() < before.rate.mean() && strange.rate.mean() > own.rate.mean());
    assert!(strange.rate.variance() > own.rate.variance());
    let words = strange
        .explain("germinated", "family", "families")
        .to_string();
    assert!(words.contains("Haunold & Zimmermann (1974)") && words.contains("20 of 70"));
}

#[test]
fn seeds_are_the_fewest_that_do() {
    let (program, female, male, _) = begun_with(Some(5.0));
    let project = &program.project;
    let found = candidates(project);
    let pair = found.pair(female, male).unwrap();
    let rates = Rates::of(project, today());
    let funnel = Funnel::of(&found, pair, &rates);
    assert_eq!(funnel.stages.len(), 6, "five stages and a threshold");
    assert!(matches!(
        funnel.stages[5].kind,
        FunnelStageKind::Threshold(_)
    ));
    // The threshold is the base: half of seedlings reach it; sibs share what isn't known of the parents, a quarter and
    // a quarter of 0.64 of 0.64 in all, so both do with 1/4 + asin(1/2) / 2π = 1/3 (Sheppard 1899): Beta(1, 1).
    let rate = funnel.stages[5].rate;
    assert!((rate.mean() - 0.5).abs() < 1e-3 && (rate.variance() - 1.0 / 12.0).abs() < 2e-3);
    let (wanted, sure) = (3, 0.9);
    let seeds = funnel.fewest_seeds(wanted, sure).unwrap();
    assert!(funnel.chance(seeds, wanted) >= sure && funnel.chance(seeds - 1, wanted) < sure);
    let averages = f64::from(wanted) / funnel.mean();
    assert!(
        seeds as f64 > 2.0 * averages,
        "{seeds} seeds, {averages} by the averages"
    );
    let left = funnel.left(seeds);
    assert!(
        left.windows(2)
            .all(|two| two[0].mean >= two[1].mean && two[0].low >= two[1].low)
    );
    assert!(
        left.iter()
            .all(|each| each.low as f64 <= each.mean && each.mean <= each.high as f64)
    );

    let goals = Goals {
        space: domain::planning::Space {
            boxes: Some(1),
            ..Default::default()
        },
        ..project.settings().goals.clone()
    };
    let list = needs(project, &goals, &rates, &funnel, 400);
    let of = |kind| list.iter().find(|need| need.kind == kind).unwrap();
    // Haunold & Stanwood (1985): 4 to slightly over 5 seeds to a cone; 4.5 without records.
    assert_eq!(of(NeedKind::Cones).amount, 89);
    assert_eq!(of(NeedKind::Bags).amount, 3);
    assert_eq!(of(NeedKind::Boxes).amount, 4, "100 to a box");
    assert!(of(NeedKind::Boxes).is_too_much() && !of(NeedKind::Pots).is_too_much());
    assert!(of(NeedKind::Hills).amount < of(NeedKind::Pots).amount);
}

#[test]
fn a_changed_weight_leaves_what_is_known_a_new_score_does_not() {
    let (mut program, female, _, of_trait) = begun_with(None);
    let kinship = Kinship::of(&program.project, 0.0).unwrap();
    let known = Knowledge::of(&program.project, &kinship, &mut ignore_progress).unwrap();
    let heavier = Goals {
        traits: vec![TraitGoal {
            weight: 3.0,
            ..goal(of_trait, None)
        }],
        ..Goals::default()
    };
    set_goals(&mut program, heavier);
    assert!(known.holds_for(&program.project));
    observe(&mut program, female, of_trait, 7.0, "");
    assert!(!known.holds_for(&program.project));
}

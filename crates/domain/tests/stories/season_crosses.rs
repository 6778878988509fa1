//! The plan of a season: from the goals over the pairs to crosses in the calendar, and back.

use crate::program::{Program, day};
use domain::agenda::{ItemKind, ItemState, agenda};
use domain::genetics::{Kinship, ignore_progress};
use domain::planning::{
    Candidates, CrossLimits, Funnel, FunnelStageKind, Goals, Knowledge, LimitKind, LookAhead,
    NoPlan, PlanWish, Planner, Rates, SeasonDates, SeasonPlan, SeasonStep, Space, TraitGoal,
    accept, capacity, expected_flowering,
};
use domain::record::settings::SettingsField;
use domain::{Edit, Hemisphere, Project, Session, Sex};
use std::sync::Arc;

const TODAY: &str = "2027-03-01";

/// Two females and a male, no records; vigour counts.
fn three_founders(hemisphere: Hemisphere, goals: &Goals) -> Program {
    let mut program = Program::begun_in(hemisphere);
    for (code, sex) in [("F1", Sex::Female), ("F2", Sex::Female), ("M1", Sex::Male)] {
        program.founder(code, Some(sex));
    }
    let vigour = program.project.traits().iter().next().expect("a trait").id;
    program.make(Edit::Settings(SettingsField::Goals(Goals {
        traits: vec![TraitGoal::new(vigour)],
        ..goals.clone()
    })));
    program
}

fn candidates(project: &Project) -> (Candidates, Rates) {
    let kinship = Arc::new(Kinship::of(project, 0.0).expect("kinship"));
    let knowledge =
        Arc::new(Knowledge::of(project, &kinship, &mut ignore_progress).expect("knowledge"));
    let candidates = Candidates::rank(project, &kinship, &knowledge, day(TODAY));
    let candidates = candidates
        .with_chances(&mut ignore_progress)
        .expect("chances");
    (candidates, Rates::of(project, day(TODAY)))
}

fn planner(project: &Project, wish: &PlanWish) -> Result<Planner, NoPlan> {
    let (candidates, rates) = candidates(project);
    Planner::of(project, &candidates, &rates, wish, day(TODAY))
}

fn best(planner: &Planner, known: &[SeasonPlan]) -> SeasonPlan {
    planner
        .curve(1, known, &mut ignore_progress)
        .expect("a plan")
        .remove(0)
}

#[test]
fn three_founders_and_no_records_are_enough() {
    let program = three_founders(Hemisphere::Northern, &Goals::default());
    let planner = planner(&program.project, &PlanWish::default()).expect("a planner");
    let plans = planner.curve(5, &[], &mut ignore_progress).expect("plans");
    let plan = &plans[planner.accepted(&plans)];
    assert!(
        plan.seeds() > 0 && plan.seeds() <= planner.seeds,
        "{plan:?}"
    );
    assert!(plan.gain > 0.0 && plan.bound >= plan.gain);
    assert!(
        plan.distance_words()
            .starts_with("No plan within these limits")
    );
    assert!(!plan.explain(&planner).formula.is_empty());
}

#[test]
fn without_goals_or_pairs_it_says_what_is_missing() {
    let mut program = three_founders(Hemisphere::Northern, &Goals::default());
    program.make(Edit::Settings(SettingsField::Goals(Goals::default())));
    let none = planner(&program.project, &PlanWish::default()).map(|_| ());
    assert_eq!(none, Err(NoPlan::NoGoals));
    let empty = Program::begun().project;
    assert_eq!(
        planner(&empty, &PlanWish::default()).map(|_| ()),
        Err(NoPlan::NoPair)
    );
}

#[test]
fn room_and_limits_are_kept() {
    let goals = Goals {
        space: Space {
            boxes: Some(3),
            cells: Some(120),
            ..Space::default()
        },
        limits: CrossLimits {
            cones_per_female: Some(40),
            crosses_per_male: Some(1),
            ..CrossLimits::default()
        },
        ..Goals::default()
    };
    let program = three_founders(Hemisphere::Northern, &goals);
    let plan = best(
        &planner(&program.project, &PlanWish::default()).expect("a planner"),
        &[],
    );
    assert_eq!(plan.crosses.len(), 1, "one male serves one cross");
    assert!(plan.boxes() <= 3 && plan.sprouts() <= 120.0 && plan.crosses[0].cones <= 40);

    let mut more = program;
    let mut wider = more.project.settings().goals.clone();
    wider.space.boxes = Some(6);
    wider.space.cells = Some(300);
    wider.limits.cones_per_female = Some(200);
    more.make(Edit::Settings(SettingsField::Goals(wider)));
    let roomier = best(
        &planner(&more.project, &PlanWish::default()).expect("a planner"),
        std::slice::from_ref(&plan),
    );
    assert!(
        roomier.gain > plan.gain,
        "{} after {}",
        roomier.gain,
        plan.gain
    );
}

#[test]
fn a_lock_is_kept_and_costs_no_less_than_nothing() {
    let program = three_founders(Hemisphere::Northern, &Goals::default());
    let wish = PlanWish::default();
    let free = planner(&program.project, &wish).expect("a planner");
    let (candidates, _) = candidates(&program.project);
    let last = candidates
        .pairs
        .iter()
        .rfind(|pair| pair.is_offered())
        .expect("a pair");
    let pair = (last.female, last.pollen.male);
    let wish = PlanWish {
        locked: vec![pair],
        ..wish
    };
    let locked = planner(&program.project, &wish).expect("a planner");
    let plan = best(&locked, &[]);
    assert!(
        plan.crosses
            .iter()
            .any(|each| (each.female, each.male) == pair && each.locked)
    );
    let (refined, locks) = locked
        .refine(&plan, 20, &mut ignore_progress)
        .expect("costs");
    assert!(locks.len() == 1 && locks[0].cost >= 0.0 && refined.gain >= plan.gain - 1e-12);
    assert!(best(&free, std::slice::from_ref(&plan)).gain >= plan.gain);
}

/// North: from 1 July (common practice) 42 to 56 days to ripe seed and 21 to clean it: 16 September. South: from 1
/// January to 19 March. Counted on the calendar by hand; 60 days of cold, 10 and 14 and 28 and 10 days follow.
#[test]
fn the_days_follow_from_flowering_in_both_halves_of_the_globe() {
    for (hemisphere, flowering, clean, out, season) in [
        (
            Hemisphere::Northern,
            "2027-07-01",
            "2027-09-16",
            "2028-01-16",
            2027,
        ),
        (
            Hemisphere::Southern,
            "2028-01-01",
            "2028-03-18",
            "2028-07-18",
            2028,
        ),
    ] {
        let program = three_founders(hemisphere, &Goals::default());
        let (year, first) = expected_flowering(&program.project, day(TODAY));
        assert_eq!((year, first), (season, day(flowering)));
        let dates = SeasonDates::of(&program.project, 1, first);
        assert_eq!(dates.season, season);
        assert_eq!(
            dates.step(SeasonStep::Bag).map(|date| date.from),
            Some(day(flowering) - chrono::Days::new(10))
        );
        assert_eq!(
            dates.step(SeasonStep::Clean).map(|date| date.to),
            Some(day(clean))
        );
        assert_eq!(
            dates.step(SeasonStep::PlantOut).map(|date| date.from),
            Some(day(out))
        );
        assert_eq!(dates.spare, None);
    }
}

#[test]
fn too_little_time_is_told_in_days() {
    let goals = Goals {
        plant_out_by: Some(day("2027-12-01")),
        ..Goals::default()
    };
    let program = three_founders(Hemisphere::Northern, &goals);
    let dates = SeasonDates::of(&program.project, 2, day("2027-07-01"));
    // Back from 1 December: 21 November, 24 October, 30 September, and 60 days: 1 August; clean by 23 September.
    assert_eq!(dates.spare, Some(-53));
    assert!(
        dates
            .step(SeasonStep::Chill)
            .is_some_and(domain::planning::SeasonDate::is_late)
    );
    assert!(dates.words().contains("53 days too late"));
}

#[test]
fn an_accepted_plan_stands_in_the_calendar_and_goes_in_one_step() {
    let goals = Goals {
        plant_out_by: Some(day("2028-05-15")),
        space: Space {
            boxes: Some(1),
            ..Space::default()
        },
        ..Goals::default()
    };
    let mut program = three_founders(Hemisphere::Northern, &goals);
    let plan = best(
        &planner(&program.project, &PlanWish::default()).expect("a planner"),
        &[],
    );
    let mut narrower = program.project.settings().goals.clone();
    narrower.space.cells = Some(5);
    program.make(Edit::Settings(SettingsField::Goals(narrower)));
    let dates = SeasonDates::of(&program.project, plan.crosses.len(), day("2027-07-01"));
    let loads = capacity(&program.project, &plan, &dates);
    assert!(
        loads
            .iter()
            .any(|load| load.boxes == plan.boxes() && load.cells == 0)
    );
    assert!(
        loads
            .iter()
            .any(|load| load.overfull(&program.project) == ["cells"])
    );

    let edit = accept(
        &program.project,
        &plan,
        &dates,
        day(TODAY),
        &mut program.ids,
    )
    .expect("an edit");
    let mut session = Session::new(program.project.clone());
    session.apply(edit).expect("taken");
    let project = session.project();
    assert_eq!(project.crosses().len(), plan.crosses.len());
    let cross = project.crosses().iter().next().expect("a cross");
    assert_eq!(
        (cross.season, cross.seeds_wanted),
        (2027, Some(plan.crosses[0].seeds))
    );
    let items = agenda(project, day("2027-06-01")..=day("2028-06-01"), day(TODAY));
    let due: Vec<_> = items
        .iter()
        .filter(|item| item.state == ItemState::Coming)
        .map(|item| (item.kind, item.date.to_string()))
        .collect();
    let expected = [
        (ItemKind::BagFemale, "2027-06-21"),
        (ItemKind::GivePollen, "2027-07-01"),
        (ItemKind::TakeBagsOff, "2027-07-15"),
        (ItemKind::HarvestCones, "2027-08-12"),
        (ItemKind::LayInBoxes, "2028-01-14"),
        (ItemKind::HardenOff, "2028-05-05"),
        (ItemKind::PlantOut, "2028-05-15"),
    ];
    assert_eq!(due, expected.map(|(kind, date)| (kind, date.to_owned())));
    session.undo().expect("undone");
    assert!(session.project() == &program.project);
}

#[test]
fn seasons_can_be_played_out_from_three_founders() {
    let program = three_founders(Hemisphere::Northern, &Goals::default());
    let (candidates, _) = candidates(&program.project);
    let ahead = LookAhead::of(&program.project, &candidates).expect("an outlook");
    assert_eq!(ahead.parents, [2, 1]);
    // No age of a parent is on record: three seasons to a generation, common practice.
    assert_eq!((ahead.interval, ahead.own_interval), (3.0, false));
    assert_eq!(ahead.season_of(5), 15);
    assert!(ahead.interval_words().contains("five take 15"));
    let usual = ahead.usual();
    let played = ahead
        .play(&[usual, usual], 20, 1, &mut ignore_progress)
        .expect("played")
        .expect("to the end");
    let last = played.outcomes[0].seasons.last().expect("seasons");
    assert!(last.mean.mean > played.outcomes[0].seasons[0].mean.mean);
    assert!(
        played
            .differences
            .iter()
            .all(|each| each.chosen.mean == 0.0)
    );
}

#[test]
fn what_is_far_from_shown_to_be_the_best_is_no_reassurance() {
    let plan = |gain, bound| SeasonPlan {
        crosses: Vec::new(),
        gain,
        bound,
        chance: 0.9,
        chance_keeping_all: None,
        rate: 0.0,
    };
    assert_eq!(
        plan(1.0, 1.0).distance_words(),
        "No plan within these limits is better."
    );
    assert!(
        plan(0.99, 1.0)
            .distance_words()
            .contains("by more than 1.0 %")
    );
    let far = plan(0.571, 1.0).distance_words();
    assert!(
        far.contains("not shown to be the best") && far.contains("up to 43 % more"),
        "{far}"
    );
}

/// Before, twelve cones a female were refused with 'no room for seed of a single cross' beside eight boxes: 12 cones bear
/// fewer seeds than fill a box.
#[test]
fn few_cones_make_a_small_plan_and_are_named_as_what_holds_it_back() {
    let goals = Goals {
        space: Space {
            boxes: Some(8),
            cells: Some(300),
            hills: Some(120),
            ..Space::default()
        },
        limits: CrossLimits {
            cones_per_female: Some(12),
            ..CrossLimits::default()
        },
        good_females: 20,
        ..Goals::default()
    };
    let program = three_founders(Hemisphere::Northern, &goals);
    let planner = planner(&program.project, &PlanWish::default()).expect("a planner");
    let plans = planner.curve(5, &[], &mut ignore_progress).expect("plans");
    let plan = &plans[planner.accepted(&plans)];
    assert!(plan.crosses.iter().all(|cross| cross.cones <= 12));
    // 12 cones of either female at 4.5 seeds (Haunold & Stanwood 1985): 54 seeds each, none stranded.
    assert_eq!(plan.seeds(), 2 * 54, "{plan:?}");
    let binds = planner
        .binding(plan, &mut ignore_progress)
        .expect("not stopped");
    assert_eq!(binds[0].limit, LimitKind::Cones, "{binds:?}");
    assert!(binds[0].chance > plan.chance + 0.005);
    let words = binds[0].words(plan);
    assert!(
        words.starts_with("No more than 12 cones a female: 5 more would bring the chance from"),
        "{words}"
    );
    let mut none = program;
    let mut without = none.project.settings().goals.clone();
    without.space.hills = Some(0);
    none.make(Edit::Settings(SettingsField::Goals(without)));
    let refused = self::planner(&none.project, &PlanWish::default()).map(|_| ());
    let refused = refused.expect_err("no hill, no plan");
    assert_eq!(refused, NoPlan::NoRoom(LimitKind::Hills));
    assert!(refused.to_string().contains("hills"), "{refused}");
}

/// Two females and a male, unrelated, each sex used alike: 4 Nm Nf / (Nm + Nf) = 8/3 (Wright 1931, Genetics 16:97-159),
/// the rate of coancestry 3/16.
#[test]
fn the_rate_of_coancestry_is_that_of_unequal_sexes() {
    let program = three_founders(Hemisphere::Northern, &Goals::default());
    let planner = planner(&program.project, &PlanWish::default()).expect("a planner");
    let plans = planner.curve(5, &[], &mut ignore_progress).expect("plans");
    let least = &plans[0];
    assert!(least.crosses.len() == 2, "{least:?}");
    assert!((least.rate - 3.0 / 16.0).abs() < 1e-3, "{}", least.rate);
    assert!((planner.diversity.now, planner.diversity.share) == (0.0, 1.0));
    let explained = planner.diversity.explain(least.rate);
    assert!(
        explained.to_string().contains("effective size 3"),
        "{explained}"
    );
}

#[test]
fn a_limit_on_coancestry_that_cannot_be_kept_says_so_with_its_price() {
    let goals = Goals {
        coancestry_rate: Some(0.02),
        ..Goals::default()
    };
    let program = three_founders(Hemisphere::Northern, &goals);
    let planner = planner(&program.project, &PlanWish::default()).expect("a planner");
    let plans = planner.curve(5, &[], &mut ignore_progress).expect("plans");
    let words = planner.rate_words(&plans).expect("it can't be kept");
    assert!(
        words.contains("accept a rate of coancestry of 2.0 %")
            && words.contains("the least found is 18.8 %"),
        "{words}"
    );
    let taken = &plans[planner.accepted(&plans)];
    let most = plans.iter().map(|plan| plan.gain).fold(0.0, f64::max);
    assert!(
        taken.gain >= 0.9 * most - 1e-9,
        "no falling back to the least gain"
    );
    let mut kept = program;
    let mut wider = kept.project.settings().goals.clone();
    wider.coancestry_rate = Some(0.3);
    kept.make(Edit::Settings(SettingsField::Goals(wider)));
    let planner = self::planner(&kept.project, &PlanWish::default()).expect("a planner");
    let plans = planner.curve(5, &[], &mut ignore_progress).expect("plans");
    assert_eq!(planner.rate_words(&plans), None);
    assert!(plans[planner.accepted(&plans)].rate <= 0.3 + 1e-9);
}

#[test]
fn the_plan_taken_is_as_sure_as_wished_where_any_is() {
    for (sure, good_females) in [(0.8, 3), (0.9, 3), (0.95, 6)] {
        let goals = Goals {
            sure,
            good_females,
            ..Goals::default()
        };
        let program = three_founders(Hemisphere::Northern, &goals);
        let planner = planner(&program.project, &PlanWish::default()).expect("a planner");
        let plans = planner.curve(5, &[], &mut ignore_progress).expect("plans");
        let plan = &plans[planner.accepted(&plans)];
        assert!(plan.chance >= sure - 1e-3, "{} for {sure}", plan.chance);
        let words = planner.chance_words(plan, &plans);
        assert!(words.contains("at least as sure as you want"), "{words}");
    }
    // Room for ten seeds: no plan can be as sure, and it says so.
    let goals = Goals {
        good_females: 9,
        ..Goals::default()
    };
    let program = three_founders(Hemisphere::Northern, &goals);
    let few = PlanWish {
        seeds: Some(10),
        ..PlanWish::default()
    };
    let planner = planner(&program.project, &few).expect("a planner");
    let plans = planner.curve(5, &[], &mut ignore_progress).expect("plans");
    let plan = &plans[planner.accepted(&plans)];
    assert_eq!(plan.seeds(), 10);
    let words = planner.chance_words(plan, &plans);
    assert!(
        words.contains("No plan found within the limits reaches it"),
        "{words}"
    );
    let binds = planner
        .binding(plan, &mut ignore_progress)
        .expect("not stopped");
    assert_eq!(binds[0].limit, LimitKind::Seeds);
}

/// A trait seen in the first year and one of the third: a seedling without a good first record isn't there any more when
/// its cones could be seen. The chance of the goal counts what is found, and says what keeping all would bring.
#[test]
fn the_chance_of_the_goal_heeds_what_is_kept_by_when() {
    let chances = |seen: Option<u8>| {
        let mut program = three_founders(Hemisphere::Northern, &Goals::default());
        let traits: Vec<_> = program
            .project
            .traits()
            .iter()
            .map(|each| each.id)
            .collect();
        let of = |place: usize, first_seen| TraitGoal {
            threshold: Some(5.0),
            spread: Some(1.5),
            first_seen,
            ..TraitGoal::new(traits[place])
        };
        program.make(Edit::Settings(SettingsField::Goals(Goals {
            traits: vec![of(0, None), of(1, seen)],
            good_females: 4,
            ..Goals::default()
        })));
        let few = PlanWish {
            seeds: Some(100),
            ..PlanWish::default()
        };
        let planner = planner(&program.project, &few).expect("a planner");
        let plan = best(&planner, &[]);
        let words = planner.stages_words(&program.project, &plan);
        let (candidates, rates) = candidates(&program.project);
        let funnel = Funnel::of(&candidates, &candidates.pairs[0], &rates);
        (plan.chance, plan.chance_keeping_all, words, funnel)
    };
    let (at_once, none, no_words, one_look) = chances(None);
    assert_eq!((none, no_words), (None, None), "all is seen at once");
    let (staged, all, words, two_looks) = chances(Some(3));
    assert!(staged < at_once - 0.05, "{staged} found, {at_once} at once");
    assert!((all.expect("two looks") - at_once).abs() < 0.02, "{all:?}");
    let words = words.expect("two looks");
    assert!(words.contains("5 or more. Were all kept"), "{words}");
    // The seeds of one pair go by the same: what isn't kept can't be found.
    assert_eq!(two_looks.stages.len(), one_look.stages.len() + 1);
    let last = two_looks.stages.last().expect("stages");
    assert!(matches!(last.kind, FunnelStageKind::Look(_)));
    let seeds = [&one_look, &two_looks].map(|funnel| funnel.fewest_seeds(1, 0.6).expect("so many"));
    assert!(
        seeds[1] as f64 > 1.1 * seeds[0] as f64,
        "{seeds:?} seeds with one look and with two"
    );
    assert!(two_looks.mean() < one_look.mean());
}

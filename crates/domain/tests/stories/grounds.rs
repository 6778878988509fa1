//! Every recommendation says why, how sure, and what would change it, with the figures that it rests on.

use crate::program::{Program, day};
use chrono::{NaiveTime, TimeDelta};
use domain::chill_response::{response, trials};
use domain::date::InWords as _;
use domain::genetics::{Kinship, ignore_progress};
use domain::germination::{By, Forecasts, RunCounts, Waiting, groups};
use domain::grounds::{Grounds, of_cold};
use domain::planning::{
    BestOf, Candidates, CrossLimits, Funnel, Goals, Knowledge, LookAhead, PlanWish, Planner, Rates,
    SeasonDates, Space, TraitGoal, expected_flowering,
};
use domain::record::germination::GerminationField;
use domain::record::settings::SettingsField;
use domain::temperature::{BatchCold, Reading, Readings};
use domain::{Celsius, Edit, GerminationEnd, LogPlace, RestFate, Sex, TemperatureLog};
use std::sync::Arc;

const TODAY: &str = "2027-03-01";

/// Females that were scored, one of them twice, and a male of which nothing is known; four good females hoped for, with few boxes.
fn planned() -> Program {
    let mut program = Program::begun();
    let [scored, other, _] = [("F1", Sex::Female), ("F2", Sex::Female), ("M1", Sex::Male)]
        .map(|(code, sex)| program.founder(code, Some(sex)));
    let edit = program.score(scored, "2026-06-01", 8.0);
    program.make(edit);
    let vigour = program.project.traits().iter().next().expect("a trait").id;
    let seen = domain::Observation::new(program.ids.next(), scored, vigour, day("2026-08-01"), 8.0);
    program.add(seen);
    let edit = program.score(other, "2026-06-01", 4.0);
    program.make(edit);
    for (nth, value) in [3.0, 5.0, 6.0, 4.0, 7.0, 5.0].into_iter().enumerate() {
        let plant = program.founder(&format!("X{nth}"), Some(Sex::Female));
        let edit = program.score(plant, "2026-06-01", value);
        program.make(edit);
    }
    program.make(Edit::Settings(SettingsField::Goals(Goals {
        traits: vec![TraitGoal {
            threshold: Some(6.0),
            ..TraitGoal::new(vigour)
        }],
        good_females: 4,
        space: Space {
            boxes: Some(1),
            ..Space::default()
        },
        limits: CrossLimits::default(),
        ..Goals::default()
    })));
    program
}

fn whole(grounds: &Grounds) {
    for (what, sentence) in grounds.lines() {
        assert!(sentence.ends_with('.'), "{what}: {sentence}");
        assert!(
            !sentence.contains("NaN") && !sentence.contains("inf "),
            "{sentence}"
        );
    }
}

#[test]
fn a_pair_its_seeds_and_a_plan_carry_their_grounds() {
    let program = planned();
    let project = &program.project;
    let kinship = Arc::new(Kinship::of(project, 0.0).expect("kinship"));
    let knowledge =
        Arc::new(Knowledge::of(project, &kinship, &mut ignore_progress).expect("knowledge"));
    let candidates = Candidates::rank(project, &kinship, &knowledge, day(TODAY))
        .with_chances(&mut ignore_progress)
        .expect("chances");
    let pair = &candidates.pairs[0];
    let of = BestOf::seedlings(50);
    let grounds = candidates.grounds(project, pair, of);
    whole(&grounds);
    assert!(
        grounds.why.contains(&format!("{:.2}", pair.best(of))),
        "{grounds:?}"
    );
    // Nothing is recorded of the male: records of it would tell most.
    assert!(
        grounds.would_change.starts_with("Records of M1"),
        "{grounds:?}"
    );
    let rates = Rates::of(project, day(TODAY));
    let funnel = Funnel::of(&candidates, pair, &rates);
    let seeds = funnel.fewest_seeds(4, 0.9).expect("so many are enough");
    let grounds = funnel.grounds(project, Some(seeds), 4, 0.9);
    whole(&grounds);
    assert!(grounds.why.contains(&seeds.to_string()), "{grounds:?}");
    let ends: Vec<u64> = grounds
        .would_change
        .split("seeds")
        .next()
        .into_iter()
        .chain(grounds.would_change.rsplit("other ").take(1))
        .filter_map(|part| {
            let digits = part.trim_end_matches(['.', ' ']).rsplit(' ').next()?;
            digits.parse().ok()
        })
        .collect();
    assert!(
        ends.len() == 2 && ends[0] > seeds && ends[1] < seeds,
        "{seeds} lies between what it takes at either end: {grounds:?}"
    );
    let planner = Planner::of(
        project,
        &candidates,
        &rates,
        &PlanWish::default(),
        day(TODAY),
    )
    .expect("a planner");
    let plans = planner.curve(3, &[], &mut ignore_progress).expect("plans");
    let plan = &plans[planner.accepted(&plans)];
    let binds = planner.binding(plan, &mut ignore_progress).expect("limits");
    let grounds = planner.grounds(project, plan, &plans, Some(&binds));
    whole(&grounds);
    assert!(
        grounds.would_change.contains(&binds[0].words(plan)),
        "what binds first would change it: {grounds:?}"
    );
    let sure = format!("{:.0} %", 100.0 * plan.chance);
    assert!(grounds.how_sure.contains(&sure), "{grounds:?}");
}

#[test]
fn a_day_to_stop_tells_what_it_was_learnt_from_and_what_age_does() {
    let mut program = Program::begun();
    let mut runs = Vec::new();
    // Seed of the last harvest comes well, seed two years older badly.
    for (nth, (harvest, counts)) in [
        ("2025-10-01", [10, 25, 8, 2]),
        ("2023-10-01", [2, 9, 6, 3]),
        ("2025-10-01", [12, 22, 9, 1]),
        ("2023-10-01", [3, 8, 7, 2]),
        ("2025-10-01", [9, 24, 10, 2]),
        ("2023-10-01", [2, 7, 8, 3]),
    ]
    .into_iter()
    .enumerate()
    {
        let lot = program.lot(&format!("L{nth}"), 60);
        let field = domain::record::seed_lot::SeedLotField::Harvested(Some(day(harvest)));
        program.make(Edit::set(lot, field));
        let batch = program.batch(&format!("B{nth}"), "2026-01-04", true);
        let laid = program.chill_box(&format!("C{nth}"), batch, lot, 60);
        let run = program.warm(laid, "2026-03-01");
        for (week, up) in counts.into_iter().enumerate() {
            let date = domain::date::shift(day("2026-03-01"), 7 * (week as i64 + 1)).to_string();
            let count = program.count_record(run, &date, up);
            program.add(count);
        }
        if nth < 5 {
            let end = GerminationEnd {
                date: day("2026-04-12"),
                rest: RestFate::Discarded,
                remark: String::new(),
            };
            program.make(Edit::set(run, GerminationField::End(Some(end))));
        }
        runs.push(run);
    }
    let project = &program.project;
    let forecasts = Forecasts::of(project);
    let open = groups(project, By::Box)
        .into_iter()
        .map(|group| group.1[0])
        .find(|run| *run == runs[5])
        .expect("the open run");
    let run = project.germinations().get(open).expect("a run");
    let courses = [RunCounts::of(project, run).expect("its counts")];
    assert!((courses[0].age.expect("its age") - 2.41).abs() < 0.01);
    let waiting = Waiting::of(project, &courses, &forecasts, 1);
    let known = waiting.known().expect("five closed boxes tell");
    let grounds = known.grounds();
    whole(&grounds);
    assert!(grounds.why.contains("5 closed boxes"), "{grounds:?}");
    assert!(known.by_year_of_age[0] < 0.8, "{:?}", known.by_year_of_age);
    assert!(grounds.why.contains("A year of age"), "{grounds:?}");
    assert!(
        grounds.would_change.starts_with("The next count"),
        "{grounds:?}"
    );
}

/// What the dates rest on: no pollination on record at first, then two; and a day to plant out that is too early.
#[test]
fn dates_say_what_the_flowering_rests_on_and_what_would_make_them_late() {
    let mut program = planned();
    let of = |program: &Program| {
        let (_, flowering) = expected_flowering(&program.project, day(TODAY));
        SeasonDates::of(&program.project, 2, flowering)
    };
    let dates = of(&program);
    let grounds = dates.grounds(&program.project);
    whole(&grounds);
    assert!(
        grounds.how_sure.contains("No pollination is on record"),
        "{grounds:?}"
    );
    assert!(
        grounds.would_change.starts_with("A last day to plant out"),
        "{grounds:?}"
    );
    let mut goals = program.project.settings().goals.clone();
    goals.plant_out_by = Some(day("2028-06-15"));
    program.make(Edit::Settings(SettingsField::Goals(goals.clone())));
    let in_time = of(&program);
    let spare = in_time.spare.expect("a day is set");
    assert!(spare > 0);
    let grounds = in_time.grounds(&program.project);
    whole(&grounds);
    assert!(
        grounds
            .would_change
            .contains(&format!("more than {spare} days later")),
        "{grounds:?}"
    );
    goals.plant_out_by = Some(day("2027-12-15"));
    program.make(Edit::Settings(SettingsField::Goals(goals)));
    let late = of(&program);
    assert!(late.dates.iter().any(domain::planning::SeasonDate::is_late));
    let grounds = late.grounds(&program.project);
    whole(&grounds);
    assert!(
        grounds.would_change.contains("days too late"),
        "{grounds:?}"
    );
}

/// Two strategies alike can't be told apart; one that raises a tenth of the plants gains less, and it is said which.
#[test]
fn looking_ahead_says_whether_the_strategies_can_be_told_apart() {
    let program = planned();
    let project = &program.project;
    let kinship = Arc::new(Kinship::of(project, 0.0).expect("kinship"));
    let knowledge =
        Arc::new(Knowledge::of(project, &kinship, &mut ignore_progress).expect("knowledge"));
    let candidates = Candidates::rank(project, &kinship, &knowledge, day(TODAY));
    let ahead = LookAhead::of(project, &candidates).expect("an outlook");
    let usual = ahead.usual();
    let of = |other| {
        let played = ahead
            .play(&[usual, other], 30, 1, &mut ignore_progress)
            .expect("played")
            .expect("to the end");
        ahead.grounds(&played).expect("two were played")
    };
    let alike = of(usual);
    whole(&alike);
    assert!(
        alike.how_sure.contains("can't be told from luck"),
        "{alike:?}"
    );
    let fewer = of(quant::simulate::Strategy {
        plants: usual.plants / 10,
        ..usual
    });
    whole(&fewer);
    assert!(
        fewer
            .how_sure
            .contains("the first gains more, beyond the luck"),
        "{fewer:?}"
    );
    assert!(
        fewer
            .would_change
            .contains("A generation takes 3.0 seasons")
    );
}

/// The day that cold is enough says what is known of the cold, and that the program's own boxes don't tell yet how much is
/// needed.
#[test]
fn enough_cold_says_what_it_rests_on() {
    let mut program = Program::begun();
    let batch = program.batch("B1", "2026-12-01", true);
    let project = &program.project;
    let found = project.chill_batches().get(batch).expect("a batch");
    let response = response(&trials(project, day(TODAY)));
    let grounds = of_cold(found, None, &response);
    whole(&grounds);
    assert!(
        grounds.why.contains(&found.ready_on().in_words()),
        "{grounds:?}"
    );
    assert!(
        grounds.how_sure.contains("temperatures aren't on record")
            && grounds.how_sure.contains("don't tell yet"),
        "{grounds:?}"
    );
    assert!(
        grounds.would_change.starts_with("The file of its logger"),
        "{grounds:?}"
    );
    // Forty days in the band on record of the sixty asked for.
    let begin = day("2026-12-01").and_time(NaiveTime::MIN);
    let hourly =
        (0..=40 * 24).map(|hour| Reading::new(begin + TimeDelta::hours(hour), Celsius(3.0)));
    let log = TemperatureLog {
        id: program.ids.next(),
        at: LogPlace::Batch(batch),
        readings: Readings::new(hourly.collect()),
        source: "logger".into(),
        remark: String::new(),
    };
    program.add(log);
    let project = &program.project;
    let found = project.chill_batches().get(batch).expect("a batch");
    let cold = BatchCold::of(project, found, day("2027-01-10")).expect("its temperatures");
    let grounds = of_cold(found, Some(&cold), &response);
    whole(&grounds);
    let part = format!("{:.0} % of that", 100.0 * cold.part());
    assert!((60.0..72.0).contains(&(100.0 * cold.part())), "{part}");
    assert!(grounds.why.contains(&part), "{grounds:?}");
}

//! The sample is what it says it is, on any day.

use chrono::{Datelike as _, NaiveDate};
use domain::agenda::{ItemKind, ItemState, agenda};
use domain::date::shift;
use domain::findings::{Weight, findings};
use domain::{CrossEventKind, Origin, Ploidy, Pollen, Project, SexBasis};
use sample::sample_project;
use std::collections::{BTreeMap, BTreeSet};

/// Middle of the chill season, midsummer, both sides of a year's end, a leap day, the day after one.
const DAYS: [&str; 8] = [
    "2026-03-15",
    "2026-07-04",
    "2026-12-31",
    "2027-01-01",
    "2028-02-29",
    "2028-03-01",
    "2029-02-28",
    "2100-10-09",
];

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

fn made(text: &str) -> Project {
    sample_project(day(text)).expect("no refusal")
}

#[test]
fn it_is_made_without_a_refusal_all_through_a_leap_year() {
    for after in (0..366).step_by(13) {
        let today = shift(day("2028-01-01"), after);
        sample_project(today).unwrap_or_else(|refusal| panic!("{today}: {refusal}"));
    }
}

#[test]
fn the_same_day_gives_the_same_bytes() {
    for text in DAYS {
        let bytes = |project: &Project| serde_json::to_vec(project).unwrap();
        assert_eq!(bytes(&made(text)), bytes(&made(text)), "{text}");
    }
}

/// A program goes on: what was recorded by one day is there on the next.
#[test]
fn from_one_week_to_the_next_of_a_year_nothing_recorded_is_lost() {
    let records = |project: &Project| {
        let checks = project.checks().iter().map(|each| ("check", each.date));
        let counts = project.counts().iter().map(|each| ("count", each.date));
        let scores = project
            .observations()
            .iter()
            .map(|each| ("score", each.date));
        let events = project
            .cross_events()
            .iter()
            .map(|each| ("event", each.date));
        let mut of_each_day = BTreeMap::<_, usize>::new();
        for record in checks.chain(counts).chain(scores).chain(events) {
            *of_each_day.entry(record).or_default() += 1;
        }
        of_each_day
    };
    let mut before = records(&made("2027-01-01"));
    for after in (7..365).step_by(14) {
        let today = shift(day("2027-01-01"), after);
        let now = records(&sample_project(today).unwrap());
        for (record, count) in before {
            assert!(
                now.get(&record).is_some_and(|now| *now >= count),
                "{today}: {record:?}"
            );
        }
        before = now;
    }
}

#[test]
fn its_messy_truths_are_those_meant_and_no_more() {
    let always = [
        (Weight::Doubt, "OV-31 is the male parent of"),
        (Weight::Doubt, "but her flowers were already receptive on"),
        (Weight::Doubt, "The parents of lot Found-1 are unknown"),
        (
            Weight::Gap,
            "TAN is used as a parent, but there is no note of what its source permits",
        ),
        (Weight::Gap, "is unknown."),
    ];
    let overdue = (Weight::Doubt, "was due for a check on");
    let froze = (Weight::Doubt, "was at or below 0.0 °C for");
    let marker = (
        Weight::Gap,
        "is a parent, but its sex rests on a marker test alone",
    );
    for (text, also) in [
        ("2026-03-15", &[overdue, froze, marker][..]),
        ("2026-07-04", &[froze, marker]),
        ("2026-12-31", &[froze]),
        ("2027-01-01", &[marker]),
        ("2028-02-21", &[froze, marker]),
        ("2100-10-09", &[froze]),
    ] {
        let project = made(text);
        let found = findings(&project, day(text));
        let meant: Vec<_> = always.iter().chain(also).collect();
        for (weight, words) in &meant {
            let hits = found
                .iter()
                .filter(|finding| finding.weight == *weight && finding.what.contains(words));
            assert_eq!(hits.count(), 1, "{text}: {words}");
        }
        assert_eq!(found.len(), meant.len(), "{text}: {found:#?}");
    }
}

/// A northern program pollinates in July, harvests in September, cleans and plans in autumn, chills from January, and
/// pots in spring (common practice).
#[test]
fn each_day_has_the_work_of_its_season() {
    use ItemKind::*;
    for (text, kinds) in [
        ("2027-01-05", &[CheckBox][..]),
        ("2026-02-15", &[CheckBox, MoveToWarmth]),
        (
            "2026-03-15",
            &[
                CheckBox,
                CountSprouts,
                PotUp,
                Task,
                MoveToWarmth,
                StartChill,
                DecideRest,
            ],
        ),
        ("2026-04-20", &[CountSprouts, PotUp]),
        ("2026-05-28", &[HardenOff, PlantOut]),
        ("2026-06-28", &[BagFemale, GivePollen]),
        ("2026-07-14", &[GivePollen, TakeBagsOff]),
        ("2026-09-03", &[HarvestCones]),
        ("2026-09-20", &[CleanSeed]),
        ("2026-10-20", &[CleanSeed, Task]),
        ("2026-11-28", &[CheckBox, Task]),
        ("2026-12-28", &[StartChill]),
    ] {
        let (project, today) = (made(text), day(text));
        let items = agenda(&project, today..=shift(today, 30), today);
        for kind in kinds {
            assert!(
                items
                    .iter()
                    .any(|item| item.kind == *kind && item.state != ItemState::Done),
                "{text}: nothing of {kind:?}"
            );
        }
    }
    for after in (0..365).step_by(5) {
        let today = shift(day("2026-01-01"), after);
        let project = sample_project(today).unwrap();
        let items = agenda(&project, today..=shift(today, 21), today);
        assert!(
            items.iter().any(|item| item.state != ItemState::Done),
            "{today}: nothing to do for three weeks"
        );
    }
}

#[test]
fn in_the_middle_of_march_everything_is_at_once_late_due_and_coming() {
    let (project, today) = (made("2026-03-15"), day("2026-03-15"));
    let items = agenda(&project, today..=shift(today, 30), today);
    for (state, kind) in [
        (ItemState::Late, ItemKind::CheckBox),
        (ItemState::Late, ItemKind::CountSprouts),
        (ItemState::Late, ItemKind::Task),
        (ItemState::Due, ItemKind::CheckBox),
        (ItemState::Due, ItemKind::CountSprouts),
        (ItemState::Due, ItemKind::PotUp),
        (ItemState::Due, ItemKind::Task),
        (ItemState::Coming, ItemKind::CheckBox),
        (ItemState::Coming, ItemKind::StartChill),
    ] {
        assert!(
            items
                .iter()
                .any(|item| item.state == state && item.kind == kind),
            "nothing {state:?} of {kind:?}"
        );
    }
}

#[test]
fn nothing_is_dated_ahead_and_the_seasons_lie_in_the_summers() {
    for text in DAYS {
        let (project, today) = (made(text), day(text));
        assert!(
            project
                .cross_events()
                .iter()
                .all(|event| event.date <= today)
        );
        assert!(project.observations().iter().all(|each| each.date <= today));
        for event in project.cross_events().iter() {
            let month = event.date.month();
            match event.what {
                CrossEventKind::Pollinated => assert_eq!(month, 7, "{}", event.date),
                CrossEventKind::ConesHarvested { .. } => assert_eq!(month, 9, "{}", event.date),
                _ => {}
            }
        }
        for batch in project.chill_batches().iter() {
            assert!(
                [1, 2, 3, 4, 11].contains(&batch.start.month()),
                "{text}: {}",
                batch.start
            );
        }
        let seasons: Vec<_> = project
            .crosses()
            .iter()
            .map(|cross| cross.season - today.year())
            .collect::<BTreeSet<_>>()
            .into_iter()
            .collect();
        assert_eq!(seasons, [-5, -3, -1, 0], "{text}");
    }
}

#[test]
fn it_holds_what_a_season_needs() {
    let project = made("2026-03-15");
    assert!(!project.settings().goals.traits.is_empty());
    let plants: Vec<_> = project.genotypes().iter().collect();
    let seedlings = plants
        .iter()
        .filter(|plant| plant.potted_from.is_some())
        .count();
    assert!((300..=400).contains(&seedlings), "{seedlings} seedlings");
    assert_eq!(
        plants.len() - seedlings,
        13,
        "founders, one doubled, one variant"
    );
    assert_eq!(project.crosses().len(), 10);
    for (what, holds) in [
        (
            "tetraploid",
            plants
                .iter()
                .any(|plant| plant.ploidy == Ploidy::TETRAPLOID),
        ),
        (
            "triploid",
            plants.iter().any(|plant| plant.ploidy == Ploidy::TRIPLOID),
        ),
        (
            "doubled",
            plants
                .iter()
                .any(|plant| matches!(plant.origin, Origin::Doubled { .. })),
        ),
        (
            "variant",
            plants
                .iter()
                .any(|plant| matches!(plant.origin, Origin::Variant { .. })),
        ),
        (
            "mix",
            project
                .crosses()
                .iter()
                .any(|cross| matches!(cross.pollen, Pollen::Mix(_))),
        ),
        (
            "open",
            project
                .crosses()
                .iter()
                .any(|cross| cross.pollen == Pollen::Open),
        ),
        (
            "unknown",
            project
                .crosses()
                .iter()
                .any(|cross| cross.pollen == Pollen::Unknown),
        ),
        (
            "mould",
            project
                .checks()
                .iter()
                .any(|check| check.mouldy_removed > 0),
        ),
        (
            "early sprout",
            project
                .checks()
                .iter()
                .any(|check| check.sprouted_early > 0),
        ),
        (
            "marker test",
            plants.iter().any(|plant| {
                plant
                    .sex
                    .as_ref()
                    .is_some_and(|sex| matches!(sex.basis, SexBasis::MarkerTest { .. }))
            }),
        ),
    ] {
        assert!(holds, "no {what}");
    }
}

#[test]
fn a_selected_seedling_has_selected_daughters() {
    let project = made("2026-03-15");
    let generations = project
        .genotypes()
        .iter()
        .filter(|plant| plant.selected.is_some())
        .filter(|daughter| {
            let (female, _) = project.parents_of(daughter);
            female
                .and_then(|mother| project.genotypes().get(mother))
                .is_some_and(|mother| mother.selected.is_some() && mother.potted_from.is_some())
        });
    assert!(generations.count() >= 2);
}

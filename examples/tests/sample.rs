//! The sample is what it says it is, on any day.

use chrono::{Datelike as _, NaiveDate};
use domain::agenda::{ItemKind, ItemState, agenda};
use domain::date::shift;
use domain::findings::{Weight, findings};
use domain::{Origin, Ploidy, Pollen, Project, SexBasis};
use sample::sample_project;
use std::collections::BTreeSet;

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
fn the_same_day_gives_the_same_bytes_and_another_day_other_dates() {
    for text in DAYS {
        let bytes = |project: &Project| serde_json::to_vec(project).unwrap();
        assert_eq!(bytes(&made(text)), bytes(&made(text)), "{text}");
    }
    let (one, other) = (made("2026-03-15"), made("2026-03-16"));
    let starts = |project: &Project| -> Vec<_> {
        project
            .chill_batches()
            .iter()
            .map(|batch| batch.start)
            .collect()
    };
    assert_eq!(
        starts(&other),
        starts(&one)
            .into_iter()
            .map(|start| shift(start, 1))
            .collect::<Vec<_>>()
    );
    let codes = |project: &Project| -> Vec<_> {
        project
            .genotypes()
            .iter()
            .map(|plant| plant.code.clone())
            .collect()
    };
    assert_eq!(codes(&one), codes(&other), "chance doesn't hang on the day");
}

#[test]
fn its_messy_truths_are_those_meant_and_no_more() {
    for text in DAYS {
        let project = made(text);
        let found = findings(&project, day(text));
        let meant = [
            (Weight::Doubt, "OV-31 is the male parent of"),
            (Weight::Doubt, "but her flowers were already receptive on"),
            (Weight::Doubt, "The parents of lot Found-1 are unknown"),
            (Weight::Doubt, "was due for a check on"),
            (Weight::Doubt, "was at or below 0.0 °C for"),
            (
                Weight::Gap,
                "TAN is used as a parent, but there is no note of what its source permits",
            ),
            (
                Weight::Gap,
                "is a parent, but its sex rests on a marker test alone",
            ),
            (Weight::Gap, "is unknown."),
        ];
        for (weight, words) in meant {
            let hits = found
                .iter()
                .filter(|finding| finding.weight == weight && finding.what.contains(words));
            assert_eq!(hits.count(), 1, "{text}: {words}");
        }
        assert_eq!(found.len(), meant.len(), "{text}: {found:#?}");
    }
}

#[test]
fn the_calendar_is_alive_today() {
    for text in DAYS {
        let (project, today) = (made(text), day(text));
        let items = agenda(&project, today..=shift(today, 30), today);
        let has = |state: ItemState, kind: ItemKind| {
            items
                .iter()
                .any(|item| item.state == state && item.kind == kind)
        };
        for (state, kind) in [
            (ItemState::Late, ItemKind::CheckBox),
            (ItemState::Late, ItemKind::CountSprouts),
            (ItemState::Late, ItemKind::Task),
            (ItemState::Due, ItemKind::CheckBox),
            (ItemState::Due, ItemKind::CountSprouts),
            (ItemState::Due, ItemKind::PotUp),
            (ItemState::Due, ItemKind::Task),
            (ItemState::Coming, ItemKind::CheckBox),
            (ItemState::Coming, ItemKind::MoveToWarmth),
            (ItemState::Coming, ItemKind::StartChill),
            (ItemState::Coming, ItemKind::DecideRest),
            (ItemState::Coming, ItemKind::Task),
        ] {
            assert!(has(state, kind), "{text}: nothing {state:?} of {kind:?}");
        }
        let ahead = agenda(&project, today..=shift(today, 200), today);
        for kind in [
            ItemKind::BagFemale,
            ItemKind::GivePollen,
            ItemKind::TakeBagsOff,
            ItemKind::HarvestCones,
        ] {
            assert!(
                ahead.iter().any(|item| item.kind == kind),
                "{text}: {kind:?}"
            );
        }
        let past = agenda(&project, shift(today, -400)..=today, today);
        assert!(
            past.iter()
                .filter(|item| item.state == ItemState::Done)
                .count()
                > 100,
            "{text}"
        );
    }
}

#[test]
fn nothing_is_dated_ahead_and_the_seasons_are_two_years_apart() {
    for text in DAYS {
        let (project, today) = (made(text), day(text));
        assert!(
            project
                .cross_events()
                .iter()
                .all(|event| event.date <= today)
        );
        assert!(project.observations().iter().all(|each| each.date <= today));
        let seasons: BTreeSet<_> = project.crosses().iter().map(|cross| cross.season).collect();
        let past: Vec<_> = seasons
            .iter()
            .copied()
            .filter(|season| *season <= today.year())
            .collect();
        assert!((3..=4).contains(&seasons.len()), "{text}: {seasons:?}");
        assert!(
            past.len() >= 3 && past[0] + 2 == past[1] && past[1] + 2 == past[2],
            "{text}: {seasons:?}"
        );
    }
}

#[test]
fn it_holds_what_a_season_needs() {
    let project = made("2026-03-15");
    let plants: Vec<_> = project.genotypes().iter().collect();
    let seedlings = plants
        .iter()
        .filter(|plant| plant.potted_from.is_some())
        .count();
    assert!((280..=340).contains(&seedlings), "{seedlings} seedlings");
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

//! `binewright plan`: the chance of the goal, and what holds the plan back.

#![expect(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use chrono::NaiveDate;
use commands::{Script, run};
use domain::planning::{CrossLimits, Goals, Space, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{Edit, Project};
use std::path::Path;
use store::{Existing, Store};

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 20).unwrap()
}

/// The sample with goals, saved.
fn sample(path: &Path, goals: impl FnOnce(&Project) -> Goals) {
    let mut project = sample::sample_project(today()).unwrap();
    let goals = goals(&project);
    project
        .apply(Edit::Settings(SettingsField::Goals(goals)))
        .unwrap();
    Store::new("")
        .create(path, &project, Existing::Keep)
        .unwrap();
}

/// Exit code, standard output, standard error.
fn plan(file: &Path, json: bool) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let script = Script::Plan {
        file: file.into(),
        seeds: None,
        json,
        pdf: None,
        today: Some(today()),
    };
    let code = run(script, today(), &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (code, text(out), text(err))
}

fn vigour_and_mildew(project: &Project) -> Vec<TraitGoal> {
    let of = |name: &str| {
        project
            .traits()
            .iter()
            .find(|each| each.name == name)
            .unwrap()
    };
    let mildew = of("Downy mildew");
    vec![
        TraitGoal::new(of("Vigour").id),
        TraitGoal {
            threshold: Some(5.0),
            ..TraitGoal::new(mildew.id)
        },
    ]
}

#[test]
fn the_plan_tells_the_chance_of_its_goal_and_what_binds() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sample.binewright");
    sample(&file, |project| Goals {
        traits: vigour_and_mildew(project),
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
        ..Goals::default()
    });
    let (code, json, said) = plan(&file, true);
    assert_eq!(code, 0, "{said}");
    let found: serde_json::Value = serde_json::from_str(&json).unwrap();
    let chance = found["chance"].as_f64().unwrap();
    assert!((0.0..=1.0).contains(&chance), "{chance}");
    assert!(said.contains(&format!("chance {chance:.3}")), "{said}");
    let crosses = found["crosses"].as_array().unwrap();
    assert!(!crosses.is_empty(), "{said}");
    let seeds: u64 = crosses
        .iter()
        .map(|cross| cross["seeds"].as_u64().unwrap())
        .sum();
    assert!(seeds > 0);
    // Where the goal isn't reached, what binds is named.
    let binds = found["binds"].as_array().unwrap();
    if chance < found["sure"].as_f64().unwrap() - 1e-3 {
        assert!(!binds.is_empty(), "{said}");
        assert!(said.contains("binds: "), "{said}");
        assert!(
            said.contains("No plan found within the limits reaches it"),
            "{said}"
        );
    } else {
        assert!(said.contains("at least as sure as you want"), "{said}");
    }
    println!("{said}");
}

#[test]
fn a_limit_of_none_is_named_and_not_a_bare_refusal() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sample.binewright");
    sample(&file, |project| Goals {
        traits: vigour_and_mildew(project),
        space: Space {
            cells: Some(0),
            ..Space::default()
        },
        ..Goals::default()
    });
    let (code, out, said) = plan(&file, false);
    assert_ne!(code, 0);
    assert_eq!(out, "");
    assert!(said.contains("cells"), "{said}");
}

/// What the program said of each box is judged by what was known on its day, and the parts of the score sum up.
#[test]
fn the_programs_own_score_is_told_in_words_and_as_json() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sample.binewright");
    let on = NaiveDate::from_ymd_opt(2026, 11, 20).unwrap();
    let project = sample::sample_project(on).unwrap();
    Store::new("")
        .create(&file, &project, Existing::Keep)
        .unwrap();
    let score = |json| {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let script = Script::OwnScore {
            file: file.clone(),
            json,
            today: Some(on),
        };
        assert_eq!(run(script, on, &mut out, &mut err), 0);
        String::from_utf8(out).unwrap()
    };
    let found: serde_json::Value = serde_json::from_str(&score(true)).unwrap();
    let judged = found["boxes"]["judged"].as_u64().unwrap();
    assert!(found["boxes"]["within"].as_u64().unwrap() <= judged);
    let groups: u64 = found["chances"]["groups"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|group| group["count"].as_u64().unwrap())
        .sum();
    assert_eq!(groups, judged);
    let words = score(false);
    assert!(
        words.contains("Brier score") || words.contains("Nothing can be said yet"),
        "{words}"
    );
    println!("{words}");
}

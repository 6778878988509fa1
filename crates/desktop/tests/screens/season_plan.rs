//! The season's plan, driven by name: goals, compare, pick a point, accept, the calendar shows it, undo takes it back.

use crate::window::{Window, begun, founder, today};
use domain::planning::{Goals, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{Edit, IdSource, Observation, Project, Sex};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::time::{Duration, Instant};

/// How long a worker may take on a machine that has much else to do.
const PATIENCE: Duration = Duration::from_mins(3);

impl Window {
    fn await_that(&mut self, what: &str, holds: impl Fn(&Self) -> bool) {
        let begun = Instant::now();
        while !holds(self) {
            assert!(begun.elapsed() < PATIENCE, "waited in vain: {what}");
            std::thread::sleep(Duration::from_millis(20));
            self.settle();
        }
    }

    fn on_season_plan(project: &Project, answer: &'static str) -> Self {
        let mut window =
            Self::answering(project, Key::Num1, move |folder| Some(folder.join(answer)));
        window.click(Role::Tab, "Season plan");
        window
    }

    /// The plan page once its last figure is worked out.
    fn await_plan(&mut self) {
        self.await_that("a plan", |window| {
            window.has(Role::Table, "Crosses of the plan")
        });
        self.await_that("the last of it", |window| {
            !window.has(Role::Label, "being worked out")
        });
    }

    fn point(&self) -> String {
        let mut figures = self.harness.query_all_by_role(Role::Figure);
        let found = figures.find_map(|figure| {
            let label = figure.accesskit_node().label()?;
            label.starts_with("Gain against diversity").then_some(label)
        });
        found.unwrap_or_default()
    }
}

/// Three founders, nothing scored; vigour counts.
fn three_founders() -> Project {
    founders(&[
        ("F-01", Sex::Female),
        ("F-02", Sex::Female),
        ("M-01", Sex::Male),
    ])
}

fn founders(plants: &[(&str, Sex)]) -> Project {
    let (mut project, mut ids) = begun();
    for (code, sex) in plants {
        founder(&mut project, &mut ids, code, Some(*sex));
    }
    let vigour = project.traits().iter().next().unwrap().id;
    let goals = Goals {
        traits: vec![TraitGoal::new(vigour)],
        plant_out_by: Some(crate::window::day("2027-05-15")),
        ..Goals::default()
    };
    project
        .apply(Edit::Settings(SettingsField::Goals(goals)))
        .unwrap();
    project
}

/// A score of vigour for each plant, so that some promise more than others.
fn score<const N: usize>(project: &mut Project, values: [f64; N]) {
    let mut ids = IdSource::new(1_770_000_000_000, 9);
    let of_trait = project.traits().iter().next().unwrap().id;
    let plants: Vec<_> = project.genotypes().iter().map(|plant| plant.id).collect();
    for (genotype, value) in plants.into_iter().zip(values) {
        let score = Observation::new(ids.next(), genotype, of_trait, today(), value);
        project.apply(Edit::add(score)).unwrap();
    }
}

#[test]
fn a_plan_is_picked_accepted_shown_in_the_calendar_and_taken_back() {
    let project = three_founders();
    let shown = |window: &Window, words: &str| {
        window
            .harness
            .query_all_by_label_contains(words)
            .next()
            .is_some()
    };
    let mut window = Window::on_season_plan(&project, "plan.csv");
    window.click(Role::RadioButton, "Plan");
    window.await_plan();
    for what in ["Why: ", "How sure: ", "What would change it: "] {
        let grounds = window.harness.query_all_by_role(Role::Label);
        let mut labels = grounds.filter_map(|label| label.accesskit_node().value());
        assert!(labels.any(|label| label.starts_with(what)), "{what}");
    }
    assert!(window.point().contains("is picked"), "{}", window.point());

    window.click(Role::RadioButton, "Dates");
    window.await_that("the steps", |window| window.has(Role::Label, "Harden off"));
    assert!(
        shown(&window, "13 Jan 2027"),
        "the latest start of chilling"
    );
    // An early spring, so that the work falls within the days that the calendar shows.
    window.enter("First pollen on", "2026-03-22");
    assert!(shown(&window, "12 Mar 2026"), "ten days before, the bags");
    window.click(Role::RadioButton, "Plan");
    window.await_plan();

    window.click(Role::Button, "Accept this plan");
    let planned = window.project().crosses().len();
    assert!(planned > 0, "{}", window.notice());
    window.press_with(Modifiers::COMMAND, Key::Num1);
    window.click(Role::RadioButton, "Month");
    assert!(shown(&window, "Bag F-0"), "the calendar tells of bagging");
    assert!(shown(&window, "Pollinate 26-01"), "and of pollination");

    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(window.project().crosses().len(), 0);
    assert_eq!(window.project().cross_events().len(), 0);
    assert!(!shown(&window, "Pollinate 26-01"));
}

#[test]
fn points_are_picked_and_crosses_held_to_by_mouse_and_by_keyboard() {
    let mut project = founders(&[
        ("F-01", Sex::Female),
        ("F-02", Sex::Female),
        ("F-03", Sex::Female),
        ("M-01", Sex::Male),
        ("M-02", Sex::Male),
    ]);
    score(&mut project, [9.0, 6.0, 2.0, 8.0, 3.0]);
    let mut window = Window::on_season_plan(&project, "plan.csv");
    window.click(Role::RadioButton, "Plan");
    window.await_plan();
    window.enter("Seeds in total", "400");
    window.await_plan();
    let first = window.point();
    let moves = if first.contains("Point 1 of") {
        "More gain"
    } else {
        "More diverse"
    };
    assert!(!first.contains(" of 1 "), "a curve has points: {first}");
    window.click(Role::Button, moves);
    window.await_plan();
    let second = window.point();
    assert_ne!(second, first);
    // And back by the keys of the plot.
    let plot = |figure: &egui_kittest::Node<'_>| {
        let label = figure.accesskit_node().label();
        label.is_some_and(|label| label.starts_with("Gain against diversity"))
    };
    window
        .harness
        .query_all_by_role(Role::Figure)
        .find(plot)
        .unwrap()
        .focus();
    window.settle();
    window.press(if moves == "More gain" {
        Key::ArrowLeft
    } else {
        Key::ArrowRight
    });
    window.await_plan();
    assert_eq!(window.point(), first);
    window.choose("Female to hold to", "F-03");
    window.choose("Male to hold to", "M-02");
    window.click(Role::Button, "Require this cross");
    window.await_plan();
    assert!(window.has(Role::Button, "No longer require F-03 × M-02"));
    let rows: Vec<String> = window
        .harness
        .query_all_by_role(Role::Row)
        .filter_map(|row| row.accesskit_node().label())
        .collect();
    let held = rows.iter().any(|row| row.starts_with("F-03 × M-02, "));
    assert!(held, "what is held to is in the plan: {rows:?}");
    let cost = window.harness.query_all_by_label_contains("costs ").count();
    assert!(cost > 0, "the cost is told");
    window.click(Role::Button, "No longer require F-03 × M-02");
    window.await_plan();
    assert!(!window.has(Role::Button, "No longer require F-03 × M-02"));
}

#[test]
fn the_plan_is_saved_for_a_spreadsheet_and_for_paper() {
    for (file, button) in [
        ("plan.csv", "Save plan as CSV…"),
        ("plan.pdf", "Save plan as PDF…"),
    ] {
        let mut window = Window::on_season_plan(&three_founders(), file);
        window.click(Role::RadioButton, "Plan");
        window.await_plan();
        window.click(Role::Button, button);
        let bytes = std::fs::read(window.folder().join(file)).unwrap();
        if file.ends_with("csv") {
            let text = String::from_utf8(bytes).unwrap();
            let lines: Vec<_> = text.lines().collect();
            assert!(
                lines[0].starts_with("what,female,male,seeds,"),
                "{}",
                lines[0]
            );
            assert!(lines[1].starts_with("cross,F-0"), "{}", lines[1]);
            assert!(text.contains("Seed into the cold,"));
        } else {
            assert!(bytes.starts_with(b"%PDF-") && bytes.len() > 5_000);
        }
    }
}

#[test]
fn two_strategies_are_played_out_side_by_side_and_can_be_stopped() {
    let mut window = Window::on_season_plan(&three_founders(), "plan.csv");
    window.click(Role::RadioButton, "Look ahead");
    window.await_that("strategies", |window| {
        window.has(Role::Button, "Simulate both")
    });
    window.enter("Generations, first", "3");
    window.enter("Generations, second", "3");
    window.enter("Crosses a generation, first", "2");
    window.enter("Crosses a generation, second", "2");
    window.click(Role::Button, "Simulate both");
    window.await_that("an outcome", |window| {
        window.has(Role::Table, "Seasons ahead")
    });
    let rows = window.harness.query_all_by_role(Role::Row).count();
    assert!(rows >= 3, "{rows} rows");

    window.enter("Generations, first", "30");
    window.enter("Crosses a generation, first", "200");
    assert!(window.has(Role::Label, "of other strategies or an earlier state"));
    window.click(Role::Button, "Simulate both");
    window.click(Role::Button, "Stop");
    window.await_that("the end of it", |window| {
        window.has(Role::Button, "Simulate both")
    });
    assert!(window.has(Role::Label, "of other strategies or an earlier state"));
}

#[test]
fn without_a_weight_the_plan_says_what_is_missing() {
    let mut project = three_founders();
    project
        .apply(Edit::Settings(SettingsField::Goals(Goals::default())))
        .unwrap();
    let mut window = Window::on_season_plan(&project, "plan.csv");
    window.click(Role::RadioButton, "Plan");
    let missing = |window: &Window| {
        window
            .harness
            .query_all_by_label_contains("give at least one trait a weight")
            .next()
            .is_some()
    };
    window.await_that("what is missing", missing);
    assert!(!window.has(Role::Button, "Accept this plan"));
}

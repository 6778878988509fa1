//! The season plan, driven by name: goals, pairs and how many seeds, with three founders and no records, and on the
//! sample project.

use crate::window::{Window, begun, founder};
use chrono::NaiveDate;
use domain::planning::{Goals, TraitGoal};
use domain::record::settings::SettingsField;
use domain::{Edit, Project, Sex};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

impl Window {
    fn on_plan(project: &Project) -> Self {
        let mut window = Self::on(project, Key::Num1);
        window.click(Role::Tab, "Season plan");
        window
    }

    fn rows(&self) -> Vec<String> {
        self.harness
            .query_all_by_role(Role::Row)
            .filter_map(|row| row.accesskit_node().label())
            .collect()
    }

    fn goals(&self) -> &Goals {
        &self.project().settings().goals
    }
}

/// Two females and a male, nothing else known.
fn three_founders() -> Project {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    founder(&mut project, &mut ids, "F-02", Some(Sex::Female));
    founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    project
}

fn sample() -> Project {
    sample::sample_project(NaiveDate::from_ymd_opt(2026, 2, 15).unwrap()).unwrap()
}

/// The first trait of a project, by name.
fn first_trait(project: &Project) -> String {
    project.traits().iter().next().unwrap().name.clone()
}

#[test]
fn goals_are_set_by_name_and_taken_back() {
    let project = three_founders();
    let name = first_trait(&project);
    let mut window = Window::on_plan(&project);
    window.click(Role::CheckBox, &name);
    window.enter(&format!("Threshold of {name}"), "5");
    window.enter("How sure", "95");
    window.enter("Good females", "4");
    window.enter("Boxes", "6");
    let goals = window.goals().clone();
    assert_eq!(goals.traits.len(), 1);
    assert_eq!(goals.traits[0].threshold, Some(5.0));
    assert_eq!((goals.sure, goals.good_females), (0.95, 4));
    assert_eq!(goals.space.boxes, Some(6));
    for _ in 0..5 {
        window.press_with(Modifiers::COMMAND, Key::Z);
    }
    assert_eq!(*window.goals(), Goals::default(), "every step is undone");
}

#[test]
fn three_founders_without_records_make_pairs_and_seeds_by_keyboard_alone() {
    let project = three_founders();
    let name = first_trait(&project);
    let mut window = Window::on_plan(&project);
    window.focus(Role::CheckBox, &name);
    window.press(Key::Space);
    window.enter(&format!("Threshold of {name}"), "5");
    window.focus(Role::RadioButton, "Pairs");
    window.press(Key::Enter);
    window.wait_for(Role::Table, "Pairs");
    window.focus(Role::Table, "Pairs");
    window.press(Key::Home);
    window.wait_for(Role::Button, "How many seeds");
    let offered: Vec<_> = window
        .rows()
        .into_iter()
        .filter(|row| row.contains(" × M-01"))
        .collect();
    assert_eq!(offered.len(), 2, "{offered:?}");
    window.focus(Role::Button, "How many seeds");
    window.press(Key::Enter);
    let sow = |window: &Window| {
        window
            .harness
            .query_all_by_role(Role::Button)
            .filter_map(|node| node.accesskit_node().label())
            .find_map(|label| {
                let seeds = label.strip_prefix("Seeds to sow: Sow ")?;
                seeds.split(' ').next()?.parse::<u64>().ok()
            })
    };
    let begun = std::time::Instant::now();
    while sow(&window).is_none() {
        assert!(begun.elapsed() < crate::window::PATIENCE, "no seeds");
        std::thread::sleep(std::time::Duration::from_millis(10));
        window.settle();
    }
    let seeds = sow(&window).unwrap();
    // 3 good females of half the females, of about 0.9 × 0.95 × 0.75 × 0.9 × 0.63 of the seed: 17 by the averages.
    assert!((20..500).contains(&seeds), "{seeds}");
    let meters: Vec<_> = window
        .harness
        .query_all_by_role(Role::Meter)
        .filter_map(|node| node.accesskit_node().label())
        .collect();
    assert!(
        meters.iter().any(|each| each.starts_with("germinated: ")),
        "{meters:?}"
    );
    assert_eq!(
        meters.len(),
        7,
        "sown, five stages, one threshold: {meters:?}"
    );
}

#[test]
fn a_figure_of_a_pair_tells_where_it_comes_from() {
    let mut window = Window::on_plan(&three_founders());
    window.click(Role::RadioButton, "Pairs");
    window.wait_for(Role::Table, "Pairs");
    window.focus(Role::Table, "Pairs");
    window.press(Key::Home);
    window.settle();
    window.click(Role::Button, "Inbreeding F: 0.000. How it is worked out");
    assert!(window.has(Role::Label, "kinship f of the parents: 0"));
}

#[test]
fn pairs_not_offered_say_why() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    founder(&mut project, &mut ids, "X-01", None);
    let mut window = Window::on_plan(&project);
    window.click(Role::RadioButton, "Pairs");
    window.wait_for(Role::RadioButton, "Ruled out, 3");
    window.click(Role::RadioButton, "Ruled out, 3");
    assert!(
        window
            .rows()
            .iter()
            .any(|row| row == "F-01 × X-01, sex not known")
    );
    for (field, code) in [
        ("Female parent asked", "F-01"),
        ("Male parent asked", "F-01"),
    ] {
        window.focus(Role::TextInput, field);
        window.write(code);
        window.press(Key::Enter);
    }
    let said = "F-01 bears one kind of flower and can't be both parents.";
    assert!(window.has(Role::Label, said));
}

#[test]
fn several_pairs_of_the_sample_stand_side_by_side() {
    let mut project = sample();
    let goals = Goals {
        traits: project
            .traits()
            .iter()
            .map(|each| TraitGoal::new(each.id))
            .take(3)
            .collect(),
        ..Goals::default()
    };
    project
        .apply(Edit::Settings(SettingsField::Goals(goals)))
        .unwrap();
    let mut window = Window::on_plan(&project);
    window.click(Role::RadioButton, "Pairs");
    window.wait_for(Role::Table, "Pairs");
    window.focus(Role::Table, "Pairs");
    window.press(Key::Home);
    window.press_with(Modifiers::SHIFT, Key::ArrowDown);
    window.settle();
    assert!(window.has(Role::Label, "2 pairs compared"));
    let compared = window
        .harness
        .query_all_by_role(Role::Button)
        .filter_map(|node| node.accesskit_node().label())
        .filter(|label| label.starts_with("Best of 50 of "))
        .count();
    assert_eq!(compared, 2);
}

#[test]
fn a_plan_without_plants_teaches_and_a_wrong_figure_is_refused() {
    let mut window = Window::on_plan(&begun().0);
    window.click(Role::Button, "Go to the plants");
    assert!(window.has(Role::Button, "Add the first founder"));

    let mut window = Window::on_plan(&three_founders());
    window.enter("How sure", "120");
    assert!(
        window
            .harness
            .query_all_by_label_contains("How sure must be between")
            .next()
            .is_some()
    );
    assert_eq!(*window.goals(), Goals::default());
}

#[test]
fn pairs_are_found_and_put_in_order() {
    let mut window = Window::on_plan(&sample());
    window.click(Role::RadioButton, "Pairs");
    window.wait_for(Role::Table, "Pairs");
    window.focus(Role::TextInput, "Find pairs");
    window.write("OV-23M");
    let found: Vec<_> = window
        .rows()
        .into_iter()
        .filter(|row| row.contains(", best of "))
        .collect();
    assert!(
        !found.is_empty() && found.iter().all(|row| row.contains("OV-23M")),
        "{found:?}"
    );
    window.click(Role::ColumnHeader, "Female");
    let sorted: Vec<_> = window
        .rows()
        .into_iter()
        .filter(|row| row.contains(", best of "))
        .collect();
    let mut expected = sorted.clone();
    expected.sort();
    assert_eq!(sorted.len(), found.len());
    assert!(
        sorted == expected || sorted.iter().rev().eq(expected.iter()),
        "{sorted:?}"
    );
}

#[test]
fn so_many_seeds_have_so_great_a_chance() {
    let mut window = Window::on_plan(&three_founders());
    window.click(Role::RadioButton, "How many seeds");
    window.wait_for(Role::TextInput, "Seeds sown");
    window.enter("Seeds sown", "5");
    let begun = std::time::Instant::now();
    let said = |window: &Window| {
        window
            .harness
            .query_all_by_label_contains("From 5 seeds the chance of 3 females of any kind is ")
            .next()
            .is_some()
    };
    while !said(&window) {
        assert!(begun.elapsed() < crate::window::PATIENCE, "no chance");
        std::thread::sleep(std::time::Duration::from_millis(10));
        window.settle();
    }
    assert!(window.has(
        Role::Label,
        "The goals set no threshold: every female counts as good."
    ));
}

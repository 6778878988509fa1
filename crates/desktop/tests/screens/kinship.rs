//! The kinship screen, driven by name on the sample project: kinship of chosen plants, the population, breeding values.

use crate::window::{PATIENCE, Window, begun, founder, today};
use chrono::NaiveDate;
use domain::{
    Cross, Edit, Genotype, Id, IdSource, Observation, Origin, Pollen, Project, Sex, actions,
};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::time::{Duration, Instant};

impl Window {
    fn on_kinship(project: &Project) -> Self {
        let mut window = Self::on(project, Key::Num1);
        window.click(Role::Tab, "Kinship");
        window
    }

    fn add(&mut self, code: &str) {
        self.focus(Role::TextInput, "Add a plant");
        self.write(code);
        self.press(Key::Enter);
    }
}

fn sample() -> Project {
    sample::sample_project(NaiveDate::from_ymd_opt(2026, 2, 15).unwrap()).unwrap()
}

/// Two founders, and families of full sibs from them, `scored` of each plant known.
fn families(seedlings: usize, scored: bool) -> Project {
    let (mut project, mut ids) = begun();
    let mother = founder(&mut project, &mut ids, "F-01", Some(Sex::Female));
    let father = founder(&mut project, &mut ids, "M-01", Some(Sex::Male));
    let cross = Cross {
        id: ids.next(),
        code: "25-01".into(),
        female: mother,
        pollen: Pollen::Male(father),
        season: 2025,
        planned_pollination: None,
        seeds_wanted: None,
        purpose: String::new(),
        advised: None,
    };
    let id = cross.id;
    let plan = actions::plan_cross(cross, today(), &mut ids);
    project.apply(plan).unwrap();
    let sibs = (1..=seedlings).map(|number| {
        let code = format!("25-01-{number:03}");
        Genotype::new(ids.next(), code, Origin::Cross { cross: id })
    });
    let sibs: Vec<_> = sibs.collect();
    let plants: Vec<_> = sibs.iter().map(|sib| sib.id).collect();
    project
        .apply(Edit::all(
            "Pot up",
            sibs.into_iter().map(Edit::add).collect(),
        ))
        .unwrap();
    if scored {
        score(&mut project, &mut ids, &plants);
    }
    project
}

/// One score of the first trait for each plant, from 1 to 9 in no order.
fn score(project: &mut Project, ids: &mut IdSource, plants: &[Id<Genotype>]) {
    let of_trait = first_trait(project);
    let scores = plants.iter().enumerate().map(|(nth, plant)| {
        Edit::add(Observation::new(
            ids.next(),
            *plant,
            of_trait,
            today(),
            (nth * 7 % 9 + 1) as f64,
        ))
    });
    let scores: Vec<_> = scores.collect();
    project.apply(Edit::all("Score", scores)).unwrap();
}

fn first_trait(project: &mut Project) -> Id<domain::Trait> {
    if let Some(first) = project.traits().iter().next() {
        return first.id;
    }
    let new = domain::Trait {
        id: IdSource::new(1_770_000_000_000, 8).next(),
        name: "Vigour".into(),
        scale: domain::Scale::one_to_nine("weak", "strong"),
        direction: domain::Direction::Higher,
        method: String::new(),
    };
    let id = new.id;
    project.apply(Edit::add(new)).unwrap();
    id
}

/// Full sibs of unrelated, not inbred parents have coancestry 1/4, parent and offspring too, a plant with itself 1/2
/// (Falconer & Mackay 1996, Introduction to Quantitative Genetics, 4th ed., ch. 5; from memory, high confidence).
#[test]
fn the_matrix_shows_the_kinship_of_known_pairs() {
    let mut window = Window::on_kinship(&families(3, false));
    for code in ["F-01", "M-01", "25-01-001", "25-01-002"] {
        window.add(code);
    }
    window.wait_for(Role::Cell, "25-01-001 and 25-01-002: 0.25");
    for (name, times) in [
        ("F-01 with itself: 0.5", 1),
        ("F-01 and M-01: 0", 1),
        ("F-01 and 25-01-001: 0.25", 1),
        ("25-01-002 and M-01: 0.25", 1),
    ] {
        let cells = window.harness.query_all_by_role_and_label(Role::Cell, name);
        assert_eq!(cells.count(), times, "{name}");
    }
    window.click(Role::Cell, "25-01-001 and 25-01-002: 0.25");
    assert!(window.has(Role::Label, "Kinship f of 25-01-001 and 25-01-002: 0.25"));
    assert!(window.has(Role::Label, "inbreeding of a child of both: 0.25"));
    window.click(Role::Button, "Leave out 25-01-002");
    window.wait_without(Role::Cell, "25-01-001 and 25-01-002: 0.25");
    window.wait_for(Role::Cell, "F-01 and 25-01-001: 0.25");
}

#[test]
fn the_matrix_is_walked_by_keyboard_alone() {
    // The living parents are there unasked; once cleared, a press brings them back.
    let mut window = Window::on_kinship(&families(2, false));
    window.wait_for(Role::Grid, "Kinship of each with each");
    window.click(Role::Button, "Clear");
    window.focus(Role::Button, "Show the living parents");
    window.press(Key::Enter);
    window.wait_for(Role::Grid, "Kinship of each with each");
    window.focus(Role::Grid, "Kinship of each with each");
    window.press(Key::ArrowDown);
    window.press(Key::ArrowRight);
    let label =
        |code: &str, other: &str| format!("Kinship of each with each, at {code} and {other}: 0");
    assert!(
        window.has(Role::Grid, &label("F-01", "M-01"))
            || window.has(Role::Grid, &label("M-01", "F-01"))
    );
}

#[test]
fn a_kinship_that_changes_is_shown_anew_after_an_edit() {
    let mut window = Window::on_kinship(&families(3, false));
    window.add("25-01-001");
    window.add("25-01-002");
    window.wait_for(Role::Cell, "25-01-001 and 25-01-002: 0.25");
    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.click(Role::Row, "25-01-002");
    window.choose("Ploidy", "6x");
    window.click(Role::Tab, "Kinship");
    window.wait_for(Role::DisclosureTriangle, "1 record could not be used");
}

#[test]
fn a_trait_of_the_sample_is_evaluated_and_its_plants_are_listed() {
    let mut window = Window::on_kinship(&sample());
    window.click(Role::RadioButton, "Breeding values");
    window.click(Role::Button, "Evaluate");
    window.wait_for(Role::Table, "Breeding values of plants");
    let rows = window
        .harness
        .query_all_by_role(Role::Row)
        .filter_map(|row| row.accesskit_node().label())
        .filter(|label| label.contains(", accuracy "))
        .count();
    assert!(rows > 5, "{rows} rows");
    window.focus(Role::Table, "Breeding values of plants");
    window.press(Key::Home);
    let explained = window
        .harness
        .query_all_by_role(Role::Label)
        .filter_map(|node| node.accesskit_node().value())
        .any(|text| text.starts_with("Source: Henderson (1975)"));
    assert!(explained, "the plant's value says where it comes from");
    window.press_with(Modifiers::COMMAND, Key::Num2);
    let bars = window.harness.query_all_by_label_contains("Accuracy: 0.");
    assert!(bars.count() > 5, "the plants screen shows the values too");
}

#[test]
fn an_evaluation_under_way_can_be_stopped() {
    let mut window = Window::on_kinship(&families(6_000, true));
    window.click(Role::RadioButton, "Breeding values");
    window.click(Role::Button, "Evaluate");
    window.click(Role::Button, "Stop");
    window.wait_for(Role::Button, "Evaluate");
    assert!(window.has(Role::Label, "Stopped. There is no new answer."));
    assert!(!window.has(Role::Table, "Breeding values of plants"));
}

#[test]
fn a_project_without_records_says_so_in_words() {
    let mut window = Window::on_kinship(&families(3, false));
    window.click(Role::RadioButton, "Breeding values");
    let said = window
        .harness
        .query_all_by_label_contains("Nothing is scored or measured yet")
        .count()
        + window
            .harness
            .query_all_by_label_contains("There is no trait yet")
            .count();
    assert_eq!(said, 1);
}

#[test]
fn too_few_records_are_an_answer_not_a_number() {
    let mut window = Window::on_kinship(&families(2, true));
    window.click(Role::RadioButton, "Breeding values");
    window.click(Role::Button, "Evaluate");
    window.wait_for(Role::Label, "not enough to go by");
    assert!(!window.has(Role::Table, "Breeding values of plants"));
}

#[test]
fn the_population_is_told_season_by_season() {
    let mut window = Window::on_kinship(&sample());
    window.click(Role::RadioButton, "Population");
    window.wait_for(Role::Table, "Figures by season");
    let plots = window.harness.query_all_by_role(Role::Figure).count();
    assert_eq!(plots, 2);
    window.focus(Role::Table, "Figures by season");
    window.press(Key::End);
    assert!(
        window
            .harness
            .query_all_by_label_contains("Effective founders f_e")
            .next()
            .is_some()
    );
}

#[test]
fn an_empty_project_teaches() {
    let mut window = Window::on_kinship(&begun().0);
    window.click(Role::Button, "Go to the plants");
    assert!(window.has(Role::Button, "Add the first founder"));
}

#[test]
fn breeding_values_are_exported_and_marked_as_old_after_an_edit() {
    let mut window = Window::answering(&sample(), Key::Num1, |folder| {
        Some(folder.join("values.csv"))
    });
    window.click(Role::Tab, "Kinship");
    window.click(Role::RadioButton, "Breeding values");
    window.click(Role::Button, "Evaluate");
    window.wait_for(Role::Table, "Breeding values of plants");
    window.click(Role::Button, "Save as CSV…");
    let csv = std::fs::read_to_string(window.folder().join("values.csv")).unwrap();
    let header =
        "code,name,breeding_value,accuracy,standard_error,records,clone_value,clone_accuracy";
    assert_eq!(csv.lines().next(), Some(header));
    assert_eq!(csv.lines().count(), window.project().genotypes().len() + 1);
    assert!(!window.has(Role::Label, "of an earlier state"));

    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.focus(Role::Table, "All plants");
    window.press(Key::Home);
    window.enter("Location", "Yard B, hill 1");
    window.click(Role::Tab, "Kinship");
    assert!(window.has(Role::Label, "of an earlier state"));
    window.click(Role::Button, "Evaluate");
    let begun = Instant::now();
    while window.has(Role::Label, "of an earlier state") {
        assert!(begun.elapsed() < PATIENCE, "no new answer");
        std::thread::sleep(Duration::from_millis(10));
        window.settle();
    }
    assert!(window.has(Role::Table, "Breeding values of plants"));
}

#[test]
fn a_chart_is_kept_as_drawing_picture_and_page() {
    let ways = [
        ("SVG", "chart.svg"),
        ("PNG", "chart.png"),
        ("PDF", "chart.pdf"),
    ];
    for (way, name) in ways {
        let mut window =
            Window::answering(&sample(), Key::Num1, move |folder| Some(folder.join(name)));
        window.click(Role::Tab, "Kinship");
        window.click(Role::RadioButton, "Population");
        let button = "Save chart: Effective numbers of a season's plants";
        window.wait_for(Role::Button, button);
        window.click(Role::Button, button);
        let item = window
            .harness
            .get_all_by_label_contains(way)
            .next()
            .and_then(|node| node.accesskit_node().label())
            .unwrap();
        window.click(Role::Button, &item);
        let bytes = std::fs::read(window.folder().join(name)).unwrap();
        let says = |words: &str| String::from_utf8_lossy(&bytes).contains(words);
        match way {
            "SVG" => assert!(says("<svg") && says("Effective numbers of a season's plants</text>")),
            "PNG" => assert_eq!(image::load_from_memory(&bytes).unwrap().width(), 1760),
            _ => assert!(bytes.starts_with(b"%PDF-")),
        }
    }
}

/// A parent shares half as much with its child as with itself, where it is not inbred: 1/4 of 1/2.
#[test]
fn the_family_tree_is_shaded_by_kinship_to_the_plant_chosen() {
    let mut window = Window::on(&families(1, false), Key::Num7);
    let label = |window: &Window, part: &str| {
        let mut found = window.harness.query_all_by_label_contains(part);
        found.any(|node| {
            node.accesskit_node()
                .label()
                .is_some_and(|label| label.starts_with("25-01-001"))
        })
    };
    assert!(!label(&window, "shaded"));
    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.click(Role::Row, "F-01");
    window.click(Role::Button, "Show in family tree");
    window.click(Role::CheckBox, "Shade by kinship to the selected plant");
    window.wait_for(Role::Label, "Bars: kinship to F-01, full for itself.");
    assert!(label(&window, "shaded 50 %"));
    window.click(Role::CheckBox, "Shade by kinship to the selected plant");
    assert!(!label(&window, "shaded"));
}

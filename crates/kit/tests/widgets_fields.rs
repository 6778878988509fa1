//! Date, number and temperature fields, the find box and the segmented choice, driven by name.

use chrono::{NaiveDate, Weekday};
use egui::{Key, Role};
use egui_kittest::{Harness, kittest::Queryable as _};
use kit::{
    theme::Theme,
    widgets::{DateField, NumberField, TemperatureField, TemperatureUnit, find_box, segmented},
};

fn date(text: &str) -> NaiveDate {
    text.parse().expect("an ISO date")
}

struct Form {
    sown: NaiveDate,
    harvested: Option<NaiveDate>,
    weight: f64,
    seeds: Option<f64>,
    celsius: f64,
    unit: TemperatureUnit,
    find: String,
    commits: usize,
}

fn harness() -> Harness<'static, Form> {
    let form = Form {
        sown: date("2026-11-25"),
        harvested: None,
        weight: 3.2,
        seeds: Some(120.0),
        celsius: 4.0,
        unit: TemperatureUnit::Celsius,
        find: String::new(),
        commits: 0,
    };
    let mut harness = Harness::builder()
        .with_size([700.0, 640.0])
        .with_context_setup(|ctx| Theme::Light.apply(ctx))
        .build_ui_state(
            |ui, form: &mut Form| {
                let today = date("2026-11-25");
                let fields = [
                    DateField::new("Sown on", today)
                        .first_weekday(Weekday::Sun)
                        .show(ui, &mut form.sown),
                    DateField::new("Harvested on", today).show_optional(ui, &mut form.harvested),
                    NumberField::new("Weight", "g")
                        .range(0.1..=20.0)
                        .show(ui, &mut form.weight),
                    NumberField::new("Seeds", "")
                        .decimals(0)
                        .show_optional(ui, &mut form.seeds),
                    TemperatureField::new("Box", form.unit)
                        .range_celsius(-5.0..=30.0)
                        .show(ui, &mut form.celsius),
                ];
                form.commits += fields.iter().filter(|field| field.changed).count();
                let units = [
                    (TemperatureUnit::Celsius, "°C"),
                    (TemperatureUnit::Fahrenheit, "°F"),
                ];
                segmented(ui, "Temperatures in", &mut form.unit, &units);
                find_box(ui, "Find a box", &mut form.find);
            },
            form,
        );
    harness.run();
    harness
}

/// Replaces the text of the field called `name` and leaves it typed, not committed.
fn retype(harness: &mut Harness<'_, Form>, name: &str, text: &str) {
    harness.get_by_role_and_label(Role::TextInput, name).focus();
    harness.run();
    harness.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
    harness.key_press(Key::Backspace);
    harness.run();
    if !text.is_empty() {
        harness
            .get_by_role_and_label(Role::TextInput, name)
            .type_text(text);
    }
    harness.run();
}

fn enter(harness: &mut Harness<'_, Form>, name: &str, text: &str) {
    retype(harness, name, text);
    harness.key_press(Key::Enter);
    harness.run();
}

fn shown(harness: &Harness<'_, Form>, name: &str) -> String {
    harness
        .get_by_role_and_label(Role::TextInput, name)
        .value()
        .unwrap_or_default()
}

#[test]
fn a_typed_date_is_committed_once_by_enter() {
    let mut harness = harness();
    retype(&mut harness, "Sown on", "2027-4-1");
    assert_eq!(
        harness.state().sown,
        date("2026-11-25"),
        "typing alone changes nothing"
    );
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(harness.state().sown, date("2027-04-01"));
    assert_eq!(harness.state().commits, 1);
    assert_eq!(shown(&harness, "Sown on"), "1 Apr 2027");
}

#[test]
fn leaving_a_field_commits_it_and_escape_brings_the_value_back() {
    let mut harness = harness();
    retype(&mut harness, "Sown on", "2027-01-02");
    harness
        .get_by_role_and_label(Role::TextInput, "Weight")
        .focus();
    harness.run();
    assert_eq!(harness.state().sown, date("2027-01-02"));
    retype(&mut harness, "Weight", "9");
    harness.key_press(Key::Escape);
    harness.run();
    assert_eq!(harness.state().weight, 3.2);
    assert_eq!(shown(&harness, "Weight"), "3.2");
    assert_eq!(harness.state().commits, 1);
}

#[test]
fn an_impossible_date_is_refused_with_a_sentence_and_kept_to_mend() {
    let mut harness = harness();
    enter(&mut harness, "Sown on", "2026-02-30");
    harness.get_by_label_contains("There is no day 30 in February 2026: it has 28 days.");
    assert_eq!(harness.state().sown, date("2026-11-25"));
    assert_eq!(shown(&harness, "Sown on"), "2026-02-30");
    enter(&mut harness, "Sown on", "2026-02-28");
    assert_eq!(harness.state().sown, date("2026-02-28"));
    assert!(harness.query_by_label_contains("There is no day").is_none());
}

#[test]
fn arrows_step_a_date_by_a_day() {
    let mut harness = harness();
    harness
        .get_by_role_and_label(Role::TextInput, "Sown on")
        .focus();
    harness.run();
    for _ in 0..6 {
        harness.key_press(Key::ArrowUp);
        harness.run();
    }
    harness.key_press(Key::ArrowDown);
    harness.run();
    assert_eq!(harness.state().sown, date("2026-11-30"));
    assert_eq!(shown(&harness, "Sown on"), "30 Nov 2026");
}

#[test]
fn a_date_is_chosen_from_the_month_by_its_full_name() {
    let mut harness = harness();
    harness
        .get_by_role_and_label(Role::Button, "Choose sown on")
        .click();
    harness.run();
    harness
        .get_by_role_and_label(Role::Button, "Next month")
        .click();
    harness.run();
    harness
        .get_by_role_and_label(Role::Button, "Thursday 10 December 2026")
        .click();
    harness.run();
    assert_eq!(harness.state().sown, date("2026-12-10"));
    assert!(
        harness.query_by_label("Next month").is_none(),
        "the calendar closes"
    );
}

#[test]
fn a_date_is_chosen_by_keyboard_alone() {
    let mut harness = harness();
    harness
        .get_by_role_and_label(Role::Button, "Choose sown on")
        .focus();
    harness.run();
    for key in [
        Key::Enter,
        Key::ArrowRight,
        Key::ArrowDown,
        Key::PageDown,
        Key::Enter,
    ] {
        harness.key_press(key);
        harness.run();
    }
    assert_eq!(
        harness.state().sown,
        date("2027-01-03"),
        "25 Nov + 1 day + 1 week + 1 month"
    );
}

#[test]
fn an_optional_date_is_given_today_and_cleared() {
    let mut harness = harness();
    harness
        .get_by_role_and_label(Role::Button, "Choose harvested on")
        .click();
    harness.run();
    harness.get_by_role_and_label(Role::Button, "Today").click();
    harness.run();
    assert_eq!(harness.state().harvested, Some(date("2026-11-25")));
    enter(&mut harness, "Harvested on", "");
    assert_eq!(harness.state().harvested, None);
    assert_eq!(harness.state().commits, 2);
}

#[test]
fn a_number_out_of_range_is_refused_with_its_bounds() {
    let mut harness = harness();
    enter(&mut harness, "Weight", "50");
    harness.get_by_label_contains("Weight must be between 0.1 and 20 g.");
    assert_eq!(harness.state().weight, 3.2);
    enter(&mut harness, "Weight", "4,5 g");
    assert_eq!(harness.state().weight, 4.5);
    assert_eq!(harness.state().commits, 1);
}

#[test]
fn an_optional_number_may_be_emptied() {
    let mut harness = harness();
    enter(&mut harness, "Seeds", "");
    assert_eq!(harness.state().seeds, None);
    enter(&mut harness, "Seeds", "87");
    assert_eq!(harness.state().seeds, Some(87.0));
}

#[test]
fn fahrenheit_is_typed_and_celsius_is_kept() {
    let mut harness = harness();
    harness
        .get_by_role_and_label(Role::RadioButton, "°F")
        .click();
    harness.run();
    assert_eq!(shown(&harness, "Box"), "39.2");
    enter(&mut harness, "Box", "41");
    assert_eq!(harness.state().celsius, 5.0);
    enter(&mut harness, "Box", "120");
    harness.get_by_label_contains("Box must be between 23 and 86 °F.");
}

#[test]
fn looking_at_a_temperature_in_fahrenheit_does_not_change_it() {
    let mut harness = harness();
    harness.state_mut().celsius = 4.03;
    harness
        .get_by_role_and_label(Role::RadioButton, "°F")
        .click();
    harness.run();
    harness
        .get_by_role_and_label(Role::TextInput, "Box")
        .focus();
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(harness.state().celsius, 4.03);
    assert_eq!(harness.state().commits, 0);
}

#[test]
fn the_find_box_is_cleared_by_its_button_and_by_escape() {
    let mut harness = harness();
    harness
        .get_by_role_and_label(Role::TextInput, "Find a box")
        .focus();
    harness.run();
    harness
        .get_by_role_and_label(Role::TextInput, "Find a box")
        .type_text("C-12");
    harness.run();
    assert_eq!(harness.state().find, "C-12");
    harness
        .get_by_role_and_label(Role::Button, "Clear: Find a box")
        .click();
    harness.run();
    assert_eq!(harness.state().find, "");
    harness
        .get_by_role_and_label(Role::TextInput, "Find a box")
        .type_text("C-13");
    harness.run();
    harness.key_press(Key::Escape);
    harness.run();
    assert_eq!(harness.state().find, "");
}

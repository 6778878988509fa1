//! The sterilising bench, driven by name: baths, steps that never let alcohol and bleach meet, timers on every screen.

use crate::window::{Window, begun, day};
use domain::{Edit, actions};
use egui::{Key, Role};
use egui_kittest::kittest::Queryable as _;
use std::cell::Cell;
use std::rc::Rc;

fn window() -> Window {
    let (mut project, mut ids) = begun();
    let protocol = project.settings().protocol.unwrap();
    let batch = actions::plan_batch(&project, protocol, day("2026-03-12"), &mut ids).unwrap();
    project.apply(Edit::add(batch)).unwrap();
    let mut window = Window::on(&project, Key::Num5);
    window.click(Role::Tab, "Sterilising");
    window
}

fn says(window: &Window, part: &str) -> bool {
    window
        .harness
        .query_all_by_label_contains(part)
        .next()
        .is_some()
}

#[test]
fn a_bath_is_reckoned_by_strength_and_by_parts_and_too_weak_bleach_is_refused() {
    let mut window = window();
    assert!(window.has(Role::Note, "Caution: Bleach and alcohol"));
    assert!(window.has(Role::Note, "Caution: Pressure cooker"));
    // 5.25 % to 1 %, 500 ml: 95.24 ml of bleach and 404.76 ml of water (C1·V1 = C2·V2, by hand).
    assert!(window.has(
        Role::Label,
        "Bleach 95.2 ml, made up with water to 500 ml (404.8 ml of water)"
    ));
    assert!(window.has(
        Role::Label,
        "Alcohol 147.4 ml, made up with water to 200 ml (52.6 ml of water)"
    ));
    window.enter("Hypochlorite in the bath", "6");
    assert!(window.has(Role::Label, "This bath can't be made"));
    window.click(Role::RadioButton, "by parts");
    window.enter("Parts of water", "9");
    // One part of 5.25 % in ten: 0.525 %, shown to two places.
    assert!(
        says(&window, "That is: 0.53 % hypochlorite")
            || says(&window, "That is: 0.52 % hypochlorite")
    );
}

#[test]
fn steps_that_bring_alcohol_and_bleach_together_are_refused() {
    let mut window = window();
    assert!(says(&window, "Start the timers"));
    window.click(Role::Button, "Remove step 2");
    assert!(says(
        &window,
        "bring alcohol and bleach together. Put a rinse in water between them."
    ));
    assert!(!says(&window, "Start the timers"));
    window.click(Role::Button, "The usual steps");
    assert!(says(&window, "Start the timers"));
}

#[test]
fn steps_are_recorded_for_a_batch() {
    let mut window = window();
    window.choose("Batch sterilised", "Chill A-26");
    window.click(Role::Button, "Record these steps…");
    window.click_button("Record the sterilisation of");
    let batch = window.project().chill_batches().iter().next().unwrap();
    let bath = batch.sterilised.as_ref().unwrap();
    assert_eq!((bath.minutes, bath.rinses), (5.0, 2));
    assert!(
        bath.recipe
            .starts_with("1. Seed in alcohol 70 %, 1 min, vessel 1."),
        "{}",
        bath.recipe
    );
}

#[test]
fn timers_run_on_every_screen_and_ring_until_they_are_answered() {
    let rings = Rc::new(Cell::new(0));
    let mut window = window();
    let heard = Rc::clone(&rings);
    window
        .harness
        .state_mut()
        .ring_with(Box::new(move || heard.set(heard.get() + 1)));
    window.enter("Minutes of step 1", "0.1");
    window
        .harness
        .get_by_label_contains("Start the timers")
        .click();
    window.settle();
    assert!(says(&window, "Alcohol 70 %: 0:0"), "six seconds are left");
    window.click(Role::Tab, "Plants");
    assert!(
        window.has(Role::Button, "Next: Rinse in clean water"),
        "it runs on another screen"
    );
    assert_eq!(rings.get(), 0);
    // The harness draws a frame each quarter of a second of its clock.
    window.harness.run_steps(30);
    assert!(says(&window, "time is over"));
    assert!(rings.get() >= 1);
    let rung = rings.get();
    window.harness.run_steps(40);
    assert!(rings.get() > rung, "it rings again while nobody answers");
    window.click(Role::Button, "Next: Rinse in clean water");
    assert!(
        says(&window, "Rinse in clean water: 1:00 left")
            || says(&window, "Rinse in clean water: 0:59 left")
    );
    let rung = rings.get();
    window.click(Role::Button, "Hold");
    window.harness.run_steps(400);
    assert_eq!(rings.get(), rung, "held, it doesn't ring");
    assert!(says(&window, "held"));
    window.click(Role::Button, "Stop the timer");
    assert!(!says(&window, "Rinse in clean water: "));
}

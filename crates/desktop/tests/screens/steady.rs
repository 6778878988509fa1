//! What comes or goes by itself has room that is kept for it: nothing on the page moves for it.

use crate::chill::started;
use crate::history::{set_place, written_by_another};
use crate::window::{Window, begun};
use egui::{Key, Modifiers, Rect, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::collections::BTreeMap;

/// Where everything stands that can be pressed or typed into, by how it is heard.
fn places(window: &Window) -> BTreeMap<String, Rect> {
    let mut places = BTreeMap::new();
    let mut nodes = vec![window.harness.root()];
    while let Some(node) = nodes.pop() {
        let heard = node.accesskit_node();
        let pressed = [
            Role::Button,
            Role::TextInput,
            Role::Row,
            Role::Tab,
            Role::RadioButton,
        ];
        if pressed.contains(&heard.role()) {
            let label = heard.label().unwrap_or_default();
            places.insert(format!("{:?} {label}", heard.role()), node.rect());
        }
        nodes.extend(node.children());
    }
    places
}

/// Whatever stood there before and stands there now is in its place.
fn nothing_moved(before: &BTreeMap<String, Rect>, window: &Window) {
    let after = places(window);
    let mut held = 0;
    for (name, was) in before {
        if let Some(is) = after.get(name) {
            assert!(
                (is.min - was.min).length() < 0.5,
                "{name} moved from {was} to {is}"
            );
            held += 1;
        }
    }
    assert!(held > 10, "{held} controls stayed");
}

#[test]
fn what_another_program_does_to_the_file_moves_nothing_when_it_is_told_and_when_it_is_settled() {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num1);
    let before = places(&window);
    written_by_another(&window, &set_place("Meadow"));
    window.wait_for(Role::Button, "Merge…");
    nothing_moved(&before, &window);
    // Saved over, it is no matter any more.
    window.press_with(Modifiers::COMMAND, Key::S);
    window.wait_for(Role::Button, "Save over it");
    window.click(Role::Button, "Save over it");
    window.wait_without(Role::Button, "Merge…");
    nothing_moved(&before, &window);
}

#[test]
fn what_was_changed_before_the_opening_is_told_in_the_strip_until_a_save_and_moves_nothing() {
    let mut first = Window::on(&begun().0, Key::Num1);
    first.change("Ida", |_| vec![set_place("Hill")]);
    first.save();
    first.change("Ida", |_| vec![set_place("Dell")]);
    let path = first.path();
    first.harness.state_mut().close_project();
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replace("Tarn yard", "Tarn field")).unwrap();
    let mut window = Window::another(&path);
    window.press_with(Modifiers::COMMAND, Key::Num0);
    let look = "Look at the difference…";
    assert!(window.has(Role::Button, look), "{}", window.notice());
    let before = places(&window);
    window.click(Role::Button, look);
    assert!(
        window
            .harness
            .query_all_by_label_contains("Tarn field")
            .next()
            .is_some()
    );
    window.click(Role::Button, "Close");
    window.change("Ida", |_| vec![set_place("Hill")]);
    window.save();
    window.wait_without(Role::Button, look);
    nothing_moved(&before, &window);
}

#[test]
fn a_save_that_fails_moves_nothing() {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num1);
    let before = places(&window);
    let away = window.folder().with_extension("away");
    std::fs::rename(window.folder(), &away).unwrap();
    window.press_with(Modifiers::COMMAND, Key::S);
    window.until(|window| !window.notice().is_empty());
    // The file is missed by the watch over it, which looks every two seconds.
    std::thread::sleep(std::time::Duration::from_millis(2300));
    window.settle();
    nothing_moved(&before, &window);
    std::fs::rename(&away, window.folder()).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(2300));
    window.settle();
    nothing_moved(&before, &window);
}

#[test]
fn what_is_listed_as_not_recorded_stays_in_its_place_while_it_is_looked_at() {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num5);
    window.focus(Role::TextInput, "Chill length");
    window.retype("7o");
    window.press_with(Modifiers::COMMAND, Key::Num0);
    window.focus(Role::TextInput, "Place of the program");
    window.write("Tarn farm");
    window.click(Role::Button, "Edit");
    window.click(Role::Button, "Not recorded yet…");
    let before = places(&window);
    let discard = "Discard the draft: Chill length (Chill A-26)";
    window.click(Role::Button, discard);
    assert!(
        window
            .harness
            .state()
            .project()
            .unwrap()
            .not_recorded()
            .is_empty()
    );
    nothing_moved(&before, &window);
}

#[test]
fn what_a_press_brings_out_of_a_field_waits_until_the_finger_is_lifted() {
    let mut window = Window::on(&crate::chill::with_lots().0, Key::Num4);
    window.click(Role::Row, "L-1");
    window.focus(Role::TextInput, "Cleaned");
    window.write("5 mar");
    let to = "Conditions of the lot";
    let at = window
        .harness
        .get_by_role_and_label(Role::TextInput, to)
        .rect();
    let button = |pressed| egui::Event::PointerButton {
        pos: at.center(),
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    let lot = |window: &Window| window.project().seed_lots().iter().next().unwrap().cleaned;
    window.harness.event(egui::Event::PointerMoved(at.center()));
    window.harness.step();
    window.harness.event(button(true));
    window.harness.run_steps(4);
    let held = window
        .harness
        .get_by_role_and_label(Role::TextInput, to)
        .rect();
    assert_eq!(held, at);
    assert_eq!(lot(&window), None);
    // A kill now finds it as a draft.
    assert_eq!(
        window
            .harness
            .state()
            .project()
            .unwrap()
            .not_recorded()
            .len(),
        1
    );
    window.harness.event(button(false));
    window.harness.run_steps(4);
    assert!(lot(&window).is_some());
    assert!(
        window
            .harness
            .state()
            .project()
            .unwrap()
            .not_recorded()
            .is_empty()
    );
}

#[test]
fn what_is_done_to_many_names_them_in_the_notice_and_in_the_menu() {
    let mut window = Window::on(&started("2026-03-01").0, Key::Num5);
    let all = window.button("2 boxes, all clear");
    window.click(Role::Button, &all);
    assert_eq!(window.project().checks().len(), 2);
    assert!(
        window.notice().contains("C-01 and 1 more"),
        "{}",
        window.notice()
    );
    window.click(Role::Button, "Edit");
    assert!(window.button("Undo").contains("C-01 and 1 more"));
}

//! Who signs changes: asked once, where no name is known.

use crate::window::{Window, begun, founder};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

fn signed(window: &Window) -> String {
    window.harness.state().project().unwrap().file().signed()
}

#[test]
fn a_name_is_asked_after_the_first_change_and_signs_from_then_on() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::on(&project, Key::Num2);
    assert!(
        !window.has(Role::TextInput, "Your name"),
        "nothing is changed yet"
    );
    window.click(Role::Row, "F-01");
    window.enter("Location", "Row 1");
    let machine = signed(&window);
    window.focus(Role::TextInput, "Your name");
    window.write(" Ida ");
    window.press(Key::Enter);
    assert!(!window.has(Role::TextInput, "Your name"));
    assert_eq!(signed(&window), "Ida");
    window.enter("Location", "Row 2");
    let file = window.harness.state().project().unwrap().file();
    file.flush().unwrap();
    let by: Vec<_> = file
        .history()
        .unwrap()
        .into_iter()
        .map(|entry| entry.by)
        .collect();
    assert_eq!(by, [machine.as_str(), "Ida"]);
    // Another name in the preferences holds as soon as it is entered.
    window.press_with(Modifiers::COMMAND, Key::Comma);
    window.focus(Role::TextInput, "Your name");
    window.retype("Otto");
    window.press(Key::Tab);
    assert_eq!(signed(&window), "Otto");
    window.click(Role::Button, "Done");
    assert!(
        window
            .harness
            .query_by_label_contains("Changes are signed")
            .is_none()
    );
}

#[test]
fn who_says_not_now_is_not_asked_again() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::on(&project, Key::Num2);
    window.click(Role::Row, "F-01");
    window.enter("Location", "Row 1");
    window.click(Role::Button, "Not now");
    window.enter("Location", "Row 2");
    assert!(!window.has(Role::Button, "Not now"));
}

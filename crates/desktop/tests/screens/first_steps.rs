//! The first minute: from a project just begun to its first box in the cold, each step a button.

use crate::window::{Window, begun};
use domain::RecordKind;
use egui::{Key, Modifiers, Role};

#[test]
fn the_first_steps_lead_from_several_founders_to_the_first_box_and_step_aside() {
    let mut window = Window::on(&begun().0, Key::Num1);
    assert!(window.has(Role::Heading, "2. Your first plants, now"));
    window.click(Role::Button, "Enter… Your first plants");
    for (name, text) in [
        ("Code of plant 1", "BRW"),
        ("Name of plant 1", "Brennow"),
        ("Code of plant 2", "LV-04M"),
        ("Place of plant 2", "hedge by the creek"),
    ] {
        window.fill(name, text);
    }
    window.click_button("Record BRW and 1 more");
    assert_eq!(window.project().count(RecordKind::Genotype), 2);
    assert_eq!(window.plant("BRW").name.as_deref(), Some("Brennow"));
    assert!(window.has(Role::Heading, "3. The first cross, now"));
    window.click(Role::Button, "Plan… The first cross");
    for (field, code) in [("Female parent", "BRW"), ("Male parent", "LV-04M")] {
        window.focus(Role::TextInput, field);
        window.write(code);
        window.press(Key::Enter);
    }
    window.click_button("Plan cross");
    assert_eq!(window.project().crosses().len(), 1);
    window.press_with(Modifiers::COMMAND, Key::Num1);
    assert!(window.has(Role::Heading, "4. Pollination and harvest, now"));
    // Who has seed in hand goes on from there.
    window.click(Role::Button, "Enter… A seed lot");
    window.choose("Comes from", "unknown");
    window.fill("Seeds counted", "90");
    window.click_button("Add lot");
    window.press_with(Modifiers::COMMAND, Key::Num1);
    window.click(Role::Button, "Lay… The first box in the cold");
    window.click(Role::Button, "Plan a batch first…");
    window.click_button("Plan a batch to start");
    window.click_button("Lay 90 seeds");
    assert_eq!(window.project().chill_boxes().len(), 1);
    window.press_with(Modifiers::COMMAND, Key::Num1);
    assert!(!window.has(Role::Heading, "2. Your first plants, done"));
}

#[test]
fn who_knows_the_way_is_not_led() {
    let mut window = Window::on(&begun().0, Key::Num1);
    window.click(Role::Button, "Hide these steps: I know my way");
    assert!(!window.has(Role::Heading, "2. Your first plants, now"));
    window.press_with(Modifiers::COMMAND, Key::Num2);
    window.press_with(Modifiers::COMMAND, Key::Num1);
    assert!(!window.has(Role::Heading, "2. Your first plants, now"));
}

//! Every control of every screen is large enough for a finger in a glove: at least 24 points each way (WCAG 2.2,
//! success criterion 2.5.8, W3C 2023).

use crate::window::{Window, today};
use desktop::view::Screen;
use egui::{Role, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::collections::BTreeSet;

/// What is pressed. Columns' headers of a table are as high as its rows; links within a sentence are excepted by the
/// criterion, and none is used.
const PRESSED: [Role; 12] = [
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::ComboBox,
    Role::TextInput,
    Role::Link,
    Role::Tab,
    Role::MenuItem,
    Role::ColumnHeader,
    Role::DisclosureTriangle,
    Role::Row,
    Role::MultilineTextInput,
];

/// The least width and height, less what rounding to pixels may take.
const LEAST: f32 = 23.9;

#[test]
fn every_control_of_every_screen_is_24_points_wide_and_high() {
    let project = sample::sample_project(today()).unwrap();
    let mut small = BTreeSet::new();
    let mut seen = 0;
    for size in [[1280.0, 720.0], [1024.0, 700.0]] {
        let mut window = Window::on(&project, egui::Key::Num1);
        window.harness.set_size(vec2(size[0], size[1]));
        for screen in Screen::ALL {
            window.harness.state_mut().go(screen);
            window.settle();
            // With the page of a record open, where the screen has any.
            let table = window.harness.query_all_by_role(Role::Table).next();
            if let Some(table) = table {
                table.focus();
                window.settle();
            }
            window.settle();
            for role in PRESSED {
                for node in window.harness.query_all_by_role(role) {
                    let rect = node.rect();
                    let label = node.accesskit_node().label().unwrap_or_default();
                    seen += 1;
                    if rect.width() < LEAST || rect.height() < LEAST {
                        small.insert(format!(
                            "{}: {role:?} '{label}' {:.0}×{:.0}",
                            screen.title(),
                            rect.width(),
                            rect.height()
                        ));
                    }
                }
            }
        }
    }
    assert!(seen > 1000, "{seen} controls looked at");
    let small: Vec<_> = small.into_iter().collect();
    assert!(
        small.is_empty(),
        "{} of {seen}:\n{}",
        small.len(),
        small.join("\n")
    );
}

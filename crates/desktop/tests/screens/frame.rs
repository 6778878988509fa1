//! The frame round every page: the working day, the sidebar, the strip at the foot.

use super::window::{Window, begun, day, today};
use egui::{Key, Role, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

#[test]
fn the_working_day_is_in_sight_at_every_width_and_changes_by_arrow_and_by_key() {
    let (project, _) = begun();
    for size in [[1024.0, 700.0], [1280.0, 720.0], [2560.0, 1440.0]] {
        let mut window = Window::on(&project, Key::Num1);
        window.harness.set_size(vec2(size[0], size[1]));
        window.harness.run();
        for name in ["Day before", "Day after"] {
            let arrow = window
                .harness
                .get_by_role_and_label(Role::Button, name)
                .rect();
            assert!(
                arrow.left() >= 0.0 && arrow.right() <= size[0],
                "{name}: {arrow}"
            );
            assert!(
                arrow.width() >= 24.0 && arrow.height() >= 24.0,
                "{name}: {arrow}"
            );
        }
        window.harness.get_by_label("Today, Tue 10 Mar");
        window.click(Role::Button, "Day before");
        assert_eq!(
            window.harness.state().working_day().day(),
            day("2026-03-09")
        );
        window.harness.get_by_label("Recording for Mon 9 Mar");
        window.press(Key::OpenBracket);
        assert_eq!(
            window.harness.state().working_day().day(),
            day("2026-03-08")
        );
        window.click(Role::Button, "Back to today");
        assert_eq!(window.harness.state().working_day().day(), today());
    }
}

#[test]
fn the_window_has_a_name_of_its_own_for_those_who_hear_it() {
    let window = Window::on(&begun().0, Key::Num1);
    let name = window.harness.root().accesskit_node().label();
    assert_eq!(name.as_deref(), Some("Tarn yard, Binewright"));
}

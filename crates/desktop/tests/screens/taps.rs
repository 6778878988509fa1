//! Two taps 80 ms apart, on everything that can be pressed: they record one thing, whatever has taken the place of what
//! was pressed. `BINEWRIGHT_TAPS=1` taps through every project of the tests, else through one of them.

use crate::chill::started;
use crate::crosses::with_cross;
use crate::form_walk::in_warmth;
use crate::plants::yard;
use crate::window::Window;
use desktop::view::Screen;
use domain::Project;
use egui::{Event, Key, Modifiers, PointerButton, Pos2, Rect, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use kit::drafts::Drafts;
use std::collections::BTreeSet;

/// What closes the project, hands it to another program, or takes steps back: each press of that is meant.
fn is_no_record(name: &str) -> bool {
    [
        "Close project",
        "Quit",
        "Exit",
        "New project",
        "Open",
        "Save",
        "File",
        "Undo",
        "Redo",
        "Edit",
        "Go",
    ]
    .iter()
    .any(|word| name.starts_with(word))
}

struct Taps {
    window: Window,
    screen: Screen,
    /// Seconds of input time.
    time: f64,
    pressed: usize,
    recorded: usize,
}

impl Taps {
    fn step(&mut self, after: f64, events: impl IntoIterator<Item = Event>) {
        self.time += after;
        let input = self.window.harness.input_mut();
        input.time = Some(self.time);
        input.events.extend(events);
        self.window.harness.step();
    }

    fn tap(&mut self, at: Pos2) {
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.step(0.04, [Event::PointerMoved(at), button(true)]);
        self.step(0.04, [button(false)]);
    }

    fn settle(&mut self) {
        for _ in 0..3 {
            self.step(0.5, []);
        }
    }

    /// What can be pressed now: its role, its name, where it is.
    fn pressable(&self) -> Vec<(Role, String, Rect)> {
        let all = Rect::from_min_size(Pos2::ZERO, self.window.harness.ctx.content_rect().size());
        let mut found = Vec::new();
        for role in [Role::Button, Role::CheckBox, Role::RadioButton] {
            for node in self.window.harness.query_all_by_role(role) {
                let name = node.accesskit_node().label().unwrap_or_default();
                let enabled = !node.accesskit_node().is_disabled();
                if enabled && all.contains(node.rect().center()) && !is_no_record(&name) {
                    found.push((role, name, node.rect()));
                }
            }
        }
        found
    }

    fn steps(&self) -> Option<u64> {
        let open = self.window.harness.state().project()?;
        open.session().last_step()
    }

    /// As it was before: nothing open, nothing typed, this screen.
    fn back_to(&mut self, before: &Project, row: bool) {
        if self.window.harness.state().project().is_none() {
            let path = self.window.path();
            self.window.harness.state_mut().open_path(&path);
        }
        if let Some(open) = self.window.harness.state_mut().project_mut() {
            while open.project() != before {
                if open.undo().unwrap().is_none() {
                    break;
                }
            }
            *open.drafts().lock().unwrap() = Drafts::default();
        }
        self.window.press(Key::Escape);
        self.window.harness.state_mut().go(self.screen);
        self.settle();
        if row {
            self.choose_row();
        }
        self.settle();
    }

    /// Chooses the first row of the page, where it has one.
    fn choose_row(&mut self) {
        let first = {
            let mut rows = self.window.harness.query_all_by_role(Role::Row);
            rows.next().map(|row| row.rect().center())
        };
        let Some(at) = first else { return };
        self.tap(at);
        self.settle();
    }

    /// Taps everything twice that can be pressed and wasn't; then what came up with it.
    fn tap_all(&mut self, row: bool) {
        let before = self.window.project().clone();
        let mut known = BTreeSet::new();
        for (role, name, at) in self.pressable() {
            if !known.insert((role as u8, name.clone())) {
                continue;
            }
            let Some((_, _, at)) = self
                .pressable()
                .into_iter()
                .find(|(each, other, _)| *each == role && *other == name)
                .or(Some((role, name.clone(), at)))
            else {
                continue;
            };
            self.twice(&name, at, &before);
            // A form came up with it: its button records too.
            let after: Vec<_> = self.pressable();
            if self.window.has_form() {
                for (_, inner, at) in after {
                    let new = !known.contains(&(Role::Button as u8, inner.clone()));
                    if new && inner.contains(", ") {
                        self.twice(&format!("{name} > {inner}"), at, &before);
                    }
                }
            }
            self.back_to(&before, row);
        }
    }

    fn twice(&mut self, name: &str, rect: Rect, before: &Project) {
        let (first, project) = (self.steps(), self.window.project().clone());
        self.tap(rect.center());
        self.tap(rect.center());
        self.settle();
        self.pressed += 1;
        let Some(open) = self.window.harness.state_mut().project_mut() else {
            return;
        };
        if open.session().last_step() == first {
            return;
        }
        self.recorded += 1;
        let after = open.project().clone();
        assert!(open.undo().unwrap().is_some());
        assert!(
            open.project() == &project || open.project() == before,
            "two taps on '{name}' recorded more than one thing: {}",
            domain::compare::Comparison::between(&project, &after)
                .into_edit("both")
                .describe(&after)
        );
    }
}

fn through(project: &Project) -> (usize, usize) {
    let mut taps = Taps {
        window: Window::on(project, Key::Num1),
        screen: Screen::Calendar,
        time: 1_000.0,
        pressed: 0,
        recorded: 0,
    };
    let before = taps.window.project().clone();
    for screen in Screen::ALL {
        taps.screen = screen;
        for row in [false, true] {
            taps.back_to(&before, row);
            taps.tap_all(row);
        }
    }
    (taps.pressed, taps.recorded)
}

#[test]
fn two_taps_on_anything_record_one_thing() {
    let all = std::env::var("BINEWRIGHT_TAPS").is_ok();
    let mut projects = vec![in_warmth()];
    if all {
        projects.extend([yard().0, with_cross(), started("2026-03-01").0]);
    }
    let (mut pressed, mut recorded) = (0, 0);
    for project in &projects {
        let (more, made) = through(project);
        pressed += more;
        recorded += made;
    }
    println!("{pressed} controls tapped twice, {recorded} of them recorded something");
    assert!(recorded > 10, "what records was tapped: {recorded}");
}

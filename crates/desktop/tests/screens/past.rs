//! A moment of the past opened in the window, driven by name: everything as it stood, nothing changed, and back again.

use crate::window::{Window, begun, founder};
use desktop::view::Screen;
use domain::record::genotype::GenotypeField;
use domain::{Edit, Project};
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use store::Store;

/// A window on a project of one plant whose location was set to 'Row 1', then 'Row 2'.
fn moved_twice() -> Window {
    let (mut project, mut ids) = begun();
    let plant = founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::on(&project, Key::Num1);
    window.change("Otto", |_| {
        let to = |row: &str| Edit::set(plant, GenotypeField::Location(row.into()));
        vec![to("Row 1"), to("Row 2")]
    });
    window
}

fn location(project: &Project) -> &str {
    let mut plants = project.genotypes().iter();
    plants.next().map_or("", |plant| plant.location.as_str())
}

fn shown(window: &Window) -> &str {
    location(window.project())
}

fn present(window: &Window) -> &Project {
    window
        .harness
        .state()
        .project()
        .unwrap()
        .session()
        .project()
}

/// Opens the project as it stood after a change, from the history.
fn look_back(window: &mut Window, change: u64) {
    window.click(Role::Tab, "History");
    window.wait_for(Role::Row, &format!("Change {change}"));
    window.click(Role::Row, &format!("Change {change}"));
    window.wait_for(Role::Button, "Open as it was then");
    window.click(Role::Button, "Open as it was then");
}

/// What stands over the screens while a moment is shown.
fn banner(window: &Window) -> Option<String> {
    let lines = window.harness.query_all_by_role(Role::Status);
    lines
        .filter_map(|line| line.accesskit_node().label())
        .find(|words| {
            words.starts_with("As it was on ") || words.starts_with("The project as it was on ")
        })
}

#[test]
fn a_moment_is_shown_whole_changes_nothing_and_the_present_comes_back_as_it_was_left() {
    let mut window = moved_twice();
    look_back(&mut window, 1);
    assert_eq!(
        (shown(&window), location(present(&window))),
        ("Row 1", "Row 2")
    );
    let words = banner(&window).unwrap();
    assert!(
        words.ends_with(", after change 1. Nothing can be changed here."),
        "{words}"
    );
    for screen in Screen::ALL {
        window.harness.state_mut().go(screen);
        window.settle();
        assert_eq!(banner(&window).as_ref(), Some(&words), "{screen:?}");
    }
    // Neither undo nor a field changes anything, nor does saving what is the present's.
    let last = window.harness.state().project().unwrap().file().last();
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(window.notice(), words);
    window.click(Role::Tab, "Plants");
    window.click(Role::Row, "F-01");
    let field = window
        .harness
        .get_by_role_and_label(Role::TextInput, "Location");
    assert!(field.accesskit_node().is_disabled());
    assert_eq!(field.accesskit_node().value().as_deref(), Some("Row 1"));
    window.save();
    assert_eq!(
        (shown(&window), location(present(&window))),
        ("Row 1", "Row 2")
    );
    assert_eq!(
        window.harness.state().project().unwrap().file().last(),
        last
    );
    let saved = Store::new("test").open_read_only(&window.path()).unwrap();
    assert_eq!(location(&saved.project), "Row 2");
    // Back: the history as it was left, and the steps of undo.
    window.click(Role::Button, "Back to now");
    assert_eq!((shown(&window), banner(&window)), ("Row 2", None));
    assert!(window.has(Role::Label, "What: place of plant F-01"));
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(shown(&window), "Row 1");
}

#[test]
fn what_was_made_for_a_revision_of_the_present_is_not_shown_for_that_of_a_moment() {
    let (project, _) = begun();
    let mut window = Window::on(&project, Key::Num2);
    let plant = |code: &'static str| {
        move |ids: &mut domain::IdSource| {
            let mut project = Project::default();
            founder(&mut project, ids, code, None);
            let plant = project.genotypes().iter().next().cloned().unwrap();
            vec![Edit::add(plant)]
        }
    };
    window.change("Otto", plant("F-01"));
    window.save();
    // Read anew, the file counts its revisions from the start.
    let path = window.path();
    window.harness.state_mut().open_path(&path);
    window.settle();
    window.change("Otto", plant("F-02"));
    window.click(Role::Tab, "Plants");
    assert!(window.has(Role::Row, "F-01") && window.has(Role::Row, "F-02"));
    let revision = window.project().revision();
    look_back(&mut window, 1);
    assert_eq!(
        window.project().revision(),
        revision,
        "or the test says nothing"
    );
    window.click(Role::Tab, "Plants");
    assert!(window.has(Role::Row, "F-01"));
    let rows = window.harness.query_all_by_role(Role::Row).count();
    assert_eq!(rows, 1, "a row for a plant that isn't there yet");
    window.click(Role::Button, "Back to now");
    window.click(Role::Tab, "Plants");
    assert!(window.has(Role::Row, "F-02"));
}

#[test]
fn a_note_half_written_is_not_in_the_moment_and_waits_in_the_present() {
    let mut window = moved_twice();
    let note = |window: &Window| {
        let words = window
            .harness
            .query_by_role_and_label(Role::MultilineTextInput, "New note");
        words.map_or_else(String::new, |words| {
            words.accesskit_node().value().unwrap_or_default()
        })
    };
    window.click(Role::Tab, "Plants");
    window.click(Role::Row, "F-01");
    window.click(Role::Button, "Add a note…");
    window.focus(Role::MultilineTextInput, "New note");
    window.write("cones ear");
    look_back(&mut window, 1);
    window.click(Role::Tab, "Plants");
    window.click(Role::Row, "F-01");
    assert_eq!(note(&window), "");
    window.click(Role::Button, "Back to now");
    window.click(Role::Tab, "Plants");
    assert_eq!(note(&window), "cones ear");
}

#[test]
fn a_project_closed_from_a_moment_closes_as_it_stands() {
    let mut window = moved_twice();
    look_back(&mut window, 1);
    let path = window.path();
    window.harness.state_mut().close_project();
    window.settle();
    assert!(window.harness.state().project().is_none() && banner(&window).is_none());
    let opened = Store::new("test").open(&path).unwrap();
    assert!(opened.report.is_quiet(), "{:?}", opened.report.sentences());
    assert_eq!(location(&opened.project), "Row 2");
}

#[test]
fn a_backup_is_opened_as_it_stood_and_the_history_ends_there() {
    let mut window = moved_twice();
    window.save();
    let backups = Store::new("test").backups(&window.path()).unwrap();
    window.click(Role::Tab, "Setup");
    window.enter("Place of the program", "Hill");
    window.click(Role::Tab, "History");
    window.click(Role::RadioButton, "Backups");
    let at = backups[0].at.with_timezone(&chrono::Local);
    let row = format!("Backup of {}", at.format("%-d %b %Y %H:%M"));
    window.wait_for(Role::Row, &row);
    window.click(Role::Row, &row);
    window.wait_for(Role::Button, "Open as it was then");
    window.click(Role::Button, "Open as it was then");
    let words = banner(&window).unwrap();
    assert!(words.contains("after change 2."), "{words}");
    assert_eq!(window.project().settings().place, "");
    // The history knows nothing of what came later, and no other moment is restored from here.
    window.click(Role::Tab, "History");
    window.wait_for(Role::Row, "Change 2");
    assert!(!window.has(Role::Row, "Change 3"));
    assert!(!window.has(Role::RadioButton, "Backups"));
    look_back(&mut window, 1);
    assert_eq!(shown(&window), "Row 1");
    window.click(Role::Button, "Back to now");
    assert_eq!(window.project().settings().place, "Hill");
}

/// The names of what can be clicked in this role.
fn clickable(window: &Window, role: Role) -> Vec<String> {
    let nodes = window.harness.query_all_by_role(role);
    nodes
        .map(|node| node.accesskit_node())
        .filter(|node| !node.is_disabled())
        .filter_map(|node| node.label())
        .collect()
}

/// Clicks everything in sight, from the same place each time, and answers what was refused.
fn click_all(window: &mut Window, go: impl Fn(&mut Window)) -> Vec<String> {
    const AWAY: [&str; 6] = [
        "Back to now",
        "File",
        "Edit",
        "View",
        "Help",
        "Close notice",
    ];
    go(window);
    let words = banner(window).unwrap();
    let mut refused = Vec::new();
    for role in [Role::Button, Role::CheckBox] {
        for name in clickable(window, role) {
            if AWAY.contains(&name.as_str()) {
                continue;
            }
            let found = |window: &Window| {
                let mut nodes = window.harness.query_all_by_role_and_label(role, &name);
                nodes.next().map(|node| node.scroll_to_me()).is_some()
            };
            if found(window) {
                window.settle();
                let mut nodes = window.harness.query_all_by_role_and_label(role, &name);
                // What was scrolled to may have given way meanwhile, as a notice that fades does.
                if let Some(node) = nodes.next() {
                    node.click();
                }
                drop(nodes);
                window.settle();
            }
            if window.notice() == words {
                refused.push(name);
                window.click(Role::Button, "Close notice");
            }
            window.press(Key::Escape);
            assert!(window.harness.state().project().unwrap().moment().is_some());
            go(window);
        }
    }
    refused
}

#[test]
fn nothing_that_can_be_clicked_in_a_moment_asks_for_a_change() {
    let project = sample::sample_project(crate::window::today()).unwrap();
    let plant = project.genotypes().iter().next().unwrap().id;
    let mut window = Window::on(&project, Key::Num1);
    window.change("Otto", |_| {
        let to = |row: &str| Edit::set(plant, GenotypeField::Location(row.into()));
        vec![to("Row 1"), to("Row 2")]
    });
    let live = present(&window).clone();
    look_back(&mut window, 1);
    for screen in Screen::ALL {
        let refused = click_all(&mut window, |window| {
            window.harness.state_mut().go(screen);
            window.settle();
        });
        assert_eq!(refused, Vec::<String>::new(), "{screen:?}");
    }
    let records: [domain::AnyId; 6] = [
        plant.into(),
        project.crosses().iter().next_back().unwrap().id.into(),
        project.seed_lots().iter().next().unwrap().id.into(),
        project.chill_boxes().iter().next_back().unwrap().id.into(),
        project
            .chill_batches()
            .iter()
            .next_back()
            .unwrap()
            .id
            .into(),
        project.germinations().iter().next_back().unwrap().id.into(),
    ];
    for id in records {
        let refused = click_all(&mut window, |window| {
            window.harness.state_mut().show_record(id);
            window.settle();
        });
        assert_eq!(refused, Vec::<String>::new(), "{:?}", id.kind);
    }
    assert!(*present(&window) == live);
    assert_eq!(window.harness.state().project().unwrap().file().last(), 2);
}

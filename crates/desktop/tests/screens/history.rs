//! The history screen, driven by name: a backup restored, two copies brought together, a second window that takes over,
//! and a program killed before it saved.

use crate::window::{Window, begun, founder};
use domain::Edit;
use domain::record::settings::SettingsField;
use egui::{Key, Modifiers, Role};
use store::Store;

fn place(window: &Window) -> &str {
    &window.project().settings().place
}

fn set_place(place: &str) -> Edit {
    Edit::Settings(SettingsField::Place(place.into()))
}

#[test]
fn a_backup_is_compared_restored_and_the_restoring_undone() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::on(&project, Key::Num1);
    window.save();
    let path = window.path();
    let backups = Store::new("test").backups(&path).unwrap();
    assert_eq!(backups.len(), 1, "the save left one");
    window.click(Role::Tab, "Setup");
    window.enter("Place of the program", "Hill");
    assert_eq!(place(&window), "Hill");
    window.click(Role::Tab, "History");
    window.click(Role::RadioButton, "Backups");
    let row = format!(
        "Backup of {}",
        backups[0]
            .at
            .with_timezone(&chrono::Local)
            .format("%Y-%m-%d %H:%M")
    );
    window.wait_for(Role::Row, &row);
    window.click(Role::Row, &row);
    window.wait_for(Role::Label, "Differs from now: 1 setting.");
    window.click(Role::Button, "Restore it");
    assert_eq!(place(&window), "");
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(place(&window), "Hill");
    // The changes tell who did what.
    window.click(Role::RadioButton, "Changes");
    window.wait_for(Role::Row, "Change 3");
    window.click(Role::Row, "Change 1");
    window.wait_for(Role::Label, "What: change place of the program");
}

#[test]
fn two_copies_come_together_and_the_person_decides_where_they_clash() {
    let (mut project, mut ids) = begun();
    founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::answering(&project, Key::Num1, |folder| {
        Some(folder.join("other.binewright"))
    });
    let other = window.folder().join("other.binewright");
    std::fs::copy(window.path(), &other).unwrap();
    let opened = Store::new("Otto").open(&other).unwrap();
    let mut theirs = opened.project;
    for edit in [
        set_place("Meadow"),
        Edit::Settings(SettingsField::Name("Tarn".into())),
    ] {
        theirs.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
    }
    opened.file.flush().unwrap();
    drop(opened.file);
    window.click(Role::Tab, "Setup");
    window.enter("Place of the program", "Hill");
    window.click(Role::Tab, "History");
    window.click(Role::RadioButton, "Two copies");
    window.click(Role::Button, "Choose the other copy…");
    window.wait_for(
        Role::Label,
        "1 setting from the other copy come in; 1 to decide.",
    );
    window.click(Role::RadioButton, "Take there: change place of the program");
    window.click(Role::Button, "Bring them together");
    assert_eq!(place(&window), "Meadow");
    assert_eq!(window.project().settings().name, "Tarn");
    window.press_with(Modifiers::COMMAND, Key::Z);
    assert_eq!(place(&window), "Hill");
}

#[test]
fn a_second_window_only_reads_and_takes_over_when_the_first_is_gone() {
    let (project, _) = begun();
    let first = Window::on(&project, Key::Num1);
    let path = first.path();
    let mut second = Window::another(&path);
    assert!(
        second
            .harness
            .state()
            .project()
            .unwrap()
            .read_only()
            .is_some()
    );
    let mut first = first;
    first.harness.state_mut().close_project();
    second.wait_for(Role::Button, "Take over");
    second.click(Role::Button, "Take over");
    assert!(
        second
            .harness
            .state()
            .project()
            .unwrap()
            .read_only()
            .is_none()
    );
}

#[test]
fn what_a_killed_program_had_not_saved_is_brought_back_and_told() {
    let (project, _) = begun();
    let mut window = Window::on(&project, Key::Num1);
    window.click(Role::Tab, "Setup");
    window.enter("Place of the program", "Hill");
    window
        .harness
        .state()
        .project()
        .unwrap()
        .file()
        .flush()
        .unwrap();
    // What lies on the disk at this moment is what a kill leaves.
    let left = tempfile::tempdir().unwrap();
    let name = |suffix: &str| format!("yard.binewright{suffix}");
    for suffix in ["", "-journal"] {
        let from = window.folder().join(name(suffix));
        std::fs::copy(from, left.path().join(name(suffix))).unwrap();
    }
    let again = Window::another(&left.path().join(name("")));
    assert_eq!(place(&again), "Hill");
    assert!(
        again.notice().contains("Brought back 1 change"),
        "{}",
        again.notice()
    );
}

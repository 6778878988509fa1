//! Saving under another name while work goes on.

use crate::window::{Window, begun, founder};
use domain::record::genotype::GenotypeField;
use domain::{Edit, Project};
use egui::{Key, Modifiers};
use store::Store;

fn location(project: &Project) -> &str {
    let mut plants = project.genotypes().iter();
    plants.next().map_or("", |plant| plant.location.as_str())
}

#[test]
fn what_is_changed_while_another_file_is_written_is_in_that_file_too() {
    let (mut project, mut ids) = begun();
    let plant = founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::answering(&project, Key::Num2, |folder| {
        Some(folder.join("moved").join("yard.binewright"))
    });
    let to = |row: &str| Edit::set(plant, GenotypeField::Location(row.into()));
    window.change("Ida", |_| vec![to("Row 1")]);
    let (old, new) = (window.path(), window.folder().join("moved/yard.binewright"));
    std::fs::create_dir(window.folder().join("moved")).unwrap();
    // What is written is taken from here; what follows comes before anybody has heard that it is written.
    let ctx = window.harness.ctx.clone();
    let open = window.harness.state_mut().project_mut().unwrap();
    open.save_as(&ctx, &new).unwrap();
    open.apply(&to("Row 2")).unwrap();
    open.undo().unwrap();
    open.apply(&to("Row 3")).unwrap();
    window.until_saved();
    let open = window.harness.state().project().unwrap();
    assert_eq!(open.path().parent(), new.canonicalize().unwrap().parent());
    assert_eq!(location(open.project()), "Row 3");
    window.change("Otto", |_| vec![to("Row 4")]);
    window.harness.state_mut().close_project();
    let opened = Store::new("test").open(&new).unwrap();
    assert!(opened.report.is_quiet(), "{:?}", opened.report.sentences());
    assert_eq!(location(&opened.project), "Row 4");
    let history = opened.file.history().unwrap();
    let signed: Vec<_> = history.iter().map(|entry| entry.by.as_str()).collect();
    assert_eq!(signed, ["Ida", "Ida", "Ida", "Ida", "Otto"]);
    // The old file has what was changed up to then, in its journal.
    let old = Store::new("test").open(&old).unwrap();
    assert_eq!(location(&old.project), "Row 3");
}

#[test]
fn a_window_closed_while_another_file_is_written_waits_for_it() {
    let (mut project, mut ids) = begun();
    let plant = founder(&mut project, &mut ids, "F-01", None);
    let mut window = Window::on(&project, Key::Num2);
    let new = window.folder().join("moved.binewright");
    let ctx = window.harness.ctx.clone();
    let open = window.harness.state_mut().project_mut().unwrap();
    open.save_as(&ctx, &new).unwrap();
    open.apply(&Edit::set(plant, GenotypeField::Location("Row 2".into())))
        .unwrap();
    window.harness.state_mut().close_project();
    assert!(window.harness.state().project().is_none());
    let opened = Store::new("test").open(&new).unwrap();
    assert!(opened.report.is_quiet(), "{:?}", opened.report.sentences());
    assert_eq!(location(&opened.project), "Row 2");
}

#[test]
fn a_file_that_cannot_be_written_leaves_the_project_where_it_is() {
    let (project, _) = begun();
    let mut window = Window::answering(&project, Key::Num2, |folder| {
        Some(folder.join("nowhere").join("yard.binewright"))
    });
    let path = window.harness.state().project().unwrap().path().to_owned();
    window.press_with(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::S);
    window.until(|window| !window.notice().is_empty());
    assert!(!window.notice().starts_with("Saved"), "{}", window.notice());
    assert_eq!(window.harness.state().project().unwrap().path(), path);
}

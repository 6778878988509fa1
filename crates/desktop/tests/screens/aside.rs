//! What could not be used on opening stays within reach: the findings list it, with where it lies.

use crate::window::{Window, begun};
use domain::Edit;
use domain::record::settings::SettingsField;
use egui::Role;
use std::io::Write as _;

#[test]
fn the_torn_end_of_a_journal_is_listed_among_the_findings_with_its_place() {
    let (project, _) = begun();
    let mut window = Window::on(&project, egui::Key::Num1);
    window.change("Ida", |_| {
        vec![Edit::Settings(SettingsField::Place("Hill".into()))]
    });
    window.click(Role::Tab, "Findings");
    let heading = "Put aside, byte for byte";
    assert!(!window.has(Role::Heading, heading));
    window.harness.state_mut().close_project();
    let path = window.path();
    let journal = window.folder().join("yard.binewright-journal");
    let mut journal = std::fs::File::options().append(true).open(journal).unwrap();
    journal.write_all(b"{\"n\":2,\"after\":\"00").unwrap();
    drop(journal);
    window.harness.state_mut().open_path(&path);
    window.settle();
    window.click(Role::Tab, "Findings");
    window.wait_for(Role::Heading, heading);
    let names = std::fs::read_dir(window.folder()).unwrap();
    let mut names = names.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let cut = names.find(|name| name.contains(".cut-")).unwrap();
    window.click(Role::Button, &format!("Copy the path of {cut}"));
    assert!(window.notice().starts_with("The path is copied"));
}

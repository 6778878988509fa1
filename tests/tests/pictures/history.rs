//! Pictures of a project with a history, and of two copies that went apart.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use binewright_tests::model_disk::ModelDisk;
use desktop::view::Screen;
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{AnyId, Edit, Genotype, IdSource, Note};
use egui::Role;
use egui_kittest::SnapshotResults;
use egui_kittest::kittest::Queryable as _;
use store::{Existing, Opened, Store};

use crate::sitting::{Sitting, THEMES, USUAL, sample, today};

/// Four plants of the sample that are changed in the pictures of its history.
fn changed_plants() -> Vec<AnyId> {
    let living = |plant: &&Genotype| plant.is_alive() && !plant.location.is_empty();
    let plants = sample().genotypes().iter().filter(living);
    plants.map(|plant| plant.id.into()).take(4).collect()
}

fn moved(plant: AnyId, to: &str) -> Edit {
    Edit::set(
        plant.typed::<Genotype>().unwrap(),
        GenotypeField::Location(to.into()),
    )
}

/// Makes these changes, each a while after the one before, as this person.
fn change(disk: &ModelDisk, opened: &mut Opened, who: &str, edits: Vec<Edit>) {
    opened.file.sign_as(who);
    for edit in edits {
        disk.pass(Duration::from_mins(137));
        opened.project.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
    }
    opened.file.flush().unwrap();
}

/// The sample with a history that always has the same hours, laid in a folder; beside it a copy that Otto changed
/// elsewhere.
fn lay_history(folder: &Path) {
    let disk = ModelDisk::default();
    let store = Store::with_files("Ida", Arc::new(disk.clone()));
    let (own, other) = (
        Path::new("/season.binewright"),
        Path::new("/other.binewright"),
    );
    drop(store.create(own, sample(), Existing::Keep).unwrap());
    let mut opened = store.open(own).unwrap();
    let plants = changed_plants();
    let note = Edit::add(Note {
        id: IdSource::new(1_770_000_000_000, 7).next(),
        about: plants[0],
        date: today(),
        text: "Cones early, smells of citrus and hay".into(),
        by: "Ida".into(),
    });
    change(
        &disk,
        &mut opened,
        "Ida",
        vec![moved(plants[0], "Yard B, hill 7"), note],
    );
    opened.file.save(&opened.project).unwrap();
    let row = Edit::All {
        label: "move 2 plants to row 9".into(),
        edits: vec![
            moved(plants[1], "Row 9, hill 1"),
            moved(plants[2], "Row 9, hill 2"),
        ],
    };
    let place = Edit::Settings(SettingsField::Place("Ostrel Valley, upper yard".into()));
    change(&disk, &mut opened, "Otto", vec![row, place]);
    opened.file.save(&opened.project).unwrap();
    drop(
        opened
            .file
            .save_as(other, &opened.project, Existing::Keep)
            .unwrap(),
    );
    change(
        &disk,
        &mut opened,
        "Ida",
        vec![
            moved(plants[0], "Yard B, hill 8"),
            moved(plants[3], "Nursery, bed 2"),
        ],
    );
    opened.file.save(&opened.project).unwrap();
    let mut apart = store.open(other).unwrap();
    change(
        &disk,
        &mut apart,
        "Otto",
        vec![
            moved(plants[0], "Yard C, hill 1"),
            moved(plants[1], "Row 10, hill 1"),
        ],
    );
    apart.file.save(&apart.project).unwrap();
    drop((opened, apart));
    for path in disk.paths() {
        let there = folder.join(path.strip_prefix("/").unwrap());
        std::fs::create_dir_all(there.parent().unwrap()).unwrap();
        std::fs::write(there, disk.peek(&path).unwrap()).unwrap();
    }
}

/// Pictures of the sample with a history, light and dark, after `steps` taken in it.
fn both_of_history(name: &str, album: &mut SnapshotResults, steps: impl Fn(&mut Sitting)) {
    for (theme, word) in THEMES {
        let mut sitting = Sitting::begin(today(), theme, USUAL, |app, folder| {
            lay_history(folder);
            app.open_path(&folder.join("season.binewright"));
        });
        sitting.wait_for_findings();
        sitting.go(Screen::History);
        steps(&mut sitting);
        sitting.snap(&format!("{name}_{word}"), album);
    }
}

#[test]
fn history() {
    let album = &mut SnapshotResults::new();
    let choose = |sitting: &mut Sitting, change: &str| {
        sitting.wait_for(Role::Row, change);
        sitting
            .harness
            .get_by_role_and_label(Role::Row, change)
            .click();
        sitting.harness.run();
        sitting.wait_for(Role::Button, "Open as it was then");
    };
    both_of_history("history", album, |sitting| choose(sitting, "Change 3"));
    both_of_history("moment", album, |sitting| {
        choose(sitting, "Change 3");
        sitting.click("Open as it was then");
        sitting.wait_for_findings();
    });
    both_of_history("copies", album, |sitting| {
        sitting.click("Merge a copy");
        sitting.click("Choose the other copy…");
        sitting.wait_for(Role::Button, "Merge");
        let plant = sample().describe(changed_plants()[0]);
        sitting.click(&format!("Take there: place of {plant}"));
    });
    both_of_history("record_history", album, |sitting| {
        sitting.show(changed_plants()[0]);
        sitting.scroll_to("History of this record");
        sitting.click("History of this record");
        let all = "All 3 changes of this record";
        sitting.wait_for(Role::Button, all);
        sitting.scroll_to(all);
    });
}

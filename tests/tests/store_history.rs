//! The history of a project, read from real journals: what each change was, what it came after, every moment again.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::{choices, walk};
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{AnyId, Edit, Genotype, IdSource, Origin, Project};
use proptest::prelude::*;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;
use store::{Existing, History, ProjectFile, Store};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";
const COPY: &str = "/yard.binewright";
const COPY_JOURNAL: &str = "/yard.binewright-journal";

fn store(disk: &ModelDisk, who: &str) -> Store {
    Store::with_files(who, Arc::new(disk.clone()))
}

/// The history as it stands on the disk, what was read earlier not read again.
fn history(store: &Store, earlier: Option<&History>) -> History {
    let mut watch = |_| ControlFlow::Continue(());
    let read = store.read_history(Path::new(FILE), earlier, &mut watch);
    read.unwrap().expect("nobody ends it")
}

fn begun(disk: &ModelDisk) -> ProjectFile {
    store(disk, "Ida")
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap()
}

/// Copies a project on the disk, with its journal or without, as a stick is carried to another machine.
fn carry(disk: &ModelDisk, with_journal: bool) {
    disk.put(Path::new(COPY), &disk.peek(Path::new(FILE)).unwrap());
    if with_journal {
        disk.put(
            Path::new(COPY_JOURNAL),
            &disk.peek(Path::new(JOURNAL)).unwrap(),
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever was done, each moment can be gone back to, and the index tells of every change what the change says.
    #[test]
    fn every_moment_and_every_change_is_there(choices in choices(60)) {
        let disk = ModelDisk::default();
        let file = begun(&disk);
        let walk = walk(&choices);
        let store = store(&disk, "Ida");
        let mut earlier = None;
        for (nth, edit) in walk.edits.iter().enumerate() {
            if nth % 7 == 6 {
                file.flush().unwrap();
                earlier = Some(history(&store, earlier.as_ref()));
            }
            file.append(edit).unwrap();
        }
        file.flush().unwrap();
        let whole = history(&store, None);
        let gone_on = history(&store, earlier.as_ref());
        let mut project = Project::default();
        for (nth, edit) in walk.edits.iter().enumerate() {
            project.apply(edit.clone()).unwrap();
            // By the states kept along the history, the same as by all changes from the beginning.
            for history in [&whole, &gone_on] {
                let near = history.project_at(nth as u64 + 1);
                prop_assert!(near.as_ref() == Some(&project), "moment {} from near", nth + 1);
            }
            let then = store.project_at(Path::new(FILE), nth as u64 + 1).unwrap();
            prop_assert!(then.as_ref() == Some(&project), "moment {}", nth + 1);
        }
        prop_assert!(project == walk.project);
        let beyond = walk.edits.len() as u64 + 1;
        prop_assert!(store.project_at(Path::new(FILE), beyond).unwrap().is_none());

        prop_assert!(whole.project_at(beyond).is_none());

        // Read at once, or as it grew: the same.
        for history in [&whole, &gone_on] {
            prop_assert_eq!(history.len(), walk.edits.len());
            for (place, edit) in walk.edits.iter().enumerate() {
                prop_assert!(history.edit(place).as_ref() == Some(edit));
                let line = history.line(place).unwrap();
                prop_assert_eq!((line.sequence, line.by), (place as u64 + 1, "Ida"));
                for id in edit.touches() {
                    prop_assert!(line.kinds.contains(id.kind));
                    prop_assert!(history.of_record(id).any(|other| other == place));
                }
            }
        }
        let ids: Vec<AnyId> = walk.edits.iter().flat_map(Edit::touches).collect();
        for id in ids {
            let places: Vec<usize> = whole.of_record(id).collect();
            prop_assert!(places.windows(2).all(|pair| pair[0] < pair[1]), "in order, each once");
            prop_assert!(places.iter().all(|place| walk.edits[*place].touches().contains(&id)));
            let again: Vec<usize> = gone_on.of_record(id).collect();
            prop_assert_eq!(&places, &again);
        }
    }
}

#[test]
fn a_value_is_told_with_the_one_before_it_and_with_who_set_it() {
    let disk = ModelDisk::default();
    let file = begun(&disk);
    let mut ids = IdSource::new(1_800_000_000_000, 1);
    let plant = Genotype::new(ids.next(), "B-1", Origin::Unknown);
    let id = plant.id;
    let place = |text: &str| Edit::set(id, GenotypeField::Location(text.into()));
    file.append(&Edit::add(plant.clone())).unwrap();
    file.append(&place("row 1")).unwrap();
    file.sign_as("Joss");
    file.append(&Edit::Settings(SettingsField::Name("Ostrel".into())))
        .unwrap();
    file.append(&place("row 2")).unwrap();
    file.append(&Edit::remove(id)).unwrap();
    file.append(&Edit::add(plant)).unwrap();
    file.flush().unwrap();
    let history = history(&store(&disk, "Ida"), None);
    assert_eq!(history.people(), ["Ida", "Joss"]);
    let places: Vec<usize> = history.of_record(id.into()).collect();
    assert_eq!(places, [0, 1, 3, 4, 5], "gone and come back");
    assert_eq!(history.line(3).unwrap().by, "Joss");
    assert_eq!(history.before(3, &place("row 2")), Some(place("row 1")));
    assert_eq!(history.before(0, &place("row 2")), None);
    let last = history.last_change(&place("row 3")).unwrap();
    assert_eq!((last.sequence, last.by), (4, "Joss"));
}

#[test]
fn a_torn_last_line_is_no_change_and_the_rest_is_told() {
    let disk = ModelDisk::default();
    let file = begun(&disk);
    for name in ["one", "two", "three"] {
        file.append(&Edit::Settings(SettingsField::Name(name.into())))
            .unwrap();
    }
    drop(file);
    let journal = disk.peek(Path::new(JOURNAL)).unwrap();
    disk.put(Path::new(JOURNAL), &journal[..journal.len() - 9]);
    let store = store(&disk, "Ida");
    let history = history(&store, None);
    assert_eq!(history.len(), 2);
    let then = store.project_at(Path::new(FILE), 2).unwrap().unwrap();
    assert_eq!(then.settings().name, "two");
    assert!(store.project_at(Path::new(FILE), 3).unwrap().is_none());
}

/// Yard laptop and kitchen desktop parted after the second change; each went on.
#[test]
fn a_copy_that_went_on_is_read_with_where_the_two_parted() {
    for saved in [true, false] {
        let disk = ModelDisk::default();
        let file = begun(&disk);
        let mut ids = IdSource::new(1_800_000_000_000, 2);
        let mut plant = |code: &str| Genotype::new(ids.next(), code, Origin::Unknown);
        let mut project = Project::default();
        for code in ["A", "B"] {
            let edit = Edit::add(plant(code));
            project.apply(edit.clone()).unwrap();
            file.append(&edit).unwrap();
        }
        file.save(&project).unwrap();
        carry(&disk, true);
        let ours = Edit::add(plant("ours"));
        file.append(&ours).unwrap();
        file.flush().unwrap();
        let yard = store(&disk, "Joss");
        let opened = yard.open(Path::new(COPY)).unwrap();
        let theirs = Edit::add(plant("theirs"));
        let mut there = opened.project.clone();
        there.apply(theirs.clone()).unwrap();
        opened.file.append(&theirs).unwrap();
        opened.file.flush().unwrap();
        if saved {
            opened.file.save(&there).unwrap();
        }
        drop(opened);
        let copy = store(&disk, "Ida")
            .read_copy(Path::new(FILE), Path::new(COPY))
            .unwrap();
        assert!(
            copy.project == there,
            "its journal goes further than its file"
        );
        let common = copy.base.expect("they share two changes");
        assert!(common.project == project);
        assert_eq!(common.sequence, 2);
    }
}

#[test]
fn a_copy_without_its_journal_is_read_as_its_file_says() {
    let disk = ModelDisk::default();
    let file = begun(&disk);
    let mut ids = IdSource::new(1_800_000_000_000, 3);
    let edit = Edit::add(Genotype::new(ids.next(), "A", Origin::Unknown));
    let mut project = Project::default();
    project.apply(edit.clone()).unwrap();
    file.append(&edit).unwrap();
    file.save(&project).unwrap();
    carry(&disk, false);
    let copy = store(&disk, "Ida")
        .read_copy(Path::new(FILE), Path::new(COPY))
        .unwrap();
    assert!(copy.project == project);
}

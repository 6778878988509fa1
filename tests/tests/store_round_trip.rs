//! What is written comes back the same.

use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::{choices, walk};
use domain::Project;
use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;
use store::{Existing, Store};

const FILE: &str = "/season.binewright";

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn all_inverses_in_reverse_give_back_the_beginning(choices in choices(120)) {
        let walk = walk(&choices);
        let mut project = walk.project;
        for inverse in walk.inverses.into_iter().rev() {
            prop_assert!(project.apply(inverse).is_ok());
        }
        prop_assert!(project == Project::default());
    }

    #[test]
    fn the_journal_replayed_equals_the_live_project(choices in choices(120)) {
        let walk = walk(&choices);
        let store = Store::with_files("Ida", Arc::new(ModelDisk::default()));
        let file = store.create(Path::new(FILE), &Project::default(), Existing::Keep).unwrap();
        for edit in &walk.edits {
            file.append(edit).unwrap();
        }
        drop(file);
        let opened = store.open(Path::new(FILE)).unwrap();
        prop_assert!(opened.project == walk.project);
        let recovered = opened.report.recovered.unwrap();
        prop_assert_eq!(recovered.changes, walk.edits.len());
        let history = opened.file.history().unwrap();
        prop_assert!(history.iter().map(|entry| &entry.edit).eq(&walk.edits));
    }

    #[test]
    fn saved_loaded_and_saved_is_the_same_to_the_byte(choices in choices(120)) {
        let walk = walk(&choices);
        let disk = ModelDisk::default();
        let store = Store::with_files("Ida", Arc::new(disk.clone()));
        store.create(Path::new(FILE), &walk.project, Existing::Keep).unwrap();
        let first = disk.peek(Path::new(FILE)).unwrap();
        let opened = store.open(Path::new(FILE)).unwrap();
        prop_assert!(opened.project == walk.project);
        prop_assert!(opened.report.is_quiet(), "{:?}", opened.report.sentences());
        opened.file.save(&opened.project).unwrap();
        prop_assert!(disk.peek(Path::new(FILE)).unwrap() == first);
        prop_assert!(first.ends_with(b"\n"), "no end of line");
    }

    #[test]
    fn any_moment_can_be_had_back(choices in choices(40)) {
        let walk = walk(&choices);
        let store = Store::with_files("Ida", Arc::new(ModelDisk::default()));
        let (first, later) = walk.edits.split_at(walk.edits.len() / 2);
        let mut project = Project::default();
        for edit in first {
            project.apply(edit.clone()).unwrap();
        }
        // The history begins with what the project held when its file was made.
        let file = store.create(Path::new(FILE), &project, Existing::Keep).unwrap();
        let mut states = vec![project];
        for edit in later {
            let mut next = states[states.len() - 1].clone();
            next.apply(edit.clone()).unwrap();
            file.append(edit).unwrap();
            states.push(next);
        }
        file.save(&states[states.len() - 1]).unwrap();
        for (sequence, state) in states.iter().enumerate().filter(|_| !later.is_empty()) {
            prop_assert!(file.project_at(sequence as u64).unwrap().as_ref() == Some(state));
        }
        prop_assert!(file.project_at(states.len() as u64).unwrap().is_none());
    }
}

#[test]
fn the_history_of_a_record_is_every_change_that_touched_it() {
    let walk = walk(
        &(0..400)
            .map(|n: u64| n.wrapping_mul(0x9E37_79B9))
            .collect::<Vec<_>>(),
    );
    let store = Store::with_files("Ida", Arc::new(ModelDisk::default()));
    let file = store
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap();
    for edit in &walk.edits {
        file.append(edit).unwrap();
    }
    file.flush().unwrap();
    let plant = walk.project.genotypes().iter().next().unwrap().id;
    let history = file.history_of(plant).unwrap();
    let expected = walk
        .edits
        .iter()
        .filter(|edit| edit.touches().contains(&plant.into()));
    assert!(history.iter().map(|entry| &entry.edit).eq(expected));
    assert!(!history.is_empty() && history.iter().all(|entry| entry.by == "Ida"));
    assert!(
        history
            .windows(2)
            .all(|pair| pair[0].sequence < pair[1].sequence && pair[0].at <= pair[1].at)
    );
}

//! Every file operation fails in turn, in every way; the power goes before every operation. Whatever happens,
//! the project on the disk is an old or a new one, and every acknowledged change is in it.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::model_disk::{Failure, Fault, ModelDisk};
use binewright_tests::random_edits::{Walk, walk};
use domain::Project;
use std::path::Path;
use std::sync::Arc;
use store::{Existing, Store};

const FILE: &str = "/season.binewright";
const COPY: &str = "/copy.binewright";

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

/// A dozen edits, and the project after each number of them.
fn story() -> (Walk, Vec<Project>) {
    let mut dice = Dice::new(11);
    let choices: Vec<u64> = (0..40).map(|_| dice.roll()).collect();
    let mut walk = walk(&choices);
    walk.edits.truncate(12);
    let mut states = vec![Project::default()];
    for edit in &walk.edits {
        let mut next = states[states.len() - 1].clone();
        next.apply(edit.clone()).unwrap();
        states.push(next);
    }
    assert_eq!(walk.edits.len(), 12);
    (walk, states)
}

/// A part of a project's life on a disk that may fail at any moment.
struct Scenario {
    name: &'static str,
    /// Runs before anything fails.
    prepare: fn(&ModelDisk, &[Project], &Walk),
    /// Returns the number of the last change that was acknowledged.
    run: fn(&ModelDisk, &[Project], &Walk) -> u64,
}

fn made(disk: &ModelDisk, _: &[Project], _: &Walk) {
    store(disk)
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap();
}

/// Makes changes from where the project stands up to `until`, saving after every third.
fn work(disk: &ModelDisk, states: &[Project], walk: &Walk, until: usize) -> u64 {
    let Ok(opened) = store(disk).open(Path::new(FILE)) else {
        return 0;
    };
    let file = opened.file;
    let mut project = opened.project;
    for (nth, edit) in walk
        .edits
        .iter()
        .enumerate()
        .take(until)
        .skip(file.last() as usize)
    {
        if project.apply(edit.clone()).is_err() || file.append(edit).is_err() {
            break;
        }
        // A second attempt, as the window makes.
        let _ = file.flush().or_else(|_| file.flush());
        if nth % 3 == 2 {
            let _ = file.save(&project);
        }
    }
    assert_eq!(project, states[file.last() as usize]);
    file.acknowledged()
}

fn half_done(disk: &ModelDisk, states: &[Project], walk: &Walk) {
    made(disk, states, walk);
    work(disk, states, walk, 5);
}

/// As a kill in the middle of a write leaves it: changes beyond the file, and half a line.
fn torn(disk: &ModelDisk, states: &[Project], walk: &Walk) {
    half_done(disk, states, walk);
    let journal = Path::new("/season.binewright-journal");
    let mut bytes = disk.peek(journal).unwrap();
    bytes.extend_from_slice(b"{\"n\":6,\"after\":\"0000");
    disk.put(journal, &bytes);
}

const SCENARIOS: [Scenario; 4] = [
    Scenario {
        name: "a season from the first change",
        prepare: made,
        run: |disk, states, walk| work(disk, states, walk, 12),
    },
    Scenario {
        name: "a season taken up again",
        prepare: half_done,
        run: |disk, states, walk| work(disk, states, walk, 9).max(5),
    },
    Scenario {
        name: "recovery of a torn journal",
        prepare: torn,
        run: |disk, states, walk| work(disk, states, walk, 8).max(5),
    },
    Scenario {
        name: "saving as a copy",
        prepare: half_done,
        run: |disk, states, _| {
            if let Ok(opened) = store(disk).open(Path::new(FILE)) {
                let copied = opened
                    .file
                    .save_as(Path::new(COPY), &opened.project, Existing::Keep);
                if copied.is_ok() {
                    let copy = store(disk)
                        .open_read_only(Path::new(COPY))
                        .map(|copy| copy.project);
                    assert!(copy.is_err() || copy.is_ok_and(|copy| copy == states[5]));
                }
            }
            5
        },
    },
];

/// What is on the disk must be the project after some number of changes, at least the acknowledged ones.
fn check(disk: &ModelDisk, states: &[Project], acknowledged: u64, what: &str) {
    let opened = store(disk)
        .open(Path::new(FILE))
        .unwrap_or_else(|error| panic!("{what}: {error}"));
    let last = opened.file.last();
    assert!(
        last >= acknowledged,
        "{what}: {acknowledged} changes were acknowledged, {last} are there: {:?}",
        opened.report.sentences()
    );
    assert!(
        opened.project == states[last as usize],
        "{what}: neither old nor new"
    );
    assert!(opened.report.set_aside.is_empty(), "{what}");
    // It can be worked on and saved at once.
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    let again = store(disk).open(Path::new(FILE)).unwrap();
    assert!(
        again.project == states[last as usize],
        "{what}: lost by saving"
    );
    let history = again.file.history().unwrap();
    assert_eq!(history.len() as u64, last, "{what}: history");
    if disk.peek(Path::new(COPY)).is_some() {
        let copy = store(disk).open(Path::new(COPY)).unwrap();
        assert!(
            copy.project == states[copy.file.last() as usize],
            "{what}: copy"
        );
    }
}

#[test]
fn every_operation_may_fail_once_or_for_good() {
    let (walk, states) = story();
    let mut tried = 0;
    for scenario in &SCENARIOS {
        let disk = ModelDisk::default();
        (scenario.prepare)(&disk, &states, &walk);
        let before = disk.operations();
        let all = (scenario.run)(&disk, &states, &walk);
        let operations = disk.operations() - before;
        check(&disk, &states, all, scenario.name);
        for at in 0..operations {
            for failure in Failure::ALL {
                for lasting in [false, true] {
                    let what = format!("{}: {failure:?} at {at}, lasting {lasting}", scenario.name);
                    let disk = ModelDisk::default();
                    (scenario.prepare)(&disk, &states, &walk);
                    let at = disk.operations() + at;
                    disk.set_fault(Some(Fault {
                        at,
                        failure,
                        lasting,
                    }));
                    let acknowledged = (scenario.run)(&disk, &states, &walk);
                    disk.set_fault(None);
                    check(&disk, &states, acknowledged, &what);
                    tried += 1;
                }
            }
        }
    }
    assert!(tried > 1000, "only {tried} faults were tried");
}

#[test]
fn the_power_may_go_before_every_operation() {
    let (walk, states) = story();
    let mut tried = 0;
    for scenario in &SCENARIOS {
        let disk = ModelDisk::default();
        (scenario.prepare)(&disk, &states, &walk);
        let before = disk.operations();
        (scenario.run)(&disk, &states, &walk);
        let operations = disk.operations() - before;
        for at in 0..=operations {
            let disk = ModelDisk::default();
            (scenario.prepare)(&disk, &states, &walk);
            disk.power_off_at(disk.operations() + at);
            let acknowledged = (scenario.run)(&disk, &states, &walk);
            for seed in 0..8 {
                let what = format!("{}: power off at {at}, seed {seed}", scenario.name);
                check(&disk.restarted(seed), &states, acknowledged, &what);
                tried += 1;
            }
        }
    }
    assert!(tried > 1000, "only {tried} losses of power were tried");
}

/// A failed sync followed by a loss of power: what the disk dropped must have been written again.
#[test]
fn a_failed_sync_is_not_taken_for_written_when_a_later_one_succeeds() {
    let (walk, states) = story();
    let disk = ModelDisk::default();
    half_done(&disk, &states, &walk);
    let before = disk.operations();
    work(&disk, &states, &walk, 9);
    let operations = disk.operations() - before;
    for at in 0..operations {
        for seed in 0..4 {
            let disk = ModelDisk::default();
            half_done(&disk, &states, &walk);
            disk.set_fault(Some(Fault {
                at: disk.operations() + at,
                failure: Failure::Broken,
                lasting: false,
            }));
            let acknowledged = work(&disk, &states, &walk, 9).max(5);
            disk.set_fault(None);
            let what = format!("failure at {at}, then no power, seed {seed}");
            check(&disk.restarted(seed), &states, acknowledged, &what);
        }
    }
}

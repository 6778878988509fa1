//! Every file operation fails in turn, in every way; the power goes before every operation. Whatever happens,
//! the project on the disk is an old or a new one, and every acknowledged change is in it; so is every backup
//! whole, every photo that was kept, and every byte that could not be used.
//!
//! One story by default; more with `BINEWRIGHT_STORIES=20 cargo test -p binewright-tests --test store_faults`.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::model_disk::{Failure, Fault, ModelDisk};
use binewright_tests::random_edits::{Walk, walk};
use domain::Project;
use domain::compare::Comparison;
use domain::merge::{Choice, merge};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use store::{Existing, ReadOnly, Store, StoreError};

const FILE: &str = "/season.binewright";
const COPY: &str = "/copy.binewright";
const JOURNAL: &str = "/season.binewright-journal";
/// Bytes that can't be used and must be on the disk under some other name for ever, if a scenario has such.
const UNUSED: &str = "/for the test.unused";

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

/// How many stories are told.
fn stories() -> impl Iterator<Item = (Walk, Vec<Project>)> {
    let wanted = std::env::var("BINEWRIGHT_STORIES").map_or(1, |text| text.parse().unwrap());
    (0..wanted).map(|nth| story(11 + nth))
}

/// A dozen edits, and the project after each number of them.
fn story(seed: u64) -> (Walk, Vec<Project>) {
    let mut dice = Dice::new(seed);
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

/// All saved, with another project's journal in place of its own: a mistake of a sync tool.
fn foreign_journal(disk: &ModelDisk, states: &[Project], walk: &Walk) {
    half_done(disk, states, walk);
    let opened = store(disk).open(Path::new(FILE)).unwrap();
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    let other = ModelDisk::default();
    half_done(&other, states, walk);
    disk.put(Path::new(JOURNAL), &other.peek(Path::new(JOURNAL)).unwrap());
    disk.put(Path::new(UNUSED), &other.peek(Path::new(JOURNAL)).unwrap());
}

/// A file in which one record stands twice, so that its original must be kept.
fn damaged(disk: &ModelDisk, states: &[Project], walk: &Walk) {
    half_done(disk, states, walk);
    let opened = store(disk).open(Path::new(FILE)).unwrap();
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    let mut file: serde_json::Value =
        serde_json::from_slice(&disk.peek(Path::new(FILE)).unwrap()).unwrap();
    let stages = file["project"]["stages"].as_array_mut().unwrap();
    stages.push(stages[0].clone());
    let bytes = serde_json::to_vec_pretty(&file).unwrap();
    disk.put(Path::new(FILE), &bytes);
    disk.put(Path::new(UNUSED), &bytes);
}

/// A sync tool writes over the file in the middle of work, and the person decides for what is here.
fn overwritten(disk: &ModelDisk, states: &[Project], walk: &Walk) -> u64 {
    let theirs = disk.peek(Path::new(FILE)).unwrap();
    let Ok(opened) = store(disk).open(Path::new(FILE)) else {
        return 5;
    };
    let (file, mut project) = (opened.file, opened.project);
    for edit in walk.edits.iter().take(9).skip(file.last() as usize) {
        if project.apply(edit.clone()).is_err() || file.append(edit).is_err() {
            break;
        }
    }
    let _ = file.save(&project);
    disk.put(Path::new(FILE), &theirs);
    if let Err(StoreError::ChangedElsewhere(_)) = file.save(&project) {
        let _ = file
            .overwrite(&project)
            .or_else(|_| file.overwrite(&project));
    }
    assert_eq!(project, states[file.last() as usize]);
    file.acknowledged().max(5)
}

/// Saves with hours between them, so that each leaves a backup and takes older ones away.
fn through_the_days(disk: &ModelDisk, states: &[Project], walk: &Walk) -> u64 {
    let Ok(opened) = store(disk).open(Path::new(FILE)) else {
        return 0;
    };
    let (file, mut project) = (opened.file, opened.project);
    for edit in walk.edits.iter().skip(file.last() as usize) {
        if project.apply(edit.clone()).is_err() || file.append(edit).is_err() {
            break;
        }
        disk.pass(Duration::from_hours(7));
        let _ = file.save(&project);
    }
    assert_eq!(project, states[file.last() as usize]);
    file.acknowledged()
}

const SCENARIOS: [Scenario; 8] = [
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
        name: "the journal of another project",
        prepare: foreign_journal,
        run: |disk, states, walk| work(disk, states, walk, 8).max(5),
    },
    Scenario {
        name: "a damaged file",
        prepare: damaged,
        run: |disk, states, walk| work(disk, states, walk, 8).max(5),
    },
    Scenario {
        name: "a file that another program changed",
        prepare: half_done,
        run: overwritten,
    },
    Scenario {
        name: "backups that come and go",
        prepare: made,
        run: through_the_days,
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

type Story = (Walk, Vec<Project>);

fn in_each(story: Story) -> impl Iterator<Item = (Story, &'static Scenario)> {
    SCENARIOS
        .iter()
        .map(move |scenario| (story.clone(), scenario))
}

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
    let unused = disk.peek(Path::new(UNUSED));
    if let Some(unused) = &unused {
        let paths = disk.paths();
        let mut others = paths.iter().filter(|path| *path != Path::new(UNUSED));
        let there = others.any(|path| disk.peek(path).as_ref() == Some(unused));
        assert!(there, "{what}: what could not be used is gone");
    } else {
        assert!(opened.report.quarantined.is_empty(), "{what}");
    }
    for backup in store(disk).backups(Path::new(FILE)).unwrap() {
        let then = store(disk).read_backup(&backup);
        let (then, _) = then.unwrap_or_else(|error| panic!("{what}: {error}"));
        assert!(
            states.contains(&then),
            "{what}: a backup of nothing there was"
        );
    }
    // It can be worked on and saved at once.
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    let again = store(disk).open(Path::new(FILE)).unwrap();
    assert!(
        again.project == states[last as usize],
        "{what}: lost by saving"
    );
    let history = again.file.history().unwrap();
    // Where the journal was another's, the history begins anew.
    assert!(
        history.len() as u64 == last || unused.is_some(),
        "{what}: history"
    );
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
    let mut tried = 0;
    for ((walk, states), scenario) in stories().flat_map(in_each) {
        let disk = ModelDisk::default();
        (scenario.prepare)(&disk, &states, &walk);
        let before = disk.operations();
        let all = (scenario.run)(&disk, &states, &walk);
        let operations = disk.operations() - before;
        check(&disk, &states, all, scenario.name);
        for at in 0..operations {
            for (ways, failure) in Failure::ALL.into_iter().enumerate() {
                // Some in turn, so that neighbours see the others; all when there is time.
                let all = std::env::var_os("BINEWRIGHT_STORIES").is_some();
                if !all && (at + ways) % 2 == 0 {
                    continue;
                }
                for lasting in [false, true] {
                    if !all && lasting == ((at / 2 + ways) % 2 == 0) {
                        continue;
                    }
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
    println!("{tried} faults");
    assert!(tried > 1000, "only {tried} faults were tried");
}

#[test]
fn the_power_may_go_before_every_operation() {
    let mut tried = 0;
    for ((walk, states), scenario) in stories().flat_map(in_each) {
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
            for seed in 0..4 {
                let what = format!("{}: power off at {at}, seed {seed}", scenario.name);
                check(&disk.restarted(seed), &states, acknowledged, &what);
                tried += 1;
            }
        }
    }
    println!("{tried} losses of power");
    assert!(tried > 1000, "only {tried} losses of power were tried");
}

/// A failed sync followed by a loss of power: what the disk dropped must have been written again.
#[test]
fn a_failed_sync_is_not_taken_for_written_when_a_later_one_succeeds() {
    let (walk, states) = story(11);
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

const PHOTO: &str = "/camera/one.jpg";

/// Two photos, of which the second comes where a torn one lies under its name.
fn photos(disk: &ModelDisk) -> [Vec<u8>; 2] {
    let photos = [1, 2].map(|n: u8| [&[0xFF, 0xD8, 0xFF][..], &vec![n; 3000]].concat());
    disk.put(Path::new(FILE), b"{}");
    disk.put(Path::new(PHOTO), &photos[1]);
    let kept = store(disk)
        .keep_photo(Path::new(FILE), Path::new(PHOTO))
        .unwrap();
    disk.put(&Path::new("/").join(kept), &photos[1][..700]);
    photos
}

/// Keeps both photos; returns the paths of those it was told are kept.
fn keep(disk: &ModelDisk, photos: &[Vec<u8>]) -> Vec<(String, Vec<u8>)> {
    let mut kept = Vec::new();
    for photo in photos {
        disk.put(Path::new(PHOTO), photo);
        if let Ok(path) = store(disk).keep_photo(Path::new(FILE), Path::new(PHOTO)) {
            kept.push((path, photo.clone()));
        }
    }
    kept
}

fn check_photos(disk: &ModelDisk, kept: &[(String, Vec<u8>)], torn: &[u8], what: &str) {
    for (path, bytes) in kept {
        let there = store(disk).read_photo(Path::new(FILE), path);
        assert_eq!(there.as_ref(), Ok(bytes), "{what}: {path}");
    }
    let paths = disk.paths();
    let there = paths
        .iter()
        .any(|path| disk.peek(path).as_deref() == Some(torn));
    assert!(there, "{what}: the torn photo is gone");
    for path in paths {
        let name = path.to_string_lossy();
        let bytes = disk.peek(&path).unwrap();
        if name.starts_with("/photos/") && name.len() == 76 && bytes != torn {
            assert!(
                !store::photos::is_altered(&name, &bytes),
                "{what}: {name} is neither"
            );
        }
    }
}

#[test]
fn a_photo_once_kept_is_whole_whatever_fails() {
    let disk = ModelDisk::default();
    let both = photos(&disk);
    let before = disk.operations();
    assert_eq!(keep(&disk, &both).len(), 2);
    let operations = disk.operations() - before;
    let torn = &both[1][..700];
    for at in 0..operations {
        for failure in Failure::ALL {
            let disk = ModelDisk::default();
            photos(&disk);
            disk.set_fault(Some(Fault {
                at: disk.operations() + at,
                failure,
                lasting: false,
            }));
            let kept = keep(&disk, &both);
            assert!(!kept.is_empty(), "one fault, and no photo was kept");
            disk.set_fault(None);
            check_photos(&disk, &kept, torn, &format!("{failure:?} at {at}"));
            // A second attempt does it.
            assert_eq!(keep(&disk, &both).len(), 2);
        }
        let disk = ModelDisk::default();
        photos(&disk);
        disk.power_off_at(disk.operations() + at);
        let kept = keep(&disk, &both);
        for seed in 0..8 {
            check_photos(
                &disk.restarted(seed),
                &kept,
                torn,
                &format!("power off at {at}, seed {seed}"),
            );
        }
    }
}

/// What the system says is told in our words, wherever it says it; and the work is there when it says no more.
#[test]
fn a_refusal_by_the_system_is_told_in_words_that_say_what_to_do() {
    use std::io::ErrorKind;
    let (walk, states) = story(11);
    let words = [
        (ErrorKind::StorageFull, "The disk is full. Make room"),
        (
            ErrorKind::PermissionDenied,
            "may not be written or read. Change its permissions",
        ),
        (
            ErrorKind::ReadOnlyFilesystem,
            "may not be written or read. Change its permissions",
        ),
        (
            ErrorKind::StaleNetworkFileHandle,
            "network folder doesn't answer. Bring the connection back",
        ),
        (
            ErrorKind::TimedOut,
            "network folder doesn't answer. Bring the connection back",
        ),
    ];
    for (kind, words) in words {
        let disk = ModelDisk::default();
        half_done(&disk, &states, &walk);
        let opened = store(&disk).open(Path::new(FILE)).unwrap();
        let (file, mut project) = (opened.file, opened.project);
        project.apply(walk.edits[5].clone()).unwrap();
        disk.set_fault(Some(Fault {
            at: disk.operations(),
            failure: Failure::Refused(kind),
            lasting: true,
        }));
        file.append(&walk.edits[5]).unwrap();
        let told = [file.flush(), file.save(&project)].map(|done| done.unwrap_err().to_string());
        let trouble = file.trouble().unwrap().to_string();
        for told in told.iter().chain([&trouble]) {
            assert!(
                told.contains(words) && told.contains("/season.binewright"),
                "{told}"
            );
        }
        assert!(file.acknowledged() < 6);
        disk.set_fault(None);
        file.save(&project).unwrap();
        assert!(file.trouble().is_none() && !file.has_unsaved());
        drop(file);
        check(&disk, &states, 6, words);
    }
}

/// A folder that can't be written, though the file could: no lock can be laid there.
#[test]
fn a_project_in_a_read_only_folder_opens_for_reading() {
    use std::io::ErrorKind;
    let (walk, states) = story(11);
    for kind in [ErrorKind::PermissionDenied, ErrorKind::ReadOnlyFilesystem] {
        let disk = ModelDisk::default();
        half_done(&disk, &states, &walk);
        disk.set_unwritable(Some(kind));
        let opened = store(&disk).open(Path::new(FILE)).unwrap();
        assert!(opened.project == states[5]);
        assert_eq!(opened.report.read_only, Some(ReadOnly::NotWritable));
        let told = opened.report.sentences().join(" ");
        assert!(told.contains("Save it elsewhere to change it"), "{told}");
        assert!(opened.file.save(&opened.project).is_err());
    }
}

/// A copy that went on for three changes while this one stood still.
fn two_copies(disk: &ModelDisk, states: &[Project], walk: &Walk) {
    half_done(disk, states, walk);
    let opened = store(disk).open(Path::new(FILE)).unwrap();
    let copy = opened
        .file
        .save_as(Path::new(COPY), &opened.project, Existing::Keep)
        .unwrap();
    for edit in &walk.edits[5..8] {
        copy.append(edit).unwrap();
    }
    copy.save(&states[8]).unwrap();
}

/// Brings the copy in, then restores what stood before from a backup; tells the number of changes acknowledged.
fn bring_in_and_restore(disk: &ModelDisk, states: &[Project]) -> u64 {
    let (file, other) = (Path::new(FILE), Path::new(COPY));
    let Ok(mut opened) = store(disk).open(file) else {
        return 5;
    };
    if let Ok(copy) = store(disk).read_copy(file, other) {
        let base = copy.base.map(|base| base.project);
        let merged = merge(base.as_ref(), &opened.project, &copy.project);
        let mut edits = vec![merged.settle(&vec![Choice::Theirs; merged.conflicts.len()])];
        let backups = store(disk).backups(file).unwrap_or_default();
        let restored = backups
            .first()
            .and_then(|backup| store(disk).read_backup(backup).ok());
        if let Some((restored, _)) = restored {
            let back = Comparison::between(&copy.project, &restored);
            edits.push(back.into_edit("restore"));
        }
        for edit in edits {
            opened.project.apply(edit.clone()).unwrap();
            opened.file.append(&edit).unwrap();
            let _ = opened.file.flush().or_else(|_| opened.file.flush());
            let _ = opened.file.save(&opened.project);
        }
    }
    assert!(states.contains(&opened.project));
    opened.file.acknowledged()
}

/// Two copies brought together and a backup restored are one change each: made whole or not at all, whatever fails.
#[test]
fn bringing_in_a_copy_and_restoring_a_backup_are_whole_or_not_at_all() {
    let (walk, states) = story(11);
    let disk = ModelDisk::default();
    two_copies(&disk, &states, &walk);
    let before = disk.operations();
    assert_eq!(bring_in_and_restore(&disk, &states), 7, "both are made");
    let operations = disk.operations() - before;
    let expected = |number: u64, project: &Project, what: &str| match number {
        5 => assert!(*project == states[5], "{what}: before"),
        6 => assert!(*project == states[8], "{what}: brought together"),
        _ => assert!(states[..6].contains(project), "{what}: restored"),
    };
    let look = |disk: &ModelDisk, acknowledged: u64, what: &str| {
        let opened = store(disk).open(Path::new(FILE)).unwrap();
        let last = opened.file.last();
        assert!(
            last >= acknowledged,
            "{what}: {acknowledged} acknowledged, {last} there"
        );
        expected(last, &opened.project, what);
        let copy = store(disk).open(Path::new(COPY)).unwrap();
        assert!(
            copy.project == states[8],
            "{what}: the other copy was changed"
        );
    };
    for at in 0..operations {
        for failure in Failure::ALL {
            let disk = ModelDisk::default();
            two_copies(&disk, &states, &walk);
            disk.set_fault(Some(Fault {
                at: disk.operations() + at,
                failure,
                lasting: false,
            }));
            let acknowledged = bring_in_and_restore(&disk, &states);
            disk.set_fault(None);
            look(&disk, acknowledged, &format!("{failure:?} at {at}"));
        }
        let disk = ModelDisk::default();
        two_copies(&disk, &states, &walk);
        disk.power_off_at(disk.operations() + at);
        let acknowledged = bring_in_and_restore(&disk, &states);
        for seed in 0..4 {
            look(
                &disk.restarted(seed),
                acknowledged,
                &format!("power off at {at}, seed {seed}"),
            );
        }
    }
}

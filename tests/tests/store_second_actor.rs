//! Another program at work on the file, its journal and its backups between any two file operations of ours.
//!
//! Whatever it does: every change is on the disk where the last is called kept, and what was brought from another machine has a copy,
//! unless it was taken away again by the one who brought it.
//!
//! Some hundred seasons by default; twenty thousand with
//! `BINEWRIGHT_STORIES=200 cargo test -p binewright-tests --test store_second_actor -- --nocapture`.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::model_disk::{ModelDisk, Neighbour};
use binewright_tests::random_edits::walk;
use domain::merge::{Choice, merge};
use domain::record::settings::SettingsField;
use domain::{Edit, Project};
use std::path::Path;
use std::sync::{Arc, OnceLock};
use std::time::Duration;
use store::{Existing, Opened, ProjectFile, Store};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";
const BACKUPS: &str = "/season.binewright-backups";

fn store(disk: &ModelDisk, who: &str) -> Store {
    Store::with_files(who, Arc::new(disk.clone()))
}

fn place(project: &mut Project, file: &ProjectFile, name: &str) {
    let edit = Edit::Settings(SettingsField::Place(name.into()));
    project.apply(edit.clone()).unwrap();
    file.append(&edit).unwrap();
}

/// The files of a season just saved, and what two other machines made of it: file and journal each.
struct Files {
    file: Vec<u8>,
    journal: Vec<u8>,
    works: Vec<(&'static str, Vec<u8>)>,
}

fn files() -> &'static Files {
    static FILES: OnceLock<Files> = OnceLock::new();
    FILES.get_or_init(|| {
        let mut dice = Dice::new(5);
        let season = walk(&(0..60).map(|_| dice.roll()).collect::<Vec<_>>());
        let disk = ModelDisk::default();
        let made = store(&disk, "Ida").create(Path::new(FILE), &Project::default(), Existing::Keep);
        let made = made.unwrap();
        for edit in &season.edits {
            made.append(edit).unwrap();
        }
        made.save(&season.project).unwrap();
        drop(made);
        let peek = |disk: &ModelDisk, path| disk.peek(Path::new(path)).unwrap();
        let (file, journal) = (peek(&disk, FILE), peek(&disk, JOURNAL));
        let mut works = Vec::new();
        for machine in ["Otto", "Mira"] {
            let theirs = ModelDisk::default();
            theirs.put(Path::new(FILE), &file);
            theirs.put(Path::new(JOURNAL), &journal);
            let mut opened = store(&theirs, machine).open(Path::new(FILE)).unwrap();
            place(&mut opened.project, &opened.file, machine);
            opened.file.save(&opened.project).unwrap();
            works.push((FILE, peek(&theirs, FILE)));
            works.push((JOURNAL, peek(&theirs, JOURNAL)));
        }
        // By hand, with its header unchanged.
        let text = String::from_utf8(file.clone()).unwrap();
        works.push((FILE, text.replacen("Random", "By hand", 1).into_bytes()));
        Files {
            file,
            journal,
            works,
        }
    })
}

/// What a person does when the file was changed by others: brings the two together, or saves over it.
fn settle(opened: &mut Opened, dice: &mut Dice) {
    if dice.one_in(3) {
        let _ = opened.file.overwrite(&opened.project);
        return;
    }
    let Ok(copy) = opened.file.read_copy(Path::new(FILE)) else {
        let _ = opened.file.overwrite(&opened.project);
        return;
    };
    let base = copy.base.map(|base| base.project);
    let merged = merge(base.as_ref(), &opened.project, &copy.project);
    let edit = merged.settle(&vec![Choice::Mine; merged.conflicts.len()]);
    if opened.project.apply(edit.clone()).is_ok() {
        opened.file.append(&edit).unwrap();
        opened.file.is_settled();
    }
    let _ = opened.file.save(&opened.project);
}

fn is_somewhere(disk: &ModelDisk, text: &[u8]) -> bool {
    disk.paths().iter().any(|path| {
        let bytes = disk.peek(path).unwrap();
        text.is_empty()
            || bytes.len() >= text.len() && bytes.windows(text.len()).any(|part| part == text)
    })
}

/// One season beside a neighbour. Returns what it did, and whether all changes were called kept in the end.
fn a_season(seed: u64) -> (usize, bool) {
    let mut dice = Dice::new(seed);
    let Files {
        file,
        journal,
        works,
    } = files();
    let disk = ModelDisk::default();
    disk.put(Path::new(FILE), file);
    disk.put(Path::new(JOURNAL), journal);
    let mut opened = store(&disk, "Ida").open(Path::new(FILE)).unwrap();
    let mut neighbour = Neighbour::new(seed, 3 + dice.below(25), &[FILE, JOURNAL, BACKUPS]);
    for (path, bytes) in works {
        if dice.one_in(3) {
            neighbour = neighbour.bringing(path, bytes.clone());
        }
    }
    disk.beside(neighbour);
    let mut made = Vec::new();
    for nth in 0..3 + dice.below(6) {
        let name = format!("place {seed} {nth}");
        place(&mut opened.project, &opened.file, &name);
        made.push(name);
        if dice.one_in(2) {
            let _ = opened.file.flush();
        }
        disk.pass(Duration::from_mins(50));
        if dice.one_in(2) && opened.file.save(&opened.project).is_err() {
            settle(&mut opened, &mut dice);
        }
        if dice.one_in(3) {
            let _ = opened.file.is_changed_elsewhere();
        }
    }
    let neighbour = disk.alone().unwrap();
    // The watch comes by every other second.
    let _ = opened.file.flush();
    let _ = opened.file.is_changed_elsewhere();
    let kept = opened.file.acknowledged() == opened.file.last();
    assert!(
        kept || opened.file.trouble().is_some(),
        "{seed}: not kept, and no word of it"
    );
    drop(opened);
    let left = disk.restarted(seed);
    if kept {
        for name in &made {
            assert!(
                is_somewhere(&left, name.as_bytes()),
                "{seed}: '{name}' was called kept and is nowhere:\n{}",
                neighbour.story().join("\n")
            );
        }
    }
    for brought in neighbour.brought() {
        // A journal that only goes further is gone on with: what it says is there, line by line.
        let whole = left
            .paths()
            .iter()
            .any(|path| left.peek(path).unwrap() == *brought);
        let lines = || {
            brought
                .split(|byte| *byte == b'\n')
                .all(|line| is_somewhere(&left, line))
        };
        assert!(
            whole || lines(),
            "{seed}: what another machine made is gone:\n{}\n{:?}",
            String::from_utf8_lossy(&brought[..200]),
            neighbour.story()
        );
    }
    (neighbour.deeds(), kept)
}

#[test]
fn whatever_comes_between_two_operations_nothing_kept_and_nothing_brought_is_lost() {
    let seasons: u64 =
        std::env::var("BINEWRIGHT_STORIES").map_or(150, |text| text.parse::<u64>().unwrap() * 100);
    let from: u64 =
        std::env::var("BINEWRIGHT_STORIES_FROM").map_or(0, |text| text.parse().unwrap());
    let (mut deeds, mut kept) = (0, 0);
    for seed in from..from + seasons {
        let (did, all) = a_season(seed);
        deeds += did;
        kept += u64::from(all);
    }
    println!(
        "{seasons} seasons, {deeds} deeds of another program between operations, {kept} kept whole"
    );
    assert!(deeds as u64 > seasons && kept > seasons / 2);
}

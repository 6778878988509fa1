//! Journals that are torn, damaged, of another project, or of a copy that went its own way.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::walk;
use domain::{Edit, Project};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use store::{Existing, Opened, ReadOnly, Store};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

fn open(disk: &ModelDisk) -> Opened {
    store(disk).open(Path::new(FILE)).unwrap()
}

/// Ten edits in the journal, of which the file contains the first `saved`; and the project after each number.
fn ten(saved: usize) -> (ModelDisk, Vec<Project>) {
    let choices: Vec<u64> = (0..60)
        .map(|n: u64| n.wrapping_mul(0xD134_2543_DE82_EF95))
        .collect();
    let edits: Vec<Edit> = walk(&choices).edits.into_iter().take(10).collect();
    assert_eq!(edits.len(), 10);
    let disk = ModelDisk::default();
    let file = store(&disk)
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap();
    let mut states = vec![Project::default()];
    for (nth, edit) in edits.iter().enumerate() {
        let mut next = states[nth].clone();
        next.apply(edit.clone()).unwrap();
        file.append(edit).unwrap();
        states.push(next);
        if nth + 1 == saved {
            file.save(&states[saved]).unwrap();
        }
    }
    drop(file);
    (disk, states)
}

fn journal(disk: &ModelDisk) -> Vec<u8> {
    disk.peek(Path::new(JOURNAL)).unwrap()
}

/// Where each line begins, the first line apart, and the end.
fn line_starts(bytes: &[u8]) -> Vec<usize> {
    let ends = bytes.iter().enumerate().filter(|(_, byte)| **byte == b'\n');
    ends.map(|(at, _)| at + 1).collect()
}

fn named(disk: &ModelDisk, part: &str) -> Vec<PathBuf> {
    disk.paths()
        .into_iter()
        .filter(|path| path.to_string_lossy().contains(part))
        .collect()
}

#[test]
fn what_was_not_saved_is_brought_back_and_told() {
    let (disk, states) = ten(4);
    let opened = open(&disk);
    assert!(opened.project == states[10]);
    let recovered = opened.report.recovered.unwrap();
    assert_eq!(recovered.changes, 6);
    assert!(recovered.from <= recovered.to);
    let told = opened.report.sentences();
    assert_eq!(told.len(), 1);
    assert!(
        told[0].starts_with("Brought back 6 changes made after the last save, up to 2026-03-01"),
        "{}",
        told[0]
    );
    assert!(opened.file.has_unsaved());
    opened.file.save(&opened.project).unwrap();
    assert!(!opened.file.has_unsaved());
    drop(opened);
    assert!(open(&disk).report.is_quiet());
}

#[test]
fn a_journal_torn_at_any_byte_gives_the_changes_before_the_tear() {
    let (disk, states) = ten(2);
    let whole = journal(&disk);
    let starts = line_starts(&whole);
    let file = disk.peek(Path::new(FILE)).unwrap();
    // The file contains two changes, so the third line is the first that can be torn.
    for length in (starts[2]..whole.len()).step_by(7) {
        let torn_disk = ModelDisk::default();
        torn_disk.put(Path::new(FILE), &file);
        torn_disk.put(Path::new(JOURNAL), &whole[..length]);
        let opened = open(&torn_disk);
        // A line that lacks nothing but its end is whole.
        let whole_line = starts.contains(&(length + 1));
        let until = length + usize::from(whole_line);
        let expected = starts.iter().filter(|start| **start <= until).count() - 1;
        assert!(opened.project == states[expected], "torn at {length}");
        let torn = !starts.contains(&until);
        assert_eq!(opened.report.kept.len(), usize::from(torn));
        if torn {
            let kept = torn_disk.peek(&opened.report.kept[0]).unwrap();
            assert_eq!(kept, &whole[starts[expected]..length]);
            assert_eq!(journal(&torn_disk), &whole[..starts[expected]]);
        }
        // Work goes on from there.
        let edit = Edit::Settings(domain::record::settings::SettingsField::Place(
            "Hill".into(),
        ));
        let mut project = opened.project.clone();
        project.apply(edit.clone()).unwrap();
        assert_eq!(opened.file.append(&edit).unwrap(), expected as u64 + 1);
        drop(opened);
        assert!(open(&torn_disk).project == project);
    }
}

#[test]
fn nothing_after_a_damaged_line_is_applied_silently() {
    let (disk, states) = ten(2);
    let mut bytes = journal(&disk);
    let starts = line_starts(&bytes);
    bytes[starts[5] + 40] ^= 1;
    disk.put(Path::new(JOURNAL), &bytes);
    let opened = open(&disk);
    assert!(opened.project == states[5]);
    assert_eq!(opened.report.recovered.unwrap().changes, 3);
    let told = opened.report.sentences().join(" ");
    assert!(
        // The damaged one, and the four after it.
        told.contains("5 changes in it could not be brought back"),
        "{told}"
    );
    assert_eq!(
        disk.peek(&opened.report.kept[0]).unwrap(),
        &bytes[starts[5]..]
    );
    drop(opened);
    assert_eq!(journal(&disk), &bytes[..starts[5]]);
}

#[test]
fn a_missing_line_stops_the_replay() {
    let (disk, states) = ten(2);
    let bytes = journal(&disk);
    let starts = line_starts(&bytes);
    let without = [&bytes[..starts[6]], &bytes[starts[7]..]].concat();
    disk.put(Path::new(JOURNAL), &without);
    let opened = open(&disk);
    assert!(opened.project == states[6]);
    assert_eq!(opened.report.kept.len(), 1);
}

#[test]
fn damage_in_what_the_file_contains_leaves_a_hole_in_the_history_only() {
    let (disk, states) = ten(8);
    let mut bytes = journal(&disk);
    let starts = line_starts(&bytes);
    bytes[starts[3] + 30] ^= 1;
    disk.put(Path::new(JOURNAL), &bytes);
    let opened = open(&disk);
    assert!(opened.project == states[10]);
    assert_eq!(opened.file.history().unwrap().len(), 9);
    assert!(
        opened
            .report
            .sentences()
            .join(" ")
            .contains("history has a gap")
    );
    assert!(opened.report.kept.is_empty());
}

#[test]
fn even_the_very_line_the_file_names_may_be_damaged() {
    let (disk, states) = ten(8);
    let mut bytes = journal(&disk);
    let starts = line_starts(&bytes);
    bytes[starts[7] + 30] ^= 1;
    disk.put(Path::new(JOURNAL), &bytes);
    assert!(open(&disk).project == states[10]);
}

#[test]
fn the_journal_of_another_project_is_set_aside_not_applied_not_deleted() {
    let (disk, states) = ten(4);
    let (other, _) = ten(2);
    let foreign = journal(&other);
    disk.put(Path::new(JOURNAL), &foreign);
    let opened = open(&disk);
    assert!(opened.project == states[4]);
    assert!(
        opened
            .report
            .sentences()
            .join(" ")
            .contains("belongs to another project")
    );
    assert_eq!(disk.peek(&opened.report.kept[0]).unwrap(), foreign);
    assert_eq!(named(&disk, "-journal").len(), 1);
}

#[test]
fn the_journal_of_a_copy_that_went_its_own_way_is_set_aside() {
    let (disk, states) = ten(4);
    // Two machines have the project as saved after 4 changes, and each makes its own fifth and sixth.
    let old_journal = {
        let bytes = journal(&disk);
        bytes[..line_starts(&bytes)[4]].to_vec()
    };
    let file = disk.peek(Path::new(FILE)).unwrap();
    let branch = |place: &str| {
        let disk = ModelDisk::default();
        disk.put(Path::new(FILE), &file);
        disk.put(Path::new(JOURNAL), &old_journal);
        let mut opened = open(&disk);
        for name in [place, "later"] {
            let edit = Edit::Settings(domain::record::settings::SettingsField::Place(name.into()));
            opened.project.apply(edit.clone()).unwrap();
            opened.file.append(&edit).unwrap();
        }
        opened.file.save(&opened.project).unwrap();
        let project = opened.project.clone();
        drop(opened);
        (disk, project)
    };
    let (yard, in_yard) = branch("yard");
    let (kitchen, _) = branch("kitchen");
    // A sync tool brings the kitchen's journal beside the yard's file: the same numbers, another story.
    let theirs = journal(&kitchen);
    yard.put(Path::new(JOURNAL), &theirs);
    let opened = open(&yard);
    assert!(opened.project == in_yard && opened.project != states[4]);
    assert!(
        opened
            .report
            .sentences()
            .join(" ")
            .contains("went its own way")
    );
    assert_eq!(yard.peek(&opened.report.kept[0]).unwrap(), theirs);
}

#[test]
fn a_journal_older_than_its_file_is_set_aside() {
    let (disk, states) = ten(8);
    let bytes = journal(&disk);
    disk.put(Path::new(JOURNAL), &bytes[..line_starts(&bytes)[5]]);
    let opened = open(&disk);
    assert!(opened.project == states[8]);
    assert!(
        opened
            .report
            .sentences()
            .join(" ")
            .contains("doesn't reach")
    );
    // The new journal counts on from the file, and starts from what it holds.
    let edit = Edit::Settings(domain::record::settings::SettingsField::Place(
        "Hill".into(),
    ));
    assert_eq!(opened.file.append(&edit).unwrap(), 9);
    opened.file.flush().unwrap();
    assert!(opened.file.project_at(8).unwrap().unwrap() == states[8]);
    assert!(opened.file.project_at(7).unwrap().is_none());
}

#[test]
fn a_file_without_its_journal_opens_quietly() {
    let (disk, states) = ten(10);
    let file = disk.peek(Path::new(FILE)).unwrap();
    let alone = ModelDisk::default();
    alone.put(Path::new(FILE), &file);
    let opened = open(&alone);
    assert!(opened.project == states[10]);
    assert!(opened.report.is_quiet());
}

#[test]
fn a_change_that_only_a_newer_program_understands_makes_it_read_only() {
    let (disk, states) = ten(10);
    let mut bytes = journal(&disk);
    let starts = line_starts(&bytes);
    let last = &bytes[starts[9]..starts[10] - 1];
    let sum = std::str::from_utf8(&last[last.len() - 10..last.len() - 2])
        .unwrap()
        .to_owned();
    let text = format!(
        r#"{{"n":11,"after":"{sum}","at":"2027-01-01T00:00:00.000Z","by":"Ida","edit":{{"hill":{{"add":{{}}}}}}"#
    );
    let sum = store::journal::Sum::of(text.as_bytes());
    bytes.extend_from_slice(format!("{text},\"sum\":\"{sum}\"}}\n").as_bytes());
    disk.put(Path::new(JOURNAL), &bytes);
    let opened = open(&disk);
    assert_eq!(opened.report.read_only, Some(ReadOnly::NewerChanges(11)));
    assert!(opened.project == states[10]);
    assert!(
        opened
            .file
            .append(&Edit::all("nothing", Vec::new()))
            .is_err()
    );
    drop(opened);
    assert_eq!(journal(&disk), bytes);
}

#[test]
fn reading_only_repairs_nothing() {
    let (disk, states) = ten(2);
    let bytes = journal(&disk);
    disk.put(Path::new(JOURNAL), &bytes[..bytes.len() - 5]);
    let opened = store(&disk).open_read_only(Path::new(FILE)).unwrap();
    assert!(opened.project == states[9]);
    drop(opened);
    assert_eq!(journal(&disk), &bytes[..bytes.len() - 5]);
    assert_eq!(disk.paths().len(), 3, "{:?}", disk.paths());
}

#[test]
fn a_journal_changed_by_another_program_is_not_written_over() {
    let (disk, _) = ten(4);
    let opened = open(&disk);
    let mut bytes = journal(&disk);
    bytes.extend_from_slice(b"something else\n");
    disk.put(Path::new(JOURNAL), &bytes);
    let edit = Edit::Settings(domain::record::settings::SettingsField::Place(
        "Hill".into(),
    ));
    let mut project = opened.project.clone();
    project.apply(edit.clone()).unwrap();
    opened.file.append(&edit).unwrap();
    opened.file.flush().unwrap();
    let aside = store(&disk).quarantined(Path::new(FILE)).unwrap();
    assert_eq!(disk.peek(&aside[0].path).unwrap(), bytes);
    // It can be saved elsewhere, and work goes on there.
    let copy = opened
        .file
        .save_as(Path::new("/copy.binewright"), &project, Existing::Keep)
        .unwrap();
    drop(copy);
    let again = store(&disk).open(Path::new("/copy.binewright")).unwrap();
    assert!(again.project == project);
}

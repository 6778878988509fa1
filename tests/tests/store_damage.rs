//! Damaged files, files changed by others, journals that are taken away: what is missing is told in numbers, and every
//! change is on the disk or told as not being there.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::{Walk, walk};
use domain::merge::merge;
use domain::record::settings::SettingsField;
use domain::{Edit, Project};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use store::{Existing, Opened, QuarantinedPart, ReadOnly, Store, StoreError};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

fn open(disk: &ModelDisk) -> Opened {
    store(disk).open(Path::new(FILE)).unwrap()
}

fn place(opened: &mut Opened, name: &str) {
    let edit = Edit::Settings(SettingsField::Place(name.into()));
    opened.project.apply(edit.clone()).unwrap();
    opened.file.append(&edit).unwrap();
}

fn rename(opened: &mut Opened, name: &str) {
    let edit = Edit::Settings(SettingsField::Name(name.into()));
    opened.project.apply(edit.clone()).unwrap();
    opened.file.append(&edit).unwrap();
}

fn a_walk(seed: u64) -> Walk {
    let mut dice = Dice::new(seed);
    walk(&(0..200).map(|_| dice.roll()).collect::<Vec<_>>())
}

/// A season saved with a backup, on a disk with its journal.
fn season() -> (ModelDisk, Project) {
    let walk = a_walk(3);
    let disk = ModelDisk::default();
    let file = store(&disk)
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap();
    for edit in &walk.edits {
        file.append(edit).unwrap();
    }
    file.save(&walk.project).unwrap();
    drop(file);
    (disk, walk.project)
}

fn cut(disk: &ModelDisk) -> Vec<u8> {
    let bytes = disk.peek(Path::new(FILE)).unwrap();
    let cut = bytes[..bytes.len() * 55 / 100].to_vec();
    disk.put(Path::new(FILE), &cut);
    cut
}

#[test]
fn a_file_cut_in_half_opens_for_reading_and_its_journal_has_the_rest() {
    let (disk, project) = season();
    let found = cut(&disk);
    let opened = open(&disk);
    assert_eq!(opened.report.read_only, Some(ReadOnly::Damaged));
    let damage = opened.report.damage.clone().unwrap();
    let lost = project.record_count() - opened.project.record_count();
    assert!(lost > 10);
    assert_eq!(damage.count(), lost);
    let told = opened.report.sentences().remove(0);
    assert!(
        told.ends_with("are missing; the journal has every missing record."),
        "{told}"
    );
    drop(opened);
    let mended = store(&disk).bring_back(Path::new(FILE)).unwrap();
    assert!(mended.project == project);
    drop(mended);
    let again = open(&disk);
    assert!(again.project == project && again.report.is_quiet());
    assert!(
        disk.paths()
            .iter()
            .any(|path| disk.peek(path).unwrap() == found)
    );
}

#[test]
fn without_its_journal_the_backup_is_named_with_what_it_has() {
    let (disk, project) = season();
    cut(&disk);
    disk.put(Path::new(JOURNAL), b"\n");
    let opened = open(&disk);
    let damage = opened.report.damage.clone().unwrap();
    let told = damage.words(|at| at.format("%H:%M").to_string());
    assert!(
        told.contains("the backup of 08:00 has every missing record"),
        "{told}"
    );
    drop(opened);
    let mended = store(&disk).bring_back(Path::new(FILE)).unwrap();
    assert_eq!(mended.project.record_count(), project.record_count());
}

#[test]
fn what_is_gone_on_without_stays_told_until_it_is_there_again() {
    let (disk, _) = season();
    cut(&disk);
    let opened = store(&disk).go_on_without(Path::new(FILE)).unwrap();
    assert_eq!(opened.report.losses.len(), 1);
    drop(opened);
    let again = open(&disk);
    assert!(again.report.damage.is_none() && again.report.read_only.is_none());
    assert_eq!(again.report.losses.len(), 1);
    let told = again.report.sentences().join(" ");
    assert!(told.contains("went missing from a damaged file"), "{told}");
}

/// Each of these was once read as an empty project, or as one without a fault.
#[test]
fn failure_is_never_read_as_emptiness() {
    let (disk, project) = season();
    let sound = String::from_utf8(disk.peek(Path::new(FILE)).unwrap()).unwrap();
    let value: serde_json::Value = serde_json::from_str(&sound).unwrap();
    for nothing in [
        serde_json::json!([]),
        serde_json::json!(null),
        serde_json::json!({}),
    ] {
        let mut file = value.clone();
        file["project"] = nothing;
        disk.put(Path::new(FILE), &serde_json::to_vec_pretty(&file).unwrap());
        let opened = open(&disk);
        assert_eq!(opened.report.read_only, Some(ReadOnly::Damaged));
        assert_eq!(
            opened.report.damage.unwrap().count(),
            project.record_count()
        );
    }
    disk.put(Path::new(FILE), b"\n");
    let damage = open(&disk).report.damage.unwrap();
    assert_eq!(damage.count(), project.record_count());
    // With nothing beside it, it is no project.
    let alone = ModelDisk::default();
    alone.put(Path::new(FILE), b"\n");
    assert!(matches!(
        store(&alone).open(Path::new(FILE)),
        Err(StoreError::NotAProject { .. })
    ));
}

#[test]
fn one_latin_byte_costs_no_record() {
    let (disk, project) = season();
    let mut bytes = disk.peek(Path::new(FILE)).unwrap();
    let at = bytes.windows(6).position(|part| part == b"Random").unwrap();
    bytes[at] = 0xE4;
    // Not in the layout it was saved in, so that lines tell nothing.
    let compact: Vec<u8> = bytes
        .iter()
        .copied()
        .filter(|byte| *byte != b'\n')
        .collect();
    disk.put(Path::new(FILE), &compact);
    let opened = open(&disk);
    assert_eq!(opened.project.record_count(), project.record_count());
    assert_eq!(opened.project.settings().name, "äandom");
    assert!(!opened.report.is_quiet());
}

#[test]
fn no_flipped_bit_of_a_file_passes_for_what_was_saved() {
    let (disk, _) = season();
    let sound = disk.peek(Path::new(FILE)).unwrap();
    let mut dice = Dice::new(4);
    for _ in 0..150 {
        let mut flipped = sound.clone();
        let at = dice.below(sound.len() - 2);
        flipped[at] ^= 1 << dice.below(8);
        disk.put(Path::new(FILE), &flipped);
        if let Ok(opened) = store(&disk).open_read_only(Path::new(FILE)) {
            assert!(opened.report.sentences().len() > 1, "at {at}");
        }
    }
}

#[test]
fn a_journal_forgives_what_editors_and_sync_programs_do_to_text() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    for name in ["one", "two", "three"] {
        place(&mut opened, name);
    }
    opened.file.flush().unwrap();
    let project = opened.project.clone();
    drop(opened);
    let text = String::from_utf8(disk.peek(Path::new(JOURNAL)).unwrap()).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let twice: Vec<&str> = lines[..1]
        .iter()
        .chain(lines[1..].iter().flat_map(|line| [line, line]))
        .copied()
        .collect();
    let mut base_flipped = text.clone().into_bytes();
    let in_base = text
        .find("\"base\"")
        .unwrap_or(text.find("\"head\"").unwrap())
        + 9;
    base_flipped[in_base] ^= 1;
    let ways: [(&str, Vec<u8>); 6] = [
        ("CRLF", text.replace('\n', "\r\n").into_bytes()),
        ("blank lines", text.replace('\n', "\n\n \n").into_bytes()),
        ("each line twice", (twice.join("\n") + "\n").into_bytes()),
        ("no last end", text.trim_end().as_bytes().to_vec()),
        (
            "a mark of byte order",
            [b"\xEF\xBB\xBF", text.as_bytes()].concat(),
        ),
        ("a flip in the first line", base_flipped),
    ];
    for (what, journal) in ways {
        let other = ModelDisk::default();
        other.put(Path::new(FILE), &disk.peek(Path::new(FILE)).unwrap());
        other.put(Path::new(JOURNAL), &journal);
        let mut opened = open(&other);
        assert!(opened.project == project, "{what}");
        assert_eq!(opened.report.recovered.unwrap().changes, 3, "{what}");
        place(&mut opened, "four");
        opened.file.flush().unwrap();
        let project = opened.project.clone();
        drop(opened);
        assert!(open(&other).project == project, "{what}: gone on with");
    }
}

#[test]
fn a_journal_that_is_taken_away_is_written_anew_from_memory() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    place(&mut opened, "one");
    opened.file.flush().unwrap();
    disk.delete(Path::new(JOURNAL));
    assert!(!opened.file.is_changed_elsewhere().unwrap());
    assert_eq!(opened.file.acknowledged(), opened.file.last());
    place(&mut opened, "two");
    opened.file.flush().unwrap();
    let project = opened.project.clone();
    // As a kill leaves it.
    let left = disk.restarted(1);
    assert!(open(&left).project == project);
}

#[test]
fn a_journal_cut_in_the_moment_it_is_written_on_has_no_hole() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    let before = opened.file.history().unwrap().len();
    disk.cut_when_continued(disk.peek(Path::new(JOURNAL)).unwrap().len() / 3);
    place(&mut opened, "Hill");
    opened.file.flush().unwrap();
    assert_eq!(opened.file.acknowledged(), opened.file.last());
    let journal = disk.peek(Path::new(JOURNAL)).unwrap();
    assert!(!journal.contains(&0));
    assert_eq!(opened.file.history().unwrap().len(), before + 1);
}

#[test]
fn what_cannot_be_written_anew_is_not_called_kept() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    place(&mut opened, "one");
    opened.file.flush().unwrap();
    let last = opened.file.last();
    assert!(opened.file.is_kept(last));
    disk.delete(Path::new(JOURNAL));
    disk.set_unwritable(Some(std::io::ErrorKind::PermissionDenied));
    let _ = opened.file.is_changed_elsewhere();
    assert!(!opened.file.is_kept(last));
    assert!(opened.file.trouble().is_some());
    disk.set_unwritable(None);
    opened.file.flush().unwrap();
    assert!(opened.file.is_kept(last));
}

#[test]
fn a_file_changed_by_hand_meets_what_the_window_knows_and_save_opens() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    rename(&mut opened, "here");
    opened.file.flush().unwrap();
    let text = String::from_utf8(disk.peek(Path::new(FILE)).unwrap()).unwrap();
    let theirs = text.replacen("Random", "There", 1);
    assert_ne!(theirs, text);
    disk.put(Path::new(FILE), theirs.as_bytes());
    assert!(opened.file.save(&opened.project).is_err());
    let copy = opened.file.read_copy(Path::new(FILE)).unwrap();
    let base = copy.base.unwrap().project;
    let merged = merge(Some(&base), &opened.project, &copy.project);
    assert_eq!(merged.conflicts.len(), 1, "{merged:?}");
    opened.file.is_settled();
    opened.file.save(&opened.project).unwrap();
    // And what stood there is kept.
    let kept = store(&disk).quarantined(Path::new(FILE)).unwrap();
    assert!(kept.iter().any(|file| {
        file.what == QuarantinedPart::Outside && disk.peek(&file.path).unwrap() == theirs.as_bytes()
    }));
}

/// What a cut file lacks was not removed by anybody: it isn't merged, and saving over it keeps both.
#[test]
fn a_file_cut_under_the_window_is_not_merged() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    rename(&mut opened, "here");
    opened.file.flush().unwrap();
    let whole = disk.peek(Path::new(FILE)).unwrap();
    let cut = &whole[..whole.len() * 55 / 100];
    disk.put(Path::new(FILE), cut);
    let refusal = opened.file.read_copy(Path::new(FILE)).unwrap_err();
    let words = refusal.to_string();
    assert!(
        words.contains("lacks") && words.contains("save over the file"),
        "{words}"
    );
}

#[test]
fn a_clash_met_after_a_kill_is_told_and_both_are_kept() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    rename(&mut opened, "here");
    opened.file.flush().unwrap();
    drop(opened);
    let text = String::from_utf8(disk.peek(Path::new(FILE)).unwrap()).unwrap();
    let theirs = text.replacen("Random", "There", 1);
    disk.put(Path::new(FILE), theirs.as_bytes());
    let opened = open(&disk);
    assert_eq!(opened.project.settings().name, "here");
    assert_eq!(opened.report.changed_outside.as_ref().unwrap().clashes, 1);
    let kept = &opened.report.kept[0];
    assert_eq!(disk.peek(kept).unwrap(), theirs.as_bytes());
    let kept: PathBuf = kept.clone();
    let copy = opened.file.read_copy(&kept).unwrap();
    let merged = merge(
        copy.base.as_ref().map(|base| &base.project),
        &opened.project,
        &copy.project,
    );
    assert!(!merged.conflicts.is_empty());
}

#[test]
fn saving_over_another_programs_file_keeps_it() {
    let (disk, _) = season();
    let mut opened = open(&disk);
    place(&mut opened, "here");
    disk.put(Path::new(FILE), b"{\"theirs\": 1}");
    opened.file.overwrite(&opened.project).unwrap();
    let kept = disk
        .paths()
        .into_iter()
        .any(|path| disk.peek(&path).unwrap() == b"{\"theirs\": 1}");
    assert!(kept);
}

/// What a sync program does between any two operations: the file, the journal or a backup replaced by an older version,
/// cut, deleted or brought back.
fn meddle(disk: &ModelDisk, dice: &mut Dice, versions: &mut Vec<(PathBuf, Vec<u8>)>) {
    let mut paths = disk.paths();
    paths.retain(|path| !path.to_string_lossy().ends_with("-lock"));
    if paths.is_empty() {
        return;
    }
    let path = paths[dice.below(paths.len())].clone();
    let now = disk.peek(&path).unwrap();
    versions.push((path.clone(), now.clone()));
    match dice.below(4) {
        0 => disk.put(&path, &now[..dice.below(now.len() + 1)]),
        1 => disk.delete(&path),
        _ => {
            let (path, bytes) = versions[dice.below(versions.len())].clone();
            if let Some(there) = disk.peek(&path) {
                versions.push((path.clone(), there));
            }
            disk.put(&path, &bytes);
        }
    }
}

/// Whatever a sync program does beside an open window: once the window has looked, every change it calls kept is on the
/// disk, in the project or in a journal that is put aside, and no project it did not write itself is without a copy.
#[test]
fn beside_a_sync_program_every_change_called_kept_is_on_the_disk() {
    let rounds =
        std::env::var("BINEWRIGHT_STORIES").map_or(60, |text| text.parse::<u64>().unwrap() * 100);
    let mut kept = 0;
    for seed in 0..rounds {
        let mut dice = Dice::new(seed);
        let (disk, _) = season();
        let mut opened = open(&disk);
        let mut versions = Vec::new();
        for n in 0..=dice.below(6) {
            place(&mut opened, &format!("{seed} {n}"));
            let _ = opened.file.flush();
            disk.pass(Duration::from_mins(40));
            meddle(&disk, &mut dice, &mut versions);
            if dice.one_in(3) && opened.file.save(&opened.project).is_err() && dice.one_in(2) {
                let _ = opened.file.overwrite(&opened.project);
            }
        }
        let _ = opened.file.is_changed_elsewhere();
        let (acknowledged, project) = (opened.file.acknowledged(), opened.project.clone());
        if acknowledged < opened.file.last() {
            continue;
        }
        kept += 1;
        let left = disk.restarted(seed);
        let what = project.settings().place.as_bytes().to_vec();
        let there = left.paths().iter().any(|path| {
            let bytes = left.peek(path).unwrap();
            bytes.windows(what.len()).any(|part| part == what)
        });
        assert!(there, "{seed}: the last change is nowhere");
    }
    assert!(kept > rounds / 2, "only {kept} of {rounds} were kept");
}

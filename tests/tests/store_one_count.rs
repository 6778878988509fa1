//! What lies in a journal and isn't in the project is counted once and in one way: before it is set aside and after, by every
//! command and by the window. And where the file itself is gone, what lies beside it is the way back.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::walk;
use domain::record::settings::SettingsField;
use domain::{Edit, Project, RecordKind};
use std::path::Path;
use std::sync::Arc;
use store::{Existing, Opened, Store, StoreError};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

fn open(disk: &ModelDisk) -> Opened {
    store(disk).open(Path::new(FILE)).unwrap()
}

fn read(disk: &ModelDisk) -> Opened {
    store(disk).open_read_only(Path::new(FILE)).unwrap()
}

fn told(opened: &Opened) -> String {
    opened.report.sentences().join(" ")
}

fn counts(opened: &Opened) -> Vec<Option<usize>> {
    let lost = opened.report.lost_changes.iter();
    lost.map(|lost| lost.count).collect()
}

fn edit(opened: &mut Opened, words: &str) {
    let edit = Edit::Settings(SettingsField::Place(words.into()));
    opened.project.apply(edit.clone()).unwrap();
    opened.file.append(&edit).unwrap();
    opened.file.flush().unwrap();
}

/// A file with some records and `edits` changes after them, saved after `saved` of those.
fn season(edits: usize, saved: usize) -> (ModelDisk, Project) {
    let choices: Vec<u64> = (0..80)
        .map(|n: u64| n.wrapping_mul(0xD134_2543_DE82_EF95))
        .collect();
    let begun = walk(&choices).project;
    let disk = ModelDisk::default();
    let file = store(&disk)
        .create(Path::new(FILE), &begun, Existing::Keep)
        .unwrap();
    drop(file);
    let mut opened = open(&disk);
    for n in 0..edits {
        edit(&mut opened, &format!("Hill {n}"));
        if n + 1 == saved {
            opened.file.save(&opened.project).unwrap();
        }
    }
    (disk, opened.project.clone())
}

fn file(disk: &ModelDisk) -> Vec<u8> {
    disk.peek(Path::new(FILE)).unwrap()
}

fn journal(disk: &ModelDisk) -> Vec<u8> {
    disk.peek(Path::new(JOURNAL)).unwrap()
}

/// A disk with this file and this journal, and nothing else.
fn laid_out(file: &[u8], journal: &[u8]) -> ModelDisk {
    let disk = ModelDisk::default();
    disk.put(Path::new(FILE), file);
    disk.put(Path::new(JOURNAL), journal);
    disk
}

/// The same count read, opened, opened again, worked on and saved.
fn counted_alike(disk: &ModelDisk, what: &str) -> Vec<Option<usize>> {
    let first = read(disk);
    let (count, damaged) = (counts(&first), first.report.is_damaged());
    drop(first);
    for round in 0..4 {
        let mut opened = open(disk);
        assert_eq!(counts(&opened), count, "{what}, {round}: {}", told(&opened));
        assert_eq!(opened.report.is_damaged(), damaged, "{what}, {round}");
        edit(&mut opened, &format!("on {round}"));
        if round % 2 == 1 {
            opened.file.save(&opened.project).unwrap();
        }
        drop(opened);
        assert_eq!(counts(&read(disk)), count, "{what}, {round}, read");
    }
    count
}

#[test]
fn a_journal_that_branched_off_earlier_counts_the_same_before_it_is_set_aside() {
    let (ours, _) = season(3, 3);
    // Another machine had it at the third change, went on with four of its own, and ours went on with nine.
    let theirs = laid_out(&file(&ours), &journal(&ours));
    let mut opened = open(&theirs);
    for n in 0..4 {
        edit(&mut opened, &format!("Dale {n}"));
    }
    drop(opened);
    let mut opened = open(&ours);
    for n in 0..9 {
        edit(&mut opened, &format!("Fell {n}"));
    }
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    // Nothing tells any more what both had: all seven may be missing.
    let disk = laid_out(&file(&ours), &journal(&theirs));
    assert_eq!(counted_alike(&disk, "alone"), [Some(7)]);
    // A backup from before it branched off does.
    let backup = "/season.binewright-backups/2026-03-01T09-30-00Z.binewright";
    let disk = laid_out(&file(&ours), &journal(&theirs));
    disk.put(Path::new(backup), &file(&theirs));
    assert_eq!(counted_alike(&disk, "with a backup"), [Some(4)]);
}

#[test]
fn a_journal_in_any_state_counts_the_same_before_and_after_it_is_set_aside() {
    let (disk, _) = season(8, 3);
    let (file, whole) = (file(&disk), journal(&disk));
    let line = |nth: usize| {
        let mut ends = whole.iter().enumerate().filter(|(_, byte)| **byte == b'\n');
        ends.nth(nth).unwrap().0 + 1
    };
    let mut flipped = whole.clone();
    flipped[line(5) + 40] ^= 1;
    let mut two = flipped.clone();
    two[line(6) + 40] ^= 1;
    let last = whole.len();
    let (other, _) = season(2, 0);
    for (what, journal, count) in [
        ("empty", Vec::new(), vec![None]),
        ("zeros", vec![0; 400], vec![None]),
        ("no journal", b"a letter to Ida\n".to_vec(), vec![None]),
        (
            "a broken first line",
            whole[..line(0) - 40].to_vec(),
            vec![None],
        ),
        (
            "a first line alone",
            whole[..line(0)].to_vec(),
            vec![Some(0)],
        ),
        ("without its first line", whole[line(0)..].to_vec(), vec![]),
        ("a flipped line", flipped, vec![Some(3)]),
        ("two flipped lines", two, vec![Some(3)]),
        (
            "two lines gone",
            [&whole[..line(4)], &whole[line(6)..]].concat(),
            vec![Some(4)],
        ),
        ("a torn last line", whole[..last - 20].to_vec(), vec![]),
        (
            "zeros at the end",
            [&whole[..line(6)], &[0; 200][..]].concat(),
            vec![],
        ),
        ("of another project", self::journal(&other), vec![Some(2)]),
    ] {
        let disk = laid_out(&file, &journal);
        let counted = counted_alike(&disk, what);
        let counted: Vec<_> = counted.into_iter().filter(|it| *it != Some(0)).collect();
        let count: Vec<_> = count.into_iter().filter(|it| *it != Some(0)).collect();
        assert_eq!(counted, count, "{what}");
    }
}

#[test]
fn a_last_line_that_was_never_finished_is_told_and_is_no_loss() {
    let (disk, _) = season(5, 0);
    let whole = journal(&disk);
    disk.put(Path::new(JOURNAL), &whole[..whole.len() - 20]);
    let opened = open(&disk);
    assert_eq!(opened.report.recovered.unwrap().changes, 4);
    assert!(!opened.report.is_damaged(), "{}", told(&opened));
    assert!(
        told(&opened).contains("cut off while it was being written"),
        "{}",
        told(&opened)
    );
    assert_eq!(opened.report.kept.len(), 1);
}

#[test]
fn a_file_with_nothing_in_it_has_its_way_back_in_the_journal() {
    let (disk, project) = season(6, 2);
    let journal = journal(&disk);
    for nothing in [&b""[..], &[0; 5000], b"\n"] {
        let disk = laid_out(nothing, &journal);
        let opened = open(&disk);
        let damage = opened.report.damage.as_ref().unwrap();
        assert_eq!(damage.count(), project.record_count());
        assert!(opened.file.read_only().is_some());
        let words = told(&opened);
        assert!(words.contains("nothing in the file"), "{words}");
        assert!(words.contains("the journal has every missing"), "{words}");
        drop(opened);
        let mut back = store(&disk).bring_back(Path::new(FILE)).unwrap();
        assert!(back.project == project);
        edit(&mut back, "on");
        let project = back.project.clone();
        drop(back);
        let again = open(&disk);
        assert!(again.project == project && !again.report.is_damaged());
        assert_eq!(again.file.history().unwrap().len(), 7);
    }
}

#[test]
fn a_file_with_nothing_in_it_has_its_way_back_in_a_backup_and_what_the_journal_adds() {
    let (disk, project) = season(6, 2);
    let mut broken = journal(&disk);
    let base = broken.windows(8).position(|part| part == b",\"base\":");
    broken[base.unwrap() + 40] ^= 1;
    disk.put(Path::new(JOURNAL), &broken);
    disk.put(Path::new(FILE), b"");
    let opened = open(&disk);
    assert!(told(&opened).contains("the backup of"), "{}", told(&opened));
    drop(opened);
    let back = store(&disk).bring_back(Path::new(FILE)).unwrap();
    assert!(back.project == project, "{}", told(&back));
    assert!(
        !back.report.is_damaged() || back.report.is_hurt,
        "{}",
        told(&back)
    );
    drop(back);
    // With neither, it is no project.
    let alone = ModelDisk::default();
    alone.put(Path::new(FILE), b"");
    let refused = store(&alone).open(Path::new(FILE)).unwrap_err();
    assert!(matches!(refused, StoreError::NotAProject { .. }));
}

#[test]
fn a_damaged_file_of_which_every_piece_can_be_read_is_damaged() {
    let (disk, _) = season(2, 2);
    let bytes = file(&disk);
    let text = String::from_utf8(bytes).unwrap();
    let hurt = text.replacen("\n  \"project\": {", "\n  \"project\" {", 1);
    let disk = laid_out(hurt.as_bytes(), &journal(&disk));
    let opened = open(&disk);
    assert!(opened.report.is_damaged(), "{}", told(&opened));
    assert!(opened.report.damage.is_none(), "{}", told(&opened));
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    // Saved, it is mended, and the copy of it is told of with the way back.
    let opened = open(&disk);
    assert!(!opened.report.is_damaged());
    assert_eq!(opened.report.copies.len(), 1);
    let words = told(&opened);
    assert!(
        words.contains(".damaged-") && words.contains("under Findings"),
        "{words}"
    );
    let copy = opened.report.copies[0].clone();
    let theirs = store(&disk).read_copy(Path::new(FILE), &copy).unwrap();
    assert!(theirs.project == opened.project);
    drop(opened);
    disk.delete(&copy);
    assert!(open(&disk).report.copies.is_empty());
}

#[test]
fn a_record_with_a_value_nested_without_end_is_set_aside_alone() {
    let (disk, project) = season(2, 2);
    let (sound, journal) = (file(&disk), journal(&disk));
    for (depth, key) in [90, 130, 5000]
        .into_iter()
        .flat_map(|depth| ["aroma", "origin"].map(|key| (depth, key)))
    {
        if key == "origin" && depth == 90 {
            continue;
        }
        let text = String::from_utf8(sound.clone()).unwrap();
        let deep = format!("{}1{}", "[".repeat(depth), "]".repeat(depth));
        let at = text.find("\"genotypes\": [").unwrap();
        let at = at + text[at..].find("\"origin\"").unwrap();
        let spoilt = format!(
            "{}\"{key}\": {deep}, \"was\"{}",
            &text[..at],
            &text[at + 8..]
        );
        let spoilt = if key == "aroma" {
            spoilt.replacen("\"was\"", "\"origin\"", 1)
        } else {
            spoilt
        };
        let disk = laid_out(spoilt.as_bytes(), &journal);
        let opened = open(&disk);
        let plants = project.count(RecordKind::Genotype);
        let set_aside = usize::from(depth > 100);
        assert_eq!(
            opened.project.count(RecordKind::Genotype),
            plants - set_aside,
            "{depth}: {}",
            told(&opened)
        );
        assert_eq!(opened.report.quarantined.len(), set_aside, "{depth}");
        opened.file.save(&opened.project).unwrap();
        drop(opened);
        let again = open(&disk);
        assert_eq!(again.report.quarantined.len(), set_aside, "{depth}");
        let saved = String::from_utf8(file(&disk)).unwrap();
        let kept = saved.chars().filter(|sign| !sign.is_whitespace());
        assert!(kept.collect::<String>().contains(&deep), "{depth}");
    }
}

#[test]
fn a_part_of_the_file_nested_without_end_is_set_aside_alone() {
    let (disk, project) = season(2, 2);
    let text = String::from_utf8(file(&disk)).unwrap();
    let deep = format!("{}1{}", "[".repeat(200), "]".repeat(200));
    for before in ["\"journal\": {", "\"settings\": {", "\"stages\": ["] {
        let spoilt = text.replacen(before, &format!("\"weather\": {deep}, {before}"), 1);
        let disk = laid_out(spoilt.as_bytes(), &journal(&disk));
        let opened = open(&disk);
        assert!(opened.project == project, "{before}: {}", told(&opened));
        assert_eq!(opened.report.quarantined.len(), 1, "{before}");
        opened.file.save(&opened.project).unwrap();
        drop(opened);
        let again = open(&disk);
        assert!(again.project == project && again.report.quarantined.len() == 1);
    }
}

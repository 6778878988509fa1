//! What a journal or a file has lost: brought back where it can be proven to belong, else told with its number for as long
//! as it lies beside the project.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::walk;
use domain::record::settings::SettingsField;
use domain::{Edit, Project, RecordKind};
use std::io::{Seek as _, SeekFrom, Write as _};
use std::path::Path;
use std::sync::Arc;
use store::{Existing, Opened, Store};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

fn open(disk: &ModelDisk) -> Opened {
    store(disk).open(Path::new(FILE)).unwrap()
}

fn journal(disk: &ModelDisk) -> Vec<u8> {
    disk.peek(Path::new(JOURNAL)).unwrap()
}

fn find(bytes: &[u8], what: &str) -> usize {
    let mut windows = bytes.windows(what.len());
    windows.position(|part| part == what.as_bytes()).unwrap()
}

/// A file with some records, and five changes that only its journal has.
fn five() -> (ModelDisk, Project) {
    let choices: Vec<u64> = (0..80)
        .map(|n: u64| n.wrapping_mul(0xD134_2543_DE82_EF95))
        .collect();
    let begun = walk(&choices).project;
    let disk = ModelDisk::default();
    let file = store(&disk)
        .create(Path::new(FILE), &begun, Existing::Keep)
        .unwrap();
    let mut project = begun;
    for n in 0..5 {
        let edit = Edit::Settings(SettingsField::Place(format!("Hill {n}")));
        project.apply(edit.clone()).unwrap();
        file.append(&edit).unwrap();
    }
    drop(file);
    (disk, project)
}

fn lost(opened: &Opened) -> Vec<Option<usize>> {
    let lost = opened.report.lost_changes.iter();
    lost.map(|lost| lost.count).collect()
}

fn told(opened: &Opened) -> String {
    opened.report.sentences().join(" ")
}

/// Ways to damage the first line of a journal within its base.
fn damaged_bases(bytes: &[u8]) -> Vec<(&'static str, Vec<u8>)> {
    let base = find(bytes, ",\"base\":") + 40;
    let first_end = bytes.iter().position(|byte| *byte == b'\n').unwrap();
    let mut flipped = bytes.to_vec();
    flipped[base] ^= 1;
    let mut split = bytes.to_vec();
    split[base] = b'\n';
    let mut zeros = bytes.to_vec();
    zeros[base..first_end - 20].fill(0);
    let mut many = bytes.to_vec();
    for at in (base..first_end).step_by(50) {
        many[at] = b'\n';
    }
    let cut_out = [&bytes[..base], &bytes[first_end - 30..]].concat();
    let end_gone = [&bytes[..base], &bytes[first_end..]].concat();
    let end_and_newline_gone = [&bytes[..base], &bytes[first_end + 1..]].concat();
    vec![
        ("a flipped bit", flipped),
        ("an end of line", split),
        ("many ends of lines", many),
        ("zeros", zeros),
        ("a piece cut out", cut_out),
        ("its end gone", end_gone),
        (
            "its end gone, with the end of the line",
            end_and_newline_gone,
        ),
    ]
}

#[test]
fn a_journal_damaged_within_its_base_gives_all_its_changes() {
    let (disk, project) = five();
    let file = disk.peek(Path::new(FILE)).unwrap();
    for (what, bytes) in damaged_bases(&journal(&disk)) {
        let other = ModelDisk::default();
        other.put(Path::new(FILE), &file);
        other.put(Path::new(JOURNAL), &bytes);
        let mut opened = open(&other);
        assert!(opened.project == project, "{what}: {}", told(&opened));
        assert_eq!(opened.report.recovered.unwrap().changes, 5, "{what}");
        assert!(lost(&opened).is_empty(), "{what}: {}", told(&opened));
        assert!(!told(&opened).contains("1 lines"), "{}", told(&opened));
        let edit = Edit::Settings(SettingsField::Name("on".into()));
        opened.project.apply(edit.clone()).unwrap();
        assert_eq!(opened.file.append(&edit).unwrap(), 6, "{what}");
        opened.file.flush().unwrap();
        let project = opened.project.clone();
        drop(opened);
        assert!(open(&other).project == project, "{what}: gone on with");
    }
}

#[test]
fn changes_that_are_not_proven_to_follow_are_set_aside_and_told_with_their_number() {
    let (disk, project) = five();
    let bytes = journal(&disk);
    let first_end = bytes.iter().position(|byte| *byte == b'\n').unwrap();
    // From within the base into the first change: those after it follow nothing that is there.
    let base = find(&bytes, ",\"base\":") + 40;
    let cut_out = [&bytes[..base], &bytes[first_end + 60..]].concat();
    // Without the first line nothing says whose journal it is.
    let headless = bytes[first_end + 1..].to_vec();
    for (what, bytes) in [("into the first change", cut_out), ("headless", headless)] {
        let other = ModelDisk::default();
        other.put(Path::new(FILE), &disk.peek(Path::new(FILE)).unwrap());
        other.put(Path::new(JOURNAL), &bytes);
        let opened = store(&other).open_read_only(Path::new(FILE)).unwrap();
        assert_eq!(lost(&opened), [Some(5)], "{what}: {}", told(&opened));
        assert!(opened.report.is_damaged());
        drop(opened);
        let opened = open(&other);
        assert!(opened.project != project);
        assert_eq!(lost(&opened), [Some(5)], "{what}: {}", told(&opened));
        assert!(told(&opened).contains("5 changes"), "{}", told(&opened));
        opened.file.save(&opened.project).unwrap();
        drop(opened);
        // And it stays told, saved or not, as long as the journal lies there.
        let opened = open(&other);
        assert_eq!(lost(&opened), [Some(5)], "{what}: {}", told(&opened));
        let kept = opened.report.lost_changes[0].kept.clone().unwrap();
        drop(opened);
        other.delete(&kept);
        assert!(!open(&other).report.is_damaged(), "{what}");
    }
}

#[test]
fn a_damaged_change_is_counted_with_those_after_it() {
    let (disk, _) = five();
    let whole = journal(&disk);
    let third = find(&whole, "Hill 2");
    let mut flipped = whole.clone();
    flipped[third] ^= 1;
    let line = |nth: usize| {
        let mut ends = whole.iter().enumerate().filter(|(_, byte)| **byte == b'\n');
        ends.nth(nth).unwrap().0 + 1
    };
    let missing = [&whole[..line(2)], &whole[line(3)..]].concat();
    for (what, bytes) in [("flipped", flipped), ("missing", missing)] {
        disk.put(Path::new(JOURNAL), &bytes);
        let opened = store(&disk).open_read_only(Path::new(FILE)).unwrap();
        assert_eq!(opened.report.recovered.unwrap().changes, 2, "{what}");
        assert_eq!(lost(&opened), [Some(3)], "{what}: {}", told(&opened));
    }
}

#[test]
fn a_journal_that_stands_there_twice_loses_nothing() {
    let (disk, project) = five();
    let bytes = journal(&disk);
    let mut flipped = bytes.clone();
    flipped[find(&bytes, ",\"base\":") + 40] ^= 1;
    let file = disk.peek(Path::new(FILE)).unwrap();
    let torn = bytes[..bytes.len() - 30].to_vec();
    for (what, doubled) in [
        ("twice", [&bytes[..], &bytes].concat()),
        ("three times", [&bytes[..], &bytes, &bytes].concat()),
        ("run together", [bytes.trim_ascii_end(), &bytes].concat()),
        ("the first damaged", [&flipped[..], &bytes].concat()),
        ("the second damaged", [&bytes[..], &flipped].concat()),
        ("the first torn", [&torn[..], &bytes].concat()),
    ] {
        let other = ModelDisk::default();
        other.put(Path::new(FILE), &file);
        other.put(Path::new(JOURNAL), &doubled);
        let mut opened = open(&other);
        assert!(opened.project == project, "{what}: {}", told(&opened));
        assert!(lost(&opened).is_empty(), "{what}: {}", told(&opened));
        assert!(opened.report.kept.is_empty(), "{what}");
        assert_eq!(opened.file.history().unwrap().len(), 5, "{what}");
        let edit = Edit::Settings(SettingsField::Name("on".into()));
        opened.project.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
        opened.file.flush().unwrap();
        let project = opened.project.clone();
        drop(opened);
        assert!(open(&other).project == project, "{what}: gone on with");
        // What came after is in no journal that stood there twice before.
        let before = store(&other).project_at(Path::new(FILE), 5).unwrap();
        assert!(before.is_some(), "{what}: no past");
    }
    // With only the end of it twice, or a journal of another project behind it, too.
    disk.put(
        Path::new(JOURNAL),
        &[&bytes[..], &bytes[bytes.len() - 300..]].concat(),
    );
    assert!(open(&disk).project == project);
}

/// The file with all but so many records of a table taken out, its JSON sound.
fn thinned(disk: &ModelDisk, table: &str, left: usize) -> usize {
    let bytes = disk.peek(Path::new(FILE)).unwrap();
    let mut file: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
    let records = file["project"][table].as_array_mut().unwrap();
    let taken = records.len() - left;
    records.truncate(left);
    disk.put(Path::new(FILE), &serde_json::to_vec_pretty(&file).unwrap());
    taken
}

#[test]
fn records_taken_out_of_sound_text_are_told_by_kind_with_their_number() {
    let (disk, _) = five();
    let whole = open(&disk).project;
    let file = store(&disk).open(Path::new(FILE)).unwrap().file;
    file.save(&whole).unwrap();
    drop(file);
    for with_journal in [true, false] {
        let disk = disk.restarted(1);
        if !with_journal {
            disk.delete(Path::new(JOURNAL));
            for path in disk.paths() {
                if path.to_string_lossy().contains("-backups") {
                    disk.delete(&path);
                }
            }
        }
        let taken = thinned(&disk, "genotypes", 1);
        assert!(taken > 3);
        let opened = open(&disk);
        let damage = opened.report.damage.clone().unwrap();
        let plants = damage
            .missing
            .iter()
            .find(|(kind, _)| *kind == RecordKind::Genotype);
        assert_eq!(plants.unwrap().1, taken, "{}", told(&opened));
        assert!(
            told(&opened).contains(&RecordKind::Genotype.counted(taken)),
            "{}",
            told(&opened)
        );
        drop(opened);
        // Gone on without them, it stays told, saved as often as one likes.
        let opened = store(&disk).go_on_without(Path::new(FILE)).unwrap();
        drop(opened);
        let mut opened = open(&disk);
        let edit = Edit::Settings(SettingsField::Name("on".into()));
        opened.project.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
        opened.file.save(&opened.project).unwrap();
        drop(opened);
        let opened = open(&disk);
        assert!(opened.report.is_damaged());
        assert!(
            told(&opened).contains(&RecordKind::Genotype.counted(taken)),
            "{}",
            told(&opened)
        );
    }
    // With its journal it is brought back whole.
    thinned(&disk, "genotypes", 1);
    let mended = store(&disk).bring_back(Path::new(FILE)).unwrap();
    assert!(mended.project == whole);
    drop(mended);
    assert!(!open(&disk).report.is_damaged());
}

/// One sentence for one cause, and the same count from whoever asks.
#[test]
fn a_file_cut_anywhere_is_told_in_few_sentences_with_one_number() {
    let (disk, _) = five();
    let opened = open(&disk);
    opened.file.save(&opened.project).unwrap();
    let whole = opened.project.clone();
    drop(opened);
    let bytes = disk.peek(Path::new(FILE)).unwrap();
    for share in [30, 55, 80, 97, 99] {
        disk.put(Path::new(FILE), &bytes[..bytes.len() * share / 100]);
        let reading = store(&disk).open_read_only(Path::new(FILE)).unwrap();
        let opened = open(&disk);
        let (read, seen) = (reading.report.damage.clone(), opened.report.damage.clone());
        let missing = whole.record_count() - opened.project.record_count();
        assert_eq!(
            seen.as_ref().map_or(0, store::Damage::count),
            missing,
            "{share} %"
        );
        assert_eq!(
            read.map(|it| it.missing),
            seen.map(|it| it.missing),
            "{share} %"
        );
        let sentences = opened.report.sentences();
        let count = sentences.iter().filter(|it| it.contains("damaged")).count();
        assert!(
            sentences.len() <= 4 && count <= 1,
            "{share} %: {sentences:?}"
        );
        let found = domain::findings::findings(&opened.project, "2027-01-01".parse().unwrap());
        let gone = found
            .iter()
            .filter(|it| it.what.contains("isn't there"))
            .count();
        assert!(gone <= 20, "{share} %: {gone}");
    }
}

/// Nothing but the file itself is left, and its end is gone: its beginning says what went with it.
#[test]
fn a_file_whose_end_is_cut_off_says_by_itself_how_many_of_each_kind_are_gone() {
    let (disk, _) = five();
    let opened = open(&disk);
    opened.file.save(&opened.project).unwrap();
    let whole = opened.project.clone();
    drop(opened);
    let bytes = disk.peek(Path::new(FILE)).unwrap();
    for share in [20, 40, 55, 80, 95] {
        let disk = ModelDisk::default();
        disk.put(Path::new(FILE), &bytes[..bytes.len() * share / 100]);
        let opened = open(&disk);
        let damage = opened.report.damage.as_ref().unwrap();
        assert!(damage.source.is_none(), "{share} %");
        let mut gone = 0;
        for kind in RecordKind::ALL {
            let missing = whole.count(*kind) - opened.project.count(*kind);
            let said = damage.missing.iter().find(|(of, _)| of == kind);
            assert_eq!(said.map_or(0, |(_, count)| *count), missing, "{share} %");
            gone += missing;
        }
        assert!(gone > 0, "{share} %");
        assert!(
            told(&opened).contains("are missing") && !told(&opened).contains("isn't known"),
            "{}",
            told(&opened)
        );
    }
    // A program of format 1.6 keeps the counts of an earlier state: they aren't believed.
    let text = String::from_utf8(bytes.clone()).unwrap();
    let stale = text.replacen("\"at\": 5", "\"at\": 4", 1);
    assert!(stale != text);
    disk.put(Path::new(FILE), &stale.as_bytes()[..bytes.len() * 55 / 100]);
    for path in disk.paths() {
        if path != Path::new(FILE) {
            disk.delete(&path);
        }
    }
    assert!(told(&open(&disk)).contains("isn't known"));
}

/// One count of two that is hurt is no loss, and taking away what the end says hides none.
#[test]
fn a_count_that_is_hurt_is_told_apart_from_records_that_are_gone() {
    let (disk, _) = five();
    let opened = open(&disk);
    opened.file.save(&opened.project).unwrap();
    let plants = opened.project.count(RecordKind::Genotype);
    drop(opened);
    for path in disk.paths() {
        if path != Path::new(FILE) {
            disk.delete(&path);
        }
    }
    let text = String::from_utf8(disk.peek(Path::new(FILE)).unwrap()).unwrap();
    let count = format!("\"genotypes\": {plants}");
    let more = format!("\"genotypes\": {}", plants + 100);
    let (first, last) = (text.find(&count).unwrap(), text.rfind(&count).unwrap());
    assert!(first < last);
    for at in [first, last] {
        let hurt = format!("{}{more}{}", &text[..at], &text[at + count.len()..]);
        disk.put(Path::new(FILE), hurt.as_bytes());
        let opened = open(&disk);
        assert!(opened.report.damage.is_none(), "{}", told(&opened));
        assert!(told(&opened).contains("changed outside"));
    }
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    file.as_object_mut().unwrap().remove("contents");
    let records = file["project"]["genotypes"].as_array_mut().unwrap();
    records.truncate(plants - 1);
    disk.put(Path::new(FILE), &serde_json::to_vec_pretty(&file).unwrap());
    let opened = open(&disk);
    let damage = opened.report.damage.as_ref().unwrap();
    assert_eq!(damage.missing, [(RecordKind::Genotype, 1)]);
}

#[test]
fn a_journal_changed_in_place_to_the_same_length_is_noticed_and_written_anew() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("season.binewright");
    let journal = folder.path().join("season.binewright-journal");
    let store = Store::new("Ida");
    drop(
        store
            .create(&path, &Project::default(), Existing::Keep)
            .unwrap(),
    );
    let mut opened = store.open(&path).unwrap();
    for n in 0..5 {
        let edit = Edit::Settings(SettingsField::Place(format!("Hill {n}")));
        opened.project.apply(edit.clone()).unwrap();
        opened.file.append(&edit).unwrap();
        opened.file.flush().unwrap();
    }
    let at = find(&std::fs::read(&journal).unwrap(), "Hill 3") as u64;
    // Long enough for the clock of the disk to have moved on.
    std::thread::sleep(std::time::Duration::from_millis(30));
    let mut other = std::fs::OpenOptions::new()
        .write(true)
        .open(&journal)
        .unwrap();
    other.seek(SeekFrom::Start(at)).unwrap();
    other.write_all(b"Dale").unwrap();
    drop(other);
    opened.file.is_changed_elsewhere().unwrap();
    assert_eq!(opened.file.acknowledged(), opened.file.last());
    let project = opened.project.clone();
    drop(opened);
    let again = store.open(&path).unwrap();
    assert!(again.project == project, "{}", told(&again));
}

/// Where there is room for little, the way back isn't pushed out of sight by the kinds that are missing.
#[test]
fn what_is_missing_is_told_briefly_with_the_same_number() {
    let (disk, _) = five();
    let opened = open(&disk);
    opened.file.save(&opened.project).unwrap();
    drop(opened);
    let bytes = disk.peek(Path::new(FILE)).unwrap();
    disk.put(Path::new(FILE), &bytes[..bytes.len() * 30 / 100]);
    let opened = open(&disk);
    let damage = opened.report.damage.as_ref().unwrap();
    assert!(damage.missing.len() > 4);
    let brief = damage.brief(|at| at.format("%H:%M").to_string());
    assert!(
        brief.ends_with("the journal has every missing record."),
        "{brief}"
    );
    assert!(brief.chars().count() < 140, "{brief}");
    let numbers = brief.split(|sign: char| !sign.is_ascii_digit());
    let sum: usize = numbers
        .filter_map(|number| number.parse::<usize>().ok())
        .sum();
    assert_eq!(sum, damage.count(), "{brief}");
}

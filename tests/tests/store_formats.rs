//! Files of every format number there ever was, and of those still to come.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::walk;
use domain::{Change, Edit, Project, RecordKind};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use store::document::{FORMAT_MAJOR, FORMAT_MINOR};
use store::journal::Sum;
use store::{Existing, Opened, ReadOnly, Store};

const FILE: &str = "/season.binewright";
const JOURNAL: &str = "/season.binewright-journal";
const FIRST_PROJECT: &[u8] = include_bytes!("../data/project-1.0.binewright");
const FIRST_JOURNAL: &[u8] = include_bytes!("../data/journal-1.0.binewright-journal");

fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data")
}

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

fn open(disk: &ModelDisk) -> Opened {
    store(disk).open(Path::new(FILE)).unwrap()
}

/// Every format number up to this program's has its file, and each opens whole.
#[test]
fn a_file_of_every_format_number_opens_whole_and_is_carried_forward() {
    let mut numbers = BTreeSet::new();
    for entry in fs::read_dir(data()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        let Some(number) = name
            .strip_prefix("project-")
            .and_then(|rest| rest.strip_suffix(".binewright"))
        else {
            continue;
        };
        let bytes = fs::read(&path).unwrap();
        let before: Value = serde_json::from_slice(&bytes).unwrap();
        let (major, minor) = (&before["format"]["major"], &before["format"]["minor"]);
        assert_eq!(number, format!("{major}.{minor}"), "{name}");
        numbers.insert((major.as_u64().unwrap(), minor.as_u64().unwrap()));
        let disk = ModelDisk::default();
        disk.put(Path::new(FILE), &bytes);
        let opened = open(&disk);
        assert!(
            opened.report.is_quiet(),
            "{name}: {:?}",
            opened.report.sentences()
        );
        assert_eq!(opened.project.broken_rules(), [], "{name}");
        let records: usize = RecordKind::ALL
            .iter()
            .filter_map(|kind| before["project"][kind.table()].as_array())
            .map(Vec::len)
            .sum();
        assert_eq!(opened.project.record_count(), records, "{name}");
        opened.file.save(&opened.project).unwrap();
        let saved = disk.peek(Path::new(FILE)).unwrap();
        let after: Value = serde_json::from_slice(&saved).unwrap();
        assert_eq!(after["format"]["major"], FORMAT_MAJOR, "{name}");
        assert_eq!(after["format"]["minor"], FORMAT_MINOR, "{name}");
        let project = opened.project.clone();
        drop(opened);
        assert!(open(&disk).project == project, "{name}");
    }
    for minor in 0..=u64::from(FORMAT_MINOR) {
        assert!(
            numbers.contains(&(FORMAT_MAJOR.into(), minor)),
            "tests/data has no file of format {FORMAT_MAJOR}.{minor}"
        );
    }
    let majors: BTreeSet<u64> = numbers.iter().map(|(major, _)| *major).collect();
    assert_eq!(majors.len(), FORMAT_MAJOR as usize);
}

/// A program with records of every kind, and the journal of how it came to be.
fn every_kind() -> (Vec<u8>, Vec<u8>) {
    let lacks = |project: &Project| {
        let tables = serde_json::to_value(project).unwrap();
        let filled = |kind: &&RecordKind| {
            let rows = tables.get(kind.table()).and_then(Value::as_array);
            rows.is_none_or(Vec::is_empty)
        };
        RecordKind::ALL.iter().filter(filled).count()
    };
    let walks = (0..200).map(|seed| {
        let mut dice = Dice::new(seed);
        walk(&(0..160).map(|_| dice.roll()).collect::<Vec<_>>())
    });
    let walk = walks.min_by_key(|walk| lacks(&walk.project)).unwrap();
    assert_eq!(lacks(&walk.project), 0);
    let disk = ModelDisk::default();
    let file = store(&disk)
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap();
    for edit in &walk.edits {
        file.append(edit).unwrap();
    }
    file.save(&walk.project).unwrap();
    drop(file);
    let peek = |path| disk.peek(Path::new(path)).unwrap();
    (peek(FILE), peek(JOURNAL))
}

/// The file of this program's number is one with records of every kind. After the number was raised it is written by
/// `UPDATE_SCHEMA=true`, and never again.
#[test]
fn the_file_of_this_format_has_records_of_every_kind() {
    let number = format!("{FORMAT_MAJOR}.{FORMAT_MINOR}");
    let path = data().join(format!("project-{number}.binewright"));
    let journal = data().join(format!("journal-{number}.binewright-journal"));
    if std::env::var_os("UPDATE_SCHEMA").is_some() && !path.exists() {
        let (file, edits) = every_kind();
        fs::write(&path, file).unwrap();
        fs::write(&journal, edits).unwrap();
    }
    let file: Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    for kind in RecordKind::ALL {
        let rows = file["project"].get(kind.table()).and_then(Value::as_array);
        assert!(
            rows.is_some_and(|rows| !rows.is_empty()),
            "no {}",
            kind.noun()
        );
    }
    // Its journal leads from nothing to just what the file holds.
    let disk = ModelDisk::default();
    let opened = {
        disk.put(Path::new(FILE), &fs::read(&path).unwrap());
        disk.put(Path::new(JOURNAL), &fs::read(&journal).unwrap());
        open(&disk)
    };
    assert!(opened.report.is_quiet(), "{:?}", opened.report.sentences());
    let last = opened.file.last();
    let replayed = store(&disk).project_at(Path::new(FILE), last).unwrap();
    assert!(replayed.unwrap() == opened.project);
}

/// The journal was written by the first version of the format and is never to be changed.
#[test]
fn a_journal_of_the_first_format_is_replayed_whole() {
    let disk = ModelDisk::default();
    let text = std::str::from_utf8(FIRST_JOURNAL).unwrap();
    let head: Value = serde_json::from_str(text.lines().next().unwrap()).unwrap();
    let file = json!({
        "format": {"name": "binewright project", "major": 1, "minor": 0},
        "journal": head["start"],
        "project": {},
    });
    disk.put(Path::new(FILE), file.to_string().as_bytes());
    disk.put(Path::new(JOURNAL), FIRST_JOURNAL);
    let opened = open(&disk);
    let lines = text.lines().count() - 1;
    assert_eq!(opened.report.recovered.unwrap().changes, lines);
    assert_eq!(
        opened.report.sentences().len(),
        1,
        "{:?}",
        opened.report.sentences()
    );
    assert_eq!(opened.project.broken_rules(), []);
    let tables = serde_json::to_value(&opened.project).unwrap();
    let first: Value = serde_json::from_slice(FIRST_PROJECT).unwrap();
    let of_then = |kind: &&RecordKind| first["project"].get(kind.table()).is_some();
    for kind in RecordKind::ALL.iter().filter(of_then) {
        assert!(
            !tables[kind.table()].as_array().unwrap().is_empty(),
            "no {}",
            kind.noun()
        );
    }
}

/// Seals a line of a journal as a newer program would.
fn line(n: usize, after: Sum, edit: &Value) -> (String, Sum) {
    let text = format!(
        r#"{{"n":{n},"after":"{after}","at":"2027-01-01T00:00:00.000Z","by":"Ida","edit":{edit}"#
    );
    let sum = Sum::of(text.as_bytes());
    (format!("{text},\"sum\":\"{sum}\"}}\n"), sum)
}

/// A project with some edits in its journal and none in its file.
fn begun() -> (ModelDisk, Project, Vec<u8>) {
    let disk = ModelDisk::default();
    let file = store(&disk)
        .create(Path::new(FILE), &Project::default(), Existing::Keep)
        .unwrap();
    let walk = walk(&[1, 2, 3, 1 << 50, 77]);
    for edit in &walk.edits {
        file.append(edit).unwrap();
    }
    drop(file);
    let journal = disk.peek(Path::new(JOURNAL)).unwrap();
    (disk, walk.project, journal)
}

/// A newer program gave plants a field. Making its edit here would lose that field at the next save.
#[test]
fn an_edit_with_a_field_that_only_a_newer_program_knows_makes_it_read_only() {
    let (disk, project, mut journal) = begun();
    let plant = domain::Genotype::new(
        domain::IdSource::new(1_900_000_000_000, 1).next(),
        "Scented",
        domain::Origin::Unknown,
    );
    let mut edit = serde_json::to_value(Edit::from(Change::Add(plant))).unwrap();
    edit["genotype"]["add"]["aroma"] = json!(["citrus"]);
    let n = String::from_utf8_lossy(&journal).lines().count();
    let last = &journal[journal.len() - 11..journal.len() - 3];
    let last = Sum(u32::from_str_radix(std::str::from_utf8(last).unwrap(), 16).unwrap());
    let (text, _) = line(n, last, &edit);
    journal.extend_from_slice(text.as_bytes());
    disk.put(Path::new(JOURNAL), &journal);
    let opened = open(&disk);
    assert_eq!(
        opened.report.read_only,
        Some(ReadOnly::NewerChanges(n as u64))
    );
    assert!(opened.project == project);
    let told = opened.report.sentences().join(" ");
    assert!(
        told.contains("A newer Binewright made changes to it"),
        "{told}"
    );
    drop(opened);
    assert_eq!(disk.peek(Path::new(JOURNAL)).unwrap(), journal);
}

#[test]
fn a_journal_that_a_newer_program_began_is_left_alone_and_makes_it_read_only() {
    let (disk, _, journal) = begun();
    let text = String::from_utf8(journal).unwrap();
    let newer = text.replacen(r#""major":1"#, r#""major":2"#, 1);
    disk.put(Path::new(JOURNAL), newer.as_bytes());
    let opened = open(&disk);
    assert_eq!(opened.report.read_only, Some(ReadOnly::NewerFormat(2)));
    assert!(opened.file.save(&opened.project).is_err());
    drop(opened);
    assert_eq!(disk.peek(Path::new(JOURNAL)).unwrap(), newer.as_bytes());
}

/// A field written by hand, or by another program, without raising the number.
#[test]
fn what_this_program_does_not_know_survives_in_a_file_of_its_own_number() {
    let mut dice = Dice::new(6);
    let choices: Vec<u64> = (0..80).map(|_| dice.roll()).collect();
    let disk = ModelDisk::default();
    let path = Path::new(FILE);
    drop(
        store(&disk)
            .create(path, &walk(&choices).project, Existing::Keep)
            .unwrap(),
    );
    let mut file: Value = serde_json::from_slice(&disk.peek(path).unwrap()).unwrap();
    file["project"]["genotypes"][0]["aroma"] = json!("resin");
    file["project"]["settings"]["altitude"] = json!(412);
    file["project"]["protocols"][0]["regimen"]["humidity"] = json!(0.85);
    let before = serde_json::to_vec_pretty(&file).unwrap();
    disk.put(path, &before);
    let opened = open(&disk);
    let told = opened.report.sentences();
    assert!(
        told.len() == 1 && told[0].contains("changed outside the program"),
        "{told:?}"
    );
    opened.file.save(&opened.project).unwrap();
    let mut after: Value = serde_json::from_slice(&disk.peek(path).unwrap()).unwrap();
    for file in [&mut file, &mut after] {
        file.as_object_mut().unwrap().remove("contents");
    }
    assert_eq!(after, file);
}

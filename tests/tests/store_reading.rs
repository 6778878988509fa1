//! Files from other versions, damaged files, and files that are none.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::walk;
use domain::record::genotype::GenotypeField;
use domain::record::settings::SettingsField;
use domain::{Edit, Genotype, Project};
use serde_json::{Value, json};
use std::path::Path;
use std::sync::Arc;
use store::{Existing, Opened, QuarantineReason, ReadOnly, Store, StoreError};

const FILE: &str = "/season.binewright";
const FIRST_FORMAT: &[u8] = include_bytes!("../data/project-1.0.binewright");

fn store(disk: &ModelDisk) -> Store {
    Store::with_files("Ida", Arc::new(disk.clone()))
}

fn open(bytes: &[u8]) -> Result<(ModelDisk, Opened), StoreError> {
    let disk = ModelDisk::default();
    disk.put(Path::new(FILE), bytes);
    let opened = store(&disk).open(Path::new(FILE))?;
    Ok((disk, opened))
}

/// Opened for writing, be it without what is missing.
fn open_anyway(bytes: &[u8]) -> Result<(ModelDisk, Opened), StoreError> {
    let (disk, opened) = open(bytes)?;
    if opened.report.damage.is_none() {
        return Ok((disk, opened));
    }
    assert_eq!(opened.report.read_only, Some(ReadOnly::Damaged));
    let opened = store(&disk).go_on_without(Path::new(FILE))?;
    assert_eq!(opened.report.losses.len(), 1);
    Ok((disk, opened))
}

/// A project with something in every table, and its file.
fn rich() -> (Project, Vec<u8>) {
    let mut dice = Dice::new(5);
    let choices: Vec<u64> = (0..300).map(|_| dice.roll()).collect();
    let project = walk(&choices).project;
    let disk = ModelDisk::default();
    store(&disk)
        .create(Path::new(FILE), &project, Existing::Keep)
        .unwrap();
    let bytes = disk.peek(Path::new(FILE)).unwrap();
    (project, bytes)
}

fn changed(bytes: &[u8], change: impl FnOnce(&mut Value)) -> Vec<u8> {
    let mut value: Value = serde_json::from_slice(bytes).unwrap();
    change(&mut value);
    serde_json::to_vec_pretty(&value).unwrap()
}

fn saved(disk: &ModelDisk, opened: &Opened) -> Value {
    opened.file.save(&opened.project).unwrap();
    serde_json::from_slice(&disk.peek(Path::new(FILE)).unwrap()).unwrap()
}

/// The file was written by the first version of the format and is never to be changed. Saved again it holds the same,
/// and the tables of kinds that came since, empty.
#[test]
fn format_1_0_opens_whole_and_is_saved_with_nothing_lost() {
    let (disk, opened) = open(FIRST_FORMAT).unwrap();
    assert!(opened.report.is_quiet(), "{:?}", opened.report.sentences());
    let project = &opened.project;
    assert_eq!(project.settings().name, "Lower meadow");
    let first: Value = serde_json::from_slice(FIRST_FORMAT).unwrap();
    let mut again = saved(&disk, &opened);
    for kind in domain::RecordKind::ALL {
        let table = kind.table();
        let records = again["project"][table].as_array().unwrap().len();
        let is_new = first["project"].get(table).is_none();
        assert_eq!(records == 0, is_new, "{}", kind.noun());
        if is_new {
            let tables = again["project"].as_object_mut().unwrap();
            tables.remove(table);
        }
    }
    assert_eq!(project.broken_rules(), []);
    again["format"]["minor"] = json!(0);
    for count in ["counts", "contents"] {
        again.as_object_mut().unwrap().remove(count);
    }
    assert_eq!(again, first);
}

/// A number that no project reaches, put there by a hand or a flipped bit.
#[test]
fn a_number_of_changes_beyond_counting_keeps_no_edit_from_the_disk() {
    let (_, bytes) = rich();
    for sequence in [u64::MAX, u64::MAX - 1, 1 << 60] {
        let bytes = changed(&bytes, |file| {
            file["journal"]["sequence"] = sequence.into();
        });
        let (disk, mut opened) = open_anyway(&bytes).unwrap();
        for place in ["Meadow", "Hill"] {
            let edit = Edit::Settings(SettingsField::Place(place.into()));
            opened.project.apply(edit.clone()).unwrap();
            opened.file.append(&edit).unwrap();
        }
        opened.file.save(&opened.project).unwrap();
        let place = &saved(&disk, &opened)["project"]["settings"]["place"];
        assert_eq!(place, "Hill", "{sequence}");
    }
}

#[test]
fn opening_writes_nothing() {
    let (disk, opened) = open(FIRST_FORMAT).unwrap();
    drop(opened);
    assert_eq!(disk.paths(), [Path::new(FILE)]);
    assert_eq!(disk.peek(Path::new(FILE)).unwrap(), FIRST_FORMAT);
}

#[test]
fn a_record_that_cannot_be_read_is_set_aside_told_and_written_back() {
    let (project, bytes) = rich();
    let plants = project.genotypes().len();
    let bytes = changed(&bytes, |file| {
        file["project"]["genotypes"][3]["ploidy"] = json!("many");
        file["project"]["genotypes"][3]["code"] = json!("X-17");
        file["project"]["counts"][0] = json!("a count");
    });
    let (disk, opened) = open(&bytes).unwrap();
    assert_eq!(opened.project.genotypes().len(), plants - 1);
    let told = &opened.report.quarantined;
    assert_eq!(told.len(), 2);
    let plant = told.iter().find(|each| each.table == "genotypes").unwrap();
    assert_eq!((plant.index, plant.code().as_deref()), (3, Some("X-17")));
    assert_eq!(plant.kind(), Some(domain::RecordKind::Genotype));
    assert!(
        plant.id().is_some()
            && matches!(&plant.why, QuarantineReason::Unreadable(what) if what.contains("many"))
    );
    let file = saved(&disk, &opened);
    assert_eq!(file["set_aside"][1]["record"]["ploidy"], "many");
    assert_eq!(file["set_aside"][0]["record"], "a count");
    drop(opened);
    // The damaged original is kept to the byte, and the new file is stable.
    let kept: Vec<_> = disk
        .paths()
        .into_iter()
        .filter(|path| path.to_string_lossy().contains(".damaged-"))
        .collect();
    assert_eq!(kept.len(), 1);
    assert_eq!(disk.peek(&kept[0]).unwrap(), bytes);
    let before = disk.peek(Path::new(FILE)).unwrap();
    let again = store(&disk).open(Path::new(FILE)).unwrap();
    assert_eq!(again.report.quarantined.len(), 2);
    again.file.save(&again.project).unwrap();
    assert_eq!(disk.peek(Path::new(FILE)).unwrap(), before);
}

#[test]
fn what_was_set_aside_comes_back_when_it_can_be_read() {
    let (project, bytes) = rich();
    let bytes = changed(&bytes, |file| {
        let plants = file["project"]["genotypes"].as_array_mut().unwrap();
        let plant = plants.remove(2);
        file["set_aside"] = json!([{"table": "genotypes", "index": 2, "why": {"unreadable": "new"}, "record": plant}]);
    });
    let (_, opened) = open(&bytes).unwrap();
    assert!(opened.project == project);
    assert!(opened.report.quarantined.is_empty());
    assert_eq!(opened.report.notes.len(), 1);
}

#[test]
fn of_two_records_with_one_identity_the_first_stays_and_the_other_is_kept_aside() {
    let (project, bytes) = rich();
    let bytes = changed(&bytes, |file| {
        let plants = file["project"]["genotypes"].as_array_mut().unwrap();
        let mut twin = plants[0].clone();
        twin["code"] = json!("Twin");
        plants.push(twin);
    });
    let (disk, opened) = open(&bytes).unwrap();
    assert!(opened.project == project);
    assert_eq!(
        opened.report.quarantined[0].why,
        QuarantineReason::Duplicate
    );
    assert_eq!(
        saved(&disk, &opened)["set_aside"][0]["record"]["code"],
        "Twin"
    );
    drop(opened);
    let again = store(&disk).open(Path::new(FILE)).unwrap();
    assert_eq!(again.report.quarantined.len(), 1);
}

#[test]
fn settings_that_cannot_be_read_do_not_take_the_others_along() {
    let (_, bytes) = rich();
    let bytes = changed(&bytes, |file| {
        file["project"]["settings"]["hemisphere"] = json!("flat");
    });
    let (disk, opened) = open(&bytes).unwrap();
    assert_eq!(opened.project.settings().name, "Random");
    assert_eq!(opened.report.quarantined[0].table, "settings");
    assert_eq!(
        saved(&disk, &opened)["set_aside"][0]["record"]["hemisphere"],
        "flat"
    );
}

#[test]
fn what_a_newer_minor_version_added_survives() {
    let (project, bytes) = rich();
    let bytes = changed(&bytes, |file| {
        file["format"]["minor"] = json!(8);
        file["weather"] = json!({"station": "roof"});
        let project = &mut file["project"];
        project["hills"] = json!([{"id": "h1", "row": 3}]);
        project["settings"]["altitude"] = json!(412.5);
        project["settings"]["cross_timing"]["dew_point"] = json!(7);
        project["genotypes"][1]["aroma"] = json!(["citrus", "resin"]);
        project["genotypes"][1]["code"] = json!("Scented");
        project["protocols"][0]["regimen"]["humidity"] = json!(0.85);
    });
    let (disk, mut opened) = open(&bytes).unwrap();
    assert!(opened.report.read_only.is_none() && opened.report.quarantined.is_empty());
    // Changes made here win; what isn't known here stays beside them.
    let plant = opened.project.genotypes().iter().nth(1).unwrap().id;
    let rename = Edit::set::<Genotype>(plant, GenotypeField::Code("Renamed".into()));
    opened.project.apply(rename.clone()).unwrap();
    opened.file.append(&rename).unwrap();
    let file = saved(&disk, &opened);
    assert_eq!(file["format"]["minor"], 8);
    assert_eq!(file["weather"]["station"], "roof");
    assert_eq!(file["project"]["hills"][0]["row"], 3);
    assert_eq!(file["project"]["settings"]["altitude"], 412.5);
    assert_eq!(file["project"]["settings"]["cross_timing"]["dew_point"], 7);
    assert_eq!(file["project"]["genotypes"][1]["aroma"][1], "resin");
    assert_eq!(file["project"]["genotypes"][1]["code"], "Renamed");
    assert_eq!(file["project"]["protocols"][0]["regimen"]["humidity"], 0.85);
    assert_eq!(opened.project.genotypes().len(), project.genotypes().len());
    drop(opened);
    // And the file is stable from then on.
    let before = disk.peek(Path::new(FILE)).unwrap();
    let again = store(&disk).open(Path::new(FILE)).unwrap();
    again.file.save(&again.project).unwrap();
    assert_eq!(disk.peek(Path::new(FILE)).unwrap(), before);
}

#[test]
fn a_newer_major_version_opens_for_reading_only() {
    let (project, bytes) = rich();
    let bytes = changed(&bytes, |file| {
        file["format"]["major"] = json!(2);
        file["project"]["genotypes"][0]["code"] = json!({"text": "new way"});
    });
    let (disk, opened) = open(&bytes).unwrap();
    assert_eq!(opened.report.read_only, Some(ReadOnly::NewerFormat(2)));
    assert_eq!(
        opened.project.genotypes().len(),
        project.genotypes().len() - 1
    );
    let refused = opened.file.save(&opened.project).unwrap_err();
    assert!(matches!(refused, StoreError::ReadOnly { .. }), "{refused}");
    assert!(
        refused.to_string().contains("newer Binewright"),
        "{refused}"
    );
    assert_eq!(disk.peek(Path::new(FILE)).unwrap(), bytes);
}

#[test]
fn files_that_are_no_project_are_refused_with_a_sentence() {
    let deep = "[".repeat(100_000);
    let nested = format!(
        r#"{{"format":{{"name":"binewright project","major":1,"minor":0}},"project":{deep}"#
    );
    let others: [&[u8]; 10] = [
        b"",
        b"{}",
        b"null",
        b"[1, 2]",
        b"\xFF\xFE\x00binary",
        b"code,female,male\nA,B,C\n",
        br#"{"format": {"name": "orchard", "major": 1, "minor": 0}}"#,
        br#"{"format": {"name": "binewright project", "major": 0, "minor": 0}}"#,
        deep.as_bytes(),
        nested.as_bytes(),
    ];
    for bytes in others {
        match open(bytes) {
            Err(StoreError::NotAProject { why, .. }) => assert!(!why.is_empty()),
            Err(other) => panic!("{other}"),
            Ok(_) => panic!(
                "opened: {}",
                String::from_utf8_lossy(&bytes[..bytes.len().min(80)])
            ),
        }
    }
}

#[test]
fn a_claim_of_a_million_rows_is_one_thing_that_cannot_be_read() {
    let (project, bytes) = rich();
    let text = String::from_utf8(bytes).unwrap();
    let rows = "1,".repeat(1_000_000);
    let absurd = text.replacen("\"tasks\": [", &format!("\"tasks\": [{rows}"), 1);
    let (_, opened) = open(absurd.as_bytes()).unwrap();
    assert_eq!(opened.report.quarantined.len(), 1);
    let lost = project.record_count() - opened.project.record_count();
    assert_eq!(lost, project.tasks().len());
}

#[test]
fn a_file_beyond_the_bound_is_not_even_read() {
    let disk = ModelDisk::default();
    disk.put(Path::new(FILE), FIRST_FORMAT);
    let refused = store(&disk)
        .reading_at_most(1000)
        .open(Path::new(FILE))
        .unwrap_err();
    assert!(
        matches!(refused, StoreError::TooLarge { most: 1000, .. }),
        "{refused}"
    );
}

#[test]
fn a_file_cut_anywhere_opens_with_the_records_before_the_cut() {
    let (project, bytes) = rich();
    let total = project.record_count();
    let mut most = 0;
    for length in (0..bytes.len()).step_by(997) {
        if let Ok((_, opened)) = open(&bytes[..length]) {
            let there = opened.project.record_count();
            assert!(
                there >= most && there <= total,
                "{there} of {total} after {most}"
            );
            assert!(!opened.report.is_quiet());
            most = there;
        }
    }
    assert!(most > total * 9 / 10);
}

#[test]
fn a_bad_sector_costs_the_records_it_touches_and_no_others() {
    let (project, bytes) = rich();
    let mut dice = Dice::new(8);
    for _ in 0..60 {
        let mut damaged = bytes.clone();
        // Not in the first lines, which say what the file is.
        let from = 2000 + dice.below(bytes.len() - 3000);
        let fill = if dice.one_in(2) { 0 } else { dice.roll() as u8 };
        damaged[from..from + 512].fill(fill);
        let (disk, opened) = open_anyway(&damaged).unwrap();
        let lost = project.record_count() - opened.project.record_count();
        assert!(
            lost <= 12,
            "{lost} records lost, {from} {fill}: {:?}\n{}",
            opened.report.sentences(),
            String::from_utf8_lossy(&bytes[from - 100..from + 700])
        );
        assert!(!opened.report.is_quiet());
        opened.file.save(&opened.project).unwrap();
        assert!(
            disk.paths()
                .iter()
                .any(|path| disk.peek(path).unwrap() == damaged)
        );
    }
}

#[test]
fn no_flipped_byte_makes_it_panic_or_lose_the_original() {
    let (_, bytes) = rich();
    let mut dice = Dice::new(9);
    for _ in 0..200 {
        let mut damaged = bytes.clone();
        for _ in 0..=dice.below(3) {
            damaged[dice.below(bytes.len())] = dice.roll() as u8;
        }
        if let Ok((disk, opened)) = open_anyway(&damaged) {
            opened.file.save(&opened.project).unwrap();
            let quiet = opened.report.is_quiet();
            let kept = disk
                .paths()
                .iter()
                .any(|path| disk.peek(path).unwrap() == damaged);
            // A flip of nothing, or of a sign between the fields.
            let same = damaged == bytes;
            assert!(same || (kept && !quiet), "{:?}", opened.report.sentences());
        }
    }
}

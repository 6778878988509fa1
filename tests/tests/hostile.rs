//! What the fuzz targets ask of any bytes, asked of a few in every run, so that the targets don't rot: seeds as
//! they are, cut, joined, repeated, with bytes changed. And one test for each fault that they found.
//!
//! With `BINEWRIGHT_SEEDS=FOLDER` the seeds are written there, for the fuzz targets to begin from.

#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use binewright_tests::dice::Dice;
use binewright_tests::hostile;
use binewright_tests::model_disk::ModelDisk;
use binewright_tests::random_edits::walk;
use std::path::Path;
use std::sync::Arc;
use store::{Existing, Store};

/// So many inputs for each target in a default run; more with `BINEWRIGHT_HOSTILE=20000`.
fn times() -> usize {
    std::env::var("BINEWRIGHT_HOSTILE").map_or(150, |text| text.parse().unwrap())
}

/// Gives a target inputs made from seeds.
fn throw(name: &str, seeds: &[Vec<u8>], target: fn(&[u8])) {
    for (nth, seed) in seeds.iter().enumerate() {
        if let Some(folder) = std::env::var_os("BINEWRIGHT_SEEDS") {
            let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("..")
                .join(folder)
                .join(name);
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(folder.join(format!("seed-{nth}")), seed).unwrap();
        }
        target(seed);
    }
    let mut dice = Dice::new(2026);
    for _ in 0..times() {
        let mut bytes = seeds[dice.below(seeds.len())].clone();
        for _ in 0..=dice.below(3) {
            change(&mut bytes, &mut dice, seeds);
        }
        target(&bytes);
    }
}

fn change(bytes: &mut Vec<u8>, dice: &mut Dice, seeds: &[Vec<u8>]) {
    let tokens: [&[u8]; 12] = [
        b"null",
        b"-1",
        b"1e999",
        b"18446744073709551616",
        b"{}",
        b"[",
        b"\"",
        b"\xFF\xFE",
        b"\0",
        b"\n",
        b",",
        b"../../x",
    ];
    let (from, length) = (dice.below(bytes.len() + 1), dice.below(60));
    let to = (from + length).min(bytes.len());
    match dice.below(6) {
        0 => bytes.truncate(from),
        1 => drop(bytes.drain(from..to)),
        2 => bytes
            .splice(from..to, dice.pick(&tokens).unwrap().iter().copied())
            .for_each(drop),
        3 => {
            let part = bytes[from..to].to_vec();
            let at = dice.below(bytes.len() + 1);
            drop(bytes.splice(at..at, part));
        }
        4 => {
            let other = &seeds[dice.below(seeds.len())];
            let at = dice.below(other.len() + 1);
            bytes.truncate(from);
            bytes.extend_from_slice(&other[at..]);
        }
        _ => bytes[from..to]
            .iter_mut()
            .step_by(7)
            .for_each(|byte| *byte = dice.roll() as u8),
    }
}

fn file_of(choices: u64) -> Vec<u8> {
    let mut dice = Dice::new(choices);
    let choices: Vec<u64> = (0..choices).map(|_| dice.roll()).collect();
    let disk = ModelDisk::default();
    let path = Path::new("/season.binewright");
    let store = Store::with_files("Ida", Arc::new(disk.clone()));
    drop(
        store
            .create(path, &walk(&choices).project, Existing::Keep)
            .unwrap(),
    );
    disk.peek(path).unwrap()
}

#[test]
fn any_bytes_as_a_project() {
    let aside = br#"{"format":{"name":"binewright project","major":1,"minor":0},
"journal":{"id":"01a211a5-0a53-7f88-9c07-2d62695d69a8","sequence":0,"sum":"00000000"},
"project":{"genotypes":[{"id":1},{"code":"A"}],"hills":[{"id":"h"}],"counts":7},
"set_aside":[{"table":"genotypes","index":0,"why":"duplicate","record":{"id":2}}],"weather":[1]}"#;
    throw(
        "project_file",
        &[file_of(0), file_of(40), aside.to_vec()],
        hostile::project_file,
    );
}

#[test]
fn any_bytes_as_a_journal() {
    let edits = walk(&[9, 1 << 33, 4, 7 << 20, 12345, 99]).edits;
    let mut lines = vec![1];
    for edit in &edits {
        lines.extend(serde_json::to_vec(edit).unwrap());
        lines.push(b'\n');
    }
    throw("journal", &[lines, vec![0]], hostile::journal);
}

#[test]
fn any_choices_of_edits() {
    let mut dice = Dice::new(4);
    let seed: Vec<u8> = (0..400).map(|_| dice.roll() as u8).collect();
    throw("edits", &[seed], hostile::edits);
}

#[test]
fn any_two_copies() {
    let mut dice = Dice::new(14);
    let mut choices = vec![1];
    choices.extend((0..600).map(|_| dice.roll() as u8));
    let files = [&[0][..], &file_of(20), &[0], &file_of(30)].concat();
    throw("two_copies", &[choices, files], hostile::two_copies);
}

#[test]
fn a_loggers_file_of_any_bytes_is_accounted_for() {
    let plain =
        b"\0\0\0\0\0\0\x01\0Time,Temp C\n2026-01-05 08:00,3.5\n2026-01-05 08:30,-0,5\n".to_vec();
    let other = "\0\x01\x05\0\x05\x01\x02\x07Logger 20417\nNo;Date;Time;Temp (\u{b0}F)\n1;05.01.2026;8:00 PM;38,5\n2;05.01.2026;8:30 PM;---\n";
    throw(
        "logger",
        &[plain, other.as_bytes().to_vec()],
        hostile::logger,
    );
}

/// Tables of each kind, in text and in workbooks, and the workbook of a whole project.
#[test]
fn any_bytes_as_tables_to_import() {
    let project = walk(&[5, 8, 13, 21, 34, 55, 89, 144]).project;
    let mut seeds = vec![
        b"code;mother;father;ploidy\nA1;;;2x\nB2;A1;?;\nC3;B2;A1;3x\n".to_vec(),
        b"plant,date,alpha acids (%),vigour\nA1,03/04/05,\"1,234\",7\nB2,2026-09-04,=1+2,x\n"
            .to_vec(),
        "code\tpedigree\nN1\tA / B // C\nN2\tA*2/B\n"
            .as_bytes()
            .to_vec(),
    ];
    for kind in domain::import::TableKind::ALL {
        let table = paper::tables::table(&project, kind);
        seeds.push(table.csv().into_bytes());
        seeds.push(exchange::sheets::xlsx(&[table]).unwrap());
    }
    let sheets = paper::workbook::sheets(&project).unwrap();
    seeds.push(exchange::sheets::xlsx(&sheets).unwrap());
    throw("imports", &seeds, hostile::imports);
}

#[test]
fn any_bytes_as_tables() {
    let pedigree = include_bytes!("../../examples/pedigree.csv").to_vec();
    let both = [&pedigree[..], b"\0id;Year;yield\nBRW;2024;3,5\nORL;2025;\n"].concat();
    throw("tables", &[pedigree, both], hostile::tables);
}

/// Of two records with one identity, the one set aside lent its fields to the one that stayed, and the file saved was
/// another project. Found by `project_file`.
#[test]
fn a_twin_set_aside_lends_no_field_to_the_record_that_stays() {
    let bytes = file_of(40);
    let mut file: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
    let plants = file["project"]["genotypes"].as_array_mut().unwrap();
    let mut twin = plants[0].clone();
    plants[0].as_object_mut().unwrap().remove("location");
    twin["location"] = "lent".into();
    plants.push(twin);
    hostile::project_file(&serde_json::to_vec_pretty(&file).unwrap());
}

/// What was set aside stood under a name that a part of the file had already, and was gone when the file was opened
/// again. Found by `project_file`.
#[test]
fn what_is_set_aside_is_not_lost_beside_entries_that_cannot_be_read() {
    for entry in [
        r#"[{"table":"genotypeg","itdex":0,"why":"duplicate","record":{"id":2}}]"#,
        r#"{"table":"genotypes"}"#,
        "7",
    ] {
        let file = format!(
            r#"{{"format":{{"name":"binewright project","major":1,"minor":0}},
"project":{{"genotypes":[{{"id":1}},{{"code":"A"}}],"counts":7}},
"set_aside":{entry}}}"#
        );
        hostile::project_file(file.as_bytes());
    }
}

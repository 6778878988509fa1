//! What the program writes, read by libraries of another language: Python's csv, openpyxl and icalendar. Run it with
//! the feature `python` (see DEVELOPERS.md).

#![cfg(feature = "python")]
#![expect(
    clippy::unwrap_used,
    reason = "a test may stop at what it did not foresee"
)]

use chrono::NaiveDate;
use domain::date::shift;
use domain::import::TableKind;
use domain::{Edit, Genotype, IdSource, Origin};
use exchange::sheets::xlsx;
use paper::{agenda, passport, tables, workbook};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;

#[test]
fn csv_workbooks_passports_and_calendars_are_read_by_python() {
    let today = NaiveDate::from_ymd_opt(2026, 5, 20).unwrap();
    let mut project = sample::sample_project(today).unwrap();
    let mut ids = IdSource::new(1_790_000_000_000, 3);
    for code in ["=1+2", "two \"quotes\", and a comma", "Größe 🌿", "007"] {
        let plant = Genotype::new(ids.next(), code, Origin::Unknown);
        project.apply(Edit::add(plant)).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, bytes: &[u8]| fs::write(folder.path().join(name), bytes).unwrap();
    let plants = tables::table(&project, TableKind::Plants);
    let observations = tables::table(&project, TableKind::Observations);
    let accessions = passport::table(&project, "XYZ001").unwrap();
    let sheets = workbook::sheets(&project).unwrap();
    let days = (shift(today, -60), shift(today, 365));
    let text = agenda::calendar(&project, days, today, today.into());
    write("plants.csv", plants.csv().as_bytes());
    write("passport.csv", accessions.csv().as_bytes());
    write(
        "observations.xlsx",
        &xlsx(std::slice::from_ref(&observations)).unwrap(),
    );
    write("project.xlsx", &xlsx(&sheets).unwrap());
    write("agenda.ics", text.as_bytes());

    let python = std::env::var("BINEWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/read_exports.py");
    let ran = Command::new(python)
        .arg(script)
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(
        ran.status.success(),
        "{}",
        String::from_utf8_lossy(&ran.stderr)
    );
    let told: Value = serde_json::from_slice(&ran.stdout).unwrap();

    // Text tables: as many rows, each cell as it was written; what would run is guarded by an apostrophe.
    for (name, table) in [("plants", &plants), ("passport", &accessions)] {
        let read = &told[name];
        assert_eq!(read["header"], serde_json::json!(table.header), "{name}");
        let rows = read["rows"].as_array().unwrap();
        assert_eq!(rows.len(), table.rows.len(), "{name}");
        for (row, written) in rows.iter().zip(&table.rows) {
            for (cell, written) in row.as_array().unwrap().iter().zip(written) {
                let (cell, plain) = (cell.as_str().unwrap(), written.plain());
                assert!(
                    cell == plain || cell.strip_prefix('\'') == Some(&plain),
                    "{cell}"
                );
            }
        }
    }
    let codes: BTreeSet<&str> = told["plants"]["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row[0].as_str().unwrap())
        .collect();
    assert!(codes.contains("'=1+2") && codes.contains("007") && codes.contains("Größe 🌿"));

    // Workbooks: a sheet a kind, no formula anywhere, the header in sight.
    assert_eq!(told["project"].as_object().unwrap().len(), sheets.len());
    for sheet in &sheets {
        let read = &told["project"][&sheet.name];
        assert_eq!(read["rows"], sheet.rows.len(), "{}", sheet.name);
        let types = read["types"].as_array().unwrap();
        assert!(!types.contains(&"f".into()), "{}", sheet.name);
        assert_eq!(read["frozen"], "A2", "{}", sheet.name);
    }
    let read = &told["observations"][&observations.name];
    assert_eq!(read["rows"], observations.rows.len());
    let types = read["types"].as_array().unwrap();
    assert!(
        types.contains(&"n".into()) && types.contains(&"d".into()),
        "{types:?}"
    );

    // The calendar: as many entries, no two of one identifier, an alarm each.
    let entries = told["agenda"]["entries"].as_array().unwrap();
    assert_eq!(told["agenda"]["version"], "2.0");
    assert_eq!(told["agenda"]["errors"], serde_json::json!([]));
    assert!(entries.len() > 10 && entries.len() == text.matches("BEGIN:VTODO").count());
    let uids: BTreeSet<&str> = entries
        .iter()
        .map(|each| each["uid"].as_str().unwrap())
        .collect();
    assert_eq!(uids.len(), entries.len());
    assert!(
        entries
            .iter()
            .all(|each| each["alarms"] == 1 && each["summary"] != "")
    );
}

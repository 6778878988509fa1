//! What would become of each row of a project's workbook that comes back.

use super::{SETTINGS, record};
use domain::compare::{Comparison, Verb};
use domain::import::{Fate, Planned, settle_rows};
use domain::{AnyId, Edit, Project, ProjectParts, RecordKind};
use exchange::sheets::Workbook;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, HashMap};
use std::ops::ControlFlow;

/// A row as it was read.
pub(super) struct ReadRow {
    pub(super) sheet: String,
    /// In the sheet, from 1.
    pub(super) line: u64,
    /// The record's fields; or why they aren't those of a record, as a sentence.
    pub(super) record: Result<Map<String, Value>, String>,
    /// The record it is of; nothing for the settings, and where that can't be read.
    id: Option<AnyId>,
}

/// A row of a workbook, and what would become of it.
#[derive(Debug, Clone, PartialEq)]
pub struct IncomingRow {
    /// The sheet it stands in.
    pub sheet: String,
    /// In that sheet, from 1.
    pub line: u64,
    /// What the record is called; empty where that can't be told.
    pub name: String,
    /// What would become of it.
    pub fate: Fate,
}

/// What bringing a workbook back would do.
#[derive(Debug, Clone, PartialEq)]
pub struct Incoming {
    /// Every row of every sheet, in their order.
    pub rows: Vec<IncomingRow>,
    /// What else there is to know, each a sentence.
    pub notes: Vec<String>,
    /// The edit; nothing if nothing would change.
    pub edit: Option<Edit>,
}

impl Incoming {
    /// How many rows have each fate, by its word.
    pub fn counts(&self) -> BTreeMap<&'static str, usize> {
        let mut counts = BTreeMap::new();
        for row in &self.rows {
            *counts.entry(row.fate.word()).or_default() += 1;
        }
        counts
    }
}

/// Every row of the sheets that hold a project, each tried by itself.
pub(super) fn rows(book: &Workbook) -> Vec<ReadRow> {
    let mut rows = Vec::new();
    for sheet in &book.sheets {
        let kind = RecordKind::of_table(&sheet.name);
        if kind.is_none() && sheet.name != SETTINGS {
            continue;
        }
        for row in 1..sheet.rows() {
            let record = record(sheet, row).and_then(|record| alone(&sheet.name, record));
            let uuid = match &record {
                Ok(record) => record.get("id"),
                Err(_) => None,
            };
            let uuid = uuid.and_then(|id| serde_json::from_value(id.clone()).ok());
            rows.push(ReadRow {
                sheet: sheet.name.clone(),
                line: sheet.line(row),
                record,
                id: kind.zip(uuid).map(|(kind, uuid)| AnyId { kind, uuid }),
            });
        }
    }
    // Of two rows with one identity, neither is to be preferred.
    let mut first: HashMap<AnyId, u64> = HashMap::new();
    for row in &mut rows {
        if let Some(id) = row.id {
            match first.get(&id) {
                Some(line) => {
                    row.record = Err(format!(
                        "it has the id of row {line}. Keep one of the two; bring new records in as a table of their own."
                    ));
                    row.id = None;
                }
                None => drop(first.insert(id, row.line)),
            }
        }
    }
    rows
}

/// The record, if it is one.
fn alone(sheet: &str, record: Map<String, Value>) -> Result<Map<String, Value>, String> {
    let value = Value::Object(record.clone());
    let value = if sheet == SETTINGS {
        value
    } else {
        Value::Array(vec![value])
    };
    let mut whole = Map::new();
    whole.insert(sheet.to_owned(), value);
    match serde_json::from_value::<ProjectParts>(Value::Object(whole)) {
        Ok(_) => Ok(record),
        Err(error) => Err(format!(
            "it can't be read ({error}). Correct the row, or take it out."
        )),
    }
}

/// The project of those rows that can be read.
pub(super) fn project(rows: &[ReadRow]) -> Result<Project, String> {
    let mut whole: Map<String, Value> = Map::new();
    for row in rows {
        let Ok(record) = &row.record else { continue };
        let record = Value::Object(record.clone());
        if row.sheet == SETTINGS {
            whole.insert(SETTINGS.into(), record);
        } else if let Value::Array(all) = whole
            .entry(row.sheet.clone())
            .or_insert_with(|| Value::Array(Vec::new()))
        {
            all.push(record);
        }
    }
    let parts: ProjectParts = serde_json::from_value(Value::Object(whole))
        .map_err(|error| format!("The workbook can't be read: {error}."))?;
    Ok(Project::from_parts(parts))
}

/// What would become of each row of a workbook: what is new in it and what it changes is taken, and nothing is removed.
/// The project stays as it is. Nothing if `goes_on` broke off.
///
/// # Errors
/// A sentence, if the workbook as a whole can't be read.
pub fn incoming(
    project: &Project,
    book: &Workbook,
    mut goes_on: impl FnMut() -> ControlFlow<()>,
) -> Option<Result<Incoming, String>> {
    let read = rows(book);
    if goes_on().is_break() {
        return None;
    }
    let told = match self::project(&read) {
        Ok(told) => told,
        Err(sentence) => return Some(Err(sentence)),
    };
    if goes_on().is_break() {
        return None;
    }
    let has_settings = read
        .iter()
        .any(|row| row.sheet == SETTINGS && row.record.is_ok());
    let row_of: HashMap<AnyId, usize> = read
        .iter()
        .enumerate()
        .filter_map(|(place, row)| Some((row.id?, place)))
        .collect();
    let settings_row = read.iter().position(|row| row.sheet == SETTINGS);
    let mut planned: Vec<Planned> = read
        .iter()
        .map(|row| match &row.record {
            Ok(_) => Planned {
                fate: Fate::Same,
                edits: Vec::new(),
            },
            Err(why) => Planned::refused(capital(why)),
        })
        .collect();
    let mut missing = Comparison::default();
    for edit in Comparison::between(project, &told).edits {
        let place = match edit.about() {
            Some(id) => row_of.get(&id).copied(),
            None => settings_row.filter(|_| has_settings),
        };
        match (edit.verb(), place) {
            (Verb::Add, Some(place)) => {
                planned[place].fate = Fate::New;
                planned[place].edits.push(edit);
            }
            (Verb::Set, Some(place)) => {
                let words = edit.describe(project);
                match &mut planned[place].fate {
                    Fate::Changes(all) => all.push(words),
                    fate => *fate = Fate::Changes(vec![words]),
                }
                planned[place].edits.push(edit);
            }
            (Verb::Remove, None) => missing.edits.push(edit),
            _ => {}
        }
    }
    let edit = settle_rows(project, &[], &mut planned, |_| "import a workbook".into());
    let mut notes = vec![
        "It is the workbook of a project: what is new in it and what it changes is taken, and nothing is removed."
            .to_owned(),
    ];
    if let Some(words) = missing.words() {
        notes.push(format!(
            "Of the project, {words} can't be found in it; they stay as they are."
        ));
    }
    let name = |id: Option<AnyId>| match id {
        Some(id) if told.contains(id) => told.describe(id),
        Some(id) => project.describe(id),
        None => String::new(),
    };
    let rows = read
        .iter()
        .zip(planned)
        .map(|(row, planned)| IncomingRow {
            sheet: row.sheet.clone(),
            line: row.line,
            name: name(row.id),
            fate: planned.fate,
        })
        .collect();
    Some(Ok(Incoming { rows, notes, edit }))
}

fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

//! The whole project as one workbook, a sheet a kind of record, and back: nothing is lost on the way.
//!
//! Each record is a row, each field a column, named as in the project file. Numbers, texts and yes or no stand in cells of
//! their type. What has parts of its own stands as JSON behind `json:`; so does a text that a spreadsheet would change,
//! such as one with a space at its end. What is longer than a cell can hold goes on in a column marked `+`.

mod incoming;

pub use incoming::{Incoming, IncomingRow, incoming};

use domain::{Project, RecordKind};
use exchange::sheets::{Cell, LONGEST_TEXT, Sheet, Workbook, Written, WrittenSheet};
use serde_json::{Map, Number, Value};

/// Marks a cell that holds JSON.
const JSON: &str = "json:";

/// Marks a column that goes on with what did not fit into the one before.
const MORE: &str = "+";

/// The sheet of what holds for the whole project.
const SETTINGS: &str = "settings";

/// The sheets of a project.
///
/// # Errors
/// A sentence, if a record can't be told in cells.
pub fn sheets(project: &Project) -> Result<Vec<WrittenSheet>, String> {
    let told = serde_json::to_value(project)
        .map_err(|error| format!("The project can't be put in a workbook: {error}."))?;
    let mut sheets = vec![sheet(SETTINGS, &[told["settings"].clone()])];
    for kind in RecordKind::ALL {
        if let Some(records) = told[kind.table()].as_array() {
            sheets.push(sheet(kind.table(), records));
        }
    }
    Ok(sheets)
}

fn sheet(name: &str, records: &[Value]) -> WrittenSheet {
    // A field, and how many columns it takes.
    let mut fields: Vec<(String, usize)> = Vec::new();
    let mut rows: Vec<Vec<(usize, Vec<Written>)>> = Vec::new();
    for record in records {
        let mut row = Vec::new();
        for (field, value) in record.as_object().into_iter().flatten() {
            let cells = cells(value);
            let place = fields.iter().position(|(name, _)| name == field);
            let place = place.unwrap_or_else(|| {
                fields.push((field.clone(), 1));
                fields.len() - 1
            });
            fields[place].1 = fields[place].1.max(cells.len());
            row.push((place, cells));
        }
        rows.push(row);
    }
    let header = fields.iter().flat_map(|(field, columns)| {
        (0..*columns).map(move |nth| match nth {
            0 => field.clone(),
            nth => format!("{field} {MORE}{nth}"),
        })
    });
    let begins: Vec<usize> = fields
        .iter()
        .scan(0, |next, (_, columns)| {
            let begin = *next;
            *next += columns;
            Some(begin)
        })
        .collect();
    let width: usize = fields.iter().map(|(_, columns)| columns).sum();
    WrittenSheet {
        name: name.into(),
        header: header.collect(),
        rows: rows
            .into_iter()
            .map(|row| {
                let mut own = vec![Written::Empty; width];
                for (place, cells) in row {
                    for (nth, cell) in cells.into_iter().enumerate() {
                        own[begins[place] + nth] = cell;
                    }
                }
                own
            })
            .collect(),
    }
}

/// The cells of one value.
fn cells(value: &Value) -> Vec<Written> {
    let text = match value {
        Value::Bool(yes) => return vec![Written::YesNo(*yes)],
        Value::Number(number) => match number.as_f64() {
            // Whole numbers beyond 2^53 aren't all numbers of a spreadsheet.
            Some(same) if Number::from_f64(same).is_some() && same.abs() < 9e15 => {
                return vec![Written::Number(same)];
            }
            _ => format!("{JSON}{value}"),
        },
        Value::String(text) if is_safe(text) => text.clone(),
        other => format!("{JSON}{other}"),
    };
    if text.encode_utf16().count() < LONGEST_TEXT {
        return vec![Written::Text(text)];
    }
    // What goes on in the next cell has no spaces: reading cuts them off at the ends of a cell.
    let mut cells = Vec::new();
    let mut part = String::from(JSON);
    for c in value.to_string().chars() {
        if part.len() > LONGEST_TEXT - 64 {
            cells.push(Written::Text(std::mem::take(&mut part)));
        }
        if c.is_whitespace() {
            let escaped = format!("\\u{:04x}", u32::from(c));
            part.push_str(&escaped);
        } else {
            part.push(c);
        }
    }
    cells.push(Written::Text(part));
    cells
}

/// Whether a text comes back from a spreadsheet as it was.
fn is_safe(text: &str) -> bool {
    !text.is_empty()
        && text.trim() == text
        && !text.starts_with(JSON)
        && !text.starts_with('\'')
        && !text.chars().any(char::is_control)
        // Spreadsheets write characters they can't hold so, and read them back as those.
        && !text.contains("_x")
        && !text.chars().any(|c| matches!(c, '\u{fffe}' | '\u{ffff}'))
}

/// Whether a workbook is that of a project.
pub fn is_project(book: &Workbook) -> bool {
    let has = |name: &str| book.sheets.iter().any(|sheet| sheet.name == name);
    has(SETTINGS) && has(RecordKind::Genotype.table()) && has(RecordKind::Observation.table())
}

/// The project of a workbook.
///
/// # Errors
/// A sentence that says in which sheet and row something can't be read.
pub fn read(book: &Workbook) -> Result<Project, String> {
    let rows = incoming::rows(book);
    if let Some((row, why)) = rows
        .iter()
        .find_map(|row| Some((row, row.record.as_ref().err()?)))
    {
        return Err(format!("Sheet {}, row {}: {why}", row.sheet, row.line));
    }
    incoming::project(&rows)
}

/// The fields of the record in a row.
fn record(sheet: &Sheet, row: usize) -> Result<Map<String, Value>, String> {
    let heading = |column: usize| match sheet.cell(0, column) {
        Cell::Text(text) => Some(text),
        _ => None,
    };
    let mut record = Map::new();
    let mut column = 0;
    while column < sheet.width() {
        let field = heading(column);
        let mut text = None;
        let value = match sheet.cell(row, column) {
            Cell::Empty => None,
            Cell::Number(number) if number.fract() == 0.0 && number.abs() < 9e15 => {
                Some(Value::from(number as i64))
            }
            Cell::Number(number) => Some(Value::from(number)),
            Cell::YesNo(yes) => Some(Value::Bool(yes)),
            // A spreadsheet may have made a date of the text of one.
            Cell::Date(moment) => Some(Value::from(moment.date().to_string())),
            Cell::Text(own) | Cell::Fault(own) => {
                text = Some(own.to_owned());
                None
            }
        };
        column += 1;
        while let (Some(field), Some(next)) = (field, heading(column))
            && next.starts_with(field)
            && next[field.len()..].starts_with(&format!(" {MORE}"))
        {
            if let (Some(text), Cell::Text(more)) = (&mut text, sheet.cell(row, column)) {
                text.push_str(more);
            }
            column += 1;
        }
        let value = match text {
            Some(text) => Some(match text.strip_prefix(JSON) {
                Some(json) => serde_json::from_str(json).map_err(|error| {
                    format!(
                        "column {}: what stands behind json: can't be read ({error}). Correct it, or write the workbook anew.",
                        field.unwrap_or_default()
                    )
                })?,
                None => Value::String(text),
            }),
            None => value,
        };
        if let (Some(field), Some(value)) = (field, value) {
            record.insert(field.to_owned(), value);
        }
    }
    Ok(record)
}

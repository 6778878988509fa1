//! Spreadsheets: XLSX, XLS, XLSB, ODS. Of formulas their values as last calculated are read.

use super::cells::{Cell, Sheet};
use super::delimited::too_large;
use super::{MOST_CELLS, MOST_COLUMNS, MOST_ROWS, Workbook};
use calamine::{
    Data, DataRef, DataType as _, Ods, OdsError, Reader, SheetVisible, Xls, XlsError, Xlsb, Xlsx,
    XlsxError, open_workbook_from_rs,
};
use std::io::Cursor;

const PASSWORD: &str = "This spreadsheet is protected by a password. Open it, save it without the password, and choose it again.";

pub(super) fn read(bytes: &[u8]) -> Result<Workbook, String> {
    let cursor = || Cursor::new(bytes);
    if bytes.starts_with(b"PK") {
        // Which of the three it is stands at the beginning of the archive's list, not of the file: tried in turn.
        return match open_workbook_from_rs::<Xlsx<_>, _>(cursor()) {
            Ok(book) => xlsx(book),
            Err(XlsxError::Password) => Err(PASSWORD.into()),
            Err(of_xlsx) => match open_workbook_from_rs::<Ods<_>, _>(cursor()) {
                Ok(book) => ranges(book),
                Err(OdsError::Password) => Err(PASSWORD.into()),
                Err(_) => match open_workbook_from_rs::<Xlsb<_>, _>(cursor()) {
                    Ok(book) => ranges(book),
                    Err(_) => Err(unreadable(&of_xlsx)),
                },
            },
        };
    }
    // A spreadsheet with a password is wrapped in the older format's container.
    match open_workbook_from_rs::<Xlsx<_>, _>(cursor()) {
        Err(XlsxError::Password) => return Err(PASSWORD.into()),
        Ok(book) => return xlsx(book),
        Err(_) => {}
    }
    match open_workbook_from_rs::<Xls<_>, _>(cursor()) {
        Ok(book) => ranges(book),
        Err(XlsError::Password) => Err(PASSWORD.into()),
        Err(error) => Err(unreadable(&error)),
    }
}

fn unreadable(error: &dyn std::fmt::Display) -> String {
    format!(
        "This spreadsheet can't be read ({error}). Open it in the program it came from and save it as XLSX, ODS or CSV."
    )
}

fn hidden_note(sheets: &[Sheet]) -> Vec<String> {
    let hidden: Vec<&str> = sheets
        .iter()
        .filter(|sheet| sheet.hidden)
        .map(|sheet| sheet.name.as_str())
        .collect();
    match hidden.as_slice() {
        [] => Vec::new(),
        names => vec![format!(
            "Hidden in the spreadsheet, and read only if you choose it: {}.",
            names.join(", ")
        )],
    }
}

/// XLSX cell by cell: a single cell in the last corner must not fill the memory with empty ones.
fn xlsx(mut book: Xlsx<Cursor<&[u8]>>) -> Result<Workbook, String> {
    let metadata = book.sheets_metadata().to_vec();
    let mut sheets = Vec::new();
    let mut total = 0;
    for meta in metadata {
        let mut sheet = Sheet::default();
        sheet.name.clone_from(&meta.name);
        sheet.hidden = meta.visible != SheetVisible::Visible;
        let merged = book.merge_cells_by_sheet_name(&meta.name);
        for region in merged.unwrap_or_default() {
            sheet.merged.push((
                region.start.0 as usize + 1,
                region.start.1 as usize,
                region.end.1 as usize,
            ));
        }
        // A chart has a page of its own, without cells.
        let Ok(mut cells) = book.worksheet_cells_reader(&meta.name) else {
            continue;
        };
        let mut current = None;
        while let Some(cell) = cells.next_cell().map_err(|error| unreadable(&error))? {
            let (row, column) = cell.get_position();
            let found = of_ref(cell.get_value());
            let Some(found) = found.as_ref().map(Owned::cell) else {
                continue;
            };
            if current != Some(row) {
                if current.is_some() {
                    sheet.end_row();
                }
                sheet.begin_row(u64::from(row) + 1);
                current = Some(row);
            }
            place(&mut sheet, column as usize, found)?;
            if sheet.rows() > MOST_ROWS || total + sheet.len() > MOST_CELLS {
                return Err(too_large());
            }
        }
        if current.is_some() {
            sheet.end_row();
        }
        total += sheet.len();
        sheets.push(sheet);
    }
    Ok(Workbook {
        notes: hidden_note(&sheets),
        sheets,
    })
}

/// Puts a cell at its column, empty ones before it.
fn place(sheet: &mut Sheet, column: usize, cell: Cell<'_>) -> Result<(), String> {
    if column >= MOST_COLUMNS {
        return Err(format!(
            "The sheet {} reaches beyond {MOST_COLUMNS} columns. Delete what stands far to the right, and save it.",
            sheet.name
        ));
    }
    while sheet.row_len() < column {
        if !sheet.push(Cell::Empty) {
            return Err(too_large());
        }
    }
    if sheet.push(cell) {
        Ok(())
    } else {
        Err(too_large())
    }
}

fn ranges<'b, R>(mut book: R) -> Result<Workbook, String>
where
    R: Reader<Cursor<&'b [u8]>>,
    R::Error: std::fmt::Display,
{
    let metadata = book.sheets_metadata().to_vec();
    let mut sheets = Vec::new();
    let mut total = 0;
    for meta in metadata {
        let mut sheet = Sheet::default();
        sheet.name.clone_from(&meta.name);
        sheet.hidden = meta.visible != SheetVisible::Visible;
        let range = book
            .worksheet_range(&meta.name)
            .map_err(|error| unreadable(&error))?;
        let (row, column) = range.start().unwrap_or_default();
        for (nth, cells) in range.rows().enumerate() {
            if cells.iter().all(|cell| matches!(cell, Data::Empty)) {
                continue;
            }
            sheet.begin_row(u64::from(row) + nth as u64 + 1);
            for (at, cell) in cells.iter().enumerate() {
                if let Some(found) = of_data(cell) {
                    place(&mut sheet, column as usize + at, found.cell())?;
                }
            }
            sheet.end_row();
            if sheet.rows() > MOST_ROWS || total + sheet.len() > MOST_CELLS {
                return Err(too_large());
            }
        }
        total += sheet.len();
        sheets.push(sheet);
    }
    Ok(Workbook {
        notes: hidden_note(&sheets),
        sheets,
    })
}

/// A cell whose text may have been made here.
enum Owned {
    Text(String),
    Fault(String),
    Other(Cell<'static>),
}

impl Owned {
    fn cell(&self) -> Cell<'_> {
        match self {
            Self::Text(text) => Cell::Text(text),
            Self::Fault(text) => Cell::Fault(text),
            Self::Other(cell) => *cell,
        }
    }
}

fn of_ref(value: &DataRef<'_>) -> Option<Owned> {
    match value {
        DataRef::SharedString(text) => Some(Owned::Text((*text).to_owned())),
        other => of_data(&Data::from(other.clone())),
    }
}

fn of_data(value: &Data) -> Option<Owned> {
    Some(match value {
        Data::Empty => return None,
        Data::String(text) | Data::DurationIso(text) => Owned::Text(text.clone()),
        Data::Int(number) => Owned::Other(Cell::Number(*number as f64)),
        Data::Float(number) if number.is_finite() => Owned::Other(Cell::Number(*number)),
        Data::Float(number) => Owned::Fault(number.to_string()),
        Data::Bool(yes) => Owned::Other(Cell::YesNo(*yes)),
        Data::DateTime(moment) if moment.is_duration() => {
            Owned::Other(Cell::Number(moment.as_f64()))
        }
        Data::DateTime(moment) => match value.as_datetime() {
            Some(day) => Owned::Other(Cell::Date(day)),
            None => Owned::Other(Cell::Number(moment.as_f64())),
        },
        Data::DateTimeIso(text) => match value.as_datetime() {
            Some(day) => Owned::Other(Cell::Date(day)),
            None => match value.as_date().and_then(|day| day.and_hms_opt(0, 0, 0)) {
                Some(day) => Owned::Other(Cell::Date(day)),
                None => Owned::Text(text.clone()),
            },
        },
        Data::Error(error) => Owned::Fault(error.to_string()),
    })
}

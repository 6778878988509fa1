//! Sheets as XLSX: typed cells, a header that stays in sight, columns as wide as what they hold.

use chrono::{Datelike as _, NaiveDate};
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook, XlsxError};

/// A cell to be written.
#[derive(Debug, Clone, PartialEq)]
pub enum Written {
    /// Nothing.
    Empty,
    /// Text. In XLSX it stays text, whatever it begins with.
    Text(String),
    /// A number.
    Number(f64),
    /// A day.
    Date(NaiveDate),
    /// Yes or no.
    YesNo(bool),
}

impl Written {
    /// Text, or nothing if there is none.
    pub fn text(text: impl Into<String>) -> Self {
        match text.into() {
            text if text.is_empty() => Self::Empty,
            text => Self::Text(text),
        }
    }

    /// As a field of a text table: numbers in full, days as 2026-09-04.
    pub fn plain(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) => text.clone(),
            Self::Number(number) => number.to_string(),
            Self::Date(day) => day.to_string(),
            Self::YesNo(true) => "yes".into(),
            Self::YesNo(false) => "no".into(),
        }
    }
}

/// A sheet to be written.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WrittenSheet {
    /// Its name, at most 31 characters.
    pub name: String,
    /// The names of its columns.
    pub header: Vec<String>,
    /// Its rows.
    pub rows: Vec<Vec<Written>>,
}

impl WrittenSheet {
    /// As CSV: see [`crate::table::csv`].
    pub fn csv(&self) -> String {
        let header: Vec<&str> = self.header.iter().map(String::as_str).collect();
        let rows: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|row| row.iter().map(Written::plain).collect())
            .collect();
        crate::table::csv(&header, &rows)
    }
}

impl WrittenSheet {
    /// As a block to be pasted into a spreadsheet: fields parted by tabs, guarded as in CSV.
    pub fn block(&self) -> String {
        let mut lines = vec![self.header.join("\t")];
        for row in &self.rows {
            let fields = row.iter().map(|cell| {
                let field = cell.plain().replace(['\t', '\r', '\n'], " ");
                if crate::table::would_run(&field) {
                    format!("'{field}")
                } else {
                    field
                }
            });
            lines.push(fields.collect::<Vec<_>>().join("\t"));
        }
        lines.join("\n")
    }
}

/// The longest text a cell of a spreadsheet can hold.
pub const LONGEST_TEXT: usize = 32_767;

/// A workbook of these sheets.
///
/// # Errors
/// A sentence, if a sheet is larger than a spreadsheet can be.
pub fn xlsx(sheets: &[WrittenSheet]) -> Result<Vec<u8>, String> {
    made(sheets).map_err(|error| format!("The workbook can't be made: {error}."))
}

fn made(sheets: &[WrittenSheet]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let bold = Format::new().set_bold();
    let day = Format::new().set_num_format("yyyy-mm-dd");
    for sheet in sheets {
        let page = book.add_worksheet();
        page.set_name(&sheet.name)?;
        page.set_freeze_panes(1, 0)?;
        for (column, name) in sheet.header.iter().enumerate() {
            page.write_string_with_format(0, column as u16, name, &bold)?;
            let lengths = sheet
                .rows
                .iter()
                .take(200)
                .filter_map(|row| row.get(column));
            let longest = lengths.map(|cell| cell.plain().chars().count()).max();
            let width = longest.unwrap_or(0).max(name.chars().count()).clamp(6, 40);
            page.set_column_width(column as u16, width as f64 + 2.0)?;
        }
        for (place, row) in sheet.rows.iter().enumerate() {
            let line = place as u32 + 1;
            for (column, cell) in row.iter().enumerate() {
                let column = column as u16;
                match cell {
                    Written::Empty => {}
                    Written::Text(text) => {
                        page.write_string(line, column, text)?;
                    }
                    Written::Number(number) => {
                        page.write_number(line, column, *number)?;
                    }
                    Written::YesNo(yes) => {
                        page.write_boolean(line, column, *yes)?;
                    }
                    Written::Date(date) => {
                        let (month, of_month) = (date.month() as u8, date.day() as u8);
                        match u16::try_from(date.year())
                            .map(|year| ExcelDateTime::from_ymd(year, month, of_month))
                        {
                            Ok(Ok(moment)) => {
                                page.write_datetime_with_format(line, column, &moment, &day)?;
                            }
                            // Before 1900 a spreadsheet knows no days.
                            _ => {
                                page.write_string(line, column, date.to_string())?;
                            }
                        }
                    }
                }
            }
        }
    }
    book.save_to_buffer()
}

//! Any table as it comes: CSV, TSV, XLSX, XLS, XLSB and ODS, whatever its encoding and its marks.
//!
//! Bytes become a [`Workbook`] of [`Sheet`]s with cells as they stand there ([`read`]); a sheet becomes a [`Table`] with
//! named columns, whose cells are read as numbers and dates by what the whole column shows ([`Table::of`]). Nothing is
//! guessed silently: what could be read in two ways is a doubt that says so, and a cell that can't be read says why.

mod cells;
mod delimited;
mod forms;
mod header;
mod table;
mod workbook;
mod write;

pub use cells::{Cell, Sheet};
pub use forms::{DateOrder, Decimal};
pub use table::{Column, Table, Wishes};
pub use write::{LONGEST_TEXT, Written, WrittenSheet, xlsx};

/// The most rows that are read of a sheet: as many as a spreadsheet can have, and some more.
pub const MOST_ROWS: usize = 1_100_000;

/// The most columns that are read.
pub const MOST_COLUMNS: usize = 2_000;

/// The most bytes that a row of a text file may have: a program's data in one line, or a quotation mark without its
/// partner, is no table.
const LONGEST_ROW: usize = 4_000_000;

/// The most cells that are read of a file.
pub const MOST_CELLS: usize = 60_000_000;

/// What a file holds.
#[derive(Debug, Clone, Default)]
pub struct Workbook {
    /// Its sheets in order; a text file is one.
    pub sheets: Vec<Sheet>,
    /// What to know of how it was read, each a sentence.
    pub notes: Vec<String>,
}

impl Workbook {
    /// The sheet to begin with: the first that is shown and has something in it.
    ///
    /// # Errors
    /// A sentence, if there is none.
    pub fn first(&self) -> Result<&Sheet, String> {
        let filled = |sheet: &&Sheet| sheet.rows() > 0;
        self.sheets
            .iter()
            .find(|sheet| !sheet.hidden && filled(sheet))
            .ok_or_else(|| match self.sheets.iter().find(filled) {
                Some(hidden) => format!(
                    "Every sheet that holds something is hidden. Show the sheet {} in the spreadsheet, and save it.",
                    hidden.name
                ),
                None => "There is nothing in this file. Its first row must name the columns.".into(),
            })
    }
}

/// Reads a file by what its bytes are, not by its name.
///
/// # Errors
/// A sentence that says why it can't be read, and what to do.
pub fn read(bytes: &[u8]) -> Result<Workbook, String> {
    match bytes {
        [b'P', b'K', ..] | [0xD0, 0xCF, 0x11, 0xE0, ..] => workbook::read(bytes),
        [b'%', b'P', b'D', b'F', ..] => Err(
            "This is a PDF, and a table in one is only a picture of it. Ask for a spreadsheet or a CSV file.".into(),
        ),
        _ => delimited::read(bytes),
    }
}

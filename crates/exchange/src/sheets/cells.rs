//! Cells as they stand in a file, kept small: a million rows of them fit into memory.

use chrono::{DateTime, NaiveDateTime};

/// What stands in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell<'a> {
    /// Nothing.
    Empty,
    /// Text; every cell of a text file is one.
    Text(&'a str),
    /// A number.
    Number(f64),
    /// A day, or a moment.
    Date(NaiveDateTime),
    /// Yes or no.
    YesNo(bool),
    /// What a spreadsheet shows where it can't calculate, such as `#DIV/0!`.
    Fault(&'a str),
}

/// One sheet.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    /// Its name; empty for a text file.
    pub name: String,
    /// Whether the spreadsheet hides it.
    pub hidden: bool,
    /// What separates the fields of a text file.
    pub delimiter: Option<u8>,
    width: usize,
    texts: String,
    cells: Vec<Kept>,
    rows: Vec<Row>,
    /// Row, first and last column of cells that are merged across.
    pub(super) merged: Vec<(usize, usize, usize)>,
}

#[derive(Debug, Clone, Copy)]
enum Kept {
    Empty,
    Text(u32, u32),
    Number(f64),
    Date(i64),
    YesNo(bool),
    Fault(u32, u32),
}

#[derive(Debug, Clone, Copy)]
struct Row {
    first: usize,
    line: u64,
}

impl Sheet {
    /// The number of rows that hold something.
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// The number of columns of the widest row.
    pub fn width(&self) -> usize {
        self.width
    }

    /// The line or row in the file, from 1.
    pub fn line(&self, row: usize) -> u64 {
        self.rows.get(row).map_or(0, |row| row.line)
    }

    /// A cell; empty beyond the end of a row.
    pub fn cell(&self, row: usize, column: usize) -> Cell<'_> {
        let Some(begin) = self.rows.get(row).map(|row| row.first) else {
            return Cell::Empty;
        };
        let end = self
            .rows
            .get(row + 1)
            .map_or(self.cells.len(), |row| row.first);
        let Some(kept) = self.cells[begin..end].get(column) else {
            return Cell::Empty;
        };
        let text = |from: u32, to: u32| &self.texts[from as usize..to as usize];
        match *kept {
            Kept::Empty => Cell::Empty,
            Kept::Text(from, to) => Cell::Text(text(from, to)),
            Kept::Number(number) => Cell::Number(number),
            Kept::Date(seconds) => DateTime::from_timestamp(seconds, 0)
                .map_or(Cell::Empty, |moment| Cell::Date(moment.naive_utc())),
            Kept::YesNo(yes) => Cell::YesNo(yes),
            Kept::Fault(from, to) => Cell::Fault(text(from, to)),
        }
    }

    /// Begins a row that stands on this line.
    pub(super) fn begin_row(&mut self, line: u64) {
        self.rows.push(Row {
            first: self.cells.len(),
            line,
        });
    }

    /// Takes the row just made away again if nothing stands in it.
    pub(super) fn end_row(&mut self) {
        let Some(row) = self.rows.last().copied() else {
            return;
        };
        while self.cells.len() > row.first && matches!(self.cells.last(), Some(Kept::Empty)) {
            self.cells.pop();
        }
        self.width = self.width.max(self.cells.len() - row.first);
        if self.cells.len() == row.first {
            self.rows.pop();
        }
    }

    /// Adds a cell to the row. False if there is no room for its text.
    #[must_use]
    pub(super) fn push(&mut self, cell: Cell<'_>) -> bool {
        let mut keep = |text: &str| {
            let from = self.texts.len();
            self.texts.push_str(text);
            let to = u32::try_from(self.texts.len()).ok()?;
            Some((from as u32, to))
        };
        let kept = match cell {
            Cell::Empty => Some(Kept::Empty),
            Cell::Text(text) => match text.trim() {
                "" => Some(Kept::Empty),
                text => keep(text).map(|(from, to)| Kept::Text(from, to)),
            },
            Cell::Number(number) => Some(Kept::Number(number)),
            Cell::Date(moment) => Some(Kept::Date(moment.and_utc().timestamp())),
            Cell::YesNo(yes) => Some(Kept::YesNo(yes)),
            Cell::Fault(text) => keep(text).map(|(from, to)| Kept::Fault(from, to)),
        };
        self.cells.extend(kept);
        kept.is_some()
    }

    /// The number of all cells.
    pub(super) fn len(&self) -> usize {
        self.cells.len()
    }

    /// The number of cells in the row that is being made.
    pub(super) fn row_len(&self) -> usize {
        self.cells.len() - self.rows.last().map_or(0, |row| row.first)
    }
}

//! A sheet as a table: named columns, and cells read by what their column shows.

use super::cells::{Cell, Sheet};
use super::forms::{DateOrder, Decimal, ReadDate, ReadNumber, date, number};
use super::header::find;
use chrono::NaiveDate;
use std::borrow::Cow;
use std::collections::HashMap;

/// What a person says of a table; what is left out is found in it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Wishes {
    /// The place of the header row among the rows that hold something.
    pub header: Option<usize>,
    /// The order of day and month.
    pub dates: Option<DateOrder>,
    /// The decimal mark.
    pub decimal: Option<Decimal>,
}

/// A column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name, unlike that of any other column.
    pub name: String,
    /// Its unit, if its heading says one.
    pub unit: String,
    /// Its place in the sheet.
    pub place: usize,
    decimal: Option<Decimal>,
    dates: Option<DateOrder>,
}

/// A table.
#[derive(Debug, Clone)]
pub struct Table {
    sheet: Sheet,
    /// The columns that have a name or hold something.
    pub columns: Vec<Column>,
    /// What was doubtful, each a sentence that says how it was read.
    pub doubts: Vec<String>,
    body: Vec<u32>,
}

impl Table {
    /// Finds the table in a sheet.
    ///
    /// # Errors
    /// A sentence, if there is none.
    pub fn of(sheet: Sheet, wishes: Wishes) -> Result<Self, String> {
        let header = find(&sheet, wishes.header).ok_or_else(|| {
            "No row names the columns. Put a name over each column, such as code, date, alpha."
                .to_owned()
        })?;
        let is_heading = |row: usize| {
            // Printed from page to page, the heading comes again.
            let texts = (0..sheet.width()).map(|column| sheet.cell(row, column));
            let texts: Vec<&str> = texts
                .filter_map(|cell| match cell {
                    Cell::Text(text) => Some(text),
                    _ => None,
                })
                .collect();
            texts.len() > 1
                && (0..sheet.width())
                    .all(|column| sheet.cell(row, column) == sheet.cell(header.body - 1, column))
        };
        let body: Vec<u32> = (header.body..sheet.rows())
            .filter(|&row| !is_heading(row))
            .map(|row| row as u32)
            .collect();
        let mut table = Self {
            columns: Vec::new(),
            doubts: Vec::new(),
            body,
            sheet,
        };
        table.name_columns(header.names);
        if table.columns.is_empty() {
            return Err("No column of this table has a name. Put one over each column.".into());
        }
        table.read_forms(wishes);
        Ok(table)
    }

    fn name_columns(&mut self, names: Vec<(String, String)>) {
        let mut taken: HashMap<String, usize> = HashMap::new();
        for (place, (name, unit)) in names.into_iter().enumerate() {
            let holds = || {
                let mut rows = self.body.iter();
                rows.any(|&row| self.sheet.cell(row as usize, place) != Cell::Empty)
            };
            if name.is_empty() && !holds() {
                continue;
            }
            let mut own = if name.is_empty() {
                format!("Column {}", place + 1)
            } else {
                name.clone()
            };
            let count = taken.entry(own.to_lowercase()).or_default();
            *count += 1;
            if *count > 1 {
                let nth = *count;
                own = format!("{own} ({nth})");
                taken.insert(own.to_lowercase(), 1);
                self.doubts.push(format!(
                    "More than one column is called {name}; number {nth} of them is taken as '{own}'."
                ));
            }
            self.columns.push(Column {
                name: own,
                unit,
                place,
                decimal: None,
                dates: None,
            });
        }
    }

    /// What each column shows of decimal marks and the order of dates; where one shows nothing, the others do.
    fn read_forms(&mut self, wishes: Wishes) {
        let mut seen = Vec::new();
        for column in &self.columns {
            let mut of_column = Seen::default();
            for &row in &self.body {
                if let Cell::Text(text) = self.sheet.cell(row as usize, column.place) {
                    of_column.look_at(bare(text, &column.unit));
                }
            }
            seen.push(of_column);
        }
        let of_file = |pick: &dyn Fn(&Seen) -> [bool; 2]| {
            let all = seen.iter().map(pick);
            let all = all.fold([false; 2], |so_far, each| {
                [so_far[0] || each[0], so_far[1] || each[1]]
            });
            match all {
                [true, false] => Some(0),
                [false, true] => Some(1),
                _ => None,
            }
        };
        let decimals = [Decimal::Point, Decimal::Comma];
        let orders = [DateOrder::DayFirst, DateOrder::MonthFirst];
        let decimal = wishes
            .decimal
            .or_else(|| Some(decimals[of_file(&|seen| seen.decimals)?]));
        let order = wishes
            .dates
            .or_else(|| Some(orders[of_file(&|seen| seen.orders)?]));
        let by_delimiter = match self.sheet.delimiter {
            Some(b',') | None => Decimal::Point,
            Some(_) => Decimal::Comma,
        };
        for (column, seen) in self.columns.iter_mut().zip(seen) {
            let own = |shown: [bool; 2]| match shown {
                [true, false] => Some(0),
                [false, true] => Some(1),
                _ => None,
            };
            column.decimal = wishes
                .decimal
                .or_else(|| Some(decimals[own(seen.decimals)?]))
                .or(decimal);
            if column.decimal.is_none()
                && let Some(text) = seen.unclear_number
            {
                column.decimal = Some(by_delimiter);
                let (read, other) = match by_delimiter {
                    Decimal::Point => ("point", "comma"),
                    Decimal::Comma => ("comma", "point"),
                };
                self.doubts.push(format!(
                    "{}: '{text}' is read with a decimal {read}. If it is a decimal {other}, say so.",
                    column.name
                ));
            }
            column.dates = wishes
                .dates
                .or_else(|| Some(orders[own(seen.orders)?]))
                .or(order);
            if column.dates.is_none()
                && let Some(text) = seen.unclear_date
            {
                self.doubts.push(format!(
                    "{}: in '{text}' the day or the month could come first. Say which.",
                    column.name
                ));
            }
        }
    }

    /// The name of the sheet; empty for a text file.
    pub fn name(&self) -> &str {
        &self.sheet.name
    }

    /// The number of rows.
    pub fn rows(&self) -> usize {
        self.body.len()
    }

    /// The line or row in the file, from 1.
    pub fn line(&self, row: usize) -> u64 {
        self.body
            .get(row)
            .map_or(0, |&row| self.sheet.line(row as usize))
    }

    /// A cell as it stands there.
    pub fn cell(&self, row: usize, column: usize) -> Cell<'_> {
        match (self.body.get(row), self.columns.get(column)) {
            (Some(&row), Some(column)) => self.sheet.cell(row as usize, column.place),
            _ => Cell::Empty,
        }
    }

    /// What a cell says, as a text. A number in full, a day as 2026-09-04.
    pub fn text(&self, row: usize, column: usize) -> Cow<'_, str> {
        match self.cell(row, column) {
            Cell::Empty => "".into(),
            Cell::Text(text) | Cell::Fault(text) => text.into(),
            Cell::Number(number) => number.to_string().into(),
            Cell::Date(moment) => moment.date().to_string().into(),
            Cell::YesNo(true) => "yes".into(),
            Cell::YesNo(false) => "no".into(),
        }
    }

    /// What a cell says as a number; nothing if it is empty.
    ///
    /// # Errors
    /// A sentence, if it is none.
    pub fn number(&self, row: usize, column: usize) -> Result<Option<f64>, String> {
        let of_column = self.columns.get(column);
        match self.cell(row, column) {
            Cell::Empty => Ok(None),
            Cell::Number(number) => Ok(Some(number)),
            Cell::YesNo(yes) => Ok(Some(f64::from(u8::from(yes)))),
            Cell::Date(moment) => Err(format!("{} is a date, not a number.", moment.date())),
            Cell::Fault(text) => Err(format!(
                "'{text}' is what the spreadsheet shows where it couldn't calculate."
            )),
            Cell::Text(text) if is_missing(text) => Ok(None),
            Cell::Text(text) => {
                let unit = of_column.map_or("", |column| column.unit.as_str());
                match number(bare(text, unit)) {
                    ReadNumber::Certain(number, _) => Ok(Some(number)),
                    ReadNumber::Either(point, comma) => {
                        Ok(Some(match of_column.and_then(|column| column.decimal) {
                            Some(Decimal::Comma) => comma,
                            _ => point,
                        }))
                    }
                    ReadNumber::None if text.starts_with(['<', '>', '\u{2264}', '\u{2265}']) => {
                        Err(format!(
                            "'{text}' is a limit, not a number. Type the number, or leave it empty and say so in the remark."
                        ))
                    }
                    ReadNumber::None if text.starts_with('=') => Err(format!(
                        "'{text}' is a formula without its value. Save the table from the spreadsheet again."
                    )),
                    ReadNumber::None => Err(format!("'{text}' is no number.")),
                }
            }
        }
    }

    /// What a cell says as a day; nothing if it is empty.
    ///
    /// # Errors
    /// A sentence, if it is none or could be two.
    pub fn date(&self, row: usize, column: usize) -> Result<Option<NaiveDate>, String> {
        match self.cell(row, column) {
            Cell::Empty => Ok(None),
            Cell::Date(moment) => Ok(Some(moment.date())),
            Cell::Fault(text) => Err(format!(
                "'{text}' is what the spreadsheet shows where it couldn't calculate."
            )),
            Cell::Text(text) if is_missing(text) => Ok(None),
            Cell::Text(text) => match date(text) {
                ReadDate::Certain(day, _) => Ok(Some(day)),
                ReadDate::Either(day_first, month_first) => {
                    match self.columns.get(column).and_then(|column| column.dates) {
                        Some(DateOrder::DayFirst) => Ok(Some(day_first)),
                        Some(DateOrder::MonthFirst) => Ok(Some(month_first)),
                        None => Err(format!(
                            "'{text}' is {day_first} or {month_first}. Say whether the day or the month comes first."
                        )),
                    }
                }
                ReadDate::None => Err(format!("'{text}' is no date.")),
            },
            Cell::Number(number) => Err(format!(
                "{number} is a number, not a date. Show the column as dates in the spreadsheet, and save it."
            )),
            Cell::YesNo(_) => Err("Yes or no is no date.".into()),
        }
    }
}

/// What one column shows of how numbers and dates are written.
#[derive(Default)]
struct Seen {
    /// A decimal point, a decimal comma.
    decimals: [bool; 2],
    /// The day first, the month first.
    orders: [bool; 2],
    unclear_number: Option<String>,
    unclear_date: Option<String>,
}

impl Seen {
    fn look_at(&mut self, text: &str) {
        if !text.starts_with(|c: char| {
            c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | ',' | '\u{2212}')
        }) {
            return;
        }
        match number(text) {
            ReadNumber::Certain(_, Some(Decimal::Point)) => self.decimals[0] = true,
            ReadNumber::Certain(_, Some(Decimal::Comma)) => self.decimals[1] = true,
            ReadNumber::Either(..) => {
                self.unclear_number.get_or_insert_with(|| text.to_owned());
            }
            ReadNumber::Certain(_, None) => {}
            ReadNumber::None => match date(text) {
                ReadDate::Certain(_, Some(DateOrder::DayFirst)) => self.orders[0] = true,
                ReadDate::Certain(_, Some(DateOrder::MonthFirst)) => self.orders[1] = true,
                ReadDate::Either(..) => {
                    self.unclear_date.get_or_insert_with(|| text.to_owned());
                }
                _ => {}
            },
        }
    }
}

/// What people and programs write where nothing is known.
fn is_missing(text: &str) -> bool {
    const WORDS: [&str; 12] = [
        "na", "n/a", "n.a.", "n.a", "nan", "null", "none", "-", "--", "\u{2013}", "\u{2014}", ".",
    ];
    let lower = text.trim().to_lowercase();
    WORDS.contains(&lower.as_str())
}

/// A text without the unit behind it: '11.2 %', '5 g'.
fn bare<'t>(text: &'t str, unit: &str) -> &'t str {
    let text = text.trim();
    let cut = match text.strip_suffix('%') {
        Some(bare) => Some(bare),
        None if unit.is_empty() => None,
        None => text.strip_suffix(unit),
    };
    cut.map_or(text, str::trim_end)
}

//! The tables on the page that is shown, copied or saved as they stand: the same for every page.

use super::{App, Notice};
use crate::dialogs::Question;
use egui::Context;
use exchange::sheets::{Written, WrittenSheet, xlsx};
use kit::widgets::{TakenTable, ask_for_tables, tables_taken};

/// What is to become of the tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wanted {
    /// Copied, to be pasted into a spreadsheet.
    Copy,
    /// Saved as CSV.
    Csv,
    /// Saved as a workbook.
    Xlsx,
}

impl App {
    /// Asks the page for its tables; they come with the next frame.
    pub(super) fn want_tables(&mut self, ctx: &Context, wanted: Wanted) {
        self.tables_wanted = Some(wanted);
        ask_for_tables(ctx);
        ctx.request_repaint();
    }

    /// Hands over the tables, once the page that was asked has been drawn.
    pub(super) fn follow_tables(&mut self, ctx: &Context) {
        let Some(wanted) = self.tables_wanted else {
            return;
        };
        let Some(mut tables) = tables_taken(ctx) else {
            return;
        };
        self.tables_wanted = None;
        // The largest first: of several, it is the one that is copied.
        tables.sort_by_key(|table| std::cmp::Reverse(table.rows.len()));
        let Some(first) = tables.first() else {
            self.notice = Some(Notice::refused(
                "No table is shown on this page. Beside an open record stands a list: close the record, and the table is shown whole.".into(),
            ));
            return;
        };
        let title = self.screens.current.title();
        let (name, rows) = (first.name.clone(), first.rows.len());
        match wanted {
            Wanted::Copy => {
                ctx.copy_text(sheet(first, &mut Vec::new()).block());
                let rows = if rows == 1 {
                    "1 row".to_owned()
                } else {
                    format!("{rows} rows")
                };
                self.notice = Some(Notice::said(format!(
                    "Copied: {name}, {rows}. Paste it into a spreadsheet."
                )));
            }
            Wanted::Csv => {
                let csv = sheet(first, &mut Vec::new()).csv();
                let question = Question::SaveCsv(format!("{title}.csv"));
                if let Some(path) = (self.dialogs)(&question) {
                    self.export(&path, csv.as_bytes());
                }
            }
            Wanted::Xlsx => {
                let mut names = Vec::new();
                let sheets: Vec<WrittenSheet> = tables
                    .iter()
                    .map(|table| sheet(table, &mut names))
                    .collect();
                match xlsx(&sheets) {
                    Ok(bytes) => {
                        let question = Question::SaveXlsx(format!("{title}.xlsx"));
                        if let Some(path) = (self.dialogs)(&question) {
                            self.export(&path, &bytes);
                        }
                    }
                    Err(sentence) => self.notice = Some(Notice::failed(sentence)),
                }
            }
        }
    }
}

/// A table as a sheet, named apart from those before it. Where all that stands in a column are numbers, they are such.
fn sheet(table: &TakenTable, names: &mut Vec<String>) -> WrittenSheet {
    let numbers: Vec<bool> = (0..table.header.len())
        .map(|column| {
            let cells = table.rows.iter().filter_map(|row| row.get(column));
            let mut written = cells.filter(|cell| !cell.is_empty()).peekable();
            written.peek().is_some() && written.all(|cell| number(cell).is_some())
        })
        .collect();
    let rows = table.rows.iter().map(|row| {
        row.iter()
            .zip(&numbers)
            .map(|(cell, numbers)| match number(cell).filter(|_| *numbers) {
                Some(number) => Written::Number(number),
                None => Written::text(cell.as_str()),
            })
            .collect()
    });
    // A spreadsheet takes 31 signs, and none of some.
    let plain: String = table
        .name
        .chars()
        .filter(|sign| sign.is_alphanumeric() || *sign == ' ')
        .take(27)
        .collect();
    let plain = match plain.trim() {
        "" => "table".to_owned(),
        plain => plain.to_owned(),
    };
    let mut name = plain.clone();
    for nth in 2.. {
        if !names.iter().any(|known| known.eq_ignore_ascii_case(&name)) {
            break;
        }
        name = format!("{plain} {nth}");
    }
    names.push(name.clone());
    WrittenSheet {
        name,
        header: table.header.clone(),
        rows: rows.collect(),
    }
}

/// A number that would be written as it stands: '007' is a code.
fn number(cell: &str) -> Option<f64> {
    let plain = cell.replace('−', "-");
    let number: f64 = plain.parse().ok()?;
    let digits = plain.trim_start_matches('-');
    let coded = digits.len() > 1 && digits.starts_with('0') && !digits.starts_with("0.");
    let figures = digits.starts_with(|sign: char| sign.is_ascii_digit());
    (number.is_finite() && figures && !coded).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_numbers_and_codes_stay_codes() {
        for (cell, is) in [
            ("12", Some(12.0)),
            ("-0.5", Some(-0.5)),
            ("−3", Some(-3.0)),
            ("0", Some(0.0)),
            ("007", None),
            ("12 %", None),
            ("inf", None),
            ("1e3", Some(1000.0)),
            ("", None),
        ] {
            assert_eq!(number(cell), is, "{cell}");
        }
        let table = TakenTable {
            name: "Plants: a/b [1]".into(),
            header: vec!["Code".into(), "Score".into()],
            rows: vec![
                vec!["=A1".into(), "7".into()],
                vec!["12".into(), String::new()],
            ],
        };
        let mut names = Vec::new();
        let made = sheet(&table, &mut names);
        assert_eq!(made.rows[0], [Written::text("=A1"), Written::Number(7.0)]);
        assert_eq!(made.rows[1], [Written::text("12"), Written::Empty]);
        assert!(made.csv().contains("'=A1") && made.block().contains("'=A1"));
        let again = sheet(&table, &mut names);
        assert_eq!(
            (made.name.as_str(), again.name.as_str()),
            ("Plants ab 1", "Plants ab 1 2")
        );
        assert!(xlsx(&[made, again]).is_ok());
    }
}

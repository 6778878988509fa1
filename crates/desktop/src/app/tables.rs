//! The tables on the page that is shown, copied or saved as they stand: the same for every page. Where there are several
//! and one is wanted, the person says which.

use super::overlays::Overlay;
use super::{App, Notice};
use crate::dialogs::Question;
use egui::{Context, Ui};
use exchange::sheets::{Written, WrittenSheet, xlsx};
use kit::theme::space;
use kit::widgets::{TakenTable, ask_for_tables, heading, tables_taken};

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
        // The largest first. What has no rows says nothing beside what has.
        tables.sort_by_key(|table| std::cmp::Reverse(table.rows.len()));
        if tables.iter().any(|table| !table.rows.is_empty()) {
            tables.retain(|table| !table.rows.is_empty());
        }
        match (&tables[..], wanted) {
            ([], _) => {
                self.notice = Some(Notice::refused(
                    "No table is shown on this page. Beside an open record stands a list: close the record, and the table is shown whole.".into(),
                ));
            }
            ([_, _, ..], Wanted::Copy | Wanted::Csv) => {
                self.tables_offered = Some((wanted, tables));
                self.overlay = Some(Overlay::WhichTable);
                ctx.request_repaint();
            }
            _ => self.hand_over(ctx, wanted, &tables),
        }
    }

    /// Asks which of several tables is meant. True once that is said, or it is left.
    pub(super) fn which_table_ui(&mut self, ui: &mut Ui) -> bool {
        heading(ui, "Which table?");
        let Some((wanted, tables)) = &self.tables_offered else {
            return true;
        };
        let wanted = *wanted;
        let words = tables.iter().map(told);
        let pressed = words
            .enumerate()
            .filter(|(_, words)| ui.button(words).clicked())
            .map(|(nth, _)| nth)
            .last();
        ui.add_space(space::S);
        let left = ui.button("Cancel").clicked();
        let chosen = pressed.and_then(|nth| tables.get(nth).cloned());
        if let Some(table) = &chosen {
            self.hand_over(ui.ctx(), wanted, std::slice::from_ref(table));
        }
        chosen.is_some() || left
    }

    fn hand_over(&mut self, ctx: &Context, wanted: Wanted, tables: &[TakenTable]) {
        let title = self.screens.current.title();
        match (wanted, tables) {
            (_, []) => {}
            (Wanted::Copy, [table, ..]) => {
                ctx.copy_text(sheet(table, &mut Vec::new()).block());
                self.notice = Some(Notice::said(format!(
                    "Copied: {}. Paste it into a spreadsheet.",
                    told(table)
                )));
            }
            (Wanted::Csv, [table, ..]) => {
                let csv = sheet(table, &mut Vec::new()).csv();
                let question = Question::SaveCsv(format!("{title}.csv"));
                if let Some(path) = (self.dialogs)(&question) {
                    self.export(&path, csv.as_bytes());
                }
            }
            (Wanted::Xlsx, _) => {
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

/// A table in words: its name, and how much of it there is.
fn told(table: &TakenTable) -> String {
    match table.rows.len() {
        1 => format!("{}, 1 row", table.name),
        rows => format!("{}, {rows} rows", table.name),
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

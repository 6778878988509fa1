//! A block of cells from a spreadsheet: what is understood is one edit, what isn't stays in its cells as it came.

use super::{Column, Cursor, Shown, Spot, State, cells};
use crate::view::{Outbox, View};
use domain::{AnyId, Genotype, Id};
use egui::Ui;

/// Cuts a block into cells: tabs between them, a line each row; a cell in quotation marks may hold both.
fn cut(text: &str) -> Vec<Vec<String>> {
    let mut rows = vec![Vec::new()];
    let mut cell = String::new();
    let mut quoted = false;
    let mut signs = text.trim_end_matches(['\r', '\n']).chars().peekable();
    while let Some(sign) = signs.next() {
        match sign {
            '"' if quoted && signs.peek() == Some(&'"') => {
                signs.next();
                cell.push('"');
            }
            '"' if quoted => quoted = false,
            '"' if cell.is_empty() => quoted = true,
            '\t' if !quoted => push(&mut rows, &mut cell),
            '\n' if !quoted => {
                push(&mut rows, &mut cell);
                rows.push(Vec::new());
            }
            '\r' if !quoted => {}
            other => cell.push(other),
        }
    }
    push(&mut rows, &mut cell);
    rows
}

fn push(rows: &mut [Vec<String>], cell: &mut String) {
    if let Some(row) = rows.last_mut() {
        row.push(std::mem::take(cell).trim().to_owned());
    }
}

/// The plants that the lines name, if their first cells are codes of plants.
fn coded(view: &View<'_>, lines: &[Vec<String>]) -> Option<Vec<Option<Id<Genotype>>>> {
    let plant = |line: &Vec<String>| {
        let code = line.first()?;
        view.project
            .find_code(code)
            .find_map(AnyId::typed::<Genotype>)
    };
    let plants: Vec<_> = lines.iter().map(plant).collect();
    let known = plants.iter().filter(|plant| plant.is_some()).count();
    (known > 0 && known * 2 >= lines.len() && lines.iter().any(|line| line.len() > 1))
        .then_some(plants)
}

/// The columns that a heading names, if most of its cells are names of traits on the grid.
fn headed(heading: &[String], shown: &Shown<'_>) -> Option<Vec<Option<Column>>> {
    let column = |name: &String| {
        let bare = name.split('(').next().unwrap_or(name).trim().to_lowercase();
        let mut traits = shown.traits.iter();
        let found = traits.find(|each| each.name.trim().to_lowercase() == bare);
        match found {
            Some(found) => Some(Column::Trait(found.id)),
            None => (bare == "remark").then_some(Column::Remark),
        }
    };
    let columns: Vec<_> = heading.iter().map(column).collect();
    columns.iter().any(Option::is_some).then_some(columns)
}

/// Puts a block on the grid, from the cell in hand or where its own codes and headings say.
pub(super) fn paste(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    (shown, cursor): (&Shown<'_>, Cursor),
    text: &str,
    out: &mut Outbox<'_>,
) {
    let mut lines = cut(text);
    let all: Vec<Column> = cells::all_columns(shown.traits).collect();
    let heading = headed(&lines[0], shown);
    if heading.is_some() {
        lines.remove(0);
    }
    let plants = coded(view, &lines);
    let first = usize::from(plants.is_some() && heading.is_none());
    let column = |nth: usize| match &heading {
        Some(columns) => columns.get(nth).copied().flatten(),
        None => all.get((nth.checked_sub(first)?) + cursor.column).copied(),
    };
    let from = shown.rows.iter().position(|id| *id == cursor.plant);
    let plant = |nth: usize| match &plants {
        Some(plants) => plants.get(nth).copied().flatten(),
        None => shown.rows.get(from? + nth).copied(),
    };
    let mut values = Vec::new();
    let mut remarks = Vec::new();
    let (mut unread, mut beyond) = (0, 0);
    for (row, line) in lines.iter().enumerate() {
        for (nth, text) in line.iter().enumerate() {
            let is_code = nth == 0 && plants.is_some();
            if text.is_empty() || (is_code && plant(row).is_some()) {
                continue;
            }
            let (Some(plant), Some(column)) = (plant(row), column(nth)) else {
                beyond += 1;
                continue;
            };
            let spot = Spot { plant, column };
            match column {
                Column::Remark => remarks.push((spot, text.clone())),
                Column::Trait(of_trait) => match cells::meant(ui, view, of_trait, text) {
                    Ok(Some(value)) => values.push(((plant, of_trait), value, text.clone())),
                    Ok(None) => {}
                    Err(why) => {
                        unread += 1;
                        keep(ui, view, state, spot, text, Some(&why));
                    }
                },
            }
        }
    }
    let plain: Vec<_> = values
        .iter()
        .map(|(cell, value, _)| (*cell, value.clone()))
        .collect();
    let round = &shown.sheet.round;
    let (edit, refused) = round.record_all(view.project, view.today, &plain, out.ids);
    for (cell, why) in &refused {
        let typed = values.iter().find(|(each, ..)| each == cell);
        if let Some((_, _, text)) = typed {
            unread += 1;
            keep(ui, view, state, spot_of(*cell), text, Some(why));
        }
    }
    for (cell, ..) in &values {
        if !refused.iter().any(|(each, _)| each == cell) {
            cells::slot(ui, view, spot_of(*cell)).forget(ui.ctx());
            cells::note_entered(state, spot_of(*cell));
        }
    }
    // A remark waits in its cell until the values it goes with are recorded.
    for (spot, text) in &remarks {
        keep(ui, view, state, *spot, text, None);
    }
    let recorded = plain.len() - refused.len();
    let mut said = vec![format!("{recorded} values pasted.")];
    if unread > 0 {
        said.push(format!(
            "{unread} cells couldn't be read: they stay as they came, beside the grid."
        ));
    }
    if beyond > 0 {
        said.push(format!(
            "{beyond} cells lay beside the grid and were left out."
        ));
    }
    if !remarks.is_empty() {
        let count = remarks.len();
        said.push(format!(
            "{count} remarks wait in their cells: Enter records each."
        ));
    }
    if let Some(edit) = edit {
        out.submit(kit::drafts::Ticket::of_value(ui), edit);
    }
    out.say(said.join(" "));
}

const fn spot_of((plant, of_trait): super::Cell) -> Spot {
    Spot {
        plant,
        column: Column::Trait(of_trait),
    }
}

fn keep(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    spot: Spot,
    text: &str,
    problem: Option<&str>,
) {
    cells::slot(ui, view, spot).keep(ui.ctx(), text, problem);
    cells::note_unread(state, spot);
}

#[cfg(test)]
mod tests {
    use super::cut;

    #[test]
    fn a_block_is_cut_as_spreadsheets_write_it() {
        assert_eq!(cut("1\t2\r\n3\t\r\n"), [["1", "2"], ["3", ""]]);
        assert_eq!(
            cut("a\t\"hail, \"\"twice\"\"\nin May\"\tb"),
            [["a", "hail, \"twice\"\nin May", "b"]]
        );
        assert_eq!(cut("5\" tall"), [["5\" tall"]]);
    }
}

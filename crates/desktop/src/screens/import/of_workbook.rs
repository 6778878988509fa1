//! A project's own workbook that comes back: each row with its fate, and one button that takes them all.

use crate::view::Outbox;
use domain::import::Fate;
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{Column, Rows, Table, TableState, main_button, segmented};
use paper::workbook::Incoming;
use std::collections::BTreeMap;

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    /// The fate that is shown; nothing for all that isn't there already.
    only: Option<&'static str>,
    rows: Vec<usize>,
    rows_of: Option<(usize, Option<&'static str>)>,
    table: TableState<usize>,
}

/// A workbook, compared with the project.
pub(super) struct Held {
    read: Incoming,
    counts: BTreeMap<&'static str, usize>,
}

impl Held {
    pub(super) fn of(read: Incoming) -> Self {
        Self {
            counts: read.counts(),
            read,
        }
    }
}

/// Draws the page; true once its edit was handed in. `answer` tells one comparison from another; `may` says whether it can be recorded.
pub(super) fn show(
    ui: &mut Ui,
    held: &Held,
    state: &mut State,
    (answer, name, may): (usize, &str, bool),
    out: &mut Outbox<'_>,
) -> bool {
    let mut imported = false;
    let read = &held.read;
    for note in &read.notes {
        ui.add(egui::Label::new(muted(ui, note)).wrap());
    }
    let of = |word: &str| held.counts.get(word).copied().unwrap_or(0);
    ui.horizontal_wrapped(|ui| {
        let differing = read.rows.len() - of(Fate::Same.word());
        let words: Vec<(Option<&'static str>, String)> =
            std::iter::once((None, format!("all that differ {differing}")))
                .chain(
                    held.counts
                        .iter()
                        .map(|(word, count)| (Some(*word), format!("{count} {word}"))),
                )
                .collect();
        let choices: Vec<(Option<&'static str>, &str)> = words
            .iter()
            .map(|(only, words)| (*only, words.as_str()))
            .collect();
        segmented(ui, "Rows shown", &mut state.only, &choices);
        match &read.edit {
            Some(edit) if may => {
                let taken = of(Fate::New.word()) + of("changes");
                let rows = if taken == 1 { "row" } else { "rows" };
                if main_button(ui, &format!("Import {taken} {rows}")).clicked() {
                    out.act_on(ui, "import", name, edit.clone());
                    imported = true;
                }
            }
            Some(_) => {}
            None => {
                ui.label(muted(ui, "Nothing in it is new."));
            }
        }
    });
    if state.rows_of != Some((answer, state.only)) {
        let fits = |row: &usize| {
            let fate = read.rows[*row].fate.word();
            state
                .only
                .map_or(fate != Fate::Same.word(), |only| only == fate)
        };
        state.rows = (0..read.rows.len()).filter(fits).collect();
        state.rows_of = Some((answer, state.only));
    }
    let columns = [
        Column::text("Sheet", 140.0),
        Column::number("Row", 64.0),
        Column::text("Record", 180.0),
        Column::text("Fate", 90.0),
        Column::text("Words", 320.0).stretch(),
    ];
    let shown = &state.rows;
    let rows = Rows {
        count: shown.len(),
        key: |row: usize| shown[row],
        name: |row: usize| {
            let row = &read.rows[shown[row]];
            format!("{} row {}", row.sheet, row.line)
        },
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let row = &read.rows[shown[row]];
            match column {
                0 => ui.label(&row.sheet),
                1 => ui.label(row.line.to_string()),
                2 => ui.label(&row.name),
                3 => ui.label(row.fate.word()),
                _ => {
                    let words = row.fate.words();
                    ui.label(&words).on_hover_text(words)
                }
            };
        },
    };
    Table::new("Rows of the workbook", &columns).show(ui, &mut state.table, rows);
    imported
}

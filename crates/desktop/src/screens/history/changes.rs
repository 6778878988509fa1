//! Every change, the latest first: who, when, what; and what a record went through.

use super::compared::{Against, Earlier, time};
use crate::theme::{muted, space};
use crate::view::{Outbox, View};
use crate::widgets::{
    Column, Rows, Table, TableState, detail, find_box, list_and_detail, section_heading,
};
use crate::worker::Worker;
use domain::{Edit, Project};
use egui::Ui;
use std::rc::Rc;
use std::sync::Arc;
use store::History;

/// How many parts of one change are told.
const MOST_PARTS: usize = 100;

/// The history with the names of what is no more.
struct Known {
    history: History,
    lexicon: Project,
}

/// What the page remembers.
#[derive(Default)]
pub(super) struct State {
    worker: Worker<u64, Result<Known, String>>,
    find: String,
    /// The places that fit, for which history and words.
    rows: Option<(u64, String, Rc<[usize]>)>,
    table: TableState<u64>,
    against: Against,
}

/// Draws the page.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let number = view.file.acknowledged();
    let earlier = state
        .worker
        .latest()
        .map(|answer| Arc::clone(&answer.value));
    let latest = state.worker.follow(ui.ctx(), number, || {
        let (store, path) = (view.file.store().clone(), view.path.to_owned());
        let project = view.project.clone();
        move |_| {
            let earlier = earlier.as_deref().and_then(|known| known.as_ref().ok());
            let read = store.read_history(&path, earlier.map(|known| &known.history));
            Some(
                read.map_err(|error| error.to_string())
                    .map(|history| Known {
                        lexicon: history.lexicon(&project),
                        history,
                    }),
            )
        }
    });
    let Some(latest) = latest else {
        ui.label(muted(ui, "Reading the journal"));
        return;
    };
    let known = match &*latest.value {
        Ok(known) if known.history.is_empty() => {
            ui.label(muted(
                ui,
                "Every change will stand here, with who made it and when. There is none yet.",
            ));
            return;
        }
        Ok(known) => known,
        Err(problem) => {
            ui.label(problem);
            return;
        }
    };
    find_box(ui, "Code, or a person", &mut state.find);
    ui.add_space(space::S);
    let rows = places(state, &known.history, &known.lexicon);
    if rows.is_empty() {
        ui.label(muted(
            ui,
            "No change of a record of this code, nor by a person of this name.",
        ));
        return;
    }
    let place_of = |sequence: u64| {
        rows.iter().copied().find(|place| {
            known
                .history
                .line(*place)
                .is_some_and(|line| line.sequence == sequence)
        })
    };
    let chosen = state
        .table
        .only_selected()
        .and_then(|sequence| Some((sequence, place_of(sequence)?)));
    let title = chosen.map_or_else(String::new, |(sequence, _)| format!("Change {sequence}"));
    let was_open = chosen.is_some();
    let mut open = was_open;
    let (table, against) = (&mut state.table, &mut state.against);
    list_and_detail(
        ui,
        "changes",
        &mut open,
        &title,
        out,
        |ui, _| list(ui, known, &rows, table),
        |ui, out| {
            if let Some((sequence, place)) = chosen {
                told(ui, known, place);
                section_heading(ui, "Go back to this moment");
                against.show(ui, view, &Earlier::Moment(sequence), out);
            }
        },
    );
    // Closed by its own button; a row clicked just now opens it in the next frame.
    if was_open && !open {
        state.table.clear_selection();
    }
}

/// The changes that fit the words, the latest first, kept until either changes.
fn places(state: &mut State, history: &History, lexicon: &Project) -> Rc<[usize]> {
    let words = state.find.trim().to_lowercase();
    let last = history.len() as u64;
    if let Some((of, known, rows)) = &state.rows
        && (*of, known) == (last, &words)
    {
        return Rc::clone(rows);
    }
    let mut rows: Vec<usize> = if words.is_empty() {
        (0..history.len()).collect()
    } else {
        let by = (0..history.len()).filter(|place| {
            history
                .line(*place)
                .is_some_and(|line| line.by.to_lowercase().contains(&words))
        });
        let records = lexicon.find_code(&words);
        by.chain(records.flat_map(|id| history.of_record(id).collect::<Vec<_>>()))
            .collect()
    };
    rows.sort_unstable();
    rows.dedup();
    rows.reverse();
    let rows: Rc<[usize]> = rows.into();
    state.rows = Some((last, words, Rc::clone(&rows)));
    rows
}

fn list(ui: &mut Ui, known: &Known, places: &[usize], table: &mut TableState<u64>) {
    let columns = [
        Column::text("When", 140.0).unsortable(),
        Column::text("Who", 110.0).unsortable(),
        Column::text("What", 260.0).stretch().unsortable(),
        Column::text("Was", 120.0).unsortable(),
        Column::text("Is", 120.0).unsortable(),
    ];
    let (history, lexicon) = (&known.history, &known.lexicon);
    let number = |row: usize| history.line(places[row]).map_or(0, |line| line.sequence);
    let rows = Rows {
        count: places.len(),
        key: number,
        name: |row: usize| format!("Change {}", number(row)),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let place = places[row];
            let Some(line) = history.line(place) else {
                return;
            };
            let edit = || history.edit(place);
            ui.label(match column {
                0 => time(line.at),
                1 => line.by.to_owned(),
                2 => edit().map_or_else(String::new, |edit| edit.describe(lexicon)),
                3 => edit()
                    .and_then(|edit| was(known, place, &edit))
                    .unwrap_or_default(),
                _ => edit()
                    .and_then(|edit| edit.value_words(lexicon))
                    .unwrap_or_default(),
            });
        },
    };
    Table::new("Changes", &columns).show(ui, table, rows);
}

fn was(known: &Known, place: usize, part: &Edit) -> Option<String> {
    known
        .history
        .before(place, part)?
        .value_words(&known.lexicon)
}

fn told(ui: &mut Ui, known: &Known, place: usize) {
    let (Some(line), Some(edit)) = (known.history.line(place), known.history.edit(place)) else {
        return;
    };
    detail(ui, "When", &time(line.at));
    detail(ui, "Who", line.by);
    detail(ui, "What", &edit.describe(&known.lexicon));
    for part in edit.parts().into_iter().take(MOST_PARTS) {
        let words = part.describe(&known.lexicon);
        let text = match (was(known, place, part), part.value_words(&known.lexicon)) {
            (Some(was), Some(is)) => format!("{words}: was {was}, is {is}"),
            (None, Some(is)) => format!("{words}: {is}"),
            _ => words,
        };
        ui.add(egui::Label::new(text).wrap());
    }
}

//! Every change, the latest first: who, when, what; and what a record went through.

use super::compared::{Against, Earlier};
use super::described::Described;
use super::filter::Filter;
use crate::record_history::LoadedHistory;
use crate::view::{Outbox, View};
use domain::{AnyId, Edit};
use egui::{Align, Button, Layout, Ui};
use kit::theme::{muted, space};
use kit::widgets::{
    Column, Rows, Table, TableState, detail, grouped, list_and_detail, section_heading,
};
use kit::worker::{Latest, Worker};
use std::sync::Arc;

/// So many changes are filtered at once; more by a worker.
const FEW: usize = 5_000;

/// What the page remembers.
#[derive(Default)]
pub(super) struct State {
    filter: Filter,
    /// The places of the changes that fit, for how long a history.
    rows: Worker<(usize, Filter), Vec<usize>>,
    table: TableState<u64>,
    described: Described,
    against: Against,
    held: Held,
}

/// How much of the history is listed: what is changed while the list is looked at waits above it, so that no row slides
/// under the finger.
#[derive(Default)]
struct Held {
    /// So many changes, with this filter.
    of: Option<(usize, Filter)>,
    /// The last frame in which the list was drawn.
    frame: u64,
}

impl Held {
    /// How many changes are listed of so many; those after them wait while a row is in hand.
    fn upto(&mut self, ui: &Ui, all: usize, in_hand: bool, filter: &Filter) -> usize {
        let frame = ui.ctx().cumulative_frame_nr();
        let looked_at = frame <= self.frame + 1;
        self.frame = frame;
        let holds = |(held, of): &(usize, Filter)| of == filter && *held <= all;
        self.of = self
            .of
            .take()
            .filter(|each| looked_at && in_hand && holds(each));
        if self.of.is_none() && in_hand {
            self.of = Some((all, filter.clone()));
        }
        self.of.as_ref().map_or(all, |(held, _)| *held)
    }
}

impl State {
    /// Shows the changes of this record alone.
    pub(super) fn show_record(&mut self, id: AnyId) {
        self.filter = Filter::of_record(id);
        self.table = TableState::default();
    }
}

/// Draws the page.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let Some(latest) = view.history(ui.ctx()) else {
        ui.label(muted(ui, "Reading the journal"));
        return;
    };
    let known = match &*latest.value {
        Ok(known) if known.history.is_empty() => {
            ui.label(muted(
                ui,
                "Nothing was changed since this file was made. Each change will be listed here, with who made it and when.",
            ));
            return;
        }
        Ok(known) => known,
        Err(problem) => {
            ui.label(problem);
            return;
        }
    };
    state.described.refresh(known, state.filter.record());
    let all = known.history.len();
    let filter = state.filter.tidied();
    let in_hand = state.table.only_selected().is_some();
    let listed = state.held.upto(ui, all, in_hand, &filter);
    let rows = fitting(ui, view, state, &latest, listed);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.y = space::XS;
        state.filter.show(ui, view, known);
        let count = rows.as_ref().map(|rows| rows.len());
        // How many come after a moment, nobody asks there.
        let all = count.filter(|_| view.moment.is_some()).unwrap_or(all);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.label(muted(ui, count_words(count, all)));
            let newer = known.history.len() - listed;
            if newer > 0 && ui.button(format!("Show {newer} newer")).clicked() {
                state.held.of = None;
            }
        });
    });
    ui.add_space(space::S);
    let Some(rows) = rows else { return };
    if rows.is_empty() {
        ui.label(muted(ui, "No change fits."));
        return;
    }
    let chosen = state
        .table
        .only_selected()
        .and_then(|sequence| Some((sequence, place_of(known, &rows, sequence)?)));
    let title = chosen.map_or_else(String::new, |(sequence, _)| {
        format!("Change {}", grouped(sequence))
    });
    let was_open = chosen.is_some();
    let mut open = was_open;
    let (table, against) = (&mut state.table, &mut state.against);
    list_and_detail(
        ui,
        "changes",
        &mut open,
        &title,
        &mut (&mut state.described, out),
        |ui, (described, _)| list(ui, known, &rows, described, table),
        |ui, (described, out)| {
            if let Some((after, place)) = chosen
                && let Some(line) = known.history.line(place)
            {
                told(ui, known, described, place);
                if view.moment.is_none() {
                    let back = described.back(known, place, view.project);
                    take_back_ui(ui, view, back, out);
                }
                section_heading(ui, "Project at that time");
                let moment = Earlier::PastState { after, at: line.at };
                against.show(ui, view, Some(&latest.value), &moment, out);
            }
        },
    );
    // Closed by its own button; a row clicked just now opens it in the next frame.
    if was_open && !open {
        state.table.clear_selection();
    }
}

/// The places of the changes that fit, as last found.
fn fitting(
    ui: &Ui,
    view: &View<'_>,
    state: &mut State,
    known: &Latest<Result<crate::record_history::LoadedHistory, String>>,
    listed: usize,
) -> Option<Arc<Vec<usize>>> {
    known.as_ref().as_ref().ok()?;
    let upto = view.moment.and_then(|moment| moment.after);
    let filter = state.filter.tidied();
    let key = (listed, filter.clone());
    let found = state.rows.follow_sized(ui.ctx(), key, listed <= FEW, || {
        let known = Arc::clone(&known.value);
        move |watch| {
            let known = known.as_ref().as_ref().ok()?;
            let mut places = filter.places(known, upto, watch)?;
            places.retain(|place| *place < listed);
            Some(places)
        }
    });
    found.map(|found| found.value)
}

/// The place of the change of this number, if it is among those shown.
fn place_of(known: &LoadedHistory, rows: &[usize], sequence: u64) -> Option<usize> {
    let number = |place: usize| known.history.line(place).map(|line| line.sequence);
    let at = rows.partition_point(|place| number(*place) > Some(sequence));
    let place = *rows.get(at)?;
    (number(place) == Some(sequence)).then_some(place)
}

fn count_words(fit: Option<usize>, all: usize) -> String {
    let all_words = grouped(all as u64);
    match fit {
        Some(fit) if fit == all && all == 1 => "1 change".into(),
        Some(fit) if fit == all => format!("{all_words} changes"),
        Some(fit) => format!("{} of {all_words} changes", grouped(fit as u64)),
        None => format!("Searching {all_words} changes"),
    }
}

fn list(
    ui: &mut Ui,
    known: &LoadedHistory,
    places: &[usize],
    described: &mut Described,
    table: &mut TableState<u64>,
) {
    let columns = [
        Column::text("When", 140.0).unsortable(),
        Column::text("Who", 110.0).unsortable(),
        Column::text("What", 200.0).stretch().unsortable(),
        // Beside the page of a change, which says both.
        Column::text("Before", 120.0).gives_way(1).unsortable(),
        Column::text("Is", 120.0).gives_way(2).unsortable(),
    ];
    let number = |row: usize| {
        let line = known.history.line(places[row]);
        line.map_or(0, |line| line.sequence)
    };
    let rows = Rows {
        count: places.len(),
        key: number,
        name: |row: usize| format!("Change {}", number(row)),
        cell: |ui: &mut Ui, row: usize, column: usize| {
            let row = described.row(known, places[row]);
            ui.label(match column {
                0 => &row.when,
                1 => &row.who,
                2 => &row.what,
                3 => &row.was,
                _ => &row.is,
            });
        },
    };
    Table::new("Changes", &columns).show(ui, table, rows);
}

fn told(ui: &mut Ui, known: &LoadedHistory, described: &mut Described, place: usize) {
    let row = described.row(known, place);
    detail(ui, "When", &row.when);
    detail(ui, "Who", &row.who);
    detail(ui, "What", &row.what);
    for (name, words) in [("Before", &row.was), ("Is", &row.is)] {
        if !words.is_empty() {
            detail(ui, name, words);
        }
    }
    for line in described.parts(known, place) {
        ui.add(egui::Label::new(line).wrap());
    }
}

fn take_back_ui(ui: &mut Ui, view: &View<'_>, back: Option<&Edit>, out: &mut Outbox<'_>) {
    let can = back.is_some() && view.read_only.is_none();
    let button = ui
        .add_enabled(can, Button::new("Undo this change"))
        .on_hover_text("What was changed since in other places stays. Undo makes it again.")
        .on_disabled_hover_text("All of it was changed again since, or nothing can be changed.");
    if let Some(back) = back.filter(|_| button.clicked()) {
        out.act_on(ui, "take back", "change", back.clone());
    }
}

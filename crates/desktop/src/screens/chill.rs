//! Chill: batches of seed in the cold, their boxes, and what was found in each.

use crate::view::{Outbox, View};
use domain::status::BatchStatus;
use domain::{AnyId, ChillBatch, ChillBox, Id, Project, SeedLot};
use egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};
use kit::theme::{muted, space};
use kit::widgets::{TableState, empty_state, heading, list_and_detail, main_button};

mod actions;
mod batch_page;
mod batches;
mod box_page;
mod box_table;
mod end;
mod lay;
mod looks;
mod picture;
mod plan;
mod sterilisation;
mod warm;

/// What the chill screen remembers between frames.
#[derive(Default)]
pub struct State {
    batch: Option<Id<ChillBatch>>,
    pane: Pane,
    boxes: box_table::State,
    table: TableState<Id<ChillBox>>,
    batch_page: batch_page::State,
    box_page: box_page::State,
}

/// What is at the right.
#[derive(Default)]
enum Pane {
    #[default]
    None,
    Batch,
    /// The box selected in the table.
    Box,
    Plan(plan::Form),
    Lay(lay::Form),
    Warm(warm::Form),
    End(end::BatchForm),
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    if project.chill_batches().is_empty() && matches!(state.pane, Pane::None) {
        heading(ui, "Chill");
        let sentence = "Hop seed comes up only after weeks in the damp cold. Plan a batch and lay seed of your lots in its boxes; the calendar then tells which box to look into each day, and when to bring it into warmth.";
        if empty_state(ui, sentence, "Plan a batch") && view.read_only.is_none() {
            state.pane = Pane::Plan(plan::Form::new(view, None));
        }
        return;
    }
    let known = |batch: Id<ChillBatch>| project.chill_batches().contains(batch);
    state.batch = state
        .batch
        .filter(|batch| known(*batch))
        .or_else(|| first_batch(project));
    let title = title(view, state);
    let mut open = !title.is_empty();
    list_and_detail(
        ui,
        "chill",
        &mut open,
        &title,
        &mut (&mut *state, out),
        |ui, (state, out)| {
            ui.horizontal(|ui| {
                heading(ui, "Chill");
                ui.add_space(space::M);
                if view.read_only.is_none() && main_button(ui, "Plan a batch…").clicked() {
                    state.pane = Pane::Plan(plan::Form::new(view, None));
                }
            });
            ui.add_space(space::S);
            list(ui, view, state, out);
        },
        |ui, (state, out)| pane_ui(ui, view, state, out),
    );
    if !open && !title.is_empty() {
        state.pane = Pane::None;
        state.table.clear_selection();
    }
}

/// The batch shown when none was chosen: the oldest in the cold, else the next planned, else the last one ended.
fn first_batch(project: &Project) -> Option<Id<ChillBatch>> {
    let batches = project.chill_batches().iter();
    let order = |batch: &&ChillBatch| {
        let status = BatchStatus::of(project, batch);
        let days = batch.start.signed_duration_since(chrono::NaiveDate::MIN);
        let days = days.num_days();
        (
            status,
            if status == BatchStatus::Ended {
                -days
            } else {
                days
            },
        )
    };
    batches.min_by_key(order).map(|batch| batch.id)
}

fn title(view: &View<'_>, state: &State) -> String {
    let project = view.project;
    match &state.pane {
        Pane::None => String::new(),
        Pane::Batch => state
            .batch
            .map(|batch| project.code_of(batch).to_owned())
            .unwrap_or_default(),
        Pane::Box => state
            .table
            .only_selected()
            .and_then(|id| project.chill_boxes().get(id))
            .map(|chill_box| format!("Box {}", chill_box.code))
            .unwrap_or_default(),
        Pane::Plan(_) => "New batch".to_owned(),
        Pane::Lay(_) => "Lay seed in boxes".to_owned(),
        Pane::Warm(_) => "Move to warmth".to_owned(),
        Pane::End(_) => state.batch.map_or_else(String::new, |batch| {
            format!("End {}", project.code_of(batch))
        }),
    }
}

/// Batches at the left, the boxes of the one chosen beside them.
fn list(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let margin = |left: f32, right: f32| Margin {
        left: left as i8,
        right: right as i8,
        ..Margin::ZERO
    };
    Panel::left("batches")
        .default_size(208.0)
        .size_range(160.0..=320.0)
        .frame(Frame::new().inner_margin(margin(0.0, space::S)))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                if let Some(batch) = batches::show(ui, view, state.batch) {
                    state.batch = Some(batch);
                    state.pane = Pane::Batch;
                    state.table.clear_selection();
                }
            });
        });
    CentralPanel::default()
        .frame(Frame::new().inner_margin(margin(space::S, 0.0)))
        .show(ui, |ui| {
            let batch = state
                .batch
                .and_then(|batch| view.project.chill_batches().get(batch));
            let Some(batch) = batch else { return };
            actions::show(ui, view, state, batch, out);
            if view.project.boxes_of(batch.id).next().is_none() {
                ui.add_space(space::XL);
                ui.label(muted(ui, "No boxes yet. Lay seed of a lot in them: each box holds seed of one lot, never two."));
                return;
            }
            if box_table::show(ui, view, &mut state.boxes, &mut state.table, batch) {
                state.pane = match state.table.only_selected() {
                    Some(_) => Pane::Box,
                    None => Pane::None,
                };
            }
        });
}

fn pane_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    let batch = state
        .batch
        .and_then(|batch| project.chill_batches().get(batch));
    let chill_box = state
        .table
        .only_selected()
        .and_then(|id| project.chill_boxes().get(id));
    let next = match (&mut state.pane, batch, chill_box) {
        (Pane::Batch, Some(batch), _) => {
            batch_page::show(ui, view, &mut state.batch_page, batch, out)
                .then(|| Pane::End(end::BatchForm::new(view.today)))
        }
        (Pane::Box, _, Some(chill_box)) => {
            box_page::show(ui, view, &mut state.box_page, chill_box, out)
                .map(|boxes| Pane::Warm(warm::Form::new(boxes, view.today)))
        }
        (Pane::Plan(form), ..) => form.show(ui, view, out).map(|ended| match ended {
            plan::Ended::Planned(batch, lot) => {
                state.batch = Some(batch);
                state.table.clear_selection();
                Pane::Lay(lay::Form::new(view.project, Some(batch), lot))
            }
            plan::Ended::PutAway => Pane::None,
        }),
        (Pane::Lay(form), ..) => form.show(ui, view, out).map(|ended| match ended {
            lay::Ended::Done(batch) => {
                state.batch = batch.or(state.batch);
                Pane::Batch
            }
            lay::Ended::PlanFirst(lot) => Pane::Plan(plan::Form::new(view, lot)),
        }),
        (Pane::Warm(form), ..) => form.show(ui, view, out).then_some(Pane::None),
        (Pane::End(form), Some(batch), _) => form.show(ui, view, batch, out).then_some(Pane::Batch),
        _ => Some(Pane::None),
    };
    if let Some(next) = next {
        state.pane = next;
    }
}

/// Brings a record into view: selected, and scrolled to.
pub fn reveal(state: &mut State, project: &Project, id: AnyId) {
    if let Some(batch) = id.typed::<ChillBatch>() {
        state.batch = Some(batch);
        state.pane = Pane::Batch;
        state.table.clear_selection();
    }
    let chill_box = id
        .typed::<ChillBox>()
        .and_then(|id| project.chill_boxes().get(id));
    if let Some(chill_box) = chill_box {
        state.batch = Some(chill_box.batch);
        state.pane = Pane::Box;
        state.boxes.show_all();
        state.table.select_only(chill_box.id);
    }
}

/// Opens the form that lays seed of this lot in boxes.
pub fn lay_in_boxes(state: &mut State, project: &Project, lot: Id<SeedLot>) {
    let open = |batch: &&ChillBatch| BatchStatus::of(project, batch) == BatchStatus::Planned;
    let batch = project.chill_batches().iter().rev().find(open);
    state.batch = batch.map(|batch| batch.id).or(state.batch);
    state.pane = Pane::Lay(lay::Form::new(
        project,
        batch.map(|batch| batch.id),
        Some(lot),
    ));
}

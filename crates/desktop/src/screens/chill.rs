//! Chill: batches of seed in the cold, their boxes, and what was found in each.

use crate::forms;
use crate::view::{Outbox, View};
use domain::status::BatchStatus;
use domain::{AnyId, ChillBatch, ChillBox, Id, Project, SeedLot};
use egui::{Context, ScrollArea, Ui};
use kit::theme::{muted, space};
use kit::widgets::{TableState, empty_state, heading, list_and_record, main_button, page_head};

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
pub(in crate::screens) mod sterilisation;
mod warm;

/// What the chill screen remembers between frames.
#[derive(Default)]
pub struct State {
    batch: Option<Id<ChillBatch>>,
    batches: batches::Kept,
    pane: Pane,
    boxes: box_table::State,
    table: TableState<Id<ChillBox>>,
    wanted: crate::screens::readiness::Wanted,
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
    Plan,
    /// Boxes added: what the form is about.
    Lay(String),
    /// Boxes moved to warmth: what the form is about.
    Warm(String),
    End,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    if project.chill_batches().is_empty() && matches!(state.pane, Pane::None) {
        heading(ui, "Chill");
        let sentence = "Hop seed germinates poorly without some weeks of damp cold. Plan a batch and put seed from \
            your lots in its boxes; the calendar then tells you which box to check each day, and when to move it to \
            warmth.";
        if empty_state(ui, sentence, "Plan a batch") && view.read_only.is_none() {
            state.plan_batch(ui, view, None);
        }
        return;
    }
    let known = |batch: Id<ChillBatch>| project.chill_batches().contains(batch);
    state.batch = state
        .batch
        .filter(|batch| known(*batch))
        .or_else(|| first_batch(project));
    let boxed = matches!(state.pane, Pane::Box) && state.table.only_selected().is_some();
    if matches!(state.pane, Pane::Box) && !boxed || matches!(state.pane, Pane::None) {
        state.pane = Pane::Batch;
    }
    let title = title(view, state);
    let mut open = true;
    list_and_record(
        ui,
        "chill",
        &mut open,
        &title,
        &mut (&mut *state, out),
        |ui, (state, _), _| {
            if boxed {
                boxes_ui(ui, view, state);
            } else {
                batches_ui(ui, view, state);
            }
        },
        |ui, (state, out)| pane_ui(ui, view, state, out),
    );
    if !open {
        state.pane = Pane::Batch;
        state.table.clear_selection();
    }
}

/// The batches, beside the page of one.
fn batches_ui(ui: &mut Ui, view: &View<'_>, state: &mut State) {
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Chill");
        if view.read_only.is_none()
            && (ui.button("Plan a batch…").clicked()
                || kit::page_keys::acts(ui, egui::Key::N, "new batch"))
        {
            state.plan_batch(ui, view, None);
        }
    });
    ui.add_space(space::S);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        if let Some(batch) = batches::show(ui, view, &mut state.batches, state.batch) {
            state.batch = Some(batch);
            state.pane = Pane::Batch;
            state.table.clear_selection();
        }
    });
}

/// The boxes of a batch, beside the page of one.
fn boxes_ui(ui: &mut Ui, view: &View<'_>, state: &mut State) {
    let batch = state
        .batch
        .and_then(|batch| view.project.chill_batches().get(batch));
    let Some(batch) = batch else { return };
    heading(ui, &batch.code);
    box_table::find_ui(ui, &mut state.boxes);
    ui.add_space(space::XS);
    if box_table::list(ui, view, &mut state.boxes, &mut state.table, batch) {
        state.pane = Pane::Box;
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

/// The title of a page that can be gone back from.
fn title(view: &View<'_>, state: &State) -> String {
    let project = view.project;
    match &state.pane {
        Pane::None | Pane::Batch => String::new(),
        Pane::Box => state
            .table
            .only_selected()
            .and_then(|id| project.chill_boxes().get(id))
            .map(|chill_box| format!("Box {}", chill_box.code))
            .unwrap_or_default(),
        Pane::Plan => "New batch".to_owned(),
        Pane::Lay(_) => "Lay seed in boxes".to_owned(),
        Pane::Warm(_) => "Move to warmth".to_owned(),
        Pane::End => state.batch.map_or_else(String::new, |batch| {
            format!("End {}", project.code_of(batch))
        }),
    }
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
    if matches!(
        state.pane,
        Pane::Plan | Pane::Lay(_) | Pane::Warm(_) | Pane::End
    ) {
        let title = title(view, state);
        page_head(ui, &title, |ui| ui.add_space(space::XXXL));
    }
    let open = match (&state.pane, batch, chill_box) {
        (Pane::Batch, Some(batch), _) => {
            batch_page::show(ui, view, state, batch, out);
            true
        }
        (Pane::Box, _, Some(chill_box)) => {
            if let Some(boxes) = box_page::show(ui, view, &mut state.box_page, chill_box, out) {
                state.move_to_warmth(ui, view, boxes);
            }
            true
        }
        (Pane::Plan, ..) => forms::show::<plan::Form>(ui, view, "chill", out),
        (Pane::Lay(about), ..) => {
            if lay::open_batches(project).next().is_none() {
                ui.label(muted(ui, "There is no batch to add boxes to."));
                if main_button(ui, "Plan a batch first…").clicked() {
                    let lot = forms::held::<lay::Form>(ui.ctx(), about).and_then(|form| form.lot);
                    state.plan_batch(ui, view, lot);
                }
                return;
            }
            forms::show::<lay::Form>(ui, view, about, out)
        }
        (Pane::Warm(about), ..) => forms::show::<warm::Form>(ui, view, about, out),
        (Pane::End, Some(batch), _) => {
            forms::show::<end::BatchForm>(ui, view, batch.id.uuid(), out)
        }
        _ => false,
    };
    if !open {
        state.pane = Pane::Batch;
    }
}

impl State {
    /// Opens the form that plans a batch, to go on with seed of this lot.
    fn plan_batch(&mut self, ui: &Ui, view: &View<'_>, lot: Option<Id<SeedLot>>) {
        forms::open(ui.ctx(), "chill", "", plan::Form::new(view, lot));
        self.pane = Pane::Plan;
    }

    /// Opens the form that moves these boxes to warmth.
    fn move_to_warmth(&mut self, ui: &Ui, view: &View<'_>, boxes: Vec<Id<ChillBox>>) {
        let Some(first) = boxes.first().copied() else {
            return;
        };
        let about = first.uuid().to_string();
        let code = view.project.code_of(first).to_owned();
        forms::close::<warm::Form>(ui.ctx(), &about);
        forms::open(ui.ctx(), &about, code, warm::Form::new(boxes, view.today));
        self.pane = Pane::Warm(about);
    }

    /// Opens the form that adds boxes.
    fn lay(
        &mut self,
        ctx: &Context,
        project: &Project,
        batch: Option<Id<ChillBatch>>,
        lot: Option<Id<SeedLot>>,
    ) {
        let about = lot.map_or_else(
            || batch.map_or_else(|| "chill".to_owned(), |batch| batch.uuid().to_string()),
            |lot| lot.uuid().to_string(),
        );
        let words = lot.map_or("", |lot| project.code_of(lot));
        forms::open(ctx, &about, words, lay::Form::new(project, batch, lot));
        // One that waited for a batch has it now.
        forms::change(ctx, &about, |form: &mut lay::Form| {
            form.batch = form.batch.or(batch);
        });
        self.pane = Pane::Lay(about);
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

/// Opens the form that lays seed in boxes: of this batch, or the latest that is planned, and of this lot.
pub fn lay_in_boxes(
    state: &mut State,
    ctx: &Context,
    project: &Project,
    batch: Option<Id<ChillBatch>>,
    lot: Option<Id<SeedLot>>,
) {
    let planned = |batch: &&ChillBatch| BatchStatus::of(project, batch) == BatchStatus::Planned;
    let latest = || {
        let latest = project.chill_batches().iter().rev().find(planned);
        latest.map(|batch| batch.id)
    };
    let batch = batch.or_else(latest);
    state.batch = batch.or(state.batch);
    state.table.clear_selection();
    state.lay(ctx, project, batch, lot);
}

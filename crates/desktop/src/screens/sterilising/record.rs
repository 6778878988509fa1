//! What was done, on the record of a batch.

use super::steps;
use crate::forms;
use crate::screens::chill::sterilisation;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::sterilising::{Fluid, check_steps};
use domain::{ChillBatch, Id, Sterilisation};
use egui::{ComboBox, Role, Ui, WidgetInfo};
use kit::theme::muted;
use kit::widgets::{form_row, main_button, section_heading};

/// The batch it is for.
#[derive(Default)]
pub(super) struct State {
    batch: Option<Id<ChillBatch>>,
}

/// Draws the form.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    steps: &steps::State,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    section_heading(ui, "Record it");
    let open = || {
        project
            .chill_batches()
            .iter()
            .filter(|batch| batch.ended.is_none())
    };
    if open().next().is_none() {
        ui.label(muted(
            ui,
            "No batch is planned or in the cold. Plan one on the Chill screen.",
        ));
        return;
    }
    state.batch = state
        .batch
        .filter(|batch| open().any(|each| each.id == *batch));
    form_row(ui, "Batch", |ui| {
        let chosen = state.batch.map_or("choose", |batch| project.code_of(batch));
        ComboBox::from_id_salt("batch sterilised")
            .selected_text(chosen)
            .show_ui(ui, |ui| {
                for batch in open() {
                    ui.selectable_value(&mut state.batch, Some(batch.id), &batch.code);
                }
            })
            .response
            .widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, "Batch sterilised"));
    });
    let Some(batch) = state.batch.and_then(|id| project.chill_batches().get(id)) else {
        return;
    };
    if forms::show::<sterilisation::Form>(ui, view, batch.id.uuid(), out) {
        return;
    }
    if batch.sterilised.is_some() {
        ui.add(egui::Label::new(muted(ui, "A sterilisation is on its record already; recording another replaces it. Undo brings the old one back.")).wrap());
    }
    let fits = !steps.steps.is_empty() && check_steps(&steps.steps).is_ok();
    ui.add_enabled_ui(fits && view.read_only.is_none(), |ui| {
        if main_button(ui, "Record these steps…").clicked()
            || kit::page_keys::acts(ui, egui::Key::R, "record these steps")
        {
            // The bath comes before the cold.
            let record = as_record(steps, view.today.min(batch.start), &view.preferences.who);
            let form = sterilisation::Form::new(batch.id, record);
            forms::open(ui.ctx(), batch.id.uuid(), &batch.code, form);
        }
    });
}

/// The steps as they stand on a record.
fn as_record(steps: &steps::State, date: NaiveDate, who: &str) -> Sterilisation {
    let lines = steps
        .steps
        .iter()
        .enumerate()
        .map(|(nth, step)| format!("{}. {}.", nth + 1, step.words()));
    let minutes = steps
        .steps
        .iter()
        .filter(|step| matches!(step.fluid, Fluid::Bleach(_)))
        .map(|step| step.minutes)
        .sum();
    let bath = steps
        .steps
        .iter()
        .rposition(|step| step.fluid != Fluid::Water);
    let rinses = steps.steps.len() - bath.map_or(0, |last| last + 1);
    Sterilisation {
        date,
        recipe: lines.collect::<Vec<_>>().join("\n"),
        minutes,
        rinses: rinses as u32,
        by: who.to_owned(),
    }
}

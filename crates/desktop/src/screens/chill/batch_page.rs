//! One batch: its fields and its own copy of the regimen, edited in place.

use super::{batches::progress_words, sterilisation};
use crate::screens::text_field::text_field;
use crate::screens::{readiness, record_history, record_notes, regimen_form};
use crate::view::{Outbox, Request, View};
use domain::record::chill::ChillBatchField;
use domain::status::{BatchStatus, ChillProgress};
use domain::{ChillBatch, Edit};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{detail, form_row, section_heading};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State {
    wanted: readiness::Wanted,
}

/// Draws the page of a batch; true when it is to be ended.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) -> bool {
    let mut end = false;
    kit::drafts::about(ui, batch.id.uuid(), &batch.code, |ui| {
        ui.add_enabled_ui(view.read_only.is_none(), |ui| {
            end = fields(ui, view, batch, out);
            readiness::show(ui, view, batch, &mut state.wanted);
            temperatures(ui, view, batch, out);
            sterilisation::show(ui, view, batch, out);
            section_heading(ui, "Settings of this batch");
            ui.add(
                egui::Label::new(muted(
                    ui,
                    "A copy of the protocol: a change here is for this batch alone.",
                ))
                .wrap(),
            );
            if let Some((regimen, ticket)) = regimen_form::show(ui, view, &batch.regimen) {
                out.submit(
                    ticket,
                    Edit::set(batch.id, ChillBatchField::Regimen(regimen)),
                );
            }
            record_notes::show(ui, view, batch.id, out);
            record_history::show(ui, view, batch.id, out);
            if view.project.boxes_of(batch.id).next().is_none() {
                ui.add_space(space::S);
                if ui.button("Remove this batch").clicked() {
                    out.act(ui, "remove", batch.id, Edit::remove(batch.id));
                }
            }
        });
    });
    end
}

/// What its temperatures mean, and the way to them.
fn temperatures(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, out: &mut Outbox<'_>) {
    let derived = view.derived.cold(view.project, view.today, ui.ctx());
    if let Some(cold) = derived
        .as_ref()
        .and_then(|derived| derived.batches.get(&batch.id))
    {
        readiness::advice_ui(ui, view, cold);
    }
    if batch.started && ui.button("Show its temperatures").clicked() {
        out.ask(Request::ShowTemperatures(batch.id));
    }
}

/// True when the batch is to be ended.
fn fields(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, out: &mut Outbox<'_>) -> bool {
    let mut end = false;
    let set = |field| Edit::set(batch.id, field);
    let progress = ChillProgress::of(batch, view.today);
    detail(ui, "Chill", &progress_words(view.project, batch, progress));
    detail(
        ui,
        "Ready on",
        &progress.ready.format("%-d %b %Y").to_string(),
    );
    if !batch.protocol.is_empty() {
        detail(ui, "Protocol", &batch.protocol);
    }
    if let Some((code, ticket)) = form_row(ui, "Code", |ui| {
        text_field(ui, "Code of the batch", &batch.code)
    }) {
        out.submit(ticket, set(ChillBatchField::Code(code.trim().to_owned())));
    }
    let start = if batch.started {
        "Started on"
    } else {
        "Planned for"
    };
    form_row(ui, start, |ui| {
        let mut day = batch.start;
        if let Some(ticket) = view
            .date_field("Start of the batch")
            .show(ui, &mut day)
            .ticket
        {
            out.submit(ticket, set(ChillBatchField::Start(day)));
        }
    });
    if let Some((place, ticket)) = form_row(ui, "Place", |ui| {
        text_field(ui, "Place of the batch", &batch.place)
    }) {
        out.submit(ticket, set(ChillBatchField::Place(place.trim().to_owned())));
    }
    match (BatchStatus::of(view.project, batch), batch.ended) {
        (BatchStatus::InCold | BatchStatus::Emptied, _) => {
            ui.horizontal_wrapped(|ui| {
                end = ui.button("End the batch…").clicked();
                if ui.button("Undo the start").clicked() {
                    let edit = set(ChillBatchField::Started(false));
                    out.act(ui, "take back the start", batch.id, edit);
                }
            });
        }
        (_, Some(ended)) => {
            form_row(ui, "Ended on", |ui| {
                let mut day = ended;
                if let Some(ticket) = view
                    .date_field("End of the batch")
                    .show(ui, &mut day)
                    .ticket
                {
                    out.submit(ticket, set(ChillBatchField::Ended(Some(day))));
                }
            });
            if ui.button("Reopen the batch").clicked() {
                let edit = set(ChillBatchField::Ended(None));
                out.act(ui, "take back the end", batch.id, edit);
            }
        }
        (_, None) => {}
    }
    end
}

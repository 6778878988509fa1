//! One batch: its fields and its own copy of the regimen, edited in place.

use super::{State, actions, batches::progress_words, box_table, end, sterilisation};
use crate::forms;
use crate::screens::text_field::text_field;
use crate::screens::{harm, readiness, record_history, record_notes, record_page, regimen_form};
use crate::view::{Outbox, Request, View};
use domain::record::chill::ChillBatchField;
use domain::status::{BatchStatus, ChillProgress};
use domain::words::plural;
use domain::{ChillBatch, Edit};
use egui::{Key, Ui};
use kit::page_keys;
use kit::theme::{muted, space};
use kit::widgets::{capital, detail, form_row, grouped, section_heading};
use quant::counted::total;

/// Draws the page of a batch.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let status = BatchStatus::of(project, batch);
    let progress = ChillProgress::of(batch, view.today);
    let boxes = project.boxes_of(batch.id).count() as u32;
    let mut figures = Vec::new();
    if boxes > 0 {
        figures.push((boxes.to_string(), plural(boxes, "box", "boxes")));
    }
    let of = format!("of {} days of cold", progress.of);
    if batch.started {
        figures.push((progress.days.to_string(), of.as_str()));
    }
    record_page::head(ui, &batch.code, &figures, |ui| {
        let place = match batch.place.as_str() {
            "" => capital(status.words()),
            place => format!("{}, {place}", capital(status.words())),
        };
        let words = actions::head_words(batch, status, progress);
        record_page::two_lines(ui, &place, &words);
    });
    let steps = domain::steps::of_batch(project, batch, view.today);
    record_page::life(ui, &batch.code, &steps, view);
    harm::of_batch(ui, view, batch.id, out);
    actions::next(ui, view, state, batch, out);
    acts_ui(ui, view, state, batch, (status, boxes), out);
    if boxes > 0 {
        let seeds = total(project.boxes_of(batch.id).map(|each| each.seeds));
        let remark = format!("{} seeds laid", grouped(seeds.into()));
        record_page::section(ui, "Boxes", &remark);
        box_table::find_ui(ui, &mut state.boxes);
        if box_table::show(ui, view, &mut state.boxes, &mut state.table, batch)
            && state.table.only_selected().is_some()
        {
            state.pane = super::Pane::Box;
        }
    }
    kit::drafts::about(ui, batch.id.uuid(), &batch.code, |ui| {
        record_page::columns(
            ui,
            &mut (&mut *state, &mut *out),
            |ui, (_, out)| {
                ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                    record_page::section(ui, "Record", "");
                    fields(ui, view, batch, out);
                    sterilisation::show(ui, view, batch, out);
                });
            },
            |ui, (state, out)| {
                readiness::show(ui, view, batch, &mut state.wanted);
                temperatures(ui, view, batch);
                ui.add_enabled_ui(view.read_only.is_none(), |ui| {
                    regimen_ui(ui, view, batch, out);
                });
            },
        );
        record_notes::show(ui, view, batch.id, out);
        record_history::show(ui, view, batch.id, out);
        ui.add_space(space::L);
    });
}

/// What else can be done, each by a small button.
fn acts_ui(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    batch: &ChillBatch,
    (status, boxes): (BatchStatus, u32),
    out: &mut Outbox<'_>,
) {
    ui.horizontal_wrapped(|ui| {
        let may = view.read_only.is_none();
        let open = matches!(status, BatchStatus::Planned | BatchStatus::InCold);
        if may && open && boxes > 0 {
            let add = ui.button("Add boxes…").clicked();
            if add || page_keys::pressed(ui, Key::B) {
                state.lay(ui.ctx(), view.project, Some(batch.id), None);
            }
            page_keys::declare(ui, [("B", "add boxes")]);
        }
        actions::label_button(ui, view, state, batch, out);
        page_keys::declare(ui, [("L", "label")]);
        if batch.started && ui.button("Show its temperatures").clicked() {
            out.ask(Request::ShowTemperatures(batch.id));
        }
        if !may {
            return;
        }
        if matches!(status, BatchStatus::InCold | BatchStatus::Emptied) {
            if ui.button("End the batch…").clicked() {
                let form = end::BatchForm::new(batch.id, view.today);
                forms::open(ui.ctx(), batch.id.uuid(), &batch.code, form);
                state.pane = super::Pane::End;
            }
            if ui.button("Undo the start").clicked() {
                let edit = Edit::set(batch.id, ChillBatchField::Started(false));
                out.act(ui, "take back the start", batch.id, edit);
            }
        }
        if boxes == 0 && ui.button("Remove this batch").clicked() {
            out.act(ui, "remove", batch.id, Edit::remove(batch.id));
        }
    });
}

fn regimen_ui(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, out: &mut Outbox<'_>) {
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
}

/// What its temperatures mean, and the way to them.
fn temperatures(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch) {
    let derived = view.derived.cold(view.project, view.today, ui.ctx());
    if let Some(cold) = derived
        .as_ref()
        .and_then(|derived| derived.batches.get(&batch.id))
    {
        readiness::advice_ui(ui, view, cold);
    }
}

fn fields(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, out: &mut Outbox<'_>) {
    let set = |field| Edit::set(batch.id, field);
    let progress = ChillProgress::of(batch, view.today);
    detail(ui, "Chill", &progress_words(view.project, batch, progress));
    detail(ui, "Ready on", &kit::dates::day(progress.ready));
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
    if let Some(ended) = batch.ended {
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
}

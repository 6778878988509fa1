//! The head of a batch: how it stands, and what can be done with all its boxes.

use super::{Pane, State, box_table};
use crate::view::{Outbox, Request, View};
use domain::actions::{check_boxes, plural, start_batch};
use domain::status::{BatchStatus, BoxStatus, ChillProgress, boxes_in_cold};
use domain::{AnyId, ChillBatch, ChillBox, Id};
use egui::Ui;
use kit::theme::{Meaning, muted, space, strong};
use kit::widgets::{badge, bench_button, main_button};

/// Draws the head.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) {
    let status = BatchStatus::of(view.project, batch);
    let progress = ChillProgress::of(batch, view.today);
    ui.horizontal_wrapped(|ui| {
        ui.label(strong(&batch.code));
        let meaning = match status {
            BatchStatus::InCold if progress.days == progress.of => Meaning::Soon,
            BatchStatus::InCold => Meaning::Good,
            BatchStatus::Planned | BatchStatus::Emptied | BatchStatus::Ended => Meaning::Plain,
        };
        badge(ui, meaning, status.words());
        ui.label(muted(ui, head_words(batch, status, progress)));
    });
    if view.read_only.is_none() {
        bench_buttons(ui, view, state, batch, status, out);
    }
    ui.horizontal_wrapped(|ui| {
        box_table::find_ui(ui, &mut state.boxes);
        if view.read_only.is_none() {
            let open = matches!(status, BatchStatus::Planned | BatchStatus::InCold);
            if open && ui.button("Add boxes…").clicked() {
                state.lay(ui.ctx(), view.project, Some(batch.id), None);
            }
        }
        label_button(ui, view, state, batch, out);
        if ui.button("Batch details").clicked() {
            state.pane = Pane::Batch;
            state.table.clear_selection();
        }
    });
    ui.add_space(space::XS);
}

fn head_words(batch: &ChillBatch, status: BatchStatus, progress: ChillProgress) -> String {
    let day = |date: chrono::NaiveDate| date.format("%-d %b %Y");
    match status {
        BatchStatus::Planned => format!(
            "To start on {}; {} of cold would be over on {}.",
            day(batch.start),
            batch.regimen.chill,
            day(progress.ready)
        ),
        BatchStatus::InCold => format!(
            "Since {}: day {} of {}, ready on {}.",
            day(batch.start),
            progress.days,
            progress.of,
            day(progress.ready)
        ),
        BatchStatus::Emptied => format!(
            "Started {}; every box has left the cold. End the batch when no more seed will be added.",
            day(batch.start)
        ),
        BatchStatus::Ended => format!(
            "In the cold from {} to {}.",
            day(batch.start),
            day(batch.ended.unwrap_or(progress.ready))
        ),
    }
}

/// What is done with all boxes at once.
fn bench_buttons(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    batch: &ChillBatch,
    status: BatchStatus,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let cold = boxes_in_cold(project, batch.id, view.today);
    let unseen: Vec<_> = cold
        .iter()
        .filter(|id| {
            project
                .checks_of(**id)
                .all(|check| check.date != view.today)
        })
        .copied()
        .collect();
    let ready = ready_boxes(view, &cold);
    let can_start = status == BatchStatus::Planned && project.boxes_of(batch.id).next().is_some();
    if cold.is_empty() && !can_start {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        if can_start && main_button(ui, "Start today").clicked() {
            out.act(ui, "start", batch.id, start_batch(batch, view.today));
        }
        if !unseen.is_empty() {
            let words = match unseen.len() {
                1 => "Box checked".to_owned(),
                count if count < cold.len() => format!("Other {count} boxes checked"),
                count => format!("All {count} boxes checked"),
            };
            if bench_button(ui, &words, "Records a check today with nothing found.").clicked() {
                let edit = check_boxes(&unseen, view.today, out.ids);
                out.act(ui, "check all", batch.id, edit);
            }
        }
        if !ready.is_empty() {
            let count = ready.len() as u32;
            let verb = plural(count, "box is ready", "boxes are ready");
            let words = format!("{count} {verb} for warmth");
            if bench_button(ui, "Move to warmth…", &words).clicked() {
                state.move_to_warmth(ui, view, ready);
            }
        }
        if unseen.is_empty() && !cold.is_empty() {
            ui.label(muted(ui, "Every box has been checked today."));
        }
    });
}

fn ready_boxes(view: &View<'_>, cold: &[Id<ChillBox>]) -> Vec<Id<ChillBox>> {
    let ready = |id: &&Id<ChillBox>| {
        view.project
            .chill_boxes()
            .get(**id)
            .is_some_and(|each| BoxStatus::of(view.project, each, view.today) == BoxStatus::Ready)
    };
    cold.iter().filter(ready).copied().collect()
}

/// Labels for the boxes selected, or for all.
fn label_button(
    ui: &mut Ui,
    view: &View<'_>,
    state: &State,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) {
    let boxes: Vec<AnyId> = if state.table.selected.is_empty() {
        view.project
            .boxes_of(batch.id)
            .map(|each| each.id.into())
            .collect()
    } else {
        state.table.selected.iter().map(|id| (*id).into()).collect()
    };
    let count = boxes.len() as u32;
    if count == 0 {
        return;
    }
    let words = format!(
        "{} for {count} {}",
        plural(count, "Label", "Labels"),
        plural(count, "box", "boxes")
    );
    if ui.button(words).clicked() {
        out.ask(Request::Label(boxes));
    }
}

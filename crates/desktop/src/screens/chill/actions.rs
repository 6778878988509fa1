//! What is done with all boxes of a batch at once: the next step, and labels.

use super::State;
use crate::screens::record_page;
use crate::view::{Outbox, Request, View};
use domain::actions::check_boxes;
use domain::status::{BatchStatus, BoxStatus, ChillProgress, boxes_in_cold};
use domain::words::plural;
use domain::{AnyId, ChillBatch, ChillBox, Id};
use egui::{Key, Ui};
use kit::drawing::Drawing;
use kit::page_keys;
use kit::state_mark::StateMark;
use kit::theme::{muted, space};
use kit::widgets::{NextStep, next_step};

/// Draws the next step of a batch, and does it when it is pressed.
pub(super) fn next(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) {
    let status = BatchStatus::of(view.project, batch);
    let no_boxes = view.project.boxes_of(batch.id).next().is_none();
    let cold = boxes_in_cold(view.project, batch.id, view.today);
    let unseen = unseen_boxes(view, &cold);
    let ready = ready_boxes(view, &cold);
    let open = matches!(status, BatchStatus::Planned | BatchStatus::InCold);
    if open && no_boxes {
        let words = "Each box holds seed of one lot, never two.";
        let standing = (StateMark::Expected, "any day");
        if step(
            ui,
            view,
            Drawing::Box,
            ("Add boxes…", words),
            standing,
            false,
        ) {
            state.lay(ui.ctx(), view.project, Some(batch.id), None);
        }
    } else if status == BatchStatus::Planned {
        record_page::next(ui, view, &[batch.id.into()], out);
    } else if !ready.is_empty() {
        let count = ready.len() as u32;
        let words = format!(
            "{count} {} had the whole of the cold, {}.",
            plural(count, "box has", "boxes have"),
            batch.regimen.chill
        );
        let standing = (StateMark::Soon, "ready");
        if step(
            ui,
            view,
            Drawing::Warm,
            ("Move to warmth…", &words),
            standing,
            true,
        ) {
            state.move_to_warmth(ui, view, ready);
        }
    } else if !unseen.is_empty() {
        let title = match unseen.len() {
            1 => format!("1 box, all clear, {}", view.on_button()),
            count => format!("{count} boxes, all clear, {}", view.on_button()),
        };
        let words = "Only if you opened each. For mould or a dry towel, choose the box below.";
        let standing = (StateMark::Soon, "daily check");
        if step(ui, view, Drawing::Box, (&title, words), standing, true)
            && !kit::drafts::just_acted(ui.ctx(), &batch.id.uuid().to_string())
        {
            let edit = check_boxes(&unseen, view.today, out.ids);
            out.act(ui, "check all", batch.id, edit);
        }
    } else if !cold.is_empty() {
        ui.add_space(space::S);
        let day = view.on_button();
        ui.horizontal_wrapped(|ui| {
            ui.label(muted(ui, format!("Every box was checked {day}.")));
            let Some(done) = view.done("check all", batch.id) else {
                return;
            };
            let undo = ui.button("Undo the checks").clicked();
            if undo && !kit::drafts::just_acted(ui.ctx(), &batch.id.uuid().to_string()) {
                out.take_back(done);
            }
        });
    }
}

/// The one big button; whether it was pressed, or its key.
fn step(
    ui: &mut Ui,
    view: &View<'_>,
    drawing: Drawing,
    (title, detail): (&str, &str),
    state: (StateMark, &str),
    loud: bool,
) -> bool {
    let may = view.read_only.is_none();
    let day = kit::working_day::short_day(view.today);
    ui.add_space(space::S);
    let step = NextStep {
        drawing,
        title,
        detail,
        state,
        day: &day,
        key: if may { "D" } else { "" },
        loud,
        enabled: may,
    };
    let pressed = next_step(ui, step).clicked();
    ui.add_space(space::S);
    page_keys::declare(ui, [("D", "next step")]);
    may && (pressed || page_keys::pressed(ui, Key::D))
}

/// The boxes in the cold that were not checked on the working day.
fn unseen_boxes(view: &View<'_>, cold: &[Id<ChillBox>]) -> Vec<Id<ChillBox>> {
    let unseen = |id: &&Id<ChillBox>| {
        let mut checks = view.project.checks_of(**id);
        checks.all(|check| check.date != view.today)
    };
    cold.iter().filter(unseen).copied().collect()
}

/// How a batch stands, in a sentence.
pub(super) fn head_words(
    batch: &ChillBatch,
    status: BatchStatus,
    progress: ChillProgress,
) -> String {
    let day = kit::dates::day;
    match status {
        BatchStatus::Planned => format!(
            "Starts on {}; {} of cold would be over on {}.",
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

fn ready_boxes(view: &View<'_>, cold: &[Id<ChillBox>]) -> Vec<Id<ChillBox>> {
    let ready = |id: &&Id<ChillBox>| {
        view.project
            .chill_boxes()
            .get(**id)
            .is_some_and(|each| BoxStatus::of(view.project, each, view.today) == BoxStatus::Ready)
    };
    cold.iter().filter(ready).copied().collect()
}

/// Labels for the boxes selected, by name, or for all.
pub(super) fn label_button(
    ui: &mut Ui,
    view: &View<'_>,
    state: &State,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let chosen = &state.table.selected;
    let named = kit::selection::named(chosen.iter().map(|id| project.code_of(*id)));
    let boxes: Vec<AnyId> = if chosen.is_empty() {
        project
            .boxes_of(batch.id)
            .map(|each| each.id.into())
            .collect()
    } else {
        chosen.iter().map(|id| (*id).into()).collect()
    };
    if boxes.is_empty() {
        return;
    }
    let count = boxes.len() as u32;
    let words = named.map_or_else(
        || format!("Label {count} {}", plural(count, "box", "boxes")),
        |who| format!("Label {who}"),
    );
    let clicked = ui.button(words).clicked();
    if clicked || page_keys::pressed(ui, Key::L) {
        out.ask(Request::Label(boxes));
    }
}

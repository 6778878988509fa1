//! What a record went through: a section that every detail can end with, closed until somebody opens it.

use crate::record_history::{LoadedHistory, TimelineEntry, signed, time};
use crate::view::{Outbox, Request, View};
use domain::AnyId;
use egui::{Button, Id, Label, Role, Ui, WidgetInfo};
use kit::fonts::mark;
use kit::theme::{muted, space, strong, tokens};
use kit::widgets::grouped;

/// How many changes are told here; the history screen has all.
const TOLD: usize = 6;

/// Draws the section. Opened, it stays open from record to record.
pub fn show(ui: &mut Ui, view: &View<'_>, about: impl Into<AnyId>, out: &mut Outbox<'_>) {
    let about = about.into();
    let memory = Id::unique("record history is open");
    let mut open = ui.data(|data| data.get_temp(memory).unwrap_or(false));
    ui.add_space(space::S);
    let sign = if open { mark::DESCENDING } else { mark::CLOSED };
    let title = Button::new(strong(format!("{sign} History")))
        .frame(false)
        .min_size(egui::vec2(space::TARGET, space::TARGET));
    let title = ui.add(title);
    let width = ui.max_rect().x_range();
    let rule = egui::Stroke::new(1.0, tokens(ui).rule);
    ui.painter().hline(width, title.rect.bottom(), rule);
    title.widget_info(|| {
        WidgetInfo::selected(
            Role::DisclosureTriangle,
            true,
            open,
            "History of this record",
        )
    });
    if title.clicked() {
        open = !open;
        ui.data_mut(|data| data.insert_temp(memory, open));
    }
    if !open {
        return;
    }
    let Some(latest) = view.history(ui.ctx()) else {
        ui.label(muted(ui, "Reading the journal"));
        return;
    };
    match &*latest.value {
        Ok(known) => course_ui(ui, view, known, about, out),
        Err(problem) => {
            ui.add(Label::new(problem).wrap());
        }
    }
}

fn course_ui(
    ui: &mut Ui,
    view: &View<'_>,
    known: &LoadedHistory,
    about: AnyId,
    out: &mut Outbox<'_>,
) {
    let upto = view.moment.and_then(|moment| moment.after);
    let timeline = view.record_history.timeline(known, about, upto, TOLD);
    if timeline.count == 0 {
        ui.label(muted(ui, "No change since the journal began."));
        return;
    }
    for step in &timeline.last {
        step_ui(ui, step);
    }
    let words = match timeline.count {
        1 => "Show it in the history".to_owned(),
        many => format!("All {} changes of this record", grouped(many as u64)),
    };
    if ui.button(words).clicked() {
        out.ask(Request::ShowHistory(about));
    }
}

fn step_ui(ui: &mut Ui, step: &TimelineEntry) {
    ui.spacing_mut().item_spacing.y = space::XS / 2.0;
    let signed = format!("{}, {}", time(step.at), signed(&step.by));
    ui.label(muted(ui, signed).small());
    for line in &step.lines {
        ui.add(Label::new(line).wrap());
    }
    ui.add_space(space::XS);
}

//! Boxes moved to warmth and light.

use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::actions::{plural, warm};
use domain::ledger::BoxTally;
use domain::status::BoxStatus;
use domain::{ChillBox, Id, cautions};
use egui::Ui;
use kit::theme::{muted, space, strong};
use kit::widgets::{caution, form_row, main_button};

/// Boxes to be moved, until they are.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    boxes: Vec<Id<ChillBox>>,
    day: NaiveDate,
}

impl Form {
    /// A form for these boxes, on a day.
    pub(super) const fn new(boxes: Vec<Id<ChillBox>>, day: NaiveDate) -> Self {
        Self { boxes, day }
    }

    /// Draws the form. True when it is done with: moved, or put away.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) -> bool {
        let project = view.project;
        let boxes: Vec<&ChillBox> = self
            .boxes
            .iter()
            .filter_map(|id| project.chill_boxes().get(*id))
            .filter(|each| BoxStatus::of(project, each, view.today).in_cold())
            .collect();
        let Some(first) = boxes.first() else {
            return true;
        };
        let left: u32 = boxes
            .iter()
            .map(|each| BoxTally::of(project, each).left())
            .sum();
        let count = boxes.len() as u32;
        let what = format!("{count} {}", plural(count, "box", "boxes"));
        ui.add(egui::Label::new(strong(format!("{what}, {left} seeds"))).wrap());
        let codes: Vec<&str> = boxes.iter().map(|each| each.code.as_str()).collect();
        ui.add(egui::Label::new(muted(ui, codes.join(", "))).wrap());
        form_row(ui, "Moved on", |ui| {
            view.date_field("Day of the move").show(ui, &mut self.day);
        });
        if let Some(batch) = project.chill_batches().get(first.batch) {
            let regimen = &batch.regimen;
            let early = (batch.ready_on() - self.day).num_days();
            let words = format!(
                "{} with {} h of light a day. First seedlings come after {} to {} days.",
                view.preferences.temperature.show(regimen.warm.0),
                regimen.light_hours,
                regimen.sprouts_from,
                regimen.sprouts_to
            );
            ui.add(egui::Label::new(words).wrap());
            if early > 0 {
                let days = plural(early as u32, "day", "days");
                let verb = plural(early as u32, "is", "are");
                let words = format!(
                    "{early} {days} of the chill {verb} still to come; seed may come up poorly."
                );
                ui.add(egui::Label::new(muted(ui, words)).wrap());
            }
        }
        caution(
            ui,
            cautions::LIGHTS.title,
            cautions::LIGHTS.text,
            "local codes and the maker's instructions",
        );
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let moved = main_button(ui, &format!("Move {what} to warmth")).clicked();
            if moved {
                let ids: Vec<_> = boxes.iter().map(|each| each.id).collect();
                let edit = warm(&ids, self.day, out.ids);
                out.edit(edit);
            }
            moved | ui.button("Put away").clicked()
        })
        .inner
    }
}

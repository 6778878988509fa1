//! Boxes moved to warmth and light.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::View;
use chrono::NaiveDate;
use domain::actions::warm;
use domain::ledger::BoxTally;
use domain::status::BoxStatus;
use domain::words::plural;
use domain::{ChillBox, Id, IdSource, cautions};
use egui::Ui;
use kit::form::Action;
use kit::selection::named;
use kit::theme::{muted, strong};
use kit::widgets::form_row;
use quant::counted::total;

/// Boxes to be moved, until they are.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    boxes: Vec<Id<ChillBox>>,
    day: NaiveDate,
}

impl Form {
    /// A form for these boxes, on a day.
    pub(super) const fn new(boxes: Vec<Id<ChillBox>>, day: NaiveDate) -> Self {
        Self { boxes, day }
    }

    /// The boxes of it that are still in the cold.
    fn cold<'a>(&self, view: &View<'a>) -> Vec<&'a ChillBox> {
        let project = view.project;
        self.boxes
            .iter()
            .filter_map(|id| project.chill_boxes().get(*id))
            .filter(|each| BoxStatus::of(project, each, view.today).in_cold())
            .collect()
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::MoveToWarmth;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let project = view.project;
        let boxes = self.cold(view);
        let Some(first) = boxes.first() else {
            return Action::new("Move to warmth").needs(false, "These boxes have left the cold.");
        };
        let left = boxes.iter().map(|each| BoxTally::of(project, each).left());
        let left = total(left);
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
                    "{early} {days} of chilling {verb} still due; germination may be poor."
                );
                ui.add(egui::Label::new(muted(ui, words)).wrap());
            }
        }
        crate::screens::fields::cautions(ui, &[cautions::LIGHTS]);
        let day = kit::dates::on_button(self.day, view.clock);
        let named = named(codes.into_iter()).unwrap_or_default();
        Action::new(format!("Move {named} to warmth, {day}"))
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let boxes: Vec<_> = self.cold(view).iter().map(|each| each.id).collect();
        Ok(warm(&boxes, self.day, ids).into())
    }
}

//! The end of a box, or of a batch with the boxes still in it: said in numbers before it is done.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::screens::fields::choice;
use crate::view::View;
use chrono::NaiveDate;
use domain::actions::{end_batch, end_box};
use domain::ledger::BoxTally;
use domain::status::boxes_in_cold;
use domain::words::plural;
use domain::{BoxEnd, BoxFate, ChillBatch, ChillBox, Id, IdSource};
use egui::{TextEdit, Ui};
use kit::form::Action;
use kit::theme::{muted, space};
use kit::widgets::form_row;
use quant::counted::total;

/// What is asked about any end.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
struct Fields {
    day: NaiveDate,
    fate: BoxFate,
    cause: String,
}

impl Fields {
    const fn new(day: NaiveDate) -> Self {
        Self {
            day,
            fate: BoxFate::Discarded,
            cause: String::new(),
        }
    }

    fn show(&mut self, ui: &mut Ui, view: &View<'_>, with_fate: bool) {
        form_row(ui, "Ended on", |ui| {
            view.date_field("Day of the end").show(ui, &mut self.day);
        });
        if !with_fate {
            return;
        }
        form_row(ui, "The seed is", |ui| {
            let fates = [BoxFate::Discarded, BoxFate::Lost, BoxFate::Returned];
            let choices = fates.map(|fate| (fate, fate.word().to_owned()));
            choice(ui, "The seed is", &mut self.fate, &choices)
        });
        form_row(ui, "Cause", |ui| {
            let edit = TextEdit::singleline(&mut self.cause)
                .desired_width(220.0_f32.min(ui.available_width() - space::S));
            ui.add(edit).accessible_name("Cause of the end");
        });
    }

    /// What will happen to so many seeds.
    fn words(&self, seeds: u32, lots: &str) -> String {
        match self.fate {
            BoxFate::Discarded => format!("{seeds} seeds are discarded."),
            BoxFate::Lost => format!("{seeds} seeds are written off as lost."),
            BoxFate::Returned => format!("{seeds} seeds go back to {lots}."),
        }
    }
}

/// The end of one box, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct BoxForm {
    chill_box: Id<ChillBox>,
    fields: Fields,
}

impl BoxForm {
    /// A form for this box.
    pub(super) const fn new(chill_box: Id<ChillBox>, day: NaiveDate) -> Self {
        Self {
            chill_box,
            fields: Fields::new(day),
        }
    }
}

impl RecordForm for BoxForm {
    const KIND: FormKind = FormKind::EndBox;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let Some(chill_box) = view.project.chill_boxes().get(self.chill_box) else {
            return Action::new("End the box").needs(false, "The box was removed.");
        };
        self.fields.show(ui, view, true);
        let left = BoxTally::of(view.project, chill_box).left();
        let lot = format!("lot {}", view.project.code_of(chill_box.lot));
        ui.add(egui::Label::new(self.fields.words(left, &lot)).wrap());
        let day = kit::dates::on_button(self.fields.day, view.clock);
        Action::new(format!("End box {}, {day}", chill_box.code))
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let end = BoxEnd {
            date: self.fields.day,
            fate: self.fields.fate,
            cause: self.fields.cause.trim().to_owned(),
        };
        Ok(end_box(self.chill_box, end).into())
    }
}

/// The end of a batch, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct BatchForm {
    batch: Id<ChillBatch>,
    fields: Fields,
}

impl BatchForm {
    /// A form for a batch that ends on a day.
    pub(super) const fn new(batch: Id<ChillBatch>, day: NaiveDate) -> Self {
        Self {
            batch,
            fields: Fields::new(day),
        }
    }
}

impl RecordForm for BatchForm {
    const KIND: FormKind = FormKind::EndBatch;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let project = view.project;
        let cold = boxes_in_cold(project, self.batch, view.today);
        let boxes = cold.iter().filter_map(|id| project.chill_boxes().get(*id));
        let seeds = total(boxes.map(|each| BoxTally::of(project, each).left()));
        let count = cold.len() as u32;
        self.fields.show(ui, view, count > 0);
        let words = if count == 0 {
            "Every box has left the cold: nothing is discarded.".to_owned()
        } else {
            format!(
                "{count} {} still in the cold. {}",
                plural(count, "box is", "boxes are"),
                self.fields.words(seeds, "their lots")
            )
        };
        ui.add(egui::Label::new(words).wrap());
        if count > 0 {
            let hint =
                "If you want this seed to germinate, cancel and move its boxes to warmth first.";
            ui.add(egui::Label::new(muted(ui, hint)).wrap());
        }
        let day = kit::dates::on_button(self.fields.day, view.clock);
        Action::new(format!("End {}, {day}", project.code_of(self.batch)))
    }

    fn submission(&self, view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let Fields { day, fate, cause } = &self.fields;
        Ok(end_batch(view.project, self.batch, *day, *fate, cause.trim()).into())
    }
}

//! How the seed of a batch was surface-sterilised.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::record::chill::ChillBatchField;
use domain::words::plural;
use domain::{ChillBatch, Edit, Id, IdSource, Sterilisation, cautions};
use egui::{TextEdit, Ui};
use kit::form::Action;
use kit::theme::{muted, space};
use kit::widgets::{NumberField, detail, form_row, section_heading};

/// How a batch was sterilised, until it is recorded: the one form for it, wherever it is opened.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(in crate::screens) struct Form {
    batch: Id<ChillBatch>,
    record: Sterilisation,
}

impl Form {
    /// A form that begins with this record.
    pub(in crate::screens) const fn new(batch: Id<ChillBatch>, record: Sterilisation) -> Self {
        Self { batch, record }
    }
}

/// Draws the section.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, batch: &ChillBatch, out: &mut Outbox<'_>) {
    section_heading(ui, "Surface sterilisation");
    if forms::show::<Form>(ui, view, batch.id.uuid(), out) {
        return;
    }
    let open = |ui: &Ui, record| {
        forms::open(
            ui.ctx(),
            batch.id.uuid(),
            &batch.code,
            Form::new(batch.id, record),
        );
    };
    let set = |value| Edit::set(batch.id, ChillBatchField::Sterilised(value));
    match &batch.sterilised {
        None => {
            ui.label(muted(ui, "Not recorded."));
            if ui.button("Record the sterilisation…").clicked() {
                // The bath comes before the cold: offered is the day of the start once that has passed.
                let day: NaiveDate = view.today.min(batch.start);
                let offered = Sterilisation::offered(day, &view.preferences.who);
                open(ui, offered);
            }
        }
        Some(bath) => {
            let by = if bath.by.is_empty() {
                String::new()
            } else {
                format!(", {}", bath.by)
            };
            let words = format!(
                "{} min, {} {}{by}",
                bath.minutes,
                bath.rinses,
                plural(bath.rinses, "rinse", "rinses")
            );
            detail(ui, "Done on", &bath.date.format("%-d %b %Y").to_string());
            detail(ui, "Bath", &words);
            ui.add(egui::Label::new(&bath.recipe).wrap());
            ui.horizontal(|ui| {
                if ui.button("Correct it…").clicked() {
                    open(ui, bath.clone());
                }
                if ui.button("Remove this record").clicked() {
                    out.act(ui, "remove the sterilisation", batch.id, set(None));
                }
            });
        }
    }
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Sterilisation;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let draft = &mut self.record;
        crate::screens::fields::cautions(ui, &[cautions::STERILISING]);
        form_row(ui, "Done on", |ui| {
            view.date_field("Day of the sterilisation")
                .show(ui, &mut draft.date);
        });
        ui.label(muted(
            ui,
            "What was used, in order. Change it to what was really done.",
        ));
        ui.add(
            TextEdit::multiline(&mut draft.recipe)
                .desired_rows(5)
                .desired_width(f32::INFINITY),
        )
        .accessible_name("Recipe");
        form_row(ui, "In the bath", |ui| {
            NumberField::new("Minutes in the bath", "minutes")
                .range(0.0..=1440.0)
                .decimals(1)
                .show(ui, &mut draft.minutes);
        });
        form_row(ui, "Rinses", |ui| {
            let mut rinses = f64::from(draft.rinses);
            NumberField::new("Rinses after it", "rinses")
                .range(0.0..=100.0)
                .decimals(0)
                .show(ui, &mut rinses);
            draft.rinses = rinses as u32;
        });
        form_row(ui, "By", |ui| {
            let edit = TextEdit::singleline(&mut draft.by)
                .desired_width(220.0_f32.min(ui.available_width() - space::S));
            ui.add(edit).accessible_name("Sterilised by");
        });
        let recorded = view
            .project
            .chill_batches()
            .get(self.batch)
            .is_some_and(|batch| batch.sterilised.is_some());
        let code = view.project.code_of(self.batch);
        let day = kit::dates::on_button(self.record.date, view.clock);
        Action::new(if recorded {
            format!("Replace the sterilisation of {code}, {day}")
        } else {
            format!("Record the sterilisation of {code}, {day}")
        })
    }

    fn submission(&self, _view: &View<'_>, _ids: &mut IdSource) -> Result<Submission, String> {
        let record = Sterilisation {
            recipe: self.record.recipe.trim().to_owned(),
            by: self.record.by.trim().to_owned(),
            ..self.record.clone()
        };
        Ok(Edit::set(self.batch, ChillBatchField::Sterilised(Some(record))).into())
    }
}

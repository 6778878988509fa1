//! How the seed of a batch was surface-sterilised.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::record::chill::ChillBatchField;
use domain::words::plural;
use domain::{ChillBatch, Edit, Id, IdSource, Sterilisation, cautions};
use egui::{Button, Label, TextEdit, Ui, vec2};
use kit::form::Action;
use kit::theme::{self, muted, space, tokens, type_size};
use kit::widgets::{detail, form_row, one_line, section_heading, stepper};

/// How a batch was sterilised, until it is recorded: the one form for it, wherever it is opened.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(in crate::screens) struct Form {
    batch: Id<ChillBatch>,
    record: Sterilisation,
    /// The recipe and who did it can be changed too.
    #[serde(default)]
    in_full: bool,
}

impl Form {
    /// A form that begins with this record.
    pub(in crate::screens) const fn new(batch: Id<ChillBatch>, record: Sterilisation) -> Self {
        Self {
            batch,
            record,
            in_full: false,
        }
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

/// A row of the form as high as its large buttons.
fn bench_row(ui: &mut Ui, name: &str, add: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        ui.set_min_height(space::BENCH_ROW);
        let (room, _) = ui.allocate_exact_size(vec2(84.0, space::BENCH_ROW), egui::Sense::hover());
        let font = theme::bold(type_size::BENCH);
        one_line(ui, room, room.center().y, name, font, tokens(ui).ink);
        add(ui);
    });
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Sterilisation;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let draft = &mut self.record;
        crate::screens::fields::cautions(ui, &[cautions::STERILISING]);
        bench_row(ui, "In the bath", |ui| {
            let (name, minutes) = ("Minutes in the bath", &mut draft.minutes);
            stepper(ui, name, "minutes", minutes, 0.0..=1440.0, 1);
        });
        bench_row(ui, "Rinses", |ui| {
            let mut rinses = f64::from(draft.rinses);
            stepper(ui, "Rinses after it", "rinses", &mut rinses, 0.0..=100.0, 0);
            draft.rinses = rinses as u32;
        });
        form_row(ui, "Done on", |ui| {
            view.date_field("Day of the sterilisation")
                .show(ui, &mut draft.date);
        });
        ui.label(muted(ui, "What was used, in order:"));
        if self.in_full {
            let recipe = TextEdit::multiline(&mut draft.recipe)
                .desired_rows(5)
                .desired_width(f32::INFINITY);
            ui.add(recipe).accessible_name("Recipe");
            form_row(ui, "By", |ui| {
                let edit = TextEdit::singleline(&mut draft.by)
                    .desired_width(220.0_f32.min(ui.available_width() - space::S));
                ui.add(edit).accessible_name("Sterilised by");
            });
        } else {
            // With wet hands two figures are set; the rest is as it usually is, and stands there to be read.
            let by = match draft.by.trim() {
                "" => String::new(),
                by => format!("\nBy {by}."),
            };
            ui.add(Label::new(format!("{}{by}", draft.recipe)).wrap());
            let other = Button::new("It was done otherwise…").min_size(vec2(0.0, space::BENCH_ROW));
            self.in_full = ui.add(other).clicked();
        }
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

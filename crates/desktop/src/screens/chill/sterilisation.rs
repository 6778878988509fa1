//! How the seed of a batch was surface-sterilised.

use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::actions::plural;
use domain::record::chill::ChillBatchField;
use domain::{ChillBatch, Edit, Id, Sterilisation, cautions};
use egui::{TextEdit, Ui};
use kit::theme::{muted, space};
use kit::widgets::{NumberField, caution, detail, form_row, main_button, section_heading};

/// The record being written, and of which batch.
pub(super) type State = Option<(Id<ChillBatch>, Sterilisation)>;

/// Draws the section.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) {
    section_heading(ui, "Surface sterilisation");
    if let Some((_, draft)) = state.as_mut().filter(|(of, _)| *of == batch.id) {
        if form(ui, view, draft, batch, out) {
            *state = None;
        }
        return;
    }
    let set = |value| Edit::set(batch.id, ChillBatchField::Sterilised(value));
    match &batch.sterilised {
        None => {
            ui.label(muted(ui, "Not recorded."));
            if ui.button("Record the sterilisation…").clicked() {
                // The bath comes before the cold: offered is the day of the start once that has passed.
                let day: NaiveDate = view.today.min(batch.start);
                let offered = Sterilisation::offered(day, &view.preferences.who);
                *state = Some((batch.id, offered));
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
                    *state = Some((batch.id, bath.clone()));
                }
                if ui.button("Take this record away").clicked() {
                    out.edit(set(None));
                }
            });
        }
    }
}

/// Draws the form. True when it is done with: recorded, or put away.
fn form(
    ui: &mut Ui,
    view: &View<'_>,
    draft: &mut Sterilisation,
    batch: &ChillBatch,
    out: &mut Outbox<'_>,
) -> bool {
    caution(
        ui,
        cautions::STERILISING.title,
        cautions::STERILISING.text,
        "the product's label and local rules on chemicals",
    );
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
    ui.add_space(space::XS);
    ui.horizontal(|ui| {
        let recorded = main_button(ui, "Record the sterilisation").clicked();
        if recorded {
            let bath = Sterilisation {
                recipe: draft.recipe.trim().to_owned(),
                by: draft.by.trim().to_owned(),
                ..draft.clone()
            };
            out.edit(Edit::set(batch.id, ChillBatchField::Sterilised(Some(bath))));
        }
        recorded | ui.button("Put away").clicked()
    })
    .inner
}

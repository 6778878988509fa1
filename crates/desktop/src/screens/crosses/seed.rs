//! The seed of a cross: its lots, and cleaning what was harvested into a new one.

use crate::forms::{self, FormKind, RecordForm, Submission};
use crate::screens::fields::record_link;
use crate::screens::record_page;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::{Cross, Grams, Id, IdSource, SeedAmount, actions};
use egui::Ui;
use kit::form::Action;
use kit::theme::muted;
use kit::widgets::{DateField, NumberField, form_row, segmented};

/// What is typed about seed just cleaned.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Form {
    cross: Id<Cross>,
    weighed: bool,
    seeds: Option<f64>,
    weight: Option<f64>,
    thousand_seed_weight: Option<f64>,
    cleaned: NaiveDate,
}

impl Form {
    const fn new(cross: Id<Cross>, today: NaiveDate) -> Self {
        Self {
            cross,
            weighed: false,
            seeds: None,
            weight: None,
            thousand_seed_weight: None,
            cleaned: today,
        }
    }

    /// How much seed there is; nothing while it isn't told in full.
    fn amount(&self) -> Option<SeedAmount> {
        if !self.weighed {
            return self.seeds.map(|seeds| SeedAmount::Counted(seeds as u32));
        }
        Some(SeedAmount::Weighed {
            weight: Grams(self.weight?),
            thousand_seed_weight: Grams(self.thousand_seed_weight?),
        })
    }
}

/// Draws the lots of a cross, and the form that makes another.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, cross: &Cross, out: &mut Outbox<'_>) {
    record_page::section(ui, "Seed", "");
    for lot in view.project.lots_of(cross.id) {
        ui.horizontal_wrapped(|ui| {
            record_link(ui, view.project, lot.id, out);
            ui.label(muted(
                ui,
                match lot.amount {
                    Some(amount) if amount.is_estimate() => {
                        format!("about {} seeds, by weight", amount.seeds())
                    }
                    Some(amount) => format!("{} seeds, counted", amount.seeds()),
                    None => "neither counted nor weighed".into(),
                },
            ));
        });
    }
    if view.project.lots_of(cross.id).next().is_none() {
        ui.label(muted(ui, "No seed yet."));
    }
}

/// Opens the form that makes a lot of what was harvested.
pub(super) fn open(ui: &Ui, view: &View<'_>, cross: &Cross) {
    forms::open(
        ui.ctx(),
        cross.id.uuid(),
        &cross.code,
        Form::new(cross.id, view.today),
    );
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::CleanSeed;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        if self.weighed {
            form_row(ui, "Weight of the seed", |ui| {
                NumberField::new("Weight of the seed", "g")
                    .decimals(3)
                    .range(0.0..=100_000.0)
                    .show_optional(ui, &mut self.weight)
            });
            form_row(ui, "Thousand-seed weight", |ui| {
                NumberField::new("Thousand-seed weight", "g")
                    .decimals(3)
                    .range(0.01..=100.0)
                    .show_optional(ui, &mut self.thousand_seed_weight)
            });
        } else {
            form_row(ui, "Seeds counted", |ui| {
                NumberField::new("Seeds counted", "")
                    .decimals(0)
                    .range(0.0..=100_000_000.0)
                    .show_optional(ui, &mut self.seeds)
            });
        }
        // After the figure, so that it is what is typed first.
        form_row(ui, "Counted or weighed", |ui| {
            let ways = [(false, "Counted"), (true, "Weighed")];
            segmented(ui, "How the seed is counted", &mut self.weighed, &ways);
        });
        form_row(ui, "Cleaned on", |ui| {
            DateField::new("Cleaned on", view.today).show(ui, &mut self.cleaned)
        });
        let amount = self.amount();
        if let Some(amount) = amount.filter(|amount| amount.is_estimate()) {
            ui.label(muted(
                ui,
                format!(
                    "About {} seeds: the weight, divided by that of a thousand seeds, times 1,000.",
                    amount.seeds()
                ),
            ));
        }
        let seeds = amount.map_or(0, SeedAmount::seeds);
        let code = view.project.code_of(self.cross);
        let day = kit::dates::on_button(self.cleaned, view.clock);
        Action::new(format!("Make a lot of {seeds} seeds of {code}, {day}")).needs(
            amount.is_some(),
            if self.weighed {
                "Give both weights."
            } else {
                "Give the number of seeds."
            },
        )
    }

    fn submission(&self, view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let amount = self
            .amount()
            .ok_or("Give the number of seeds, or both weights.")?;
        let edit = actions::clean_seed(view.project, self.cross, self.cleaned, amount, ids);
        Ok(edit.into())
    }
}

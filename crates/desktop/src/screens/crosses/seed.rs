//! The seed of a cross: its lots, and cleaning what was harvested into a new one.

use crate::screens::fields::record_link;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::{Cross, Grams, SeedAmount, actions};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{DateField, NumberField, form_row, main_button, section_heading, segmented};

/// What is typed about seed just cleaned.
pub(super) struct Form {
    weighed: bool,
    seeds: Option<f64>,
    weight: Option<f64>,
    thousand_seed_weight: Option<f64>,
    cleaned: NaiveDate,
    /// The number of lots when the form was handed in: it closes once there is one more.
    lots_before: Option<usize>,
}

impl Form {
    const fn new(today: NaiveDate) -> Self {
        Self {
            weighed: false,
            seeds: None,
            weight: None,
            thousand_seed_weight: None,
            cleaned: today,
            lots_before: None,
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
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    form: &mut Option<Form>,
    cross: &Cross,
    out: &mut Outbox<'_>,
) {
    section_heading(ui, "Seed");
    let mut lots = 0;
    for lot in view.project.lots_of(cross.id) {
        lots += 1;
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
    if form
        .as_ref()
        .and_then(|form| form.lots_before)
        .is_some_and(|before| before < lots)
    {
        *form = None;
    }
    ui.add_enabled_ui(view.read_only.is_none(), |ui| match form {
        None => {
            if ui.button("Clean seed…").clicked() {
                *form = Some(Form::new(view.today));
            }
        }
        Some(open) => {
            if open.show(ui, view, cross, lots, out) {
                *form = None;
            }
        }
    });
}

impl Form {
    /// Draws the form; true when it was put away.
    fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        cross: &Cross,
        lots: usize,
        out: &mut Outbox<'_>,
    ) -> bool {
        segmented(
            ui,
            "How the seed is counted",
            &mut self.weighed,
            &[(false, "Counted"), (true, "Weighed")],
        );
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
        let mut put_away = false;
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            if main_button(ui, "Make the seed lot").clicked() {
                match amount {
                    Some(amount) => {
                        let edit = actions::clean_seed(
                            view.project,
                            cross.id,
                            self.cleaned,
                            amount,
                            out.ids,
                        );
                        out.edit(edit);
                        self.lots_before = Some(lots);
                    }
                    None => out.say("Give the number of seeds, or both weights."),
                }
            }
            put_away = ui.button("Not now").clicked();
        });
        put_away
    }
}

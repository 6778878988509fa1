//! Seed taken out of a lot or brought back, other than into boxes.

use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::actions::plural;
use domain::{Edit, Id, Movement, MovementKind, SeedLot, ledger};
use egui::{TextEdit, Ui};
use kit::theme::{muted, space};
use kit::widgets::{NumberField, form_row, main_button};

/// A draw or a return, until it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    lot: Id<SeedLot>,
    direction: MovementKind,
    date: NaiveDate,
    seeds: Option<f64>,
    reason: String,
}

impl Form {
    /// A form for seed of this lot.
    pub(super) const fn new(lot: Id<SeedLot>, direction: MovementKind, date: NaiveDate) -> Self {
        Self {
            lot,
            direction,
            date,
            seeds: None,
            reason: String::new(),
        }
    }

    /// The lot it is about.
    pub(super) const fn lot(&self) -> Id<SeedLot> {
        self.lot
    }

    /// Draws the form. True when it is done with: recorded, or put away.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, out: &mut Outbox<'_>) -> bool {
        let (verb, button, hint) = match self.direction {
            MovementKind::Draw => ("Taken on", "Record the draw", "given away, a test, spilled"),
            MovementKind::Return => (
                "Brought back on",
                "Record the return",
                "not needed, found again",
            ),
        };
        form_row(ui, verb, |ui| {
            view.date_field("Day of the movement")
                .show(ui, &mut self.date);
        });
        form_row(ui, "Seeds", |ui| {
            NumberField::new("Seeds moved", "seeds")
                .decimals(0)
                .range(1.0..=100_000_000.0)
                .show_optional(ui, &mut self.seeds);
        });
        form_row(ui, "Reason", |ui| {
            let edit = TextEdit::singleline(&mut self.reason)
                .hint_text(hint)
                .desired_width(220.0_f32.min(ui.available_width() - space::S));
            ui.add(edit).accessible_name("Reason of the movement");
        });
        let balance = ledger::balance(view.project, self.lot);
        if let Some(seeds) = self.seeds {
            let seeds = seeds as i64;
            let after = match self.direction {
                MovementKind::Draw => balance - seeds,
                MovementKind::Return => balance + seeds,
            };
            let words = if after < 0 {
                format!("The lot holds {balance}: {} too many.", -after)
            } else {
                format!(
                    "{after} {} left after it.",
                    plural(after.clamp(0, 2) as u32, "seed is", "seeds are")
                )
            };
            ui.label(muted(ui, words));
        }
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let ready = self.seeds.is_some();
            let recorded = ui
                .add_enabled_ui(ready, |ui| main_button(ui, button))
                .inner
                .clicked();
            if recorded && let Some(seeds) = self.seeds {
                let id = out.ids.next();
                out.edit(Edit::add(Movement {
                    id,
                    lot: self.lot,
                    date: self.date,
                    direction: self.direction,
                    seeds: seeds as u32,
                    reason: self.reason.trim().to_owned(),
                }));
            }
            recorded | ui.button("Put away").clicked()
        })
        .inner
    }
}

//! Seed taken out of a lot or brought back, other than into boxes.

use crate::forms::{FormKind, RecordForm, Submission};
use crate::view::View;
use chrono::NaiveDate;
use domain::words::plural;
use domain::{Edit, Id, IdSource, Movement, MovementKind, SeedLot, ledger};
use egui::{TextEdit, Ui};
use kit::form::Action;
use kit::theme::{muted, space};
use kit::widgets::{NumberField, form_row};

/// A draw or a return, until it is recorded.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
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
}

impl RecordForm for Form {
    const KIND: FormKind = FormKind::Movement;

    fn rows(&mut self, ui: &mut Ui, view: &View<'_>) -> Action {
        let (verb, what, hint) = match self.direction {
            MovementKind::Draw => ("Taken on", "taken out", "given away, a test, spilled"),
            MovementKind::Return => ("Brought back on", "brought back", "not needed, found again"),
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
        let seeds = self.seeds.unwrap_or(0.0) as u32;
        let code = view.project.code_of(self.lot);
        let day = kit::dates::on_button(self.date, view.clock);
        let enough = self.direction == MovementKind::Return || i64::from(seeds) <= balance;
        Action::new(format!("Record {seeds} seeds {what}, lot {code}, {day}"))
            .needs(seeds > 0, "Give the number of seeds.")
            .needs(enough, format!("The lot holds {balance}."))
    }

    fn submission(&self, _view: &View<'_>, ids: &mut IdSource) -> Result<Submission, String> {
        let seeds = self.seeds.ok_or("Give the number of seeds.")?;
        let movement = Movement {
            id: ids.next(),
            lot: self.lot,
            date: self.date,
            direction: self.direction,
            seeds: seeds as u32,
            reason: self.reason.trim().to_owned(),
        };
        Ok(Edit::add(movement).into())
    }
}

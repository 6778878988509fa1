//! How much clean seed there is: counted, or weighed with the weight of a thousand seeds.

use crate::screens::fields::choice;
use domain::{Grams, SeedAmount};
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{NumberField, explained, form_row};

/// An amount while it is given.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub(super) struct Draft {
    how: How,
    seeds: Option<f64>,
    weight: Option<f64>,
    thousand: Option<f64>,
}

/// A figure is still to be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Incomplete;

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
enum How {
    NotYet,
    Counted,
    Weighed,
}

impl From<Option<SeedAmount>> for Draft {
    fn from(amount: Option<SeedAmount>) -> Self {
        let mut draft = Self {
            how: How::NotYet,
            seeds: None,
            weight: None,
            thousand: None,
        };
        match amount {
            None => {}
            Some(SeedAmount::Counted(seeds)) => {
                draft.how = How::Counted;
                draft.seeds = Some(f64::from(seeds));
            }
            Some(SeedAmount::Weighed {
                weight,
                thousand_seed_weight,
            }) => {
                draft.how = How::Weighed;
                draft.weight = Some(weight.0);
                draft.thousand = Some(thousand_seed_weight.0);
            }
        }
        draft
    }
}

impl Draft {
    /// A counted amount, its number still to be given.
    pub(super) fn counted() -> Self {
        Self {
            how: How::Counted,
            ..Self::from(None)
        }
    }

    /// The amount, or none while the seed isn't counted yet.
    pub(super) fn amount(&self) -> Result<Option<SeedAmount>, Incomplete> {
        let amount = match self.how {
            How::NotYet => return Ok(None),
            How::Counted => self.seeds.map(|seeds| SeedAmount::Counted(seeds as u32)),
            How::Weighed => {
                let weights = self.weight.zip(self.thousand);
                weights.map(|(weight, thousand)| SeedAmount::Weighed {
                    weight: Grams(weight),
                    thousand_seed_weight: Grams(thousand),
                })
            }
        };
        amount.map(Some).ok_or(Incomplete)
    }

    /// Draws the fields; true when one was changed.
    pub(super) fn show(&mut self, ui: &mut Ui) -> bool {
        let choices = [
            (How::NotYet, "not yet counted".to_owned()),
            (How::Counted, "counted".to_owned()),
            (How::Weighed, "by weight".to_owned()),
        ];
        let mut changed = form_row(ui, "Clean seed", |ui| {
            choice(ui, "How the seed was counted", &mut self.how, &choices)
        });
        let mut number =
            |ui: &mut Ui, name: &str, unit: &str, decimals, value: &mut Option<f64>| {
                changed |= form_row(ui, name, |ui| {
                    let field = NumberField::new(name, unit).decimals(decimals);
                    field
                        .range(0.0..=100_000_000.0)
                        .show_optional(ui, value)
                        .changed
                });
            };
        match self.how {
            How::NotYet => {}
            How::Counted => number(ui, "Seeds counted", "seeds", 0, &mut self.seeds),
            How::Weighed => {
                number(ui, "Weight of the seed", "g", 3, &mut self.weight);
                number(ui, "A thousand seeds", "g", 3, &mut self.thousand);
                self.reckoned_ui(ui);
            }
        }
        changed
    }

    fn reckoned_ui(&self, ui: &mut Ui) {
        form_row(ui, "Estimated seeds", |ui| {
            match self.amount().ok().flatten() {
                Some(
                    amount @ SeedAmount::Weighed {
                        weight,
                        thousand_seed_weight,
                    },
                ) if thousand_seed_weight.0 > 0.0 => {
                    explained(ui, "Estimated seeds", &words(amount), |ui| {
                        ui.label(
                            "seeds = weight ÷ weight of a thousand seeds × 1000, rounded down",
                        );
                        ui.label(format!(
                            "{weight} ÷ {thousand_seed_weight} × 1000 = {}",
                            amount.seeds()
                        ));
                        ui.label(muted(ui, "An estimate: seeds differ in weight. Weigh several hundred counted seeds for the thousand-seed weight."));
                    });
                }
                _ => {
                    ui.label(muted(ui, "Give both weights."));
                }
            }
        });
    }
}

/// The number of seeds, with a sign before it where it is an estimate.
pub(super) fn words(amount: SeedAmount) -> String {
    if amount.is_estimate() {
        format!("≈ {}", amount.seeds())
    } else {
        amount.seeds().to_string()
    }
}

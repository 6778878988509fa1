//! What the mixture seen in the trade holds: for information, never offered.

use domain::sterilising::{Hypochlorite, traded_mixture};
use egui::{CollapsingHeader, Ui};
use kit::theme::muted;
use kit::widgets::{NumberField, detail, form_row, section_heading};

/// The strengths calculated with.
pub(super) struct State {
    bleach: f64,
    alcohol: f64,
}

impl Default for State {
    fn default() -> Self {
        Self {
            bleach: 5.25,
            alcohol: 95.0,
        }
    }
}

/// Draws the figures, folded until asked for.
pub(super) fn show(ui: &mut Ui, state: &mut State) {
    section_heading(ui, "Mixed baths in old records");
    CollapsingHeader::new("What a mixed bath held, for comparing old records").show(ui, |ui| {
        ui.add(egui::Label::new("Seen in the trade: 10 parts of water, 4 of household bleach, 2 of strong alcohol, 5 minutes, two rinses of 1 minute in distilled water, used once (common practice). Don't mix it: bleach and alcohol form chloroform and other harmful, irritant compounds. Use the steps beside this, one after the other.").wrap());
        form_row(ui, "Bleach", |ui| {
            NumberField::new("Hypochlorite in the mixed bleach", "% hypochlorite")
                .range(0.01..=100.0)
                .show(ui, &mut state.bleach);
        });
        form_row(ui, "Alcohol", |ui| {
            NumberField::new("Alcohol that was mixed in", "% by volume")
                .range(0.01..=100.0)
                .decimals(1)
                .show(ui, &mut state.alcohol);
        });
        let held = traded_mixture(Hypochlorite(state.bleach), state.alcohol);
        detail(ui, "Hypochlorite", &held.hypochlorite.to_string());
        detail(ui, "And", &format!("{:.1} % alcohol", held.alcohol));
        ui.add(egui::Label::new(muted(ui, "Parts of the whole, before the two used each other up. To compare with such a record, make a bleach bath of this strength without alcohol.")).wrap());
    });
}

//! What to measure out for the baths, by strength or by parts.

use domain::sterilising::{Hypochlorite, ONCE, dilute, strength_of_parts};
use egui::Ui;
use kit::theme::{Meaning, muted, strong};
use kit::widgets::{NumberField, badge, detail, explained, form_row, section_heading, segmented};

/// What is typed.
pub(super) struct State {
    label: Label,
    strength: f64,
    way: Way,
    target: f64,
    volume: f64,
    parts: f64,
    water: f64,
    alcohol: f64,
    alcohol_target: f64,
    alcohol_volume: f64,
}

impl Default for State {
    fn default() -> Self {
        Self {
            label: Label::Hypochlorite,
            strength: 5.25,
            way: Way::Strength,
            target: 1.0,
            volume: 500.0,
            parts: 1.0,
            water: 4.0,
            alcohol: 95.0,
            alcohol_target: 70.0,
            alcohol_volume: 200.0,
        }
    }
}

/// What the label of the bleach tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Label {
    Hypochlorite,
    AvailableChlorine,
    Degrees,
}

/// What is known of the bath.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Strength,
    Parts,
}

/// Draws the calculators.
pub(super) fn show(ui: &mut Ui, state: &mut State) {
    section_heading(ui, "Bleach bath");
    form_row(ui, "The label gives", |ui| {
        let choices = [
            (Label::Hypochlorite, "% hypochlorite"),
            (Label::AvailableChlorine, "% available chlorine"),
            (Label::Degrees, "° chlorometric (as on French labels)"),
        ];
        segmented(ui, "The label gives", &mut state.label, &choices);
    });
    form_row(ui, "Strength", |ui| {
        let unit = if state.label == Label::Degrees {
            "°"
        } else {
            "%"
        };
        NumberField::new("Strength of the bleach", unit)
            .range(0.01..=100.0)
            .show(ui, &mut state.strength);
    });
    form_row(ui, "Calculate", |ui| {
        let choices = [(Way::Strength, "by strength"), (Way::Parts, "by parts")];
        segmented(ui, "Work out the bath", &mut state.way, &choices);
    });
    let product = match state.label {
        Label::Hypochlorite => Hypochlorite(state.strength),
        Label::AvailableChlorine => Hypochlorite::from_available_chlorine(state.strength),
        Label::Degrees => Hypochlorite::from_chlorometric_degrees(state.strength),
    };
    match state.way {
        Way::Strength => by_strength(ui, state, product),
        Way::Parts => by_parts(ui, state, product),
    }
    ui.add(egui::Label::new(muted(ui, format!("{ONCE} Bleach loses strength in its bottle: note when it was opened. '10 % bleach' often means one part of the product in ten, not 10 % hypochlorite."))).wrap());
    section_heading(ui, "Alcohol bath");
    form_row(ui, "Strength", |ui| {
        NumberField::new("Strength of the alcohol", "% by volume")
            .range(0.01..=100.0)
            .decimals(1)
            .show(ui, &mut state.alcohol);
    });
    form_row(ui, "Target strength", |ui| {
        NumberField::new("Alcohol in the bath", "% by volume")
            .range(0.01..=100.0)
            .decimals(1)
            .show(ui, &mut state.alcohol_target);
    });
    form_row(ui, "Volume", |ui| {
        NumberField::new("Volume of the alcohol bath", "ml")
            .range(1.0..=1_000_000.0)
            .decimals(0)
            .show(ui, &mut state.alcohol_volume);
    });
    match dilute(state.alcohol, state.alcohol_target, state.alcohol_volume) {
        Ok(dilution) => {
            measure(
                ui,
                "Alcohol",
                dilution.product,
                state.alcohol_volume,
                dilution.water,
            );
            ui.add(
                egui::Label::new(muted(
                    ui,
                    "Alcohol and water contract when mixed: top up to the final volume.",
                ))
                .wrap(),
            );
        }
        Err(error) => refused(ui, &error.to_string()),
    }
}

fn by_strength(ui: &mut Ui, state: &mut State, product: Hypochlorite) {
    form_row(ui, "Target strength", |ui| {
        NumberField::new("Hypochlorite in the bath", "% hypochlorite")
            .range(0.001..=100.0)
            .decimals(3)
            .show(ui, &mut state.target);
    });
    form_row(ui, "Volume", |ui| {
        NumberField::new("Volume of the bleach bath", "ml")
            .range(1.0..=1_000_000.0)
            .decimals(0)
            .show(ui, &mut state.volume);
    });
    match dilute(product.0, state.target, state.volume) {
        Ok(dilution) => {
            measure(ui, "Bleach", dilution.product, state.volume, dilution.water);
            detail(
                ui,
                "In parts",
                &format!("{:.1} of water to 1 of bleach", dilution.parts_of_water()),
            );
            let bath = Hypochlorite(state.target);
            ui.horizontal(|ui| {
                let value = format!("{:.2} % available chlorine", bath.available_chlorine());
                explained(ui, "Available chlorine", &value, |ui| {
                    ui.label("Grams of sodium hypochlorite × 70.91 / 74.44, their weights in a mole. 1 % is 10 g in a litre, or 10,000 ppm.");
                    ui.label(muted(ui, "CDC, Best practices in settings with limited resources, appendix E: parts of water = product / bath - 1; one chlorometric degree is 0.3 % available chlorine."));
                });
            });
        }
        Err(error) => refused(ui, &error.to_string()),
    }
}

fn by_parts(ui: &mut Ui, state: &mut State, product: Hypochlorite) {
    form_row(ui, "Bleach", |ui| {
        NumberField::new("Parts of bleach", "parts")
            .range(0.01..=1000.0)
            .show(ui, &mut state.parts);
    });
    form_row(ui, "Water", |ui| {
        NumberField::new("Parts of water", "parts")
            .range(0.0..=100_000.0)
            .show(ui, &mut state.water);
    });
    if let Some(strength) = strength_of_parts(product.0, state.parts, state.water) {
        detail(ui, "That is", &Hypochlorite(strength).to_string());
    }
}

fn measure(ui: &mut Ui, name: &str, product: f64, volume: f64, water: f64) {
    let words = format!(
        "{name} {product:.1} ml, made up with water to {volume:.0} ml ({water:.1} ml of water)"
    );
    ui.add(egui::Label::new(strong(words)).wrap());
}

fn refused(ui: &mut Ui, sentence: &str) {
    badge(ui, Meaning::Late, "This bath can't be made");
    ui.add(egui::Label::new(sentence).wrap());
}

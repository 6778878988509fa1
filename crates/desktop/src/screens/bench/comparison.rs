//! How the groups compare: all at once, and each two of them.

use crate::screens::explanation::figure;
use domain::germination::{Comparison, Pair};
use egui::{Grid, Label, RichText, Ui, vec2};
use kit::theme::{muted, numbers, space};
use kit::widgets::section_heading;

pub(super) fn show(ui: &mut Ui, comparison: &Comparison) {
    section_heading(ui, "How they compare");
    ui.add(Label::new(comparison.words()).wrap());
    Grid::new("pairs")
        .striped(true)
        .spacing(vec2(space::XL, space::XS))
        .show(ui, |ui| {
            for head in [
                "Pair",
                "Final germination, p",
                "Odds ratio (95 %)",
                "Speed, p",
            ] {
                ui.label(muted(ui, head));
            }
            ui.end_row();
            for pair in &comparison.pairs {
                ui.push_id(pair.places, |ui| pair_ui(ui, pair));
                row(ui, pair);
                ui.end_row();
            }
        });
}

fn pair_ui(ui: &mut Ui, pair: &Pair) {
    ui.label(format!("{} and {}", pair.titles.0, pair.titles.1))
        .on_hover_text(pair.words());
}

fn row(ui: &mut Ui, pair: &Pair) {
    let name = format!("{} and {}", pair.titles.0, pair.titles.1);
    ui.push_id((pair.places, "shares"), |ui| {
        figure(ui, &format!("Shares of {name}"), &pair.p_words(), || {
            Some(pair.explain())
        });
    });
    ui.push_id((pair.places, "odds"), |ui| {
        ui.label(RichText::new(pair.odds_words()).text_style(numbers()));
    });
    ui.push_id((pair.places, "courses"), |ui| {
        figure(
            ui,
            &format!("Courses of {name}"),
            &pair.course_words(),
            || pair.explain_course(),
        );
    });
}

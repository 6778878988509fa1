//! The figures of one season's plants, each explained.

use crate::screens::explanation::show as explanation_ui;
use domain::genetics::SeasonFigures;
use egui::Ui;
use kit::widgets::detail;

/// Draws the figures of a season with where each comes from.
pub(super) fn show(ui: &mut Ui, of: &SeasonFigures) {
    detail(ui, "Plants", &of.plants.len().to_string());
    for (nth, explanation) in of.figures.explain().iter().enumerate() {
        ui.separator();
        ui.push_id(nth, |ui| explanation_ui(ui, explanation));
    }
}

/// The effective number of ancestors, which may be known within bounds.
pub(super) fn ancestors(bounds: Option<(f64, f64)>) -> String {
    match bounds {
        None => String::new(),
        Some((low, high)) if high - low < 0.05 => format!("{low:.1}"),
        Some((low, high)) => format!("{low:.1} to {high:.1}"),
    }
}

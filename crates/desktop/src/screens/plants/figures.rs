//! Inbreeding and breeding value of a plant: in the table, and explained in its detail.

use crate::derived::Figures;
use crate::screens::explanation::{figure, share, show as explanation_ui};
use crate::screens::fields::choice;
use crate::view::View;
use domain::explanation::Explanation;
use domain::{Genotype, Id, Project};
use egui::{Response, Ui};
use kit::theme::muted;
use kit::widgets::{detail_with, section_heading, share_bar};

/// Draws the figures of a plant.
pub(super) fn show(ui: &mut Ui, project: &Project, figures: &Figures, plant: Id<Genotype>) {
    section_heading(ui, "Genetics");
    match figures.inbreeding(plant) {
        Some(inbreeding) => detail_with(ui, "Inbreeding F", |ui| {
            figure(ui, "Inbreeding F", &share(inbreeding), || {
                explain_inbreeding(project, figures, plant)
            });
        }),
        None => {
            ui.label(muted(ui, "Being worked out."));
        }
    }
    if let (Some(of_trait), Some(value)) = (figures.of_trait(project), figures.value(plant)) {
        detail_with(ui, "Breeding value", |ui| {
            let name = format!("Breeding value for {}", of_trait.name);
            let words = format!("{:.2}, {}", value.breeding.value, of_trait.name);
            figure(ui, &name, &words, || explain_value(project, figures, plant));
        });
        detail_with(ui, "Its accuracy", |ui| {
            share_bar(
                ui,
                "Accuracy of the breeding value",
                value.breeding.accuracy,
            );
        });
    }
}

/// The trait whose breeding values are shown, where several were evaluated.
pub(super) fn trait_choice(ui: &mut Ui, view: &View<'_>) {
    let genetics = view.derived.genetics();
    let evaluated = genetics.evaluated(view.project);
    if evaluated.len() < 2 {
        return;
    }
    let named = evaluated
        .into_iter()
        .filter_map(|id| Some((Some(id), view.project.traits().get(id)?.name.clone())));
    let choices: Vec<_> = named.collect();
    let mut shown = genetics.shown();
    ui.scope(|ui| {
        ui.set_max_width(140.0);
        if choice(ui, "Breeding values of", &mut shown, &choices)
            && let Some(of_trait) = shown
        {
            genetics.show(of_trait);
        }
    });
}

/// Inbreeding in a cell of the table.
pub(super) fn inbreeding_cell(
    ui: &mut Ui,
    project: &Project,
    figures: &Figures,
    plant: Id<Genotype>,
) -> Response {
    let words = figures.inbreeding(plant).map(share).unwrap_or_default();
    let response = ui.label(words);
    hover(response, || explain_inbreeding(project, figures, plant))
}

/// Breeding value and accuracy in a cell of the table.
pub(super) fn value_cell(
    ui: &mut Ui,
    project: &Project,
    figures: &Figures,
    plant: Id<Genotype>,
) -> Response {
    let Some(value) = figures.value(plant) else {
        return ui.label("");
    };
    let size = egui::vec2(44.0, ui.available_height());
    let right = egui::Layout::right_to_left(egui::Align::Center);
    let number = ui.allocate_ui_with_layout(size, right, |ui| {
        ui.set_min_size(size);
        let words = format!("{:.2}", value.breeding.value);
        ui.label(egui::RichText::new(words).text_style(kit::theme::numbers()))
    });
    let response = number.inner | share_bar(ui, "Accuracy", value.breeding.accuracy);
    hover(response, || explain_value(project, figures, plant))
}

fn hover(response: Response, explain: impl FnOnce() -> Option<Explanation>) -> Response {
    response.on_hover_ui(|ui| {
        if let Some(explanation) = explain() {
            explanation_ui(ui, &explanation);
        }
    })
}

fn explain_inbreeding(
    project: &Project,
    figures: &Figures,
    plant: Id<Genotype>,
) -> Option<Explanation> {
    figures.kinship.as_ref()?.explain_inbreeding(project, plant)
}

fn explain_value(project: &Project, figures: &Figures, plant: Id<Genotype>) -> Option<Explanation> {
    figures.values.as_ref()?.explain(project, plant)
}

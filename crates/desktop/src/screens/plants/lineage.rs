//! The parents, crosses and offspring of a plant, to click.

use crate::derived::Listing;
use crate::screens::fields::record_link;
use crate::view::{Outbox, View};
use domain::ancestry::offspring;
use domain::display::pollen_words;
use domain::progress::CrossProgress;
use domain::{Genotype, Id, Origin, Pollen};
use egui::Ui;
use kit::fonts::mark;
use kit::theme::muted;
use kit::widgets::{detail_with, section_heading};

/// How many offspring are shown one by one.
const SHOWN: usize = 24;

/// The offspring of the plant last shown.
#[derive(Default)]
pub(super) struct State {
    offspring: Listing<Genotype, Id<Genotype>>,
}

/// Draws the family of a plant; words to find the rest of its offspring by, when asked for.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    plant: &Genotype,
    out: &mut Outbox<'_>,
) -> Option<String> {
    section_heading(ui, "Family");
    parents_ui(ui, view, plant, out);
    crosses_ui(ui, view, plant, out);
    let young = state.offspring.rows(view.project, plant.id, |project, id| {
        offspring(project, *id)
    });
    if young.is_empty() {
        return None;
    }
    let mut find = None;
    ui.label(muted(ui, "Offspring"));
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = egui::Vec2::ZERO;
        for id in young.iter().take(SHOWN) {
            record_link(ui, view.project, *id, out);
        }
    });
    if ui
        .button(format!("List all {} offspring", young.len()))
        .clicked()
    {
        find = Some(plant.code.clone());
    }
    find
}

fn parents_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let project = view.project;
    if let Origin::Doubled { from: source } | Origin::Variant { of: source } = plant.origin {
        detail_with(ui, "Made from", |ui| record_link(ui, project, source, out));
    }
    let (female, pollen) = project.parents_of(plant);
    if let Some(female) = female {
        detail_with(ui, &format!("{} Female parent", mark::FEMALE), |ui| {
            record_link(ui, project, female, out);
        });
    }
    if let Some(pollen) = pollen {
        detail_with(
            ui,
            &format!("{} Male parent", mark::MALE),
            |ui| match pollen {
                Pollen::Male(_) | Pollen::Mix(_) => {
                    ui.horizontal_wrapped(|ui| {
                        pollen
                            .males()
                            .for_each(|male| record_link(ui, project, male, out));
                    });
                }
                Pollen::Open | Pollen::Unknown => {
                    ui.label(pollen_words(project, pollen));
                }
            },
        );
    }
    if let Origin::Cross { cross } = plant.origin {
        detail_with(ui, "Cross", |ui| record_link(ui, project, cross, out));
    }
    if female.is_none()
        && !matches!(
            plant.origin,
            Origin::Doubled { .. } | Origin::Variant { .. }
        )
    {
        ui.label(muted(ui, "No parents on record."));
    }
}

fn crosses_ui(ui: &mut Ui, view: &View<'_>, plant: &Genotype, out: &mut Outbox<'_>) {
    let project = view.project;
    let as_female = project
        .crosses_with_female(plant.id)
        .map(|cross| (cross, "as female parent"));
    let as_male = project
        .crosses_with_pollen(plant.id)
        .map(|cross| (cross, "as male parent"));
    for (cross, role) in as_female.chain(as_male) {
        detail_with(ui, role, |ui| {
            ui.horizontal_wrapped(|ui| {
                record_link(ui, project, cross.id, out);
                ui.label(muted(
                    ui,
                    format!(
                        "{}, {}",
                        cross.season,
                        CrossProgress::of(project, cross).word()
                    ),
                ));
            });
        });
    }
}

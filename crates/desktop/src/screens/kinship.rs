//! Kinship of chosen plants, the population over its seasons, and breeding values.

use crate::view::{Outbox, Request, Screen, View};
use domain::{AnyId, Project};
use egui::Ui;
use kit::theme::{Meaning, muted, space};
use kit::widgets::{badge, empty_state, heading, segmented};

mod answer;
mod choose;
mod matrix;
mod plan;
mod population;
mod season;
mod values;

/// What the kinship screen remembers between frames.
#[derive(Default)]
pub struct State {
    page: Page,
    matrix: matrix::State,
    population: population::State,
    values: values::State,
}

/// A page of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Page {
    #[default]
    Kinship,
    Population,
    Values,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    ui.horizontal(|ui| {
        heading(ui, "Kinship");
        ui.add_space(space::M);
        let pages = [
            (Page::Kinship, "Kinship of plants"),
            (Page::Population, "Population"),
            (Page::Values, "Breeding values"),
        ];
        segmented(ui, "Page", &mut state.page, &pages);
        kit::page_keys::turns(ui, &mut state.page, &pages);
    });
    if view.project.genotypes().is_empty() {
        let sentence = "How near plants are to each other, what their seedlings inherit, and which make the better parents: all of it comes from their pedigree. Begin with the plants you cross.";
        if empty_state(ui, sentence, "Go to the plants") {
            out.ask(Request::Go(Screen::Plants));
        }
        return;
    }
    match state.page {
        Page::Kinship => matrix::show(ui, view, &mut state.matrix, out),
        Page::Population => population::show(ui, view, &mut state.population, out),
        Page::Values => values::show(ui, view, &mut state.values, out),
    }
}

/// Brings a record into view: the screen is about all plants, and holds none.
pub fn reveal(_state: &mut State, _project: &Project, _id: AnyId) {}

/// What could not be read from the records, if anything.
fn doubts_ui(ui: &mut Ui, kinship: &domain::genetics::Kinship, out: &mut Outbox<'_>) {
    let doubts = kinship.findings();
    if doubts.is_empty() {
        return;
    }
    let title = match doubts.len() {
        1 => "1 record could not be used".to_owned(),
        many => format!("{many} records could not be used"),
    };
    egui::CollapsingHeader::new(title)
        .id_salt("doubts")
        .show(ui, |ui| {
            for (nth, doubt) in doubts.iter().take(20).enumerate() {
                ui.push_id(nth, |ui| {
                    ui.add(egui::Label::new(format!("{} {}", doubt.what, doubt.remedy)).wrap());
                    if let Some(about) = doubt.about
                        && ui
                            .button("Show it")
                            .accessible_name(format!("Show: {}", doubt.what))
                            .clicked()
                    {
                        out.show(about);
                    }
                });
            }
        });
}

/// Says that what is shown holds for an earlier state, if so.
fn earlier_ui(ui: &mut Ui, current: bool) {
    if !current {
        badge(ui, Meaning::Soon, "of an earlier state");
    }
}

/// Shown until the first answer is there.
fn waiting_ui(ui: &mut Ui) {
    ui.add_space(space::XL);
    ui.label(muted(ui, "Being worked out."));
}

//! Planning the season's crosses: what is wanted, which pairs can bring it, how many seeds it takes.

use crate::theme::space;
use crate::view::{Outbox, Request, Screen, View};
use crate::widgets::{empty_state, heading, segmented};
use domain::{AnyId, Project};
use egui::Ui;

mod goals;

/// What the planning screen remembers between frames.
#[derive(Default)]
pub struct State {
    page: Page,
}

/// A page of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Page {
    #[default]
    Goals,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Season plan");
        ui.add_space(space::M);
        let pages = [(Page::Goals, "Goals")];
        segmented(ui, "Page", &mut state.page, &pages);
    });
    if view.project.genotypes().is_empty() {
        let sentence = "Once a year it is decided which female meets which pollen, how many seeds to sow, and by when. Three founders are enough to begin: add the plants you may cross.";
        if empty_state(ui, sentence, "Go to the plants") {
            out.ask(Request::Go(Screen::Plants));
        }
        return;
    }
    match state.page {
        Page::Goals => goals::show(ui, view, out),
    }
}

/// Brings a record into view: the screen is about all plants, and holds none.
pub fn reveal(_state: &mut State, _project: &Project, _id: AnyId) {}

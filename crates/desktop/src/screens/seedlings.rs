//! Seedlings: what comes up in warmth, scoring down a column, and how families compare.

use crate::view::{Outbox, View};
use domain::{AnyId, Project, RecordKind};
use egui::Ui;
use kit::theme::space;
use kit::widgets::{heading, segmented};

mod families;
mod germination;
mod scoring;

/// What the seedlings screen remembers between frames.
#[derive(Default)]
pub struct State {
    page: Page,
    germination: germination::State,
    scoring: scoring::State,
    families: families::State,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Page {
    #[default]
    Germination,
    Scoring,
    Families,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    ui.horizontal(|ui| {
        heading(ui, "Seedlings");
        ui.add_space(space::M);
        let pages = [
            (Page::Germination, "Germination"),
            (Page::Scoring, "Scoring"),
            (Page::Families, "Families"),
        ];
        segmented(ui, "Page of seedlings", &mut state.page, &pages);
        kit::page_keys::turns(ui, &mut state.page, &pages);
    });
    ui.add_space(space::XS);
    match state.page {
        Page::Germination => germination::show(ui, view, &mut state.germination, out),
        Page::Scoring => scoring::show(ui, view, &mut state.scoring, out),
        Page::Families => families::show(ui, view, &mut state.families),
    }
}

/// Brings a germination run into view.
pub fn reveal(state: &mut State, _project: &Project, id: AnyId) {
    if id.kind == RecordKind::Germination {
        state.page = Page::Germination;
        state.germination.choose(id.typed());
    }
}

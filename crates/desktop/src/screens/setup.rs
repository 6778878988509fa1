//! Setup: what holds for the whole project, its protocols, stages and traits.

use crate::view::{Outbox, View};
use domain::{AnyId, Project, RecordKind};
use egui::{ScrollArea, Ui};
use kit::theme::space;
use kit::widgets::{heading, segmented};

mod program;
mod protocols;
mod stages;
mod traits;

/// What the setup screen remembers between frames.
#[derive(Default)]
pub struct State {
    page: Page,
    program: program::State,
    protocols: protocols::State,
    stages: stages::State,
    traits: traits::State,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Page {
    #[default]
    Program,
    Protocols,
    Stages,
    Traits,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    ui.horizontal(|ui| {
        heading(ui, "Setup");
        ui.add_space(space::M);
        let pages = [
            (Page::Program, "Program"),
            (Page::Protocols, "Protocols"),
            (Page::Stages, "Stages of selection"),
            (Page::Traits, "Traits"),
        ];
        segmented(ui, "Page of setup", &mut state.page, &pages);
        kit::page_keys::turns(ui, &mut state.page, &pages);
    });
    ui.add_space(space::S);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_enabled_ui(view.read_only.is_none(), |ui| match state.page {
            Page::Program => program::show(ui, view, &mut state.program, out),
            Page::Protocols => protocols::show(ui, view, &mut state.protocols, out),
            Page::Stages => stages::show(ui, view, &mut state.stages, out),
            Page::Traits => traits::show(ui, view, &mut state.traits, out),
        });
    });
}

/// Brings a record into view: selected, and scrolled to.
pub fn reveal(state: &mut State, _project: &Project, id: AnyId) {
    match id.kind {
        RecordKind::Protocol => {
            state.page = Page::Protocols;
            state.protocols.chosen = id.typed();
        }
        RecordKind::Stage => state.page = Page::Stages,
        RecordKind::Trait => state.page = Page::Traits,
        _ => {}
    }
}

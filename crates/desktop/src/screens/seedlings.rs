//! The seedlings screen.

use crate::view::{Outbox, View};
use domain::{AnyId, Project};
use egui::Ui;

/// What the seedlings screen remembers between frames.
#[derive(Default)]
pub struct State {}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let _ = (ui, view, state, out);
}

/// Brings a record into view: selected, and scrolled to.
pub fn reveal(state: &mut State, project: &Project, id: AnyId) {
    let _ = (state, project, id);
}

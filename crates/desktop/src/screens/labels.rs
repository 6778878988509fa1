//! The labels screen.

use crate::view::{Outbox, View};
use domain::{AnyId, Project};
use egui::Ui;

/// What the labels screen remembers between frames.
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

/// Takes these records as the ones to label.
pub fn choose(state: &mut State, records: Vec<AnyId>) {
    let _ = (state, records);
}

//! The sterilising bench: what to measure out, the steps in their order with their timers, and the record of it.

use crate::view::{Outbox, View};
use domain::cautions;
use egui::{ScrollArea, Ui};
use kit::theme::space;
use kit::widgets::{halves, heading};

mod baths;
mod bench;
mod mixture;
mod record;
mod steps;

/// What the screen remembers between frames.
#[derive(Default)]
pub struct State {
    baths: baths::State,
    steps: steps::State,
    bench: bench::State,
    mixture: mixture::State,
    record: record::State,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    heading(ui, "Sterilising");
    ui.add_space(space::XS);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        crate::screens::fields::cautions(ui, &[cautions::STERILISING]);
        ui.add_space(space::S);
        halves(
            ui,
            state,
            |ui, state| {
                ui.push_id("left", |ui| {
                    bench::show(ui, &mut state.bench);
                    baths::show(ui, &mut state.baths);
                    mixture::show(ui, &mut state.mixture);
                });
            },
            |ui, state| {
                ui.push_id("right", |ui| {
                    steps::show(ui, &mut state.steps, out);
                    record::show(ui, view, &mut state.record, &state.steps, out);
                });
            },
        );
    });
}

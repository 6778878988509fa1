//! What stands ready before seed is opened.

use crate::screens::fields::caution_lines;
use domain::cautions;
use domain::sterilising::BENCH;
use egui::{Checkbox, Ui};
use kit::theme::{muted, space};
use kit::widgets::section_heading;

/// What has been ticked off.
#[derive(Default)]
pub(super) struct State {
    ready: [bool; BENCH.len()],
}

/// Draws the list.
pub(super) fn show(ui: &mut Ui, state: &mut State) {
    section_heading(ui, "Before you begin");
    for (ready, words) in state.ready.iter_mut().zip(BENCH) {
        ui.scope(|ui| {
            ui.spacing_mut().interact_size.y = space::TARGET;
            ui.add(Checkbox::new(ready, words));
        });
    }
    caution_lines(ui, &[cautions::PRESSURE]);
    let done = state.ready.iter().filter(|ready| **ready).count();
    ui.horizontal(|ui| {
        ui.label(muted(
            ui,
            format!("{done} of {} ready. Common practice.", BENCH.len()),
        ));
        if done > 0 && ui.button("Reset the checklist").clicked() {
            *state = State::default();
        }
    });
}

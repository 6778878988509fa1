//! Scoring sheets: printed to be filled in with a pencil, and read back from photos.

use crate::view::{Outbox, View};
use domain::{AnyId, Genotype, Id, Project};
use egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};
use kit::theme::space;
use kit::widgets::heading;
use std::path::PathBuf;

mod cut_outs;
mod printing;
mod reading;

/// What the screen remembers between frames.
#[derive(Default)]
pub struct State {
    printing: printing::State,
    reading: reading::State,
}

/// Draws the screen: what to print at the left, what is read at the right.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    Panel::left("sheet choices")
        .exact_size(330.0)
        .resizable(false)
        .frame(Frame::new().inner_margin(Margin {
            right: space::M as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                heading(ui, "Scoring sheets");
                printing::show(ui, view, &mut state.printing, out);
            });
        });
    CentralPanel::default()
        .frame(Frame::new().inner_margin(Margin {
            left: space::M as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| reading::show(ui, view, &mut state.reading, out));
}

/// Takes these plants as the ones to print a sheet for.
pub fn choose(state: &mut State, plants: Vec<Id<Genotype>>) {
    state.printing.choose(plants);
}

/// Reads this photo of a page.
pub fn read_in(state: &mut State, photo: PathBuf) {
    state.reading.read_in(photo);
}

/// Brings a record into view: plants as those to print a sheet for.
pub fn reveal(state: &mut State, _project: &Project, id: AnyId) {
    if let Some(plant) = id.typed::<Genotype>() {
        choose(state, vec![plant]);
    }
}

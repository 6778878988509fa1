//! The seed bench: germination compared, seed in stock, sexes and ratios of families, every number with its interval.

use crate::view::{Outbox, View};
use egui::Ui;
use kit::theme::{Meaning, muted, space};
use kit::widgets::{badge, heading, segmented};

mod comparison;
mod germination;
mod ratios;
mod sex;
mod stock;

/// What the screen remembers between frames.
#[derive(Default)]
pub struct State {
    page: Page,
    germination: germination::State,
    ratios: ratios::State,
}

/// A page of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Page {
    #[default]
    Germination,
    Stock,
    Sex,
    Ratios,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Seed bench");
        ui.add_space(space::M);
        let pages = [
            (Page::Germination, "Germination"),
            (Page::Stock, "What to sow first"),
            (Page::Sex, "Female and male"),
            (Page::Ratios, "Ratios"),
        ];
        segmented(ui, "Page of the bench", &mut state.page, &pages);
        kit::page_keys::turns(ui, &mut state.page, &pages);
    });
    match state.page {
        Page::Germination => germination::show(ui, view, &mut state.germination, out),
        Page::Stock => stock::show(ui, view, out),
        Page::Sex => sex::show(ui, view, out),
        Page::Ratios => ratios::show(ui, view, &mut state.ratios, out),
    }
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

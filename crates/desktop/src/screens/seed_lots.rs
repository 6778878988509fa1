//! Seed lots: where seed came from, how much there was, and where every seed of it went.

use crate::derived::Listing;
use crate::forms;
use crate::view::{Outbox, Request, View};
use domain::actions::plural;
use domain::{AnyId, Id, Project, SeedLot};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{
    TableState, empty_state, find_box, heading, list_and_detail, main_button, segmented,
};

mod amount;
mod measured;
mod movement;
mod new_lot;
mod page;
mod source;
mod table;

/// What the seed lots screen remembers between frames.
#[derive(Default)]
pub struct State {
    find: String,
    which: Which,
    listing: Listing<SeedLot, table::Key>,
    table: TableState<Id<SeedLot>>,
    /// The pane is the form of a new lot.
    new_lot: bool,
    page: page::State,
}

/// Which lots are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Which {
    #[default]
    All,
    WithSeed,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    if project.seed_lots().is_empty() && !state.new_lot {
        heading(ui, "Seed lots");
        let sentence = "A seed lot is seed of one origin kept together: from a cross, from an open-pollinated \
            plant, or bought. Its ledger shows where every seed went.";
        if empty_state(ui, sentence, "Enter a seed lot") && view.read_only.is_none() {
            begin_lot(ui, view, state);
        }
        return;
    }
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Seed lots");
        ui.add_space(space::M);
        find_box(ui, "Find a lot", &mut state.find);
        let choices = [(Which::All, "All"), (Which::WithSeed, "With seed left")];
        segmented(ui, "Which lots", &mut state.which, &choices);
        if view.read_only.is_none() && main_button(ui, "New lot…").clicked() {
            begin_lot(ui, view, state);
            state.table.clear_selection();
        }
        label_button(ui, state, out);
    });
    ui.add_space(space::S);
    let selected = state.table.only_selected();
    let chosen = selected.and_then(|lot| project.seed_lots().get(lot));
    let title = match (state.new_lot, chosen) {
        (true, _) => "New seed lot",
        (false, Some(lot)) => lot.code.as_str(),
        (false, None) => "",
    };
    let mut open = !title.is_empty();
    list_and_detail(
        ui,
        "seed lots",
        &mut open,
        title,
        &mut (&mut *state, out),
        |ui, (state, _)| list(ui, view, state),
        |ui, (state, out)| match (state.new_lot, chosen) {
            (true, _) => {
                state.new_lot = forms::show::<new_lot::Form>(ui, view, "seed lots", out);
            }
            (false, Some(lot)) => page::show(ui, view, &mut state.page, lot, out),
            (false, None) => {}
        },
    );
    if !open && !title.is_empty() {
        state.new_lot = false;
        state.table.clear_selection();
    }
}

/// Opens the form of a new lot.
fn begin_lot(ui: &Ui, view: &View<'_>, state: &mut State) {
    forms::open(ui.ctx(), "seed lots", "", new_lot::Form::new(view));
    state.new_lot = true;
}

/// Labels for the lots selected.
fn label_button(ui: &mut Ui, state: &State, out: &mut Outbox<'_>) {
    let count = state.table.selected.len();
    if count == 0 {
        return;
    }
    let words = format!(
        "{} for {count} {}",
        plural(count as u32, "Label", "Labels"),
        plural(count as u32, "lot", "lots")
    );
    if ui.button(words).clicked() {
        let lots = state.table.selected.iter().map(|lot| AnyId::from(*lot));
        out.ask(Request::Label(lots.collect()));
    }
}

fn list(ui: &mut Ui, view: &View<'_>, state: &mut State) {
    let key = table::Key {
        find: state.find.trim().to_lowercase(),
        with_seed: state.which == Which::WithSeed,
        sort: state.table.sort,
    };
    let rows = state.listing.rows(view.project, key, table::rows);
    if rows.is_empty() {
        ui.add_space(space::XL);
        ui.label(muted(
            ui,
            "No lot fits. Clear the find box, or show all lots.",
        ));
        return;
    }
    if table::show(ui, view, &mut state.table, &rows) {
        state.new_lot = false;
    }
}

/// Brings a record into view: selected, and scrolled to.
pub fn reveal(state: &mut State, _project: &Project, id: AnyId) {
    if let Some(lot) = id.typed::<SeedLot>() {
        state.find.clear();
        state.which = Which::All;
        state.new_lot = false;
        state.table.select_only(lot);
    }
}

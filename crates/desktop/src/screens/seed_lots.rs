//! Seed lots: where seed came from, how much there was, and where every seed of it went.

use crate::derived::Listing;
use crate::forms;
use crate::view::{Outbox, Request, View};
use domain::{AnyId, Id, Project, SeedLot};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{
    TableState, empty_state, find_box, heading, list_and_record, main_button, page_head, segmented,
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
    let selected = state.table.only_selected();
    let chosen = selected.and_then(|lot| project.seed_lots().get(lot));
    let title = match (state.new_lot, chosen) {
        (true, _) => "New seed lot",
        (false, Some(lot)) => lot.code.as_str(),
        (false, None) => "",
    };
    let mut open = !title.is_empty();
    list_and_record(
        ui,
        "seed lots",
        &mut open,
        title,
        &mut (&mut *state, out),
        |ui, (state, out), beside| {
            head(ui, view, state, beside, out);
            list(ui, view, state, beside);
        },
        |ui, (state, out)| match (state.new_lot, chosen) {
            (true, _) => {
                page_head(ui, "New seed lot", |ui| ui.add_space(space::XXXL));
                state.new_lot = forms::show::<new_lot::Form>(ui, view, "seed lots", out);
            }
            (false, Some(lot)) => page::show(ui, view, lot, out),
            (false, None) => {}
        },
    );
    if !open && !title.is_empty() {
        state.new_lot = false;
        state.table.clear_selection();
    }
}

fn head(ui: &mut Ui, view: &View<'_>, state: &mut State, beside: bool, out: &mut Outbox<'_>) {
    let may = view.read_only.is_none();
    if beside {
        ui.horizontal_wrapped(|ui| {
            heading(ui, "Seed lots");
            if may
                && (ui.button("New lot…").clicked()
                    || kit::page_keys::acts(ui, egui::Key::N, "new lot"))
            {
                begin_lot(ui, view, state);
                state.table.clear_selection();
            }
        });
        find_box(ui, "Find a lot", &mut state.find);
    } else {
        ui.horizontal_wrapped(|ui| {
            heading(ui, "Seed lots");
            ui.add_space(space::M);
            find_box(ui, "Find a lot", &mut state.find);
            let choices = [(Which::All, "All"), (Which::WithSeed, "With seed left")];
            segmented(ui, "Which lots", &mut state.which, &choices);
            if may
                && (main_button(ui, "New lot…").clicked()
                    || kit::page_keys::acts(ui, egui::Key::N, "new lot"))
            {
                begin_lot(ui, view, state);
                state.table.clear_selection();
            }
            label_button(ui, view, state, out);
        });
    }
    ui.add_space(space::S);
}

/// Opens the form of a new lot.
fn begin_lot(ui: &Ui, view: &View<'_>, state: &mut State) {
    enter_one(state, ui.ctx(), view.today);
}

/// Opens the form of a new lot.
pub fn enter_one(state: &mut State, ctx: &egui::Context, today: chrono::NaiveDate) {
    forms::open(ctx, "seed lots", "", new_lot::Form::new(today));
    state.new_lot = true;
}

/// Labels for the lots selected.
fn label_button(ui: &mut Ui, view: &View<'_>, state: &State, out: &mut Outbox<'_>) {
    let codes = state.table.selected.iter();
    let Some(who) = kit::selection::named(codes.map(|lot| view.project.code_of(*lot))) else {
        return;
    };
    if ui.button(format!("Label {who}")).clicked() {
        let lots = state.table.selected.iter().map(|lot| AnyId::from(*lot));
        out.ask(Request::Label(lots.collect()));
    }
}

fn list(ui: &mut Ui, view: &View<'_>, state: &mut State, beside: bool) {
    let key = table::Key {
        find: state.find.trim().to_lowercase(),
        with_seed: state.which == Which::WithSeed,
        sort: state.table.sort,
    };
    let exists = |id| view.project.seed_lots().contains(id);
    let rows = state
        .listing
        .steady_rows(ui.ctx(), view.project, key, table::rows, exists);
    if state.table.keep_shown(&rows, view.project.revision()) {
        ui.ctx().request_repaint();
    }
    kit::page_keys::declare(ui, [("↑ ↓", "lot")]);
    if rows.is_empty() {
        ui.add_space(space::XL);
        ui.label(muted(
            ui,
            "No lot fits. Clear the find box, or show all lots.",
        ));
        return;
    }
    if table::show(ui, view, &mut state.table, &rows, beside) {
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

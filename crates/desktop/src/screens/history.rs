//! The history: every change with who made it and when, the backups, and the meeting of two copies.
//!
//! Reading and comparing are done by workers; what comes of each is one edit, undone in one step.

use crate::view::{Outbox, View};
use egui::Ui;
use kit::theme::space;
use kit::widgets::{heading, segmented};
use std::path::PathBuf;

mod changes;
mod compared;
mod copies;
mod described;
mod filter;

/// What the history screen remembers between frames.
#[derive(Default)]
pub struct State {
    page: Page,
    changes: changes::State,
    backups: compared::Backups,
    copies: copies::State,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Page {
    #[default]
    Changes,
    Backups,
    Copies,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    ui.horizontal_wrapped(|ui| {
        heading(ui, "History");
        if view.moment.is_some() {
            return;
        }
        ui.add_space(space::M);
        let pages = [
            (Page::Changes, "Changes"),
            (Page::Backups, "Backups"),
            (Page::Copies, "Merge a copy"),
        ];
        segmented(ui, "What of the history", &mut state.page, &pages);
        kit::page_keys::turns(ui, &mut state.page, &pages);
    });
    ui.add_space(space::S);
    // Backups and other copies have to do with the present alone.
    let page = match view.moment {
        Some(_) => Page::Changes,
        None => state.page,
    };
    match page {
        Page::Changes => changes::show(ui, view, &mut state.changes, out),
        Page::Backups => compared::backups(ui, view, &mut state.backups, out),
        Page::Copies => copies::show(ui, view, &mut state.copies, out),
    }
}

/// Reads this other copy, to bring it together with the one that is open.
pub fn meet(state: &mut State, other: PathBuf) {
    state.page = Page::Copies;
    copies::meet(&mut state.copies, other);
}

/// Shows the changes of this record alone.
pub fn show_record(state: &mut State, id: domain::AnyId) {
    state.page = Page::Changes;
    state.changes.show_record(id);
}

//! Asks once who is at the keyboard: after the first change, where no name is known on this machine.

use super::App;
use crate::open_project::OpenProject;
use egui::{Button, Ui};
use kit::theme::{muted, space};
use kit::widgets::TextField;

impl App {
    /// Whether the name of whoever is at the keyboard is asked for: in the strip at the foot, where nothing moves for it.
    pub(super) fn asks_for_name(&self) -> bool {
        let changed = self.open.as_ref().is_some_and(is_changed_here);
        let known = self.preferences.asked_for_name || !self.preferences.who.trim().is_empty();
        !known && changed && self.overlay.is_none()
    }

    pub(super) fn signing_ui(&mut self, ui: &mut Ui) {
        ui.spacing_mut().item_spacing.x = space::S;
        ui.label(muted(ui, "Who is it? Each change is signed.").small());
        let field = TextField::new("Your name").hint("your name").width(130.0);
        let (before, mut later) = (self.preferences.who.clone(), false);
        let entered = field.show(ui, &before);
        let button = |words| Button::new(words).min_size(egui::vec2(24.0, 24.0));
        // The press on it has taken the keyboard from the field, which has handed in the name.
        ui.add(button("Use this name"));
        later |= ui.add(button("Not now")).clicked();
        let name = entered.map(|(name, ticket)| {
            ticket.made();
            name
        });
        let sign = name.is_some_and(|name| self.take_name(name));
        if sign || later {
            // Said no, a person isn't asked again: the preferences have the field too.
            self.preferences.asked_for_name = true;
            self.keep_preferences();
        }
    }

    /// Takes a name for whoever is at the keyboard; whether there is one.
    pub(super) fn take_name(&mut self, name: String) -> bool {
        self.preferences.who = name;
        self.sign();
        !self.preferences.who.is_empty()
    }

    /// Signs with the name in the preferences from now on.
    pub(super) fn sign(&self) {
        if let Some(open) = &self.open {
            open.sign_as(&self.preferences.who);
        }
    }
}

/// Whether something was changed since the project was opened here.
fn is_changed_here(open: &OpenProject) -> bool {
    open.session().undo_label().is_some() && open.read_only().is_none()
}

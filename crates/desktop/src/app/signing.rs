//! Asks once who is at the keyboard: after the first change, where no name is known on this machine.

use super::App;
use crate::open_project::OpenProject;
use egui::{Button, Key, TextEdit, Ui};
use kit::theme::{muted, space};

/// The name as far as it is typed.
#[derive(Default)]
pub(super) struct State {
    name: String,
}

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
        let field = TextEdit::singleline(&mut self.signing.name)
            .hint_text("your name")
            .desired_width(130.0)
            .min_size(egui::vec2(0.0, 24.0));
        let field = ui.add(field).accessible_name("Your name");
        let entered = ui.input(|input| input.key_pressed(Key::Enter));
        let mut sign = field.lost_focus() && entered;
        let button = |words| Button::new(words).min_size(egui::vec2(24.0, 24.0));
        sign |= ui.add(button("Use this name")).clicked();
        let later = ui.add(button("Not now")).clicked();
        let name = self.signing.name.trim();
        if sign && !name.is_empty() {
            self.preferences.who = name.to_owned();
            self.sign();
        }
        if sign || later {
            // Said no, a person isn't asked again: the preferences have the field too.
            self.preferences.asked_for_name = later || !name.is_empty();
            self.keep_preferences();
        }
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

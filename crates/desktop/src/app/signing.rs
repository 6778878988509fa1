//! Asks once who is at the keyboard: after the first change, where no name is known on this machine.

use super::App;
use crate::open_project::OpenProject;
use egui::{Frame, Key, Margin, Panel, TextEdit, Ui};
use kit::theme::{muted, space, tokens};

/// The name as far as it is typed.
#[derive(Default)]
pub(super) struct State {
    name: String,
}

impl App {
    pub(super) fn signing_ui(&mut self, ui: &mut Ui) {
        let changed = self.open.as_ref().is_some_and(is_changed_here);
        let known = self.preferences.asked_for_name || !self.preferences.who.trim().is_empty();
        if known || !changed || self.overlay.is_some() {
            return;
        }
        let frame = Frame::new()
            .fill(tokens(ui).sunken)
            .inner_margin(Margin::symmetric(space::L as i8, space::XS as i8));
        let (mut sign, mut later) = (false, false);
        Panel::bottom("signing")
            .frame(frame)
            .show_separator_line(false)
            .show(ui, |ui| {
                ui.horizontal_wrapped(|ui| {
                    ui.label(muted(
                        ui,
                        "Your name is recorded with each change, so that everyone can see who did \
                        what.",
                    ));
                    let field = TextEdit::singleline(&mut self.signing.name)
                        .hint_text("your name")
                        .desired_width(150.0)
                        .min_size(egui::vec2(0.0, space::TARGET));
                    let field = ui.add(field).accessible_name("Your name");
                    let entered = ui.input(|input| input.key_pressed(Key::Enter));
                    sign = field.lost_focus() && entered;
                    sign |= ui.button("Use this name").clicked();
                    later = ui.button("Not now").clicked();
                });
            });
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

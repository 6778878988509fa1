//! Find a code, whatever carries it: type it, or read a label with a scanner that types.

use super::App;
use crate::screens::Screens;
use crate::theme::{muted, space};
use crate::widgets::heading;
use domain::AnyId;
use egui::{Key, ScrollArea, TextEdit, Ui};

/// How many codes are offered.
const OFFERED: usize = 12;

/// What has been typed.
#[derive(Default)]
pub(super) struct State {
    text: String,
    focused: bool,
}

impl State {
    pub(super) fn clear(&mut self) {
        *self = Self::default();
    }
}

impl App {
    /// Draws the finder; true when it is done.
    pub(super) fn find_ui(&mut self, ui: &mut Ui) -> bool {
        let Some(open) = &self.open else { return true };
        heading(ui, "Find a code");
        let field = ui
            .add(
                TextEdit::singleline(&mut self.find.text)
                    .hint_text("code, or part of it")
                    .desired_width(f32::INFINITY),
            )
            .accessible_name("Code to find");
        if !self.find.focused {
            field.request_focus();
            self.find.focused = true;
        }
        let wanted = self.find.text.trim().to_lowercase();
        let project = open.project();
        let matches: Vec<AnyId> = if wanted.is_empty() {
            Vec::new()
        } else {
            let exact = project.find_code(&wanted);
            let begins = project
                .codes()
                .filter(|(code, _)| code.starts_with(&wanted) && *code != wanted);
            let contains = project
                .codes()
                .filter(|(code, _)| !code.starts_with(&wanted) && code.contains(&wanted));
            exact
                .chain(begins.chain(contains).map(|(_, id)| id))
                .take(OFFERED)
                .collect()
        };
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        let mut chosen = if entered {
            matches.first().copied()
        } else {
            None
        };
        ScrollArea::vertical().max_height(340.0).show(ui, |ui| {
            for id in &matches {
                if ui
                    .add_sized(
                        [ui.available_width(), space::TARGET],
                        egui::Button::new(project.describe(*id)).right_text(""),
                    )
                    .clicked()
                {
                    chosen = Some(*id);
                }
            }
        });
        if !wanted.is_empty() && matches.is_empty() {
            ui.label(muted(ui, format!("No code contains '{wanted}'.")));
        }
        let Some(id) = chosen else { return false };
        self.screens.reveal(project, Screens::owner(project, id));
        true
    }
}

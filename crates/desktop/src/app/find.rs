//! Find a code, whatever carries it: type it, or read a label with a scanner that types.

use super::App;
use domain::{AnyId, Project};
use egui::{Key, ScrollArea, TextEdit, Ui};
use kit::theme::{muted, space};
use kit::widgets::heading;

/// How many codes are offered.
const OFFERED: usize = 12;

/// What has been typed.
#[derive(Default)]
pub(super) struct State {
    text: String,
    focused: bool,
    /// What was found for which words at which revision: with many codes, more than a frame's work.
    found: Option<(u64, String, Vec<AnyId>)>,
}

impl State {
    pub(super) fn clear(&mut self) {
        *self = Self::default();
    }

    /// Looks for what has been typed, if it changed or the project did.
    fn look(&mut self, project: &Project) {
        let wanted = self.text.trim().to_lowercase();
        let known = self.found.as_ref().is_some_and(|(revision, words, _)| {
            (*revision, words) == (project.revision(), &wanted)
        });
        if !known {
            let matches = matches(project, &wanted);
            self.found = Some((project.revision(), wanted, matches));
        }
    }
}

/// The records whose codes hold the words: the one of just that code first, then those that begin with them.
fn matches(project: &Project, wanted: &str) -> Vec<AnyId> {
    if wanted.is_empty() {
        return Vec::new();
    }
    let begins = project
        .codes()
        .filter(|(code, _)| code.starts_with(wanted) && *code != wanted);
    let contains = project
        .codes()
        .filter(|(code, _)| !code.starts_with(wanted) && code.contains(wanted));
    project
        .find_code(wanted)
        .chain(begins.chain(contains).map(|(_, id)| id))
        .take(OFFERED)
        .collect()
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
        let project = open.project();
        self.find.look(project);
        let found = self.find.found.as_ref();
        let matches = found.map_or(&[][..], |(_, _, matches)| matches.as_slice());
        let nothing = matches.is_empty() && found.is_some_and(|(_, words, _)| !words.is_empty());
        let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        let mut chosen = if entered {
            matches.first().copied()
        } else {
            None
        };
        ScrollArea::vertical().max_height(340.0).show(ui, |ui| {
            for id in matches {
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
        if nothing {
            let wanted = self.find.text.trim();
            ui.label(muted(ui, format!("No code contains '{wanted}'.")));
        }
        let Some(id) = chosen else { return false };
        self.screens.reveal(project, project.shown_with(id));
        true
    }
}

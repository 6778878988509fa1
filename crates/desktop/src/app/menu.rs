//! The menu bar, and at its end the project's name and whether it is saved.

use super::App;
use crate::command::Command;
use crate::open_project::OpenProject;
use crate::view::Screen;
use egui::{Align, Button, Frame, Layout, Margin, MenuBar, Panel, Ui};
use kit::theme::{Meaning, muted, space, strong, tokens};
use kit::widgets::badge;

impl App {
    pub(super) fn menu_ui(&mut self, ui: &mut Ui) {
        let frame = Frame::new()
            .fill(tokens(ui).raised)
            .inner_margin(Margin::symmetric(space::M as i8, space::XS as i8));
        let mut chosen = None;
        Panel::top("menu").frame(frame).show(ui, |ui| {
            MenuBar::new().ui(ui, |ui| {
                use Command::{
                    About, Close, Find, Keys, New, Open, Preferences, Redo, Sample, Save, SaveAs,
                    Undo,
                };
                self.one_menu(
                    ui,
                    "File",
                    &[New, Open, Sample, Save, SaveAs, Close],
                    &mut chosen,
                );
                self.one_menu(ui, "Edit", &[Undo, Redo, Find, Preferences], &mut chosen);
                let sizes = [Command::ZoomIn, Command::ZoomOut, Command::ZoomReset];
                let views: Vec<_> = Screen::ALL
                    .into_iter()
                    .map(Command::Go)
                    .chain(sizes)
                    .collect();
                self.one_menu(ui, "View", &views, &mut chosen);
                self.one_menu(ui, "Help", &[Keys, About], &mut chosen);
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| self.state_ui(ui));
            });
        });
        if let Some(command) = chosen {
            self.run(&ui.ctx().clone(), command);
        }
    }

    fn one_menu(
        &self,
        ui: &mut Ui,
        title: &str,
        commands: &[Command],
        chosen: &mut Option<Command>,
    ) {
        ui.menu_button(title, |ui| {
            ui.set_min_width(240.0);
            for command in commands {
                let open = self.open.as_ref();
                let enabled = open.map_or(!command.needs_project(), |open| {
                    !command.changes_project() || open.read_only().is_none()
                });
                let mut button = Button::new(self.words(*command));
                if let Some(keys) = command.shortcut() {
                    button = button.shortcut_text(ui.ctx().format_shortcut(&keys));
                }
                if ui.add_enabled(enabled, button).clicked() {
                    *chosen = Some(*command);
                    ui.close();
                }
            }
        });
    }

    /// A command's words, naming the step for undo and redo.
    fn words(&self, command: Command) -> String {
        let session = self.open.as_ref().map(OpenProject::session);
        let step = match command {
            Command::Undo => session.and_then(|session| session.undo_label()),
            Command::Redo => session.and_then(|session| session.redo_label()),
            _ => None,
        };
        step.map_or_else(
            || command.title().to_owned(),
            |step| format!("{}: {step}", command.title()),
        )
    }

    fn state_ui(&self, ui: &mut Ui) {
        let Some(open) = &self.open else { return };
        let state = open.save_state();
        badge(ui, state.meaning, &state.word).on_hover_text(state.detail);
        if let Some(why) = open.read_only() {
            badge(ui, Meaning::Soon, "read only").on_hover_text(why);
        }
        ui.add_space(space::S);
        let name = &open.project().settings().name;
        ui.add(
            egui::Label::new(strong(if name.is_empty() {
                "Unnamed project"
            } else {
                name
            }))
            .truncate(),
        );
        if !self.preferences.who.is_empty() {
            ui.label(muted(ui, format!("{} ·", self.preferences.who)));
        }
    }
}

//! The welcome page: begin a project, open one, or try the sample season.

use super::App;
use crate::command::Command;
use domain::Hemisphere;
use egui::{ScrollArea, TextEdit, Ui};
use kit::theme::{muted, space};
use kit::widgets::{form_row, heading, main_button, section_heading, segmented};
use std::path::PathBuf;

/// The form for a new project, while it is open.
#[derive(Default)]
pub(super) struct State {
    pub(super) form: Option<Form>,
}

/// What a new project needs to begin.
pub(super) struct Form {
    pub(super) name: String,
    pub(super) hemisphere: Hemisphere,
    /// Where the file goes; typed, or chosen with the system's dialog.
    pub(super) path: String,
    /// The path was typed or chosen by hand, and no longer follows the name.
    pub(super) path_by_hand: bool,
    pub(super) problem: Option<String>,
}

impl App {
    pub(super) fn welcome_ui(&mut self, ui: &mut Ui) {
        let width = ui.available_width();
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.horizontal_top(|ui| {
                ui.add_space(((width - 560.0) / 2.0).max(0.0));
                ui.vertical(|ui| {
                    ui.set_max_width(560.0_f32.min(width));
                    ui.add_space(space::XXL);
                    heading(ui, "Binewright");
                    ui.label("From a planned cross to a named hop: crosses, seed, chilling, seedlings and their family tree.");
                    ui.add_space(space::L);
                    if self.welcome.form.is_some() {
                        self.new_project_ui(ui);
                    } else {
                        self.choices_ui(ui);
                    }
                });
            });
        });
    }

    fn choices_ui(&mut self, ui: &mut Ui) {
        let mut chosen = None;
        ui.horizontal_wrapped(|ui| {
            if main_button(ui, "New project…").clicked() {
                chosen = Some(Command::New);
            }
            if ui.button("Open…").clicked() {
                chosen = Some(Command::Open);
            }
            if ui.button("Try the sample season").clicked() {
                chosen = Some(Command::Sample);
            }
        });
        ui.label(muted(ui, "The sample is a copy, dated so that its calendar is alive today. Change in it what you like."));
        let mut open = None;
        if !self.preferences.recent.is_empty() {
            ui.add_space(space::L);
            section_heading(ui, "Recent projects");
            for path in &self.preferences.recent {
                let name = path.file_stem().map_or_else(
                    || path.display().to_string(),
                    |stem| stem.to_string_lossy().into_owned(),
                );
                let folder = path
                    .parent()
                    .map(|folder| folder.display().to_string())
                    .unwrap_or_default();
                ui.horizontal(|ui| {
                    if ui.button(name).clicked() {
                        open = Some(path.clone());
                    }
                    ui.add(egui::Label::new(muted(ui, folder)).truncate());
                });
            }
        }
        if let Some(command) = chosen {
            self.run(&ui.ctx().clone(), command);
        }
        if let Some(path) = open {
            self.open_path(&path);
        }
    }

    fn new_project_ui(&mut self, ui: &mut Ui) {
        let (mut browse, mut begin, mut cancel) = (false, false, false);
        if let Some(form) = &mut self.welcome.form {
            section_heading(ui, "New project");
            let mut renamed = false;
            form_row(ui, "Name", |ui| {
                let field = TextEdit::singleline(&mut form.name)
                    .hint_text("your program's name")
                    .desired_width(320.0);
                renamed = ui.add(field).accessible_name("Name").changed();
            });
            form_row(ui, "Where", |ui| {
                let choices = [
                    (Hemisphere::Northern, "Northern half of the globe"),
                    (Hemisphere::Southern, "Southern half"),
                ];
                segmented(ui, "Hemisphere", &mut form.hemisphere, &choices);
            });
            form_row(ui, "File", |ui| {
                let field = TextEdit::singleline(&mut form.path).desired_width(320.0);
                form.path_by_hand |= ui.add(field).accessible_name("File").changed();
                browse = ui.button("Choose…").clicked();
            });
            if renamed && !form.path_by_hand {
                form.path = super::files::offered_path(&form.name).display().to_string();
            }
            if let Some(problem) = &form.problem {
                kit::widgets::badge(ui, kit::theme::Meaning::Danger, problem);
            }
            ui.add_space(space::S);
            ui.horizontal(|ui| {
                begin = main_button(ui, "Begin").clicked();
                cancel = ui.button("Back").clicked();
            });
        }
        if browse
            && let Some(path) = self.ask_new_path()
            && let Some(form) = &mut self.welcome.form
        {
            form.path = path.display().to_string();
            form.path_by_hand = true;
        }
        if cancel {
            self.welcome.form = None;
        }
        if begin {
            self.begin_project();
        }
    }

    fn ask_new_path(&mut self) -> Option<PathBuf> {
        let name = self
            .welcome
            .form
            .as_ref()
            .map(|form| super::files::file_name(&form.name))?;
        (self.dialogs)(&crate::dialogs::Question::SaveProject(name))
    }
}

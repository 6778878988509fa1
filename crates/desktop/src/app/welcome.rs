//! The welcome page: begin a project, open one, or try the sample season.

use super::App;
use crate::command::Command;
use domain::Hemisphere;
use egui::{
    FontId, Rect, RichText, Role, ScrollArea, Sense, Stroke, StrokeKind, TextEdit, Ui, UiBuilder,
    WidgetInfo, pos2, vec2,
};
use kit::theme::{self, muted, space, type_size};
use kit::widgets::{
    focus_outline, form_row, main_button, one_line, paint_key_on, printers_rule, section_heading,
    segmented,
};
use std::path::PathBuf;

mod year;

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
    /// Nothing was drawn of it yet: its first field takes the keyboard.
    pub(super) fresh: bool,
}

/// One way to begin: the first on lupulin. True when it was clicked.
fn choice(ui: &mut Ui, loud: bool, name: &str, title: &str, detail: &str, key: &str) -> bool {
    let colours = theme::tokens(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 64.0), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    let (fill, ink, muted, edge) = if loud {
        let edge = Stroke::new(2.0, colours.in_hand_edge);
        (
            colours.lupulin,
            colours.on_lupulin,
            colours.on_lupulin,
            edge,
        )
    } else {
        let width = if response.hovered() { 2.0 } else { 1.0 };
        let edge = Stroke::new(width, colours.outline);
        (colours.raised, colours.ink, colours.muted, edge)
    };
    let corner = f32::from(theme::radius::SMALL);
    ui.painter()
        .rect(rect, corner, fill, edge, StrokeKind::Inside);
    let room = Rect::from_min_max(
        pos2(rect.left() + space::L, rect.top()),
        pos2(rect.right() - 76.0, rect.bottom()),
    );
    let font = if loud {
        theme::slab(type_size::HEADING)
    } else {
        theme::bold(type_size::BENCH)
    };
    let y = rect.center().y;
    one_line(ui, room, y - 12.0, title, font, ink);
    let font = FontId::proportional(type_size::BODY);
    one_line(
        ui,
        room.with_max_x(rect.right() - space::M),
        y + 13.0,
        detail,
        font,
        muted,
    );
    if !key.is_empty() {
        paint_key_on(ui.painter(), rect.right() - space::L, y - 12.0, key, ink);
    }
    focus_outline(ui, &response, rect);
    response.clicked()
}

impl App {
    pub(super) fn welcome_ui(&mut self, ui: &mut Ui) {
        let whole = ui.available_rect_before_wrap();
        let wide = whole.width() >= 900.0;
        let split = whole.left() + whole.width() * if wide { 0.6 } else { 0.0 };
        if wide {
            let picture = whole.with_max_x(split);
            year::picture(ui, picture, (self.today)());
        }
        let page = whole.with_min_x(split + if wide { space::XL } else { 0.0 });
        let mut page = ui.new_child(UiBuilder::new().max_rect(page));
        ScrollArea::vertical()
            .auto_shrink(false)
            .show(&mut page, |ui| {
                ui.set_max_width(480.0_f32.min(ui.available_width()));
                ui.add_space((whole.height() * 0.08).min(56.0));
                let name = RichText::new("Binewright")
                    .font(theme::slab(type_size::ANSWER))
                    .color(theme::tokens(ui).ink);
                let title = ui.label(name);
                title.widget_info(|| WidgetInfo::labeled(Role::Heading, true, "Binewright"));
                printers_rule(ui);
                ui.add_space(space::S);
                let words = RichText::new(
                    "The records of a hop breeder, from a planned cross to a named hop: seed, cold, seedlings and the family tree.",
                )
                .size(type_size::BENCH);
                ui.label(words);
                ui.add_space(space::L);
                if self.welcome.form.is_some() {
                    self.new_project_ui(ui);
                } else {
                    self.choices_ui(ui);
                }
            });
        ui.advance_cursor_after_rect(whole);
    }

    fn choices_ui(&mut self, ui: &mut Ui) {
        let mut chosen = None;
        let choices = [
            (
                Command::New,
                "New project…",
                "Start a new project",
                "From your first plants to the first box in the cold.",
                "Ctrl+N",
            ),
            (
                Command::Open,
                "Open…",
                "Open a project…",
                "One file, on this machine only.",
                "Ctrl+O",
            ),
            (
                Command::Sample,
                "Try the sample season",
                "Try the sample season",
                "A copy, dated so that there is work for today. Change anything you like.",
                "",
            ),
        ];
        for (nth, (command, name, title, detail, key)) in choices.into_iter().enumerate() {
            if choice(ui, nth == 0, name, title, detail, key) {
                chosen = Some(command);
            }
            ui.add_space(space::XS);
        }
        let mut open = None;
        if !self.preferences.recent.is_empty() {
            ui.add_space(space::S);
            section_heading(ui, "Opened before");
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
                let field = ui.add(field).accessible_name("Name");
                renamed = field.changed();
                if std::mem::take(&mut form.fresh) {
                    field.request_focus();
                }
                begin |= entered(ui, &field);
            });
            form_row(ui, "Where", |ui| {
                let choices = [
                    (Hemisphere::Northern, "Northern hemisphere"),
                    (Hemisphere::Southern, "Southern hemisphere"),
                ];
                segmented(ui, "Hemisphere", &mut form.hemisphere, &choices);
            });
            form_row(ui, "File", |ui| {
                let field = TextEdit::singleline(&mut form.path).desired_width(320.0);
                let field = ui.add(field).accessible_name("File");
                form.path_by_hand |= field.changed();
                begin |= entered(ui, &field);
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
                begin |= main_button(ui, "Create project").clicked();
                cancel = ui.button("Cancel").clicked();
                cancel |= ui.input(|input| input.key_pressed(egui::Key::Escape));
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

/// Whether Enter was pressed in this field.
fn entered(ui: &Ui, field: &egui::Response) -> bool {
    field.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter))
}

//! The welcome page: begin a project, open one, or try the sample season.

use super::App;
use crate::command::Command;
use domain::Hemisphere;
use egui::{
    Context, FontId, Rect, RichText, Role, ScrollArea, Sense, Stroke, StrokeKind, Ui, UiBuilder,
    WidgetInfo, pos2, vec2,
};
use kit::drafts::{self, FormKey};
use kit::form::{Action, Answer};
use kit::theme::{self, muted, space, type_size};
use kit::widgets::{
    TextField, focus_outline, form_row, one_line, paint_key_on, printers_rule, section_heading,
    segmented,
};
use serde::{Deserialize, Serialize};

mod year;

/// What a new project needs to begin. While it is filled in, it is kept as every other form is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct NewProject {
    pub(super) name: String,
    pub(super) hemisphere: Hemisphere,
    /// Where the file goes; typed, or chosen with the system's dialog.
    pub(super) path: String,
    /// The path was typed or chosen by hand, and no longer follows the name.
    pub(super) path_by_hand: bool,
}

impl NewProject {
    /// Nothing filled in yet.
    pub(super) fn empty() -> Self {
        Self {
            name: String::new(),
            hemisphere: Hemisphere::Northern,
            path: super::files::offered_path("").display().to_string(),
            path_by_hand: false,
        }
    }

    /// The one form of a new project.
    pub(super) fn key() -> FormKey {
        FormKey::new("NewProject", "")
    }
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
                let key = NewProject::key();
                if drafts::with(ui.ctx(), |drafts| drafts.is_open(&key)) {
                    self.new_project_ui(ui, &key);
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

    fn new_project_ui(&mut self, ui: &mut Ui, key: &FormKey) {
        section_heading(ui, "New project");
        let mut browse = false;
        let answer = kit::form::show(ui, key, "New project", |ui, form: &mut NewProject| {
            browse = form.rows(ui);
            form.action()
        });
        match answer {
            Some(Answer::Filled(form, ticket)) => self.begin_project(&form, ticket),
            // What was kept is of no use to this version of the program.
            None => drafts::with(ui.ctx(), |drafts| drafts.close(key)),
            Some(Answer::Open | Answer::Cancelled) => {}
        }
        if browse {
            self.choose_new_path(ui.ctx(), key);
        }
    }

    fn choose_new_path(&mut self, ctx: &Context, key: &FormKey) {
        let Some(mut form) = drafts::with(ctx, |drafts| drafts.state::<NewProject>(key)) else {
            return;
        };
        let name = super::files::file_name(&form.name);
        if let Some(path) = (self.dialogs)(&crate::dialogs::Question::SaveProject(name)) {
            form.path = path.display().to_string();
            form.path_by_hand = true;
            drafts::with(ctx, |drafts| drafts.replace(key, &form));
        }
    }
}

impl NewProject {
    /// Draws the fields; whether a place for the file is to be chosen in the system's dialog.
    fn rows(&mut self, ui: &mut Ui) -> bool {
        let field = |name, hint| TextField::new(name).hint(hint).width(320.0);
        let renamed = form_row(ui, "Name", |ui| {
            let name = field("Name", "your program's name");
            name.edit(ui, &mut self.name).changed
        });
        form_row(ui, "Where", |ui| {
            let choices = [
                (Hemisphere::Northern, "Northern hemisphere"),
                (Hemisphere::Southern, "Southern hemisphere"),
            ];
            segmented(ui, "Hemisphere", &mut self.hemisphere, &choices);
        });
        let browse = form_row(ui, "File", |ui| {
            self.path_by_hand |= field("File", "").edit(ui, &mut self.path).changed;
            ui.button("Choose…").clicked()
        });
        if renamed && !self.path_by_hand {
            self.path = super::files::offered_path(&self.name).display().to_string();
        }
        browse
    }

    fn action(&self) -> Action {
        Action::new("Create project")
            .needs(!self.name.trim().is_empty(), "Give the project a name.")
            .needs(!self.path.trim().is_empty(), "Say where its file goes.")
    }
}

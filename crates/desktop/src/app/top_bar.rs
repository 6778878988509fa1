//! The bar over every page: menus, the working day, and at its end who is at work and whether it is saved.

use super::App;
use crate::command::Command;
use crate::open_project::OpenProject;
use crate::view::Screen;
use egui::{
    Align, Align2, Button, FontId, Frame, Id, Layout, MenuBar, Painter, Panel, Rect, Role, Sense,
    Shape, Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use kit::state_mark::StateMark;
use kit::theme::{self, Meaning, Tokens, radius, space, tokens, type_size};
use kit::widgets::{focus_outline, paint_printers_rule};
use kit::working_day::{WorkingDay, short_day};

/// The height of the bar without the rule or the perforation beneath.
const GROUND: f32 = 40.0;

/// Where the tab of the working day begins.
const TAB_LEFT: f32 = 196.0;

/// In a narrower window, or one whose text is large, the menus are behind one word and the day is set smaller.
const COMPACT: f32 = 800.0;

impl App {
    pub(super) fn top_bar_ui(&mut self, ui: &mut Ui, working: WorkingDay) {
        let frame = Frame::new().fill(tokens(ui).surface);
        let mut chosen = None;
        Panel::top("top bar")
            .exact_size(space::TOP_BAR)
            .frame(frame)
            .show_separator_line(false)
            .show(ui, |ui| {
                let colours = tokens(ui);
                let whole = ui.max_rect();
                let ground =
                    Rect::from_min_max(whole.min, pos2(whole.right(), whole.top() + GROUND));
                let writing_up = self.open.is_some() && !working.is_today();
                let ink = if writing_up {
                    perforation(ui.painter(), whole, colours);
                    colours.on_accent
                } else {
                    ui.painter().rect_filled(
                        whole.with_max_y(whole.bottom() - 5.0),
                        0.0,
                        colours.raised,
                    );
                    let (across, top) = (whole.x_range(), whole.bottom() - 5.0);
                    paint_printers_rule(ui.painter(), across, top, colours);
                    colours.ink
                };
                let menus = ground.shrink2(vec2(space::S, 0.0));
                let mut bar = ui.new_child(UiBuilder::new().max_rect(menus));
                let compact = whole.width() < COMPACT;
                let end = bar
                    .horizontal_centered(|ui| {
                        ui.visuals_mut().override_text_color = writing_up.then_some(ink);
                        let menus = |ui: &mut Ui| {
                            if compact {
                                let menu =
                                    ui.menu_button("Menu", |ui| self.menus_ui(ui, &mut chosen));
                                menu.response.rect.right()
                            } else {
                                self.menus_ui(ui, &mut chosen)
                            }
                        };
                        MenuBar::new().ui(ui, menus).inner
                    })
                    .inner;
                let mut left = if compact {
                    end
                } else {
                    ground.left() + TAB_LEFT
                };
                if self.open.is_some() {
                    let words = if writing_up {
                        format!("Recording for {}", short_day(working.day()))
                    } else {
                        format!("Today, {}", short_day(working.day()))
                    };
                    left = self.day_tab(ui, ground, left.max(end + space::S), &words);
                    if writing_up {
                        let between = if compact { space::S } else { space::L };
                        let distance = (!compact).then(|| working.distance());
                        left = self.way_back(ui, ground, left + between, distance);
                    }
                }
                let edge = if compact { space::S } else { space::L };
                let room = Rect::from_min_max(
                    pos2(left + edge, ground.top()),
                    pos2(ground.right() - edge, ground.bottom()),
                );
                let layout = Layout::right_to_left(Align::Center);
                let mut state = ui.new_child(UiBuilder::new().max_rect(room).layout(layout));
                state.set_clip_rect(room.intersect(ui.clip_rect()));
                self.state_ui(&mut state, ink);
            });
        if let Some(command) = chosen {
            self.run(&ui.ctx().clone(), command);
        }
    }

    /// Draws the menus; returns where the last of them ends.
    fn menus_ui(&self, ui: &mut Ui, chosen: &mut Option<Command>) -> f32 {
        use Command::{
            About, Close, CopyTable, DayAfter, DayBefore, Drafts, Find, Keys, New, Open,
            Preferences, Redo, Sample, Save, SaveAs, TableAsCsv, TableAsXlsx, Today, Undo,
        };
        let file = [New, Open, Sample, Save, SaveAs, Close];
        self.one_menu(ui, "File", &file, chosen);
        let tables = [CopyTable, TableAsCsv, TableAsXlsx];
        let edit: Vec<_> = [Undo, Redo, Find]
            .into_iter()
            .chain(tables)
            .chain([Drafts, Preferences])
            .collect();
        self.one_menu(ui, "Edit", &edit, chosen);
        let days = [DayBefore, DayAfter, Today];
        let sizes = [Command::ZoomIn, Command::ZoomOut, Command::ZoomReset];
        let views: Vec<_> = Screen::ALL
            .into_iter()
            .map(Command::Go)
            .chain(days)
            .chain(sizes)
            .collect();
        self.one_menu(ui, "View", &views, chosen);
        self.one_menu(ui, "Help", &[Keys, About], chosen)
    }

    fn one_menu(
        &self,
        ui: &mut Ui,
        title: &str,
        commands: &[Command],
        chosen: &mut Option<Command>,
    ) -> f32 {
        let menu = ui.menu_button(title, |ui| {
            ui.visuals_mut().override_text_color = None;
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
        menu.response.rect.right()
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

    /// The working day on lupulin, with an arrow each side. Returns where it ends.
    fn day_tab(&mut self, ui: &Ui, ground: Rect, left: f32, words: &str) -> f32 {
        let colours = tokens(ui);
        let compact = ground.width() < COMPACT;
        let (size, step) = if compact {
            (type_size::BENCH, 32.0)
        } else {
            (type_size::HEADING, 44.0)
        };
        let font = theme::slab(size);
        let galley = ui
            .painter()
            .layout_no_wrap(words.to_owned(), font, colours.on_lupulin);
        let moment = self
            .open
            .as_ref()
            .is_some_and(|open| open.moment().is_some());
        let arrow = if moment { space::L } else { step };
        let width = galley.size().x + 2.0 * arrow;
        let tab = Rect::from_min_size(pos2(left, ground.top()), vec2(width, ground.height()));
        ui.painter().rect_filled(tab, 0.0, colours.lupulin);
        let at = tab.center() - galley.size() / 2.0;
        ui.painter().galley(at, galley, colours.on_lupulin);
        let spoken = ui.interact(
            tab.shrink2(vec2(arrow, 0.0)),
            Id::unique("working day"),
            Sense::hover(),
        );
        spoken.widget_info(|| WidgetInfo::labeled(Role::Status, true, words));
        if !moment {
            let side = |x: f32| Rect::from_min_size(pos2(x, tab.top()), vec2(arrow, tab.height()));
            let before = step_button(ui, side(tab.left()), -1.0, "Day before");
            let after = step_button(ui, side(tab.right() - arrow), 1.0, "Day after");
            if before {
                self.step_day(-1);
            }
            if after {
                self.step_day(1);
            }
        }
        tab.right()
    }

    /// How far the day is, and the way back to today. Returns where it ends.
    fn way_back(&mut self, ui: &Ui, ground: Rect, left: f32, distance: Option<String>) -> f32 {
        let colours = tokens(ui);
        let middle = ground.center().y;
        let left = distance.map_or(left, |distance| {
            let text = ui.painter().text(
                pos2(left, middle),
                Align2::LEFT_CENTER,
                distance,
                FontId::proportional(type_size::BODY),
                colours.on_accent,
            );
            text.right() + space::L
        });
        let rect = Rect::from_center_size(pos2(left + 60.0, middle), vec2(120.0, 28.0));
        let back = ui.interact(rect, Id::unique("back to today"), Sense::click());
        back.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Back to today"));
        let stroke = Stroke::new(if back.hovered() { 2.0 } else { 1.0 }, colours.on_accent);
        ui.painter()
            .rect_stroke(rect, f32::from(radius::SMALL), stroke, StrokeKind::Inside);
        ui.painter().text(
            rect.center(),
            Align2::CENTER_CENTER,
            "Back to today",
            theme::bold(type_size::BODY),
            colours.on_accent,
        );
        focus_outline(ui, &back, rect);
        if back.clicked() {
            self.back_to_today();
        }
        rect.right()
    }

    fn state_ui(&self, ui: &mut Ui, ink: egui::Color32) {
        let Some(open) = &self.open else { return };
        let colours = tokens(ui);
        let state = open.save_state();
        let on_paper = ink == colours.ink;
        let sign = match state.meaning {
            Meaning::Good => StateMark::Good,
            Meaning::Plain | Meaning::Soon => StateMark::Soon,
            Meaning::Late => StateMark::Late,
            Meaning::Danger => StateMark::Danger,
        };
        let quiet = state.meaning <= Meaning::Soon;
        let word_ink = match (on_paper, quiet) {
            (false, _) => ink,
            (true, true) => colours.muted,
            (true, false) => colours.on_paper(state.meaning),
        };
        // The mark stays where there is no room for the word.
        let mark = vec2(14.0, 14.0);
        let word = egui::WidgetText::from(egui::RichText::new(&state.word).color(word_ink));
        let wrap = Some(egui::TextWrapMode::Extend);
        let galley = word.into_galley(ui, wrap, f32::INFINITY, egui::TextStyle::Body);
        let fits = galley.size().x + mark.x + space::L < ui.available_width();
        if fits {
            ui.label(galley).on_hover_text(&state.detail);
        }
        let (rect, sign_at) = ui.allocate_exact_size(mark, Sense::hover());
        if !fits {
            sign_at.widget_info(|| WidgetInfo::labeled(Role::Label, true, &state.word));
            sign_at.on_hover_text(format!("{}. {}", state.word, state.detail));
        }
        let mark_ink = if on_paper { sign.ink(colours) } else { ink };
        ui.painter()
            .extend(sign.shapes(rect.center(), 12.0, mark_ink, colours.raised));
        if let Some(why) = open.read_only() {
            let words = egui::RichText::new("read only")
                .font(theme::bold(type_size::BODY))
                .color(ink);
            ui.label(words).on_hover_text(why);
        }
        if ui.available_width() < 40.0 {
            return;
        }
        ui.add_space(space::S);
        let name = &open.project().settings().name;
        let name = if name.is_empty() {
            "Untitled project"
        } else {
            name
        };
        let words = egui::RichText::new(name)
            .font(theme::bold(type_size::BODY))
            .color(ink);
        ui.add(egui::Label::new(words).truncate());
        if !self.preferences.who.is_empty() {
            let ink = if on_paper { colours.muted } else { ink };
            ui.label(egui::RichText::new(&self.preferences.who).color(ink));
        }
    }
}

/// An arrow of the day's tab; true when it was clicked.
fn step_button(ui: &Ui, rect: Rect, side: f32, name: &str) -> bool {
    let response = ui.interact(rect, Id::unique(("step", name)), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
    let colours = tokens(ui);
    let (middle, reach) = (rect.center(), vec2(3.5 * side, 6.0));
    let width = if response.hovered() { 3.0 } else { 2.0 };
    ui.painter().add(Shape::line(
        vec![
            pos2(middle.x - reach.x, middle.y - reach.y),
            pos2(middle.x + reach.x, middle.y),
            pos2(middle.x - reach.x, middle.y + reach.y),
        ],
        Stroke::new(width, colours.on_lupulin),
    ));
    if response.has_focus() {
        ui.painter().rect_stroke(
            rect.shrink(4.0),
            f32::from(radius::SMALL),
            Stroke::new(2.0, colours.on_lupulin),
            StrokeKind::Inside,
        );
    }
    let keys = if side < 0.0 { "[" } else { "]" };
    response.on_hover_text(format!("{name}  {keys}")).clicked()
}

/// The solid bar of a day that is written up, its lower edge torn off along slanted holes.
fn perforation(painter: &Painter, whole: Rect, colours: &Tokens) {
    let ground = whole.with_max_y(whole.top() + GROUND);
    painter.rect_filled(ground, 0.0, colours.accent);
    let (top, bottom) = (ground.bottom(), whole.bottom());
    let mut x = whole.left() - 8.0;
    while x < whole.right() {
        painter.add(Shape::convex_polygon(
            vec![
                pos2(x + 5.0, top),
                pos2(x + 11.0, top),
                pos2(x + 6.0, bottom),
                pos2(x, bottom),
            ],
            colours.accent,
            Stroke::NONE,
        ));
        x += 12.0;
    }
}

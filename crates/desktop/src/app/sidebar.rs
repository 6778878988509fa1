//! The screens by name, with what waits on each.

use super::App;
use crate::command::Command;
use crate::view::Screen;
use chrono::NaiveDate;
use domain::agenda::ItemState;
use egui::{Button, Frame, Margin, Panel, Role, ScrollArea, Ui, WidgetInfo, vec2};
use kit::theme::{self, space, tokens};

impl App {
    pub(super) fn sidebar_ui(&mut self, ui: &mut Ui, today: NaiveDate) {
        let Some(open) = &mut self.open else { return };
        open.refresh(today);
        let open = &*open;
        let agenda = open.derived().agenda(open.project(), today, ui.ctx());
        let waiting = agenda
            .iter()
            .filter(|item| matches!(item.state, ItemState::Late | ItemState::Due))
            .count();
        let found = open.derived().findings(open.project(), today, ui.ctx());
        let found = found.len();
        let frame = Frame::new()
            .fill(tokens(ui).sunken)
            .inner_margin(Margin::same(space::S as i8));
        let mut chosen = None;
        Panel::left("screens")
            .exact_size(148.0)
            .resizable(false)
            .frame(frame)
            .show(ui, |ui| {
                ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                    ui.spacing_mut().item_spacing.y = 2.0;
                    for screen in Screen::ALL {
                        let number = match screen {
                            Screen::Calendar => waiting,
                            Screen::Findings => found,
                            _ => 0,
                        };
                        if screen_button(ui, screen, number, self.screens.current == screen) {
                            chosen = Some(screen);
                        }
                    }
                });
            });
        if let Some(screen) = chosen {
            self.run(&ui.ctx().clone(), Command::Go(screen));
        }
    }
}

fn screen_button(ui: &mut Ui, screen: Screen, number: usize, current: bool) -> bool {
    let colours = tokens(ui);
    let words = if current {
        theme::strong(screen.title())
    } else {
        egui::RichText::new(screen.title())
    };
    let size = vec2(ui.available_width(), space::TARGET + space::XS);
    let count = if number > 0 {
        number.to_string()
    } else {
        String::new()
    };
    let mut button = Button::new(words)
        .min_size(size)
        .frame_when_inactive(current)
        .right_text(egui::RichText::new(count).text_style(theme::numbers()));
    if current {
        button = button.fill(colours.selection);
    }
    let mut response = ui.add(button);
    response.widget_info(|| {
        let name = match (screen, number) {
            (_, 0) => screen.title().to_owned(),
            (Screen::Calendar, _) => format!("Calendar, {number} due"),
            _ => format!("{}, {number}", screen.title()),
        };
        WidgetInfo::selected(Role::Tab, true, current, name)
    });
    if let Some(keys) = Command::Go(screen).shortcut() {
        let keys = ui.ctx().format_shortcut(&keys);
        response = response.on_hover_text(keys);
    }
    response.clicked()
}

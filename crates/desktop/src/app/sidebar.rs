//! The screens by name, in groups that follow the work, hung on a string; with what waits on each.

use super::App;
use crate::command::Command;
use crate::view::{Group, Screen};
use chrono::NaiveDate;
use domain::agenda::ItemState;
use egui::{
    FontId, Frame, Panel, Popup, Rect, Response, Role, ScrollArea, Sense, Stroke, Ui, WidgetInfo,
    pos2, vec2,
};
use kit::drawing::{self, Drawing};
use kit::state_mark::StateMark;
use kit::theme::{self, space, tokens, type_size};
use kit::widgets::{one_line, one_line_middle};
use kit::working_day::{WorkingDay, short_day};

/// The height of one line.
const LINE: f32 = 24.0;

/// Where the string hangs.
const STRING: f32 = 20.0;

/// What waits on the screens.
#[derive(Clone, Copy, Default)]
struct Waiting {
    due: usize,
    findings: usize,
}

impl Waiting {
    const fn on(self, screen: Screen) -> usize {
        match screen {
            Screen::Calendar => self.due,
            Screen::Findings => self.findings,
            _ => 0,
        }
    }
}

impl App {
    pub(super) fn sidebar_ui(&mut self, ui: &mut Ui, today: NaiveDate, working: WorkingDay) {
        let Some(open) = &mut self.open else { return };
        open.refresh(today);
        let open = &*open;
        let agenda = open.derived().agenda(open.project(), today, ui.ctx());
        let due = agenda
            .iter()
            .filter(|item| matches!(item.state, ItemState::Late | ItemState::Due))
            .count();
        let found = open.derived().findings(open.project(), today, ui.ctx());
        let waiting = Waiting {
            due,
            findings: found.len() + open.missing(),
        };
        let narrow = ui.ctx().content_rect().width() < space::NARROW;
        let width = if narrow {
            space::SIDEBAR_NARROW
        } else {
            space::SIDEBAR
        };
        let first = if working.is_today() {
            "Today".to_owned()
        } else {
            short_day(working.day())
        };
        let current = self.screens.current;
        let mut chosen = None;
        Panel::left("screens")
            .exact_size(width)
            .resizable(false)
            .show_separator_line(false)
            .frame(Frame::new().fill(tokens(ui).sunken))
            .show(ui, |ui| {
                let edge = Stroke::new(1.0, tokens(ui).rule);
                let whole = ui.max_rect();
                ui.painter()
                    .vline(whole.right() - 0.5, whole.y_range(), edge);
                ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
                    ui.add_space(space::S);
                    for group in Group::ALL {
                        let answer = if narrow {
                            narrow_group(ui, group, &first, waiting, current)
                        } else {
                            wide_group(ui, group, &first, waiting, current)
                        };
                        chosen = answer.or(chosen);
                    }
                });
            });
        if let Some(screen) = chosen {
            self.run(&ui.ctx().clone(), Command::Go(screen));
        }
    }
}

/// The drawing a group hangs on the string with.
const fn drawing_of(group: Group) -> Option<Drawing> {
    match group {
        Group::Today => None,
        Group::Plants => Some(Drawing::Cross),
        Group::Seed => Some(Drawing::Sprout),
        Group::Yard => Some(Drawing::Hill),
        Group::Records => Some(Drawing::Cone),
        Group::Program => Some(Drawing::Label),
    }
}

fn wide_group(
    ui: &mut Ui,
    group: Group,
    first: &str,
    waiting: Waiting,
    current: Screen,
) -> Option<Screen> {
    let screens = group.screens();
    if screens.is_empty() {
        return None;
    }
    let colours = tokens(ui);
    let mut chosen = None;
    let left = ui.max_rect().left();
    if let Some(drawing) = drawing_of(group) {
        let (rect, title) =
            ui.allocate_exact_size(vec2(ui.available_width(), LINE + 2.0), Sense::hover());
        title.widget_info(|| WidgetInfo::labeled(Role::Heading, true, group.title()));
        let centre = pos2(left + STRING, rect.center().y);
        drawing::paint(
            ui.painter(),
            drawing,
            centre,
            24.0,
            drawing::Inks::of(colours),
        );
        let words = rect.with_min_x(left + 40.0);
        let font = theme::bold(type_size::SMALL);
        one_line(
            ui,
            words,
            rect.center().y,
            group.title(),
            font,
            colours.muted,
        );
    }
    let top = ui.cursor().top();
    for &screen in screens {
        let title = if screen == Screen::Calendar {
            first
        } else {
            screen.title()
        };
        let response = line(ui, screen, title, waiting.on(screen), current == screen);
        if screen == Screen::Calendar {
            let centre = pos2(left + STRING, response.rect.center().y);
            StateMark::Now.paint(ui.painter(), centre, 15.0, colours, colours.sunken);
        }
        if response.clicked() {
            chosen = Some(screen);
        }
    }
    if drawing_of(group).is_some() {
        let string = egui::Rangef::new(top + 2.0, ui.cursor().top() - 2.0);
        ui.painter()
            .vline(left + STRING, string, Stroke::new(1.0, colours.outline));
    }
    chosen
}

/// One screen. The one in hand is a piece of paper cut out of the well, with a bar of ink.
fn line(ui: &mut Ui, screen: Screen, title: &str, number: usize, current: bool) -> Response {
    let size = vec2(ui.available_width(), LINE);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| {
        let name = spoken(screen, title, number);
        WidgetInfo::selected(Role::Tab, true, current, name)
    });
    let colours = tokens(ui);
    let paper = rect.with_min_x(rect.left() + space::XXXL);
    if current {
        ui.painter().rect_filled(paper, 0.0, colours.surface);
        let bar = paper.with_max_x(paper.left() + 3.0);
        ui.painter().rect_filled(bar, 0.0, colours.ink);
    } else if response.hovered() {
        ui.painter().rect_filled(paper, 0.0, colours.hover);
    }
    let font = if current {
        theme::bold(type_size::BODY)
    } else {
        FontId::proportional(type_size::BODY)
    };
    let words = Rect::from_min_max(
        pos2(rect.left() + 44.0, rect.top()),
        pos2(rect.right() - 40.0, rect.bottom()),
    );
    one_line(ui, words, rect.center().y, title, font.clone(), colours.ink);
    if number > 0 {
        let ink = if current { colours.ink } else { colours.muted };
        let room = Rect::from_min_max(
            pos2(rect.right() - 48.0, rect.top()),
            pos2(rect.right() - 14.0, rect.bottom()),
        );
        kit::widgets::one_line_right(ui, room, rect.center().y, &number.to_string(), font, ink);
    }
    if response.has_focus() {
        ui.painter().rect_stroke(
            paper.shrink(1.0),
            0.0,
            Stroke::new(2.0, colours.focus),
            egui::StrokeKind::Inside,
        );
    }
    match Command::Go(screen).shortcut() {
        Some(keys) => {
            let keys = ui.ctx().format_shortcut(&keys);
            response.on_hover_text(keys)
        }
        None => response,
    }
}

/// A screen as it is read aloud, with what waits on it.
fn spoken(screen: Screen, title: &str, number: usize) -> String {
    match (screen, number) {
        (_, 0) => title.to_owned(),
        (Screen::Calendar, _) => format!("{title}, {number} due"),
        _ => format!("{title}, {number}"),
    }
}

/// A group in a narrow window: its drawing with a word beneath; its screens in a menu, where there are several.
fn narrow_group(
    ui: &mut Ui,
    group: Group,
    first: &str,
    waiting: Waiting,
    current: Screen,
) -> Option<Screen> {
    let screens = group.screens();
    let mut chosen = None;
    let &lead = screens.first()?;
    let colours = tokens(ui);
    let height = 76.0;
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click());
    let in_hand = screens.contains(&current);
    let number: usize = screens.iter().map(|&screen| waiting.on(screen)).sum();
    let word = if group == Group::Today {
        first
    } else {
        group.short_title()
    };
    response.widget_info(|| {
        let name = if group == Group::Today {
            spoken(lead, word, number)
        } else {
            group.title().to_owned()
        };
        WidgetInfo::selected(Role::Tab, true, in_hand, name)
    });
    if in_hand {
        ui.painter().rect_filled(rect, 0.0, colours.surface);
        let bar = rect.with_max_x(rect.left() + 3.0);
        ui.painter().rect_filled(bar, 0.0, colours.ink);
    } else if response.hovered() {
        ui.painter().rect_filled(rect, 0.0, colours.hover);
    }
    let middle = rect.center().x;
    if let Some(drawing) = drawing_of(group) {
        ui.painter().vline(
            middle,
            egui::Rangef::new(rect.top() - 6.0, rect.top() + 6.0),
            Stroke::new(1.0, colours.outline),
        );
        let centre = pos2(middle, rect.top() + 28.0);
        drawing::paint(
            ui.painter(),
            drawing,
            centre,
            32.0,
            drawing::Inks::of(colours),
        );
    } else if number > 0 {
        let room = Rect::from_center_size(pos2(middle, rect.top() + 30.0), vec2(70.0, 34.0));
        let font = theme::slab(type_size::TITLE);
        one_line_middle(ui, room, &number.to_string(), font, colours.ink);
    } else {
        let centre = pos2(middle, rect.top() + 28.0);
        StateMark::Now.paint(ui.painter(), centre, 22.0, colours, colours.sunken);
    }
    let room = Rect::from_center_size(pos2(middle, rect.top() + 60.0), vec2(72.0, 16.0));
    let font = if in_hand {
        theme::bold(type_size::SMALL)
    } else {
        FontId::proportional(type_size::SMALL)
    };
    one_line_middle(ui, room, word, font, colours.ink);
    kit::widgets::focus_outline(ui, &response, rect.shrink(4.0));
    if screens.len() == 1 {
        return response.clicked().then_some(lead);
    }
    Popup::menu(&response)
        .align(egui::RectAlign::RIGHT_START)
        .show(|ui| {
            ui.set_min_width(160.0);
            for &screen in screens {
                let button = egui::Button::selectable(screen == current, screen.title())
                    .min_size(vec2(160.0, space::TARGET));
                let item = ui.add(button);
                item.widget_info(|| {
                    let name = spoken(screen, screen.title(), waiting.on(screen));
                    WidgetInfo::selected(Role::Tab, true, screen == current, name)
                });
                if item.clicked() {
                    chosen = Some(screen);
                    ui.close();
                }
            }
        });
    chosen
}

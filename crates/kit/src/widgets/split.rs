//! A list at the left and the details of one thing at the right; a page in a window too small for it.

use egui::accesskit::Action;
use egui::style::ScrollAnimation;
use egui::{Event, Frame, Id, Margin, Panel, Rect, ScrollArea, Sense, Stroke, Ui, UiBuilder, Vec2};

use crate::{
    fonts::mark,
    theme::{space, strong, tokens},
};

/// Draws `list` in what space is left beside `detail`, whose edge can be dragged.
///
/// At 1280 points across the detail takes 360 to begin with; it never takes more than half. With `open` false the
/// list has the whole width. The button in the detail's head closes it.
pub fn list_and_detail<C>(
    ui: &mut Ui,
    name: &str,
    open: &mut bool,
    title: &str,
    context: &mut C,
    list: impl FnOnce(&mut Ui, &mut C),
    detail: impl FnOnce(&mut Ui, &mut C),
) {
    if *open {
        let width = ui.available_width();
        let colours = tokens(ui);
        Panel::right(Id::unique(("detail", name)))
            .default_size((width * 0.3).clamp(280.0, 420.0))
            .size_range(240.0..=(width * 0.5).max(240.0))
            .resizable(true)
            .frame(
                Frame::new()
                    .fill(colours.raised)
                    .stroke(Stroke::new(1.0, colours.rule))
                    .inner_margin(Margin::same(space::M as i8)),
            )
            .show(ui, |ui| {
                ui.horizontal(|ui| {
                    ui.add(egui::Label::new(strong(title).heading()).truncate());
                    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                        let close = ui.button(mark::TIMES);
                        close.widget_info(|| {
                            egui::WidgetInfo::labeled(
                                egui::Role::Button,
                                true,
                                format!("Close details of {title}"),
                            )
                        });
                        if close.clicked() {
                            *open = false;
                        }
                    });
                });
                egui::ScrollArea::vertical()
                    .id_salt(("detail", name))
                    .auto_shrink(false)
                    .show(ui, |ui| {
                        detail(ui, context);
                    });
            });
    }
    egui::CentralPanel::default()
        .frame(Frame::new().inner_margin(Margin {
            right: if *open { space::S as i8 } else { 0 },
            ..Margin::ZERO
        }))
        .show(ui, |ui| list(ui, context));
}

/// How wide the list beside a record is in a narrow window.
const LIST_NARROW: f32 = 208.0;

/// How high the list above a record is in a window too narrow for both beside each other.
const LIST_ABOVE: f32 = 180.0;

/// Draws a table over the whole width, or, with `open`, as a list beside the page of one record, which takes the rest:
/// at 1280 points across much more than half, in a narrow window all of it. `list` learns which of the two it is. The page scrolls as a whole; the
/// button over its right corner, or Escape where nothing is typed, goes back to the table. A page without a `title`
/// has no way back: it is always beside its list.
pub fn list_and_record<C>(
    ui: &mut Ui,
    name: &str,
    open: &mut bool,
    title: &str,
    context: &mut C,
    list: impl FnOnce(&mut Ui, &mut C, bool),
    record: impl FnOnce(&mut Ui, &mut C),
) {
    // The same id beside a page and by itself, so that the keyboard stays in the table when a page opens.
    let list = |ui: &mut Ui, context: &mut C, beside| {
        let builder = egui::UiBuilder::new().scope_id(Id::unique(("list", name)));
        ui.scope_builder(builder, |ui| list(ui, context, beside));
    };
    if !*open {
        list(ui, context, false);
        return;
    }
    let narrow = ui.available_width() < ONE_COLUMN;
    let alone = narrow && !title.is_empty();
    // Before anything is drawn: what lies over the page takes Escape for itself.
    let resting = ui.ctx().text_edit_focused()
        || egui::Popup::is_any_open(ui.ctx())
        || ui.memory(|memory| memory.top_modal_layer().is_some());
    let width = ui.available_width();
    let list_width = if width < 1000.0 {
        LIST_NARROW
    } else {
        space::LIST
    };
    if narrow && !alone {
        Panel::top(Id::unique(("list panel above", name)))
            .exact_size(LIST_ABOVE.min(ui.available_height() * 0.5))
            .resizable(false)
            .show_separator_line(false)
            .frame(Frame::new())
            .show(ui, |ui| list(ui, context, true));
    } else if !alone {
        Panel::left(Id::unique(("list panel", name)))
            .exact_size(list_width)
            .resizable(false)
            .show_separator_line(false)
            .frame(Frame::new().inner_margin(Margin {
                right: space::M as i8,
                ..Margin::ZERO
            }))
            .show(ui, |ui| list(ui, context, true));
    }
    let between = if narrow { 0.0 } else { space::L };
    let line = Stroke::new(1.0, tokens(ui).ink);
    egui::CentralPanel::default()
        .frame(Frame::new().inner_margin(Margin {
            left: between as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| {
            let edge = ui.max_rect();
            if !narrow {
                let x = edge.left() - space::L + 0.5;
                ui.painter()
                    .with_clip_rect(edge.expand(space::L))
                    .vline(x, edge.y_range(), line);
            }
            egui::ScrollArea::vertical()
                .id_salt(("record", name, title))
                .auto_shrink(false)
                .show(ui, |ui| {
                    ui.set_max_width(ui.available_width() - space::S);
                    record(ui, context);
                });
            if title.is_empty() {
                return;
            }
            let at = egui::Rect::from_min_size(
                egui::pos2(edge.right() - 24.0 - space::S, edge.top()),
                egui::Vec2::splat(24.0),
            );
            let close = ui.put(at, egui::Button::new(mark::TIMES).frame(false));
            close.widget_info(|| {
                egui::WidgetInfo::labeled(
                    egui::Role::Button,
                    true,
                    format!("Close details of {title}"),
                )
            });
            let escaped = !resting
                && ui.is_enabled()
                && ui
                    .input_mut(|input| input.consume_key(egui::Modifiers::NONE, egui::Key::Escape));
            if close.clicked() || escaped {
                *open = false;
            }
        });
}

/// Draws a page in no less room than `least`: where the window has less, be it narrow or its text large, the page is
/// moved under the window both ways, and whatever takes the keyboard is brought into sight.
pub fn with_room(ui: &mut Ui, name: &str, least: Vec2, add: impl FnOnce(&mut Ui)) {
    // The same ids with and without: what is half typed outlives a change of the window's size.
    let scope = || UiBuilder::new().scope_id(Id::unique(("room", name)));
    let room = ui.available_size();
    if room.x >= least.x && room.y >= least.y {
        ui.scope_builder(scope(), add);
        return;
    }
    let heard = asked_to_be_shown(ui);
    ScrollArea::both()
        .id_salt(("room", name))
        .auto_shrink(false)
        .show(ui, |ui| {
            let rect = Rect::from_min_size(ui.min_rect().min, room.max(least));
            ui.allocate_rect(rect, Sense::hover());
            ui.scope_builder(scope().max_rect(rect), add);
            // Areas within keep for themselves what they are asked for both ways, and move first: what they can't bring
            // into sight, the page does.
            let wanted = Followed::next(ui, name, heard).filter(|(nth, _)| *nth > 0);
            let wanted = wanted.map(|(_, wanted)| wanted.intersect(rect));
            if let Some(wanted) = wanted.filter(Rect::is_positive) {
                ui.scroll_to_rect_animation(wanted, None, ScrollAnimation::none());
            }
        });
}

/// Room for two parts with a line between them: `side` points for the second, to the right, or half the height under the
/// first where the window is narrow or its text large.
pub fn beside_or_below(ui: &Ui, side: f32) -> (Rect, Rect) {
    let whole = ui.available_rect_before_wrap();
    let line = Stroke::new(1.0, tokens(ui).ink);
    let seen = whole.right().min(ui.clip_rect().right()) - whole.left();
    if seen < 2.0 * side {
        let split = whole.center().y;
        ui.painter().hline(whole.x_range(), split, line);
        (
            whole.with_max_y(split - space::S),
            whole.with_min_y(split + space::S),
        )
    } else {
        let split = whole.right() - side;
        ui.painter().vline(split - space::S, whole.y_range(), line);
        (whole.with_max_x(split - space::L), whole.with_min_x(split))
    }
}

/// What may be wider than the page, as a grid of fields is: it is moved to and fro by itself.
pub fn sideways<R>(ui: &mut Ui, name: &str, add: impl FnOnce(&mut Ui) -> R) -> R {
    let heard = asked_to_be_shown(ui);
    let area = ScrollArea::horizontal().id_salt(("sideways", name));
    let shown = area.auto_shrink([false, true]).show(ui, add);
    // It keeps for itself what it is asked for both ways.
    let wanted = Followed::next(ui, name, heard).filter(|(nth, _)| *nth == 0);
    if let Some((_, wanted)) = wanted {
        let within = Rect::from_x_y_ranges(shown.inner_rect.x_range(), wanted.y_range());
        ui.scroll_to_rect_animation(within, None, ScrollAnimation::none());
    }
    shown.inner
}

/// How many frames a page follows a widget into sight.
const FOLLOWS: u8 = 4;

/// What a page follows into sight.
#[derive(Clone, Copy, Default)]
struct Followed {
    focused: Option<Id>,
    widget: Option<Id>,
    frames: u8,
}

impl Followed {
    /// Where the widget lies that took the keyboard lately, or that a screen reader wanted to be shown, and how many
    /// frames ago.
    fn next(ui: &Ui, name: &str, heard: Option<Id>) -> Option<(u8, Rect)> {
        let focused = ui.memory(egui::Memory::focused);
        let (nth, widget) = ui.data_mut(|data| {
            let followed: &mut Self = data.get_temp_mut_or_default(Id::unique(("followed", name)));
            if focused != followed.focused || heard.is_some() {
                *followed = Self {
                    focused,
                    widget: heard.or(focused),
                    frames: 0,
                };
            }
            let nth = followed.frames;
            followed.frames = FOLLOWS.min(nth + 1);
            let widget = followed.widget.filter(|_| nth < FOLLOWS);
            widget.map(|widget| (nth, widget))
        })?;
        ui.ctx().request_repaint();
        let rect = ui.ctx().viewport(|viewport| {
            let widgets = &viewport.this_pass.widgets;
            widgets.get(widget).map(|widget| widget.rect)
        });
        rect.map(|rect| (nth, rect))
    }
}

/// The widget that a screen reader wants to be shown. Whoever is it takes the request out of the events.
fn asked_to_be_shown(ui: &Ui) -> Option<Id> {
    let node = ui.input(|input| {
        input.events.iter().find_map(|event| match event {
            Event::AccessKitActionRequest(request) if request.action == Action::ScrollIntoView => {
                Some(request.target_node)
            }
            _ => None,
        })
    })?;
    ui.ctx().viewport(|viewport| {
        let widgets = &viewport.prev_pass.widgets;
        let mut all = widgets.layers().flat_map(|(_, layer)| layer);
        all.find(|widget| widget.id.accesskit_id() == node)
            .map(|widget| widget.id)
    })
}

/// In less room than this there is one column, or one page, and not two beside each other.
const ONE_COLUMN: f32 = 520.0;

/// Two halves side by side, each filled from its top left: words as they are set elsewhere, buttons no wider than they
/// need be. In a narrow window, or with large text, the second follows under the first.
pub fn halves<C>(
    ui: &mut Ui,
    context: &mut C,
    left: impl FnOnce(&mut Ui, &mut C),
    right: impl FnOnce(&mut Ui, &mut C),
) {
    if ui.available_width() < ONE_COLUMN {
        ui.vertical(|ui| left(ui, context));
        ui.vertical(|ui| right(ui, context));
        return;
    }
    let between = std::mem::replace(&mut ui.spacing_mut().item_spacing.x, space::XXXL);
    ui.columns(2, |columns| {
        for column in columns.iter_mut() {
            column.spacing_mut().item_spacing.x = between;
        }
        if let [first, second] = columns {
            first.vertical(|ui| left(ui, context));
            second.vertical(|ui| right(ui, context));
        }
    });
    ui.spacing_mut().item_spacing.x = between;
}

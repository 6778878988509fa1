//! A list at the left and the details of one thing at the right.

use egui::{Frame, Id, Margin, Panel, Stroke, Ui};

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

/// Draws a table over the whole width, or, with `open`, as a list beside the page of one record, which takes the rest:
/// at 1280 points across much more than half. `list` learns which of the two it is. The page scrolls as a whole; the
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
    Panel::left(Id::unique(("list panel", name)))
        .exact_size(list_width)
        .resizable(false)
        .show_separator_line(false)
        .frame(Frame::new().inner_margin(Margin {
            right: space::M as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| list(ui, context, true));
    let line = Stroke::new(1.0, tokens(ui).ink);
    egui::CentralPanel::default()
        .frame(Frame::new().inner_margin(Margin {
            left: space::L as i8,
            ..Margin::ZERO
        }))
        .show(ui, |ui| {
            let edge = ui.max_rect();
            let x = edge.left() - space::L + 0.5;
            ui.painter()
                .with_clip_rect(edge.expand(space::L))
                .vline(x, edge.y_range(), line);
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

/// Two halves side by side, each filled from its top left: words as they are set elsewhere, buttons no wider than they
/// need be.
pub fn halves(ui: &mut Ui, add: impl FnOnce(&mut Ui, &mut Ui)) {
    let between = std::mem::replace(&mut ui.spacing_mut().item_spacing.x, space::XXXL);
    ui.columns(2, |columns| {
        for column in columns.iter_mut() {
            column.spacing_mut().item_spacing.x = between;
        }
        if let [left, right] = columns {
            left.vertical(|left| right.vertical(|right| add(left, right)));
        }
    });
    ui.spacing_mut().item_spacing.x = between;
}

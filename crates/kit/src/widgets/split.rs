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

/// Two halves side by side, each filled from its top left: words as they are set elsewhere, buttons no wider than they
/// need be.
pub fn halves(ui: &mut Ui, add: impl FnOnce(&mut Ui, &mut Ui)) {
    ui.columns(2, |columns| {
        if let [left, right] = columns {
            left.vertical(|left| right.vertical(|right| add(left, right)));
        }
    });
}

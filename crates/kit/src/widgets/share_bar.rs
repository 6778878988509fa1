//! A share from 0 to 1 as a small bar with its number.

use crate::theme::{numbers, space, tokens};
use egui::{Align2, Response, Role, Sense, Stroke, StrokeKind, TextStyle, Ui, WidgetInfo, vec2};

const BAR: egui::Vec2 = vec2(48.0, 8.0);

/// Draws a share as a bar and a number with two decimals; `name` says of what.
pub fn share_bar(ui: &mut Ui, name: &str, share: f64) -> Response {
    let text = format!("{share:.2}");
    let colours = tokens(ui);
    let font = numbers().resolve(ui.style());
    let digits = ui
        .painter()
        .layout_no_wrap(text.clone(), font.clone(), colours.ink)
        .size();
    let height = digits.y.max(TextStyle::Body.resolve(ui.style()).size);
    let (rect, response) =
        ui.allocate_exact_size(vec2(BAR.x + space::S + digits.x, height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Meter, true, format!("{name}: {text}")));
    if ui.is_rect_visible(rect) {
        let track =
            egui::Rect::from_min_size(egui::pos2(rect.left(), rect.center().y - BAR.y / 2.0), BAR);
        let mut filled = track;
        filled.set_width(BAR.x * share.clamp(0.0, 1.0) as f32);
        let painter = ui.painter();
        painter.rect_filled(track, 2.0, colours.sunken);
        painter.rect_filled(filled, 2.0, colours.accent);
        let edge = Stroke::new(1.0, colours.outline);
        painter.rect_stroke(track, 2.0, edge, StrokeKind::Inside);
        painter.text(
            rect.right_center(),
            Align2::RIGHT_CENTER,
            text,
            font,
            colours.ink,
        );
    }
    response
}

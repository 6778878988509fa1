//! The two ways in which a part of a whole is drawn: a plain bar for room that is taken or a share, and the bine on its
//! string for what takes time.

use crate::bine::{self, Course, Habit, Leaves};
use crate::theme::{numbers, space, tokens};
use egui::{
    Align2, Rect, Response, Role, Sense, Stroke, StrokeKind, TextStyle, Ui, WidgetInfo, pos2, vec2,
};

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
        let track = Rect::from_min_size(pos2(rect.left(), rect.center().y - BAR.y / 2.0), BAR);
        paint_share(ui, track, share as f32);
        ui.painter().text(
            rect.right_center(),
            Align2::RIGHT_CENTER,
            text,
            font,
            colours.ink,
        );
    }
    response
}

/// A part of a whole, from 0 to 1, as a bar.
pub fn paint_share(ui: &Ui, track: Rect, part: f32) {
    let colours = tokens(ui);
    let painter = ui.painter();
    painter.rect_filled(track, 0, colours.sunken);
    let filled = Rect::from_min_size(
        track.min,
        vec2(track.width() * part.clamp(0.0, 1.0), track.height()),
    );
    painter.rect_filled(filled, 0, colours.accent);
    let edge = Stroke::new(1.0, colours.outline);
    painter.rect_stroke(track, 0, edge, StrokeKind::Inside);
}

/// How far something that takes time has come, from 0 to 1: a bine that has grown so far along its string. `name` says
/// what is waited for.
pub fn growth(ui: &mut Ui, name: &str, part: f32) -> Response {
    let size = vec2(ui.available_width(), 16.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let percent = f64::from(part.clamp(0.0, 1.0)) * 100.0;
    response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::ProgressIndicator, true, name);
        info.value = Some(percent);
        info
    });
    if ui.is_rect_visible(rect) {
        let course = Course::Line {
            from: rect.left_center(),
            to: rect.right_center(),
        };
        let grown = course.length() * part.clamp(0.0, 1.0);
        let inks = bine::Inks::of(tokens(ui));
        bine::draw(
            ui.painter(),
            course,
            grown,
            Leaves::Regular,
            Habit::LANE,
            inks,
        );
    }
    response
}

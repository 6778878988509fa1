//! How a lane is drawn: name, bars, marks, what the pointer is told.

use chrono::NaiveDate;
use egui::{
    Align2, Color32, FontId, Id, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo,
    pos2, vec2,
};

use super::{BarKind, Lane, LaneBar, LanePoint, TimeView, bar_text, point_text};
use crate::{
    theme::{space, tokens, type_size},
    widgets::{days::later, text::one_line},
};

pub(super) const BAR: f32 = 12.0;

/// Draws one lane; true when it was clicked.
pub(super) fn draw_lane(
    ui: &Ui,
    id: Id,
    rect: Rect,
    place: &Place,
    lane: &Lane,
    at_cursor: bool,
) -> bool {
    let colours = tokens(ui);
    let response = ui.interact(rect, id, Sense::CLICK);
    response.widget_info(|| WidgetInfo::labeled(Role::Row, true, lane.spoken()));
    if response.hovered() {
        let names = rect.with_max_x(place.time.left());
        ui.painter().rect_filled(names, 0, colours.hover);
    }
    let names = rect
        .with_max_x(place.time.left())
        .shrink2(vec2(space::S, 0.0));
    let small = FontId::proportional(type_size::SMALL);
    let name_y = if lane.detail.is_empty() {
        rect.center().y
    } else {
        rect.top() + 14.0
    };
    one_line(
        ui,
        names,
        name_y,
        &lane.name,
        egui::TextStyle::Body.resolve(ui.style()),
        colours.ink,
    );
    one_line(
        ui,
        names,
        rect.top() + 31.0,
        &lane.detail,
        small.clone(),
        colours.muted,
    );
    let painter = ui
        .painter()
        .with_clip_rect(ui.clip_rect().intersect(place.time));
    for (index, bar) in lane.bars.iter().enumerate() {
        let shape = place.bar(rect, bar);
        draw_bar(&painter, shape, bar.kind, colours.series(bar.series));
        let next = lane
            .bars
            .get(index + 1)
            .map_or(place.time.right(), |next| place.x(next.from));
        let from = shape.left().max(place.time.left());
        let room = Rect::from_x_y_ranges(from..=next.max(from) - space::XS, rect.y_range());
        if shape.right() > place.time.left() && room.width() > 16.0 {
            one_line(
                ui,
                room,
                rect.top() + 13.0,
                &bar.text,
                small.clone(),
                colours.muted,
            );
        }
    }
    for point in &lane.points {
        let centre = pos2(place.x(point.on) + place.day_width() / 2.0, bar_y(rect));
        painter.circle(
            centre,
            9.0,
            colours.surface,
            Stroke::new(1.0, colours.meaning(point.meaning).text),
        );
        let ink = colours.meaning(point.meaning).text;
        painter.text(
            centre,
            Align2::CENTER_CENTER,
            point.mark,
            small.clone(),
            ink,
        );
    }
    ui.painter().hline(
        rect.x_range(),
        rect.bottom() - 0.5,
        Stroke::new(1.0, colours.rule),
    );
    if at_cursor {
        ui.painter().rect_stroke(
            rect,
            0,
            Stroke::new(2.0, colours.accent),
            StrokeKind::Inside,
        );
    }
    let clicked = response.clicked();
    if let Some(text) = response
        .hover_pos()
        .and_then(|at| hover_text(place, rect, lane, at))
    {
        response.on_hover_text_at_pointer(text);
    }
    clicked
}

/// Where days lie on the screen.
pub(super) struct Place {
    pub(super) time: Rect,
    pub(super) view: TimeView,
}

impl Place {
    pub(super) fn x(&self, day: NaiveDate) -> f32 {
        self.time.left() + self.view.fraction(day) * self.time.width()
    }

    pub(super) fn day_width(&self) -> f32 {
        self.time.width() / self.view.days() as f32
    }

    pub(super) fn bar(&self, lane: Rect, bar: &LaneBar) -> Rect {
        let (left, right) = (self.x(bar.from), self.x(later(bar.to, 1)));
        Rect::from_center_size(
            pos2(f32::midpoint(left, right), bar_y(lane)),
            vec2((right - left).max(3.0), BAR),
        )
    }

    pub(super) fn line(&self, ui: &Ui, day: NaiveDate, y: egui::Rangef, stroke: Stroke) {
        let x = self.x(day) + self.day_width() / 2.0;
        if self.time.x_range().contains(x) {
            ui.painter().vline(x, y, stroke);
        }
    }
}

fn bar_y(lane: Rect) -> f32 {
    lane.top() + 31.0
}

/// What is under the pointer: the point first, then the bar, then the lane's name.
fn hover_text(place: &Place, rect: Rect, lane: &Lane, at: egui::Pos2) -> Option<String> {
    let near =
        |point: &&LanePoint| (place.x(point.on) + place.day_width() / 2.0 - at.x).abs() <= 9.0;
    if let Some(point) = lane.points.iter().find(near) {
        return Some(point_text(point));
    }
    lane.bars
        .iter()
        .find(|bar| place.bar(rect, bar).x_range().contains(at.x))
        .map(bar_text)
}

pub(super) fn draw_bar(painter: &egui::Painter, rect: Rect, kind: BarKind, ink: Color32) {
    let stroke = Stroke::new(1.5, ink);
    match kind {
        BarKind::Actual => {
            painter.rect_filled(rect, 2.0, ink);
        }
        BarKind::Planned => {
            painter.rect_stroke(rect, 2.0, stroke, StrokeKind::Inside);
        }
        BarKind::Projected => {
            let corners = [
                rect.left_top(),
                rect.right_top(),
                rect.right_bottom(),
                rect.left_bottom(),
                rect.left_top(),
            ];
            painter.extend(Shape::dashed_line(&corners, stroke, 4.0, 3.0));
            let hatch = painter.with_clip_rect(painter.clip_rect().intersect(rect));
            // Only the part in view: a bar of years zoomed in would otherwise be thousands of strokes.
            let (left, right) = (
                rect.left().max(hatch.clip_rect().left()),
                rect.right().min(hatch.clip_rect().right()),
            );
            let mut x = rect.left() + ((left - rect.left()) / 6.0).floor() * 6.0 - rect.height();
            while x < right {
                let ends = [pos2(x, rect.bottom()), pos2(x + rect.height(), rect.top())];
                hatch.line_segment(ends, Stroke::new(1.0, ink));
                x += 6.0;
            }
        }
    }
}

//! How a lane is drawn: name, bars, marks, what the pointer is told.

use chrono::NaiveDate;
use egui::{
    Color32, FontId, Id, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};

use super::{BarKind, Lane, LaneBar, LanePoint, TimeView, bar_text, point_text};
use crate::{
    theme::{Tokens, space, tokens, type_size},
    widgets::{days::later, text::one_line},
};

pub(super) const BAR: f32 = 12.0;
/// The radius of a point.
const POINT: f32 = 9.0;

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
        let width = painter
            .layout_no_wrap(bar.text.clone(), small.clone(), colours.muted)
            .size()
            .x;
        // A word never runs into the next one: where it doesn't fit whole, the bar is told by its hue and on hover.
        // What goes on as it is has its name already.
        let goes_on = index > 0 && lane.bars[index - 1].text == bar.text;
        if !goes_on && shape.right() > place.time.left() && room.width() > width {
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
    let groups = place.groups(&lane.points);
    for (nth, group) in groups.iter().enumerate() {
        draw_points(&painter, colours, place, bar_y(rect), group);
        let next = groups.get(nth + 1).and_then(|group| group.first());
        let to = next.map_or(place.time.right(), |next| place.middle(next.on) - POINT);
        tell_points(ui, &painter, place, rect, group, to - space::S);
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

/// Draws points that stand on top of each other as one, with the loudest mark and their number.
fn draw_points(
    painter: &egui::Painter,
    colours: &Tokens,
    place: &Place,
    y: f32,
    group: &[&LanePoint],
) {
    let (Some(first), Some(last)) = (group.first(), group.last()) else {
        return;
    };
    let loudest = group.iter().fold(*first, |loudest, point| {
        if point.meaning > loudest.meaning {
            point
        } else {
            loudest
        }
    });
    let ink = colours.on_paper(loudest.meaning);
    let text = if group.len() == 1 {
        loudest.mark.to_owned()
    } else {
        format!("{} {}", loudest.mark, group.len())
    };
    let text = painter.layout_no_wrap(text, FontId::proportional(type_size::SMALL), ink);
    let (left, right) = (
        place.middle(first.on) - POINT,
        place.middle(last.on) + POINT,
    );
    let width = (right - left).max(if group.len() == 1 {
        0.0
    } else {
        text.size().x + 2.0 * space::S
    });
    let shape = Rect::from_center_size(
        pos2(f32::midpoint(left, right), y),
        vec2(width, 2.0 * POINT),
    );
    painter.rect(
        shape,
        POINT,
        colours.surface,
        Stroke::new(1.0, ink),
        StrokeKind::Inside,
    );
    painter.galley(shape.center() - text.size() / 2.0, text, ink);
}

/// The words of a group of points beneath it, as many of them as there is room for before `right`. A word never runs
/// into the next one: what doesn't fit whole is told by its mark alone, in the legend and on hover.
fn tell_points(
    ui: &Ui,
    painter: &egui::Painter,
    place: &Place,
    lane: Rect,
    group: &[&LanePoint],
    right: f32,
) {
    let (Some(first), Some(loudest)) = (
        group.first(),
        group.iter().copied().reduce(|loudest, point| {
            if point.meaning > loudest.meaning {
                point
            } else {
                loudest
            }
        }),
    ) else {
        return;
    };
    let left = place.middle(first.on) - POINT;
    if left < place.time.left() {
        return;
    }
    let mut said: Vec<&str> = Vec::new();
    for point in group {
        if !said.contains(&point.text.as_str()) {
            said.push(&point.text);
        }
    }
    let small = FontId::proportional(type_size::SMALL);
    let ink = tokens(ui).on_paper(loudest.meaning);
    for words in [said.join(", "), loudest.text.clone()] {
        let galley = painter.layout_no_wrap(words, small.clone(), ink);
        if left + galley.size().x <= right {
            // On a scrap of paper, so that no line of a month or of today runs through the words.
            let at = pos2(left, lane.top() + 42.0);
            let scrap = Rect::from_min_size(at, galley.size()).expand2(vec2(2.0, 0.0));
            painter.rect_filled(scrap, 0, tokens(ui).surface);
            painter.galley(at, galley, ink);
            return;
        }
    }
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

    fn middle(&self, day: NaiveDate) -> f32 {
        self.x(day) + self.day_width() / 2.0
    }

    /// The points by day, those together whose marks would cover each other.
    fn groups<'a>(&self, points: &'a [LanePoint]) -> Vec<Vec<&'a LanePoint>> {
        let mut sorted: Vec<&LanePoint> = points.iter().collect();
        sorted.sort_by_key(|point| point.on);
        let mut groups: Vec<Vec<&LanePoint>> = Vec::new();
        for point in sorted {
            match groups.last_mut() {
                Some(group)
                    if group
                        .last()
                        .is_some_and(|last| self.x(point.on) - self.x(last.on) < 2.0 * POINT) =>
                {
                    group.push(point);
                }
                _ => groups.push(vec![point]),
            }
        }
        groups
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
        let x = self.middle(day);
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
    let under = |group: &Vec<&LanePoint>| {
        let (first, last) = (group.first()?, group.last()?);
        let reach = place.middle(first.on) - POINT..=place.middle(last.on) + POINT;
        reach.contains(&at.x).then(|| {
            let texts: Vec<String> = group.iter().map(|point| point_text(point)).collect();
            texts.join("\n")
        })
    };
    if let Some(text) = place.groups(&lane.points).iter().find_map(under) {
        return Some(text);
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

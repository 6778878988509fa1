//! A curve of choices, one against another, on which a point is picked.

use super::line_plot::tick;
use crate::theme::{space, strong, tokens, type_size};
use egui::{
    Align2, EventFilter, FontId, Key, Modifiers, Pos2, Rect, Response, Role, Sense, Shape, Stroke,
    Ui, WidgetInfo, pos2, vec2,
};

/// Points of a curve, each a choice.
///
/// A click picks the nearest point; with the keyboard in the plot, Left and Right go from point to point. Its
/// accessible name tells the point picked and all others.
pub struct ChoicePlot<'a> {
    title: &'a str,
    axes: [&'a str; 2],
    points: &'a [(f64, f64)],
    decimals: [usize; 2],
}

impl<'a> ChoicePlot<'a> {
    /// A plot of `points` in ascending order across, with the names of what runs across and up, and with how many
    /// decimals each is written.
    pub const fn new(
        title: &'a str,
        axes: [&'a str; 2],
        points: &'a [(f64, f64)],
        decimals: [usize; 2],
    ) -> Self {
        Self {
            title,
            axes,
            points,
            decimals,
        }
    }

    /// Draws the plot in this size; `chosen` is the point picked.
    pub fn show(&self, ui: &mut Ui, size: egui::Vec2, chosen: &mut usize) -> Response {
        let (rect, mut response) = ui.allocate_exact_size(size, Sense::click());
        let before = *chosen;
        if response.has_focus() {
            let filter = EventFilter {
                horizontal_arrows: true,
                ..EventFilter::default()
            };
            ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
            let pressed = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
            if pressed(Key::ArrowRight) {
                *chosen = (*chosen + 1).min(self.points.len().saturating_sub(1));
            }
            if pressed(Key::ArrowLeft) {
                *chosen = chosen.saturating_sub(1);
            }
        }
        let colours = tokens(ui);
        let font = FontId::proportional(type_size::SMALL);
        let title = egui::WidgetText::from(strong(self.title)).into_galley(
            ui,
            None,
            rect.width(),
            egui::TextStyle::Body,
        );
        let head = title.size().y;
        ui.painter().galley(rect.min, title, colours.ink);
        let area = Rect::from_min_max(
            rect.min + vec2(space::XXL + space::S, head + space::XL),
            rect.max - vec2(space::M, space::XXL),
        );
        let frame = Frame::around(area, self.points);
        self.axes_ui(ui, &frame, &font);
        if response.clicked()
            && let Some(at) = response.interact_pointer_pos()
            && let Some(nearest) = self.nearest(&frame, at)
        {
            *chosen = nearest;
            response.request_focus();
        }
        if *chosen != before {
            response.mark_changed();
        }
        let places: Vec<Pos2> = self
            .points
            .iter()
            .map(|point| frame.place(*point))
            .collect();
        ui.painter().add(Shape::line(
            places.clone(),
            Stroke::new(2.0, colours.series(0)),
        ));
        for (index, place) in places.iter().enumerate() {
            ui.painter().circle_filled(*place, 3.5, colours.series(0));
            if index == *chosen {
                ui.painter()
                    .circle_stroke(*place, 7.5, Stroke::new(2.0, colours.ink));
            }
        }
        if response.has_focus() {
            let stroke = Stroke::new(2.0, colours.accent);
            ui.painter()
                .rect_stroke(rect, 4.0, stroke, egui::StrokeKind::Inside);
        }
        let picked = *chosen;
        response.widget_info(|| WidgetInfo::labeled(Role::Figure, true, self.in_words(picked)));
        if let Some(near) = response.hover_pos().and_then(|at| self.nearest(&frame, at)) {
            response = response.on_hover_text_at_pointer(self.point_in_words(near));
        }
        response
    }

    fn axes_ui(&self, ui: &Ui, frame: &Frame, font: &FontId) {
        let colours = tokens(ui);
        let painter = ui.painter();
        let rule = Stroke::new(1.0, colours.rule);
        for value in frame.ticks(1) {
            let y = frame.place((frame.low.0, value)).y;
            painter.hline(frame.area.x_range(), y, rule);
            let text = format!("{value:.*}", self.decimals[1]);
            let at = pos2(frame.area.left() - space::S, y);
            painter.text(at, Align2::RIGHT_CENTER, text, font.clone(), colours.muted);
        }
        for value in frame.ticks(0) {
            let x = frame.place((value, frame.low.1)).x;
            painter.vline(x, frame.area.y_range(), rule);
            let text = format!("{value:.*}", self.decimals[0]);
            let at = pos2(x, frame.area.bottom() + space::XS);
            painter.text(at, Align2::CENTER_TOP, text, font.clone(), colours.muted);
        }
        let below = pos2(
            frame.area.right(),
            frame.area.bottom() + space::XS + 1.3 * font.size,
        );
        painter.text(
            below,
            Align2::RIGHT_TOP,
            self.axes[0],
            font.clone(),
            colours.ink,
        );
        let above = pos2(frame.area.left() - space::XXL, frame.area.top() - space::S);
        painter.text(
            above,
            Align2::LEFT_BOTTOM,
            self.axes[1],
            font.clone(),
            colours.ink,
        );
    }

    fn nearest(&self, frame: &Frame, at: Pos2) -> Option<usize> {
        let distance = |index: &usize| frame.place(self.points[*index]).distance_sq(at);
        (0..self.points.len()).min_by(|one, other| distance(one).total_cmp(&distance(other)))
    }

    fn point_in_words(&self, index: usize) -> String {
        let Some((x, y)) = self.points.get(index) else {
            return String::new();
        };
        format!(
            "{} {x:.*}, {} {y:.*}",
            self.axes[0], self.decimals[0], self.axes[1], self.decimals[1]
        )
    }

    fn in_words(&self, chosen: usize) -> String {
        let all: Vec<_> = (0..self.points.len())
            .map(|index| self.point_in_words(index))
            .collect();
        format!(
            "{}. Point {} of {} is picked: {}. All: {}",
            self.title,
            chosen + 1,
            self.points.len(),
            self.point_in_words(chosen),
            all.join("; ")
        )
    }
}

struct Frame {
    area: Rect,
    low: (f64, f64),
    high: (f64, f64),
}

impl Frame {
    fn around(area: Rect, points: &[(f64, f64)]) -> Self {
        let range = |pick: fn(&(f64, f64)) -> f64| {
            let (low, high) = points
                .iter()
                .map(pick)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                    (low.min(value), high.max(value))
                });
            let (low, high) = if low.is_finite() {
                (low, high)
            } else {
                (0.0, 1.0)
            };
            let room = 0.08 * (high - low).max(1e-3 * high.abs()).max(1e-6);
            (low - room, high + room)
        };
        let (x, y) = (range(|point| point.0), range(|point| point.1));
        Self {
            area,
            low: (x.0, y.0),
            high: (x.1, y.1),
        }
    }

    fn place(&self, (x, y): (f64, f64)) -> Pos2 {
        let across = (x - self.low.0) / (self.high.0 - self.low.0);
        let up = (y - self.low.1) / (self.high.1 - self.low.1);
        pos2(
            self.area.left() + self.area.width() * across as f32,
            self.area.bottom() - self.area.height() * up as f32,
        )
    }

    fn ticks(&self, axis: usize) -> Vec<f64> {
        let (low, high) = if axis == 0 {
            (self.low.0, self.high.0)
        } else {
            (self.low.1, self.high.1)
        };
        let mut step = tick(high - low);
        let within = |step: f64| ((low / step).ceil() as i64, (high / step).floor() as i64);
        let (mut first, mut last) = within(step);
        // One tick alone tells no scale.
        while last <= first && step > 1e-9 {
            step /= 2.0;
            (first, last) = within(step);
        }
        (first..=last.min(first + 20))
            .map(|nth| nth as f64 * step)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_tell_the_point_picked_and_all_others() {
        let points = [(0.0, 1.0), (0.25, 1.5)];
        let plot = ChoicePlot::new("Gain", ["rise", "gain"], &points, [2, 1]);
        let expected = "Gain. Point 2 of 2 is picked: rise 0.25, gain 1.5. All: rise 0.00, gain 1.0; rise 0.25, gain 1.5";
        assert_eq!(plot.in_words(1), expected);
    }

    #[test]
    fn one_point_alone_is_drawn_within_the_frame() {
        let area = Rect::from_min_size(pos2(10.0, 10.0), vec2(100.0, 100.0));
        let frame = Frame::around(area, &[(0.1, 2.0)]);
        assert!(area.contains(frame.place((0.1, 2.0))));
        assert!(frame.ticks(0).len() > 1 && frame.ticks(1).len() > 1);
        // Before, 3.9 to 4.4 had a single tick.
        let narrow = Frame::around(area, &[(3.9, 1.0), (4.4, 1.3)]);
        assert!(narrow.ticks(0).len() > 1 && narrow.ticks(1).len() > 1);
    }
}

//! A curve of choices, one against another, on which a point is picked.

use chart::{Axis, Chart, Frame, Line, Place, Series};
use egui::{EventFilter, Key, Modifiers, Response, Role, Sense, Stroke, Ui, WidgetInfo};

use super::chart::{in_drawing, in_window, lay, paint};
use crate::theme::tokens;

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

    /// Its title.
    pub const fn title(&self) -> &str {
        self.title
    }

    /// What it shows, to be drawn elsewhere too.
    pub fn chart(&self) -> Chart {
        let across = self.points.iter().map(|point| point.0);
        let up = self.points.iter().map(|point| point.1);
        Chart {
            title: self.title.to_owned(),
            across: Axis::around(self.axes[0], across),
            up: Axis::around(self.axes[1], up),
            series: vec![Series {
                lines: vec![Line::thick(self.points.to_vec())],
                marks: self.points.to_vec(),
                ..Series::default()
            }],
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
        let drawing = lay(ui, rect, &self.chart());
        if response.clicked()
            && let Some(at) = response.interact_pointer_pos()
            && let Some(nearest) = self.nearest(&drawing.frame, in_drawing(rect, at))
        {
            *chosen = nearest;
            response.request_focus();
        }
        if *chosen != before {
            response.mark_changed();
        }
        paint(ui, rect, &drawing);
        let colours = tokens(ui);
        if let Some(point) = self.points.get(*chosen) {
            let at = in_window(rect, drawing.frame.place(*point));
            ui.painter()
                .circle_stroke(at, 7.5, Stroke::new(2.0, colours.ink));
        }
        if response.has_focus() {
            let stroke = Stroke::new(2.0, colours.accent);
            ui.painter()
                .rect_stroke(rect, 4.0, stroke, egui::StrokeKind::Inside);
        }
        let picked = *chosen;
        response.widget_info(|| WidgetInfo::labeled(Role::Figure, true, self.in_words(picked)));
        let pointer = response.hover_pos().map(|at| in_drawing(rect, at));
        if let Some(near) = pointer.and_then(|at| self.nearest(&drawing.frame, at)) {
            response = response.on_hover_text_at_pointer(self.point_in_words(near));
        }
        response
    }

    fn nearest(&self, frame: &Frame, at: Place) -> Option<usize> {
        let distance = |index: &usize| {
            let place = frame.place(self.points[*index]);
            (place.x - at.x).hypot(place.y - at.y)
        };
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
}

//! Courses over days: shares that rise in steps, each with a smooth curve through it and a band around that.

use super::line_plot::mark;
use crate::theme::{space, strong, tokens, type_size};
use egui::{
    Align2, Color32, FontId, Mesh, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui,
    WidgetInfo, pos2, vec2,
};

/// A point of a course: its day, its share from 0 to 1, and the lower and upper end of its band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoursePoint {
    /// The day.
    pub day: f64,
    /// The share.
    pub share: f64,
    /// The lower end of the band.
    pub low: f64,
    /// The upper end of the band.
    pub high: f64,
}

/// One course.
#[derive(Clone, Debug, PartialEq)]
pub struct CourseLine<'a> {
    /// Its name.
    pub name: &'a str,
    /// The share reached on each day it rises.
    pub steps: Vec<CoursePoint>,
    /// The last day it was looked at.
    pub until: f64,
    /// A smooth curve through it; empty where there is none.
    pub smooth: Vec<CoursePoint>,
}

/// A plot of courses. Each is told by colour, dashes and a mark, and named at its end.
///
/// Its accessible name tells every step; a table beside it should tell the figures.
pub struct GerminationPlot<'a> {
    title: &'a str,
    lines: &'a [CourseLine<'a>],
}

impl<'a> GerminationPlot<'a> {
    /// A plot of these courses.
    pub const fn new(title: &'a str, lines: &'a [CourseLine<'a>]) -> Self {
        Self { title, lines }
    }

    /// Draws the plot in this size.
    pub fn show(&self, ui: &mut Ui, size: egui::Vec2) -> Response {
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Figure, true, self.in_words()));
        if !ui.is_rect_visible(rect) {
            return response;
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
        let names = self.lines.iter().map(|line| {
            ui.painter()
                .layout_no_wrap(line.name.into(), font.clone(), colours.ink)
                .size()
                .x
        });
        let right = names.fold(0.0, f32::max).min(rect.width() / 3.0) + space::XL;
        let area = Rect::from_min_max(
            rect.min + vec2(space::XXL + space::S, head + space::M),
            rect.max - vec2(right, space::XXL),
        );
        let frame = Frame {
            area,
            days: self.days(),
        };
        frame.axes(ui, &font);
        for (index, line) in self.lines.iter().enumerate() {
            band(ui, &frame, line, colours.series(index).gamma_multiply(0.14));
        }
        for (index, line) in self.lines.iter().enumerate() {
            draw(ui, &frame, index, line, colours.series(index));
        }
        self.names(ui, &frame, &font);
        match response.hover_pos().filter(|at| area.contains(*at)) {
            Some(at) => {
                let day = frame.day(at.x);
                let stroke = Stroke::new(1.0, colours.accent);
                ui.painter().vline(at.x, area.y_range(), stroke);
                response.on_hover_text_at_pointer(self.day_in_words(day))
            }
            None => response,
        }
    }

    fn days(&self) -> f64 {
        let last = |line: &CourseLine<'_>| line.smooth.last().map_or(line.until, |point| point.day);
        self.lines.iter().map(last).fold(1.0, f64::max)
    }

    /// Names at the ends of lines, moved apart where lines end close together.
    fn names(&self, ui: &Ui, frame: &Frame, font: &FontId) {
        let colours = tokens(ui);
        let end = |line: &CourseLine<'_>| {
            let smooth = line.smooth.last().map(|point| point.share);
            smooth
                .or_else(|| line.steps.last().map(|point| point.share))
                .unwrap_or(0.0)
        };
        let mut ends: Vec<(f32, usize)> = self
            .lines
            .iter()
            .enumerate()
            .map(|(index, line)| (frame.y(end(line)), index))
            .collect();
        ends.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut below = f32::NEG_INFINITY;
        for (y, index) in ends {
            let y = y.max(below);
            below = y + font.size + 3.0;
            let at = pos2(frame.area.right() + space::M, y);
            mark(ui, index, at, colours.series(index));
            let mut job = egui::text::LayoutJob::simple_singleline(
                self.lines[index].name.into(),
                font.clone(),
                colours.ink,
            );
            job.wrap.max_width = ui.max_rect().right() - at.x - space::S;
            job.wrap.max_rows = 1;
            job.wrap.break_anywhere = true;
            let galley = ui.painter().layout_job(job);
            let place = at + vec2(space::S, -galley.size().y / 2.0);
            ui.painter().galley(place, galley, colours.ink);
        }
    }

    fn day_in_words(&self, day: f64) -> String {
        let day = day.round();
        let told = self.lines.iter().map(|line| {
            let reached = line
                .steps
                .iter()
                .take_while(|step| step.day <= day)
                .last()
                .map_or(0.0, |step| step.share);
            let nearest = line
                .smooth
                .iter()
                .min_by(|one, other| (one.day - day).abs().total_cmp(&(other.day - day).abs()));
            let fitted = nearest.map_or_else(String::new, |point| {
                format!(
                    ", fitted {:.0} % ({:.0} to {:.0})",
                    100.0 * point.share,
                    100.0 * point.low,
                    100.0 * point.high
                )
            });
            format!("{}: {:.0} % up{fitted}", line.name, 100.0 * reached)
        });
        let told: Vec<_> = told.collect();
        format!("Day {day:.0}\n{}", told.join("\n"))
    }

    fn in_words(&self) -> String {
        let lines = self.lines.iter().map(|line| {
            let steps = line.steps.iter().map(|step| {
                format!(
                    "by day {:.0} {:.0} % ({:.0} to {:.0})",
                    step.day,
                    100.0 * step.share,
                    100.0 * step.low,
                    100.0 * step.high
                )
            });
            let steps: Vec<_> = steps.collect();
            let steps = if steps.is_empty() {
                "nothing up".to_owned()
            } else {
                steps.join(", ")
            };
            let end = line.smooth.last().map_or_else(String::new, |point| {
                format!(
                    "; fitted, {:.0} % by day {:.0}",
                    100.0 * point.share,
                    point.day
                )
            });
            format!("{}: {steps}{end}", line.name)
        });
        let lines: Vec<_> = lines.collect();
        format!("{}. {}", self.title, lines.join(". "))
    }
}

struct Frame {
    area: Rect,
    days: f64,
}

impl Frame {
    fn x(&self, day: f64) -> f32 {
        self.area.left() + self.area.width() * (day / self.days) as f32
    }

    fn y(&self, share: f64) -> f32 {
        self.area.bottom() - self.area.height() * share as f32
    }

    fn day(&self, x: f32) -> f64 {
        f64::from((x - self.area.left()) / self.area.width()) * self.days
    }

    fn at(&self, day: f64, share: f64) -> Pos2 {
        pos2(self.x(day), self.y(share))
    }

    fn axes(&self, ui: &Ui, font: &FontId) {
        let colours = tokens(ui);
        let painter = ui.painter();
        for quarter in 0..=4 {
            let share = f64::from(quarter) / 4.0;
            let y = self.y(share);
            painter.hline(self.area.x_range(), y, Stroke::new(1.0, colours.rule));
            painter.text(
                pos2(self.area.left() - space::S, y),
                Align2::RIGHT_CENTER,
                format!("{:.0} %", 100.0 * share),
                font.clone(),
                colours.muted,
            );
        }
        let room = f64::from(self.area.width() / 48.0).max(1.0);
        let every = [1.0, 2.0, 5.0, 7.0, 14.0, 28.0, 56.0, 112.0]
            .into_iter()
            .find(|step| self.days / step <= room)
            .unwrap_or(self.days);
        for nth in 0..=(self.days / every) as u32 {
            let day = f64::from(nth) * every;
            painter.text(
                pos2(self.x(day), self.area.bottom() + space::XS),
                Align2::CENTER_TOP,
                format!("{day:.0}"),
                font.clone(),
                colours.muted,
            );
        }
        painter.text(
            pos2(self.area.center().x, self.area.bottom() + space::XL),
            Align2::CENTER_TOP,
            "days in warmth",
            font.clone(),
            colours.muted,
        );
    }
}

/// The band of the smooth curve; of the steps where there is none.
fn band(ui: &Ui, frame: &Frame, line: &CourseLine<'_>, colour: Color32) {
    let points: Vec<CoursePoint> = if line.smooth.is_empty() {
        // The band of a step holds until the next.
        let mut points: Vec<CoursePoint> = Vec::new();
        for (at, step) in line.steps.iter().enumerate() {
            let end = line.steps.get(at + 1).map_or(line.until, |next| next.day);
            points.extend([*step, CoursePoint { day: end, ..*step }]);
        }
        points
    } else {
        line.smooth.clone()
    };
    let mut mesh = Mesh::default();
    for pair in points.windows(2) {
        let first = mesh.vertices.len() as u32;
        for point in pair {
            mesh.colored_vertex(frame.at(point.day, point.low), colour);
            mesh.colored_vertex(frame.at(point.day, point.high), colour);
        }
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first + 1, first + 2, first + 3);
    }
    ui.painter().add(Shape::mesh(mesh));
}

fn draw(ui: &Ui, frame: &Frame, index: usize, line: &CourseLine<'_>, colour: Color32) {
    let smooth: Vec<Pos2> = line
        .smooth
        .iter()
        .map(|point| frame.at(point.day, point.share))
        .collect();
    let stroke = Stroke::new(1.5, colour);
    match index % 3 {
        0 => {
            ui.painter().add(Shape::line(smooth, stroke));
        }
        1 => {
            ui.painter()
                .extend(Shape::dashed_line(&smooth, stroke, 7.0, 4.0));
        }
        _ => {
            ui.painter()
                .extend(Shape::dashed_line(&smooth, stroke, 2.0, 4.0));
        }
    }
    let (mut corners, mut share) = (vec![frame.at(0.0, 0.0)], 0.0);
    for step in &line.steps {
        corners.push(frame.at(step.day, share));
        share = step.share;
        corners.push(frame.at(step.day, share));
    }
    corners.push(frame.at(line.until, share));
    ui.painter()
        .add(Shape::line(corners, Stroke::new(2.0, colour)));
    for step in &line.steps {
        mark(ui, index, frame.at(step.day, step.share), colour);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_is_told_in_words() {
        let point = |day, share| CoursePoint {
            day,
            share,
            low: share - 0.1,
            high: share + 0.1,
        };
        let lines = [
            CourseLine {
                name: "Lot A",
                steps: vec![point(5.0, 0.2), point(7.0, 0.5)],
                until: 9.0,
                smooth: vec![point(0.0, 0.1), point(12.0, 0.6)],
            },
            CourseLine {
                name: "Lot B",
                steps: Vec::new(),
                until: 9.0,
                smooth: Vec::new(),
            },
        ];
        assert_eq!(
            GerminationPlot::new("Germination", &lines).in_words(),
            "Germination. Lot A: by day 5 20 % (10 to 30), by day 7 50 % (40 to 60); fitted, 60 % by day 12. Lot B: nothing up"
        );
    }
}

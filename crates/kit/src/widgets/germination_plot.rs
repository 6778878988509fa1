//! Courses over days: shares that rise in steps, each with a smooth curve through it and a band around that.

use chart::{Axis, Band, Chart, Line, Series};
use egui::{Response, Role, Sense, Stroke, Ui, WidgetInfo};

use super::chart::{in_drawing, lay, paint, upright};
use crate::theme::tokens;

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

    /// Its title.
    pub const fn title(&self) -> &str {
        self.title
    }

    /// What it shows, to be drawn elsewhere too.
    pub fn chart(&self) -> Chart {
        let last = |line: &CourseLine<'_>| line.smooth.last().map_or(line.until, |point| point.day);
        let last = self.lines.iter().map(last).fold(1.0, f64::max);
        Chart {
            title: self.title.to_owned(),
            across: Axis::days("days in warmth", last),
            up: Axis::percent(""),
            series: self.lines.iter().map(series).collect(),
        }
    }

    /// Draws the plot in this size.
    pub fn show(&self, ui: &mut Ui, size: egui::Vec2) -> Response {
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Figure, true, self.in_words()));
        if !ui.is_rect_visible(rect) {
            return response;
        }
        let drawing = lay(ui, rect, &self.chart());
        paint(ui, rect, &drawing);
        let pointer = response.hover_pos().map(|at| in_drawing(rect, at));
        match pointer.filter(|at| drawing.frame.holds(*at)) {
            Some(at) => {
                let day = drawing.frame.across(at.x);
                let stroke = Stroke::new(1.0, tokens(ui).accent);
                upright(ui, rect, &drawing, day, stroke);
                response.on_hover_text_at_pointer(self.day_in_words(day))
            }
            None => response,
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

fn series(line: &CourseLine<'_>) -> Series {
    let (mut corners, mut share) = (vec![(0.0, 0.0)], 0.0);
    for step in &line.steps {
        corners.push((step.day, 100.0 * share));
        share = step.share;
        corners.push((step.day, 100.0 * share));
    }
    corners.push((line.until, 100.0 * share));
    let fitted = line
        .smooth
        .iter()
        .map(|point| (point.day, 100.0 * point.share));
    let end = line.smooth.last().map_or(share, |point| point.share);
    let marks = line.steps.iter().map(|step| (step.day, 100.0 * step.share));
    Series {
        name: line.name.to_owned(),
        lines: vec![
            Line {
                points: fitted.collect(),
                width: 1.5,
                dashed: true,
            },
            Line {
                points: corners,
                width: 2.0,
                dashed: false,
            },
        ],
        marks: marks.collect(),
        band: band(line),
        end: Some(100.0 * end),
    }
}

/// The band of the smooth curve; of the steps where there is none.
fn band(line: &CourseLine<'_>) -> Vec<Band> {
    let band = |at: f64, point: &CoursePoint| Band {
        at,
        low: 100.0 * point.low,
        high: 100.0 * point.high,
    };
    if !line.smooth.is_empty() {
        return line
            .smooth
            .iter()
            .map(|point| band(point.day, point))
            .collect();
    }
    let ends = line.steps.iter().skip(1).map(|next| next.day);
    line.steps
        .iter()
        .zip(ends.chain([line.until]))
        // The band of a step holds until the next.
        .flat_map(|(step, end)| [band(step.day, step), band(end, step)])
        .collect()
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

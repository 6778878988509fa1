//! Lines over years: a few series of figures, each told by colour, dashes and a mark, and named at its end.

use crate::theme::{space, strong, tokens, type_size};
use egui::{
    Align2, FontId, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

/// One line.
pub struct Series<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its figures, one for each year; `None` where there is none.
    pub values: Vec<Option<f64>>,
}

/// A plot of lines over years.
///
/// Its accessible name tells all its figures; a table beside it should too.
pub struct LinePlot<'a> {
    title: &'a str,
    years: &'a [i32],
    series: &'a [Series<'a>],
    decimals: usize,
}

impl<'a> LinePlot<'a> {
    /// A plot of `series` over `years` (ascending), its figures written with so many decimals.
    pub const fn new(
        title: &'a str,
        years: &'a [i32],
        series: &'a [Series<'a>],
        decimals: usize,
    ) -> Self {
        Self {
            title,
            years,
            series,
            decimals,
        }
    }

    /// Draws the plot in this size; `chosen` is the year that is marked, changed by a click.
    pub fn show(&self, ui: &mut Ui, size: egui::Vec2, chosen: &mut Option<i32>) -> Response {
        let (rect, mut response) = ui.allocate_exact_size(size, Sense::CLICK);
        response.widget_info(|| WidgetInfo::labeled(Role::Figure, true, self.in_words()));
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

        let top = self.highest();
        let step = tick(top);
        let ends = self.series.iter().map(|series| {
            let galley = ui
                .painter()
                .layout_no_wrap(series.name.into(), font.clone(), colours.ink);
            galley.size().x
        });
        let right = ends.fold(0.0, f32::max) + space::XL;
        let area = Rect::from_min_max(
            rect.min + vec2(space::XXL, head + space::M),
            rect.max - vec2(right, space::XL),
        );
        let frame = Frame {
            area,
            first: self.years.first().copied().unwrap_or_default(),
            last: self.years.last().copied().unwrap_or_default(),
            top: (top / step).ceil().max(1.0) * step,
        };
        self.axes(ui, &frame, step, &font);
        let hovered = response
            .hover_pos()
            .and_then(|at| self.nearest(&frame, at.x));
        if response.clicked() {
            *chosen = response
                .interact_pointer_pos()
                .and_then(|at| self.nearest(&frame, at.x));
            response.mark_changed();
        }
        for (year, width) in [(hovered, 1.0), (*chosen, 2.0)] {
            if let Some(year) = year {
                let stroke = Stroke::new(width, colours.accent);
                ui.painter().vline(frame.x(year), area.y_range(), stroke);
            }
        }
        self.lines(ui, &frame, &font);
        if let Some(year) = hovered {
            response = response.on_hover_text_at_pointer(self.year_in_words(year));
        }
        response
    }

    fn highest(&self) -> f64 {
        let values = self.series.iter().flat_map(|series| series.values.iter());
        values.flatten().copied().fold(0.0, f64::max)
    }

    fn axes(&self, ui: &Ui, frame: &Frame, step: f64, font: &FontId) {
        let colours = tokens(ui);
        let painter = ui.painter();
        let count = (frame.top / step).round() as usize;
        let decimals = (-step.log10().floor()).max(0.0) as usize;
        for line in 0..=count {
            let value = line as f64 * step;
            let y = frame.y(value);
            painter.hline(frame.area.x_range(), y, Stroke::new(1.0, colours.rule));
            painter.text(
                pos2(frame.area.left() - space::S, y),
                Align2::RIGHT_CENTER,
                format!("{value:.decimals$}"),
                font.clone(),
                colours.muted,
            );
        }
        let room = (frame.area.width() / 44.0).max(1.0);
        let every = ((frame.last - frame.first + 1) as f32 / room)
            .ceil()
            .max(1.0) as i32;
        for year in self
            .years
            .iter()
            .filter(|year| (frame.last - **year) % every == 0)
        {
            painter.text(
                pos2(frame.x(*year), frame.area.bottom() + space::XS),
                Align2::CENTER_TOP,
                year,
                font.clone(),
                colours.muted,
            );
        }
    }

    fn lines(&self, ui: &Ui, frame: &Frame, font: &FontId) {
        let colours = tokens(ui);
        let mut ends: Vec<(f32, usize)> = Vec::new();
        for (index, series) in self.series.iter().enumerate() {
            let colour = colours.series(index);
            let points: Vec<Pos2> = self
                .years
                .iter()
                .zip(&series.values)
                .filter_map(|(year, value)| Some(pos2(frame.x(*year), frame.y((*value)?))))
                .collect();
            let stroke = Stroke::new(2.0, colour);
            match index % 3 {
                0 => {
                    ui.painter().add(Shape::line(points.clone(), stroke));
                }
                1 => {
                    ui.painter()
                        .extend(Shape::dashed_line(&points, stroke, 7.0, 4.0));
                }
                _ => {
                    ui.painter()
                        .extend(Shape::dashed_line(&points, stroke, 2.0, 4.0));
                }
            }
            for point in &points {
                mark(ui, index, *point, colour);
            }
            if let Some(end) = points.last() {
                ends.push((end.y, index));
            }
        }
        // Names at the ends of lines, moved apart where lines end close together.
        ends.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut below = f32::NEG_INFINITY;
        for (y, index) in ends {
            let y = y.max(below);
            below = y + font.size + 3.0;
            let at = pos2(frame.area.right() + space::M, y);
            mark(ui, index, at, colours.series(index));
            ui.painter().text(
                at + vec2(space::S, 0.0),
                Align2::LEFT_CENTER,
                self.series[index].name,
                font.clone(),
                colours.ink,
            );
        }
    }

    fn nearest(&self, frame: &Frame, x: f32) -> Option<i32> {
        let distance = |year: i32| (frame.x(year) - x).abs();
        let years = self.years.iter().copied();
        years.min_by(|one, other| distance(*one).total_cmp(&distance(*other)))
    }

    fn year_in_words(&self, year: i32) -> String {
        let place = self.years.iter().position(|each| *each == year);
        let figures = self.series.iter().filter_map(|series| {
            let value = (*series.values.get(place?)?)?;
            Some(format!("{} {value:.*}", series.name, self.decimals))
        });
        let figures: Vec<_> = figures.collect();
        format!("{year}: {}", figures.join(", "))
    }

    fn in_words(&self) -> String {
        let years: Vec<_> = self
            .years
            .iter()
            .map(|year| self.year_in_words(*year))
            .collect();
        format!("{}. {}", self.title, years.join("; "))
    }
}

struct Frame {
    area: Rect,
    first: i32,
    last: i32,
    top: f64,
}

impl Frame {
    fn x(&self, year: i32) -> f32 {
        let span = (self.last - self.first) as f32;
        if span == 0.0 {
            return self.area.center().x;
        }
        let inner = self.area.shrink2(vec2(space::M, 0.0));
        inner.left() + inner.width() * (year - self.first) as f32 / span
    }

    fn y(&self, value: f64) -> f32 {
        self.area.bottom() - self.area.height() * (value / self.top) as f32
    }
}

/// A step of 1, 2 or 5 times a power of ten that gives about four lines up to `top`.
pub(super) fn tick(top: f64) -> f64 {
    if top <= 0.0 {
        return 0.05;
    }
    let rough = top / 4.0;
    let power = 10_f64.powf(rough.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|times| times * power);
    steps
        .into_iter()
        .find(|step| *step >= rough)
        .unwrap_or(steps[3])
}

/// The mark of a series: disc, square, diamond, by turns.
pub(super) fn mark(ui: &Ui, index: usize, at: Pos2, colour: egui::Color32) {
    let painter = ui.painter();
    match index % 3 {
        0 => {
            painter.circle_filled(at, 3.5, colour);
        }
        1 => {
            let square = Rect::from_center_size(at, egui::Vec2::splat(6.5));
            painter.rect_filled(square, 0, colour);
        }
        _ => {
            let corners = [
                vec2(0.0, -4.5),
                vec2(4.5, 0.0),
                vec2(0.0, 4.5),
                vec2(-4.5, 0.0),
            ];
            let corners = corners.map(|corner| at + corner).to_vec();
            painter.add(Shape::convex_polygon(corners, colour, Stroke::NONE));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_about_four() {
        for (top, step) in [
            (0.13, 0.05),
            (1.0, 0.5),
            (8.0, 2.0),
            (23.0, 10.0),
            (0.0, 0.05),
        ] {
            assert!((tick(top) - step).abs() < 1e-12, "{top}: {}", tick(top));
        }
    }

    #[test]
    fn all_figures_are_told_in_words() {
        let series = [Series {
            name: "mean F",
            values: vec![Some(0.0), None, Some(0.125)],
        }];
        let plot = LinePlot::new("Inbreeding", &[2024, 2025, 2026], &series, 3);
        assert_eq!(
            plot.in_words(),
            "Inbreeding. 2024: mean F 0.000; 2025: ; 2026: mean F 0.125"
        );
    }
}

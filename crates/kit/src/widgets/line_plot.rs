//! Lines over years: a few series of figures, each told by colour, dashes and a mark, and named at its end.

use chart::{Axis, Chart, Line};
use egui::{Response, Role, Sense, Stroke, Ui, WidgetInfo};

use super::chart::{in_drawing, lay, paint, upright};
use crate::figures::decimals;
use crate::theme::tokens;

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

    /// Its title.
    pub const fn title(&self) -> &str {
        self.title
    }

    /// What it shows, to be drawn elsewhere too.
    pub fn chart(&self) -> Chart {
        let values = self.series.iter().flat_map(|series| series.values.iter());
        let highest = values.flatten().copied().fold(0.0, f64::max);
        let (first, last) = (self.years.first(), self.years.last());
        let series = self.series.iter().map(|series| {
            let years = self.years.iter().map(|year| f64::from(*year));
            let points: Vec<(f64, f64)> = years
                .zip(&series.values)
                .filter_map(|(year, value)| Some((year, (*value)?)))
                .collect();
            chart::Series {
                name: if points.is_empty() { "" } else { series.name }.to_owned(),
                marks: points.clone(),
                lines: vec![Line::thick(points)],
                ..chart::Series::default()
            }
        });
        Chart {
            title: self.title.to_owned(),
            across: Axis::years(
                first.copied().unwrap_or_default(),
                last.copied().unwrap_or_default(),
            ),
            up: Axis::from_nothing("", highest),
            series: series.collect(),
        }
    }

    /// Draws the plot in this size; `chosen` is the year that is marked, changed by a click.
    pub fn show(&self, ui: &mut Ui, size: egui::Vec2, chosen: &mut Option<i32>) -> Response {
        let (rect, mut response) = ui.allocate_exact_size(size, Sense::CLICK);
        response.widget_info(|| WidgetInfo::labeled(Role::Figure, true, self.in_words()));
        let drawing = lay(ui, rect, &self.chart());
        let year_at = |at: egui::Pos2| self.nearest(drawing.frame.across(in_drawing(rect, at).x));
        let hovered = response.hover_pos().and_then(year_at);
        if response.clicked() {
            *chosen = response.interact_pointer_pos().and_then(year_at);
            response.mark_changed();
        }
        for (year, width) in [(hovered, 1.0), (*chosen, 2.0)] {
            if let Some(year) = year {
                let stroke = Stroke::new(width, tokens(ui).accent);
                upright(ui, rect, &drawing, f64::from(year), stroke);
            }
        }
        paint(ui, rect, &drawing);
        if let Some(year) = hovered {
            response = response.on_hover_text_at_pointer(self.year_in_words(year));
        }
        response
    }

    fn nearest(&self, across: f64) -> Option<i32> {
        let distance = |year: i32| (f64::from(year) - across).abs();
        let years = self.years.iter().copied();
        years.min_by(|one, other| distance(*one).total_cmp(&distance(*other)))
    }

    fn year_in_words(&self, year: i32) -> String {
        let place = self.years.iter().position(|each| *each == year);
        let figures = self.series.iter().filter_map(|series| {
            let value = (*series.values.get(place?)?)?;
            Some(format!(
                "{} {}",
                series.name,
                decimals(value, self.decimals)
            ))
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

#[cfg(test)]
mod tests {
    use super::*;

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

//! Loads week by week as bars against the room there is, with the overfull weeks marked.

use super::TakenTable;
use crate::fonts::mark;
use crate::theme::{space, tokens, type_size};
use chart::{Axis, Chart, Line};
use chrono::NaiveDate;
use egui::{Align2, FontId, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2};

/// One kind of room, week by week.
pub struct Load<'a> {
    /// What it is: 'boxes'.
    pub name: &'a str,
    /// How much there is, if that is known.
    pub room: Option<u32>,
    /// How much is taken, one for each week.
    pub taken: Vec<u32>,
}

/// Bars of several kinds of room under each other, over the same weeks.
pub struct LoadBars<'a> {
    title: &'a str,
    weeks: &'a [NaiveDate],
    loads: &'a [Load<'a>],
}

impl<'a> LoadBars<'a> {
    /// A picture of `loads` over `weeks`, each by its Monday.
    pub const fn new(title: &'a str, weeks: &'a [NaiveDate], loads: &'a [Load<'a>]) -> Self {
        Self {
            title,
            weeks,
            loads,
        }
    }

    /// Its title.
    pub const fn title(&self) -> &str {
        self.title
    }

    /// What it shows, to be drawn elsewhere too: steps week by week, the room dashed.
    pub fn chart(&self) -> Chart {
        let weeks = self.weeks.len();
        let series = self.loads.iter().flat_map(|load| {
            let steps = load.taken.iter().enumerate().flat_map(|(week, taken)| {
                let (from, taken) = (week as f64, f64::from(*taken));
                [(from, taken), (from + 1.0, taken)]
            });
            let taken = chart::Series {
                name: load.name.to_owned(),
                lines: vec![Line {
                    points: steps.collect(),
                    width: 2.0,
                    dashed: false,
                }],
                end: Some(weeks as f64),
                ..chart::Series::default()
            };
            let room = load.room.map(|room| chart::Series {
                name: format!("{}, room", load.name),
                lines: vec![Line {
                    points: vec![(0.0, f64::from(room)), (weeks as f64, f64::from(room))],
                    width: 1.0,
                    dashed: true,
                }],
                end: Some(weeks as f64),
                ..chart::Series::default()
            });
            std::iter::once(taken).chain(room)
        });
        let all = self.loads.iter();
        let most = all.flat_map(|load| load.taken.iter().copied().chain(load.room));
        let first = self.weeks.first();
        let name = first.map_or(String::new(), |day| {
            format!("weeks from {}", crate::dates::day(*day))
        });
        Chart {
            title: self.title.to_owned(),
            across: Axis::figures(&name, 0.0, weeks as f64),
            up: Axis::from_nothing("", most.max().unwrap_or(1).into()),
            series: series.collect(),
        }
    }

    /// What it shows, as a table: a row a week.
    pub fn table(&self) -> TakenTable {
        let heads = self.loads.iter().flat_map(|load| {
            let room = load.room.map(|_| format!("{}, room", load.name));
            std::iter::once(load.name.to_owned()).chain(room)
        });
        let row = |(nth, week): (usize, &NaiveDate)| {
            let figures = self.loads.iter().flat_map(|load| {
                let taken = load.taken.get(nth).copied().unwrap_or_default();
                std::iter::once(taken).chain(load.room)
            });
            let figures = figures.map(|figure| figure.to_string());
            std::iter::once(week.to_string()).chain(figures).collect()
        };
        TakenTable {
            name: self.title.to_owned(),
            header: std::iter::once("Week of".to_owned()).chain(heads).collect(),
            rows: self.weeks.iter().enumerate().map(row).collect(),
        }
    }

    /// Draws the picture in this size.
    pub fn show(&self, ui: &mut Ui, size: egui::Vec2) -> Response {
        let (rect, mut response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Figure, true, self.in_words()));
        let colours = tokens(ui);
        let font = FontId::proportional(type_size::SMALL);
        let painter = ui.painter();
        let left = rect.left() + 96.0;
        let step = ((rect.right() - left) / self.weeks.len().max(1) as f32).min(28.0);
        let strip = (rect.height() - space::XL) / self.loads.len().max(1) as f32;
        for (nth, load) in self.loads.iter().enumerate() {
            let top = rect.top() + strip * nth as f32 + space::S;
            let floor = rect.top() + strip * (nth + 1) as f32 - space::S;
            let most = load
                .taken
                .iter()
                .copied()
                .chain(load.room)
                .max()
                .unwrap_or(1)
                .max(1);
            let height = |value: u32| (floor - top) * value as f32 / most as f32;
            let words = load.room.map_or_else(
                || load.name.to_owned(),
                |room| format!("{}, room {room}", load.name),
            );
            let name = pos2(rect.left(), f32::midpoint(top, floor));
            painter.text(name, Align2::LEFT_CENTER, words, font.clone(), colours.ink);
            painter.hline(
                left..=left + step * self.weeks.len() as f32,
                floor,
                Stroke::new(1.0, colours.outline),
            );
            for (week, &taken) in load.taken.iter().enumerate().filter(|each| *each.1 > 0) {
                let over = load.room.is_some_and(|room| taken > room);
                let x = left + step * week as f32;
                let bar = Rect::from_min_max(
                    pos2(x + 1.0, floor - height(taken)),
                    pos2(x + step - 1.0, floor),
                );
                let meaning = if over { colours.danger } else { colours.good };
                painter.rect_filled(bar, 1, meaning.fill);
                painter.rect_stroke(bar, 1, Stroke::new(1.0, meaning.text), StrokeKind::Inside);
                if over {
                    let at = pos2(bar.center().x, bar.top() + 1.0);
                    painter.text(
                        at,
                        Align2::CENTER_TOP,
                        mark::TIMES,
                        font.clone(),
                        meaning.text,
                    );
                }
            }
            if let Some(room) = load.room {
                let stroke = Stroke::new(1.5, colours.ink);
                let y = floor - height(room);
                let ends = [
                    pos2(left, y),
                    pos2(left + step * self.weeks.len() as f32, y),
                ];
                painter.extend(egui::Shape::dashed_line(&ends, stroke, 5.0, 3.0));
            }
        }
        let every = (64.0 / step).ceil().max(1.0) as usize;
        for (week, day) in self.weeks.iter().enumerate().step_by(every) {
            let at = pos2(left + step * week as f32, rect.bottom());
            painter.text(
                at,
                Align2::LEFT_BOTTOM,
                day.format("%-d %b"),
                font.clone(),
                colours.muted,
            );
        }
        if let Some(at) = response.hover_pos()
            && at.x >= left
        {
            let week = ((at.x - left) / step) as usize;
            if week < self.weeks.len() {
                response = response.on_hover_text_at_pointer(self.week_in_words(week));
            }
        }
        response
    }

    fn week_in_words(&self, week: usize) -> String {
        let loads: Vec<_> = self
            .loads
            .iter()
            .map(|load| {
                let taken = load.taken.get(week).copied().unwrap_or_default();
                match load.room {
                    Some(room) if taken > room => {
                        format!("{} {taken} of {room}, overfull", load.name)
                    }
                    Some(room) => format!("{} {taken} of {room}", load.name),
                    None => format!("{} {taken}", load.name),
                }
            })
            .collect();
        format!("Week of {}: {}", self.weeks[week], loads.join(", "))
    }

    fn in_words(&self) -> String {
        let weeks: Vec<_> = (0..self.weeks.len())
            .map(|week| self.week_in_words(week))
            .collect();
        format!("{}. {}", self.title, weeks.join("; "))
    }
}

/// Height that so many kinds of room take at their best.
pub fn load_bars_height(kinds: usize) -> f32 {
    56.0 * kinds as f32 + space::XL
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn overfull_weeks_are_told_in_words() {
        let weeks = ["2028-03-06", "2028-03-13"].map(|day| day.parse().unwrap());
        let loads = [Load {
            name: "cells",
            room: Some(120),
            taken: vec![120, 130],
        }];
        let words = LoadBars::new("Room", &weeks, &loads).in_words();
        assert_eq!(
            words,
            "Room. Week of 2028-03-06: cells 120 of 120; Week of 2028-03-13: cells 130 of 120, overfull"
        );
        let table = LoadBars::new("Room", &weeks, &loads).table();
        assert_eq!(table.header, ["Week of", "cells", "cells, room"]);
        assert_eq!(table.rows[1], ["2028-03-13", "130", "120"]);
        let chart = LoadBars::new("Room", &weeks, &loads).chart();
        assert_eq!(
            chart.series[0].lines[0].points,
            [(0.0, 120.0), (1.0, 120.0), (1.0, 130.0), (2.0, 130.0)]
        );
    }
}

//! The lanes to be drawn elsewhere: every lane, over the time in view.

use chart::{Anchor, Colour, Drawing, Frame, Place, Shape, Size, Words};

use super::{BarKind, Lane, SeasonLanes, TimeView, axis::ticks, short};
use crate::widgets::TakenTable;
use crate::widgets::days::later;

const WIDTH: f32 = 900.0;
const NAMES: f32 = 170.0;
const HEAD: f32 = 52.0;
const LANE: f32 = 40.0;
const BAR: f32 = 12.0;
const TYPE: f32 = 9.0;

impl SeasonLanes<'_> {
    /// All lanes over this time, one under the other, in points.
    pub fn drawing(&self, view: &TimeView, lanes: &[Lane]) -> Drawing {
        let size = Size {
            width: WIDTH,
            height: HEAD + LANE * lanes.len() as f32 + 28.0,
        };
        let across = WIDTH - NAMES - 8.0;
        let x = |day| NAMES + (view.fraction(day) * across).clamp(0.0, across);
        let is_shown = |from, to| view.fraction(from) <= 1.0 && view.fraction(to) >= 0.0;
        let foot = HEAD + LANE * lanes.len() as f32;
        let mut shapes = vec![words(self.name, (8.0, 12.0), (13.0, true), Colour::Ink)];
        for tick in ticks(view, across) {
            let at = x(tick.day);
            shapes.push(line((at, HEAD - 16.0), (at, foot), 0.5, Colour::Rule));
            let ink = if tick.strong {
                Colour::Ink
            } else {
                Colour::Muted
            };
            shapes.push(words(
                &tick.label,
                (at + 3.0, HEAD - 12.0),
                (TYPE, tick.strong),
                ink,
            ));
        }
        for (nth, lane) in lanes.iter().enumerate() {
            let top = HEAD + LANE * nth as f32;
            let edge = ((8.0, top), (WIDTH - 8.0, top));
            shapes.push(line(edge.0, edge.1, 0.5, Colour::Rule));
            shapes.push(words(
                &lane.name,
                (8.0, top + 12.0),
                (TYPE, true),
                Colour::Ink,
            ));
            let detail = (8.0, top + 26.0);
            shapes.push(words(&lane.detail, detail, (8.0, false), Colour::Muted));
            for bar in lane.bars.iter().filter(|bar| is_shown(bar.from, bar.to)) {
                let (left, right) = (x(bar.from), x(later(bar.to, 1)));
                outlined((left, right, top + 6.0), bar.kind, bar.series, &mut shapes);
                let at = (left + 3.0, top + 6.0 + 0.5 * BAR);
                let ink = if bar.kind == BarKind::Actual {
                    Colour::Ground
                } else {
                    Colour::Ink
                };
                if right - left > 4.6 * bar.text.chars().count() as f32 {
                    shapes.push(words(&bar.text, at, (8.0, false), ink));
                }
            }
            // What would lie over other words is left to the table.
            let mut free = f32::NEG_INFINITY;
            for point in lane
                .points
                .iter()
                .filter(|point| is_shown(point.on, point.on))
            {
                let at = x(point.on);
                shapes.push(Shape::Disc {
                    centre: Place {
                        x: at,
                        y: top + 30.0,
                    },
                    radius: 2.5,
                    colour: Colour::Ink,
                });
                if at > free {
                    let place = (at + 5.0, top + 30.0);
                    shapes.push(words(&point.text, place, (7.5, false), Colour::Ink));
                    free = at + 12.0 + 4.2 * point.text.chars().count() as f32;
                }
            }
        }
        shapes.push(line(
            (x(self.today), HEAD - 16.0),
            (x(self.today), foot),
            1.5,
            Colour::Ink,
        ));
        let key = "Filled: has been. Dashed: worked out from what has been. Outlined: planned. Thick line: the day.";
        shapes.push(words(key, (8.0, foot + 14.0), (8.0, false), Colour::Muted));
        Drawing {
            size,
            frame: Frame::whole(size),
            shapes,
        }
    }

    /// All lanes as a table: a row for each bar and each single day.
    pub fn table(&self, lanes: &[Lane]) -> TakenTable {
        let rows = lanes.iter().flat_map(|lane| {
            let bars = lane.bars.iter().map(|bar| {
                let kind = bar.kind.word();
                [&bar.text, kind, &short(bar.from), &short(bar.to)].map(str::to_owned)
            });
            let points = lane.points.iter().map(|point| {
                let day = short(point.on);
                [&point.text, "day", &day, &day].map(str::to_owned)
            });
            bars.chain(points)
                .map(|[what, kind, from, to]| vec![lane.name.clone(), what, kind, from, to])
        });
        TakenTable {
            name: self.name.to_owned(),
            header: ["About", "What", "How certain", "From", "To"]
                .map(str::to_owned)
                .to_vec(),
            rows: rows.collect(),
        }
    }
}

/// A bar in the drawing of its kind.
fn outlined(
    (left, right, top): (f32, f32, f32),
    kind: BarKind,
    series: usize,
    shapes: &mut Vec<Shape>,
) {
    let place = |(x, y)| Place { x, y };
    let corners = [
        (left, top),
        (right, top),
        (right, top + BAR),
        (left, top + BAR),
    ];
    let colour = Colour::Series(series);
    if kind == BarKind::Actual {
        shapes.push(Shape::Filled {
            corners: corners.map(place).to_vec(),
            colour,
        });
        return;
    }
    shapes.push(Shape::Line {
        points: corners
            .iter()
            .chain([&corners[0]])
            .copied()
            .map(place)
            .collect(),
        width: 1.0,
        dashes: (kind == BarKind::Projected).then_some((4.0, 2.5)),
        colour,
    });
}

fn line(from: (f32, f32), to: (f32, f32), width: f32, colour: Colour) -> Shape {
    Shape::Line {
        points: [from, to].map(|(x, y)| Place { x, y }).to_vec(),
        width,
        dashes: None,
        colour,
    }
}

fn words(text: &str, (x, y): (f32, f32), (size, bold): (f32, bool), colour: Colour) -> Shape {
    Shape::Words(Words {
        text: text.to_owned(),
        at: Place { x, y },
        anchor: Anchor::Start,
        size,
        bold,
        colour,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::widgets::{LaneBar, LanePoint};

    #[test]
    fn lanes_on_paper_hold_what_the_table_tells() {
        let day = |text: &str| text.parse().unwrap();
        let lanes = [Lane {
            name: "Cross 26-03".into(),
            detail: String::new(),
            bars: vec![LaneBar {
                from: day("2026-03-01"),
                to: day("2026-06-01"),
                kind: BarKind::Projected,
                series: 0,
                text: "Chill".into(),
            }],
            points: vec![LanePoint {
                on: day("2026-07-02"),
                mark: "",
                meaning: crate::theme::Meaning::Plain,
                text: "Pollinated".into(),
            }],
        }];
        let season = SeasonLanes::new("Season", day("2026-05-01"));
        let view = TimeView::new(day("2026-01-01"), day("2026-12-31"));
        let drawing = season.drawing(&view, &lanes);
        for wanted in ["Season", "Cross 26-03", "Chill", "Pollinated"] {
            let told = |shape: &Shape| matches!(shape, Shape::Words(words) if words.text == wanted);
            assert!(drawing.shapes.iter().any(told), "{wanted}");
        }
        let inside = |at: &Place| (0.0..=drawing.size.width).contains(&at.x);
        for shape in &drawing.shapes {
            if let Shape::Line { points, .. } = shape {
                assert!(points.iter().all(inside), "{shape:?}");
            }
        }
        let table = season.table(&lanes);
        assert_eq!(table.rows.len(), 2);
        assert_eq!(
            table.rows[0],
            [
                "Cross 26-03",
                "Chill",
                BarKind::Projected.word(),
                "1 Mar 2026",
                "1 Jun 2026"
            ]
        );
    }
}

//! The drawing as shapes in the roles of a chart, for whoever puts it on paper.

use chart::{Colour, Drawing, Frame, Place, Shape, Size};
use egui::{Pos2, Rect};

use super::{
    draw::{self, Anchor, Canvas, Dash, Detail, Ink, Pen, Tone, Words},
    graph::FamilyGraph,
    layout::Layout,
    page,
    scope::Extract,
};

/// So many straight pieces make a bend, and a circle.
const PIECES: usize = 20;

/// The whole drawing, with its key, in points. The same input gives the same drawing.
pub fn to_drawing(graph: &FamilyGraph, extract: &Extract, layout: &Layout) -> Drawing {
    let page = page::around(layout);
    let mut canvas = Shapes {
        shapes: Vec::new(),
        origin: page.min,
    };
    draw::bands(&mut canvas, layout);
    for strand in &layout.parent_lines {
        draw::strand(&mut canvas, strand, Tone::Plain);
    }
    for (family, place) in layout.families.iter().enumerate() {
        draw::child_lines(&mut canvas, place, |_| Tone::Plain);
        draw::junction(&mut canvas, graph, extract, layout, family, Tone::Plain);
    }
    for (content, &rect) in extract.boxes.iter().zip(&layout.boxes) {
        draw::content(&mut canvas, graph, content, rect, Tone::Plain, Detail::Full);
    }
    draw::key(&mut canvas, page::key(page));
    let size = Size {
        width: page.width(),
        height: page.height(),
    };
    Drawing {
        size,
        frame: Frame::whole(size),
        shapes: canvas.shapes,
    }
}

struct Shapes {
    shapes: Vec<Shape>,
    /// The upper left corner of the page.
    origin: Pos2,
}

impl Shapes {
    fn place(&self, at: Pos2) -> Place {
        Place {
            x: at.x - self.origin.x,
            y: at.y - self.origin.y,
        }
    }

    fn line(&mut self, points: &[Pos2], pen: Pen) {
        let points: Vec<Place> = points.iter().map(|point| self.place(*point)).collect();
        let mut draw = |width: f32, ink: Ink| {
            self.shapes.push(Shape::Line {
                points: points.clone(),
                width,
                dashes: match pen.dash {
                    Dash::Solid | Dash::Double => None,
                    Dash::Dashed => Some((6.0, 4.0)),
                    Dash::Dotted => Some((1.2, 3.0)),
                },
                colour: colour(ink),
            });
        };
        // A double line is a broad one with a white one on it.
        if pen.dash == Dash::Double {
            draw(pen.width * 3.5, pen.ink);
            draw(pen.width * 1.6, Ink::Paper);
        } else {
            draw(pen.width, pen.ink);
        }
    }
}

impl Canvas for Shapes {
    fn path(&mut self, points: &[Pos2], pen: Pen) {
        self.line(points, pen);
    }

    fn bend(&mut self, [start, from, to, end]: [Pos2; 4], pen: Pen) {
        let half = egui::vec2(0.0, (to.y - from.y) / 2.0);
        let (one, other) = (from + half, to - half);
        let mut points = vec![start];
        points.extend((0..=PIECES).map(|piece| {
            let t = piece as f32 / PIECES as f32;
            let s = 1.0 - t;
            let part = |weight: f32, at: Pos2| weight * at.to_vec2();
            (part(s * s * s, from)
                + part(3.0 * s * s * t, one)
                + part(3.0 * s * t * t, other)
                + part(t * t * t, to))
            .to_pos2()
        }));
        points.push(end);
        self.line(&points, pen);
    }

    fn rect(&mut self, rect: Rect, _corner: f32, fill: Option<Ink>, pen: Option<Pen>) {
        let corners = [
            rect.left_top(),
            rect.right_top(),
            rect.right_bottom(),
            rect.left_bottom(),
        ];
        if let Some(fill) = fill {
            self.shapes.push(Shape::Filled {
                corners: corners.iter().map(|corner| self.place(*corner)).collect(),
                colour: colour(fill),
            });
        }
        if let Some(pen) = pen {
            let [first, second, ..] = corners;
            let mut round = corners.to_vec();
            round.extend([first, second]);
            self.line(&round, pen);
        }
    }

    fn circle(&mut self, centre: Pos2, radius: f32, fill: Option<Ink>, pen: Option<Pen>) {
        if let Some(fill) = fill {
            self.shapes.push(Shape::Disc {
                centre: self.place(centre),
                radius,
                colour: colour(fill),
            });
        }
        if let Some(pen) = pen {
            let round: Vec<Pos2> = (0..=PIECES)
                .map(|piece| {
                    let angle = std::f32::consts::TAU * piece as f32 / PIECES as f32;
                    centre + radius * egui::Vec2::angled(angle)
                })
                .collect();
            self.line(&round, pen);
        }
    }

    fn words(&mut self, words: Words<'_>) {
        let letter = words.size * page::LETTER;
        let room = (words.width / letter).clamp(1.0, 1000.0) as usize;
        let count = words.text.chars().count();
        let text: String = if count > room {
            words.text.chars().take(room - 1).chain(['…']).collect()
        } else {
            words.text.to_owned()
        };
        let anchor = match words.anchor {
            Anchor::Left => chart::Anchor::Start,
            Anchor::Middle => chart::Anchor::Middle,
            Anchor::Right => chart::Anchor::End,
        };
        if words.halo {
            let width = letter * count.min(room) as f32;
            let left = match words.anchor {
                Anchor::Left => words.at.x,
                Anchor::Middle => words.at.x - width / 2.0,
                Anchor::Right => words.at.x - width,
            };
            let behind = Rect::from_min_size(
                egui::pos2(left - 1.0, words.at.y - 0.6 * words.size),
                egui::vec2(width + 2.0, 1.2 * words.size),
            );
            self.rect(behind, 0.0, Some(Ink::Paper), None);
        }
        self.shapes.push(Shape::Words(chart::Words {
            text,
            at: self.place(words.at),
            anchor,
            size: words.size,
            bold: words.strong,
            colour: colour(words.ink),
        }));
    }
}

/// Greys that a black printer holds.
const fn colour(ink: Ink) -> Colour {
    match ink {
        Ink::Strong | Ink::Accent => Colour::Ink,
        Ink::Muted => Colour::Muted,
        Ink::Faint => Colour::Rule,
        Ink::Paper | Ink::Raised => Colour::Ground,
    }
}

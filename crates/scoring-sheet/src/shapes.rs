//! What is printed of the form on a page besides text and QR code: the marks of the frame, bubbles and boxes.
//!
//! The PDF is drawn from these, and so is what tests photograph.

use crate::geometry::{Point, Rect, point};
use crate::layout::{BUBBLE, CORNER_DISC, CORNER_RING, DOT, Form, MARGIN, OUTLINE, ROW};

/// Something printed, in millimetres; its ink is 0 for none to 1 for black.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// A filled disc.
    Disc {
        /// Its middle.
        middle: Point,
        /// Its radius.
        radius: f64,
    },
    /// A circle.
    Ring {
        /// Its middle.
        middle: Point,
        /// To the middle of its line.
        radius: f64,
        /// Of its line.
        width: f64,
        /// How black.
        ink: f64,
    },
    /// A line.
    Line {
        /// From here.
        from: Point,
        /// To here.
        to: Point,
        /// Of the line.
        width: f64,
        /// How black.
        ink: f64,
    },
    /// The outline of a box.
    Box {
        /// To the middle of its line.
        rect: Rect,
        /// Of its line.
        width: f64,
        /// How black.
        ink: f64,
    },
}

/// How black the outlines of bubbles and boxes are.
pub const OUTLINE_INK: f64 = 0.85;
/// How black the lines after each fifth row are: they lead the eye and are read as nothing.
pub const RULE_INK: f64 = 0.45;
/// How black the figures in bubbles are: a hand sees them, and they don't look like a mark.
pub const FIGURE_INK: f64 = 0.4;
/// How high the figures in bubbles are.
pub const FIGURE_HEIGHT: f64 = 1.7;

/// The frame of a page.
pub fn frame(form: &Form) -> Vec<Shape> {
    let frame = form.frame();
    let mut shapes = Vec::new();
    for middle in frame.corners {
        shapes.push(Shape::Disc {
            middle,
            radius: CORNER_DISC,
        });
        shapes.push(Shape::Ring {
            middle,
            radius: 0.5 * (CORNER_RING.0 + CORNER_RING.1),
            width: CORNER_RING.1 - CORNER_RING.0,
            ink: 1.0,
        });
    }
    shapes.extend(frame.dots.into_iter().flatten().map(|middle| Shape::Disc {
        middle,
        radius: DOT,
    }));
    shapes
}

/// The bubbles and boxes of a page.
pub fn cells(form: &Form, page: usize) -> Vec<Shape> {
    let mut shapes: Vec<Shape> = form.head_boxes().map(outline).to_vec();
    let rows = form.rows_on(page).len();
    let right = form.span(form.columns().len() - 1).1;
    for row in (0..=rows).filter(|row| row % 5 == 0 || *row == rows) {
        let y = form.middle(row) - 0.5 * ROW;
        shapes.push(Shape::Line {
            from: point(MARGIN, y),
            to: point(right, y),
            width: 0.12,
            ink: RULE_INK,
        });
    }
    for row in 0..rows {
        for column in 0..form.columns().len() {
            let cell = form.cell(row, column);
            shapes.extend(cell.bubbles.into_iter().map(|middle| Shape::Ring {
                middle,
                radius: BUBBLE,
                width: OUTLINE,
                ink: OUTLINE_INK,
            }));
            shapes.extend(cell.written.map(outline));
        }
    }
    shapes
}

fn outline(rect: Rect) -> Shape {
    Shape::Box {
        rect,
        width: OUTLINE,
        ink: OUTLINE_INK,
    }
}

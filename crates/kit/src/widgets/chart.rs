//! Paints a chart in the window's own colours and type.

use chart::{Anchor, Chart, Colour, Drawing, Place, Shape, Size};
use egui::{Align2, Color32, FontId, Mesh, Pos2, Rect, Stroke, Ui, pos2, vec2};

use crate::theme::{Tokens, bold, tokens};

/// Lays a chart out for a rectangle, with the window's type.
pub(super) fn lay(ui: &Ui, rect: Rect, chart: &Chart) -> Drawing {
    let size = Size {
        width: rect.width(),
        height: rect.height(),
    };
    let ink = tokens(ui).ink;
    let measure = |text: &str, size: f32, is_bold: bool| {
        let galley = ui
            .painter()
            .layout_no_wrap(text.to_owned(), font(size, is_bold), ink);
        galley.size().x
    };
    chart.lay(size, &measure)
}

/// Where a place of the drawing stands in the window.
pub(super) fn in_window(rect: Rect, at: Place) -> Pos2 {
    rect.min + vec2(at.x, at.y)
}

/// Where a place in the window stands in the drawing.
pub(super) fn in_drawing(rect: Rect, at: Pos2) -> Place {
    let at = at - rect.min;
    Place { x: at.x, y: at.y }
}

/// A line from the top to the bottom of the area.
pub(super) fn upright(ui: &Ui, rect: Rect, drawing: &Drawing, across: f64, stroke: Stroke) {
    let x = rect.left() + drawing.frame.place((across, 0.0)).x;
    let (top, bottom) = (
        rect.top() + drawing.frame.from.y,
        rect.top() + drawing.frame.to.y,
    );
    ui.painter().vline(x, top..=bottom, stroke);
}

/// Paints a drawing at a rectangle.
pub(super) fn paint(ui: &Ui, rect: Rect, drawing: &Drawing) {
    let colours = tokens(ui);
    let painter = ui.painter();
    let places =
        |points: &[Place]| -> Vec<Pos2> { points.iter().map(|at| in_window(rect, *at)).collect() };
    for shape in &drawing.shapes {
        match shape {
            Shape::Line {
                points,
                width,
                dashes,
                colour,
            } => {
                let (points, stroke) = (places(points), Stroke::new(*width, of(colours, *colour)));
                match dashes {
                    None => {
                        painter.add(egui::Shape::line(points, stroke));
                    }
                    Some((length, gap)) => {
                        painter.extend(egui::Shape::dashed_line(&points, stroke, *length, *gap));
                    }
                }
            }
            Shape::Band {
                upper,
                lower,
                colour,
            } => {
                let colour = of(colours, *colour).gamma_multiply(Shape::PALE);
                painter.add(band(&places(upper), &places(lower), colour));
            }
            Shape::Disc {
                centre,
                radius,
                colour,
            } => {
                painter.circle_filled(in_window(rect, *centre), *radius, of(colours, *colour));
            }
            Shape::Filled { corners, colour } => {
                let corners = places(corners);
                painter.add(egui::Shape::convex_polygon(
                    corners,
                    of(colours, *colour),
                    Stroke::NONE,
                ));
            }
            Shape::Words(words) => {
                let anchor = match words.anchor {
                    Anchor::Start => Align2::LEFT_CENTER,
                    Anchor::Middle => Align2::CENTER_CENTER,
                    Anchor::End => Align2::RIGHT_CENTER,
                };
                let (at, font) = (in_window(rect, words.at), font(words.size, words.bold));
                painter.text(at, anchor, &words.text, font, of(colours, words.colour));
            }
        }
    }
}

fn font(size: f32, is_bold: bool) -> FontId {
    if is_bold {
        bold(size)
    } else {
        FontId::proportional(size)
    }
}

fn of(colours: &Tokens, colour: Colour) -> Color32 {
    match colour {
        Colour::Ink => colours.ink,
        Colour::Muted => colours.muted,
        Colour::Rule => colours.rule,
        Colour::Ground => colours.raised,
        Colour::Series(nth) => colours.series(nth),
        Colour::Shade(nth) => colours.scale[usize::from(nth).min(6)].fill,
    }
}

/// Pieces without seams between them.
fn band(upper: &[Pos2], lower: &[Pos2], colour: Color32) -> Mesh {
    let mut mesh = Mesh::default();
    for (upper, lower) in upper.windows(2).zip(lower.windows(2)) {
        let first = mesh.vertices.len() as u32;
        for at in [upper[0], lower[0], upper[1], lower[1]] {
            mesh.colored_vertex(pos2(at.x, at.y), colour);
        }
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first + 1, first + 2, first + 3);
    }
    mesh
}

//! Our own drawings, as vectors on a grid of 24 by 24: an outline, one solid part, and at larger sizes a spot of the
//! second printing, laid a little out of register.
//!
//! ```
//! use kit::drawing::{Drawing, draw};
//!
//! fn beside_a_name(ui: &mut egui::Ui) {
//!     draw(ui, Drawing::Seed, 24.0);
//! }
//! ```

use egui::{Color32, Painter, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, Vec2, pos2, vec2};
use kurbo::{BezPath, PathEl};

use crate::theme::{Tokens, tokens};

mod art;
mod fill;

pub use fill::filled;

/// Side of the grid the drawings are made on.
pub const GRID: f32 = 24.0;

/// From this size on a drawing has its spot and its inner lines.
const SPOT_FROM: f32 = 20.0;

/// How far the spot lies right of and below the outline, in units of the grid.
const OUT_OF_REGISTER: Vec2 = vec2(1.3, 1.2);

/// What can be drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "each is the drawing of that name")]
pub enum Drawing {
    Seed,
    Box,
    Sprout,
    Pot,
    Hill,
    Cone,
    Bag,
    Pollen,
    Cross,
    Label,
    Mould,
    Dry,
    Moist,
    Warm,
    Cold,
    Plot,
    Sample,
    Decision,
    Tag,
}

impl Drawing {
    /// Every drawing.
    pub const ALL: [Self; 19] = [
        Self::Seed,
        Self::Box,
        Self::Sprout,
        Self::Pot,
        Self::Hill,
        Self::Cone,
        Self::Bag,
        Self::Pollen,
        Self::Cross,
        Self::Label,
        Self::Mould,
        Self::Dry,
        Self::Moist,
        Self::Warm,
        Self::Cold,
        Self::Plot,
        Self::Sample,
        Self::Decision,
        Self::Tag,
    ];

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Seed => "Seed",
            Self::Box => "Box",
            Self::Sprout => "Sprout",
            Self::Pot => "Pot",
            Self::Hill => "Hill",
            Self::Cone => "Cone",
            Self::Bag => "Bag",
            Self::Pollen => "Pollen",
            Self::Cross => "Cross",
            Self::Label => "Label",
            Self::Mould => "Mould",
            Self::Dry => "Dry",
            Self::Moist => "Moist",
            Self::Warm => "Warm",
            Self::Cold => "Cold",
            Self::Plot => "Plot",
            Self::Sample => "Sample",
            Self::Decision => "Decision",
            Self::Tag => "Tag",
        }
    }

    /// The lines, grounds and dots it is made of at a size, placed so that the middle of its grid is on `centre`.
    pub fn shapes(self, centre: Pos2, size: f32, inks: Inks) -> Vec<Shape> {
        let art = art::of(self);
        let scale = size / GRID;
        let origin = centre - Vec2::splat(size / 2.0);
        let full = size >= SPOT_FROM;
        let width = scale * if full { 1.6 } else { 1.9 };
        let mut shapes = Vec::new();
        let at = |point: kurbo::Point| origin + vec2(point.x as f32, point.y as f32) * scale;
        if full {
            for path in flattened(art.spot, scale) {
                let moved: Vec<_> = path
                    .points
                    .iter()
                    .map(|&point| at(point) + OUT_OF_REGISTER * scale)
                    .collect();
                shapes.extend(filled(&moved, inks.spot));
            }
        }
        for path in flattened(art.solid, scale) {
            let points: Vec<_> = path.points.iter().map(|&point| at(point)).collect();
            shapes.extend(filled(&points, inks.ink));
        }
        let stroke = Stroke::new(width, inks.ink);
        let inner = if full { art.inner } else { "" };
        for path in flattened(art.lines, scale)
            .into_iter()
            .chain(flattened(inner, scale))
        {
            let points: Vec<_> = path.points.iter().map(|&point| at(point)).collect();
            for &corner in &path.corners {
                shapes.push(Shape::circle_filled(at(corner), width / 2.0, inks.ink));
            }
            shapes.push(if path.closed {
                Shape::closed_line(points, stroke)
            } else {
                Shape::line(points, stroke)
            });
        }
        for path in flattened(art.dashed, scale) {
            let points: Vec<_> = path.points.iter().map(|&point| at(point)).collect();
            shapes.extend(Shape::dashed_line(
                &points,
                stroke,
                3.0 * scale,
                2.4 * scale,
            ));
        }
        for &(x, y, radius) in art.dots {
            let centre = origin + vec2(x, y) * scale;
            shapes.push(Shape::circle_filled(centre, radius * scale, inks.ink));
        }
        if full {
            for &(x, y, radius) in art.grains {
                let centre = origin + vec2(x, y) * scale;
                shapes.push(Shape::circle_filled(centre, radius * scale, inks.ink));
            }
        }
        shapes
    }
}

/// What a drawing is printed with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Inks {
    /// Lines and the solid part.
    pub ink: Color32,
    /// The second printing.
    pub spot: Color32,
}

impl Inks {
    /// Ink and spot of a theme.
    pub const fn of(tokens: &Tokens) -> Self {
        Self {
            ink: tokens.ink,
            spot: tokens.spot,
        }
    }

    /// Without the second printing, for what is still to come and for what stands on a coloured ground.
    pub const fn plain(ink: Color32) -> Self {
        Self {
            ink,
            spot: Color32::TRANSPARENT,
        }
    }
}

/// Paints a drawing with its middle on `centre`.
pub fn paint(painter: &Painter, drawing: Drawing, centre: Pos2, size: f32, inks: Inks) {
    painter.extend(drawing.shapes(centre, size, inks));
}

/// Draws a drawing in the flow of a page. It has no name of its own: the word beside it says what it is.
pub fn draw(ui: &mut Ui, drawing: Drawing, size: f32) -> Response {
    let (rect, response) = ui.allocate_exact_size(Vec2::splat(size), Sense::hover());
    paint(
        ui.painter(),
        drawing,
        rect.center(),
        size,
        Inks::of(tokens(ui)),
    );
    response
}

/// A path as points near enough to its curves.
struct Flat {
    points: Vec<kurbo::Point>,
    /// Where one stroke of the path ends and the next begins: round joins and ends are set there.
    corners: Vec<kurbo::Point>,
    closed: bool,
}

/// The paths of one layer, in units of the grid.
fn flattened(layer: &str, scale: f32) -> Vec<Flat> {
    // A layer that can't be read is a fault of this file; the test of all drawings finds it.
    let Ok(path) = BezPath::from_svg(layer) else {
        return Vec::new();
    };
    let mut paths: Vec<Flat> = Vec::new();
    let tolerance = 0.15 / f64::from(scale.max(0.1));
    kurbo::flatten(&path, tolerance, |step| match step {
        PathEl::MoveTo(point) => paths.push(Flat {
            points: vec![point],
            corners: Vec::new(),
            closed: false,
        }),
        PathEl::ClosePath => {
            if let Some(path) = paths.last_mut() {
                path.closed = true;
                if path.points.len() > 1 && path.points.first() == path.points.last() {
                    path.points.pop();
                }
            }
        }
        PathEl::LineTo(point) | PathEl::QuadTo(_, point) | PathEl::CurveTo(_, _, point) => {
            if let Some(path) = paths.last_mut()
                && path.points.last() != Some(&point)
            {
                path.points.push(point);
            }
        }
    });
    for path in &mut paths {
        path.corners = corners(path);
    }
    paths
}

/// The ends of a path and where it turns sharply.
fn corners(path: &Flat) -> Vec<kurbo::Point> {
    let points = &path.points;
    let count = points.len();
    (0..count)
        .filter(|&nth| {
            if !path.closed && (nth == 0 || nth + 1 == count) {
                return true;
            }
            let before = points[nth] - points[(nth + count - 1) % count];
            let after = points[(nth + 1) % count] - points[nth];
            let turn = before.cross(after).atan2(before.dot(after)).abs();
            turn > 0.6
        })
        .map(|nth| points[nth])
        .collect()
}

/// The room a drawing takes when its middle is on `centre`.
pub fn room(centre: Pos2, size: f32) -> Rect {
    Rect::from_center_size(pos2(centre.x, centre.y), Vec2::splat(size))
}

#[cfg(test)]
mod tests {
    use super::*;

    const INKS: Inks = Inks {
        ink: Color32::BLACK,
        spot: Color32::YELLOW,
    };

    #[test]
    fn every_layer_of_every_drawing_can_be_read() {
        for drawing in Drawing::ALL {
            let art = art::of(drawing);
            for layer in [art.spot, art.solid, art.lines, art.inner, art.dashed] {
                assert!(BezPath::from_svg(layer).is_ok(), "{drawing:?}: {layer}");
            }
        }
    }

    #[test]
    fn every_drawing_stays_within_its_room_at_every_size() {
        for drawing in Drawing::ALL {
            for size in [16.0, 24.0, 48.0] {
                let centre = pos2(100.0, 100.0);
                // The spot may lie out of register, a line's half width over its path.
                let room = room(centre, size).expand(size / GRID * 1.6);
                for shape in drawing.shapes(centre, size, INKS) {
                    let bounds = shape.visual_bounding_rect();
                    assert!(bounds.is_finite(), "{drawing:?} at {size}: {bounds:?}");
                    assert!(
                        room.contains_rect(bounds),
                        "{drawing:?} at {size}: {bounds:?} is outside {room:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn every_drawing_has_a_solid_part_and_a_spot_only_where_it_is_large() {
        for drawing in Drawing::ALL {
            let spots = |size| {
                drawing
                    .shapes(pos2(0.0, 0.0), size, INKS)
                    .iter()
                    .filter(|shape| matches!(shape, Shape::Mesh(mesh) if mesh.vertices.iter().all(|vertex| vertex.color == INKS.spot)))
                    .count()
            };
            assert_eq!(spots(16.0), 0, "{drawing:?}");
            assert!(spots(24.0) > 0, "{drawing:?}");
            assert!(spots(48.0) > 0, "{drawing:?}");
            let art = art::of(drawing);
            assert!(!art.solid.is_empty(), "{drawing:?}");
        }
    }

    #[test]
    fn no_line_is_thinner_than_can_be_seen() {
        for drawing in Drawing::ALL {
            for size in [16.0, 24.0, 48.0] {
                for shape in drawing.shapes(pos2(0.0, 0.0), size, INKS) {
                    if let Shape::Path(path) = shape {
                        assert!(path.stroke.width >= 0.55, "{drawing:?} at {size}");
                    }
                }
            }
        }
    }

    #[test]
    fn solid_parts_keep_their_area_when_they_are_filled() {
        // An L of 3 unit squares, which a fan from its first corner would fill wrongly.
        let points = [
            pos2(0.0, 0.0),
            pos2(2.0, 0.0),
            pos2(2.0, 1.0),
            pos2(1.0, 1.0),
            pos2(1.0, 2.0),
            pos2(0.0, 2.0),
        ];
        let shapes = filled(&points, Color32::BLACK);
        let area: f32 = shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Mesh(mesh) => Some(mesh),
                _ => None,
            })
            .flat_map(|mesh| {
                mesh.indices.chunks(3).map(|corner| {
                    let at = |nth: usize| mesh.vertices[corner[nth] as usize].pos;
                    let (one, two) = (at(1) - at(0), at(2) - at(0));
                    (one.x * two.y - one.y * two.x).abs() / 2.0
                })
            })
            .sum();
        assert!((area - 3.0).abs() < 1e-5, "{area}");
    }
}

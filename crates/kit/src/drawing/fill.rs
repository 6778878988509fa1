//! Filling of outlines that turn inwards, which the painter's own fill can't do.

use earcut::Earcut;
use egui::{Color32, Mesh, Pos2, Shape, Stroke};

/// An outline filled with one colour: triangles, and a hair of the same colour round them, which smooths the edge.
/// An outline of fewer than three points has nothing to fill.
pub fn filled(outline: &[Pos2], colour: Color32) -> Vec<Shape> {
    if outline.len() < 3 || colour == Color32::TRANSPARENT {
        return Vec::new();
    }
    let mut triangles: Vec<u32> = Vec::new();
    Earcut::new().earcut(
        outline.iter().map(|point| [point.x, point.y]),
        &[],
        &mut triangles,
    );
    let mut mesh = Mesh::default();
    for &point in outline {
        mesh.colored_vertex(point, colour);
    }
    for corner in triangles.chunks_exact(3) {
        mesh.add_triangle(corner[0], corner[1], corner[2]);
    }
    vec![
        Shape::mesh(mesh),
        Shape::closed_line(outline.to_vec(), Stroke::new(0.6, colour)),
    ]
}

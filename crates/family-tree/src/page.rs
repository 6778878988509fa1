//! The page that a whole drawing is put on, as SVG or on paper.

use egui::{Pos2, Rect, pos2};

use super::{draw::MARGIN, layout::Layout};

const EDGE: f32 = 24.0;
/// The height of the key under the drawing.
const KEY: f32 = 34.0;
/// The key needs this much.
const LEAST_WIDTH: f32 = 980.0;
/// The width of an average letter in parts of its size; only for cutting words and for blanking what lies under them.
pub(super) const LETTER: f32 = 0.52;

/// The drawing with the names of its bands and room for its key, in points.
pub(super) fn around(layout: &Layout) -> Rect {
    let mut page = layout.rect.expand(EDGE);
    page.min.x -= if layout.bands.is_empty() { 0.0 } else { MARGIN };
    page.min.y -= 16.0;
    page.max.y += KEY;
    page.max.x = page.max.x.max(page.min.x + LEAST_WIDTH);
    page
}

/// Where the key begins on a page.
pub(super) fn key(page: Rect) -> Pos2 {
    pos2(page.min.x + EDGE, page.max.y - KEY / 2.0 - 4.0)
}

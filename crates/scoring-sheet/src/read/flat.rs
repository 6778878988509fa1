//! The page laid flat: every millimetre of it the same number of pixels.

use super::gray::Gray;
use super::page::Page;
use crate::geometry::{Point, Rect, point};

/// Pixels to a millimetre of a page laid flat.
pub const FLAT_SCALE: f64 = 8.0;
/// The way from page to photo is worked out at points so far apart, in pixels of the flat page; between them it is
/// straight.
const STEP: usize = 16;

impl Page {
    /// Where a place of the page lies on the photo: on the plane through its corners, moved by what its edges show of
    /// how the page is bent.
    ///
    /// S. A. Coons, Surfaces for computer-aided design of space forms, MIT MAC-TR-41 (1967): the surface between four
    /// curves. It is exact for paper bent round one axis along its rows or columns.
    pub(super) fn on_photo(&self, p: Point) -> Point {
        let [from, _, to, _] = self.frame.corners;
        let across = (p.x - from.x) / (to.x - from.x);
        let down = (p.y - from.y) / (to.y - from.y);
        let [top, right, bottom, left] = &self.bent;
        let off = curve(top, across) * (1.0 - down)
            + curve(bottom, 1.0 - across) * down
            + curve(right, down) * across
            + curve(left, 1.0 - down) * (1.0 - across);
        self.plane.map(p) + off
    }

    /// The page laid flat.
    pub(super) fn flatten(&self, photo: &Gray) -> Gray {
        let (width, height) = self.frame.size;
        let (width, height) = (
            (width * FLAT_SCALE) as usize,
            (height * FLAT_SCALE) as usize,
        );
        let mut flat = Gray::filled(width, height, 255);
        let columns = width.div_ceil(STEP) + 1;
        let knots = |y: usize| -> Vec<Point> {
            (0..columns)
                .map(|column| self.on_photo(to_paper(point((column * STEP) as f64, y as f64))))
                .collect()
        };
        let mut upper = knots(0);
        for band in (0..height).step_by(STEP) {
            let lower = knots(band + STEP);
            for y in band..(band + STEP).min(height) {
                let share = (y - band) as f64 / STEP as f64;
                let row = &mut flat.pixels[y * width..(y + 1) * width];
                for (column, part) in row.chunks_mut(STEP).enumerate() {
                    let from = upper[column].towards(lower[column], share);
                    let to = upper[column + 1].towards(lower[column + 1], share);
                    let step = (to - from) * (1.0 / STEP as f64);
                    let mut at = from;
                    for pixel in part {
                        *pixel = (photo.between(at) + 0.5) as u8;
                        at = at + step;
                    }
                }
            }
            upper = lower;
        }
        flat
    }
}

/// How far an edge is off, so far along it: a smooth curve through what was seen, zero at both corners.
///
/// E. Catmull, R. Rom, A class of local interpolating splines (1974).
fn curve(seen: &[Point], along: f64) -> Point {
    let steps = seen.len() + 1;
    let at = (along * steps as f64).clamp(0.0, steps as f64);
    let first = (at.floor() as usize).min(steps - 1);
    let t = at - first as f64;
    let known = |each: i64| -> Point {
        if each <= 0 || each >= steps as i64 {
            let inner = if each < 0 {
                seen.first().copied().map(|p| p * -1.0)
            } else if each > steps as i64 {
                seen.last().copied().map(|p| p * -1.0)
            } else {
                None
            };
            inner.unwrap_or_default()
        } else {
            seen[each as usize - 1]
        }
    };
    let [a, b, c, d] = [-1, 0, 1, 2].map(|each| known(first as i64 + each));
    (b * 2.0
        + (c - a) * t
        + (a * 2.0 - b * 5.0 + c * 4.0 - d) * (t * t)
        + (b * 3.0 - a - c * 3.0 + d) * (t * t * t))
        * 0.5
}

/// A pixel of the flat page, in millimetres.
pub(super) fn to_paper(pixel: Point) -> Point {
    (pixel + point(0.5, 0.5)) * (1.0 / FLAT_SCALE)
}

/// Millimetres, in pixels of the flat page.
pub(super) fn to_pixel(p: Point) -> Point {
    p * FLAT_SCALE - point(0.5, 0.5)
}

/// Part of a flat page, cut out.
pub fn cut_out(flat: &Gray, part: Rect) -> Gray {
    let from = to_pixel(point(part.x, part.y));
    let (left, top) = (from.x.round() as i64, from.y.round() as i64);
    let width = ((part.width * FLAT_SCALE).round() as usize).max(1);
    let height = ((part.height * FLAT_SCALE).round() as usize).max(1);
    let mut cut = Gray::filled(width, height, 255);
    for y in 0..height {
        for x in 0..width {
            cut.pixels[y * width + x] = flat.at(left + x as i64, top + y as i64);
        }
    }
    cut
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_curve_goes_through_what_was_seen(seen in proptest::collection::vec((-9.0..9.0, -9.0..9.0), 1..14)) {
            let seen: Vec<Point> = seen.into_iter().map(|(x, y)| point(x, y)).collect();
            let steps = (seen.len() + 1) as f64;
            for (each, p) in seen.iter().enumerate() {
                prop_assert!(curve(&seen, (each + 1) as f64 / steps).distance(*p) < 1e-6);
            }
            prop_assert!(curve(&seen, 0.0).distance(point(0.0, 0.0)) < 1e-9);
            prop_assert!(curve(&seen, 1.0).distance(point(0.0, 0.0)) < 1e-9);
        }
    }
}

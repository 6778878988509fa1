//! The marks of the frame on a photo: rings with a disc in them, and discs.

use super::binary::{Piece, dark, pieces};
use super::gray::Gray;
use crate::geometry::Point;
use crate::layout::{CORNER_DISC, CORNER_RING};
use std::collections::HashMap;

/// The longer side of the picture in which marks are sought: enough pixels to see them, few enough to be quick.
const SOUGHT_IN: usize = 2000;
/// The most corner marks that are tried.
const MOST_CORNERS: usize = 12;

/// A corner mark on a photo.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    /// Its middle, in pixels of the photo.
    pub middle: Point,
    /// The radius of its ring, in pixels of the photo.
    pub radius: f64,
}

/// A disc on a photo.
#[derive(Clone, Copy, Debug)]
pub(super) struct Disc {
    /// Its middle, in pixels of the photo.
    pub middle: Point,
    /// Its radius by its area, in pixels of the photo.
    pub radius: f64,
}

/// All marks on a photo.
pub(super) struct Marks {
    pub corners: Vec<Corner>,
    pub discs: Vec<Disc>,
}

impl Marks {
    /// Finds them.
    pub(super) fn find(photo: &Gray) -> Self {
        let longer = photo.width.max(photo.height);
        let by = longer.div_ceil(SOUGHT_IN).max(1);
        let small = photo.smaller(by);
        let reach = small.width.max(small.height) / 32;
        let dark = dark(&small, reach.max(4));
        let all = pieces(&dark, small.width, 6);
        let by = by as f64;
        let on_photo = |p: Point| (p + HALF) * by - HALF;
        let discs: Vec<&Piece> = all
            .iter()
            .filter(|piece| piece.is_disc_like() && piece.breadth() >= 3.0)
            .collect();
        Self {
            corners: corners(&all, &discs)
                .into_iter()
                .map(|(middle, radius)| Corner {
                    middle: on_photo(middle),
                    radius: radius * by,
                })
                .collect(),
            discs: discs
                .iter()
                .map(|piece| Disc {
                    middle: on_photo(piece.middle),
                    radius: (piece.area / std::f64::consts::PI).sqrt() * by,
                })
                .collect(),
        }
    }
}

/// From the corner of a pixel to its middle.
const HALF: Point = Point { x: 0.5, y: 0.5 };

/// Rings with a disc of the right size in their middle, the best first: middle and radius.
fn corners(all: &[Piece], discs: &[&Piece]) -> Vec<(Point, f64)> {
    const CELL: f64 = 16.0;
    let cell = |p: Point| ((p.x / CELL).floor() as i64, (p.y / CELL).floor() as i64);
    let mut by_place: HashMap<(i64, i64), Vec<&Piece>> = HashMap::new();
    for disc in discs {
        by_place.entry(cell(disc.middle)).or_default().push(disc);
    }
    let times = CORNER_RING.1 / CORNER_DISC;
    let ring_area = (CORNER_RING.1.powi(2) - CORNER_RING.0.powi(2)) / CORNER_DISC.powi(2);
    let mut found: Vec<(f64, Point, f64)> = Vec::new();
    for ring in all {
        let [_, _, width, height] = ring.bounds;
        let hollow = ring.area / (width * height);
        if ring.breadth() < 9.0
            || !(0.2..0.65).contains(&hollow)
            || width.max(height) > 2.2 * width.min(height)
        {
            continue;
        }
        let middle = ring.box_middle();
        let (x, y) = cell(middle);
        let near = (-1..=1).flat_map(|v| (-1..=1).map(move |u| (x + u, y + v)));
        for disc in near.filter_map(|place| by_place.get(&place)).flatten() {
            let ratios = [
                width / disc.bounds[2] / times,
                height / disc.bounds[3] / times,
            ];
            let area = ring.area / disc.area / ring_area;
            let off = middle.distance(disc.middle) / ring.breadth();
            let fits = ratios.iter().all(|ratio| (0.6..1.7).contains(ratio))
                && (0.4..2.2).contains(&area)
                && off < 0.1;
            if fits {
                let faults = ratios.iter().map(|ratio| ratio.ln().abs()).sum::<f64>()
                    + 0.5 * area.ln().abs()
                    + 5.0 * off;
                found.push((faults, disc.middle, 0.5 * ring.breadth()));
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.truncate(MOST_CORNERS);
    found
        .into_iter()
        .map(|(_, middle, radius)| (middle, radius))
        .collect()
}

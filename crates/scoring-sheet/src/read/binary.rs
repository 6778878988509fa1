//! What is dark against its surroundings, and the pieces it falls into.

use super::gray::Gray;
use crate::geometry::{Point, point};

/// A piece of dark pixels that touch each other.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    /// Its pixels.
    pub area: f64,
    /// Their middle.
    pub middle: Point,
    /// The box round them: left, top, width, height.
    pub bounds: [f64; 4],
}

impl Piece {
    /// The middle of its box.
    pub(super) fn box_middle(&self) -> Point {
        let [left, top, width, height] = self.bounds;
        point(left + 0.5 * (width - 1.0), top + 0.5 * (height - 1.0))
    }

    /// Mean of width and height.
    pub(super) fn breadth(&self) -> f64 {
        0.5 * (self.bounds[2] + self.bounds[3])
    }

    /// Whether it is as a disc is, seen aslant: neither long nor hollow.
    pub(super) fn is_disc_like(&self) -> bool {
        let [_, _, width, height] = self.bounds;
        let longer = width.max(height) / width.min(height);
        longer < 2.2 && self.area > 0.5 * width * height
    }
}

/// Which pixels are dark: less than 85 % of the mean of the square round them.
///
/// D. Bradley, G. Roth, Adaptive thresholding using the integral image, Journal of Graphics Tools 12(2) (2007), 13-21.
pub(super) fn dark(picture: &Gray, reach: usize) -> Vec<bool> {
    let (width, height) = (picture.width, picture.height);
    let mut sums = vec![0_u32; width];
    let mut dark = vec![false; width * height];
    // Sums of the columns over the rows in reach, kept up from row to row.
    let mut rows = 0;
    for y in 0..height + reach {
        if y < height {
            rows += 1;
            for (sum, &pixel) in sums.iter_mut().zip(picture.row(y)) {
                *sum += u32::from(pixel);
            }
        }
        let Some(middle) = y.checked_sub(reach) else {
            continue;
        };
        if let Some(past) = middle.checked_sub(reach + 1) {
            rows -= 1;
            for (sum, &pixel) in sums.iter_mut().zip(picture.row(past)) {
                *sum -= u32::from(pixel);
            }
        }
        let (mut sum, mut columns) = (0_u64, 0_u64);
        for x in 0..width + reach {
            if x < width {
                columns += 1;
                sum += u64::from(sums[x]);
            }
            let Some(here) = x.checked_sub(reach) else {
                continue;
            };
            if let Some(past) = here.checked_sub(reach + 1) {
                columns -= 1;
                sum -= u64::from(sums[past]);
            }
            let at = middle * width + here;
            let pixel = u64::from(picture.pixels[at]);
            dark[at] = pixel * columns * rows * 100 < sum * 85;
        }
    }
    dark
}

/// The pieces of at least so many pixels, joined also over corners.
pub(super) fn pieces(dark: &[bool], width: usize, least: usize) -> Vec<Piece> {
    let mut runs: Vec<Run> = Vec::new();
    let mut above = 0..0;
    for (y, row) in dark.chunks(width).enumerate() {
        let first = runs.len();
        let mut x = 0;
        let mut over = above.start;
        while x < width {
            if !row[x] {
                x += 1;
                continue;
            }
            let start = x;
            while x < width && row[x] {
                x += 1;
            }
            let this = runs.len();
            runs.push(Run {
                y,
                start,
                end: x,
                parent: this,
            });
            while over < above.end && runs[over].end < start {
                over += 1;
            }
            let mut touching = over;
            while touching < above.end && runs[touching].start <= x {
                join(&mut runs, touching, this);
                touching += 1;
            }
        }
        above = first..runs.len();
    }
    gather(&mut runs, least)
}

struct Run {
    y: usize,
    start: usize,
    end: usize,
    parent: usize,
}

fn root(runs: &mut [Run], mut of: usize) -> usize {
    while runs[of].parent != of {
        let above = runs[runs[of].parent].parent;
        runs[of].parent = above;
        of = above;
    }
    of
}

fn join(runs: &mut [Run], a: usize, b: usize) {
    let (a, b) = (root(runs, a), root(runs, b));
    runs[a.max(b)].parent = a.min(b);
}

fn gather(runs: &mut [Run], least: usize) -> Vec<Piece> {
    #[derive(Clone, Copy)]
    struct Sum {
        area: usize,
        x: f64,
        y: f64,
        left: usize,
        right: usize,
        top: usize,
        bottom: usize,
    }
    let mut sums: Vec<Option<Sum>> = vec![None; runs.len()];
    for each in 0..runs.len() {
        let root = root(runs, each);
        let Run { y, start, end, .. } = runs[each];
        let length = end - start;
        let sum = sums[root].get_or_insert(Sum {
            area: 0,
            x: 0.0,
            y: 0.0,
            left: start,
            right: end,
            top: y,
            bottom: y + 1,
        });
        sum.area += length;
        sum.x += length as f64 * 0.5 * (start + end - 1) as f64;
        sum.y += (length * y) as f64;
        sum.left = sum.left.min(start);
        sum.right = sum.right.max(end);
        sum.bottom = sum.bottom.max(y + 1);
    }
    sums.into_iter()
        .flatten()
        .filter(|sum| sum.area >= least)
        .map(|sum| Piece {
            area: sum.area as f64,
            middle: point(sum.x / sum.area as f64, sum.y / sum.area as f64),
            bounds: [
                sum.left as f64,
                sum.top as f64,
                (sum.right - sum.left) as f64,
                (sum.bottom - sum.top) as f64,
            ],
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn pieces_are_what_a_flood_would_fill(width in 1..20_usize, bits in proptest::collection::vec(proptest::bool::weighted(0.45), 1..300)) {
            let height = bits.len() / width;
            let dark = &bits[..width * height];
            let mut seen = vec![false; dark.len()];
            let mut areas = Vec::new();
            for from in 0..dark.len() {
                if !dark[from] || seen[from] {
                    continue;
                }
                let (mut area, mut open) = (0, vec![from]);
                seen[from] = true;
                while let Some(at) = open.pop() {
                    area += 1;
                    let (x, y) = ((at % width) as i64, (at / width) as i64);
                    for (u, v) in (-1..=1).flat_map(|v| (-1..=1).map(move |u| (x + u, y + v))) {
                        if u >= 0 && v >= 0 && u < width as i64 && v < height as i64 {
                            let next = v as usize * width + u as usize;
                            if dark[next] && !seen[next] {
                                seen[next] = true;
                                open.push(next);
                            }
                        }
                    }
                }
                areas.push(area);
            }
            let mut found: Vec<usize> = pieces(dark, width, 1).iter().map(|piece| piece.area as usize).collect();
            areas.sort_unstable();
            found.sort_unstable();
            prop_assert_eq!(found, areas);
        }

        #[test]
        fn dark_is_less_than_the_mean_round_it(width in 1..16_usize, pixels in proptest::collection::vec(any::<u8>(), 1..200), reach in 1..6_usize) {
            let height = pixels.len() / width;
            let picture = Gray { width, height, pixels: pixels[..width * height].to_vec() };
            let dark = dark(&picture, reach);
            for y in 0..height {
                for x in 0..width {
                    let (mut sum, mut count) = (0_u64, 0_u64);
                    for v in y.saturating_sub(reach)..=(y + reach).min(height - 1) {
                        for u in x.saturating_sub(reach)..=(x + reach).min(width - 1) {
                            sum += u64::from(picture.row(v)[u]);
                            count += 1;
                        }
                    }
                    let expected = u64::from(picture.row(y)[x]) * count * 100 < sum * 85;
                    prop_assert_eq!(dark[y * width + x], expected);
                }
            }
        }
    }
}

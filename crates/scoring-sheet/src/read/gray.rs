//! A picture in shades of grey, and what is done to all its pixels.

use crate::geometry::Point;

/// A picture in shades of grey, 0 black to 255 white, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gray {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// All pixels.
    pub pixels: Vec<u8>,
}

impl Gray {
    /// A picture of one shade.
    pub fn filled(width: usize, height: usize, shade: u8) -> Self {
        Self {
            width,
            height,
            pixels: vec![shade; width * height],
        }
    }

    /// A row.
    pub fn row(&self, y: usize) -> &[u8] {
        &self.pixels[y * self.width..(y + 1) * self.width]
    }

    /// The pixel there, or the nearest one where it is outside.
    pub fn at(&self, x: i64, y: i64) -> u8 {
        let x = x.clamp(0, self.width as i64 - 1) as usize;
        let y = y.clamp(0, self.height as i64 - 1) as usize;
        self.pixels[y * self.width + x]
    }

    /// The shade between pixels.
    pub fn between(&self, p: Point) -> f64 {
        let (left, top) = (p.x.floor(), p.y.floor());
        let (across, down) = (p.x - left, p.y - top);
        let (x, y) = (left as i64, top as i64);
        let inside =
            x >= 0 && y >= 0 && (x as usize) + 1 < self.width && (y as usize) + 1 < self.height;
        let [a, b, c, d] = if inside {
            let at = y as usize * self.width + x as usize;
            [
                self.pixels[at],
                self.pixels[at + 1],
                self.pixels[at + self.width],
                self.pixels[at + self.width + 1],
            ]
        } else {
            [
                self.at(x, y),
                self.at(x + 1, y),
                self.at(x, y + 1),
                self.at(x + 1, y + 1),
            ]
        }
        .map(f64::from);
        let upper = a + (b - a) * across;
        let lower = c + (d - c) * across;
        upper + (lower - upper) * down
    }

    /// So many times smaller: each pixel the mean of a square.
    #[must_use]
    pub fn smaller(&self, by: usize) -> Self {
        if by <= 1 {
            return self.clone();
        }
        let (width, height) = ((self.width / by).max(1), (self.height / by).max(1));
        let mut pixels = Vec::with_capacity(width * height);
        let mut sums = vec![0_u32; width];
        for y in 0..height {
            sums.fill(0);
            let mut rows = 0;
            for row in (y * by)..((y + 1) * by).min(self.height) {
                rows += 1;
                for (sum, part) in sums.iter_mut().zip(self.row(row).chunks(by)) {
                    *sum += part.iter().map(|&pixel| u32::from(pixel)).sum::<u32>();
                }
            }
            let count = (rows * by.min(self.width)) as u32;
            pixels.extend(sums.iter().map(|sum| ((sum + count / 2) / count) as u8));
        }
        Self {
            width,
            height,
            pixels,
        }
    }

    /// What is dark and narrower than a square of `reach` pixels each way is covered by what surrounds it: a closing
    /// (largest value, then smallest, within the square). Edges of wider things stay where they are.
    ///
    /// P. Soille, Morphological Image Analysis, 2nd ed. (2003), 4.2.
    #[must_use]
    pub fn closed(&self, reach: usize) -> Self {
        let mut wide = self.clone();
        wide.rows_by(reach, |a, b| a >= b);
        let mut turned = wide.turned();
        turned.rows_by(reach, |a, b| a >= b);
        turned.rows_by(reach, |a, b| a <= b);
        let mut back = turned.turned();
        back.rows_by(reach, |a, b| a <= b);
        back
    }

    /// Each pixel becomes the best within so many pixels left and right.
    fn rows_by(&mut self, reach: usize, better: impl Fn(u8, u8) -> bool) {
        let mut waiting = std::collections::VecDeque::new();
        let mut best = vec![0; self.width];
        for row in self.pixels.chunks_mut(self.width) {
            waiting.clear();
            for right in 0..row.len() + reach {
                if let Some(&entering) = row.get(right) {
                    while waiting
                        .back()
                        .is_some_and(|&at: &usize| better(entering, row[at]))
                    {
                        waiting.pop_back();
                    }
                    waiting.push_back(right);
                }
                let Some(middle) = right.checked_sub(reach) else {
                    continue;
                };
                while waiting.front().is_some_and(|&at| at + reach < middle) {
                    waiting.pop_front();
                }
                if let Some(&at) = waiting.front() {
                    best[middle] = row[at];
                }
            }
            row.copy_from_slice(&best);
        }
    }

    fn turned(&self) -> Self {
        let mut pixels = vec![0; self.pixels.len()];
        for (y, row) in self.pixels.chunks(self.width).enumerate() {
            for (x, &pixel) in row.iter().enumerate() {
                pixels[x * self.height + y] = pixel;
            }
        }
        Self {
            width: self.height,
            height: self.width,
            pixels,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::point;
    use proptest::prelude::*;

    fn picture() -> impl Strategy<Value = Gray> {
        (1..24_usize, 1..24_usize).prop_flat_map(|(width, height)| {
            proptest::collection::vec(any::<u8>(), width * height).prop_map(move |pixels| Gray {
                width,
                height,
                pixels,
            })
        })
    }

    fn slowly(picture: &Gray, reach: i64, pick: fn(u8, u8) -> u8) -> Gray {
        let mut out = picture.clone();
        for y in 0..picture.height as i64 {
            for x in 0..picture.width as i64 {
                let mut best = picture.at(x, y);
                for v in y - reach..=y + reach {
                    for u in x - reach..=x + reach {
                        best = pick(best, picture.at(u, v));
                    }
                }
                out.pixels[y as usize * picture.width + x as usize] = best;
            }
        }
        out
    }

    proptest! {
        #[test]
        fn closing_is_the_largest_then_the_smallest(picture in picture(), reach in 0..6_usize) {
            let slow = slowly(&slowly(&picture, reach as i64, u8::max), reach as i64, u8::min);
            prop_assert_eq!(picture.closed(reach), slow);
        }

        #[test]
        fn between_pixels_lies_between_their_shades(picture in picture(), x in -3.0..30.0, y in -3.0..30.0) {
            let shade = picture.between(point(x, y));
            let least = f64::from(*picture.pixels.iter().min().unwrap());
            let most = f64::from(*picture.pixels.iter().max().unwrap());
            prop_assert!(shade >= least - 1e-9 && shade <= most + 1e-9);
        }

        #[test]
        fn smaller_keeps_an_even_shade(shade in any::<u8>(), width in 1..40_usize, height in 1..40_usize, by in 1..5_usize) {
            let small = Gray::filled(width, height, shade).smaller(by);
            prop_assert!(small.pixels.iter().all(|&pixel| pixel == shade));
        }
    }
}

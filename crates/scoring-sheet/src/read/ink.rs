//! How much ink lies where: the page without its light and shade.

use super::Refusal;
use super::flat::{FLAT_SCALE, to_pixel};
use super::gray::Gray;
use crate::geometry::{Point, point};
use crate::layout::{CORNER_RING, DOT, Frame};

/// The page is made so many times smaller to see its light.
const COARSE: usize = 4;
/// What is dark and narrower than twice this, in millimetres, is ink; what is wider is shade.
const SHADE_REACH: f64 = 4.5;
/// Black must be darker than the paper by this share, or the photo is too dark or too pale.
const LEAST_CONTRAST: f64 = 0.3;
/// Between the disc and the ring of a corner mark, so much of the paper's white must be seen.
const LEAST_SHARPNESS: f64 = 0.62;

/// The ink of a page laid flat.
pub(super) struct Ink {
    /// 0 for paper, 200 for the black of the printed marks.
    amount: Gray,
}

/// The value that stands for black.
const BLACK: f64 = 200.0;

impl Ink {
    /// Takes light and shade out of a page laid flat.
    pub(super) fn of(flat: &Gray, frame: &Frame) -> Result<Self, Refusal> {
        let coarse = flat.smaller(COARSE);
        let reach = (SHADE_REACH * FLAT_SCALE / COARSE as f64) as usize;
        let white = coarse.closed(reach);
        let light = |p: Point| {
            let at = to_pixel(p);
            let by = COARSE as f64;
            white
                .between(point((at.x + 0.5) / by - 0.5, (at.y + 0.5) / by - 0.5))
                .max(1.0)
        };
        let shade = |p: Point| flat.between(to_pixel(p)) / light(p);
        // Some are hidden by a thumb or wet: the middle one tells.
        let mut blacks: Vec<f64> = frame
            .dots
            .iter()
            .flatten()
            .chain(&frame.corners)
            .map(|&dot| ring_mean(dot, 0.4 * DOT, &shade).min(shade(dot)))
            .collect();
        blacks.sort_by(f64::total_cmp);
        let black = blacks[blacks.len() / 2];
        if 1.0 - black < LEAST_CONTRAST {
            return Err(Refusal::Faint);
        }
        sharp(frame, &shade)?;

        let mut amount = Gray::filled(flat.width, flat.height, 0);
        let times = BLACK / (1.0 - black);
        let mut lights = vec![0.0_f32; flat.width];
        for y in 0..flat.height {
            light_row(&white, y, &mut lights);
            let row = &mut amount.pixels[y * flat.width..(y + 1) * flat.width];
            for ((ink, &pixel), light) in row.iter_mut().zip(flat.row(y)).zip(&lights) {
                let share = 1.0 - f32::from(pixel) / light.max(1.0);
                *ink = (share * times as f32).clamp(0.0, 255.0) as u8;
            }
        }
        Ok(Self { amount })
    }

    /// The ink at a place: 0 none, 1 as black as print.
    pub(super) fn at(&self, p: Point) -> f64 {
        self.amount.between(to_pixel(p)) / BLACK
    }

    /// The ink at the nearest pixel.
    pub(super) fn near(&self, p: Point) -> f64 {
        let at = to_pixel(p);
        f64::from(self.amount.at(at.x.round() as i64, at.y.round() as i64)) / BLACK
    }
}

/// The light of a row of the flat page, between the rows and columns of the coarse one.
fn light_row(white: &Gray, y: usize, lights: &mut [f32]) {
    let by = COARSE as f32;
    let at = ((y as f32 + 0.5) / by - 0.5).clamp(0.0, (white.height - 1) as f32);
    let upper = (at as usize).min(white.height.saturating_sub(2));
    let (above, below) = (
        white.row(upper),
        white.row((upper + 1).min(white.height - 1)),
    );
    let down = at - upper as f32;
    let column = |x: usize| f32::from(above[x]) * (1.0 - down) + f32::from(below[x]) * down;
    for (x, light) in lights.iter_mut().enumerate() {
        let at = ((x as f32 + 0.5) / by - 0.5).clamp(0.0, (white.width - 1) as f32);
        let left = (at as usize).min(white.width.saturating_sub(2));
        let right = (left + 1).min(white.width - 1);
        let across = at - left as f32;
        *light = column(left) * (1.0 - across) + column(right) * across;
    }
}

fn ring_mean(middle: Point, radius: f64, value: &impl Fn(Point) -> f64) -> f64 {
    const AROUND: usize = 16;
    (0..AROUND)
        .map(|each| {
            let turn = each as f64 / AROUND as f64 * std::f64::consts::TAU;
            value(middle + point(turn.cos(), turn.sin()) * radius)
        })
        .sum::<f64>()
        / AROUND as f64
}

/// Whether the white between disc and ring is seen at each corner.
fn sharp(frame: &Frame, shade: &impl Fn(Point) -> f64) -> Result<(), Refusal> {
    for &corner in &frame.corners {
        let black = ring_mean(corner, 0.4, shade).max(ring_mean(
            corner,
            0.5 * (CORNER_RING.0 + CORNER_RING.1),
            shade,
        ));
        let between = [1.9, 2.05, 2.2]
            .map(|radius| ring_mean(corner, radius, shade))
            .into_iter()
            .fold(0.0, f64::max);
        let paper = ring_mean(corner, 5.2, shade);
        if between - black < LEAST_SHARPNESS * (paper - black) {
            return Err(Refusal::Blurred);
        }
    }
    Ok(())
}

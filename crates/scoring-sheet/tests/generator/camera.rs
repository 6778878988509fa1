//! A photo of a page: from aside, bent, in uneven light, not quite sharp, with noise, as a JPEG.

use super::page::{Page, SCALE};
use super::within;
use fastrand::Rng;
use scoring_sheet::geometry::{Homography, Point, point};

/// How a photo is taken.
#[derive(Clone, Debug)]
pub struct Shot {
    /// Million pixels.
    pub megapixels: f64,
    /// Turn of the page, degrees.
    pub turn: f64,
    /// How far the camera looks from the upright, degrees, and towards where.
    pub tilt: f64,
    pub towards: f64,
    /// Share of the picture's breadth or height that the page takes.
    pub fills: f64,
    /// Where the page is, as a share of the picture from its middle.
    pub off: (f64, f64),
    /// How far the middle of a bent page stands out, millimetres; along its width, else its height.
    pub bend: f64,
    pub bend_across: bool,
    /// Standard deviation of the blur, millimetres on the page.
    pub blur: f64,
    /// Length of a movement, millimetres on the page.
    pub moved: f64,
    /// Standard deviation of the noise, of 255.
    pub noise: f64,
    /// The paper's shade, of 255, in the brightest light, and the ink's.
    pub paper: f64,
    pub black: f64,
    /// How much darker it is at the other side.
    pub gradient: f64,
    /// How dark a shadow is, how soft its edge in millimetres, how wide it is.
    pub shadow: f64,
    pub softness: f64,
    pub shadow_width: f64,
    /// JPEG quality.
    pub quality: u8,
    pub seed: u64,
}

impl Shot {
    /// As a telephone takes it, in hands that want to be read.
    pub fn telephone(rng: &mut Rng) -> Self {
        let megapixels = within(rng, 2.0, 12.0);
        Self {
            megapixels,
            turn: match rng.u32(0..3) {
                0 => f64::from(rng.u32(0..4)) * 90.0 + within(rng, -8.0, 8.0),
                1 => f64::from(rng.u32(0..4)) * 90.0,
                _ => within(rng, 0.0, 360.0),
            },
            tilt: within(rng, 0.0, 30.0),
            towards: within(rng, 0.0, 360.0),
            fills: within(rng, 0.8, 0.95),
            off: (within(rng, -0.01, 0.01), within(rng, -0.01, 0.01)),
            bend: if rng.bool() {
                within(rng, -6.0, 6.0)
            } else {
                0.0
            },
            bend_across: rng.bool(),
            blur: within(rng, 0.04, 0.16),
            moved: 0.0,
            noise: within(rng, 1.0, 7.0),
            paper: within(rng, 150.0, 250.0),
            black: within(rng, 15.0, 55.0),
            gradient: within(rng, 0.0, 0.45),
            shadow: if rng.bool() {
                within(rng, 0.1, 0.45)
            } else {
                0.0
            },
            softness: within(rng, 8.0, 60.0),
            shadow_width: within(rng, 40.0, 160.0),
            quality: rng.u8(70..95),
            seed: rng.u64(..),
        }
    }

    /// Worse than that in some way: what is read must be right all the same.
    pub fn poor(rng: &mut Rng) -> Self {
        let mut shot = Self::telephone(rng);
        for _ in 0..rng.u32(1..3) {
            match rng.u32(0..9) {
                0 => shot.megapixels = within(rng, 0.4, 1.6),
                1 => shot.tilt = within(rng, 30.0, 55.0),
                2 => shot.bend = within(rng, 6.0, 25.0) * if rng.bool() { 1.0 } else { -1.0 },
                3 => shot.blur = within(rng, 0.16, 0.7),
                4 => shot.moved = within(rng, 0.3, 2.0),
                5 => shot.noise = within(rng, 7.0, 30.0),
                6 => {
                    shot.shadow = within(rng, 0.3, 0.75);
                    shot.softness = within(rng, 0.1, 4.0);
                    shot.shadow_width = within(rng, 3.0, 60.0);
                }
                7 => shot.quality = rng.u8(8..40),
                _ => {
                    shot.paper = within(rng, 60.0, 150.0);
                    shot.gradient = within(rng, 0.3, 0.8);
                }
            }
        }
        if rng.u32(0..8) == 0 {
            shot.fills = within(rng, 1.0, 1.3);
        }
        shot
    }

    /// A scan: flat, straight, evenly lit.
    pub fn scan(rng: &mut Rng) -> Self {
        Self {
            megapixels: 8.0,
            turn: f64::from(rng.u32(0..4)) * 90.0 + within(rng, -2.0, 2.0),
            tilt: 0.0,
            bend: 0.0,
            gradient: 0.0,
            shadow: 0.0,
            fills: 0.97,
            off: (0.0, 0.0),
            paper: 250.0,
            ..Self::telephone(rng)
        }
    }

    /// Takes the photo: width, height, shades row by row, before it becomes a JPEG.
    pub fn take(&self, page: &Page) -> (usize, usize, Vec<u8>) {
        let mut rng = Rng::with_seed(self.seed);
        let aspect = 4.0 / 3.0;
        let width = (self.megapixels * 1e6 * aspect).sqrt();
        let height = width / aspect;
        let view = View::new(self, page, (width, height));
        let (width, height) = (width as usize, height as usize);

        let page = soft(page, SCALE / view.scale * 0.5);
        const STEP: usize = 12;
        let columns = width.div_ceil(STEP) + 1;
        let knots = |y: usize| -> Vec<Point> {
            (0..columns)
                .map(|column| view.on_page(point((column * STEP) as f64, y as f64)))
                .collect()
        };
        let ground = Ground::new(&mut rng);
        let light = Light::new(self, &page, &mut rng);
        let mut shades = vec![0.0_f32; width * height];
        let mut upper = knots(0);
        for band in (0..height).step_by(STEP) {
            let lower = knots(band + STEP);
            for y in band..(band + STEP).min(height) {
                let down = (y - band) as f64 / STEP as f64;
                for x in 0..width {
                    let (column, across) = (x / STEP, (x % STEP) as f64 / STEP as f64);
                    let a = upper[column].towards(upper[column + 1], across);
                    let b = lower[column].towards(lower[column + 1], across);
                    let p = a.towards(b, down);
                    let shade = match ink_at(&page, p) {
                        Some(ink) => self.paper + (self.black - self.paper) * ink,
                        None => ground.at(p),
                    };
                    shades[y * width + x] = (shade * light.at(p)) as f32;
                }
            }
            upper = lower;
        }
        gaussian(&mut shades, width, height, self.blur * view.scale);
        if self.moved > 0.0 {
            let reach = (self.moved * view.scale) as usize;
            if rng.bool() {
                box_rows(&mut shades, width, reach.max(1));
            } else {
                box_columns(&mut shades, width, height, reach.max(1));
            }
        }
        let shades = shades
            .iter()
            .map(|&shade| {
                let noise: f64 = (0..4).map(|_| rng.f64() - 0.5).sum::<f64>() * 1.732 * self.noise;
                (f64::from(shade) + noise).clamp(0.0, 255.0) as u8
            })
            .collect();
        (width, height, shades)
    }

    /// The photo as the bytes of a JPEG in colour.
    pub fn jpeg(&self, page: &Page) -> Vec<u8> {
        let (width, height, shades) = self.take(page);
        jpeg(width, height, &shades, self.quality)
    }
}

pub fn jpeg(width: usize, height: usize, shades: &[u8], quality: u8) -> Vec<u8> {
    // Lamplight: less blue.
    let rgb: Vec<u8> = shades
        .iter()
        .flat_map(|&shade| [shade, shade, (f32::from(shade) * 0.92) as u8])
        .collect();
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality)
        .encode(
            &rgb,
            width as u32,
            height as u32,
            image::ExtendedColorType::Rgb8,
        )
        .unwrap();
    bytes
}

/// Where the camera stands.
struct View {
    plane: Homography,
    back: Homography,
    camera: Camera,
    scale: f64,
}

struct Camera {
    page: (f64, f64),
    picture: (f64, f64),
    off: (f64, f64),
    turn: f64,
    tilt: f64,
    towards: f64,
    away: f64,
    focal: f64,
    bend: f64,
    bend_across: bool,
}

impl Camera {
    /// Where a point of the page, which may be bent, comes to lie.
    fn project(&self, p: Point, bent: bool) -> Point {
        let (x, y) = (p.x - 0.5 * self.page.0, p.y - 0.5 * self.page.1);
        let along = if self.bend_across {
            x / (0.5 * self.page.0)
        } else {
            y / (0.5 * self.page.1)
        };
        let z = if bent {
            self.bend * (1.0 - along * along)
        } else {
            0.0
        };
        let (sin, cos) = self.turn.to_radians().sin_cos();
        let (x, y) = (x * cos - y * sin, x * sin + y * cos);
        // Tilt about an axis in the plane, towards a direction.
        let (s, c) = self.towards.to_radians().sin_cos();
        let (u, v) = (x * c + y * s, -x * s + y * c);
        let (st, ct) = self.tilt.to_radians().sin_cos();
        let (u, depth) = (u * ct - z * st, u * st + z * ct);
        let (x, y) = (u * c - v * s, u * s + v * c);
        let far = self.away - depth;
        point(
            0.5 * self.picture.0 + self.off.0 * self.picture.0 + self.focal * x / far,
            0.5 * self.picture.1 + self.off.1 * self.picture.1 + self.focal * y / far,
        )
    }
}

impl View {
    fn new(shot: &Shot, page: &Page, picture: (f64, f64)) -> Self {
        let size = (page.width as f64 / SCALE, page.height as f64 / SCALE);
        let corners = [
            point(0.0, 0.0),
            point(size.0, 0.0),
            point(size.0, size.1),
            point(0.0, size.1),
        ];
        let mut camera = Camera {
            page: size,
            picture,
            off: (0.0, 0.0),
            turn: shot.turn,
            tilt: shot.tilt,
            towards: shot.towards,
            away: 400.0,
            // As wide as telephones look: 26 mm before a picture 36 mm wide.
            focal: picture.0 * 26.0 / 36.0,
            bend: shot.bend,
            bend_across: shot.bend_across,
        };
        // Go as far away as is needed to have the page in the picture, and look at its middle.
        for _ in 0..12 {
            let seen = corners.map(|corner| camera.project(corner, false));
            let bounds = |of: fn(&Point) -> f64| {
                let all: Vec<f64> = seen.iter().map(of).collect();
                (
                    all.iter().copied().fold(f64::INFINITY, f64::min),
                    all.iter().copied().fold(f64::NEG_INFINITY, f64::max),
                )
            };
            let ((left, right), (top, bottom)) = (bounds(|p| p.x), bounds(|p| p.y));
            let taken = ((right - left) / picture.0).max((bottom - top) / picture.1);
            camera.away *= taken / shot.fills;
            camera.off.0 -= (0.5 * (left + right) - 0.5 * picture.0) / picture.0;
            camera.off.1 -= (0.5 * (top + bottom) - 0.5 * picture.1) / picture.1;
        }
        camera.off.0 += shot.off.0;
        camera.off.1 += shot.off.1;
        let seen = corners.map(|corner| camera.project(corner, false));
        let plane = Homography::between(corners, seen).unwrap();
        let back = Homography::between(seen, corners).unwrap();
        let scale = plane.scale_at(point(0.5 * size.0, 0.5 * size.1));
        Self {
            plane,
            back,
            camera,
            scale,
        }
    }

    /// The place of the page that a pixel shows.
    fn on_page(&self, pixel: Point) -> Point {
        let mut p = self.back.map(pixel);
        if self.camera.bend != 0.0 {
            for _ in 0..6 {
                let inside = point(
                    p.x.clamp(-20.0, self.camera.page.0 + 20.0),
                    p.y.clamp(-20.0, self.camera.page.1 + 20.0),
                );
                let off = self.camera.project(inside, true) - self.plane.map(inside);
                p = self.back.map(pixel - off);
            }
        }
        p
    }
}

/// A table: wood or stone.
struct Ground {
    shade: f64,
    grain: f64,
    phase: f64,
}

impl Ground {
    fn new(rng: &mut Rng) -> Self {
        Self {
            shade: within(rng, 25.0, 170.0),
            grain: within(rng, 0.0, 25.0),
            phase: within(rng, 0.0, 7.0),
        }
    }

    fn at(&self, p: Point) -> f64 {
        let grain = (p.x * 0.9 + (p.y * 0.05 + self.phase).sin() * 4.0).sin()
            + 0.6 * (p.y * 2.3 + p.x * 0.7 + self.phase).sin();
        (self.shade + self.grain * grain).clamp(5.0, 220.0)
    }
}

struct Light {
    from: Point,
    across: Point,
    gradient: f64,
    length: f64,
    shadow: f64,
    softness: f64,
    half: f64,
    shadow_at: f64,
    shadow_way: Point,
}

impl Light {
    fn new(shot: &Shot, page: &Page, rng: &mut Rng) -> Self {
        let way = |rng: &mut Rng| {
            let turn = rng.f64() * std::f64::consts::TAU;
            point(turn.cos(), turn.sin())
        };
        let from = point(
            0.5 * page.width as f64 / SCALE,
            0.5 * page.height as f64 / SCALE,
        );
        Self {
            from,
            across: way(rng),
            gradient: shot.gradient,
            length: 360.0,
            shadow: shot.shadow,
            softness: shot.softness,
            half: 0.5 * shot.shadow_width,
            shadow_at: within(rng, -100.0, 100.0),
            shadow_way: way(rng),
        }
    }

    fn at(&self, p: Point) -> f64 {
        let off = p - self.from;
        let along = (off.x * self.across.x + off.y * self.across.y) / self.length + 0.5;
        let even = 1.0 - self.gradient * along.clamp(0.0, 1.0);
        let from_shadow = (off.x * self.shadow_way.x + off.y * self.shadow_way.y - self.shadow_at)
            .abs()
            - self.half;
        let inside = 1.0 / (1.0 + (4.0 * from_shadow / self.softness).exp());
        even * (1.0 - self.shadow * inside)
    }
}

fn ink_at(page: &Page, p: Point) -> Option<f64> {
    let (x, y) = (p.x * SCALE - 0.5, p.y * SCALE - 0.5);
    if x < -0.5 || y < -0.5 || x >= page.width as f64 - 0.5 || y >= page.height as f64 - 0.5 {
        return None;
    }
    let (x, y) = (x.max(0.0), y.max(0.0));
    let (left, top) = (x as usize, y as usize);
    let (right, bottom) = (
        (left + 1).min(page.width - 1),
        (top + 1).min(page.height - 1),
    );
    let (u, v) = (x - left as f64, y - top as f64);
    let at = |x: usize, y: usize| f64::from(page.ink[y * page.width + x]);
    let upper = at(left, top) * (1.0 - u) + at(right, top) * u;
    let lower = at(left, bottom) * (1.0 - u) + at(right, bottom) * u;
    Some(upper * (1.0 - v) + lower * v)
}

fn soft(page: &Page, deviation: f64) -> Page {
    let mut page = page.clone();
    gaussian(&mut page.ink, page.width, page.height, deviation);
    page
}

/// A bell's blur; where it is wide, three boxes are as good.
fn gaussian(shades: &mut [f32], width: usize, height: usize, deviation: f64) {
    if deviation < 0.2 {
        return;
    }
    if deviation < 2.5 {
        let reach = (3.0 * deviation).ceil() as usize;
        let mut kernel: Vec<f32> = (0..=2 * reach)
            .map(|each| {
                let off = each as f64 - reach as f64;
                (-0.5 * (off / deviation).powi(2)).exp() as f32
            })
            .collect();
        let sum: f32 = kernel.iter().sum();
        for weight in &mut kernel {
            *weight /= sum;
        }
        convolve(shades, width, height, &kernel);
        return;
    }
    let breadth = ((12.0 * deviation * deviation / 3.0 + 1.0).sqrt() as usize) | 1;
    for _ in 0..3 {
        box_rows(shades, width, breadth);
        box_columns(shades, width, height, breadth);
    }
}

fn convolve(shades: &mut [f32], width: usize, height: usize, kernel: &[f32]) {
    let reach = kernel.len() / 2;
    let mut out = vec![0.0_f32; width];
    for row in shades.chunks_mut(width) {
        for (x, value) in out.iter_mut().enumerate() {
            *value = if x >= reach && x + reach < width {
                row[x - reach..=x + reach]
                    .iter()
                    .zip(kernel)
                    .map(|(shade, weight)| shade * weight)
                    .sum()
            } else {
                kernel
                    .iter()
                    .enumerate()
                    .map(|(each, weight)| {
                        row[(x + each).saturating_sub(reach).min(width - 1)] * weight
                    })
                    .sum()
            };
        }
        row.copy_from_slice(&out);
    }
    let source = shades.to_vec();
    for y in 0..height {
        let row = &mut shades[y * width..(y + 1) * width];
        row.fill(0.0);
        for (each, weight) in kernel.iter().enumerate() {
            let from = (y + each).saturating_sub(reach).min(height - 1);
            for (value, shade) in row
                .iter_mut()
                .zip(&source[from * width..(from + 1) * width])
            {
                *value += shade * weight;
            }
        }
    }
}

fn box_rows(shades: &mut [f32], width: usize, breadth: usize) {
    let reach = breadth / 2;
    let mut out = vec![0.0_f32; width];
    for row in shades.chunks_mut(width) {
        for (x, value) in out.iter_mut().enumerate() {
            let from = x.saturating_sub(reach);
            let to = (x + reach + 1).min(width);
            *value = row[from..to].iter().sum::<f32>() / (to - from) as f32;
        }
        row.copy_from_slice(&out);
    }
}

fn box_columns(shades: &mut [f32], width: usize, height: usize, breadth: usize) {
    let reach = breadth / 2;
    let source = shades.to_vec();
    for y in 0..height {
        let (from, to) = (y.saturating_sub(reach), (y + reach + 1).min(height));
        let row = &mut shades[y * width..(y + 1) * width];
        row.fill(0.0);
        let share = 1.0 / (to - from) as f32;
        for other in from..to {
            for (value, shade) in row
                .iter_mut()
                .zip(&source[other * width..(other + 1) * width])
            {
                *value += shade * share;
            }
        }
    }
}

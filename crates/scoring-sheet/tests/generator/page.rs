//! A page as ink on paper, pixel by pixel.

use scoring_sheet::Tag;
use scoring_sheet::geometry::{Point, Rect, point};
use scoring_sheet::layout::{Form, MARGIN, MODULE};
use scoring_sheet::shapes::{self, FIGURE_HEIGHT, FIGURE_INK, Shape};

/// Pixels to a millimetre.
pub const SCALE: f64 = 10.0;

/// Ink on paper: 0 for none to 1 for black.
#[derive(Clone)]
pub struct Page {
    pub width: usize,
    pub height: usize,
    pub ink: Vec<f32>,
}

impl Page {
    pub fn blank(size: (f64, f64)) -> Self {
        let (width, height) = ((size.0 * SCALE) as usize, (size.1 * SCALE) as usize);
        Self {
            width,
            height,
            ink: vec![0.0; width * height],
        }
    }

    /// A printed form with its code, headings as blots, figures in the bubbles.
    pub fn printed(form: &Form, tag: Tag) -> Self {
        let mut page = Self::blank(form.frame().size);
        page.code(form, &tag.to_string());
        for shape in shapes::frame(form)
            .into_iter()
            .chain(shapes::cells(form, usize::from(tag.page)))
        {
            page.shape(shape);
        }
        page.texts(form, usize::from(tag.page));
        page
    }

    fn code(&mut self, form: &Form, text: &str) {
        let code = qrcode::QrCode::with_error_correction_level(text, qrcode::EcLevel::Q).unwrap();
        let side = code.width();
        let at = form.frame().code;
        for (each, color) in code.to_colors().into_iter().enumerate() {
            if color == qrcode::Color::Dark {
                let (column, row) = ((each % side) as f64, (each / side) as f64);
                self.fill(
                    Rect {
                        x: at.x + column * MODULE,
                        y: at.y + row * MODULE,
                        width: MODULE,
                        height: MODULE,
                    },
                    1.0,
                );
            }
        }
    }

    fn texts(&mut self, form: &Form, page: usize) {
        // Words are rows of upright strokes, as wide and dark as words are.
        let mut words = |x: f64, y: f64, letters: usize, height: f64| {
            for letter in 0..letters {
                let x = x + letter as f64 * height * 0.62;
                let high = if letter % 3 == 1 { 0.7 } else { 1.0 } * height;
                self.line(point(x, y), point(x + 0.1, y - high), 0.13 * height, 0.95);
                self.line(
                    point(x, y - 0.5 * high),
                    point(x + 0.35 * height, y - 0.4 * high),
                    0.13 * height,
                    0.95,
                );
            }
        };
        words(MARGIN, 24.0, 22, 5.0);
        words(MARGIN, 30.0, 60, 2.4);
        words(MARGIN, 34.0, 50, 2.4);
        for column in 0..form.columns().len() {
            words(form.span(column).0, 51.0, 8, 2.8);
            words(form.span(column).0, 55.0, 11, 2.2);
        }
        for row in 0..form.rows_on(page).len() {
            words(MARGIN, form.middle(row) + 1.2, 10, 2.6);
        }
        for row in 0..form.rows_on(page).len() {
            for column in 0..form.columns().len() {
                for (level, bubble) in form.cell(row, column).bubbles.into_iter().enumerate() {
                    self.figure(bubble, (level + 1) % 10);
                }
            }
        }
    }

    /// A figure of seven strokes.
    fn figure(&mut self, middle: Point, figure: usize) {
        const LIT: [u8; 10] = [0x3F, 0x06, 0x5B, 0x4F, 0x66, 0x6D, 0x7D, 0x07, 0x7F, 0x6F];
        let (half, high) = (0.28 * FIGURE_HEIGHT, 0.5 * FIGURE_HEIGHT);
        let ends = [
            ((-half, -high), (half, -high)),
            ((half, -high), (half, 0.0)),
            ((half, 0.0), (half, high)),
            ((-half, high), (half, high)),
            ((-half, 0.0), (-half, high)),
            ((-half, -high), (-half, 0.0)),
            ((-half, 0.0), (half, 0.0)),
        ];
        for (each, (from, to)) in ends.into_iter().enumerate() {
            if LIT[figure] & (1 << each) != 0 {
                self.line(
                    middle + point(from.0, from.1),
                    middle + point(to.0, to.1),
                    0.2,
                    FIGURE_INK,
                );
            }
        }
    }

    pub fn shape(&mut self, shape: Shape) {
        match shape {
            Shape::Disc { middle, radius } => self.disc(middle, radius, 1.0),
            Shape::Ring {
                middle,
                radius,
                width,
                ink,
            } => self.paint(around(middle, radius + width), ink, |p| {
                0.5 * width - (p.distance(middle) - radius).abs()
            }),
            Shape::Line {
                from,
                to,
                width,
                ink,
            } => self.line(from, to, width, ink),
            Shape::Box { rect, width, ink } => {
                let [a, b, c, d] = [
                    point(rect.x, rect.y),
                    point(rect.right(), rect.y),
                    point(rect.right(), rect.bottom()),
                    point(rect.x, rect.bottom()),
                ];
                for (from, to) in [(a, b), (b, c), (c, d), (d, a)] {
                    self.line(from, to, width, ink);
                }
            }
        }
    }

    pub fn disc(&mut self, middle: Point, radius: f64, ink: f64) {
        self.paint(around(middle, radius + 0.2), ink, |p| {
            radius - p.distance(middle)
        });
    }

    pub fn fill(&mut self, rect: Rect, ink: f64) {
        self.paint(rect.grown(0.1), ink, |p| {
            (p.x - rect.x)
                .min(rect.right() - p.x)
                .min(p.y - rect.y)
                .min(rect.bottom() - p.y)
        });
    }

    pub fn line(&mut self, from: Point, to: Point, width: f64, ink: f64) {
        let part = Rect {
            x: from.x.min(to.x),
            y: from.y.min(to.y),
            width: (from.x - to.x).abs(),
            height: (from.y - to.y).abs(),
        };
        let along = to - from;
        let square = (along.x * along.x + along.y * along.y).max(1e-12);
        self.paint(part.grown(width), ink, |p| {
            let off = p - from;
            let share = ((off.x * along.x + off.y * along.y) / square).clamp(0.0, 1.0);
            0.5 * width - p.distance(from.towards(to, share))
        });
    }

    /// Paints where `inside` (how far inside a shape, in millimetres) is positive.
    pub fn paint(&mut self, part: Rect, ink: f64, inside: impl Fn(Point) -> f64) {
        let clip = |at: f64, most: usize| (at * SCALE).clamp(0.0, most as f64) as usize;
        for y in clip(part.y, self.height)..clip(part.bottom() + 0.2, self.height) {
            for x in clip(part.x, self.width)..clip(part.right() + 0.2, self.width) {
                let p = point((x as f64 + 0.5) / SCALE, (y as f64 + 0.5) / SCALE);
                let cover = (0.5 + inside(p) * SCALE).clamp(0.0, 1.0);
                if cover > 0.0 {
                    let here = &mut self.ink[y * self.width + x];
                    let more = (ink * cover) as f32;
                    *here = here.max(more).max(*here + more * (1.0 - *here) * 0.6);
                }
            }
        }
    }
}

fn around(middle: Point, reach: f64) -> Rect {
    Rect {
        x: middle.x - reach,
        y: middle.y - reach,
        width: 2.0 * reach,
        height: 2.0 * reach,
    }
}

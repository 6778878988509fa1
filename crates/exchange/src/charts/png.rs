//! A chart as a picture.

use std::error::Error;
use std::fmt;
use std::io::Cursor;

use chart::{Chart, Colour, Drawing, ON_PAPER, Place, Shape, Size};
use image::{ImageFormat, RgbImage};
use vello_cpu::color::{AlphaColor, Srgb};
use vello_cpu::kurbo::{Affine, BezPath, Circle, Point, Shape as _, Stroke};
use vello_cpu::{Pixmap, RenderContext, Resources};

use super::{face, lay, set};
use crate::typeface::outline;

/// The most pixels a side may have.
const MOST: f32 = 16_000.0;

/// The picture could not be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PngError(String);

impl fmt::Display for PngError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "The picture could not be made: {}.", self.0)
    }
}

impl Error for PngError {}

/// The chart as a PNG on white, with `scale` pixels to a point of `size`.
///
/// # Errors
/// [`PngError`] when a side has less than one pixel or more than 16,000.
pub fn png(chart: &Chart, size: Size, scale: f32) -> Result<Vec<u8>, PngError> {
    drawing_png(&lay(chart, size), scale)
}

/// Any drawing as a PNG: see [`png`].
///
/// # Errors
/// [`PngError`] when a side has less than one pixel or more than 16,000.
pub fn drawing_png(drawing: &Drawing, scale: f32) -> Result<Vec<u8>, PngError> {
    let size = drawing.size;
    let pixels = [size.width, size.height].map(|side| (side * scale).round());
    if !pixels.iter().all(|side| (1.0..=MOST).contains(side)) {
        let words = format!("{} × {} pixels", pixels[0], pixels[1]);
        return Err(PngError(format!(
            "{words}; from 1 to 16,000 a side can be drawn"
        )));
    }
    let [width, height] = pixels.map(|side| side as u16);
    let mut context = RenderContext::new(width, height);
    context.set_paint(AlphaColor::<Srgb>::WHITE);
    context.fill_path(
        &vello_cpu::kurbo::Rect::new(0.0, 0.0, width.into(), height.into()).to_path(0.1),
    );
    context.set_transform(Affine::scale(scale.into()));
    for shape in &drawing.shapes {
        draw(&mut context, shape);
    }
    context.flush();
    let mut pixmap = Pixmap::new(width, height);
    context.render(&mut pixmap, &mut Resources::new());
    // The ground is opaque everywhere.
    let rgb = pixmap
        .data()
        .iter()
        .flat_map(|pixel| [pixel.r, pixel.g, pixel.b]);
    let picture = RgbImage::from_raw(width.into(), height.into(), rgb.collect())
        .ok_or_else(|| PngError("its pixels don't fill it".to_owned()))?;
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .map_err(|error| PngError(error.to_string()))?;
    Ok(bytes.into_inner())
}

fn draw(context: &mut RenderContext, shape: &Shape) {
    match shape {
        Shape::Line {
            points,
            width,
            dashes,
            colour,
        } => {
            let stroke = Stroke::new((*width).into());
            context.set_stroke(match dashes {
                Some((length, gap)) => {
                    stroke.with_dashes(0.0, [f64::from(*length), f64::from(*gap)])
                }
                None => stroke,
            });
            context.set_paint(paint(*colour, 1.0));
            context.stroke_path(&path(points));
        }
        Shape::Band {
            upper,
            lower,
            colour,
        } => {
            let corners: Vec<Place> = upper.iter().chain(lower.iter().rev()).copied().collect();
            context.set_paint(paint(*colour, Shape::PALE));
            context.fill_path(&path(&corners));
        }
        Shape::Disc {
            centre,
            radius,
            colour,
        } => {
            context.set_paint(paint(*colour, 1.0));
            context.fill_path(&Circle::new(point(*centre), (*radius).into()).to_path(0.01));
        }
        Shape::Filled { corners, colour } => {
            context.set_paint(paint(*colour, 1.0));
            context.fill_path(&path(corners));
        }
        Shape::Words(words) => {
            let (shaped, left, baseline) = set(words);
            context.set_paint(paint(words.colour, 1.0));
            let outlines = outline(face(words.bold), &shaped);
            let place = Affine::translate((left.into(), baseline.into()))
                * Affine::scale_non_uniform(words.size.into(), -f64::from(words.size));
            context.fill_path(&(place * outlines));
        }
    }
}

fn paint(colour: Colour, opacity: f32) -> AlphaColor<Srgb> {
    let [red, green, blue] = ON_PAPER.of(colour);
    AlphaColor::from_rgb8(red, green, blue).with_alpha(opacity)
}

fn point(at: Place) -> Point {
    Point::new(at.x.into(), at.y.into())
}

fn path(points: &[Place]) -> BezPath {
    let mut path = BezPath::new();
    for (nth, at) in points.iter().enumerate() {
        if nth == 0 {
            path.move_to(point(*at));
        } else {
            path.line_to(point(*at));
        }
    }
    path
}

//! A chart as a PDF of its own size, and on a page of a report.

use chart::{Chart, Colour, Drawing, ON_PAPER, Place, Shape, Size};
use chrono::NaiveDate;
use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Transform};
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::Font;

use super::{face, lay, set};
use crate::label::PdfError;
use crate::label::pdf::{font, glyphs, metadata};
use crate::typeface::Face;

/// Both weights of the typeface, as the PDF library takes them.
pub(crate) struct Fonts {
    regular: Font,
    bold: Font,
}

impl Fonts {
    pub(crate) fn new() -> Result<Self, PdfError> {
        Ok(Self {
            regular: font(Face::Regular)?,
            bold: font(Face::Bold)?,
        })
    }

    pub(crate) fn of(&self, face: Face) -> Font {
        match face {
            Face::Regular => self.regular.clone(),
            Face::Bold => self.bold.clone(),
        }
    }
}

/// The chart as a PDF whose page is as large as the chart, in points of 1/72 inch: shapes and selectable text.
/// The same chart and date give the same bytes.
///
/// # Errors
/// [`PdfError`] when the size is none that a page can have, or the PDF library fails.
pub fn pdf(chart: &Chart, size: Size, created: Option<NaiveDate>) -> Result<Vec<u8>, PdfError> {
    drawing_pdf(&chart.title, &lay(chart, size), created)
}

/// Any drawing as a PDF of this title: see [`pdf`].
///
/// # Errors
/// [`PdfError`] when the size is none that a page can have, or the PDF library fails.
pub fn drawing_pdf(
    title: &str,
    drawing: &Drawing,
    created: Option<NaiveDate>,
) -> Result<Vec<u8>, PdfError> {
    let size = drawing.size;
    let fonts = Fonts::new()?;
    let mut document = Document::new();
    document.set_metadata(metadata(title, created));
    let settings = PageSettings::from_wh(size.width, size.height)
        .ok_or_else(|| PdfError::new("the page has no size"))?;
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    draw(&mut surface, &fonts, drawing, Place { x: 0.0, y: 0.0 });
    surface.finish();
    page.finish();
    document
        .finish()
        .map_err(|error| PdfError::new(&error.to_string()))
}

/// Draws a chart with its upper left corner at a place, in points.
pub(crate) fn draw(surface: &mut Surface<'_>, fonts: &Fonts, drawing: &Drawing, at: Place) {
    surface.push_transform(&Transform::from_translate(at.x, at.y));
    for shape in &drawing.shapes {
        match shape {
            Shape::Line {
                points,
                width,
                dashes,
                colour,
            } => {
                if let Some(path) = path(points, false) {
                    surface.set_fill(None);
                    surface.set_stroke(Some(Stroke {
                        paint: paint(*colour).into(),
                        width: *width,
                        dash: dashes.map(|(length, gap)| StrokeDash {
                            array: vec![length, gap],
                            offset: 0.0,
                        }),
                        ..Stroke::default()
                    }));
                    surface.draw_path(&path);
                }
            }
            Shape::Band {
                upper,
                lower,
                colour,
            } => {
                let corners: Vec<Place> = upper.iter().chain(lower.iter().rev()).copied().collect();
                fill(surface, path(&corners, true), *colour, Shape::PALE);
            }
            Shape::Disc {
                centre,
                radius,
                colour,
            } => fill(surface, disc(*centre, *radius), *colour, 1.0),
            Shape::Filled { corners, colour } => fill(surface, path(corners, true), *colour, 1.0),
            Shape::Words(words) => {
                let (shaped, left, baseline) = set(words);
                surface.set_stroke(None);
                surface.set_fill(Some(filled(words.colour, 1.0)));
                surface.draw_glyphs(
                    Point::from_xy(left, baseline),
                    &glyphs(&shaped.glyphs),
                    fonts.of(face(words.bold)),
                    &words.text,
                    words.size,
                    false,
                );
            }
        }
    }
    surface.pop();
}

fn paint(colour: Colour) -> rgb::Color {
    let [red, green, blue] = ON_PAPER.of(colour);
    rgb::Color::new(red, green, blue)
}

fn filled(colour: Colour, opacity: f32) -> Fill {
    Fill {
        paint: paint(colour).into(),
        opacity: NormalizedF32::new(opacity).unwrap_or(NormalizedF32::ONE),
        ..Fill::default()
    }
}

fn fill(surface: &mut Surface<'_>, path: Option<Path>, colour: Colour, opacity: f32) {
    if let Some(path) = path {
        surface.set_stroke(None);
        surface.set_fill(Some(filled(colour, opacity)));
        surface.draw_path(&path);
    }
}

fn path(points: &[Place], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (nth, at) in points.iter().enumerate() {
        if nth == 0 {
            builder.move_to(at.x, at.y);
        } else {
            builder.line_to(at.x, at.y);
        }
    }
    if closed {
        builder.close();
    }
    builder.finish()
}

/// A circle of four curves, off by at most three parts in ten thousand (the usual constant, 4/3 · (√2 − 1)).
fn disc(centre: Place, radius: f32) -> Option<Path> {
    let Place { x, y } = centre;
    let (r, k) = (radius, radius * 0.552_284_8);
    let mut builder = PathBuilder::new();
    builder.move_to(x + r, y);
    builder.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
    builder.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
    builder.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
    builder.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
    builder.close();
    builder.finish()
}

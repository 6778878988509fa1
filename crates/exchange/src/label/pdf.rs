//! A layout as a PDF.

use std::error::Error;
use std::fmt;

use chrono::{Datelike as _, NaiveDate};
use krilla::Document;
use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Point, Rect as PdfRect};
use krilla::metadata::{DateTime, Metadata};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};

use super::geometry::Rect;
use super::layout::{Layout, PlacedQr, TextRun};
use crate::typeface::{Face, Glyph};

/// PDF units in a millimetre: 72 to the inch.
pub(crate) const UNITS: f32 = 72.0 / 25.4;
/// A hairline's width in millimetres.
const HAIRLINE: f32 = 0.1;
/// Its grey, from 0 (black) to 255.
const HAIRLINE_GREY: u8 = 150;

/// The PDF library could not write the document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PdfError(String);

impl fmt::Display for PdfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "The PDF could not be made: {}.", self.0)
    }
}

impl Error for PdfError {}

impl PdfError {
    pub(crate) fn new(why: &str) -> Self {
        Self(why.to_owned())
    }
}

/// Writes a layout as a PDF: vector shapes and selectable text, the fonts embedded as subsets.
/// The same layout and date give the same bytes. Print it at actual size (100 %).
///
/// # Errors
/// [`PdfError`] when a page is of no size that a PDF can have, or the library fails.
pub fn pdf(layout: &Layout, created: Option<NaiveDate>) -> Result<Vec<u8>, PdfError> {
    let regular = font(Face::Regular)?;
    let bold = font(Face::Bold)?;
    let mut document = Document::new();
    document.set_metadata(metadata("Labels", created));

    for page in &layout.pages {
        let settings = PageSettings::from_wh(layout.page.width * UNITS, layout.page.height * UNITS)
            .ok_or_else(|| PdfError("the page has no size".to_owned()))?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        if layout.cut_lines {
            draw_cut_lines(&mut surface, page.labels.iter().map(|label| label.outline));
        }
        surface.set_stroke(None);
        surface.set_fill(Some(Fill::default()));
        for label in &page.labels {
            for run in &label.runs {
                let font = match run.face {
                    Face::Regular => &regular,
                    Face::Bold => &bold,
                };
                draw_run(&mut surface, run, font);
            }
            if let Some(path) = qr_path(&label.qr) {
                surface.draw_path(&path);
            }
        }
    }
    document.finish().map_err(|err| PdfError(err.to_string()))
}

/// What a document says of itself.
pub(crate) fn metadata(title: &str, created: Option<NaiveDate>) -> Metadata {
    let metadata = Metadata::new()
        .title(title.to_owned())
        .creator("Binewright".to_owned());
    let Some(date) = created else {
        return metadata;
    };
    let year = u16::try_from(date.year()).unwrap_or_default();
    metadata.creation_date(
        DateTime::new(year)
            .month(date.month() as u8)
            .day(date.day() as u8),
    )
}

pub(crate) fn font(face: Face) -> Result<Font, PdfError> {
    Font::new(face.data().into(), 0)
        .ok_or_else(|| PdfError("the typeface could not be read".to_owned()))
}

fn draw_cut_lines(surface: &mut Surface<'_>, outlines: impl Iterator<Item = Rect>) {
    let mut builder = PathBuilder::new();
    for rect in outlines.filter_map(rect) {
        builder.push_rect(rect);
    }
    let Some(path) = builder.finish() else { return };
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke {
        paint: luma::Color::new(HAIRLINE_GREY).into(),
        width: HAIRLINE * UNITS,
        ..Stroke::default()
    }));
    surface.draw_path(&path);
}

/// Shaped glyphs as the PDF library takes them.
pub(crate) fn glyphs(shaped: &[Glyph]) -> Vec<KrillaGlyph> {
    shaped
        .iter()
        .map(|glyph| {
            KrillaGlyph::new(
                GlyphId::new(glyph.id),
                glyph.advance,
                glyph.x_offset,
                glyph.y_offset,
                0.0,
                glyph.range.clone(),
                None,
            )
        })
        .collect()
}

fn draw_run(surface: &mut Surface<'_>, run: &TextRun, font: &Font) {
    let start = Point::from_xy(run.x * UNITS, run.baseline * UNITS);
    surface.draw_glyphs(
        start,
        &glyphs(&run.glyphs),
        font.clone(),
        &run.text,
        run.size * UNITS,
        false,
    );
}

/// All dark modules as one path: a renderer then leaves no pale seams between them.
fn qr_path(qr: &PlacedQr) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (column, row, length) in qr.modules.bars() {
        let bar = Rect {
            x: qr.square.x + column as f32 * qr.module,
            y: qr.square.y + row as f32 * qr.module,
            width: length as f32 * qr.module,
            height: qr.module,
        };
        builder.push_rect(rect(bar)?);
    }
    builder.finish()
}

fn rect(rect: Rect) -> Option<PdfRect> {
    PdfRect::from_xywh(
        rect.x * UNITS,
        rect.y * UNITS,
        rect.width * UNITS,
        rect.height * UNITS,
    )
}

#[cfg(test)]
mod tests {
    use super::super::content::LabelContent;
    use super::super::layout::layout;
    use super::super::sheet::{Sheet, Slot};
    use super::*;

    fn made(created: Option<NaiveDate>) -> Vec<u8> {
        let content = LabelContent {
            code: "HB26-0001".to_owned(),
            lines: Vec::new(),
        };
        let layout = layout(&Sheet::presets()[0], Slot::FIRST, &[content]).unwrap();
        pdf(&layout, created).unwrap()
    }

    #[test]
    fn the_same_layout_gives_the_same_bytes() {
        let date = NaiveDate::from_ymd_opt(2026, 11, 2);
        assert_eq!(made(date), made(date));
        assert_eq!(made(None), made(None));
        let contains =
            |bytes: &[u8], part: &[u8]| bytes.windows(part.len()).any(|window| window == part);
        assert!(contains(&made(date), b"D:20261102"));
        assert!(!contains(&made(None), b"D:2"));
    }

    #[test]
    fn the_page_has_the_size_of_the_sheet() {
        let text = String::from_utf8_lossy(&made(None)).into_owned();
        let media = text
            .split("/MediaBox")
            .nth(1)
            .unwrap()
            .split(['[', ']'])
            .nth(1)
            .unwrap();
        let box_: Vec<f32> = media
            .split_whitespace()
            .map(|number| number.parse().unwrap())
            .collect();
        // A4 in PDF units: 210 and 297 mm × 72 / 25.4.
        assert!(
            (box_[2] - 595.276).abs() < 0.01 && (box_[3] - 841.89).abs() < 0.01,
            "{box_:?}"
        );
    }
}

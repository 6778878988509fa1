//! A large drawing over several pages, to be glued together.
//!
//! Neighbouring pages overlap by 8 mm: a thin rule on each shows where the next one begins, so that one edge is cut at
//! the rule and glued on the other.

use chart::{Anchor, Colour, Drawing, Place, Shape, Size, Words};
use chrono::NaiveDate;
use krilla::Document;
use krilla::geom::{PathBuilder, Rect, Transform};
use krilla::page::PageSettings;
use krilla::paint::FillRule;

use crate::charts::{Fonts, draw};
use crate::label::PdfError;
use crate::label::pdf::{UNITS, metadata};

/// A4, the shorter side and the longer, in points.
const PAPER: (f32, f32) = (210.0 * UNITS, 297.0 * UNITS);
const MARGIN: f32 = 10.0 * UNITS;
/// Room for the words at the foot of each page.
const FOOT: f32 = 6.0 * UNITS;
const OVERLAP: f32 = 8.0 * UNITS;
/// Drawn at this scale where it doesn't fit on one page.
const SCALE: f32 = 0.75;
/// A drawing that fits on one page at no less than this is made so small.
const LEAST_SCALE: f32 = 0.5;
/// No paper has more pages.
const MOST_PAGES: usize = 400;

/// How a drawing is cut in pages.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Cut {
    page: Size,
    scale: f32,
    rows: usize,
    columns: usize,
}

impl Cut {
    /// The room of a page for the drawing, in points of the paper.
    fn room(page: Size) -> Size {
        Size {
            width: page.width - 2.0 * MARGIN,
            height: page.height - 2.0 * MARGIN - FOOT,
        }
    }

    fn of(size: Size) -> Self {
        let ways = [PAPER, (PAPER.1, PAPER.0)].map(|(width, height)| {
            let page = Size { width, height };
            let room = Self::room(page);
            let fits = (room.width / size.width).min(room.height / size.height);
            if fits >= LEAST_SCALE {
                return Self {
                    page,
                    scale: fits.min(1.0),
                    rows: 1,
                    columns: 1,
                };
            }
            let pages = |whole: f32, room: f32| {
                let more = (whole * SCALE - room).max(0.0) / (room - OVERLAP);
                1 + more.ceil() as usize
            };
            Self {
                page,
                scale: SCALE,
                rows: pages(size.height, room.height),
                columns: pages(size.width, room.width),
            }
        });
        // Fewer pages, and of one page the larger drawing.
        let [upright, across] = ways;
        let pages = |cut: &Self| cut.rows * cut.columns;
        match pages(&upright).cmp(&pages(&across)) {
            std::cmp::Ordering::Less => upright,
            std::cmp::Ordering::Equal if upright.scale >= across.scale => upright,
            _ => across,
        }
    }
}

/// Writes a drawing as a PDF on A4, over as many pages as it takes. The same drawing and date give the same bytes.
///
/// # Errors
/// [`PdfError`] when the drawing would take more than 400 pages, or the PDF library fails.
pub fn pdf(
    title: &str,
    drawing: &Drawing,
    created: Option<NaiveDate>,
) -> Result<Vec<u8>, PdfError> {
    let cut = Cut::of(drawing.size);
    if cut.rows * cut.columns > MOST_PAGES {
        return Err(PdfError::new(
            "it would take more than 400 pages; show fewer plants",
        ));
    }
    let fonts = Fonts::new()?;
    let mut document = Document::new();
    document.set_metadata(metadata(title, created));
    let room = Cut::room(cut.page);
    let failed = || PdfError::new("the page has no size");
    for row in 0..cut.rows {
        for column in 0..cut.columns {
            let settings =
                PageSettings::from_wh(cut.page.width, cut.page.height).ok_or_else(failed)?;
            let mut page = document.start_page_with(settings);
            let mut surface = page.surface();
            let mut window = PathBuilder::new();
            window.push_rect(
                Rect::from_xywh(MARGIN, MARGIN, room.width, room.height).ok_or_else(failed)?,
            );
            let window = window.finish().ok_or_else(failed)?;
            surface.push_clip_path(&window, &FillRule::NonZero);
            let left = column as f32 * (room.width - OVERLAP);
            let top = row as f32 * (room.height - OVERLAP);
            surface.push_transform(&Transform::from_translate(MARGIN - left, MARGIN - top));
            surface.push_transform(&Transform::from_scale(cut.scale, cut.scale));
            draw(&mut surface, &fonts, drawing, Place { x: 0.0, y: 0.0 });
            surface.pop();
            surface.pop();
            surface.pop();
            let rim = rim(title, &cut, row, column, room);
            draw(&mut surface, &fonts, &rim, Place { x: 0.0, y: 0.0 });
            surface.finish();
            page.finish();
        }
    }
    document
        .finish()
        .map_err(|error| PdfError::new(&error.to_string()))
}

/// What stands on a page besides its part: which one it is, and where its neighbours begin.
fn rim(title: &str, cut: &Cut, row: usize, column: usize, room: Size) -> Drawing {
    let mut shapes = Vec::new();
    let mut rule = |from: (f32, f32), to: (f32, f32)| {
        shapes.push(Shape::Line {
            points: vec![
                Place {
                    x: from.0,
                    y: from.1,
                },
                Place { x: to.0, y: to.1 },
            ],
            width: 0.4,
            dashes: Some((2.0, 3.0)),
            colour: Colour::Muted,
        });
    };
    let (right, bottom) = (MARGIN + room.width, MARGIN + room.height);
    if column + 1 < cut.columns {
        rule((right - OVERLAP, MARGIN), (right - OVERLAP, bottom));
    }
    if row + 1 < cut.rows {
        rule((MARGIN, bottom - OVERLAP), (right, bottom - OVERLAP));
    }
    let pages = cut.rows * cut.columns;
    let text = if pages == 1 {
        title.to_owned()
    } else {
        format!(
            "{title} · page {} of {pages}: row {}, column {}. Cut at the dotted rules and glue on the next page.",
            row * cut.columns + column + 1,
            row + 1,
            column + 1
        )
    };
    shapes.push(Shape::Words(Words {
        text,
        at: Place {
            x: MARGIN,
            y: cut.page.height - MARGIN,
        },
        anchor: Anchor::Start,
        size: 8.0,
        bold: false,
        colour: Colour::Muted,
    }));
    Drawing {
        size: cut.page,
        frame: chart::Frame::whole(cut.page),
        shapes,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(width: f32, height: f32) -> Drawing {
        let size = Size { width, height };
        let word = |x: f32, y: f32| {
            Shape::Words(Words {
                text: format!("{x:.0} {y:.0}"),
                at: Place { x, y },
                anchor: Anchor::Middle,
                size: 12.0,
                bold: false,
                colour: Colour::Ink,
            })
        };
        Drawing {
            size,
            frame: chart::Frame::whole(size),
            shapes: vec![word(20.0, 20.0), word(width - 30.0, height - 20.0)],
        }
    }

    /// Every point of the drawing lies on a page, and the pages together are no larger than needed. The numbers of pages
    /// were worked out by hand from A4, the margins and the overlap.
    #[test]
    fn pages_cover_the_whole_drawing_and_no_more() {
        for (width, height, pages) in [
            (300.0, 200.0, 1),
            (1000.0, 700.0, 1),
            (3000.0, 700.0, 5),
            (700.0, 5000.0, 5),
            (6000.0, 4000.0, 36),
        ] {
            let size = Size { width, height };
            let cut = Cut::of(size);
            let room = Cut::room(cut.page);
            let covered = |pages: usize, room: f32| room + (pages - 1) as f32 * (room - OVERLAP);
            let across = covered(cut.columns, room.width);
            let down = covered(cut.rows, room.height);
            assert!(across + 0.01 >= width * cut.scale, "{size:?} {cut:?}");
            assert!(down + 0.01 >= height * cut.scale, "{size:?} {cut:?}");
            assert!(across - (room.width - OVERLAP) < width * cut.scale || cut.columns == 1);
            assert!(down - (room.height - OVERLAP) < height * cut.scale || cut.rows == 1);
            assert_eq!(cut.rows * cut.columns, pages, "{size:?} {cut:?}");
        }
    }

    #[test]
    fn a_drawing_is_written_in_pages_or_refused() {
        let count = |bytes: &[u8]| {
            let text = String::from_utf8_lossy(bytes).into_owned();
            text.matches("/Type/Page/").count() + text.matches("/Type /Page\n").count()
        };
        let one = pdf("Family tree", &drawing(500.0, 300.0), None).unwrap();
        let many = pdf("Family tree", &drawing(3000.0, 1400.0), None).unwrap();
        assert!(one.starts_with(b"%PDF-") && many.len() > one.len());
        assert!(
            count(&many) > count(&one),
            "{} {}",
            count(&many),
            count(&one)
        );
        let day = NaiveDate::from_ymd_opt(2026, 11, 28);
        assert_eq!(
            pdf("Family tree", &drawing(3000.0, 900.0), day).unwrap(),
            pdf("Family tree", &drawing(3000.0, 900.0), day).unwrap()
        );
        let error = pdf("Family tree", &drawing(90_000.0, 9_000.0), None).unwrap_err();
        assert!(error.to_string().contains("show fewer plants"));
    }
}

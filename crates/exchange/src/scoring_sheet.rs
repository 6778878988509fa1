//! Scoring sheets as a PDF. Where everything stands, and how it is read back, is told by the crate `scoring_sheet`.

use crate::label::pdf::{UNITS, font, glyphs, metadata};
use crate::label::{Level, Modules, PdfError};
use crate::typeface::{Face, Zero, shape};
use ::scoring_sheet::geometry::{Point, Rect, point};
use ::scoring_sheet::layout::{BUBBLE, CODE_WIDTH, Form, MARGIN, MODULE, PITCH};
use ::scoring_sheet::shapes::{self, FIGURE_HEIGHT, FIGURE_INK, Shape};
use ::scoring_sheet::{Column, Tag};
use chrono::NaiveDate;
use krilla::Document;
use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Point as PdfPoint, Rect as PdfRect};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::Font;

/// What stands on a scoring sheet besides its form.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetText {
    /// At the head of each page.
    pub name: String,
    /// Over each column.
    pub headings: Vec<Heading>,
    /// Before each row, of all pages.
    pub rows: Vec<String>,
}

/// What stands over a column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    /// Its name.
    pub name: String,
    /// What the levels mean, or the unit of a number.
    pub note: String,
    /// What stands in each bubble: a letter, or one or two figures.
    pub levels: Vec<String>,
}

/// Draws a scoring sheet: its pages, each with its code. Print it at actual size, though it is read at another too.
///
/// `sheet` is the id by which whoever reads it back finds what it was.
///
/// # Errors
/// [`PdfError`] when the PDF library fails.
pub fn pdf(
    form: &Form,
    text: &SheetText,
    sheet: u128,
    created: Option<NaiveDate>,
) -> Result<Vec<u8>, PdfError> {
    let fonts = [font(Face::Regular)?, font(Face::Bold)?];
    let mut document = Document::new();
    document.set_metadata(metadata(&text.name, created));
    for page in 0..form.pages() {
        let (width, height) = form.frame().size;
        let settings = PageSettings::from_wh(width as f32 * UNITS, height as f32 * UNITS)
            .ok_or_else(|| PdfError::new("the page has no size"))?;
        let mut paper = document.start_page_with(settings);
        let mut drawing = Drawing {
            surface: paper.surface(),
            fonts: &fonts,
        };
        let tag = Tag {
            sheet,
            page: page as u16,
            paper: form.paper(),
            landscape: form.landscape(),
        };
        drawing.code(form, &tag)?;
        for shape in shapes::frame(form)
            .into_iter()
            .chain(shapes::cells(form, page))
        {
            drawing.shape(shape);
        }
        drawing.head(form, text, page);
        drawing.columns(form, text, page);
        drawing.rows(form, text, page);
    }
    document
        .finish()
        .map_err(|error| PdfError::new(&error.to_string()))
}

/// How text stands to its place.
#[derive(Clone, Copy)]
enum Align {
    Left,
    Middle,
}

/// Text that is to be drawn.
struct Line<'a> {
    text: &'a str,
    face: Face,
    /// In millimetres.
    size: f64,
    ink: f64,
    align: Align,
    /// Made smaller, then cut, to be no wider.
    most: f64,
}

impl<'a> Line<'a> {
    fn new(text: &'a str, size: f64, most: f64) -> Self {
        Self {
            text,
            face: Face::Regular,
            size,
            ink: 1.0,
            align: Align::Left,
            most,
        }
    }

    fn bold(mut self) -> Self {
        self.face = Face::Bold;
        self
    }
}

struct Drawing<'a> {
    surface: Surface<'a>,
    fonts: &'a [Font; 2],
}

impl Drawing<'_> {
    fn head(&mut self, form: &Form, text: &SheetText, page: usize) {
        let room = form.frame().code.x - 6.0 - MARGIN;
        self.line(
            point(MARGIN, 23.5),
            &Line::new(&text.name, 6.0, room - 26.0).bold(),
        );
        let number = format!("Page {} of {}", page + 1, form.pages());
        self.line(
            point(form.frame().code.x - 28.0, 23.5),
            &Line::new(&number, 3.4, 24.0),
        );
        self.line(
            point(MARGIN, 29.0),
            &Line::new(
                "Fill in one bubble for each trait. A mistake: cross it out with long strokes, and fill in the right one.",
                3.0,
                room,
            ),
        );
        self.line(
            point(MARGIN, 33.0),
            &Line::new(
                "Photograph the whole page, one page at a time, with the four rings in sight.",
                3.0,
                room,
            ),
        );
        let [day, person] = form.head_boxes();
        for (part, word) in [(day, "Day"), (person, "Scored by")] {
            let left = if word == "Day" { MARGIN } else { part.x - 15.5 };
            self.line(point(left, part.y + 4.7), &Line::new(word, 3.4, 15.0));
        }
    }

    fn columns(&mut self, form: &Form, text: &SheetText, page: usize) {
        self.line(
            point(MARGIN, 49.5),
            &Line::new("Plant", 3.4, CODE_WIDTH).bold(),
        );
        for (column, heading) in text.headings.iter().enumerate() {
            let (left, right) = form.span(column);
            let room = right - left + 2.5;
            self.line(
                point(left, 49.5),
                &Line::new(&heading.name, 3.4, room).bold(),
            );
            for (each, part) in in_two(&heading.note, room / 1.05).iter().enumerate() {
                self.line(
                    point(left, 52.8 + 2.6 * each as f64),
                    &Line::new(part, 2.4, room),
                );
            }
            if form.rows_on(page).is_empty() {
                continue;
            }
            for (level, bubble) in heading.levels.iter().zip(form.cell(0, column).bubbles) {
                self.line(
                    point(bubble.x, 59.2),
                    &Line {
                        align: Align::Middle,
                        ..Line::new(level, 2.6, PITCH)
                    },
                );
            }
        }
    }

    fn rows(&mut self, form: &Form, text: &SheetText, page: usize) {
        for (row, of_all) in form.rows_on(page).enumerate() {
            if let Some(code) = text.rows.get(of_all) {
                self.line(
                    point(MARGIN, form.middle(row) + 1.2),
                    &Line::new(code, 3.6, CODE_WIDTH + 1.0).bold(),
                );
            }
            for (column, heading) in text.headings.iter().enumerate() {
                if let Column::Written = form.columns()[column] {
                    continue;
                }
                let bubbles = form.cell(row, column).bubbles;
                for (level, bubble) in heading.levels.iter().zip(bubbles) {
                    let size = FIGURE_HEIGHT / 0.66;
                    self.line(
                        bubble + point(0.0, 0.5 * FIGURE_HEIGHT),
                        &Line {
                            align: Align::Middle,
                            ink: FIGURE_INK,
                            ..Line::new(level, size, 1.5 * BUBBLE)
                        },
                    );
                }
            }
        }
    }

    fn line(&mut self, at: Point, line: &Line<'_>) {
        let (text, size) = fitted(line);
        let shaped = shape(line.face, &text, Zero::Plain);
        let left = match line.align {
            Align::Left => at.x,
            Align::Middle => at.x - 0.5 * f64::from(shaped.width) * size,
        };
        let font = match line.face {
            Face::Regular => &self.fonts[0],
            Face::Bold => &self.fonts[1],
        };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(line.ink)));
        self.surface.draw_glyphs(
            pdf_point(point(left, at.y)),
            &glyphs(&shaped.glyphs),
            font.clone(),
            &text,
            size as f32 * UNITS,
            false,
        );
    }

    fn shape(&mut self, shape: Shape) {
        match shape {
            Shape::Disc { middle, radius } => {
                let path = circle(middle, radius);
                self.filled(path.as_ref(), 1.0);
            }
            Shape::Ring {
                middle,
                radius,
                width,
                ink,
            } => {
                let path = circle(middle, radius);
                self.drawn(path.as_ref(), width, ink);
            }
            Shape::Line {
                from,
                to,
                width,
                ink,
            } => {
                let mut builder = PathBuilder::new();
                let [from, to] = [from, to].map(pdf_point);
                builder.move_to(from.x, from.y);
                builder.line_to(to.x, to.y);
                self.drawn(builder.finish().as_ref(), width, ink);
            }
            Shape::Box { rect, width, ink } => {
                let mut builder = PathBuilder::new();
                builder.extend_rect(rect);
                self.drawn(builder.finish().as_ref(), width, ink);
            }
        }
    }

    fn filled(&mut self, path: Option<&Path>, ink: f64) {
        let Some(path) = path else { return };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(ink)));
        self.surface.draw_path(path);
    }

    fn drawn(&mut self, path: Option<&Path>, width: f64, ink: f64) {
        let Some(path) = path else { return };
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(Stroke {
            paint: shade(ink).into(),
            width: width as f32 * UNITS,
            ..Stroke::default()
        }));
        self.surface.draw_path(path);
    }

    /// All dark modules as one path: a renderer then leaves no pale seams between them.
    fn code(&mut self, form: &Form, tag: &Tag) -> Result<(), PdfError> {
        let modules = Modules::encode(&tag.to_string(), Level::Q)
            .ok_or_else(|| PdfError::new("the code of the page is too long"))?;
        let square = form.frame().code;
        let mut builder = PathBuilder::new();
        for (column, row, length) in modules.bars() {
            builder.extend_rect(Rect {
                x: square.x + f64::from(column) * MODULE,
                y: square.y + f64::from(row) * MODULE,
                width: f64::from(length) * MODULE,
                height: MODULE,
            });
        }
        self.filled(builder.finish().as_ref(), 1.0);
        Ok(())
    }
}

trait ExtendRect {
    fn extend_rect(&mut self, rect: Rect);
}

impl ExtendRect for PathBuilder {
    fn extend_rect(&mut self, rect: Rect) {
        let units = f64::from(UNITS);
        let rect = PdfRect::from_xywh(
            (rect.x * units) as f32,
            (rect.y * units) as f32,
            (rect.width * units) as f32,
            (rect.height * units) as f32,
        );
        if let Some(rect) = rect {
            self.push_rect(rect);
        }
    }
}

/// A circle as four cubic curves: 4/3 (√2 − 1) is how far their handles reach, and no point is off by more than
/// 0.03 % of the radius.
fn circle(middle: Point, radius: f64) -> Option<Path> {
    let handle = radius * 4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0);
    let at = |x: f64, y: f64| pdf_point(middle + point(x, y));
    let mut builder = PathBuilder::new();
    let start = at(radius, 0.0);
    builder.move_to(start.x, start.y);
    let (mut from, mut way) = ((radius, 0.0), (0.0, handle));
    for _ in 0..4 {
        let to = (-from.1, from.0);
        let next = (-way.1, way.0);
        let [a, b, c] = [
            at(from.0 + way.0, from.1 + way.1),
            at(to.0 - next.0, to.1 - next.1),
            at(to.0, to.1),
        ];
        builder.cubic_to(a.x, a.y, b.x, b.y, c.x, c.y);
        (from, way) = (to, next);
    }
    builder.close();
    builder.finish()
}

fn pdf_point(p: Point) -> PdfPoint {
    PdfPoint::from_xy(p.x as f32 * UNITS, p.y as f32 * UNITS)
}

fn shade(ink: f64) -> luma::Color {
    luma::Color::new((255.0 * (1.0 - ink)).round() as u8)
}

fn fill(ink: f64) -> Fill {
    Fill {
        paint: shade(ink).into(),
        ..Fill::default()
    }
}

/// A line made smaller, to three quarters, then cut, to fit its room: its text and its size.
fn fitted(line: &Line<'_>) -> (String, f64) {
    let width = |text: &str| f64::from(shape(line.face, text, Zero::Plain).width);
    let whole = width(line.text);
    if whole * line.size <= line.most {
        return (line.text.to_owned(), line.size);
    }
    let smallest = 0.75 * line.size;
    if whole * smallest <= line.most {
        return (line.text.to_owned(), line.most / whole);
    }
    let mut kept: String = line.text.to_owned();
    while kept.pop().is_some() {
        let cut = format!("{}…", kept.trim_end());
        if width(&cut) * smallest <= line.most {
            return (cut, smallest);
        }
    }
    (String::new(), smallest)
}

/// A note in at most two lines, of about so many letters each.
fn in_two(note: &str, letters: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in note.split_whitespace() {
        let full = lines
            .last()
            .is_some_and(|line| !line.is_empty() && (line.len() + word.len()) as f64 > letters);
        if full && lines.len() < 2 {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::scoring_sheet::Paper;

    fn sheet(rows: usize) -> (Form, SheetText) {
        let form = Form::new(
            Paper::A4,
            vec![Column::Levels(9), Column::Levels(3), Column::Written],
            rows,
        )
        .unwrap();
        let text = SheetText {
            name: "Lower yard, week 30".to_owned(),
            headings: vec![
                Heading {
                    name: "Downy mildew on the leaves of the lower third".to_owned(),
                    note: "1 none, 9 all leaves dead".to_owned(),
                    levels: (1..=9).map(|level| level.to_string()).collect(),
                },
                Heading {
                    name: "Vigour".to_owned(),
                    note: "a poor b moderate c excellent".to_owned(),
                    levels: ["a", "b", "c"].map(str::to_owned).to_vec(),
                },
                Heading {
                    name: "Cones".to_owned(),
                    note: "g".to_owned(),
                    levels: Vec::new(),
                },
            ],
            rows: (0..rows).map(|row| format!("HB26-{row:04}")).collect(),
        };
        (form, text)
    }

    #[test]
    fn the_same_sheet_gives_the_same_bytes() {
        let (form, text) = sheet(40);
        let day = NaiveDate::from_ymd_opt(2026, 7, 1);
        let made = pdf(&form, &text, 7, day).unwrap();
        assert!(made.starts_with(b"%PDF-"));
        assert_eq!(made, pdf(&form, &text, 7, day).unwrap());
        assert_ne!(made, pdf(&form, &text, 8, day).unwrap());
    }

    #[test]
    fn text_that_is_too_long_is_made_smaller_then_cut() {
        let wide = Line::new("Downy mildew on the leaves", 3.4, 20.0);
        let (text, size) = fitted(&wide);
        assert!(text.ends_with('…') && text.starts_with("Downy"));
        assert!(f64::from(shape(Face::Regular, &text, Zero::Plain).width) * size <= 20.0);
        let (text, _) = fitted(&Line::new("Vigour", 3.4, 20.0));
        assert_eq!(text, "Vigour");
    }

    #[test]
    fn a_note_takes_two_lines_at_most() {
        assert_eq!(
            in_two("1 none, 9 all leaves", 9.0),
            ["1 none, 9", "all leaves"]
        );
        assert_eq!(in_two("a b c d e f g h", 3.0).len(), 2);
        assert_eq!(in_two("", 9.0), [""]);
    }

    #[test]
    fn a_circle_is_round() {
        assert!(circle(point(10.0, 10.0), 4.0).is_some());
    }
}

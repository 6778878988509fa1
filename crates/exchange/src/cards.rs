//! Cards to take along, six to a sheet of A4: a code with its QR code, what is known, and lines to write on.

use chart::{Anchor, Colour, Drawing, Frame, Place, Shape, Size, Words};
use chrono::NaiveDate;
use krilla::Document;
use krilla::page::PageSettings;

use crate::charts::{Fonts, draw};
use crate::label::pdf::{UNITS, metadata};
use crate::label::{Level, Modules, PdfError, QUIET_ZONE};
use crate::typeface::{Face, Zero, shape};

/// A card.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Card {
    /// In the QR code, and in large letters.
    pub code: String,
    /// Under it, in bold.
    pub title: String,
    /// What is known: a name and its value, a line each.
    pub known: Vec<(String, String)>,
    /// What is to be written in, a line each.
    pub to_write: Vec<String>,
}

/// A4, in points.
const PAGE: Size = Size {
    width: 210.0 * UNITS,
    height: 297.0 * UNITS,
};
const COLUMNS: usize = 2;
const ROWS: usize = 3;
const CARD: Size = Size {
    width: PAGE.width / COLUMNS as f32,
    height: PAGE.height / ROWS as f32,
};
/// Printers leave this much of a sheet white.
const MARGIN: f32 = 9.0 * UNITS;
/// The side of the QR code with its quiet zone.
const CODE: f32 = 26.0 * UNITS;
const TEXT: f32 = 10.0;
const LINE: f32 = 14.5;
/// Between lines that are written on, wide enough for a pencil in a glove.
const WRITTEN: f32 = 8.0 * UNITS;
/// No nearer than this.
const LEAST_WRITTEN: f32 = 5.5 * UNITS;

/// Draws cards as a PDF; they are cut apart at the thin rules. The same cards and date give the same bytes.
///
/// # Errors
/// [`PdfError`] when a code is too long for a QR code, or the PDF library fails.
pub fn pdf(title: &str, cards: &[Card], created: Option<NaiveDate>) -> Result<Vec<u8>, PdfError> {
    let fonts = Fonts::new()?;
    let mut document = Document::new();
    document.set_metadata(metadata(title, created));
    for sheet in cards.chunks(COLUMNS * ROWS) {
        let settings = PageSettings::from_wh(PAGE.width, PAGE.height)
            .ok_or_else(|| PdfError::new("the page has no size"))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        draw(&mut surface, &fonts, &cuts(), Place { x: 0.0, y: 0.0 });
        for (nth, card) in sheet.iter().enumerate() {
            let at = Place {
                x: (nth % COLUMNS) as f32 * CARD.width,
                y: (nth / COLUMNS) as f32 * CARD.height,
            };
            draw(&mut surface, &fonts, &lay(card)?, at);
        }
        surface.finish();
        page.finish();
    }
    document
        .finish()
        .map_err(|error| PdfError::new(&error.to_string()))
}

/// Where the cards are cut apart.
fn cuts() -> Drawing {
    let rule = |from: (f32, f32), to: (f32, f32)| Shape::Line {
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
    };
    let down = (1..COLUMNS).map(|column| {
        let x = column as f32 * CARD.width;
        rule((x, 0.0), (x, PAGE.height))
    });
    let across = (1..ROWS).map(|row| {
        let y = row as f32 * CARD.height;
        rule((0.0, y), (PAGE.width, y))
    });
    Drawing {
        size: PAGE,
        frame: Frame::whole(PAGE),
        shapes: down.chain(across).collect(),
    }
}

/// A card laid out, in points from its upper left corner.
fn lay(card: &Card) -> Result<Drawing, PdfError> {
    let modules = Modules::encode(&card.code, Level::Q)
        .ok_or_else(|| PdfError::new(&format!("the code {} is too long", card.code)))?;
    let mut shapes = Vec::new();
    let side = (modules.side() + 2 * QUIET_ZONE) as f32;
    let module = CODE / side;
    let (left, top) = (
        CARD.width - MARGIN - CODE + QUIET_ZONE as f32 * module,
        MARGIN + QUIET_ZONE as f32 * module - 3.0 * UNITS,
    );
    for (column, row, length) in modules.bars() {
        let (x, y) = (left + column as f32 * module, top + row as f32 * module);
        // A hair larger, so that a renderer leaves no pale seams between rows.
        let (right, bottom) = (x + length as f32 * module, y + 1.01 * module);
        shapes.push(Shape::Filled {
            corners: vec![
                Place { x, y },
                Place { x: right, y },
                Place {
                    x: right,
                    y: bottom,
                },
                Place { x, y: bottom },
            ],
            colour: Colour::Ink,
        });
    }
    let beside = CARD.width - 2.0 * MARGIN - CODE;
    let mut y = MARGIN + 9.0;
    let mut words = |text: &str, x: f32, y: f32, size: f32, bold: bool, most: f32| {
        shapes.push(Shape::Words(fitted(text, (x, y), size, bold, most)));
    };
    words(&card.code, MARGIN, y, 21.0, true, beside);
    y += 24.0;
    words(&card.title, MARGIN, y, 13.0, true, beside);
    y += 20.0;
    let whole = CARD.width - 2.0 * MARGIN;
    // What is to be written needs its room: what doesn't fit above it is left out, the last first.
    let lines = card.to_write.len() as f32;
    let foot = CARD.height - MARGIN - 4.0;
    let room = foot - lines * LEAST_WRITTEN - y;
    let fits = ((room / LINE).max(0.0) as usize).min(card.known.len());
    for (name, value) in &card.known[..fits] {
        let room = if y < MARGIN + CODE { beside } else { whole };
        words(&format!("{name}: {value}"), MARGIN, y, TEXT, false, room);
        y += LINE;
    }
    y = y.max(MARGIN + CODE - 4.0) - 0.4 * LINE;
    let step = ((foot - y) / lines.max(1.0)).min(WRITTEN);
    let mut rules = Vec::new();
    for name in &card.to_write {
        y += step;
        let width = TEXT * shape(Face::Regular, name, Zero::Plain).width;
        words(name, MARGIN, y, TEXT, false, whole);
        rules.push(Shape::Line {
            points: vec![
                Place {
                    x: MARGIN + width + 6.0,
                    y: y + 4.0,
                },
                Place {
                    x: MARGIN + whole,
                    y: y + 4.0,
                },
            ],
            width: 0.6,
            dashes: None,
            colour: Colour::Muted,
        });
    }
    shapes.extend(rules);
    Ok(Drawing {
        size: CARD,
        frame: Frame::whole(CARD),
        shapes,
    })
}

/// Words made smaller to fit, and cut where that isn't enough.
fn fitted(text: &str, (x, y): (f32, f32), size: f32, bold: bool, most: f32) -> Words {
    let face = if bold { Face::Bold } else { Face::Regular };
    let width = |text: &str| shape(face, text, Zero::Plain).width;
    let size = size.min(most / width(text).max(0.01)).max(0.7 * size);
    let mut text = text.to_owned();
    while size * width(&text) > most && text.chars().count() > 2 {
        text.pop();
        text.pop();
        text.push('…');
    }
    Words {
        text,
        at: Place { x, y },
        anchor: Anchor::Start,
        size,
        bold,
        colour: Colour::Ink,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn card(code: &str, known: usize) -> Card {
        Card {
            code: code.to_owned(),
            title: "AMB × a mix of three males with long codes and longer names".to_owned(),
            known: (0..known)
                .map(|nth| (format!("Line {nth}"), "words ".repeat(20)))
                .collect(),
            to_write: ["Bagged", "Pollinated", "Bags off", "Cones", "Remark"]
                .map(str::to_owned)
                .to_vec(),
        }
    }

    #[test]
    fn nothing_leaves_its_card() {
        for known in [0, 5, 7, 30] {
            let drawing = lay(&card("X26-001-WITH-A-LONG-CODE", known)).unwrap();
            for shape in &drawing.shapes {
                let (from, to) = match shape {
                    Shape::Words(words) => {
                        let face = if words.bold {
                            Face::Bold
                        } else {
                            Face::Regular
                        };
                        let width = words.size
                            * crate::typeface::shape(face, &words.text, Zero::Plain).width;
                        (
                            words.at,
                            Place {
                                x: words.at.x + width,
                                ..words.at
                            },
                        )
                    }
                    Shape::Line { points, .. } => (points[0], points[1]),
                    Shape::Filled { corners, .. } => (corners[0], corners[2]),
                    _ => continue,
                };
                assert!(
                    from.x >= MARGIN - 0.1 && to.x <= CARD.width - MARGIN + 0.1,
                    "{shape:?}"
                );
                assert!(
                    from.y > 5.0 * UNITS && to.y < CARD.height - 5.0 * UNITS,
                    "{shape:?}"
                );
            }
        }
    }

    #[test]
    fn seven_cards_take_two_sheets_and_the_same_bytes() {
        let cards: Vec<Card> = (0..7)
            .map(|nth| card(&format!("X26-{nth:03}"), 3))
            .collect();
        let day = NaiveDate::from_ymd_opt(2026, 6, 1);
        let made = pdf("Crossing cards", &cards, day).unwrap();
        assert_eq!(made, pdf("Crossing cards", &cards, day).unwrap());
        assert!(made.len() > pdf("Crossing cards", &cards[..6], day).unwrap().len());
        let error = pdf("Crossing cards", &[card(&"A".repeat(4000), 1)], day).unwrap_err();
        assert!(error.to_string().contains("is too long"));
    }
}

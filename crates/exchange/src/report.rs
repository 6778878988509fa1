//! A printed report: a title, sentences and tables, laid on as many pages as it takes.
//!
//! ```
//! use exchange::report::{Cells, Report, Section, pdf};
//!
//! let report = Report {
//!     title: "Crosses of 2027".to_owned(),
//!     sections: vec![Section {
//!         heading: "Who meets whom".to_owned(),
//!         sentences: vec!["Two crosses, 300 seeds.".to_owned()],
//!         charts: Vec::new(),
//!         table: Some(Cells {
//!             columns: vec![("Female", false), ("Seeds", true)],
//!             rows: vec![vec!["F-01".to_owned(), "200".to_owned()], vec!["F-02".to_owned(), "100".to_owned()]],
//!             ..Cells::default()
//!         }),
//!     }],
//! };
//! assert!(pdf(&report, None)?.starts_with(b"%PDF-"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod pages;

use chart::Chart;
use chrono::NaiveDate;
use krilla::Document;
use krilla::color::luma;
use krilla::geom::{PathBuilder, Point};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};

use crate::charts::{Fonts, draw};
use crate::label::PdfError;
use crate::label::pdf::{UNITS, glyphs, metadata};

/// Everything on paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// At the head of the first page, and small on the others.
    pub title: String,
    /// In order.
    pub sections: Vec<Section>,
}

/// A heading with what stands under it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Section {
    /// The heading.
    pub heading: String,
    /// Sentences, each a paragraph.
    pub sentences: Vec<String>,
    /// Charts under them.
    pub charts: Vec<Chart>,
    /// A table under these.
    pub table: Option<Cells>,
}

/// A table; a row has a cell for each column.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cells {
    /// Header of each column, and whether it holds figures, which stand to the right.
    pub columns: Vec<(&'static str, bool)>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
    /// Whether a pencil is to fill it in: rows are high, with a rule under each, and columns of empty cells are wide.
    pub to_write_in: bool,
}

/// Writes a report as a PDF on A4: selectable text, the fonts embedded as subsets. The same report and date give the
/// same bytes.
///
/// # Errors
/// [`PdfError`] when the PDF library fails.
pub fn pdf(report: &Report, created: Option<NaiveDate>) -> Result<Vec<u8>, PdfError> {
    let fonts = Fonts::new()?;
    let mut document = Document::new();
    document.set_metadata(metadata(&report.title, created));
    for page in pages::lay(report) {
        let settings = PageSettings::from_wh(pages::WIDTH * UNITS, pages::HEIGHT * UNITS)
            .ok_or_else(|| PdfError::new("the page has no size"))?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        surface.set_stroke(None);
        surface.set_fill(Some(Fill::default()));
        for run in &page.runs {
            surface.draw_glyphs(
                Point::from_xy(run.x * UNITS, run.baseline * UNITS),
                &glyphs(&run.shaped.glyphs),
                fonts.of(run.face),
                &run.text,
                run.size * UNITS,
                false,
            );
        }
        let mut rules = PathBuilder::new();
        for &(from, to, y) in &page.rules {
            rules.move_to(from * UNITS, y * UNITS);
            rules.line_to(to * UNITS, y * UNITS);
        }
        if let Some(path) = rules.finish() {
            surface.set_fill(None);
            surface.set_stroke(Some(Stroke {
                paint: luma::Color::new(150).into(),
                width: 0.15 * UNITS,
                ..Stroke::default()
            }));
            surface.draw_path(&path);
        }
        for (drawing, at) in &page.charts {
            draw(&mut surface, &fonts, drawing, *at);
        }
    }
    document
        .finish()
        .map_err(|err| PdfError::new(&err.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart() -> Chart {
        Chart {
            title: "Seeds by season".to_owned(),
            across: chart::Axis::years(2024, 2027),
            up: chart::Axis::from_nothing("", 300.0),
            series: vec![chart::Series {
                lines: vec![chart::Line::thick(vec![(2024.0, 100.0), (2027.0, 300.0)])],
                ..chart::Series::default()
            }],
        }
    }

    fn report(rows: usize) -> Report {
        Report {
            title: "Crosses of 2027".to_owned(),
            sections: vec![Section {
                heading: "Who meets whom".to_owned(),
                sentences: vec![
                    "A sentence that is long enough to be broken into lines. ".repeat(8),
                ],
                charts: vec![chart()],
                table: Some(Cells {
                    columns: vec![("Female", false), ("Why", false), ("Seeds", true)],
                    rows: (0..rows)
                        .map(|row| {
                            vec![
                                format!("F-{row:02}"),
                                "much to say ".repeat(12),
                                format!("{}", 10 * row),
                            ]
                        })
                        .collect(),
                    ..Cells::default()
                }),
            }],
        }
    }

    #[test]
    fn long_tables_run_over_pages_and_nothing_leaves_the_paper() {
        assert_eq!(pages::lay(&report(1)).len(), 1);
        let pages = pages::lay(&report(90));
        assert!(pages.len() > 2);
        for page in &pages {
            for run in &page.runs {
                let right = run.x + run.shaped.width * run.size;
                assert!(
                    run.x >= 14.9 && right <= pages::WIDTH - 14.9,
                    "{}",
                    run.text
                );
                assert!(
                    run.baseline > 10.0 && run.baseline < pages::HEIGHT - 8.0,
                    "{}",
                    run.text
                );
            }
            assert!(
                page.runs.iter().any(|run| run.text == "Seeds"),
                "each page repeats the header"
            );
        }
        let said = |text: &str| {
            pages
                .iter()
                .flat_map(|page| &page.runs)
                .filter(|run| run.text == text)
                .count()
        };
        assert_eq!(said("F-89"), 1);
    }

    #[test]
    fn the_same_report_gives_the_same_bytes() {
        let date = NaiveDate::from_ymd_opt(2026, 11, 2);
        assert_eq!(
            pdf(&report(40), date).unwrap(),
            pdf(&report(40), date).unwrap()
        );
        assert!(pdf(&report(40), None).unwrap().starts_with(b"%PDF-"));
    }
}

//! Where everything stands on a sheet, in millimetres from the top left corner of the page.
//!
//! A frame of marks runs round the page: a ring with a disc in it at each corner, and between them a string of small
//! discs, by which the reader follows a sheet that isn't flat. The QR code stands in the upper right corner. Under the
//! head there is one row a plant; a column has a bubble for each level, or a box to write in.

use crate::geometry::{Point, Rect, point};
use std::fmt;
use std::ops::Range;

/// From the edges of the paper to the middles of the marks. Printers leave about 5 mm white.
const FRAME: f64 = 11.5;
/// From the edges of the paper to what is printed inside the frame.
pub const MARGIN: f64 = 17.0;
/// A corner mark: a ring between two radii, white, a disc.
pub const CORNER_RING: (f64, f64) = (2.7, 4.0);
/// The disc in the middle of a corner mark.
pub const CORNER_DISC: f64 = 1.35;
/// A disc of the string between the corners.
pub const DOT: f64 = 1.2;
/// About so far apart are the discs of the string.
const DOT_SPACING: f64 = 20.0;
/// Modules along the side of the QR code: version 3 of ISO/IEC 18004, which holds 47 letters and figures at level Q.
pub const MODULES: u32 = 29;
/// A module of the QR code.
pub const MODULE: f64 = 0.85;
/// Radius of a bubble, to the middle of its outline.
pub const BUBBLE: f64 = 1.7;
/// Width of its outline.
pub const OUTLINE: f64 = 0.2;
/// From bubble to bubble.
pub const PITCH: f64 = 4.6;
/// From row to row.
pub const ROW: f64 = 6.6;
/// Where the first row begins.
pub const ROWS_FROM: f64 = 60.0;
/// Room for the code of a row.
pub const CODE_WIDTH: f64 = 30.0;
/// Between columns.
pub const GAP: f64 = 4.0;
/// A box to write a number in.
const BOX_WIDTH: f64 = 20.0;
/// No column is narrower: its name stands over it.
const NARROWEST: f64 = 15.0;
/// The most levels of a column.
pub const MOST_LEVELS: usize = 13;
/// The most pages of a sheet: what its code can name.
pub const MOST_PAGES: usize = 1000;

/// A size of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216 A4: 210 × 297 mm.
    A4,
    /// ANSI/ASME Y14.1 A, 'letter': 8.5 × 11 inches.
    Letter,
}

impl Paper {
    /// Width and height, upright.
    pub const fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// How a column is filled in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    /// By filling one of so many bubbles.
    Levels(usize),
    /// By writing in a box.
    Written,
}

impl Column {
    fn width(self) -> f64 {
        match self {
            Self::Levels(levels) => (levels as f64 * PITCH).max(NARROWEST),
            Self::Written => BOX_WIDTH,
        }
    }
}

/// A sheet that can't be laid out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoForm {
    /// The columns are too wide, by so many millimetres, even with the paper across.
    TooWide(u32),
    /// A column has too few or too many levels.
    Levels(usize),
    /// Nothing to fill in.
    Empty,
    /// It would have too many pages.
    TooLong,
}

impl fmt::Display for NoForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooWide(by) => write!(
                f,
                "The columns are {by} mm too wide for one page. Leave out a trait, or print it on a sheet of its own."
            ),
            Self::Levels(levels) => write!(
                f,
                "A column can have 2 to {MOST_LEVELS} bubbles, not {levels}. Let it be written as a number."
            ),
            Self::Empty => {
                f.write_str("There is nothing to fill in. Choose at least one plant and one trait.")
            }
            Self::TooLong => write!(
                f,
                "The sheet would have more than {MOST_PAGES} pages. Choose fewer plants."
            ),
        }
    }
}

impl std::error::Error for NoForm {}

/// A sheet: its paper, its columns, and how many rows it has in all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    paper: Paper,
    landscape: bool,
    columns: Vec<Column>,
    rows: usize,
}

/// What is filled in where a row and a column meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// All of it, with its surroundings: what is shown as a cut-out.
    pub around: Rect,
    /// The middles of its bubbles, lowest level first; none in a box to write in.
    pub bubbles: Vec<Point>,
    /// The box to write in.
    pub written: Option<Rect>,
}

impl Form {
    /// A sheet with these columns, upright if they fit so, else across.
    ///
    /// # Errors
    /// [`NoForm`] says what is wrong.
    pub fn new(paper: Paper, columns: Vec<Column>, rows: usize) -> Result<Self, NoForm> {
        if columns.is_empty() || rows == 0 {
            return Err(NoForm::Empty);
        }
        for column in &columns {
            if let Column::Levels(levels) = column
                && !(2..=MOST_LEVELS).contains(levels)
            {
                return Err(NoForm::Levels(*levels));
            }
        }
        let wanted = CODE_WIDTH
            + columns
                .iter()
                .map(|column| column.width() + GAP)
                .sum::<f64>();
        let (width, height) = paper.size();
        if wanted > height - 2.0 * MARGIN {
            let by = wanted - (height - 2.0 * MARGIN);
            return Err(NoForm::TooWide(by.ceil() as u32));
        }
        let form = Self {
            paper,
            landscape: wanted > width - 2.0 * MARGIN,
            columns,
            rows,
        };
        if form.pages() > MOST_PAGES {
            return Err(NoForm::TooLong);
        }
        Ok(form)
    }

    /// The paper.
    pub fn paper(&self) -> Paper {
        self.paper
    }

    /// Whether it lies across.
    pub fn landscape(&self) -> bool {
        self.landscape
    }

    /// Its columns.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// Rows in all.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Rows that a full page has.
    pub fn rows_of_a_page(&self) -> usize {
        let (_, height) = size(self.paper, self.landscape);
        ((height - MARGIN - ROWS_FROM) / ROW) as usize
    }

    /// How many pages there are.
    pub fn pages(&self) -> usize {
        self.rows.div_ceil(self.rows_of_a_page())
    }

    /// The rows on a page.
    pub fn rows_on(&self, page: usize) -> Range<usize> {
        let full = self.rows_of_a_page();
        let from = (page * full).min(self.rows);
        from..(from + full).min(self.rows)
    }

    /// The frame of each of its pages.
    pub fn frame(&self) -> Frame {
        Frame::new(self.paper, self.landscape)
    }

    /// Left and right edge of a column.
    pub fn span(&self, column: usize) -> (f64, f64) {
        let before: f64 = self.columns[..column]
            .iter()
            .map(|column| column.width() + GAP)
            .sum();
        let left = MARGIN + CODE_WIDTH + before + GAP;
        (left, left + self.columns[column].width())
    }

    /// The middle of a row of a page, its first being 0.
    pub fn middle(&self, row: usize) -> f64 {
        ROWS_FROM + (row as f64 + 0.5) * ROW
    }

    /// What is filled in where a row of a page, its first being 0, and a column meet.
    pub fn cell(&self, row: usize, column: usize) -> Cell {
        let (left, right) = self.span(column);
        let y = self.middle(row);
        let around = Rect {
            x: left,
            y: y - 0.5 * ROW,
            width: right - left,
            height: ROW,
        };
        match self.columns[column] {
            Column::Levels(levels) => Cell {
                around,
                bubbles: (0..levels)
                    .map(|level| point(left + (level as f64 + 0.5) * PITCH, y))
                    .collect(),
                written: None,
            },
            Column::Written => Cell {
                around,
                bubbles: Vec::new(),
                written: Some(around.grown(-0.5)),
            },
        }
    }

    /// The boxes in the head for the day and for the person, to be written in.
    pub fn head_boxes(&self) -> [Rect; 2] {
        [
            Rect {
                x: MARGIN + 10.0,
                y: 36.5,
                width: 32.0,
                height: 7.0,
            },
            Rect {
                x: MARGIN + 62.0,
                y: 36.5,
                width: 50.0,
                height: 7.0,
            },
        ]
    }
}

/// Width and height of paper as it lies.
pub fn size(paper: Paper, landscape: bool) -> (f64, f64) {
    let (width, height) = paper.size();
    if landscape {
        (height, width)
    } else {
        (width, height)
    }
}

/// The marks round a page, and its QR code: the same on each page of a paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    /// Width and height of the page.
    pub size: (f64, f64),
    /// The middles of the corner marks: upper left, upper right, lower right, lower left.
    pub corners: [Point; 4],
    /// The discs between them, from each corner to the next.
    pub dots: [Vec<Point>; 4],
    /// The modules of the QR code, without the white round them.
    pub code: Rect,
}

impl Frame {
    /// The frame of a paper.
    pub fn new(paper: Paper, landscape: bool) -> Self {
        let (width, height) = size(paper, landscape);
        let corners = [
            point(FRAME, FRAME),
            point(width - FRAME, FRAME),
            point(width - FRAME, height - FRAME),
            point(FRAME, height - FRAME),
        ];
        let dots = [0, 1, 2, 3].map(|edge| {
            let (from, to) = (corners[edge], corners[(edge + 1) % 4]);
            let steps = (from.distance(to) / DOT_SPACING).round() as usize;
            (1..steps)
                .map(|step| from.towards(to, step as f64 / steps as f64))
                .collect()
        });
        let side = f64::from(MODULES) * MODULE;
        Self {
            size: (width, height),
            corners,
            dots,
            code: Rect {
                x: width - MARGIN - 1.5 - side,
                y: MARGIN + 0.5,
                width: side,
                height: side,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn form() -> impl Strategy<Value = Form> {
        let column = prop_oneof![
            (2..=MOST_LEVELS).prop_map(Column::Levels),
            Just(Column::Written)
        ];
        let paper = prop_oneof![Just(Paper::A4), Just(Paper::Letter)];
        (paper, proptest::collection::vec(column, 1..6), 1..400_usize)
            .prop_filter_map("too wide", |(paper, columns, rows)| {
                Form::new(paper, columns, rows).ok()
            })
    }

    proptest! {
        #[test]
        fn nothing_leaves_the_margins_or_meets_its_neighbour(form in form()) {
            let (width, height) = form.frame().size;
            for column in 0..form.columns().len() {
                let cell = form.cell(form.rows_of_a_page() - 1, column);
                prop_assert!(cell.around.right() <= width - MARGIN + 1e-9);
                prop_assert!(cell.around.bottom() <= height - MARGIN + 1e-9);
                if column > 0 {
                    prop_assert!(cell.around.x >= form.span(column - 1).1 + GAP - 1e-9);
                }
                for bubble in &cell.bubbles {
                    prop_assert!(bubble.x - BUBBLE >= cell.around.x && bubble.x + BUBBLE <= cell.around.right());
                    prop_assert!(bubble.y - BUBBLE >= cell.around.y && bubble.y + BUBBLE <= cell.around.bottom());
                }
            }
        }

        #[test]
        fn each_row_stands_on_one_page(form in form()) {
            let rows: Vec<usize> = (0..form.pages()).flat_map(|page| form.rows_on(page)).collect();
            prop_assert_eq!(rows, (0..form.rows()).collect::<Vec<_>>());
            prop_assert!(form.rows_on(form.pages()).is_empty());
        }
    }

    #[test]
    fn the_code_keeps_its_white() {
        for paper in [Paper::A4, Paper::Letter] {
            for landscape in [false, true] {
                let frame = Frame::new(paper, landscape);
                // ISO/IEC 18004:2015, 6.3.8: four modules.
                let white = frame.code.grown(4.0 * MODULE);
                for dot in frame.dots.iter().flatten() {
                    let apart = (white.x - dot.x)
                        .max(dot.x - white.right())
                        .max(white.y - dot.y)
                        .max(dot.y - white.bottom());
                    assert!(apart > DOT, "{dot:?}");
                }
                assert!(white.bottom() < ROWS_FROM - 10.0);
            }
        }
    }

    #[test]
    fn what_does_not_fit_is_said() {
        let nine = Column::Levels(9);
        let upright = Form::new(Paper::A4, vec![nine; 3], 40).unwrap();
        assert!(!upright.landscape());
        assert_eq!((upright.rows_of_a_page(), upright.pages()), (33, 2));
        assert!(Form::new(Paper::A4, vec![nine; 4], 40).unwrap().landscape());
        let wide = Form::new(Paper::A4, vec![nine; 6], 40).unwrap_err();
        assert_eq!(
            wide.to_string(),
            "The columns are 40 mm too wide for one page. Leave out a trait, or print it on a sheet of its own."
        );
        assert_eq!(Form::new(Paper::A4, vec![], 4), Err(NoForm::Empty));
        assert_eq!(
            Form::new(Paper::A4, vec![Column::Levels(40)], 4),
            Err(NoForm::Levels(40))
        );
    }
}

//! Why a sheet cannot be laid out, and what was left off one that was.

use std::error::Error;
use std::fmt;

use super::geometry::{Size, millimetres};
use super::sheet::Slot;

/// Why nothing is printed: what is wrong and what would make it right.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// There is no label to print.
    NoLabels,
    /// A length of the page or label is zero, negative or no number.
    NotALength {
        /// Which length.
        name: &'static str,
        /// Its value, in millimetres.
        value: f32,
    },
    /// A margin or gap is negative or no number.
    NotASpace {
        /// Which margin or gap.
        name: &'static str,
        /// Its value, in millimetres.
        value: f32,
    },
    /// No rows or no columns.
    EmptyGrid,
    /// The page is larger than a PDF page may be.
    PageTooLarge {
        /// The page asked for.
        page: Size,
        /// The longest side allowed, in millimetres.
        largest: f32,
    },
    /// One label does not fit on the page.
    LabelLargerThanPage {
        /// The label asked for.
        label: Size,
        /// The page asked for.
        page: Size,
    },
    /// The rows or columns run off the page.
    GridOverruns {
        /// 'rows' or 'columns'.
        what: &'static str,
        /// How many.
        count: u32,
        /// Millimetres they take, with the margin before them.
        needed: f32,
        /// Millimetres the page has.
        available: f32,
    },
    /// The start is no place of the grid.
    StartOutside {
        /// The start asked for.
        start: Slot,
        /// Rows of the grid.
        rows: u32,
        /// Columns of the grid.
        columns: u32,
    },
    /// A label without a code.
    CodeEmpty {
        /// Which label, counted from 1.
        label: usize,
    },
    /// A code with a line break, tab or other control character, or with blanks at its ends.
    CodeUnprintable {
        /// Which label, counted from 1.
        label: usize,
        /// Its code.
        code: String,
    },
    /// A code longer than any QR code holds.
    CodeTooLong {
        /// Which label, counted from 1.
        label: usize,
        /// Its code's length in bytes.
        bytes: usize,
    },
    /// The label is too small for a QR code that reads.
    QrTooSmall {
        /// Which label, counted from 1.
        label: usize,
        /// Its code.
        code: String,
        /// The side of one module that the label has room for, in millimetres.
        module: f32,
        /// The smallest side that reads, in millimetres.
        smallest: f32,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoLabels => write!(f, "There is no label to print; select at least one record."),
            Self::NotALength { name, value } => {
                write!(
                    f,
                    "The {name} is {} mm; give a length above zero.",
                    millimetres(*value)
                )
            }
            Self::NotASpace { name, value } => {
                write!(
                    f,
                    "The {name} is {} mm; give zero or more.",
                    millimetres(*value)
                )
            }
            Self::EmptyGrid => write!(
                f,
                "The sheet has no rows or no columns; give at least one of each."
            ),
            Self::PageTooLarge { page, largest } => write!(
                f,
                "The page ({}) is larger than a PDF page may be; keep both sides within {} mm.",
                by(*page),
                millimetres(*largest)
            ),
            Self::LabelLargerThanPage { label, page } => write!(
                f,
                "The label ({}) is larger than the page ({}); choose a smaller label or a larger page.",
                by(*label),
                by(*page)
            ),
            Self::GridOverruns {
                what,
                count,
                needed,
                available,
            } => write!(
                f,
                "{count} {what} need {} mm with margin and gaps, but the page has {} mm; \
                 take fewer {what} or smaller spaces.",
                millimetres(*needed),
                millimetres(*available)
            ),
            Self::StartOutside {
                start,
                rows,
                columns,
            } => write!(
                f,
                "The start, row {} and column {}, is outside the sheet; it has {rows} rows and {columns} columns, \
                 counted from 1.",
                start.row, start.column
            ),
            Self::CodeEmpty { label } => write!(
                f,
                "Label {label} has no code; give its record a code first."
            ),
            Self::CodeUnprintable { label, code } => write!(
                f,
                "The code of label {label} ({code:?}) has a line break, a tab or blanks at its ends; \
                 rename the record without them."
            ),
            Self::CodeTooLong { label, bytes } => write!(
                f,
                "The code of label {label} is {bytes} bytes long, more than a QR code holds; give it a shorter code."
            ),
            Self::QrTooSmall {
                label,
                code,
                module,
                smallest,
            } => write!(
                f,
                "The QR code of label {label} ({code}) would have squares of {} mm; below {} mm it does not read \
                 reliably. Choose a larger label or a shorter code.",
                millimetres(*module),
                millimetres(*smallest)
            ),
        }
    }
}

impl Error for Refusal {}

fn by(size: Size) -> String {
    format!(
        "{} × {} mm",
        millimetres(size.width),
        millimetres(size.height)
    )
}

/// Something of one label that did not come out whole. The rest of the sheet stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Which label, counted from 0 in the order given.
    pub label: usize,
    /// Its code.
    pub code: String,
    /// Which field.
    pub field: &'static str,
    /// What is the matter with it.
    pub problem: Problem,
}

/// What is the matter with a field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// It does not fit at the smallest readable size and is left off whole.
    DoesNotFit,
    /// The typeface has no shape for this character; an empty box stands in its place.
    NoShape(char),
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (number, code, field) = (self.label + 1, &self.code, self.field);
        match self.problem {
            Problem::DoesNotFit => write!(
                f,
                "Label {number} ({code}): the {field} does not fit at a readable size and is left off. \
                 Choose a larger label or shorten it."
            ),
            Problem::NoShape(character) => write!(
                f,
                "Label {number} ({code}): the typeface has no '{character}', so the {field} prints an empty box for it. \
                 Write it another way."
            ),
        }
    }
}

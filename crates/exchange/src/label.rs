//! Sheets of labels: plain data in, a layout in millimetres out, and from it a PDF.
//!
//! [`layout`] is pure and does all the fitting; [`pdf`] prints a [`Layout`] and the window
//! draws the same one, so that what is seen is what is printed. Lengths are millimetres from the
//! top left corner of the page throughout, text sizes too (1 point = 25.4 / 72 mm).
//!
//! ```
//! use exchange::label::{LabelContent, LabelLine, Sheet, Slot, layout, pdf};
//!
//! let label = LabelContent {
//!     code: "BX26-014".to_owned(),
//!     lines: vec![LabelLine::Count { number: 80, noun: "seeds".to_owned(), approximate: false }],
//! };
//! let sheet = &Sheet::presets()[0];
//! let layout = layout(sheet, Slot { row: 2, column: 3 }, &[label])?;
//! assert!(layout.findings.is_empty());
//! let bytes = pdf(&layout, None)?;
//! assert!(bytes.starts_with(b"%PDF-"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod arrange;
mod content;
mod flow;
mod geometry;
mod layout;
pub(crate) mod pdf;
mod qr;
mod refusal;
mod sheet;

pub use arrange::SMALLEST_MODULE;
pub use content::{LabelContent, LabelLine};
pub use geometry::{Rect, Size};
pub use layout::{Field, Layout, Page, PlacedLabel, PlacedQr, TextRun, layout};
pub use pdf::{PdfError, pdf};
pub use qr::{Level, Modules, QUIET_ZONE};
pub use refusal::{Finding, Problem, Refusal};
pub use sheet::{Sheet, Slot};

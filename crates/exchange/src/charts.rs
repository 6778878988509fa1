//! Charts as files: SVG, PNG and PDF, each the same drawing, in the typeface of all paper.
//!
//! ```
//! use chart::{Axis, Chart, Line, Series, Size};
//! use exchange::charts;
//!
//! let chart = Chart {
//!     title: "Seeds sown".to_owned(),
//!     across: Axis::years(2025, 2026),
//!     up: Axis::from_nothing("", 300.0),
//!     series: vec![Series {
//!         lines: vec![Line::thick(vec![(2025.0, 300.0), (2026.0, 180.0)])],
//!         ..Series::default()
//!     }],
//! };
//! let size = Size { width: 480.0, height: 270.0 };
//! assert!(charts::svg(&chart, size).contains("Seeds sown"));
//! assert!(charts::pdf(&chart, size, None)?.starts_with(b"%PDF-"));
//! assert_eq!(&charts::png(&chart, size, 2.0)?[1..4], b"PNG");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod pdf;
mod png;

use chart::{Anchor, Chart, Drawing, ON_PAPER, Size, Words};

pub(crate) use pdf::{Fonts, draw};
pub use pdf::{drawing_pdf, pdf};
pub use png::{PngError, drawing_png, png};

use crate::typeface::{Face, Shaped, Zero, shape};

/// Lays a chart out in the typeface of all paper.
pub(crate) fn lay(chart: &Chart, size: Size) -> Drawing {
    chart.lay(size, &width_of)
}

/// The chart as an SVG file, `size` in CSS pixels. Its words are text, in the typeface of all paper where the machine
/// has it.
pub fn svg(chart: &Chart, size: Size) -> String {
    drawing_svg(&lay(chart, size))
}

/// Any drawing as an SVG file: see [`svg`].
pub fn drawing_svg(drawing: &Drawing) -> String {
    drawing.svg(&ON_PAPER, "'Source Sans 3', 'Source Sans Pro', sans-serif")
}

/// How wide words are in the typeface of all paper, in points: for whoever lays out a drawing.
pub fn width_of(text: &str, size: f32, bold: bool) -> f32 {
    size * shape(face(bold), text, Zero::Plain).width
}

#[cfg(test)]
mod tests;

const fn face(bold: bool) -> Face {
    if bold { Face::Bold } else { Face::Regular }
}

/// Words shaped, and where their baseline begins.
fn set(words: &Words) -> (Shaped, f32, f32) {
    let shaped = shape(face(words.bold), &words.text, Zero::Plain);
    let width = shaped.width * words.size;
    let left = match words.anchor {
        Anchor::Start => words.at.x,
        Anchor::Middle => words.at.x - width / 2.0,
        Anchor::End => words.at.x - width,
    };
    let baseline = words.at.y + crate::typeface::CAP_HEIGHT / 2.0 * words.size;
    (shaped, left, baseline)
}

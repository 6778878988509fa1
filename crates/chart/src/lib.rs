//! A chart described once, and drawn wherever it is wanted.
//!
//! A [`Chart`] says what is shown: two axes and a few series. [`Chart::lay`] turns it into a [`Drawing`]: lines, bands,
//! marks and words at places in a rectangle, in the colours of a role rather than of a screen. The window, a PDF and an
//! SVG file each paint the same drawing.
//!
//! ```
//! use chart::{Axis, Chart, Line, ON_PAPER, Series, Size};
//!
//! let chart = Chart {
//!     title: "Seeds sown".to_owned(),
//!     across: Axis::years(2024, 2026),
//!     up: Axis::figures("", 0.0, 300.0),
//!     series: vec![Series {
//!         name: "seeds".to_owned(),
//!         lines: vec![Line::thick(vec![(2024.0, 120.0), (2025.0, 300.0), (2026.0, 180.0)])],
//!         ..Series::default()
//!     }],
//! };
//! let drawing = chart.lay(Size { width: 400.0, height: 240.0 }, &|text, size, _| 0.5 * size * text.len() as f32);
//! assert!(drawing.svg(&ON_PAPER, "sans-serif").starts_with("<svg"));
//! ```

mod axis;
mod layout;
mod svg;

pub use axis::{Axis, Steps};
pub use layout::{Anchor, Colour, Drawing, Frame, Place, Shape, Size, Words};
pub use svg::{ON_PAPER, Palette};

/// What a chart shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// What it answers, above it.
    pub title: String,
    /// What runs across.
    pub across: Axis,
    /// What runs up.
    pub up: Axis,
    /// In order; the place in it gives a series its colour, dashes and mark.
    pub series: Vec<Series>,
}

/// One series.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// At the end of its line; empty for none.
    pub name: String,
    /// Its lines.
    pub lines: Vec<Line>,
    /// Where its mark stands.
    pub marks: Vec<(f64, f64)>,
    /// A pale band, from the first to the last point across.
    pub band: Vec<Band>,
    /// Where its line ends, beside which its name is written; where nothing is said, at its last mark.
    pub end: Option<f64>,
}

/// A line through points.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// From first to last.
    pub points: Vec<(f64, f64)>,
    /// Its width in points.
    pub width: f32,
    /// Whether it has the dashes of its series; else it is drawn through.
    pub dashed: bool,
}

impl Line {
    /// The line of a series: 2 points wide, with its dashes.
    pub const fn thick(points: Vec<(f64, f64)>) -> Self {
        Self {
            points,
            width: 2.0,
            dashed: true,
        }
    }
}

/// A band's lower and upper end at a place across.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Across.
    pub at: f64,
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
}

#[cfg(test)]
mod tests;

//! Where code, QR code and lines go within one label.

use super::flow::{self, FittedText, LARGEST_LINE, MeasuredLine, SMALLEST_LINE};
use super::geometry::{Rect, Size};
use super::qr::{Level, Modules, QUIET_ZONE};
use crate::typeface::{Face, Shaped, Zero, shape};

/// Smallest size of a code in millimetres of em: 8 points (common practice).
pub(crate) const SMALLEST_CODE: f32 = 8.0 * 25.4 / 72.0;
/// Smallest side of a QR module in millimetres: four dots of a 300 dpi printer (common practice
/// for readers at arm's length).
pub const SMALLEST_MODULE: f32 = 0.33;
/// Sides of a module to aim for, in millimetres: beyond the first a QR code reads no better, the
/// others leave more room for the lines.
pub(crate) const LARGEST_MODULES: [f32; 3] = [1.2, 0.8, 0.55];
/// How far letters hang below their baseline, in em.
const DESCENT: f32 = 0.25;
const QUIET: f32 = QUIET_ZONE as f32;

/// A label's content, measured at 1 em.
pub(crate) struct Measured {
    pub(crate) code: Shaped,
    pub(crate) lines: Vec<MeasuredLine>,
    /// The code at level Q, and at M for where Q's modules would be too small.
    pub(crate) symbols: [Modules; 2],
}

impl Measured {
    /// Measures a code and its lines; `None` when no QR code holds the code.
    pub(crate) fn new(code: &str, lines: Vec<MeasuredLine>) -> Option<Self> {
        let robust = Modules::encode(code, Level::Q);
        let usual = Modules::encode(code, Level::M)?;
        Some(Self {
            code: shape(Face::Bold, code, Zero::Slashed),
            lines,
            symbols: [robust.unwrap_or_else(|| usual.clone()), usual],
        })
    }
}

/// The three ways to arrange a label. A job takes the one that lets all its labels be read best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Arrangement {
    /// The code across the label, beneath it the lines and, at the right, the QR code.
    Banner,
    /// The QR code over the full height at the right, the code and the lines beside it.
    Side,
    /// Code, lines and QR code one under the other.
    Column,
}

impl Arrangement {
    pub(crate) const ALL: [Self; 3] = [Self::Banner, Self::Side, Self::Column];

    /// Share of the inner height that the code's ink may take when there are lines.
    fn code_share(self) -> f32 {
        match self {
            Self::Banner => 0.32,
            Self::Side => 0.42,
            Self::Column => 0.2,
        }
    }
}

/// The parts of a label; millimetres from the label's top left corner.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    /// The code's size, in millimetres of em.
    pub(crate) code_size: f32,
    /// The box of the code's ink.
    pub(crate) code: Rect,
    /// The box of the lines, from the top of the first capitals to the last baseline.
    pub(crate) lines: Rect,
    /// Which of the two symbols.
    pub(crate) symbol: usize,
    /// The box of the QR code's modules, without the quiet zone.
    pub(crate) qr: Rect,
    /// The side of one module.
    pub(crate) module: f32,
}

/// The label to be filled, and what is kept free of ink.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Blank {
    pub(crate) label: Size,
    /// Kept free at left and right, and at top and bottom.
    pub(crate) margin: Size,
    /// Between code, lines and QR code.
    gap: f32,
}

impl Blank {
    /// A label whose margin is in proportion, and at least `unprintable`.
    pub(crate) fn new(label: Size, unprintable: Size) -> Self {
        let gap = (0.07 * label.width.min(label.height)).clamp(1.5, 4.0);
        let margin = Size::new(gap.max(unprintable.width), gap.max(unprintable.height));
        Self { label, margin, gap }
    }

    fn inner(self) -> Size {
        Size::new(
            self.label.width - 2.0 * self.margin.width,
            self.label.height - 2.0 * self.margin.height,
        )
    }
}

/// The largest module with which `side` modules fit a span, when what lies before and after
/// keeps at least so many millimetres and the quiet zone.
fn module_for(side: f32, span: f32, before: f32, after: f32) -> f32 {
    let exact = (span - before - after) / side;
    let quiet_before = (span - after) / (side + QUIET);
    let quiet_after = (span - before) / (side + QUIET);
    let quiet_both = span / (side + 2.0 * QUIET);
    exact.min(quiet_before).min(quiet_after).min(quiet_both)
}

/// How large code and module may become, in millimetres.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Largest {
    pub(crate) code: f32,
    pub(crate) module: f32,
}

/// Arranges a label, code and QR code as large as they fit within limits. Tries the stronger error
/// correction first.
///
/// # Errors
/// The module's side when it comes out below [`SMALLEST_MODULE`].
pub(crate) fn frame(
    arrangement: Arrangement,
    blank: Blank,
    measured: &Measured,
    largest: Largest,
) -> Result<Frame, f32> {
    let mut best = 0.0_f32;
    for (symbol, modules) in measured.symbols.iter().enumerate() {
        let side = modules.side() as f32;
        let arranging = Arranging {
            arrangement,
            blank,
            measured,
            largest,
            symbol,
            side,
        };
        let frame = match arrangement {
            Arrangement::Banner | Arrangement::Column => arranging.stacked(),
            Arrangement::Side => arranging.beside(),
        };
        if frame.module >= SMALLEST_MODULE {
            return Ok(frame);
        }
        best = best.max(frame.module);
    }
    Err(best)
}

/// What one arrangement of one label is made from.
struct Arranging<'a> {
    arrangement: Arrangement,
    blank: Blank,
    measured: &'a Measured,
    largest: Largest,
    symbol: usize,
    /// Modules along a side of the QR code.
    side: f32,
}

impl Arranging<'_> {
    fn code_size(&self, width: f32, height: f32) -> f32 {
        let ink = self.measured.code.ink;
        (width / ink.width())
            .min(height / ink.height())
            .min(self.largest.code)
            .max(0.0)
    }

    fn code_box(&self, code_size: f32, y: f32) -> Rect {
        let ink = self.measured.code.ink;
        let x = self.blank.margin.width;
        Rect {
            x,
            y,
            width: code_size * ink.width(),
            height: code_size * ink.height(),
        }
    }

    /// The code on top, the QR code at the bottom; the lines beside it or between the two.
    fn stacked(&self) -> Frame {
        let Blank { label, margin, gap } = self.blank;
        let (side, inner) = (self.side, self.blank.inner());
        let code_size = self.code_size(inner.width, inner.height * self.arrangement.code_share());
        let code = self.code_box(code_size, margin.height);
        let under = code.bottom();
        let has_lines = !self.measured.lines.is_empty();
        let beside = has_lines && self.arrangement == Arrangement::Banner;
        let between = has_lines && self.arrangement == Arrangement::Column;

        let across = if beside {
            0.45 * inner.width / side
        } else {
            module_for(side, label.width, margin.width, margin.width)
        };
        let down = if between {
            0.5 * (label.height - under) / side
        } else {
            module_for(side, label.height - under, gap, margin.height)
        };
        let module = across.min(down).min(self.largest.module);
        let quiet = QUIET * module;
        let (edge_across, edge_down) = (quiet.max(margin.width), quiet.max(margin.height));
        let square = side * module;
        let qr = Rect {
            x: if beside {
                label.width - edge_across - square
            } else {
                edge_across
            },
            y: label.height - edge_down - square,
            width: square,
            height: square,
        };
        let left = margin.width;
        let lines = if beside {
            let top = under + gap.max(quiet);
            Rect {
                x: left,
                y: top,
                width: qr.x - quiet.max(gap) - left,
                height: qr.bottom() - top,
            }
        } else {
            let top = under + gap;
            // What hangs below the last baseline keeps out of the quiet zone too.
            let descent = DESCENT * largest_line(code_size);
            Rect {
                x: left,
                y: top,
                width: inner.width,
                height: qr.y - quiet.max(gap) - descent - top,
            }
        };
        Frame {
            code_size,
            code,
            lines,
            symbol: self.symbol,
            qr,
            module,
        }
    }

    /// The QR code at the right over the full height, all text to its left.
    fn beside(&self) -> Frame {
        let Blank { label, margin, gap } = self.blank;
        let (side, inner) = (self.side, self.blank.inner());
        let module = module_for(side, label.height, margin.height, margin.height)
            .min(0.42 * inner.width / side)
            .min(self.largest.module);
        let quiet = QUIET * module;
        let square = side * module;
        let qr = Rect {
            x: label.width - quiet.max(margin.width) - square,
            y: (label.height - square) / 2.0,
            width: square,
            height: square,
        };
        let width = qr.x - quiet.max(gap) - margin.width;
        let has_lines = !self.measured.lines.is_empty();
        let share = if has_lines {
            self.arrangement.code_share()
        } else {
            1.0
        };
        let code_size = self.code_size(width, inner.height * share);
        let height = code_size * self.measured.code.ink.height();
        let middle = (label.height - height) / 2.0;
        let code = self.code_box(code_size, if has_lines { margin.height } else { middle });
        let top = code.bottom() + gap;
        let lines = Rect {
            x: margin.width,
            y: top,
            width,
            height: label.height - margin.height - top,
        };
        Frame {
            code_size,
            code,
            lines,
            symbol: self.symbol,
            qr,
            module,
        }
    }
}

/// The code leads: lines stay well below its size.
fn largest_line(code_size: f32) -> f32 {
    (0.6 * code_size).clamp(SMALLEST_LINE, LARGEST_LINE)
}

/// The lines that fit a frame at a readable size, and their size; the others' indices.
pub(crate) fn fit_lines(
    frame: &Frame,
    lines: &[MeasuredLine],
) -> (Vec<MeasuredLine>, Option<FittedText>, Vec<usize>) {
    let largest = largest_line(frame.code_size);
    let fit =
        |lines: &[MeasuredLine]| flow::fit(lines, frame.lines.width, frame.lines.height, largest);
    // First a line that would not fit even alone goes, so that it doesn't take others with it.
    let (mut kept, alone): (Vec<_>, Vec<_>) = lines
        .iter()
        .cloned()
        .partition(|line| fit(std::slice::from_ref(line)).is_some());
    let mut left_off: Vec<usize> = alone.iter().map(|line| line.index).collect();
    while !kept.is_empty() {
        let fitted = fit(&kept);
        if fitted.is_some() {
            left_off.sort_unstable();
            return (kept, fitted, left_off);
        }
        left_off.extend(kept.pop().map(|line| line.index));
    }
    left_off.sort_unstable();
    (kept, None, left_off)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: Largest = Largest {
        code: 100.0,
        module: 1.2,
    };

    fn blank(width: f32, height: f32) -> Blank {
        Blank::new(Size::new(width, height), Size::new(0.0, 0.0))
    }

    fn measured(code: &str) -> Measured {
        Measured::new(code, Vec::new()).unwrap()
    }

    #[test]
    fn modules_keep_their_quiet_zone_within_the_label() {
        for (width, height) in [
            (70.0, 37.0),
            (100.0, 15.0),
            (25.0, 25.0),
            (30.0, 80.0),
            (105.0, 148.0),
        ] {
            for arrangement in Arrangement::ALL {
                let Ok(frame) = frame(
                    arrangement,
                    blank(width, height),
                    &measured("HB26-0123-045"),
                    FREE,
                ) else {
                    continue;
                };
                let quiet = QUIET * frame.module - 1e-3;
                let context = format!("{arrangement:?} on {width} × {height}: {frame:?}");
                assert!(frame.qr.x >= quiet && frame.qr.y >= quiet, "{context}");
                assert!(
                    width - frame.qr.right() >= quiet && height - frame.qr.bottom() >= quiet,
                    "{context}"
                );
                let beside = frame.qr.x - frame.code.right() >= quiet;
                let under = frame.qr.y - frame.code.bottom() >= quiet;
                assert!(beside || under, "{context}");
            }
        }
    }

    /// 16 alphanumeric characters fill version 1 at level Q; the 17th needs version 2 (25 modules)
    /// at Q but still fits version 1 (21 modules) at M (ISO/IEC 18004:2015, table 7).
    #[test]
    fn the_weaker_correction_serves_where_the_stronger_would_not_read() {
        let long = measured("HB26-0123-0456789");
        let roomy = frame(Arrangement::Side, blank(60.0, 25.0), &long, FREE).unwrap();
        assert_eq!(long.symbols[roomy.symbol].level(), Level::Q);
        let tight = frame(Arrangement::Side, blank(60.0, 10.0), &long, FREE).unwrap();
        assert_eq!(long.symbols[tight.symbol].level(), Level::M);
        assert!(tight.module >= SMALLEST_MODULE);
        let refused = frame(Arrangement::Side, blank(60.0, 9.0), &long, FREE).unwrap_err();
        assert!(refused < SMALLEST_MODULE && refused > 0.2, "{refused}");
    }
}

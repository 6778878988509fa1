//! Where code, QR code and lines go within one label.

use super::flow::{self, Fit, MeasuredLine};
use super::geometry::{Rect, Size};
use super::qr::{Level, Modules, QUIET_ZONE};
use crate::typeface::{Face, Shaped, Zero, shape};

/// Smallest size of a code in millimetres of em: 8 points (common practice).
pub(crate) const SMALLEST_CODE: f32 = 8.0 * 25.4 / 72.0;
/// Smallest side of a QR module in millimetres: four dots of a 300 dpi printer (common practice
/// for readers at arm's length).
pub const SMALLEST_MODULE: f32 = 0.33;
/// Beyond this a QR code reads no better and only takes room, in millimetres.
const LARGEST_MODULE: f32 = 1.2;
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
            Self::Side => 0.45,
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

/// The margin kept free of ink: in proportion to the label, within what printers miss by.
fn padding(label: Size) -> f32 {
    (0.07 * label.width.min(label.height)).clamp(1.2, 4.0)
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

/// Arranges a label, the code as large as it fits but no larger than `largest_code` (in
/// millimetres of em). Tries the stronger error correction first.
///
/// # Errors
/// The module's side when it comes out below [`SMALLEST_MODULE`].
pub(crate) fn frame(
    arrangement: Arrangement,
    label: Size,
    measured: &Measured,
    largest_code: f32,
) -> Result<Frame, f32> {
    let mut best = f32::MIN;
    for (symbol, modules) in measured.symbols.iter().enumerate() {
        let arranging = Arranging {
            arrangement,
            label,
            measured,
            largest_code,
            symbol,
            side: modules.side() as f32,
            pad: padding(label),
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
    Err(best.max(0.0))
}

/// What one arrangement of one label is made from.
struct Arranging<'a> {
    arrangement: Arrangement,
    label: Size,
    measured: &'a Measured,
    largest_code: f32,
    symbol: usize,
    /// Modules along a side of the QR code.
    side: f32,
    pad: f32,
}

impl Arranging<'_> {
    fn inner(&self) -> Size {
        Size::new(
            self.label.width - 2.0 * self.pad,
            self.label.height - 2.0 * self.pad,
        )
    }

    fn code_size(&self, width: f32, height: f32) -> f32 {
        let ink = self.measured.code.ink;
        (width / ink.width())
            .min(height / ink.height())
            .min(self.largest_code)
            .max(0.0)
    }

    fn code_box(&self, code_size: f32, y: f32) -> Rect {
        let ink = self.measured.code.ink;
        Rect {
            x: self.pad,
            y,
            width: code_size * ink.width(),
            height: code_size * ink.height(),
        }
    }

    /// How far the modules keep from the label's edge and from ink.
    fn clear(&self, module: f32) -> f32 {
        (QUIET * module).max(self.pad)
    }

    /// The code on top, the QR code at the bottom; the lines beside it or between the two.
    fn stacked(&self) -> Frame {
        let Self {
            label, side, pad, ..
        } = *self;
        let inner = self.inner();
        let code_size = self.code_size(inner.width, inner.height * self.arrangement.code_share());
        let code = self.code_box(code_size, pad);
        let under = code.bottom();
        let has_lines = !self.measured.lines.is_empty();
        let beside = has_lines && self.arrangement == Arrangement::Banner;
        let between = has_lines && self.arrangement == Arrangement::Column;

        let across = if beside {
            0.45 * inner.width / side
        } else {
            module_for(side, label.width, pad, pad)
        };
        let down = if between {
            0.5 * (label.height - under) / side
        } else {
            module_for(side, label.height - under, pad, pad)
        };
        let module = across.min(down).min(LARGEST_MODULE);
        let clear = self.clear(module);
        let square = side * module;
        let qr = Rect {
            x: if beside {
                label.width - clear - square
            } else {
                clear
            },
            y: label.height - clear - square,
            width: square,
            height: square,
        };
        let lines = if beside {
            let top = under + clear;
            Rect {
                x: pad,
                y: top,
                width: qr.x - clear - pad,
                height: qr.bottom() - top,
            }
        } else {
            let top = under + pad;
            Rect {
                x: pad,
                y: top,
                width: inner.width,
                height: qr.y - clear - top,
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
        let Self {
            label, side, pad, ..
        } = *self;
        let inner = self.inner();
        let module = module_for(side, label.height, pad, pad)
            .min(0.42 * inner.width / side)
            .min(LARGEST_MODULE);
        let clear = self.clear(module);
        let square = side * module;
        let qr = Rect {
            x: label.width - clear - square,
            y: (label.height - square) / 2.0,
            width: square,
            height: square,
        };
        let width = qr.x - clear - pad;
        let has_lines = !self.measured.lines.is_empty();
        let share = if has_lines {
            self.arrangement.code_share()
        } else {
            1.0
        };
        let code_size = self.code_size(width, inner.height * share);
        let height = code_size * self.measured.code.ink.height();
        let code = self.code_box(
            code_size,
            if has_lines {
                pad
            } else {
                (label.height - height) / 2.0
            },
        );
        let top = code.bottom() + pad;
        let lines = Rect {
            x: pad,
            y: top,
            width,
            height: label.height - pad - top,
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

/// The lines that fit a frame at a readable size, and their size; the others' indices.
pub(crate) fn fit_lines(
    frame: &Frame,
    lines: &[MeasuredLine],
) -> (Vec<MeasuredLine>, Option<Fit>, Vec<usize>) {
    // The code leads: lines stay well below its size.
    let largest = 0.6 * frame.code_size;
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
                let label = Size::new(width, height);
                let Ok(frame) = frame(arrangement, label, &measured("HB26-0123-045"), 100.0) else {
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
        let roomy = frame(Arrangement::Side, Size::new(60.0, 25.0), &long, 100.0).unwrap();
        assert_eq!(long.symbols[roomy.symbol].level(), Level::Q);
        let tight = frame(Arrangement::Side, Size::new(60.0, 10.0), &long, 100.0).unwrap();
        assert_eq!(long.symbols[tight.symbol].level(), Level::M);
        assert!(tight.module >= SMALLEST_MODULE);
        let refused = frame(Arrangement::Side, Size::new(60.0, 9.0), &long, 100.0).unwrap_err();
        assert!(refused < SMALLEST_MODULE && refused > 0.2, "{refused}");
    }
}

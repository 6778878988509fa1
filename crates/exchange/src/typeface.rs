//! The one type family of paper and screen: Source Sans 3, regular and bold.
//!
//! Figures are tabular by default. The fonts lie unmodified in `assets/fonts`, beside their
//! licence (SIL Open Font License 1.1).

use std::ops::Range;
use std::sync::LazyLock;

use kurbo::{BezPath, Point};
use rustybuzz::ttf_parser::{GlyphId, OutlineBuilder, Tag};
use rustybuzz::{Direction, Feature, UnicodeBuffer};

/// The regular weight, as the bytes of a TrueType font.
pub const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/SourceSans3-Regular.ttf");
/// The bold weight, as the bytes of a TrueType font.
pub const BOLD: &[u8] = include_bytes!("../../../assets/fonts/SourceSans3-Bold.ttf");

/// Height of a capital letter in em, within a hundredth in both weights.
pub const CAP_HEIGHT: f32 = 0.66;

/// A weight of the family.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Face {
    /// Regular weight.
    Regular,
    /// Bold weight.
    Bold,
}

impl Face {
    /// The font file's bytes.
    pub const fn data(self) -> &'static [u8] {
        match self {
            Self::Regular => REGULAR,
            Self::Bold => BOLD,
        }
    }

    fn shaper(self) -> &'static rustybuzz::Face<'static> {
        static REGULAR_FACE: LazyLock<rustybuzz::Face<'static>> = LazyLock::new(|| parse(REGULAR));
        static BOLD_FACE: LazyLock<rustybuzz::Face<'static>> = LazyLock::new(|| parse(BOLD));
        match self {
            Self::Regular => &REGULAR_FACE,
            Self::Bold => &BOLD_FACE,
        }
    }

    /// The first character of `text` that the family has no shape for, if any.
    pub fn missing(self, text: &str) -> Option<char> {
        text.chars()
            .find(|&c| self.shaper().glyph_index(c).is_none())
    }
}

fn parse(data: &'static [u8]) -> rustybuzz::Face<'static> {
    rustybuzz::Face::from_slice(data, 0).expect("the bundled font is a valid TrueType font")
}

/// How a zero is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Zero {
    /// As in running text.
    Plain,
    /// With a stroke through it, so that nobody reads a capital O in a code.
    Slashed,
}

/// One glyph of shaped text; lengths in em.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Glyph {
    pub(crate) id: u32,
    pub(crate) advance: f32,
    pub(crate) x_offset: f32,
    pub(crate) y_offset: f32,
    /// The bytes of the text that this glyph stands for.
    pub(crate) range: Range<usize>,
}

/// The inked box of shaped text in em, relative to the start of its baseline; up is positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ink {
    pub(crate) left: f32,
    pub(crate) right: f32,
    pub(crate) top: f32,
    pub(crate) bottom: f32,
}

impl Ink {
    pub(crate) fn width(self) -> f32 {
        self.right - self.left
    }

    pub(crate) fn height(self) -> f32 {
        self.top - self.bottom
    }
}

/// A line of text as glyphs, at a size of 1 em.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shaped {
    pub(crate) glyphs: Vec<Glyph>,
    /// Sum of the advances, in em.
    pub(crate) width: f32,
    pub(crate) ink: Ink,
}

/// Shapes one line of text, left to right, with kerning and ligatures.
pub(crate) fn shape(face: Face, text: &str, zero: Zero) -> Shaped {
    let font = face.shaper();
    let em = font.units_per_em() as f32;
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    buffer.set_direction(Direction::LeftToRight);
    let features: &[Feature] = match zero {
        Zero::Plain => &[],
        Zero::Slashed => &[Feature::new(Tag::from_bytes(b"zero"), 1, ..)],
    };
    let output = rustybuzz::shape(font, features, buffer);

    let clusters: Vec<usize> = output
        .glyph_infos()
        .iter()
        .map(|info| info.cluster as usize)
        .collect();
    let end_of = |start: usize| {
        clusters
            .iter()
            .copied()
            .find(|&next| next > start)
            .unwrap_or(text.len())
    };
    let mut glyphs = Vec::with_capacity(clusters.len());
    let mut ink: Option<Ink> = None;
    let mut x = 0.0;
    for (info, position) in output.glyph_infos().iter().zip(output.glyph_positions()) {
        let start = info.cluster as usize;
        let glyph = Glyph {
            id: info.glyph_id,
            advance: position.x_advance as f32 / em,
            x_offset: position.x_offset as f32 / em,
            y_offset: position.y_offset as f32 / em,
            range: start..end_of(start),
        };
        if let Some(bounds) = font.glyph_bounding_box(GlyphId(info.glyph_id as u16)) {
            let here = Ink {
                left: x + glyph.x_offset + f32::from(bounds.x_min) / em,
                right: x + glyph.x_offset + f32::from(bounds.x_max) / em,
                top: glyph.y_offset + f32::from(bounds.y_max) / em,
                bottom: glyph.y_offset + f32::from(bounds.y_min) / em,
            };
            ink = Some(ink.map_or(here, |all| Ink {
                left: all.left.min(here.left),
                right: all.right.max(here.right),
                top: all.top.max(here.top),
                bottom: all.bottom.min(here.bottom),
            }));
        }
        x += glyph.advance;
        glyphs.push(glyph);
    }
    let blank = Ink {
        left: 0.0,
        right: x,
        top: 0.0,
        bottom: 0.0,
    };
    Shaped {
        glyphs,
        width: x,
        ink: ink.unwrap_or(blank),
    }
}

/// The outlines of shaped text, in em from the start of its baseline; up is positive.
pub(crate) fn outline(face: Face, shaped: &Shaped) -> BezPath {
    let font = face.shaper();
    let mut pen = Pen {
        path: BezPath::new(),
        em: f64::from(font.units_per_em()),
        from: Point::ZERO,
    };
    let mut x = 0.0;
    for glyph in &shaped.glyphs {
        pen.from = Point::new(f64::from(x + glyph.x_offset), f64::from(glyph.y_offset));
        // A blank has no outline.
        let _blank = font
            .outline_glyph(GlyphId(glyph.id as u16), &mut pen)
            .is_none();
        x += glyph.advance;
    }
    pen.path
}

struct Pen {
    path: BezPath,
    em: f64,
    from: Point,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> Point {
        Point::new(
            self.from.x + f64::from(x) / self.em,
            self.from.y + f64::from(y) / self.em,
        )
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(self.at(x, y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.at(x, y));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path.quad_to(self.at(x1, y1), self.at(x, y));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path
            .curve_to(self.at(x1, y1), self.at(x2, y2), self.at(x, y));
    }

    fn close(&mut self) {
        self.path.close_path();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_tabular_in_both_weights() {
        for face in [Face::Regular, Face::Bold] {
            let one = shape(face, "1", Zero::Plain).width;
            for figure in ["0", "2", "3", "4", "5", "6", "7", "8", "9"] {
                assert_eq!(
                    shape(face, figure, Zero::Plain).width,
                    one,
                    "{figure} in {face:?}"
                );
            }
        }
    }

    #[test]
    fn the_marks_that_paper_and_screen_need_are_there() {
        for face in [Face::Regular, Face::Bold] {
            assert_eq!(
                face.missing("×♀♂→←↑↓✓✗▲▼●○■□·–—…°±≤≥≈µμσΣ½²³ÄÖÜßÉŁŘŐŞαβγΩπ"),
                None
            );
            assert_eq!(face.missing("HB26-字"), Some('字'));
        }
    }

    #[test]
    fn a_slashed_zero_is_another_glyph_about_as_wide() {
        let plain = shape(Face::Bold, "0", Zero::Plain);
        let slashed = shape(Face::Bold, "0", Zero::Slashed);
        assert_ne!(plain.glyphs[0].id, slashed.glyphs[0].id);
        assert!((plain.width - slashed.width).abs() < 0.002);
    }

    #[test]
    fn capitals_are_as_high_as_the_constant_says() {
        for face in [Face::Regular, Face::Bold] {
            let ink = shape(face, "H", Zero::Plain).ink;
            assert!((ink.height() - CAP_HEIGHT).abs() < 0.01, "{ink:?}");
        }
    }

    #[test]
    fn every_byte_belongs_to_a_glyph() {
        let text = "Ägir × Łąka 0";
        let shaped = shape(Face::Regular, text, Zero::Plain);
        let mut next = 0;
        for glyph in &shaped.glyphs {
            assert_eq!(glyph.range.start, next);
            next = glyph.range.end;
        }
        assert_eq!(next, text.len());
    }
}

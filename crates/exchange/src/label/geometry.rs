//! Lengths on paper. Everything is in millimetres, measured from the top left corner of the page.

/// A width and a height, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Width, in millimetres.
    pub width: f32,
    /// Height, in millimetres.
    pub height: f32,
}

impl Size {
    /// ISO 216 A4, upright.
    pub const A4: Self = Self::new(210.0, 297.0);
    /// North American Letter (ANSI A), upright: 8.5 × 11 inches.
    pub const LETTER: Self = Self::new(215.9, 279.4);

    /// A size of so many millimetres.
    pub const fn new(width: f32, height: f32) -> Self {
        Self { width, height }
    }
}

/// A rectangle on the page, in millimetres from its top left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f32,
    /// Top edge.
    pub y: f32,
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
}

impl Rect {
    /// Right edge, in millimetres from the page's left.
    pub fn right(self) -> f32 {
        self.x + self.width
    }

    /// Bottom edge, in millimetres from the page's top.
    pub fn bottom(self) -> f32 {
        self.y + self.height
    }
}

/// Writes millimetres as short as they are: `70`, `63.5`, `66.68`.
pub(crate) fn millimetres(length: f32) -> String {
    let text = format!("{length:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_written_without_idle_zeros() {
        assert_eq!(millimetres(70.0), "70");
        assert_eq!(millimetres(63.5), "63.5");
        assert_eq!(millimetres(66.675), "66.68");
        assert_eq!(millimetres(0.0), "0");
    }
}

//! The drawings themselves, as paths on the grid of 24 by 24 in the notation of SVG (W3C, Scalable Vector Graphics 2,
//! section 9.3, 'Path data').

use super::Drawing;

/// The layers of one drawing.
#[derive(Default)]
pub(super) struct Art {
    /// The shape of the body, for the second printing.
    pub(super) spot: &'static str,
    /// Filled with ink: shadow or ground.
    pub(super) solid: &'static str,
    /// Outlines.
    pub(super) lines: &'static str,
    /// Lines left out at small sizes.
    pub(super) inner: &'static str,
    /// Dashed lines.
    pub(super) dashed: &'static str,
    /// Discs of ink: x, y, radius.
    pub(super) dots: &'static [(f32, f32, f32)],
    /// Discs left out at small sizes.
    pub(super) grains: &'static [(f32, f32, f32)],
}

const DROP: &str = "M12 2 C15 6 19 10 19 15 C19 19 16 22 12 22 C8 22 5 19 5 15 C5 10 9 6 12 2 Z";

/// The layers of a drawing.
#[expect(clippy::too_many_lines, reason = "a table of drawings")]
pub(super) const fn of(drawing: Drawing) -> Art {
    const NONE: Art = Art {
        spot: "",
        solid: "",
        lines: "",
        inner: "",
        dashed: "",
        dots: &[],
        grains: &[],
    };
    match drawing {
        Drawing::Seed => Art {
            spot: DROP,
            solid: "M12 2 C9 6 5 10 5 15 C5 19 8 22 12 22 C11 19.5 10.4 16.5 10.4 13.5 C10.4 9.5 11.2 5.5 12 2 Z",
            lines: DROP,
            inner: "M15.8 13 C16.2 15 15.8 16.8 14.8 18.2",
            ..NONE
        },
        Drawing::Box => Art {
            spot: "M4 8 L20 8 L18.5 21 L5.5 21 Z",
            solid: "M4.9 16 L19.1 16 L18.5 21 L5.5 21 Z",
            lines: "M2.5 4 L21.5 4 L21.5 8 L2.5 8 Z M4 8 L5.5 21 L18.5 21 L20 8",
            grains: &[
                (8.0, 12.6, 0.8),
                (11.0, 11.6, 0.8),
                (14.0, 13.0, 0.8),
                (16.6, 11.7, 0.8),
            ],
            ..NONE
        },
        Drawing::Sprout => Art {
            spot: "M12 12.5 C12 7.5 15.5 4 20.5 3.5 C21 8.5 17.5 12 12 12.5 Z",
            solid: "M12 12.5 C7 13 3.5 10.5 3 6 C7.5 5.5 11.5 7.5 12 12.5 Z",
            lines: "M12 12.5 C12 7.5 15.5 4 20.5 3.5 C21 8.5 17.5 12 12 12.5 Z M12 21 L12 12 M4 21.2 L20 21.2",
            inner: "M14 10.6 L17.4 7",
            ..NONE
        },
        Drawing::Pot => Art {
            spot: "M5.5 12.5 L18.5 12.5 L17 22 L7 22 Z",
            solid: "M5.5 12.5 L9.8 12.5 L10.3 22 L7 22 Z M12 6 C9 6 7 4.6 6.5 2 C9.5 1.8 11.8 3.2 12 6 Z M12 6 C12.2 3.2 14.5 1.8 17.5 2 C17 4.6 15 6 12 6 Z",
            lines: "M4 9 L20 9 L20 12.5 L4 12.5 Z M5.5 12.5 L7 22 L17 22 L18.5 12.5 M12 9 L12 5.5",
            ..NONE
        },
        Drawing::Hill => Art {
            spot: "M2 21.5 C5 17.5 9 16 12 16 C15 16 19 17.5 22 21.5 Z",
            solid: "M2 21.5 C5 17.5 9 16 12 16 C15 16 19 17.5 22 21.5 Z",
            lines: "M10.6 16 C12 13.6 8.2 13.2 9.2 10.9 C10.2 8.7 6.6 8.4 7.5 6.1 C8 4.6 6.2 4.2 6 2.6 M13.4 16 C12 13.6 15.8 13.2 14.8 10.9 C13.8 8.7 17.4 8.4 16.5 6.1 C16 4.6 17.8 4.2 18 2.6",
            ..NONE
        },
        Drawing::Cone => Art {
            spot: "M12 4 C16 4 18.5 7.5 18.5 11.5 C18.5 16 15.5 19.5 12 22 C8.5 19.5 5.5 16 5.5 11.5 C5.5 7.5 8 4 12 4 Z",
            solid: "M6.1 14 C7.5 16.4 10.5 16.4 12 14 L12 22 C8.8 19.6 6.8 17 6.1 14 Z",
            lines: "M12 4 C16 4 18.5 7.5 18.5 11.5 C18.5 16 15.5 19.5 12 22 C8.5 19.5 5.5 16 5.5 11.5 C5.5 7.5 8 4 12 4 Z M12 4 L12 1.6",
            inner: "M6 9 C7 11.4 9.8 11.4 10.2 9.2 C10.8 11.6 13.2 11.6 13.8 9.2 C14.2 11.4 17 11.4 18 9 M6.2 14 C7.5 16.4 10.5 16.4 12 14 C13.5 16.4 16.5 16.4 17.8 14",
            ..NONE
        },
        Drawing::Bag => Art {
            spot: "M5 3 L19 3 L19 10 L14 17 L10 17 L5 10 Z",
            solid: "M5 3 L19 3 L19 5.4 L9.6 5.4 L9.6 12.4 L11 17 L10 17 L5 10 Z M12 21.2 C13 19 15.5 18.4 17.8 19 C17 21.2 14.4 22.2 12 21.2 Z",
            lines: "M5 3 L19 3 L19 10 L14 17 L10 17 L5 10 Z M12 17 L12 22.4",
            inner: "M14 8.4 L14 13.4",
            ..NONE
        },
        Drawing::Pollen => Art {
            spot: "M4.5 10.5 A6 6 0 1 1 16.5 10.5 A6 6 0 1 1 4.5 10.5 Z",
            solid: "M10.5 4.5 C7.2 4.5 4.5 7.2 4.5 10.5 C4.5 13.8 7.2 16.5 10.5 16.5 C8.6 14.4 8.6 6.6 10.5 4.5 Z",
            lines: "M4.5 10.5 A6 6 0 1 1 16.5 10.5 A6 6 0 1 1 4.5 10.5 Z M10.5 4.5 L10.5 2 M10.5 16.5 L10.5 19 M4.5 10.5 L2 10.5 M16.5 10.5 L19 10.5 M6.3 6.3 L4.5 4.5 M14.7 6.3 L16.5 4.5 M6.3 14.7 L4.5 16.5",
            dots: &[(18.2, 15.4, 1.4), (16.0, 20.2, 1.2), (21.0, 19.8, 1.4)],
            ..NONE
        },
        Drawing::Cross => Art {
            spot: "M8 18.2 A4 4 0 1 1 16 18.2 A4 4 0 1 1 8 18.2 Z",
            solid: "M12 14.2 A4 4 0 0 0 12 22.2 C10.6 20 10.6 16.4 12 14.2 Z",
            lines: "M8 18.2 A4 4 0 1 1 16 18.2 A4 4 0 1 1 8 18.2 Z M5 3.6 C5.4 8.4 8 11.6 12 14 M17.4 3.6 A1.7 1.7 0 1 1 20.8 3.6 A1.7 1.7 0 1 1 17.4 3.6 Z",
            dashed: "M18.6 5.6 C17.6 9.2 15.4 12 12 14",
            dots: &[(5.0, 3.6, 2.3)],
            ..NONE
        },
        Drawing::Label => Art {
            spot: "M3.5 3 L20.5 3 L20.5 13 L3.5 13 Z",
            solid: "M10 13 L14 13 L14 19.6 L12 22.6 L10 19.6 Z",
            lines: "M3.5 3 L20.5 3 L20.5 13 L3.5 13 Z",
            inner: "M7 6.4 L14.4 6.4 M7 9.6 L11.4 9.6 M15 9.6 L17 9.6",
            ..NONE
        },
        Drawing::Mould => Art {
            spot: "M3 21.4 C6 17.4 9 16.4 12 16.4 C15 16.4 18 17.4 21 21.4 Z",
            solid: "M3 21.4 C6 17.4 9 16.4 12 16.4 C15 16.4 18 17.4 21 21.4 Z",
            lines: "M12 16.4 L12 6 M10.8 16.4 L8.2 7.4 M13.2 16.4 L15.8 7.4 M9.6 16.7 L5.2 9.8 M14.4 16.7 L18.8 9.8 M8.2 17.2 L3.4 13.6 M15.8 17.2 L20.6 13.6",
            dots: &[
                (12.0, 5.6, 1.4),
                (8.0, 7.0, 1.4),
                (16.0, 7.0, 1.4),
                (5.0, 9.6, 1.4),
                (19.0, 9.6, 1.4),
                (3.2, 13.4, 1.4),
                (20.8, 13.4, 1.4),
            ],
            ..NONE
        },
        Drawing::Dry => Art {
            spot: DROP,
            solid: "M6.6 12.4 C5.8 13.6 5 14.6 5 15.4 C5 17 5.5 18.4 6.3 19.4 L7.6 18.2 C7 16.4 6.8 14.4 6.6 12.4 Z",
            lines: "M12 2 C15 6 19 10 19 15 C19 19 16 22 12 22 C8 22 5 19 5 15 C5 10 9 6 12 2 Z M2.6 21.4 L21.4 4.6",
            ..NONE
        },
        Drawing::Moist => Art {
            spot: DROP,
            solid: "M5 15.2 C8 13.8 10 16.8 12 15.6 C14 14.4 16.5 16.2 19 14.8 C19 19 16 22 12 22 C8 22 5 19 5 15.2 Z",
            lines: DROP,
            ..NONE
        },
        Drawing::Warm => Art {
            spot: "M6.5 15 A5.5 5.5 0 0 1 17.5 15 Z",
            solid: "M12 9.5 A5.5 5.5 0 0 0 6.5 15 L12 15 Z",
            lines: "M6.5 15 A5.5 5.5 0 0 1 17.5 15 M2.5 15 L21.5 15 M12 6.4 L12 3 M5.6 8.8 L3.4 6.6 M18.4 8.8 L20.6 6.6 M3.5 19.6 C6 17.8 8 21.2 10.5 19.6 C13 17.8 15 21.2 17.5 19.6 C18.7 18.8 19.7 19 20.5 19.6",
            ..NONE
        },
        Drawing::Cold => Art {
            spot: "M3.5 6 L8.5 6 L6 15 Z M9 6 L15 6 L12 22 Z M15.5 6 L20.5 6 L18 16.5 Z",
            solid: "M2 3 L22 3 L22 6 L2 6 Z M3.5 6 L6.4 6 L6 15 Z M9 6 L12.6 6 L12 22 Z M15.5 6 L18.4 6 L18 16.5 Z",
            lines: "M3.5 6 L6 15 L8.5 6 M9 6 L12 22 L15 6 M15.5 6 L18 16.5 L20.5 6",
            ..NONE
        },
        Drawing::Plot => Art {
            spot: "M9 9.4 L22 9.4 L18.4 21 L4 21 Z",
            solid: "M2.4 2 L9.4 2 L9.4 8.4 L2.4 8.4 Z",
            lines: "M9 9.4 L22 9.4 L18.4 21 L4 21 L6 13.6 M5.9 8.4 L5.9 15",
            grains: &[
                (11.4, 13.0, 1.3),
                (14.9, 13.0, 1.3),
                (18.2, 13.0, 1.3),
                (9.6, 17.4, 1.3),
                (13.1, 17.4, 1.3),
                (16.6, 17.4, 1.3),
            ],
            ..NONE
        },
        Drawing::Sample => Art {
            spot: "M8.5 5.5 L15.5 5.5 L15.5 7.5 C17.5 8.5 18.5 9.8 18.5 11.5 L18.5 20 C18.5 21.2 17.7 22 16.5 22 L7.5 22 C6.3 22 5.5 21.2 5.5 20 L5.5 11.5 C5.5 9.8 6.5 8.5 8.5 7.5 Z",
            solid: "M5.5 14.4 C8 13 10 16 12 14.8 C14 13.6 16 15.4 18.5 14.4 L18.5 20 C18.5 21.2 17.7 22 16.5 22 L7.5 22 C6.3 22 5.5 21.2 5.5 20 Z",
            lines: "M8 2 L16 2 L16 5.5 L8 5.5 Z M8.5 5.5 L8.5 7.5 C6.5 8.5 5.5 9.8 5.5 11.5 L5.5 20 C5.5 21.2 6.3 22 7.5 22 L16.5 22 C17.7 22 18.5 21.2 18.5 20 L18.5 11.5 C18.5 9.8 17.5 8.5 15.5 7.5 L15.5 5.5",
            ..NONE
        },
        Drawing::Decision => Art {
            spot: "M8 9 C4 9 2.5 6 3 2 C7 2.5 9.5 5 8 9 Z",
            solid: "M8 9 C4 9 2.5 6 3 2 C4.5 4.4 6.6 6.4 8 9 Z",
            lines: "M8 9 C4 9 2.5 6 3 2 C7 2.5 9.5 5 8 9 Z M12 22 L12 14.4 C12 11.4 9.6 11 8 9 M12 15.4 L16 11 M14.6 8.8 L18.2 12.2 M18.4 8.2 L20.8 5.4",
            ..NONE
        },
        Drawing::Tag => Art {
            spot: "M6.5 5 L22 5 L22 19 L6.5 19 L2 14.6 L2 9.4 Z",
            solid: "M4.6 12 A1.7 1.7 0 1 1 8 12 A1.7 1.7 0 1 1 4.6 12 Z",
            lines: "M6.5 5 L22 5 L22 19 L6.5 19 L2 14.6 L2 9.4 Z",
            inner: "M11.4 10 L18.4 10 M11.4 14 L16 14",
            ..NONE
        },
    }
}

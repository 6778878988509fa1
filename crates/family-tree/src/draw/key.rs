//! The row that says what the lines and signs mean.

use egui::{Pos2, pos2, vec2};

use super::{Anchor, Canvas, Ink, Line, Pen, SMALL, Tone, Words, line_pen, marks, sign};

/// What the lines and signs mean, in a row that starts at `at`; gives its width.
pub(crate) fn key(canvas: &mut dyn Canvas, at: Pos2) -> f32 {
    let mut x = at.x;
    let mut word = |canvas: &mut dyn Canvas, text: &str, sign: f32| {
        canvas.words(Words {
            text,
            at: pos2(x + sign, at.y),
            anchor: Anchor::Left,
            size: SMALL,
            strong: false,
            ink: Ink::Strong,
            width: f32::INFINITY,
            halo: false,
        });
        let start = x;
        // A letter of small text is about half as wide as high.
        x += (text.len() as f32).mul_add(SMALL * 0.5, sign + 18.0);
        pos2(start, at.y)
    };
    for (line, text) in [
        (Line::Female, "female parent"),
        (Line::Male, "male parent"),
        (Line::Doubled, "doubled from"),
        (Line::Variant, "variant of"),
    ] {
        let start = word(canvas, text, 50.0);
        canvas.path(
            &[start, start + vec2(28.0, 0.0)],
            line_pen(line, Tone::Plain),
        );
        sign(canvas, start + vec2(39.0, 0.0), line, 7.5, Tone::Plain);
    }
    let start = word(canvas, "parent unknown", 26.0);
    canvas.path(
        &[start, start + vec2(12.0, 0.0)],
        line_pen(Line::Female, Tone::Plain),
    );
    canvas.circle(
        start + vec2(15.5, 0.0),
        3.5,
        None,
        Some(Pen::new(Ink::Strong, 1.2)),
    );
    let start = word(canvas, "not drawn", 16.0);
    marks::further(canvas, start + vec2(6.0, 4.0), Ink::Strong);
    let start = word(canvas, "selected", 20.0);
    marks::selected(canvas, start + vec2(8.0, 0.0), 6.5);
    let start = word(canvas, "dead", 20.0);
    marks::dead(canvas, start + vec2(8.0, 0.0), 6.5);
    x - at.x
}

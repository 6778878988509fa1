//! The bundled type, so that every machine draws the same window, and the marks that stand beside words.

use std::sync::Arc;

use egui::{FontData, FontDefinitions, FontFamily, FontTweak};

/// Marks: the only signs beyond the text family that the window may draw.
///
/// A mark never stands alone for a meaning; a word goes with it, or an accessible name does.
pub mod mark {
    /// Onward, next.
    pub const RIGHT: &str = "→";
    /// Back, previous.
    pub const LEFT: &str = "←";
    /// Up, towards the parents.
    pub const UP: &str = "↑";
    /// Down, towards the offspring.
    pub const DOWN: &str = "↓";
    /// Done, in order.
    pub const TICK: &str = "✓";
    /// Not done, refused, culled.
    pub const CROSS: &str = "✗";
    /// Look out.
    pub const WARNING: &str = "⚠";
    /// Sorted ascending; folded open upwards.
    pub const ASCENDING: &str = "▲";
    /// Sorted descending; a list that drops down.
    pub const DESCENDING: &str = "▼";
    /// Folded closed.
    pub const CLOSED: &str = "▶";
    /// A thing that happened.
    pub const FULL: &str = "●";
    /// A thing planned.
    pub const HOLLOW: &str = "○";
    /// A milestone.
    pub const DIAMOND: &str = "◆";
    /// A milestone planned.
    pub const HOLLOW_DIAMOND: &str = "◇";
    /// A filled square.
    pub const SQUARE: &str = "■";
    /// A hollow square.
    pub const HOLLOW_SQUARE: &str = "□";
    /// A female plant, or the seed parent of a cross.
    pub const FEMALE: &str = "♀";
    /// A male plant, or the pollen parent of a cross.
    pub const MALE: &str = "♂";
    /// A plant that bears flowers of both sexes.
    pub const MONOECIOUS: &str = "⚥";
    /// Crossed with; also: remove, clear.
    pub const TIMES: &str = "×";
    /// More to choose from.
    pub const MORE: &str = "⋯";

    /// Every mark, for the tests that draw them all.
    pub const ALL: [&str; 21] = [
        RIGHT,
        LEFT,
        UP,
        DOWN,
        TICK,
        CROSS,
        WARNING,
        ASCENDING,
        DESCENDING,
        CLOSED,
        FULL,
        HOLLOW,
        DIAMOND,
        HOLLOW_DIAMOND,
        SQUARE,
        HOLLOW_SQUARE,
        FEMALE,
        MALE,
        MONOECIOUS,
        TIMES,
        MORE,
    ];
}

/// The family for strong words: headings, the row under the cursor.
pub const STRONG: &str = "strong";

/// The family for what is read across the bench: codes, days, answers, headings. Its figures are of unequal width:
/// never in columns.
pub const SLAB: &str = "slab";

const BESLEY: &[u8] = include_bytes!("../../../assets/fonts/Besley-Bold.ttf");
const TEXT: &[u8] = include_bytes!("../../../assets/fonts/SourceSans3-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../../assets/fonts/SourceSans3-Bold.ttf");
const MARKS: &[u8] = include_bytes!("../../../assets/fonts/BinewrightMarks-Regular.ttf");

/// The bundled families: text, strong text and figures, with marks as the last resort of each.
///
/// Figures are set in the text family, whose digits are all of one width (a test holds it to that).
pub fn definitions() -> FontDefinitions {
    let mut fonts = FontDefinitions::empty();
    // The marks come from a larger face than the text: bring them to its size.
    let marks = FontTweak {
        scale: 0.85,
        ..FontTweak::default()
    };
    for (name, data) in [
        ("text", FontData::from_static(TEXT)),
        ("bold", FontData::from_static(BOLD)),
        ("besley", FontData::from_static(BESLEY)),
        ("marks", FontData::from_static(MARKS).tweak(marks)),
    ] {
        fonts.font_data.insert(name.to_owned(), Arc::new(data));
    }
    for (family, first) in [
        (FontFamily::Proportional, "text"),
        (FontFamily::Monospace, "text"),
        (FontFamily::Name(STRONG.into()), "bold"),
    ] {
        fonts
            .families
            .insert(family, vec![first.to_owned(), "marks".to_owned()]);
    }
    // The slab lacks arrows and the signs of sex: those come from the text, what it lacks from the marks.
    fonts.families.insert(
        FontFamily::Name(SLAB.into()),
        ["besley", "bold", "marks"].map(str::to_owned).to_vec(),
    );
    fonts
}

#[cfg(test)]
mod tests {
    use egui::{FontId, TextStyle};

    use super::*;
    use crate::theme::{self, Theme};

    fn with_fonts(check: impl Fn(&egui::Ui)) {
        let ctx = egui::Context::default();
        Theme::Light.apply(&ctx);
        ctx.run_ui(egui::RawInput::default(), |ui| check(ui))
            .drop_without_applying_deltas();
    }

    #[test]
    fn every_mark_is_bundled_in_every_family() {
        with_fonts(|ui| {
            for style in [TextStyle::Body, theme::numbers(), TextStyle::Heading] {
                let font = style.resolve(ui.style());
                for mark in mark::ALL {
                    assert!(
                        ui.fonts_mut(|fonts| fonts.has_glyphs(&font, mark)),
                        "{mark} is missing from {font:?}"
                    );
                }
            }
        });
    }

    #[test]
    fn figures_are_all_of_one_width() {
        with_fonts(|ui| {
            let sizes = [theme::type_size::SMALL, theme::type_size::NUMBERS];
            for font in sizes
                .into_iter()
                .flat_map(|size| [FontId::proportional(size), FontId::monospace(size)])
            {
                let width = |digit| ui.fonts_mut(|fonts| fonts.glyph_width(&font, digit));
                assert!(
                    ('1'..='9').all(|digit| width(digit) == width('0')),
                    "{font:?}"
                );
            }
        });
    }
}

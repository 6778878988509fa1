//! Every colour, spacing, radius and type size of the window, for light and dark.
//!
//! A field notebook made by a careful printer: quiet paper, strong ink, one living accent. Widgets ask for a role
//! ([`Tokens::ink`], [`Meaning::Late`]), never for a colour.
#![expect(
    clippy::disallowed_methods,
    reason = "the one file where colours are made"
)]

use std::{collections::BTreeMap, sync::Arc};

use egui::{
    Color32, Context, CornerRadius, FontFamily, FontId, Margin, RichText, Shadow, Stroke, Style,
    TextStyle, ThemePreference, Ui, Visuals,
    style::{ScrollAnimation, ScrollStyle, WidgetVisuals},
    vec2,
};

use crate::fonts;

/// Distances on a four-point grid.
pub mod space {
    /// Between a mark and its word.
    pub const XS: f32 = 4.0;
    /// Between neighbours.
    pub const S: f32 = 8.0;
    /// Inside a panel.
    pub const M: f32 = 12.0;
    /// Between groups.
    pub const L: f32 = 16.0;
    /// Between sections.
    pub const XL: f32 = 24.0;
    /// Around an empty state.
    pub const XXL: f32 = 40.0;
    /// The least height and width of anything that can be clicked.
    pub const TARGET: f32 = 28.0;
    /// The least height of a button for wet or gloved hands.
    pub const BENCH_TARGET: f32 = 64.0;
    /// The height of a table row.
    pub const ROW: f32 = 28.0;
}

/// Corner radii.
pub mod radius {
    /// Buttons, fields, badges.
    pub const SMALL: u8 = 3;
    /// Panels, pop-ups.
    pub const MEDIUM: u8 = 6;
}

/// Type sizes in points: three for words, one for figures in tables.
pub mod type_size {
    /// Captions and units.
    pub const SMALL: f32 = 12.0;
    /// Everything else.
    pub const BODY: f32 = 14.0;
    /// Headings.
    pub const HEADING: f32 = 20.0;
    /// Figures in tables.
    pub const NUMBERS: f32 = 14.0;
    /// Clocks that are read from across the bench.
    pub const TIMER: f32 = 36.0;
}

/// The text style of figures in tables: digits of one width, so that columns line up.
pub fn numbers() -> TextStyle {
    TextStyle::Monospace
}

/// What a thing says about itself. Always drawn with a word and a mark, never by colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Meaning {
    /// Nothing to say.
    Plain,
    /// In order, done.
    Good,
    /// Wants attention soon.
    Soon,
    /// Past its day.
    Late,
    /// Harm is near: loss, law, health.
    Danger,
}

impl Meaning {
    /// Every meaning, from the quietest to the loudest.
    pub const ALL: [Self; 5] = [
        Self::Plain,
        Self::Good,
        Self::Soon,
        Self::Late,
        Self::Danger,
    ];

    /// The mark that goes with the meaning when the caller has none of its own.
    pub const fn mark(self) -> &'static str {
        match self {
            Self::Plain => fonts::mark::HOLLOW,
            Self::Good => fonts::mark::TICK,
            Self::Soon => fonts::mark::DIAMOND,
            Self::Late => fonts::mark::ASCENDING,
            Self::Danger => fonts::mark::WARNING,
        }
    }
}

/// A ground and the text that is read on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair {
    /// The ground.
    pub fill: Color32,
    /// The text, marks and outline on it.
    pub text: Color32,
}

/// The colours of one theme, by role.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tokens {
    /// The paper.
    pub surface: Color32,
    /// Panels, pop-ups and fields that lie on the paper.
    pub raised: Color32,
    /// Wells, headers and tracks sunk into the paper.
    pub sunken: Color32,
    /// Text.
    pub ink: Color32,
    /// Captions, units, things of less weight.
    pub muted: Color32,
    /// Thin lines between things.
    pub rule: Color32,
    /// Outlines that show where a control is (at least 3:1 against the paper).
    pub outline: Color32,
    /// The one living colour: focus, the main action, today.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// The ground of what is selected; ink is read on it.
    pub selection: Color32,
    /// The ground under the pointer; ink is read on it.
    pub hover: Color32,
    /// Nothing to say.
    pub plain: Pair,
    /// In order.
    pub good: Pair,
    /// Soon.
    pub soon: Pair,
    /// Past its day.
    pub late: Pair,
    /// Harm is near.
    pub danger: Pair,
    /// Series of a chart, in order of use; at least 3:1 against the paper. The hues follow the set of
    /// Okabe and Ito (2008), 'Color universal design', darkened or lightened until they hold that contrast.
    pub series: [Color32; 6],
    /// Steps of a quantity from nothing to most, each with the figures read on it. In order of lightness, so that
    /// they are told apart in grey too.
    pub scale: [Pair; 7],
    /// The shadow under pop-ups.
    pub shadow: Color32,
}

impl Tokens {
    /// Ink on light paper.
    pub const LIGHT: Self = Self {
        surface: rgb(0xF6F3EA),
        raised: rgb(0xFDFBF6),
        sunken: rgb(0xECE8DC),
        ink: rgb(0x1F241E),
        muted: rgb(0x585E53),
        rule: rgb(0xD8D2C3),
        outline: rgb(0x858474),
        accent: rgb(0x2B6A3C),
        on_accent: rgb(0xFFFFFF),
        selection: rgb(0xD5E5CB),
        hover: rgb(0xE9E9DA),
        plain: Pair {
            fill: rgb(0xE6E2D5),
            text: rgb(0x4A5046),
        },
        good: Pair {
            fill: rgb(0xD3E9E3),
            text: rgb(0x0A564D),
        },
        soon: Pair {
            fill: rgb(0xF4E4B8),
            text: rgb(0x644500),
        },
        late: Pair {
            fill: rgb(0xF9DBC6),
            text: rgb(0x853405),
        },
        danger: Pair {
            fill: rgb(0xF5D3DA),
            text: rgb(0x8A0F30),
        },
        series: [
            rgb(0x0072B2),
            rgb(0xBE5000),
            rgb(0x00795A),
            rgb(0xA84C84),
            rgb(0x8A6100),
            rgb(0x50565C),
        ],
        scale: [
            Pair {
                fill: rgb(0xFDFBF6),
                text: rgb(0x1F241E),
            },
            Pair {
                fill: rgb(0xE1EAE6),
                text: rgb(0x1F241E),
            },
            Pair {
                fill: rgb(0xBFD6D9),
                text: rgb(0x1F241E),
            },
            Pair {
                fill: rgb(0x96BCCB),
                text: rgb(0x1F241E),
            },
            Pair {
                fill: rgb(0x6BA0B6),
                text: rgb(0x1F241E),
            },
            Pair {
                fill: rgb(0x2F6F92),
                text: rgb(0xFDFBF6),
            },
            Pair {
                fill: rgb(0x154A6E),
                text: rgb(0xFDFBF6),
            },
        ],
        shadow: Color32::from_rgba_unmultiplied_const(0x1F, 0x24, 0x1E, 36),
    };

    /// Chalk on a dark slate, for the evening.
    pub const DARK: Self = Self {
        surface: rgb(0x1B1E1A),
        raised: rgb(0x242822),
        sunken: rgb(0x141713),
        ink: rgb(0xE9E6DA),
        muted: rgb(0xABAFA1),
        rule: rgb(0x3A3F36),
        outline: rgb(0x7B8175),
        accent: rgb(0x93CB82),
        on_accent: rgb(0x0F1F0E),
        selection: rgb(0x2C432C),
        hover: rgb(0x2D332B),
        plain: Pair {
            fill: rgb(0x333830),
            text: rgb(0xC9CCBE),
        },
        good: Pair {
            fill: rgb(0x123A35),
            text: rgb(0x86D8C8),
        },
        soon: Pair {
            fill: rgb(0x40340E),
            text: rgb(0xECCC6C),
        },
        late: Pair {
            fill: rgb(0x482813),
            text: rgb(0xF6B081),
        },
        danger: Pair {
            fill: rgb(0x4A1A27),
            text: rgb(0xF8A7B6),
        },
        series: [
            rgb(0x56B4E9),
            rgb(0xF0833F),
            rgb(0x2FC79C),
            rgb(0xE09AC4),
            rgb(0xE6BA4C),
            rgb(0xB9BDB4),
        ],
        scale: [
            Pair {
                fill: rgb(0x242822),
                text: rgb(0xE9E6DA),
            },
            Pair {
                fill: rgb(0x22363D),
                text: rgb(0xE9E6DA),
            },
            Pair {
                fill: rgb(0x1F4A5C),
                text: rgb(0xE9E6DA),
            },
            Pair {
                fill: rgb(0x22607A),
                text: rgb(0xE9E6DA),
            },
            Pair {
                fill: rgb(0x5FA6C4),
                text: rgb(0x141713),
            },
            Pair {
                fill: rgb(0x8FC7DF),
                text: rgb(0x141713),
            },
            Pair {
                fill: rgb(0xC4E6F2),
                text: rgb(0x141713),
            },
        ],
        shadow: Color32::from_rgba_unmultiplied_const(0, 0, 0, 110),
    };

    /// The ground and text of a meaning.
    pub const fn meaning(&self, meaning: Meaning) -> Pair {
        match meaning {
            Meaning::Plain => self.plain,
            Meaning::Good => self.good,
            Meaning::Soon => self.soon,
            Meaning::Late => self.late,
            Meaning::Danger => self.danger,
        }
    }

    /// The colour of the `index`-th series of a chart; wraps round.
    pub const fn series(&self, index: usize) -> Color32 {
        self.series[index % self.series.len()]
    }
}

/// Paper in a picture of what will be printed: white by day and by night.
pub const PAPER: Color32 = Color32::WHITE;
/// Ink on that paper.
pub const PRINT_INK: Color32 = Color32::BLACK;

/// The colours in force where `ui` draws.
pub fn tokens(ui: &Ui) -> &'static Tokens {
    if ui.visuals().dark_mode {
        &Tokens::DARK
    } else {
        &Tokens::LIGHT
    }
}

/// Which of the two palettes to use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// Light paper.
    Light,
    /// Dark slate.
    Dark,
    /// As the machine is set.
    #[default]
    System,
}

impl Theme {
    /// Installs fonts, type sizes, spacing and both palettes, and chooses this one.
    ///
    /// Call it once where the window is made (and in `with_context_setup` of a test), then [`Theme::choose`].
    pub fn apply(self, ctx: &Context) {
        ctx.set_fonts(fonts::definitions());
        ctx.set_style_of(egui::Theme::Light, style(&Tokens::LIGHT, Visuals::light()));
        ctx.set_style_of(egui::Theme::Dark, style(&Tokens::DARK, Visuals::dark()));
        self.choose(ctx);
    }

    /// Changes to this palette.
    pub fn choose(self, ctx: &Context) {
        ctx.set_theme(match self {
            Self::Light => ThemePreference::Light,
            Self::Dark => ThemePreference::Dark,
            Self::System => ThemePreference::System,
        });
    }
}

/// Text of less weight: captions, units, explanations.
pub fn muted(ui: &Ui, text: impl Into<String>) -> RichText {
    RichText::new(text).color(tokens(ui).muted)
}

/// Text of more weight, in the strong family.
pub fn strong(text: impl Into<String>) -> RichText {
    RichText::new(text).family(FontFamily::Name(fonts::STRONG.into()))
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

fn style(tokens: &Tokens, base: Visuals) -> Arc<Style> {
    let mut style = Style {
        text_styles: text_styles(),
        drag_value_text_style: numbers(),
        visuals: visuals(tokens, base),
        // A notebook doesn't glide: nothing moves unless a person moves it.
        animation_time: 0.0,
        scroll_animation: ScrollAnimation::none(),
        ..Style::default()
    };
    let spacing = &mut style.spacing;
    spacing.item_spacing = vec2(space::S, space::S);
    spacing.button_padding = vec2(space::M, space::XS);
    spacing.interact_size = vec2(space::TARGET, space::TARGET);
    spacing.window_margin = Margin::same(space::M as i8);
    spacing.menu_margin = Margin::same(space::S as i8);
    spacing.icon_width = 18.0;
    spacing.icon_width_inner = 10.0;
    spacing.combo_width = 120.0;
    spacing.text_edit_width = 200.0;
    spacing.tooltip_width = 420.0;
    spacing.scroll = scroll_bars();
    style.interaction.selectable_labels = false;
    style.interaction.tooltip_delay = 0.3;
    Arc::new(style)
}

/// Bars that keep their own strip, in quiet ink that darkens under the pointer.
fn scroll_bars() -> ScrollStyle {
    let mut bars = ScrollStyle {
        bar_width: 8.0,
        floating_width: 8.0,
        floating_allocated_width: space::M,
        bar_inner_margin: 2.0,
        bar_outer_margin: 2.0,
        handle_min_length: space::XL,
        dormant_handle_opacity: 0.3,
        active_handle_opacity: 0.45,
        interact_handle_opacity: 0.65,
        dormant_background_opacity: 0.0,
        active_background_opacity: 0.0,
        interact_background_opacity: 0.0,
        ..ScrollStyle::floating()
    };
    bars.fade.strength = 0.0;
    bars
}

fn text_styles() -> BTreeMap<TextStyle, FontId> {
    [
        (TextStyle::Small, FontId::proportional(type_size::SMALL)),
        (TextStyle::Body, FontId::proportional(type_size::BODY)),
        (TextStyle::Button, FontId::proportional(type_size::BODY)),
        (
            TextStyle::Heading,
            FontId::new(type_size::HEADING, FontFamily::Name(fonts::STRONG.into())),
        ),
        (TextStyle::Monospace, FontId::monospace(type_size::NUMBERS)),
    ]
    .into()
}

fn visuals(tokens: &Tokens, base: Visuals) -> Visuals {
    let corner = CornerRadius::same(radius::SMALL);
    let widget = |fill: Color32, outline: Color32, ink: Color32| WidgetVisuals {
        bg_fill: fill,
        weak_bg_fill: fill,
        bg_stroke: Stroke::new(1.0, outline),
        corner_radius: corner,
        fg_stroke: Stroke::new(1.0, ink),
        expansion: 0.0,
    };
    let shadow = Shadow {
        offset: [0, 4],
        blur: 12,
        spread: 0,
        color: tokens.shadow,
    };
    let mut visuals = base;
    visuals.weak_text_color = Some(tokens.muted);
    visuals.widgets.noninteractive = widget(tokens.surface, tokens.rule, tokens.ink);
    visuals.widgets.inactive = widget(tokens.raised, tokens.outline, tokens.ink);
    visuals.widgets.hovered = widget(tokens.hover, tokens.ink, tokens.ink);
    visuals.widgets.active = WidgetVisuals {
        bg_stroke: Stroke::new(2.0, tokens.accent),
        ..widget(tokens.selection, tokens.accent, tokens.ink)
    };
    visuals.widgets.open = widget(tokens.hover, tokens.accent, tokens.ink);
    visuals.selection.bg_fill = tokens.selection;
    visuals.selection.stroke = Stroke::new(2.0, tokens.accent);
    visuals.hyperlink_color = tokens.accent;
    visuals.faint_bg_color = tokens.sunken;
    visuals.extreme_bg_color = tokens.raised;
    visuals.code_bg_color = tokens.sunken;
    visuals.warn_fg_color = tokens.late.text;
    visuals.error_fg_color = tokens.danger.text;
    visuals.window_corner_radius = CornerRadius::same(radius::MEDIUM);
    visuals.menu_corner_radius = CornerRadius::same(radius::MEDIUM);
    visuals.window_shadow = shadow;
    visuals.popup_shadow = shadow;
    visuals.window_fill = tokens.raised;
    visuals.window_stroke = Stroke::new(1.0, tokens.rule);
    visuals.panel_fill = tokens.surface;
    visuals.text_cursor.stroke = Stroke::new(2.0, tokens.accent);
    // A blinking cursor repaints an idle window for ever.
    visuals.text_cursor.blink = false;
    visuals.ime_composition.active_underline_stroke = Stroke::new(2.0, tokens.accent);
    visuals.ime_composition.inactive_underline_stroke = Stroke::new(2.0, tokens.outline);
    visuals
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of an sRGB colour, 0 to 1 (WCAG 2.2, 'relative luminance', W3C Recommendation, 2023).
    fn luminance(color: Color32) -> f64 {
        let linear = |channel: u8| {
            let value = f64::from(channel) / 255.0;
            if value <= 0.04045 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(color.r()) + 0.7152 * linear(color.g()) + 0.0722 * linear(color.b())
    }

    /// Contrast ratio, 1 to 21 (WCAG 2.2, 'contrast ratio').
    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn contrast_formula_spans_one_to_twenty_one() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        assert!((contrast(Color32::WHITE, Color32::WHITE) - 1.0).abs() < 1e-9);
        // #767676 on white is the well-known darkest-needed grey of level AA: 4.54 to 1.
        assert!((contrast(Color32::from_gray(0x76), Color32::WHITE) - 4.54).abs() < 0.01);
    }

    #[test]
    fn text_holds_level_aa_on_every_ground_it_is_drawn_on() {
        for (theme, t) in [("light", &Tokens::LIGHT), ("dark", &Tokens::DARK)] {
            let mut pairs = vec![("on accent", t.on_accent, t.accent)];
            for (name, ground) in [
                ("surface", t.surface),
                ("raised", t.raised),
                ("sunken", t.sunken),
            ] {
                pairs.push((name, t.ink, ground));
                pairs.push((name, t.muted, ground));
                pairs.push((name, t.accent, ground));
                for meaning in Meaning::ALL {
                    pairs.push((name, t.meaning(meaning).text, ground));
                }
            }
            for (name, ground) in [("selection", t.selection), ("hover", t.hover)] {
                pairs.push((name, t.ink, ground));
                pairs.push((name, t.muted, ground));
                for meaning in Meaning::ALL {
                    pairs.push((name, t.meaning(meaning).text, ground));
                }
            }
            for meaning in Meaning::ALL {
                let pair = t.meaning(meaning);
                pairs.push(("meaning", pair.text, pair.fill));
                pairs.push(("meaning", t.ink, pair.fill));
            }
            for step in t.scale {
                pairs.push(("scale", step.text, step.fill));
            }
            for (name, text, ground) in pairs {
                let ratio = contrast(text, ground);
                assert!(
                    ratio >= 4.5,
                    "{theme}: {text:?} on {name} {ground:?} is {ratio:.2} to 1"
                );
            }
        }
    }

    #[test]
    fn steps_of_a_scale_keep_their_order_in_grey() {
        let rises = |t: &Tokens| {
            let steps = t.scale.map(|step| luminance(step.fill));
            steps
                .windows(2)
                .map(|pair| pair[1] > pair[0])
                .collect::<Vec<_>>()
        };
        assert_eq!(rises(&Tokens::LIGHT), [false; 6]);
        assert_eq!(rises(&Tokens::DARK), [true; 6]);
    }

    #[test]
    fn outlines_focus_and_series_hold_three_to_one() {
        for (theme, t) in [("light", &Tokens::LIGHT), ("dark", &Tokens::DARK)] {
            for ground in [t.surface, t.raised, t.sunken] {
                for color in [t.outline, t.accent].into_iter().chain(t.series) {
                    let ratio = contrast(color, ground);
                    assert!(
                        ratio >= 3.0,
                        "{theme}: {color:?} on {ground:?} is {ratio:.2} to 1"
                    );
                }
            }
        }
    }
}

//! Every colour, spacing, radius and type size of the window, for light and dark.
//!
//! A field notebook made by a careful printer: quiet paper, strong ink, and one yellow that means *now*. Widgets ask for a role
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
    /// Between columns of a page.
    pub const XXXL: f32 = 32.0;
    /// The height of a row of a table.
    pub const ROW: f32 = 28.0;
    /// The height of a row that is worked at the bench.
    pub const BENCH_ROW: f32 = 48.0;
    /// The height of a button in such a row; its target is the row's height.
    pub const BENCH_BUTTON: f32 = 36.0;
    /// The height of a row of a list of records.
    pub const LIST_ROW: f32 = 44.0;
    /// The height of the bar with the menus and the working day.
    pub const TOP_BAR: f32 = 48.0;
    /// The height of the strip with the keys of the page and the notices.
    pub const KEY_STRIP: f32 = 32.0;
    /// The width of the sidebar.
    pub const SIDEBAR: f32 = 184.0;
    /// The width of the sidebar in a narrow window.
    pub const SIDEBAR_NARROW: f32 = 76.0;
    /// Windows narrower than this are narrow.
    pub const NARROW: f32 = 1200.0;
    /// The width of the list beside a record.
    pub const LIST: f32 = 264.0;
}

/// Corner radii.
pub mod radius {
    /// Buttons, fields, badges.
    pub const SMALL: u8 = 3;
    /// Grounds, rows, tabs, charts, panels, pop-ups: none.
    pub const MEDIUM: u8 = 0;
}

/// Type sizes in points.
pub mod type_size {
    /// Captions and units.
    pub const SMALL: f32 = 12.0;
    /// Everything else.
    pub const BODY: f32 = 14.0;
    /// Bench cells, introductions.
    pub const BENCH: f32 = 16.0;
    /// Section heads, the working day, codes on the bench.
    pub const HEADING: f32 = 20.0;
    /// The title of a page, the tag of a record, an answer in words.
    pub const TITLE: f32 = 28.0;
    /// The answer as a figure.
    pub const ANSWER: f32 = 48.0;
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
    /// The second printing. It means one thing, *now*: the working day, the row under the hand, the next step. A ground,
    /// never text, never a line on light paper.
    pub lupulin: Color32,
    /// What stands on [`Self::lupulin`].
    pub on_lupulin: Color32,
    /// A quieter lupulin, for what is chosen; ink is read on it.
    pub lupulin_soft: Color32,
    /// The ground of the one row in hand: full lupulin by day, the quieter one by night.
    pub in_hand: Color32,
    /// The outline of the row in hand.
    pub in_hand_edge: Color32,
    /// The solid ground of the main button of a section: bottle green by day, pale sage by night.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// The outline of what the keyboard acts on.
    pub focus: Color32,
    /// The ground of what is selected; ink is read on it.
    pub selection: Color32,
    /// The ground under the pointer; ink is read on it.
    pub hover: Color32,
    /// The second printing in drawings.
    pub spot: Color32,
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
    /// Danger as text or a line on paper, without its ground.
    pub alarm: Color32,
    /// Seed in the cold.
    pub cold: Pair,
    /// Seed in warmth.
    pub warm: Pair,
    /// Series of a chart, in order of use; at least 3:1 against the paper. The hues follow the set of
    /// Okabe and Ito (2008), 'Color universal design', darkened or lightened until they hold that contrast.
    pub series: [Color32; 6],
    /// Steps of a quantity from nothing to most, each with the figures read on it. In order of lightness, so that
    /// they are told apart in grey too.
    pub scale: [Pair; 7],
}

impl Tokens {
    /// Ink on pale field-book paper, with lupulin yellow as the second printing.
    pub const LIGHT: Self = Self {
        surface: rgb(0xF1F3E8),
        raised: rgb(0xFBFCF5),
        sunken: rgb(0xE4E9D9),
        ink: rgb(0x16211B),
        muted: rgb(0x4D594F),
        rule: rgb(0xC6CFBD),
        outline: rgb(0x717E6C),
        lupulin: rgb(0xF3D83A),
        on_lupulin: rgb(0x16211B),
        lupulin_soft: rgb(0xF8EFB4),
        in_hand: rgb(0xF3D83A),
        in_hand_edge: rgb(0x16211B),
        accent: rgb(0x1C3B2D),
        on_accent: rgb(0xF6F8EE),
        focus: rgb(0x16211B),
        selection: rgb(0xF8EFB4),
        hover: rgb(0xE9EEDD),
        spot: rgb(0xF3D83A),
        plain: Pair {
            fill: rgb(0xE4E9D9),
            text: rgb(0x4D594F),
        },
        good: Pair {
            fill: rgb(0xD5E8DF),
            text: rgb(0x0B5B50),
        },
        soon: Pair {
            fill: rgb(0xE4E9D9),
            text: rgb(0x16211B),
        },
        late: Pair {
            fill: rgb(0xF5DAE1),
            text: rgb(0x8B1B45),
        },
        danger: Pair {
            fill: rgb(0x8B1B45),
            text: rgb(0xFFF6F4),
        },
        alarm: rgb(0x8B1B45),
        cold: Pair {
            fill: rgb(0xD2E2EA),
            text: rgb(0x1F5E86),
        },
        warm: Pair {
            fill: rgb(0xF4DFC2),
            text: rgb(0x96500E),
        },
        series: [
            rgb(0x1F5E86),
            rgb(0x96500E),
            rgb(0x0B5B50),
            rgb(0x8E3E70),
            rgb(0x6E5200),
            rgb(0x4A5256),
        ],
        scale: [
            Pair {
                fill: rgb(0xFBFCF5),
                text: rgb(0x16211B),
            },
            Pair {
                fill: rgb(0xE1EAE6),
                text: rgb(0x16211B),
            },
            Pair {
                fill: rgb(0xBFD6D9),
                text: rgb(0x16211B),
            },
            Pair {
                fill: rgb(0x96BCCB),
                text: rgb(0x16211B),
            },
            Pair {
                fill: rgb(0x6BA0B6),
                text: rgb(0x16211B),
            },
            Pair {
                fill: rgb(0x2F6F92),
                text: rgb(0xFBFCF5),
            },
            Pair {
                fill: rgb(0x154A6E),
                text: rgb(0xFBFCF5),
            },
        ],
    };

    /// The same by night.
    pub const DARK: Self = Self {
        surface: rgb(0x151A17),
        raised: rgb(0x1E2520),
        sunken: rgb(0x0F1310),
        ink: rgb(0xEDEFE2),
        muted: rgb(0xA9B4A6),
        rule: rgb(0x38423B),
        outline: rgb(0x7F8C80),
        lupulin: rgb(0xE8D04A),
        on_lupulin: rgb(0x16200F),
        lupulin_soft: rgb(0x39381B),
        in_hand: rgb(0x39381B),
        in_hand_edge: rgb(0xE8D04A),
        accent: rgb(0xCBD8C4),
        on_accent: rgb(0x121813),
        focus: rgb(0xE8D04A),
        selection: rgb(0x39381B),
        hover: rgb(0x262E28),
        spot: rgb(0x7A6D1E),
        plain: Pair {
            fill: rgb(0x0F1310),
            text: rgb(0xA9B4A6),
        },
        good: Pair {
            fill: rgb(0x143A31),
            text: rgb(0x86D4BD),
        },
        soon: Pair {
            fill: rgb(0x0F1310),
            text: rgb(0xEDEFE2),
        },
        late: Pair {
            fill: rgb(0x451B2C),
            text: rgb(0xF6A6BC),
        },
        danger: Pair {
            fill: rgb(0xF08CA9),
            text: rgb(0x2A0713),
        },
        alarm: rgb(0xF6A6BC),
        cold: Pair {
            fill: rgb(0x17323F),
            text: rgb(0x84BFE3),
        },
        warm: Pair {
            fill: rgb(0x3E2B15),
            text: rgb(0xE8A862),
        },
        series: [
            rgb(0x84BFE3),
            rgb(0xE8A862),
            rgb(0x86D4BD),
            rgb(0xE09AC4),
            rgb(0xD9C978),
            rgb(0xB9BDB4),
        ],
        scale: [
            Pair {
                fill: rgb(0x1E2520),
                text: rgb(0xEDEFE2),
            },
            Pair {
                fill: rgb(0x22363D),
                text: rgb(0xEDEFE2),
            },
            Pair {
                fill: rgb(0x1F4A5C),
                text: rgb(0xEDEFE2),
            },
            Pair {
                fill: rgb(0x22607A),
                text: rgb(0xEDEFE2),
            },
            Pair {
                fill: rgb(0x5FA6C4),
                text: rgb(0x121813),
            },
            Pair {
                fill: rgb(0x8FC7DF),
                text: rgb(0x121813),
            },
            Pair {
                fill: rgb(0xC4E6F2),
                text: rgb(0x121813),
            },
        ],
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

    /// The colour of a meaning where it is text, a mark or a line on paper, without a ground of its own.
    pub const fn on_paper(&self, meaning: Meaning) -> Color32 {
        match meaning {
            Meaning::Danger => self.alarm,
            other => self.meaning(other).text,
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

/// The sturdy slab for what is read across the bench: codes, days, answers, headings.
pub fn slab(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name(fonts::SLAB.into()))
}

/// Bold text.
pub fn bold(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name(fonts::STRONG.into()))
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
        (TextStyle::Heading, slab(type_size::HEADING)),
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
    let mut visuals = base;
    visuals.weak_text_color = Some(tokens.muted);
    visuals.widgets.noninteractive = widget(tokens.surface, tokens.rule, tokens.ink);
    visuals.widgets.inactive = widget(tokens.raised, tokens.outline, tokens.ink);
    visuals.widgets.hovered = widget(tokens.hover, tokens.ink, tokens.ink);
    visuals.widgets.active = WidgetVisuals {
        bg_stroke: Stroke::new(2.0, tokens.focus),
        ..widget(tokens.selection, tokens.focus, tokens.ink)
    };
    visuals.widgets.open = widget(tokens.hover, tokens.focus, tokens.ink);
    visuals.selection.bg_fill = tokens.selection;
    visuals.selection.stroke = Stroke::new(2.0, tokens.focus);
    visuals.hyperlink_color = tokens.ink;
    visuals.faint_bg_color = tokens.sunken;
    visuals.extreme_bg_color = tokens.raised;
    visuals.code_bg_color = tokens.sunken;
    visuals.warn_fg_color = tokens.late.text;
    visuals.error_fg_color = tokens.alarm;
    visuals.window_corner_radius = CornerRadius::same(radius::MEDIUM);
    visuals.menu_corner_radius = CornerRadius::same(radius::MEDIUM);
    visuals.window_shadow = Shadow::NONE;
    visuals.popup_shadow = Shadow::NONE;
    visuals.window_fill = tokens.raised;
    visuals.window_stroke = Stroke::new(1.0, tokens.ink);
    visuals.panel_fill = tokens.surface;
    visuals.text_cursor.stroke = Stroke::new(2.0, tokens.ink);
    // A blinking cursor repaints an idle window for ever.
    visuals.text_cursor.blink = false;
    visuals.ime_composition.active_underline_stroke = Stroke::new(2.0, tokens.focus);
    visuals.ime_composition.inactive_underline_stroke = Stroke::new(2.0, tokens.outline);
    visuals
}

#[cfg(test)]
mod tests;

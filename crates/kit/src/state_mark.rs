//! Marks that say how a thing stands, drawn so that they hold in black and white: louder means heavier.

use egui::{
    Color32, FontId, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, Vec2,
    WidgetInfo, pos2, vec2,
};

use crate::{
    drawing::filled,
    theme::{self, Tokens, space, tokens, type_size},
};

/// How a thing stands. A word always stands beside the mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StateMark {
    /// It happened.
    Done,
    /// It is the turn of this one.
    Now,
    /// It is to come.
    Expected,
    /// It isn't known.
    Unknown,
    /// It is in order.
    Good,
    /// It wants doing today.
    Soon,
    /// Its day has passed.
    Late,
    /// Harm is near.
    Danger,
    /// It failed, or was culled.
    Failed,
}

impl StateMark {
    /// Every mark.
    pub const ALL: [Self; 9] = [
        Self::Done,
        Self::Now,
        Self::Expected,
        Self::Unknown,
        Self::Good,
        Self::Soon,
        Self::Late,
        Self::Danger,
        Self::Failed,
    ];

    /// The colour of the word beside it, and of the mark.
    pub const fn ink(self, tokens: &Tokens) -> Color32 {
        match self {
            Self::Done | Self::Now | Self::Soon => tokens.ink,
            Self::Expected | Self::Unknown | Self::Failed => tokens.muted,
            Self::Good => tokens.good.text,
            Self::Late => tokens.late.text,
            Self::Danger => tokens.danger.text,
        }
    }

    /// The ground it stands on with its word, where it has one of its own.
    pub const fn ground(self, tokens: &Tokens) -> Option<Color32> {
        match self {
            Self::Late => Some(tokens.late.fill),
            Self::Danger => Some(tokens.danger.fill),
            _ => None,
        }
    }

    /// Whether its word is set bold.
    pub const fn is_bold(self) -> bool {
        matches!(self, Self::Now | Self::Danger)
    }

    /// The shapes of the mark about `centre`, `size` across. `ground` is what it stands on: the tick of 'done' is cut
    /// out of the disc.
    pub fn shapes(self, centre: Pos2, size: f32, ink: Color32, ground: Color32) -> Vec<Shape> {
        let radius = size / 2.0;
        let line = (size / 8.0).clamp(1.2, 2.4);
        let at = |x: f32, y: f32| centre + vec2(x, y) * radius;
        let tick = |width: f32, colour| {
            Shape::line(
                vec![at(-0.55, 0.02), at(-0.12, 0.46), at(0.58, -0.42)],
                Stroke::new(width, colour),
            )
        };
        match self {
            Self::Done => vec![
                Shape::circle_filled(centre, radius, ink),
                tick(line, ground),
            ],
            Self::Now => vec![Shape::circle_stroke(
                centre,
                radius - 1.0,
                Stroke::new(2.0, ink),
            )],
            Self::Expected => vec![Shape::circle_stroke(
                centre,
                radius - line / 2.0,
                Stroke::new(line, ink),
            )],
            Self::Unknown => {
                let points: Vec<_> = (0..=32)
                    .map(|step| {
                        let angle = step as f32 / 32.0 * std::f32::consts::TAU;
                        centre + Vec2::angled(angle) * (radius - line / 2.0)
                    })
                    .collect();
                let piece = size * 0.24;
                Shape::dashed_line(&points, Stroke::new(line, ink), piece, piece * 0.63)
            }
            Self::Good => vec![tick(line * 1.3, ink)],
            Self::Soon => {
                let right: Vec<_> = (0..=16)
                    .map(|step| {
                        let angle = (step as f32 / 16.0 - 0.5) * std::f32::consts::PI;
                        centre + Vec2::angled(angle) * radius
                    })
                    .collect();
                let mut shapes = filled(&right, ink);
                shapes.push(Shape::circle_stroke(
                    centre,
                    radius - line / 2.0,
                    Stroke::new(line, ink),
                ));
                shapes
            }
            Self::Late => filled(&[at(0.0, -0.95), at(1.0, 0.85), at(-1.0, 0.85)], ink),
            Self::Danger => {
                let mut shapes = filled(
                    &[
                        at(-0.26, -1.0),
                        at(0.26, -1.0),
                        at(0.14, 0.28),
                        at(-0.14, 0.28),
                    ],
                    ink,
                );
                shapes.push(Shape::circle_filled(at(0.0, 0.76), radius * 0.24, ink));
                shapes
            }
            Self::Failed => vec![
                Shape::line_segment(
                    [at(-0.62, -0.62), at(0.62, 0.62)],
                    Stroke::new(line * 1.3, ink),
                ),
                Shape::line_segment(
                    [at(-0.62, 0.62), at(0.62, -0.62)],
                    Stroke::new(line * 1.3, ink),
                ),
            ],
        }
    }

    /// Paints the mark in the colours of a theme, on `ground`.
    pub fn paint(
        self,
        painter: &Painter,
        centre: Pos2,
        size: f32,
        tokens: &Tokens,
        ground: Color32,
    ) {
        let ink = self.ink(tokens);
        if self == Self::Now {
            painter.circle_filled(centre, size / 2.0 - 1.0, tokens.lupulin);
        }
        painter.extend(self.shapes(centre, size, ink, ground));
    }
}

/// A mark and its word in the flow of a page.
pub fn state(ui: &mut Ui, mark: StateMark, word: &str) -> Response {
    state_in(ui, mark, word, type_size::SMALL)
}

/// The same in another size of type.
pub fn state_in(ui: &mut Ui, mark: StateMark, word: &str, size: f32) -> Response {
    let colours = tokens(ui);
    let font = if mark.is_bold() {
        theme::bold(size)
    } else {
        FontId::proportional(size)
    };
    let ink = mark.ink(colours);
    let galley = ui.painter().layout_no_wrap(word.to_owned(), font, ink);
    let mark_size = (size * 0.86).round();
    let ground = mark.ground(colours);
    let inset = if ground.is_some() {
        vec2(space::XS, 2.0)
    } else {
        Vec2::ZERO
    };
    let room = vec2(
        mark_size + space::XS + galley.size().x,
        galley.size().y.max(mark_size),
    ) + 2.0 * inset;
    let (rect, response) = ui.allocate_exact_size(room, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, word));
    if let Some(ground) = ground {
        ui.painter().rect_filled(rect, 0.0, ground);
    }
    let inner = rect.shrink2(inset);
    let centre = pos2(inner.left() + mark_size / 2.0, inner.center().y);
    mark.paint(
        ui.painter(),
        centre,
        mark_size,
        colours,
        ground.unwrap_or(colours.surface),
    );
    let at = pos2(
        inner.left() + mark_size + space::XS,
        inner.center().y - galley.size().y / 2.0,
    );
    ui.painter().galley(at, galley, ink);
    response
}

/// The dashed outline of a field whose content isn't recorded yet, and the word 'draft' at its left.
pub fn draft_outline(painter: &Painter, rect: Rect, tokens: &Tokens) {
    let rect = rect.shrink(1.0);
    let corners = [
        rect.left_top(),
        rect.right_top(),
        rect.right_bottom(),
        rect.left_bottom(),
        rect.left_top(),
    ];
    painter.extend(Shape::dashed_line(
        &corners,
        Stroke::new(2.0, tokens.ink),
        5.0,
        3.0,
    ));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mark_stays_within_its_size() {
        for mark in StateMark::ALL {
            for size in [10.0, 12.0, 16.0, 24.0] {
                let room = Rect::from_center_size(pos2(50.0, 50.0), Vec2::splat(size)).expand(1.0);
                let shapes = mark.shapes(pos2(50.0, 50.0), size, Color32::BLACK, Color32::WHITE);
                assert!(!shapes.is_empty());
                for shape in shapes {
                    let bounds = shape.visual_bounding_rect();
                    assert!(bounds.is_finite(), "{mark:?}");
                    assert!(room.contains_rect(bounds), "{mark:?} at {size}: {bounds:?}");
                }
            }
        }
    }

    #[test]
    fn no_two_marks_look_alike() {
        let drawn = |mark: StateMark| {
            format!(
                "{:?}",
                mark.shapes(pos2(0.0, 0.0), 12.0, Color32::BLACK, Color32::WHITE)
            )
        };
        for (nth, one) in StateMark::ALL.into_iter().enumerate() {
            for other in StateMark::ALL.into_iter().skip(nth + 1) {
                assert_ne!(drawn(one), drawn(other), "{one:?} and {other:?}");
            }
        }
    }
}

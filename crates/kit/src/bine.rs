//! Time as a string that a bine grows round: what has happened has grown, what is to come is bare string.

use std::f32::consts::{PI, TAU};

use egui::{Color32, Painter, Pos2, Shape, Stroke, Vec2};

use crate::{drawing::filled, theme::Tokens};

/// How the bine is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habit {
    /// Half the height of a wave, in points.
    pub amplitude: f32,
    /// Length of a wave, in points.
    pub wave: f32,
    /// Width of the bine.
    pub width: f32,
    /// Length of a leaf.
    pub leaf: f32,
}

impl Habit {
    /// Beside a list, along a record.
    pub const PAGE: Self = Self {
        amplitude: 5.0,
        wave: 24.0,
        width: 2.0,
        leaf: 12.0,
    };
    /// In the lanes of a season.
    pub const LANE: Self = Self {
        amplitude: 4.5,
        wave: 20.0,
        width: 1.8,
        leaf: 11.0,
    };
    /// Round the year of the welcome page.
    pub const YEAR: Self = Self {
        amplitude: 9.0,
        wave: 58.0,
        width: 3.2,
        leaf: 22.0,
    };
}

/// What a string is stretched along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Course {
    /// From one point to another.
    Line {
        /// Where time begins.
        from: Pos2,
        /// Where it leads.
        to: Pos2,
    },
    /// Round a middle, clockwise.
    Circle {
        /// The middle.
        centre: Pos2,
        /// The radius.
        radius: f32,
        /// Where time begins, in radians clockwise from the right.
        begin: f32,
    },
}

impl Course {
    /// Its length in points.
    pub fn length(self) -> f32 {
        match self {
            Self::Line { from, to } => from.distance(to),
            Self::Circle { radius, .. } => TAU * radius,
        }
    }

    /// The point at a distance along it.
    pub fn at(self, distance: f32) -> Pos2 {
        match self {
            Self::Line { from, .. } => from + self.onward(distance) * distance,
            Self::Circle {
                centre,
                radius,
                begin,
            } => centre + Vec2::angled(begin + distance / radius) * radius,
        }
    }

    /// The direction of time there, of length 1.
    pub fn onward(self, distance: f32) -> Vec2 {
        match self {
            Self::Line { from, to } => {
                let whole = to - from;
                if whole.length() > 0.0 {
                    whole.normalized()
                } else {
                    Vec2::RIGHT
                }
            }
            Self::Circle { radius, begin, .. } => {
                Vec2::angled(begin + distance / radius + PI / 2.0)
            }
        }
    }

    fn beside(self, distance: f32, by: f32) -> Pos2 {
        self.at(distance) + self.onward(distance).rot90() * by
    }
}

/// The colours of string, bine and what they lie on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Inks {
    /// The bine and its leaves.
    pub bine: Color32,
    /// The string.
    pub string: Color32,
    /// The paper beneath.
    pub paper: Color32,
}

impl Inks {
    /// Those of a theme, on its paper.
    pub const fn of(tokens: &Tokens) -> Self {
        Self {
            bine: tokens.ink,
            string: tokens.outline,
            paper: tokens.surface,
        }
    }
}

/// Which leaves a bine bears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Leaves<'a> {
    /// One at every second wave.
    Regular,
    /// One at each of these distances: a leaf for each thing done.
    At(&'a [f32]),
    /// None.
    None,
}

/// Draws the whole string, and the bine on its first `grown` points.
pub fn draw(
    painter: &Painter,
    course: Course,
    grown: f32,
    leaves: Leaves<'_>,
    habit: Habit,
    inks: Inks,
) {
    painter.extend(string(course, 0.0, course.length(), inks));
    painter.extend(bine(
        course,
        0.0,
        grown.min(course.length()),
        leaves,
        habit,
        inks,
    ));
}

/// A piece of bare string.
pub fn string(course: Course, from: f32, to: f32, inks: Inks) -> Vec<Shape> {
    if to <= from {
        return Vec::new();
    }
    let points = match course {
        Course::Line { .. } => vec![course.at(from), course.at(to)],
        Course::Circle { .. } => along(from, to, 4.0).map(|on| course.at(on)).collect(),
    };
    vec![Shape::line(points, Stroke::new(1.0, inks.string))]
}

/// The bine between two distances, over a string that is already drawn. At every second crossing it passes over the
/// string, at the others the string passes over it.
pub fn bine(
    course: Course,
    from: f32,
    to: f32,
    leaves: Leaves<'_>,
    habit: Habit,
    inks: Inks,
) -> Vec<Shape> {
    let mut shapes = Vec::new();
    if to - from < 1.0 {
        return shapes;
    }
    let step = habit.wave / 20.0;
    let point = |on: f32| course.beside(on, habit.swing(on));
    let half = habit.wave / 2.0;
    let crossings = || {
        let first = (from / half).ceil() as i32;
        let last = (to / half).floor() as i32;
        (first..=last).map(move |nth| (nth, nth as f32 * half))
    };
    for (_, on) in crossings().filter(|(nth, _)| nth % 2 == 0) {
        let (start, end) = (
            (on - habit.wave / 8.0).max(from),
            (on + habit.wave / 8.0).min(to),
        );
        let piece = along(start, end, step).map(point).collect();
        shapes.push(Shape::line(
            piece,
            Stroke::new(habit.width + 3.0, inks.paper),
        ));
    }
    let stem: Vec<_> = along(from, to, step).map(point).collect();
    for end in [stem.first(), stem.last()].into_iter().flatten() {
        shapes.push(Shape::circle_filled(*end, habit.width / 2.0, inks.bine));
    }
    shapes.push(Shape::line(stem, Stroke::new(habit.width, inks.bine)));
    for (_, on) in crossings().filter(|(nth, _)| nth % 2 != 0) {
        let reach = habit.width + 1.5;
        let (start, end) = ((on - reach).max(from), (on + reach).min(to));
        let piece = [course.at(start), course.at(end)];
        shapes.push(Shape::line_segment(piece, Stroke::new(4.0, inks.paper)));
        shapes.push(Shape::line_segment(piece, Stroke::new(1.0, inks.string)));
    }
    let regular: Vec<f32>;
    let places = match leaves {
        Leaves::Regular => {
            // On the crests, where the bine is farthest from the string.
            let first = (from / habit.wave).ceil() as i32;
            let last = ((to - habit.leaf) / habit.wave).floor() as i32;
            regular = (first..=last)
                .filter(|nth| nth % 2 != 0)
                .enumerate()
                .map(|(nth, wave)| {
                    let crest = if nth % 2 == 0 { 0.25 } else { 0.75 };
                    (wave as f32 + crest) * habit.wave
                })
                .collect();
            regular.as_slice()
        }
        Leaves::At(places) => places,
        Leaves::None => &[],
    };
    for (nth, &on) in places
        .iter()
        .enumerate()
        .filter(|(_, on)| (from..=to).contains(*on))
    {
        let side = if nth % 2 == 0 { 1.0 } else { -1.0 };
        shapes.extend(leaf_at(course, on, side, habit, inks));
    }
    shapes
}

/// The two leaves of the tip, before the node of the present at `on`.
pub fn tip(course: Course, on: f32, habit: Habit, inks: Inks) -> Vec<Shape> {
    let mut shapes = Vec::new();
    let onward = course.onward(on);
    for side in [-1.0, 1.0] {
        let angle = side * 38.0_f32.to_radians();
        let direction = egui::emath::Rot2::from_angle(angle) * onward;
        shapes.extend(filled(
            &leaf(course.at(on), direction, habit.leaf * 0.8),
            inks.bine,
        ));
    }
    shapes
}

impl Habit {
    /// How far the bine is beside the string at a distance along it.
    fn swing(self, on: f32) -> f32 {
        self.amplitude * (on / self.wave * TAU).sin()
    }
}

/// A leaf on one side of the bine, leaning onward.
fn leaf_at(course: Course, on: f32, side: f32, habit: Habit, inks: Inks) -> Vec<Shape> {
    let foot = course.beside(on, habit.swing(on));
    let out = course.onward(on).rot90() * side;
    let direction = (out + course.onward(on) * 0.55).normalized();
    filled(&leaf(foot, direction, habit.leaf), inks.bine)
}

/// The outline of a leaf: a lens; from 17 points up with two side lobes.
fn leaf(foot: Pos2, direction: Vec2, length: f32) -> Vec<Pos2> {
    let across = direction.rot90();
    let half: &[(f32, f32)] = if length >= 17.0 {
        &[
            (0.0, 0.0),
            (0.06, 0.2),
            (0.2, 0.36),
            (0.46, 0.5),
            (0.5, 0.24),
            (0.66, 0.22),
            (0.84, 0.12),
            (1.0, 0.0),
        ]
    } else {
        &[
            (0.0, 0.0),
            (0.15, 0.17),
            (0.35, 0.28),
            (0.55, 0.28),
            (0.78, 0.16),
            (1.0, 0.0),
        ]
    };
    let at = |&(along, aside): &(f32, f32), side: f32| {
        foot + direction * (along * length) + across * (aside * length * side)
    };
    let left = half.iter().map(|point| at(point, 1.0));
    let right = half[1..half.len() - 1]
        .iter()
        .rev()
        .map(|point| at(point, -1.0));
    left.chain(right).collect()
}

/// Distances from one to another, both included.
fn along(from: f32, to: f32, step: f32) -> impl Iterator<Item = f32> {
    let steps = ((to - from) / step).ceil().max(1.0) as usize;
    (0..=steps).map(move |nth| from + (to - from) * nth as f32 / steps as f32)
}

#[cfg(test)]
mod tests {
    use egui::{Rect, pos2};

    use super::*;

    const INKS: Inks = Inks {
        bine: Color32::BLACK,
        string: Color32::GRAY,
        paper: Color32::WHITE,
    };

    fn bounds(shapes: &[Shape]) -> Rect {
        shapes
            .iter()
            .map(Shape::visual_bounding_rect)
            .fold(Rect::NOTHING, Rect::union)
    }

    #[test]
    fn the_bine_keeps_to_its_string_and_ends_where_the_present_is() {
        let course = Course::Line {
            from: pos2(0.0, 0.0),
            to: pos2(200.0, 0.0),
        };
        for grown in [12.0, 60.0, 133.0, 200.0] {
            let shapes = bine(course, 0.0, grown, Leaves::None, Habit::PAGE, INKS);
            let bounds = bounds(&shapes);
            assert!(bounds.is_finite());
            assert!(bounds.top() >= -7.5 && bounds.bottom() <= 7.5, "{bounds:?}");
            assert!(bounds.right() <= grown + 2.5, "{bounds:?}");
        }
    }

    #[test]
    fn nothing_grows_where_nothing_was_done() {
        let course = Course::Line {
            from: pos2(0.0, 0.0),
            to: pos2(0.0, 90.0),
        };
        assert!(bine(course, 0.0, 0.0, Leaves::Regular, Habit::PAGE, INKS).is_empty());
        assert!(string(course, 10.0, 10.0, INKS).is_empty());
    }

    #[test]
    fn a_leaf_grows_for_each_thing_done_on_sides_in_turn() {
        let course = Course::Line {
            from: pos2(0.0, 0.0),
            to: pos2(0.0, 200.0),
        };
        let with =
            |places: &[f32]| bine(course, 0.0, 180.0, Leaves::At(places), Habit::PAGE, INKS).len();
        let bare = with(&[]);
        // A leaf is a ground and the hair round it.
        assert_eq!(with(&[20.0]), bare + 2);
        assert_eq!(with(&[20.0, 68.0, 116.0]), bare + 6);
        // One past the tip isn't drawn.
        assert_eq!(with(&[20.0, 190.0]), bare + 2);
    }

    #[test]
    fn a_year_comes_back_to_where_it_began() {
        let year = Course::Circle {
            centre: pos2(300.0, 300.0),
            radius: 190.0,
            begin: -PI / 2.0,
        };
        assert!(year.at(0.0).distance(pos2(300.0, 110.0)) < 1e-3);
        assert!(year.at(0.0).distance(year.at(year.length())) < 1e-2);
        let shapes = bine(year, 0.0, year.length(), Leaves::Regular, Habit::YEAR, INKS);
        assert!(bounds(&shapes).is_finite());
    }

    #[test]
    fn a_string_of_no_length_is_harmless() {
        let point = pos2(5.0, 5.0);
        let course = Course::Line {
            from: point,
            to: point,
        };
        assert_eq!(course.length(), 0.0);
        assert!(bounds(&tip(course, 0.0, Habit::PAGE, INKS)).is_finite());
    }
}

//! Points, rectangles, and the plane seen in perspective.

use std::ops::{Add, Mul, Sub};

/// A place: millimetres on paper from its top left corner, or pixels of a picture, whose first pixel has its middle
/// at (0, 0).
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// A point.
pub const fn point(x: f64, y: f64) -> Point {
    Point { x, y }
}

impl Point {
    /// How far another point is.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// The point so far on the way to another: 0 here, 1 there.
    #[must_use]
    pub fn towards(self, other: Self, share: f64) -> Self {
        self + (other - self) * share
    }

    /// Twice the area of the triangle from the origin over this point to the other; its sign tells the turn.
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        point(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        point(self.x - other.x, self.y - other.y)
    }
}

impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        point(self.x * by, self.y * by)
    }
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Rect {
    /// The right edge.
    pub fn right(self) -> f64 {
        self.x + self.width
    }

    /// The lower edge.
    pub fn bottom(self) -> f64 {
        self.y + self.height
    }

    /// Larger by so much on each side.
    #[must_use]
    pub fn grown(self, by: f64) -> Self {
        Self {
            x: self.x - by,
            y: self.y - by,
            width: self.width + 2.0 * by,
            height: self.height + 2.0 * by,
        }
    }
}

/// What takes a plane to a picture of it: straight lines stay straight.
///
/// R. Hartley, A. Zisserman, Multiple View Geometry in Computer Vision, 2nd ed. (2004), 2.3: eight numbers, found
/// from four points of which no three lie on a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homography([f64; 9]);

impl Homography {
    /// What takes four points to four others; `None` where three of them lie on a line.
    pub fn between(from: [Point; 4], to: [Point; 4]) -> Option<Self> {
        let mut rows = [[0.0; 9]; 8];
        for (each, (p, q)) in from.iter().zip(to).enumerate() {
            rows[2 * each] = [p.x, p.y, 1.0, 0.0, 0.0, 0.0, -q.x * p.x, -q.x * p.y, q.x];
            rows[2 * each + 1] = [0.0, 0.0, 0.0, p.x, p.y, 1.0, -q.y * p.x, -q.y * p.y, q.y];
        }
        let solved = solve(rows)?;
        let mut all = [1.0; 9];
        all[..8].copy_from_slice(&solved);
        Some(Self(all))
    }

    /// Where a point comes to lie.
    pub fn map(&self, p: Point) -> Point {
        let [a, b, c, d, e, f, g, h, i] = self.0;
        let w = g * p.x + h * p.y + i;
        point((a * p.x + b * p.y + c) / w, (d * p.x + e * p.y + f) / w)
    }

    /// Pixels to a unit of the plane round a point: the square root of how much larger areas become.
    pub fn scale_at(&self, p: Point) -> f64 {
        let here = self.map(p);
        let right = self.map(p + point(1.0, 0.0)) - here;
        let down = self.map(p + point(0.0, 1.0)) - here;
        right.cross(down).abs().sqrt()
    }
}

/// Gaussian elimination with the largest pivot of each column.
fn solve(mut rows: [[f64; 9]; 8]) -> Option<[f64; 8]> {
    for column in 0..8 {
        let pivot =
            (column..8).max_by(|&a, &b| rows[a][column].abs().total_cmp(&rows[b][column].abs()))?;
        if rows[pivot][column].abs() < 1e-9 {
            return None;
        }
        rows.swap(column, pivot);
        let pivot = rows[column];
        for (row, values) in rows.iter_mut().enumerate() {
            if row == column {
                continue;
            }
            let times = values[column] / pivot[column];
            for (value, of_pivot) in values.iter_mut().zip(pivot).skip(column) {
                *value -= times * of_pivot;
            }
        }
    }
    let mut solved = [0.0; 8];
    for (each, row) in rows.iter().enumerate() {
        solved[each] = row[8] / row[each];
    }
    solved
        .iter()
        .all(|value| value.is_finite())
        .then_some(solved)
}

/// Whether four points, in order, go round a shape without a dent, clockwise as seen on a picture.
pub fn goes_round(corners: [Point; 4]) -> bool {
    (0..4).all(|each| {
        let (a, b, c) = (
            corners[each],
            corners[(each + 1) % 4],
            corners[(each + 2) % 4],
        );
        (b - a).cross(c - b) > 1.0
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn corner() -> impl Strategy<Value = Point> {
        (-20.0..20.0, -20.0..20.0).prop_map(|(x, y)| point(x, y))
    }

    const PAGE: [Point; 4] = [
        point(0.0, 0.0),
        point(200.0, 0.0),
        point(200.0, 300.0),
        point(0.0, 300.0),
    ];

    proptest! {
        #[test]
        fn the_corners_go_where_they_were_seen_and_back(a in corner(), b in corner(), c in corner(), d in corner(), turn in 0..4_usize) {
            let mut seen = [PAGE[0] + a, PAGE[1] + b, PAGE[2] + c, PAGE[3] + d];
            seen.rotate_left(turn);
            let there = Homography::between(PAGE, seen).unwrap();
            let back = Homography::between(seen, PAGE).unwrap();
            for (from, to) in PAGE.iter().zip(seen) {
                prop_assert!(there.map(*from).distance(to) < 1e-6);
            }
            let inside = point(70.0, 110.0);
            prop_assert!(back.map(there.map(inside)).distance(inside) < 1e-6);
        }

        #[test]
        fn straight_lines_stay_straight(a in corner(), b in corner(), c in corner(), d in corner()) {
            let seen = [PAGE[0] + a, PAGE[1] + b, PAGE[2] + c, PAGE[3] + d];
            let there = Homography::between(PAGE, seen).unwrap();
            let [p, q, r] = [0.0, 0.3, 1.0].map(|t| there.map(point(10.0, 20.0).towards(point(190.0, 270.0), t)));
            prop_assert!(((q - p).cross(r - p) / p.distance(r)).abs() < 1e-6);
        }
    }

    #[test]
    fn three_points_on_a_line_give_none() {
        let line = [
            point(0.0, 0.0),
            point(1.0, 1.0),
            point(2.0, 2.0),
            point(0.0, 5.0),
        ];
        assert_eq!(Homography::between(line, PAGE), None);
        assert!(!goes_round(line));
        assert!(goes_round(PAGE));
    }
}

//! Bubbles: where exactly they are, and what is in and round each.

use super::ink::Ink;
use crate::geometry::{Point, point};
use crate::layout::BUBBLE;
use std::f64::consts::TAU;

/// Inside a bubble, well within its outline.
const INSIDE: f64 = 0.72 * BUBBLE;
/// Where the strokes of a cross are sought, outside a bubble.
const STROKES: [f64; 4] = [1.3, 1.48, 1.66, 1.84];
/// A stroke has at least so much ink all along.
const STROKE_INK: f64 = 0.28;
/// Where the photo isn't sharp a stroke may look as faint as this.
const FAINT_STROKE: f64 = 0.11;
/// A stroke is seen in directions no wider apart than this, in degrees.
const NARROW: f64 = 50.0;
/// Strokes nearer to each other than this, in degrees, are pieces of one: the arms of a cross stand further apart.
const APART: f64 = 30.0;
/// More ink than this all round a bubble is no light and shade.
const SMEARED: f64 = 0.2;
/// No strokes are sought so near the row: there the next bubbles are.
const BESIDE: f64 = 25.0;

/// What is in and round a bubble.
#[derive(Clone, Copy, Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "what is seen, each by itself"
)]
pub(super) struct Mark {
    /// Mean ink inside, 0 to 1, less what lies round it.
    pub inside: f64,
    /// Of what was taken off `inside` as print, so much may be a faint mark.
    pub hidden: f64,
    /// Whether it is crossed out: a stroke both ways, each far out at both ends, and clean between them.
    pub crossed: bool,
    /// How many directions have a stroke that goes far out.
    pub strokes: usize,
    /// Whether it looks as crossed out, if however faint a stroke were one.
    pub maybe_crossed: bool,
    /// Whether so many narrow strokes, however faint, go far out that a cross may be among them.
    pub rayed: bool,
    /// Whether most of what lies just outside is dark: blackened far over its edge, a stain, a hard shadow.
    pub smeared: bool,
}

/// How far the print is from where the frame has it, and how well its outlines are seen there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub off: Point,
    /// How much darker the outlines are than what is just outside them.
    pub seen: f64,
}

/// Looks for the outlines of the bubbles of a cell near where they should be.
pub(super) fn place(ink: &Ink, bubbles: &[Point]) -> Place {
    let best = |middle: Point, reach: i32, step: f64| {
        let mut best = Place {
            off: middle,
            seen: f64::NEG_INFINITY,
        };
        for v in -reach..=reach {
            for u in -reach..=reach {
                let off = middle + point(f64::from(u), f64::from(v)) * step;
                let seen = outlines(ink, bubbles, off);
                if seen > best.seen {
                    best = Place { off, seen };
                }
            }
        }
        best
    };
    let roughly = best(point(0.0, 0.0), 4, 0.3);
    best(roughly.off, 3, 0.08)
}

/// How much darker the outlines would be than what is just outside them, were the print moved so far.
pub(super) fn outlines(ink: &Ink, bubbles: &[Point], off: Point) -> f64 {
    const AROUND: usize = 16;
    let mut sum = 0.0;
    for &bubble in bubbles {
        for each in 0..AROUND {
            let turn = each as f64 / AROUND as f64 * TAU;
            let way = point(turn.cos(), turn.sin());
            sum += ink.near(bubble + off + way * BUBBLE);
            sum -= ink.near(bubble + off + way * (1.3 * BUBBLE));
        }
    }
    sum / (AROUND * bubbles.len()) as f64
}

/// What is in and round a bubble with its middle there.
pub(super) fn look(ink: &Ink, middle: Point) -> Mark {
    let round = round(ink, middle);
    let smeared = round > SMEARED;
    let inside = inside(ink, middle);
    let [strong, faint] = [STROKE_INK, FAINT_STROKE].map(|least| strokes(ink, middle, least));
    Mark {
        inside: if smeared { inside } else { inside - round },
        hidden: 0.0,
        crossed: is_cross(&strong),
        strokes: strong.len(),
        maybe_crossed: is_cross(&faint),
        rayed: rays(&faint) > 2,
        smeared,
    }
}

fn inside(ink: &Ink, middle: Point) -> f64 {
    const STEP: f64 = 0.14;
    let steps = (INSIDE / STEP) as i32;
    let (mut sum, mut count) = (0.0, 0.0);
    for v in -steps..=steps {
        for u in -steps..=steps {
            let off = point(f64::from(u), f64::from(v)) * STEP;
            if off.x.hypot(off.y) <= INSIDE {
                sum += ink.near(middle + off).min(1.0);
                count += 1.0;
            }
        }
    }
    sum / count
}

/// The ink that half of the places just outside a bubble have: a shadow or a stain lies there too, a mark doesn't.
fn round(ink: &Ink, middle: Point) -> f64 {
    let mut all: Vec<f64> = (0..32)
        .map(|each| {
            let turn = f64::from(each) / 16.0 * TAU;
            let radius = if each < 16 { 1.3 } else { 1.5 };
            ink.near(middle + point(turn.cos(), turn.sin()) * (radius * BUBBLE))
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// In which directions a stroke of at least so much ink comes out of a bubble: the middle and the width of each, in
/// degrees.
fn strokes(ink: &Ink, middle: Point, least: f64) -> Vec<(f64, f64)> {
    const AROUND: usize = 72;
    let sideways = [-0.3, -0.15, 0.0, 0.15, 0.3];
    let inked: Vec<Option<bool>> = (0..AROUND)
        .map(|each| {
            let degrees = each as f64 * 360.0 / AROUND as f64;
            let from_row = (degrees % 180.0).min(180.0 - degrees % 180.0);
            if from_row < BESIDE {
                return None;
            }
            let turn = degrees.to_radians();
            let (way, aside) = (
                point(turn.cos(), turn.sin()),
                point(-turn.sin(), turn.cos()),
            );
            Some(STROKES.iter().all(|radius| {
                let at = middle + way * (radius * BUBBLE);
                sideways
                    .iter()
                    .any(|&off| ink.near(at + aside * off) > least)
            }))
        })
        .collect();
    // Strokes are runs of inked directions: their middles and widths in degrees.
    let degrees = 360.0 / AROUND as f64;
    let mut found: Vec<(f64, f64)> = Vec::new();
    let mut run: Option<usize> = None;
    for (each, inked) in inked.iter().chain([&None]).enumerate() {
        match (inked, run) {
            (Some(true), None) => run = Some(each),
            (Some(true), Some(_)) | (_, None) => {}
            (_, Some(from)) => {
                found.push((
                    0.5 * (from + each - 1) as f64 * degrees,
                    (each - from) as f64 * degrees,
                ));
                run = None;
            }
        }
    }
    found
}

/// How many narrow strokes there are, those that stand close together counted once. The arm of a cross over the next
/// bubble passes by this one, and may be seen in three pieces.
fn rays(found: &[(f64, f64)]) -> usize {
    let mut last = f64::NEG_INFINITY;
    let narrow = found.iter().filter(|&&(_, width)| width <= NARROW);
    narrow
        .filter(|&&(middle, _)| {
            let apart = middle - last >= APART;
            if apart {
                last = middle;
            }
            apart
        })
        .count()
}

/// Whether strokes are those of a cross: one each way, with white between.
fn is_cross(found: &[(f64, f64)]) -> bool {
    let narrow = found.iter().all(|&(_, width)| width <= NARROW);
    let opposite = |a: f64, b: f64| ((b - a).abs() - 180.0).abs() < 32.0;
    match found[..] {
        [(a, _), (b, _), (c, _), (d, _)] => {
            narrow && opposite(a, c) && opposite(b, d) && (35.0..145.0).contains(&(b - a))
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As on a scan of a bubble that was filled beside one that was crossed out.
    #[test]
    fn pieces_of_one_stroke_are_one_ray() {
        assert_eq!(rays(&[(300.0, 25.0), (320.0, 5.0), (325.0, 5.0)]), 1);
        // The arm that was seen on that scan reaches over more: two, which is no cross.
        assert_eq!(rays(&[(300.0, 25.0), (320.0, 5.0), (335.0, 5.0)]), 2);
        assert_eq!(rays(&[(45.0, 20.0), (135.0, 20.0), (225.0, 20.0)]), 3);
        assert_eq!(rays(&[(45.0, 20.0), (80.0, 20.0), (225.0, 60.0)]), 2);
    }
}

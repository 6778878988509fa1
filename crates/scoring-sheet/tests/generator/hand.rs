//! Marks as hands make them.

use super::page::Page;
use super::within;
use fastrand::Rng;
use scoring_sheet::Column;
use scoring_sheet::geometry::{Point, Rect, point};
use scoring_sheet::layout::{BUBBLE, Form};

/// What a cell means, to a person who sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Meant {
    pub row: usize,
    pub column: usize,
    pub kind: MarkKind,
    /// The level, nothing, or, where nobody could say, neither.
    pub level: Truth,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Truth {
    Empty,
    Level(usize),
    /// A person would have to ask.
    Unsure,
    /// Dust, or a dot that was not meant: nothing, or to be asked about.
    Dust,
    /// A number in a box.
    Written,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MarkKind {
    Nothing,
    Filled,
    Scribbled,
    Tick,
    Cross,
    Half,
    Pencil,
    Overflow,
    Corrected,
    // From here on nobody promises that it is clear.
    Faint,
    Speck,
    Erased,
    Two,
    CrossedOutAlone,
    StruckThrough,
    BlackenedOut,
    Written,
}

impl MarkKind {
    /// Whether the reader is held to it.
    pub fn is_clear(self) -> bool {
        self < Self::Faint
    }
}

const CLEAR: [MarkKind; 8] = [
    MarkKind::Filled,
    MarkKind::Scribbled,
    MarkKind::Tick,
    MarkKind::Cross,
    MarkKind::Half,
    MarkKind::Pencil,
    MarkKind::Overflow,
    MarkKind::Corrected,
];
const DOUBTFUL: [MarkKind; 7] = [
    MarkKind::Faint,
    MarkKind::Speck,
    MarkKind::Erased,
    MarkKind::Two,
    MarkKind::CrossedOutAlone,
    MarkKind::StruckThrough,
    MarkKind::BlackenedOut,
];

/// Fills in a page; `odd` of the marks are of the kinds that nobody promises to be clear.
pub fn fill_in(
    page: &mut Page,
    form: &Form,
    sheet_page: usize,
    odd: f64,
    rng: &mut Rng,
) -> Vec<Meant> {
    let mut all = Vec::new();
    for row in 0..form.rows_on(sheet_page).len() {
        for column in 0..form.columns().len() {
            let cell = form.cell(row, column);
            if let Column::Written = form.columns()[column] {
                let written = rng.f64() < 0.6;
                if written {
                    number(page, cell.written.unwrap(), rng);
                }
                all.push(Meant {
                    row,
                    column,
                    kind: if written {
                        MarkKind::Written
                    } else {
                        MarkKind::Nothing
                    },
                    level: if written {
                        Truth::Written
                    } else {
                        Truth::Empty
                    },
                });
                continue;
            }
            let kind = if rng.f64() < 0.12 {
                MarkKind::Nothing
            } else if rng.f64() < odd {
                DOUBTFUL[rng.usize(..DOUBTFUL.len())]
            } else {
                CLEAR[rng.usize(..CLEAR.len())]
            };
            let level = rng.usize(..cell.bubbles.len());
            let other = (level + 1 + rng.usize(..cell.bubbles.len() - 1)) % cell.bubbles.len();
            let truth = mark(page, kind, cell.bubbles[level], cell.bubbles[other], rng);
            let level = match truth {
                Truth::Level(_) => Truth::Level(level),
                other => other,
            };
            all.push(Meant {
                row,
                column,
                kind,
                level,
            });
        }
    }
    all
}

/// Makes one mark of a kind in a cell, at a level; a box to write in gets a number.
pub fn mark_in(
    page: &mut Page,
    form: &Form,
    (row, column): (usize, usize),
    kind: MarkKind,
    level: usize,
    rng: &mut Rng,
) {
    let cell = form.cell(row, column);
    if let Some(part) = cell.written {
        number(page, part, rng);
        return;
    }
    let other = (level + 1) % cell.bubbles.len();
    mark(page, kind, cell.bubbles[level], cell.bubbles[other], rng);
}

struct Pen {
    ink: f64,
    width: f64,
}

fn pen(rng: &mut Rng) -> Pen {
    Pen {
        ink: within(rng, 0.6, 1.0),
        width: within(rng, 0.45, 0.8),
    }
}

#[expect(clippy::too_many_lines, reason = "one arm a mark")]
fn mark(page: &mut Page, kind: MarkKind, at: Point, other: Point, rng: &mut Rng) -> Truth {
    let pen = pen(rng);
    let meant = Truth::Level(0);
    match kind {
        MarkKind::Nothing | MarkKind::Written => Truth::Empty,
        MarkKind::Filled => {
            filled(page, at, &pen, rng);
            meant
        }
        MarkKind::Scribbled => {
            scribbled(page, at, BUBBLE, &pen, rng);
            meant
        }
        MarkKind::Tick => {
            let middle = shaken(at, 0.3, rng);
            let low = middle + point(within(rng, -0.5, 0.0), within(rng, 0.6, 1.1));
            stroke(
                page,
                middle + point(-1.3, within(rng, -0.3, 0.3)),
                low,
                &pen,
                rng,
            );
            stroke(
                page,
                low,
                middle + point(within(rng, 1.2, 2.0), within(rng, -2.2, -1.3)),
                &pen,
                rng,
            );
            meant
        }
        MarkKind::Cross => {
            cross(
                page,
                shaken(at, 0.25, rng),
                within(rng, 0.8, 1.12) * BUBBLE,
                &pen,
                rng,
            );
            meant
        }
        MarkKind::Half => {
            let turn = rng.f64() * std::f64::consts::TAU;
            let way = point(turn.cos(), turn.sin());
            let cut = within(rng, -0.4, 0.25);
            page.paint(around(at, BUBBLE), pen.ink, |p| {
                let off = p - at;
                (BUBBLE - p.distance(at)).min(off.x * way.x + off.y * way.y - cut)
            });
            meant
        }
        MarkKind::Pencil => {
            let pencil = Pen {
                ink: within(rng, 0.3, 0.5),
                width: 0.6,
            };
            let radius = within(rng, 0.85, 1.1) * BUBBLE;
            scribbled(page, at, radius, &pencil, rng);
            meant
        }
        MarkKind::Overflow => {
            let radius = within(rng, 1.1, 1.4) * BUBBLE;
            scribbled(page, shaken(at, 0.3, rng), radius, &pen, rng);
            meant
        }
        MarkKind::Corrected => {
            any_fill(page, other, &pen, rng);
            large_cross(page, other, &pen, rng);
            any_fill(page, at, &pen, rng);
            meant
        }
        MarkKind::Faint => {
            let faint = Pen {
                ink: within(rng, 0.08, 0.28),
                width: 0.5,
            };
            scribbled(page, at, 0.9 * BUBBLE, &faint, rng);
            meant
        }
        MarkKind::Speck => {
            let radius = within(rng, 0.15, 0.6);
            page.disc(shaken(at, 0.8, rng), radius, pen.ink);
            // Up to 0.7 mm across it is dust, from 0.9 mm on a dot of a pen that says something.
            if radius < 0.35 {
                Truth::Dust
            } else if radius < 0.45 {
                Truth::Unsure
            } else {
                meant
            }
        }
        MarkKind::Erased => {
            filled(
                page,
                other,
                &Pen {
                    ink: within(rng, 0.04, 0.22),
                    width: 0.5,
                },
                rng,
            );
            filled(page, at, &pen, rng);
            meant
        }
        MarkKind::Two => {
            any_fill(page, at, &pen, rng);
            any_fill(page, other, &pen, rng);
            Truth::Unsure
        }
        MarkKind::CrossedOutAlone => {
            any_fill(page, at, &pen, rng);
            large_cross(page, at, &pen, rng);
            Truth::Unsure
        }
        MarkKind::StruckThrough => {
            any_fill(page, other, &pen, rng);
            let off = point(within(rng, 2.6, 3.4), within(rng, -1.5, 1.5));
            stroke(page, other - off, other + off, &pen, rng);
            any_fill(page, at, &pen, rng);
            meant
        }
        MarkKind::BlackenedOut => {
            // What was wrong is blackened far over its edge, what is right is filled neatly, or the other way round.
            filled(page, at, &pen, rng);
            scribbled(page, other, within(rng, 1.5, 2.0) * BUBBLE, &pen, rng);
            Truth::Unsure
        }
    }
}

fn any_fill(page: &mut Page, at: Point, pen: &Pen, rng: &mut Rng) {
    if rng.bool() {
        filled(page, at, pen, rng);
    } else {
        scribbled(page, at, BUBBLE, pen, rng);
    }
}

fn filled(page: &mut Page, at: Point, pen: &Pen, rng: &mut Rng) {
    let middle = shaken(at, 0.35, rng);
    let radius = within(rng, 0.78, 1.08) * BUBBLE;
    let (lobes, phase, depth) = (
        f64::from(rng.u32(2..6)),
        rng.f64() * std::f64::consts::TAU,
        within(rng, 0.0, 0.15),
    );
    page.paint(around(middle, radius * 1.2), pen.ink, |p| {
        let off = p - middle;
        let edge = radius * (1.0 + depth * (lobes * off.y.atan2(off.x) + phase).sin());
        edge - p.distance(middle)
    });
}

/// To and fro within a radius, turned anyhow, with gaps between the strokes.
fn scribbled(page: &mut Page, at: Point, radius: f64, pen: &Pen, rng: &mut Rng) {
    let turn = rng.f64() * std::f64::consts::PI;
    let (way, aside) = (
        point(turn.cos(), turn.sin()),
        point(-turn.sin(), turn.cos()),
    );
    let lanes = (2.0 * radius / within(rng, 0.45, 0.85)) as usize;
    let mut from: Option<Point> = None;
    for lane in 0..=lanes {
        let across = (lane as f64 / lanes as f64 * 2.0 - 1.0) * 0.95 * radius;
        let half = (radius * radius - across * across).max(0.0).sqrt() * within(rng, 0.8, 1.05);
        let side = if lane % 2 == 0 { 1.0 } else { -1.0 };
        let to = at + aside * across + way * (half * side);
        if let Some(from) = from {
            stroke(page, from, to, pen, rng);
        }
        from = Some(to);
    }
}

fn cross(page: &mut Page, at: Point, reach: f64, pen: &Pen, rng: &mut Rng) {
    let lean = within(rng, -0.2, 0.2);
    for turn in [0.785 + lean, 2.356 + lean + within(rng, -0.2, 0.2)] {
        let off = point(turn.cos(), turn.sin()) * reach;
        stroke(page, at - off, at + off, pen, rng);
    }
}

fn large_cross(page: &mut Page, at: Point, pen: &Pen, rng: &mut Rng) {
    let middle = shaken(at, 0.25, rng);
    let reach = within(rng, 2.1, 2.6) * BUBBLE;
    let dark = Pen {
        ink: pen.ink.max(0.7),
        width: pen.width.min(0.6),
    };
    cross(page, middle, reach, &dark, rng);
}

/// A stroke, a little bent.
fn stroke(page: &mut Page, from: Point, to: Point, pen: &Pen, rng: &mut Rng) {
    let along = to - from;
    let bend = within(rng, -0.06, 0.06);
    let middle = from.towards(to, 0.5) + point(-along.y, along.x) * bend;
    page.line(from, middle, pen.width, pen.ink);
    page.line(middle, to, pen.width, pen.ink);
}

fn number(page: &mut Page, part: Rect, rng: &mut Rng) {
    let pen = pen(rng);
    let mut x = part.x + 2.0;
    for _ in 0..rng.usize(1..4) {
        let high = within(rng, 3.0, 4.5);
        let top = part.y + within(rng, 0.4, 1.2);
        stroke(
            page,
            point(x, top),
            point(x + within(rng, -0.5, 1.5), top + high),
            &pen,
            rng,
        );
        if rng.bool() {
            stroke(
                page,
                point(x, top),
                point(x + 1.8, top + within(rng, 0.0, 1.0)),
                &pen,
                rng,
            );
        }
        x += within(rng, 2.4, 3.6);
    }
}

fn shaken(at: Point, by: f64, rng: &mut Rng) -> Point {
    at + point(within(rng, -by, by), within(rng, -by, by))
}

fn around(middle: Point, reach: f64) -> Rect {
    Rect {
        x: middle.x - reach,
        y: middle.y - reach,
        width: 2.0 * reach,
        height: 2.0 * reach,
    }
}

//! Small signs drawn as strokes, so that they look the same on every machine, in every size and on paper.

use egui::{Pos2, vec2};

use super::{
    draw::{Canvas, Ink, Pen},
    graph::Sex,
};

/// The sign of a sex about `at`, `size` high.
pub(super) fn sex(canvas: &mut dyn Canvas, at: Pos2, size: f32, sex: Sex, ink: Ink) {
    match sex {
        Sex::Female => female(canvas, at, size, ink),
        Sex::Male => male(canvas, at, size, ink),
        Sex::Monoecious => {
            female(canvas, at, size, ink);
            // The arrow of the other sign on the same ring.
            arrow(canvas, at - vec2(0.0, size * 0.18), size, ink);
        }
        Sex::Unknown => {}
    }
}

/// A ring on a cross.
pub(super) fn female(canvas: &mut dyn Canvas, at: Pos2, size: f32, ink: Ink) {
    let pen = Pen::new(ink, weight(size));
    let radius = size * 0.29;
    let ring = at - vec2(0.0, size * 0.18);
    canvas.circle(ring, radius, None, Some(pen));
    let foot = ring.y + radius;
    let end = at.y + size * 0.5;
    canvas.path(&[Pos2::new(at.x, foot), Pos2::new(at.x, end)], pen);
    let bar = f32::midpoint(foot, end) + size * 0.02;
    let half = size * 0.2;
    canvas.path(
        &[Pos2::new(at.x - half, bar), Pos2::new(at.x + half, bar)],
        pen,
    );
}

/// A ring with an arrow.
pub(super) fn male(canvas: &mut dyn Canvas, at: Pos2, size: f32, ink: Ink) {
    let ring = at + vec2(-size * 0.12, size * 0.12);
    canvas.circle(ring, size * 0.29, None, Some(Pen::new(ink, weight(size))));
    arrow(canvas, ring, size, ink);
}

fn arrow(canvas: &mut dyn Canvas, ring: Pos2, size: f32, ink: Ink) {
    let pen = Pen::new(ink, weight(size));
    let edge = size * 0.29 * std::f32::consts::FRAC_1_SQRT_2;
    let tip = ring + vec2(size * 0.5, -size * 0.5);
    canvas.path(&[ring + vec2(edge, -edge), tip], pen);
    let barb = size * 0.26;
    canvas.path(&[tip - vec2(barb, 0.0), tip, tip + vec2(0.0, barb)], pen);
}

/// A tick on a full disc: selected.
pub(super) fn selected(canvas: &mut dyn Canvas, at: Pos2, radius: f32) {
    canvas.circle(
        at,
        radius,
        Some(Ink::Strong),
        Some(Pen::new(Ink::Paper, radius * 0.2)),
    );
    let tick = [vec2(-0.48, 0.02), vec2(-0.12, 0.4), vec2(0.5, -0.38)];
    canvas.path(
        &tick.map(|step| at + step * radius),
        Pen::new(Ink::Paper, radius * 0.28),
    );
}

/// A cross on an empty disc: dead.
pub(super) fn dead(canvas: &mut dyn Canvas, at: Pos2, radius: f32) {
    canvas.circle(
        at,
        radius,
        Some(Ink::Paper),
        Some(Pen::new(Ink::Muted, radius * 0.16)),
    );
    let arm = radius * 0.45;
    let pen = Pen::new(Ink::Muted, radius * 0.26);
    canvas.path(&[at - vec2(arm, arm), at + vec2(arm, arm)], pen);
    canvas.path(&[at + vec2(-arm, arm), at + vec2(arm, -arm)], pen);
}

/// A plus on an empty disc: there is more to unfold here.
pub(super) fn more(canvas: &mut dyn Canvas, at: Pos2, radius: f32, ink: Ink) {
    let pen = Pen::new(ink, radius * 0.2);
    canvas.circle(at, radius, None, Some(pen));
    let arm = radius * 0.5;
    canvas.path(&[at - vec2(arm, 0.0), at + vec2(arm, 0.0)], pen);
    canvas.path(&[at - vec2(0.0, arm), at + vec2(0.0, arm)], pen);
}

/// Three dots going up: there is more above that is not drawn.
pub(super) fn further(canvas: &mut dyn Canvas, at: Pos2, ink: Ink) {
    for step in 0..3 {
        canvas.circle(at - vec2(0.0, step as f32 * 4.0), 1.3, Some(ink), None);
    }
}

fn weight(size: f32) -> f32 {
    (size * 0.1).max(1.0)
}

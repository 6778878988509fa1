//! Walking through the drawing with the arrow keys.

use egui::Pos2;

use crate::{
    graph::Line,
    layout::Layout,
    scope::{BoxIndex, End, Extract},
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum KeyMove {
    FemaleParent,
    MaleParent,
    Offspring,
    Left,
    Right,
}

/// The box one step from `here`, if there is one. Going down leads back to `came_from` when that is an offspring.
pub(super) fn step(
    extract: &Extract,
    layout: &Layout,
    here: BoxIndex,
    step: KeyMove,
    came_from: Option<BoxIndex>,
) -> Option<BoxIndex> {
    match step {
        KeyMove::FemaleParent => parent(extract, here, |line| line != Line::Male)
            .or_else(|| parent(extract, here, |line| line == Line::Male)),
        KeyMove::MaleParent => parent(extract, here, |line| line == Line::Male)
            .or_else(|| parent(extract, here, |line| line != Line::Male)),
        KeyMove::Offspring => {
            let offspring = || {
                extract
                    .families
                    .iter()
                    .filter(move |kin| kin.links.iter().any(|link| link.end == End::Box(here)))
                    .flat_map(|kin| kin.members.iter().copied())
            };
            came_from
                .filter(|&child| offspring().any(|other| other == child))
                .or_else(|| offspring().min_by(|&a, &b| by_place(layout, a, b)))
        }
        KeyMove::Left => row(layout, here)
            .filter(|&other| by_place(layout, other, here).is_lt())
            .max_by(|&a, &b| by_place(layout, a, b)),
        KeyMove::Right => row(layout, here)
            .filter(|&other| by_place(layout, other, here).is_gt())
            .min_by(|&a, &b| by_place(layout, a, b)),
    }
}

/// The box nearest to a point: where the arrows start.
pub(super) fn first(layout: &Layout, from: Pos2) -> Option<BoxIndex> {
    let away = |index: &BoxIndex| layout.boxes[*index].distance_sq_to_pos(from);
    (0..layout.boxes.len()).min_by(|a, b| away(a).total_cmp(&away(b)))
}

fn parent(extract: &Extract, here: BoxIndex, side: impl Fn(Line) -> bool) -> Option<BoxIndex> {
    let kin = &extract.families[extract.family_of[here]?];
    kin.links
        .iter()
        .filter(|link| side(link.line))
        .find_map(|link| match link.end {
            End::Box(index) => Some(index),
            _ => None,
        })
}

/// The boxes in the band of `here`; among plants related to no other, those in its row.
fn row(layout: &Layout, here: BoxIndex) -> impl Iterator<Item = BoxIndex> + '_ {
    let at = layout.boxes[here].center().y;
    let ground = layout
        .bands
        .iter()
        .map(|band| band.rect.y_range())
        .find(|range| range.contains(at))
        .unwrap_or(layout.boxes[here].y_range());
    (0..layout.boxes.len()).filter(move |&other| ground.contains(layout.boxes[other].center().y))
}

fn by_place(layout: &Layout, a: BoxIndex, b: BoxIndex) -> std::cmp::Ordering {
    let (a, b) = (layout.boxes[a].min, layout.boxes[b].min);
    a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
}

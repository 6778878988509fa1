//! Where everything goes: a pure function from an [`Extract`] to a [`Layout`].
//!
//! Related plants are laid out part by part ([`layers`], [`order`], [`place`]) and the parts set side by side on shelves
//! ([`shape`]), the largest first. The same extract and sizes give the same layout.

mod layers;
mod order;
mod place;
mod shape;

use egui::{Pos2, Rect, Vec2, vec2};

use super::{
    graph::{FamilyGraph, Line},
    scope::{BoxIndex, Extract},
};

/// The measures of a drawing, in points at zoom 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sizes {
    /// Every box, whatever it holds.
    pub box_size: Vec2,
    /// Between sibs.
    pub sib_gap: f32,
    /// Between boxes that are not sibs.
    pub family_gap: f32,
    /// Between the boxes of a stack.
    pub stack_gap: f32,
    /// To the left of a stack, for its line.
    pub spine: f32,
    /// Room for a line that passes through a band.
    pub trunk: f32,
    /// Between two lines that pass through a band.
    pub trunk_gap: f32,
    /// From the marks of a junction down to its family.
    pub junction: f32,
    /// From the middle of a junction to each of its marks.
    pub port: f32,
    /// The radius of a junction's mark.
    pub mark: f32,
    /// The least height of the space where the lines of the parents bend.
    pub bend: f32,
    /// Between shelves.
    pub shelf_gap: f32,
    /// A family with more members than this is stacked.
    pub longest_row: usize,
}

impl Default for Sizes {
    fn default() -> Self {
        Self {
            box_size: vec2(132.0, 40.0),
            sib_gap: 10.0,
            family_gap: 26.0,
            stack_gap: 12.0,
            spine: 14.0,
            trunk: 6.0,
            trunk_gap: 8.0,
            junction: 48.0,
            port: 13.0,
            mark: 7.5,
            bend: 52.0,
            shelf_gap: 56.0,
            longest_row: 6,
        }
    }
}

impl Sizes {
    /// Boxes wide enough for the longest code and high enough for the most captions, within reason.
    pub fn fitting(graph: &FamilyGraph) -> Self {
        let characters = graph
            .plants()
            .iter()
            .map(|plant| {
                let name = plant.name.as_ref().map_or(0, |name| name.chars().count());
                plant.code.chars().count().max(name)
            })
            .max()
            .unwrap_or(0);
        let captions = graph
            .plants()
            .iter()
            .map(|plant| plant.captions.len())
            .max()
            .unwrap_or(0);
        let named = graph.plants().iter().any(|plant| plant.name.is_some());
        let lines = usize::from(named) + captions.min(4);
        Self {
            box_size: vec2(
                (characters as f32)
                    .mul_add(8.4, 46.0)
                    .clamp(128.0, 210.0)
                    .round(),
                (lines as f32).mul_add(super::draw::LEADING, 40.0),
            ),
            ..Self::default()
        }
    }
}

/// One generation of one shelf.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Counted from the oldest, which is 0.
    pub generation: usize,
    /// The ground its boxes stand on, as wide as the shelf.
    pub rect: Rect,
}

/// Where the line of one side of a cross ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Port {
    /// Which side.
    pub line: Line,
    /// The middle of its mark.
    pub at: Pos2,
    /// Which way a stub leans when a parent isn't drawn: -1 left, 1 right, 0 straight up.
    pub lean: f32,
}

/// The way from a junction to one member.
#[derive(Clone, Debug, PartialEq)]
pub struct ChildLine {
    /// The member's box.
    pub member: BoxIndex,
    /// Where it leaves the line along the top of the family, which is at the lower end of the stem.
    pub from: Pos2,
    /// Where it meets the box: on top, or at the side when the box is one of a stack.
    pub to: Pos2,
}

/// A family's junction.
#[derive(Clone, Debug, PartialEq)]
pub struct FamilyPlace {
    /// One mark per side: the left one first.
    pub ports: Vec<Port>,
    /// From between the marks down to where the lines of children part.
    pub stem: [Pos2; 2],
    /// The way to each member.
    pub child_lines: Vec<ChildLine>,
    /// Junction and members.
    pub rect: Rect,
}

/// A piece of a parent's line: straight, bent, straight.
#[derive(Clone, Debug, PartialEq)]
pub struct ParentLine {
    /// The parent.
    pub parent: BoxIndex,
    /// How it takes part.
    pub line: Line,
    /// Start, start of the bend, end of the bend, end.
    pub points: [Pos2; 4],
    /// The families (places in [`Extract::families`]) it leads to.
    pub families: Vec<usize>,
}

impl ParentLine {
    /// The rectangle it lies in.
    pub fn rect(&self) -> Rect {
        Rect::from_points(&self.points)
    }
}

/// Where everything goes, in points at zoom 1 with the origin at the top left.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// The measures it was made with.
    pub sizes: Sizes,
    /// The boxes, in the order of [`Extract::boxes`].
    pub boxes: Vec<Rect>,
    /// The generation of each box; none for plants related to no other.
    pub generation: Vec<Option<usize>>,
    /// The junctions, in the order of [`Extract::families`].
    pub families: Vec<FamilyPlace>,
    /// The lines of the parents.
    pub parent_lines: Vec<ParentLine>,
    /// The generations.
    pub bands: Vec<Band>,
    /// The ground of the plants related to no other.
    pub loose: Option<Rect>,
    /// All of it.
    pub rect: Rect,
    /// How many pairs of lines cross between bands.
    pub crossings: u64,
}

impl Layout {
    /// Lays out the extract.
    pub fn new(extract: &Extract, sizes: Sizes) -> Self {
        let (parts, loose) = layers::parts(extract);
        let bands = layers::bands(extract);
        let mut crossings = 0;
        let placed: Vec<shape::Part> = parts
            .iter()
            .map(|part| {
                let mut layered = layers::layer(extract, part, &bands, &sizes);
                order::order(&mut layered);
                crossings += order::count_crossings(&layered);
                let x = place::place(&layered, &sizes);
                shape::Part::new(layered, &x)
            })
            .collect();
        let mut layout = shape::shape(extract, &placed, &loose, sizes);
        layout.crossings = crossings;
        layout
    }
}

#[cfg(test)]
mod tests;

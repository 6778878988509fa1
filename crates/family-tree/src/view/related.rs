//! Which parts of the drawing belong to the plant in focus.

use std::collections::BTreeSet;

use crate::{
    draw::Tone,
    graph::{FamilyGraph, PlantIndex},
    layout::ParentLine,
    scope::{BoxIndex, Content, Extract},
};

/// The ancestors and descendants of one plant, as boxes and families of a drawing.
#[derive(Debug)]
pub(super) struct Related {
    focus: Option<BoxIndex>,
    /// The focus itself counts as both.
    ancestor: Vec<bool>,
    descendant: Vec<bool>,
    /// Families that an ancestor (or the focus) was born into.
    of_ancestor: Vec<bool>,
    /// Families that a descendant (or the focus) is a parent of.
    from_descendant: Vec<bool>,
}

impl Related {
    pub(super) fn to(graph: &FamilyGraph, extract: &Extract, focus: PlantIndex) -> Self {
        let mut above = FamilyGraph::reach(focus, u32::MAX, |plant| graph.parents(plant));
        let mut below = FamilyGraph::reach(focus, u32::MAX, |plant| graph.children(plant));
        above.insert(focus);
        below.insert(focus);
        let holds = |set: &BTreeSet<PlantIndex>, content: &Content| match content {
            Content::Plant(plant) => set.contains(plant),
            Content::Fold { plants, .. } => plants.iter().any(|plant| set.contains(plant)),
        };
        let families = extract
            .families
            .iter()
            .map(|kin| &graph.families()[kin.family]);
        Self {
            focus: extract.box_of[focus],
            ancestor: extract
                .boxes
                .iter()
                .map(|content| holds(&above, content))
                .collect(),
            descendant: extract
                .boxes
                .iter()
                .map(|content| holds(&below, content))
                .collect(),
            of_ancestor: families
                .clone()
                .map(|family| family.members.iter().any(|plant| above.contains(plant)))
                .collect(),
            from_descendant: families
                .map(|family| family.known_parents().any(|plant| below.contains(&plant)))
                .collect(),
        }
    }

    pub(super) fn content(&self, index: BoxIndex) -> Tone {
        if self.focus == Some(index) {
            Tone::Focus
        } else if self.ancestor[index] || self.descendant[index] {
            Tone::Plain
        } else {
            Tone::Faded
        }
    }

    pub(super) fn family(&self, family: usize) -> Tone {
        plain_if(self.of_ancestor[family] || self.from_descendant[family])
    }

    pub(super) fn twig(&self, family: usize, member: BoxIndex) -> Tone {
        plain_if(
            (self.of_ancestor[family] && self.ancestor[member])
                || (self.from_descendant[family] && self.descendant[member]),
        )
    }

    pub(super) fn strand(&self, strand: &ParentLine) -> Tone {
        plain_if(strand.families.iter().any(|&family| {
            self.of_ancestor[family]
                || (self.from_descendant[family] && self.descendant[strand.parent])
        }))
    }
}

fn plain_if(related: bool) -> Tone {
    if related { Tone::Plain } else { Tone::Faded }
}

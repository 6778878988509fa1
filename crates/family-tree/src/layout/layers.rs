//! Generations: which band each box is in, and the row of units that makes up a band.
//!
//! A *unit* is what is never torn apart by the ordering: a family with its junction, a founder, or a *trunk*, the place
//! where a parent's line passes through a band on its way to a later one. A parent has at most one trunk per kind of
//! line, however many families it serves. A unit is a row of *slots*, each one box, a stack of boxes, or a trunk.

use std::collections::BTreeMap;

use super::{
    super::scope::{BoxIndex, End, Extract},
    Sizes,
};
use crate::graph::Line;

pub(super) type SlotId = usize;
pub(super) type UnitId = usize;

/// What a slot holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Held {
    /// Boxes, the first on top. A box with offspring is alone in its slot.
    Boxes(Vec<BoxIndex>),
    /// The line of a parent passing through.
    Trunk(BoxIndex, Line),
}

#[derive(Clone, Debug)]
pub(super) struct Slot {
    pub(super) held: Held,
    pub(super) unit: UnitId,
    pub(super) width: f32,
    /// The units of the next band that this slot's line goes to.
    pub(super) below: Vec<(UnitId, Line)>,
}

#[derive(Clone, Debug)]
pub(super) struct Unit {
    /// The family (place in the extract) whose junction stands over this unit.
    pub(super) family: Option<usize>,
    pub(super) slots: Vec<SlotId>,
    /// The slots of the band above that lines come from.
    pub(super) above: Vec<SlotId>,
}

/// One connected part of the drawing in layers.
#[derive(Clone, Debug, Default)]
pub(super) struct Layered {
    pub(super) slots: Vec<Slot>,
    pub(super) units: Vec<Unit>,
    /// The units of each band from left to right; the first band is the oldest.
    pub(super) bands: Vec<Vec<UnitId>>,
}

impl Layered {
    /// The slots of a band from left to right.
    pub(super) fn row(&self, band: usize) -> impl Iterator<Item = SlotId> + '_ {
        self.bands[band]
            .iter()
            .flat_map(|&unit| self.units[unit].slots.iter().copied())
    }

    fn add_unit(&mut self, band: usize, family: Option<usize>) -> UnitId {
        let unit = self.units.len();
        self.units.push(Unit {
            family,
            slots: Vec::new(),
            above: Vec::new(),
        });
        self.bands[band].push(unit);
        unit
    }

    fn add_slot(&mut self, unit: UnitId, held: Held, width: f32) -> SlotId {
        let slot = self.slots.len();
        self.slots.push(Slot {
            held,
            unit,
            width,
            below: Vec::new(),
        });
        self.units[unit].slots.push(slot);
        slot
    }

    fn connect(&mut self, from: SlotId, to: UnitId, line: Line) {
        self.slots[from].below.push((to, line));
        self.units[to].above.push(from);
    }
}

/// The boxes of each connected part, largest part first, and the boxes related to no other.
pub(super) fn parts(extract: &Extract) -> (Vec<Vec<BoxIndex>>, Vec<BoxIndex>) {
    let mut leader: Vec<usize> = (0..extract.boxes.len()).collect();
    fn find(leader: &mut [usize], mut index: usize) -> usize {
        while leader[index] != index {
            leader[index] = leader[leader[index]];
            index = leader[index];
        }
        index
    }
    for kin in &extract.families {
        let parents = kin.links.iter().filter_map(|link| match link.end {
            End::Box(index) => Some(index),
            _ => None,
        });
        for index in kin.members.iter().copied().chain(parents) {
            let (one, other) = (find(&mut leader, kin.members[0]), find(&mut leader, index));
            leader[one.max(other)] = one.min(other);
        }
    }
    let mut groups: BTreeMap<usize, Vec<BoxIndex>> = BTreeMap::new();
    for index in 0..extract.boxes.len() {
        groups
            .entry(find(&mut leader, index))
            .or_default()
            .push(index);
    }
    let (mut related, alone): (Vec<_>, Vec<_>) = groups
        .into_values()
        .partition(|group| group.len() > 1 || extract.family_of[group[0]].is_some());
    related.sort_by_key(|group| std::cmp::Reverse(group.len()));
    (related, alone.into_iter().flatten().collect())
}

/// The band of every box: one below its lowest parent. A box without drawn parents stands just above its first
/// offspring rather than at the top, so that a father brought in late does not draw a line through every generation.
pub(super) fn bands(extract: &Extract) -> Vec<usize> {
    let mut band = vec![0; extract.boxes.len()];
    let parents = |family: usize| {
        extract.families[family]
            .links
            .iter()
            .filter_map(|link| match link.end {
                End::Box(index) => Some(index),
                _ => None,
            })
    };
    let mut families_from = vec![Vec::new(); extract.boxes.len()];
    let mut missing: Vec<usize> = vec![0; extract.families.len()];
    for (family, missing) in missing.iter_mut().enumerate() {
        for parent in parents(family) {
            families_from[parent].push(family);
            *missing += 1;
        }
    }
    let mut ready: Vec<BoxIndex> = (0..extract.boxes.len())
        .filter(|&index| extract.family_of[index].is_none_or(|family| missing[family] == 0))
        .collect();
    while let Some(index) = ready.pop() {
        for &family in &families_from[index] {
            missing[family] -= 1;
            if missing[family] == 0 {
                let below = 1 + parents(family)
                    .map(|parent| band[parent])
                    .max()
                    .unwrap_or(0);
                for &member in &extract.families[family].members {
                    band[member] = below;
                    ready.push(member);
                }
            }
        }
    }
    let first_offspring = |members: &[BoxIndex], band: &[usize]| {
        members
            .iter()
            .flat_map(|&member| &families_from[member])
            .map(|&family| band[extract.families[family].members[0]])
            .min()
    };
    for index in 0..extract.boxes.len() {
        if extract.family_of[index].is_none()
            && let Some(below) = first_offspring(&[index], &band)
        {
            band[index] = below - 1;
        }
    }
    for (family, kin) in extract.families.iter().enumerate() {
        if parents(family).next().is_none()
            && let Some(below) = first_offspring(&kin.members, &band)
        {
            for &member in &kin.members {
                band[member] = below - 1;
            }
        }
    }
    band
}

/// Puts the boxes of one connected part into layers. `band` is the band of every box.
pub(super) fn layer(
    extract: &Extract,
    part: &[BoxIndex],
    band: &[usize],
    sizes: &Sizes,
) -> Layered {
    let mut layered = Layered::default();
    let deepest = part.iter().map(|&index| band[index]).max().unwrap_or(0);
    layered.bands = vec![Vec::new(); deepest + 1];

    // Where each parent's lines go: by kind of line, the families in the order of their bands.
    let mut families: Vec<usize> = part
        .iter()
        .filter_map(|&index| extract.family_of[index])
        .collect();
    families.sort_unstable();
    families.dedup();
    let mut lines: BTreeMap<(BoxIndex, Line), Vec<usize>> = BTreeMap::new();
    for &family in &families {
        for link in &extract.families[family].links {
            if let End::Box(parent) = link.end {
                let to = lines.entry((parent, link.line)).or_default();
                if to.last() != Some(&family) {
                    to.push(family);
                }
            }
        }
    }
    let is_parent = |index: BoxIndex| {
        lines
            .range((index, Line::Female)..=(index, Line::Variant))
            .next()
            .is_some()
    };

    let mut slot_of: BTreeMap<BoxIndex, SlotId> = BTreeMap::new();
    let mut unit_of: BTreeMap<usize, UnitId> = BTreeMap::new();
    for &index in part
        .iter()
        .filter(|&&index| extract.family_of[index].is_none())
    {
        let unit = layered.add_unit(band[index], None);
        slot_of.insert(
            index,
            layered.add_slot(unit, Held::Boxes(vec![index]), sizes.box_size.x),
        );
    }
    for &family in &families {
        let members = &extract.families[family].members;
        let unit = layered.add_unit(band[members[0]], Some(family));
        unit_of.insert(family, unit);
        let (first, rest): (Vec<_>, Vec<_>) = members
            .iter()
            .copied()
            .partition(|&member| members.len() <= sizes.longest_row || is_parent(member));
        for member in first {
            slot_of.insert(
                member,
                layered.add_slot(unit, Held::Boxes(vec![member]), sizes.box_size.x),
            );
        }
        let rows = stack_height(rest.len());
        for stack in rest.chunks(rows) {
            let spine = if stack.len() > 1 { sizes.spine } else { 0.0 };
            let width = sizes.box_size.x + spine;
            layered.add_slot(unit, Held::Boxes(stack.to_vec()), width);
        }
    }

    for ((parent, line), to) in lines {
        let start = band[parent];
        let family_band = |family: usize| band[extract.families[family].members[0]];
        let last = to
            .iter()
            .map(|&family| family_band(family))
            .max()
            .unwrap_or(start);
        let mut from = slot_of[&parent];
        for level in start + 1..=last {
            for family in to.iter().filter(|&&family| family_band(family) == level) {
                layered.connect(from, unit_of[family], line);
            }
            if level < last {
                let unit = layered.add_unit(level, None);
                let trunk = layered.add_slot(unit, Held::Trunk(parent, line), sizes.trunk);
                layered.connect(from, unit, line);
                from = trunk;
            }
        }
    }
    layered
}

/// How many boxes of a large family stand in one stack: about as many as there are stacks.
fn stack_height(leaves: usize) -> usize {
    ((leaves as f32).sqrt().ceil() as usize).clamp(2, 12)
}

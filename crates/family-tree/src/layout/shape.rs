//! From layers to points: parts on shelves, bands one under the other, junctions, lines of children and lines of parents.

use egui::{Pos2, Rect, Vec2, pos2, vec2};

use super::{
    Band, ChildLine, FamilyPlace, Layout, ParentLine, Port, Sizes,
    layers::{Held, Layered, SlotId, UnitId},
};
use crate::{
    graph::Line,
    scope::{BoxIndex, End, Extract},
};

/// Parts are set on shelves so that the whole is about this much wider than high.
const ASPECT: f32 = 1.7;
/// A bend is at least this high for every point it goes sideways, up to `HIGHEST_BEND`.
const SLOPE: f32 = 0.09;
const HIGHEST_BEND: f32 = 190.0;
/// Between the line where lines of children part and the boxes.
const DROP: f32 = 12.0;

/// One connected part with the middle of every slot.
pub(super) struct Part {
    layered: Layered,
    x: Vec<f32>,
    width: f32,
}

impl Part {
    /// Takes the part and moves it so that its left edge is at 0.
    pub(super) fn new(layered: Layered, x: &[f64]) -> Self {
        let half = |slot: SlotId| f64::from(layered.slots[slot].width) / 2.0;
        let left = (0..x.len())
            .map(|slot| x[slot] - half(slot))
            .fold(f64::INFINITY, f64::min);
        let right = (0..x.len())
            .map(|slot| x[slot] + half(slot))
            .fold(left, f64::max);
        let x = x.iter().map(|x| (x - left).round() as f32).collect();
        Self {
            layered,
            x,
            width: (right - left).ceil() as f32,
        }
    }

    fn stack(&self, band: usize) -> usize {
        let held = |slot: SlotId| match &self.layered.slots[slot].held {
            Held::Boxes(boxes) => boxes.len(),
            Held::Trunk(..) => 0,
        };
        self.layered.row(band).map(held).max().unwrap_or(0)
    }

    fn middle(&self, unit: UnitId) -> f32 {
        let slots = &self.layered.units[unit].slots;
        f32::midpoint(self.x[slots[0]], self.x[slots[slots.len() - 1]])
    }

    /// Where the lines into a unit end: over its members, as near as can be under the parents.
    fn junction(&self, unit: UnitId) -> f32 {
        let data = &self.layered.units[unit];
        let (first, last) = (
            self.x[data.slots[0]],
            self.x[data.slots[data.slots.len() - 1]],
        );
        if data.above.is_empty() {
            return f32::midpoint(first, last);
        }
        let parents =
            data.above.iter().map(|&slot| self.x[slot]).sum::<f32>() / data.above.len() as f32;
        parents.clamp(first, last).round()
    }

    /// The longest way sideways of a line into a band, if any line goes there.
    fn longest(&self, band: usize) -> Option<f32> {
        self.layered.bands[band]
            .iter()
            .flat_map(|&unit| {
                self.layered.units[unit]
                    .above
                    .iter()
                    .map(move |&slot| (self.x[slot] - self.middle(unit)).abs())
            })
            .reduce(f32::max)
    }

    fn has_family(&self, band: usize) -> bool {
        self.layered.bands[band]
            .iter()
            .any(|&unit| self.layered.units[unit].family.is_some())
    }
}

/// The top and the bottom of a band and the height at which the lines of the parents end above it.
#[derive(Clone, Copy)]
struct Level {
    marks: f32,
    top: f32,
    bottom: f32,
}

/// Sets the parts on shelves and the `loose` boxes under them.
pub(super) fn shape(extract: &Extract, parts: &[Part], loose: &[BoxIndex], sizes: Sizes) -> Layout {
    let mut layout = Layout {
        sizes,
        boxes: vec![Rect::NOTHING; extract.boxes.len()],
        generation: vec![None; extract.boxes.len()],
        families: vec![
            FamilyPlace {
                ports: Vec::new(),
                stem: [Pos2::ZERO; 2],
                child_lines: Vec::new(),
                rect: Rect::NOTHING
            };
            extract.families.len()
        ],
        parent_lines: Vec::new(),
        bands: Vec::new(),
        loose: None,
        rect: Rect::from_min_size(Pos2::ZERO, Vec2::ZERO),
        crossings: 0,
    };
    let band_height = sizes.box_size.y + sizes.bend + sizes.junction;
    let area: f32 = parts
        .iter()
        .map(|part| (part.width + sizes.shelf_gap) * part.layered.bands.len() as f32 * band_height)
        .sum();
    let widest = parts.iter().map(|part| part.width).fold(0.0, f32::max);
    let target = widest.max((area * ASPECT).sqrt());

    let mut y = 0.0;
    let mut rest = parts;
    while !rest.is_empty() {
        let mut width = rest[0].width;
        let mut count = 1;
        while count < rest.len() && width + sizes.shelf_gap + rest[count].width <= target {
            width += sizes.shelf_gap + rest[count].width;
            count += 1;
        }
        let (shelf, later) = rest.split_at(count);
        rest = later;
        let levels = levels(shelf, y, &sizes);
        for (generation, level) in levels.iter().enumerate() {
            let rect = Rect::from_min_max(pos2(0.0, level.top), pos2(width, level.bottom));
            layout.bands.push(Band { generation, rect });
        }
        let mut x = 0.0;
        for part in shelf {
            draw_part(&mut layout, extract, part, x, &levels);
            x += part.width + sizes.shelf_gap;
        }
        y = levels.last().map_or(y, |level| level.bottom) + sizes.shelf_gap;
    }
    set_loose(&mut layout, loose, y, target);

    let everything = layout
        .boxes
        .iter()
        .chain(layout.families.iter().map(|family| &family.rect))
        .chain(layout.loose.as_ref())
        .copied()
        .chain(layout.parent_lines.iter().map(ParentLine::rect))
        .fold(Rect::NOTHING, Rect::union);
    if everything.is_positive() {
        layout.rect = everything;
    }
    layout
}

fn levels(shelf: &[Part], from: f32, sizes: &Sizes) -> Vec<Level> {
    let depth = shelf
        .iter()
        .map(|part| part.layered.bands.len())
        .max()
        .unwrap_or(0);
    let mut y = from;
    (0..depth)
        .map(|band| {
            let here = || {
                shelf
                    .iter()
                    .filter(move |part| band < part.layered.bands.len())
            };
            let longest = here()
                .filter_map(|part| part.longest(band))
                .reduce(f32::max);
            let family = here().any(|part| part.has_family(band));
            // Without lines from above there is still the height of a stub.
            let bend = longest.map_or(sizes.bend, |longest| {
                (longest * SLOPE).clamp(sizes.bend, HIGHEST_BEND).round()
            });
            if family || longest.is_some() {
                y += bend + sizes.junction;
            }
            let stack = here()
                .map(|part| part.stack(band))
                .max()
                .unwrap_or(0)
                .max(1) as f32;
            let height = stack.mul_add(sizes.box_size.y, (stack - 1.0) * sizes.stack_gap);
            let level = Level {
                marks: y - sizes.junction,
                top: y,
                bottom: y + height,
            };
            y = level.bottom;
            level
        })
        .collect()
}

fn draw_part(layout: &mut Layout, extract: &Extract, part: &Part, left: f32, levels: &[Level]) {
    let Part { layered, x, .. } = part;
    let sizes = layout.sizes;
    for (band, &level) in levels.iter().enumerate().take(layered.bands.len()) {
        for slot in layered.row(band) {
            let Held::Boxes(boxes) = &layered.slots[slot].held else {
                continue;
            };
            let right = left + x[slot] + layered.slots[slot].width / 2.0;
            for (row, &index) in boxes.iter().enumerate() {
                let top = (row as f32).mul_add(sizes.box_size.y + sizes.stack_gap, level.top);
                layout.boxes[index] =
                    Rect::from_min_size(pos2(right - sizes.box_size.x, top), sizes.box_size);
                layout.generation[index] = Some(band);
            }
        }
        for &unit in &layered.bands[band] {
            if let Some(family) = layered.units[unit].family {
                layout.families[family] =
                    family_place(layout, extract, part, unit, family, left, level);
            }
        }
    }

    // From the last band up, so that a trunk knows the families it leads to.
    let mut leads_to: Vec<Vec<usize>> = vec![Vec::new(); layered.slots.len()];
    for band in (0..layered.bands.len().saturating_sub(1)).rev() {
        for slot in layered.row(band) {
            let data = &layered.slots[slot];
            let parent = match &data.held {
                Held::Boxes(boxes) => boxes[0],
                Held::Trunk(parent, _) => *parent,
            };
            let start = left + x[slot];
            let from = match &data.held {
                Held::Boxes(boxes) => layout.boxes[boxes[0]].bottom(),
                Held::Trunk(..) => levels[band].bottom,
            };
            let next = levels[band + 1];
            let mut all = Vec::new();
            for &(unit, line) in &data.below {
                let (families, end, end_y) = if let Some(family) = layered.units[unit].family {
                    let place = &layout.families[family];
                    let port = place.ports.iter().find(|port| port.line == line);
                    let at = port.map_or(place.stem[0], |port| port.at);
                    (vec![family], at.x, at.y - sizes.mark)
                } else {
                    let trunk = layered.units[unit].slots[0];
                    (leads_to[trunk].clone(), left + x[trunk], next.bottom)
                };
                layout.parent_lines.push(ParentLine {
                    parent,
                    line,
                    points: [
                        pos2(start, from),
                        pos2(start, levels[band].bottom),
                        pos2(end, next.marks - sizes.mark),
                        pos2(end, end_y),
                    ],
                    families: families.clone(),
                });
                all.extend(families);
            }
            if matches!(data.held, Held::Trunk(..)) {
                leads_to[slot] = all;
            }
        }
    }
}

fn family_place(
    layout: &Layout,
    extract: &Extract,
    part: &Part,
    unit: UnitId,
    family: usize,
    left: f32,
    level: Level,
) -> FamilyPlace {
    let sizes = layout.sizes;
    let middle = left + part.junction(unit);
    let split = level.top - DROP;
    let marks = pos2(middle, level.marks);

    let links = &extract.families[family].links;
    let mut sides: Vec<Line> = links.iter().map(|link| link.line).collect();
    sides.dedup();
    // Each side is on the side its parents come from; a side without drawn parents gives way to the other.
    let origin = |line: Line| {
        let xs: Vec<f32> = links
            .iter()
            .filter(|link| link.line == line)
            .filter_map(|link| match link.end {
                End::Box(index) => Some(layout.boxes[index].center().x),
                _ => None,
            })
            .collect();
        (!xs.is_empty()).then(|| xs.iter().sum::<f32>() / xs.len() as f32)
    };
    if let [first, second] = sides.as_slice() {
        let swap = match (origin(*first), origin(*second)) {
            (Some(a), Some(b)) => b < a,
            (Some(a), None) => a > middle,
            (None, Some(b)) => b < middle,
            (None, None) => false,
        };
        if swap {
            sides.reverse();
        }
    }
    let ports: Vec<Port> = match sides.as_slice() {
        [left, right] => vec![
            Port {
                line: *left,
                at: marks - vec2(sizes.port, 0.0),
                lean: -1.0,
            },
            Port {
                line: *right,
                at: marks + vec2(sizes.port, 0.0),
                lean: 1.0,
            },
        ],
        sides => sides
            .iter()
            .map(|&line| Port {
                line,
                at: marks,
                lean: 0.0,
            })
            .collect(),
    };

    let mut child_lines = Vec::new();
    for &slot in &part.layered.units[unit].slots {
        let data = &part.layered.slots[slot];
        let Held::Boxes(boxes) = &data.held else {
            continue;
        };
        let spine = left + part.x[slot] - data.width / 2.0 + 4.0;
        for &member in boxes {
            let rect = layout.boxes[member];
            let (from, to) = if data.width <= sizes.box_size.x {
                (pos2(rect.center().x, split), rect.center_top())
            } else {
                (pos2(spine, split), rect.left_center())
            };
            child_lines.push(ChildLine { member, from, to });
        }
    }
    let reach = vec2(sizes.port + sizes.mark, sizes.mark + sizes.bend * 0.6);
    let mut rect = Rect::from_min_max(marks - reach, pos2(middle + reach.x, split));
    for twig in &child_lines {
        rect = rect.union(layout.boxes[twig.member]);
    }
    FamilyPlace {
        ports,
        stem: [marks, pos2(middle, split)],
        child_lines,
        rect,
    }
}

/// Plants related to no other, in rows under the rest.
fn set_loose(layout: &mut Layout, loose: &[BoxIndex], y: f32, width: f32) {
    if loose.is_empty() {
        return;
    }
    let sizes = layout.sizes;
    let step = sizes.box_size + vec2(sizes.sib_gap, sizes.sib_gap);
    let square = (loose.len() as f32 * step.x * step.y * ASPECT).sqrt();
    let columns = ((width.max(square) / step.x) as usize).clamp(1, loose.len());
    let mut ground = Rect::NOTHING;
    for (place, &index) in loose.iter().enumerate() {
        let (row, column) = (place / columns, place % columns);
        let corner = pos2(column as f32 * step.x, (row as f32).mul_add(step.y, y));
        layout.boxes[index] = Rect::from_min_size(corner, sizes.box_size);
        ground = ground.union(layout.boxes[index]);
    }
    layout.loose = Some(ground);
}

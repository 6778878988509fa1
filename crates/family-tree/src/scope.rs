//! Which part of a [`FamilyGraph`] is drawn: all of it or the relatives of one plant, with ancestors hidden and large
//! families folded where the person asked for it.

use std::collections::BTreeSet;

use super::{
    code_order,
    graph::{
        FamilyGraph, FamilyIndex, FamilyKey, Line, Parentage, PlantIndex, PlantKey, Sex, Source,
    },
};

/// A family is folded from this many sibs without offspring, unless the person says otherwise.
pub const FOLD_FROM: usize = 8;

/// What to draw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scope {
    /// Only this plant's relatives, when set.
    pub around: Option<Around>,
    /// Families whose ancestors are hidden, unless they are also ancestors of something else that is shown.
    pub hidden_above: BTreeSet<FamilyKey>,
    /// Sibs without offspring are folded into one box when there are at least this many (never fewer than two).
    pub fold_from: usize,
    /// Families that are folded although small, or unfolded although large.
    pub turned: BTreeSet<FamilyKey>,
}

/// A plant and how many generations to go from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Around {
    /// The plant in the middle.
    pub plant: PlantKey,
    /// Generations of ancestors.
    pub ancestors: u32,
    /// Generations of descendants.
    pub descendants: u32,
}

impl Default for Scope {
    fn default() -> Self {
        Self {
            around: None,
            hidden_above: BTreeSet::new(),
            fold_from: FOLD_FROM,
            turned: BTreeSet::new(),
        }
    }
}

/// One box of the drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Content {
    /// A plant.
    Plant(PlantIndex),
    /// Full sibs without offspring in the drawing.
    Fold {
        /// Their family.
        family: FamilyIndex,
        /// The sibs, by code.
        plants: Vec<PlantIndex>,
        /// Whether they are the whole family, as far as it is in the drawing.
        whole: bool,
    },
}

/// The place of a box in [`Extract::boxes`].
pub type BoxIndex = usize;

/// Where the line of a parent comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// From a box.
    Box(BoxIndex),
    /// From a plant of the graph that is not drawn.
    Hidden(PlantIndex),
    /// From a plant that also descends from this family.
    Loop(PlantIndex),
    /// From a plant that is not in the graph.
    Missing,
    /// From nowhere known.
    Unknown,
    /// From open pollination.
    Open,
}

/// One parent of a drawn family.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// How the parent takes part.
    pub line: Line,
    /// Where its line comes from.
    pub end: End,
    /// Its share in per mille, when it is one of a mix.
    pub share: Option<u32>,
}

/// A family with at least one member drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kin {
    /// Which family.
    pub family: FamilyIndex,
    /// Its parents.
    pub links: Vec<Link>,
    /// The boxes of its members, by code, the fold last.
    pub members: Vec<BoxIndex>,
}

/// The boxes and families to draw: what the layout works on.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Extract {
    /// The boxes, by code.
    pub boxes: Vec<Content>,
    /// The families, in the order of the graph.
    pub families: Vec<Kin>,
    /// The family each box hangs from.
    pub family_of: Vec<Option<usize>>,
    /// The box that shows a plant, if any (its own or its family's fold).
    pub box_of: Vec<Option<BoxIndex>>,
}

impl Extract {
    /// Takes the part of `graph` that `scope` asks for. A plant of the scope that is not in the graph counts as not set.
    pub fn new(graph: &FamilyGraph, scope: &Scope) -> Self {
        let mut shown = in_range(graph, scope);
        hide_ancestors(graph, scope, &mut shown);

        let count = graph.plants().len();
        let centre = scope.around.and_then(|around| graph.index_of(around.plant));
        let mut folds: Vec<Option<Content>> = vec![None; graph.families().len()];
        let mut folded = vec![false; count];
        for (index, family) in graph.families().iter().enumerate() {
            let members: Vec<PlantIndex> = family
                .members
                .iter()
                .copied()
                .filter(|&plant| shown[plant])
                .collect();
            // Selected plants and parents are what the drawing is for: they keep boxes of their own.
            let leaves: Vec<PlantIndex> = members
                .iter()
                .copied()
                .filter(|&plant| {
                    Some(plant) != centre
                        && !graph.plants()[plant].selected
                        && !graph.children(plant).any(|child| shown[child])
                })
                .collect();
            let large = leaves.len() >= scope.fold_from;
            if leaves.len() >= 2 && large != scope.turned.contains(&family.key) {
                for &plant in &leaves {
                    folded[plant] = true;
                }
                folds[index] = Some(Content::Fold {
                    family: index,
                    whole: leaves.len() == members.len(),
                    plants: leaves,
                });
            }
        }

        let mut order: Vec<PlantIndex> = (0..count)
            .filter(|&plant| shown[plant] && !folded[plant])
            .collect();
        order.sort_by(|&a, &b| code_order(&graph.plants()[a].code, &graph.plants()[b].code));
        let mut boxes: Vec<Content> = order.into_iter().map(Content::Plant).collect();
        let mut box_of = vec![None; count];
        for (index, content) in boxes.iter().enumerate() {
            if let Content::Plant(plant) = content {
                box_of[*plant] = Some(index);
            }
        }
        let mut families = Vec::new();
        let mut family_of = vec![None; boxes.len()];
        for (index, family) in graph.families().iter().enumerate() {
            let mut members: Vec<BoxIndex> = family
                .members
                .iter()
                .filter_map(|&plant| box_of[plant])
                .collect();
            if let Some(fold) = folds[index].take() {
                if let Content::Fold { plants, .. } = &fold {
                    for &plant in plants {
                        box_of[plant] = Some(boxes.len());
                    }
                }
                members.push(boxes.len());
                boxes.push(fold);
                family_of.push(None);
            }
            if members.is_empty() {
                continue;
            }
            for &member in &members {
                family_of[member] = Some(families.len());
            }
            let links = family
                .parents
                .iter()
                .map(|parentage| link(parentage, &box_of))
                .collect();
            families.push(Kin {
                family: index,
                links,
                members,
            });
        }
        Self {
            boxes,
            families,
            family_of,
            box_of,
        }
    }
}

fn link(parentage: &Parentage, box_of: &[Option<BoxIndex>]) -> Link {
    let end = match parentage.source {
        Source::Plant(plant) => box_of[plant].map_or(End::Hidden(plant), End::Box),
        Source::Loop(plant) => End::Loop(plant),
        Source::Missing => End::Missing,
        Source::Unknown => End::Unknown,
        Source::Open => End::Open,
    };
    Link {
        line: parentage.line,
        end,
        share: parentage.share,
    }
}

/// Which plants the scope reaches before anything is hidden.
fn in_range(graph: &FamilyGraph, scope: &Scope) -> Vec<bool> {
    let middle = scope
        .around
        .and_then(|around| Some((graph.index_of(around.plant)?, around)));
    let Some((plant, around)) = middle else {
        return vec![true; graph.plants().len()];
    };
    let mut shown = vec![false; graph.plants().len()];
    shown[plant] = true;
    for other in FamilyGraph::reach(plant, around.ancestors, |plant| graph.parents(plant)) {
        shown[other] = true;
    }
    for other in FamilyGraph::reach(plant, around.descendants, |plant| graph.children(plant)) {
        shown[other] = true;
    }
    shown
}

/// Hides every plant all of whose families are hidden from above or have no member shown.
fn hide_ancestors(graph: &FamilyGraph, scope: &Scope, shown: &mut [bool]) {
    let cut: BTreeSet<FamilyIndex> = graph
        .families()
        .iter()
        .enumerate()
        .filter(|(_, family)| scope.hidden_above.contains(&family.key))
        .map(|(index, _)| index)
        .collect();
    let centre = scope.around.and_then(|around| graph.index_of(around.plant));
    let mut waiting: Vec<PlantIndex> = cut
        .iter()
        .flat_map(|&family| graph.families()[family].known_parents())
        .collect();
    while let Some(plant) = waiting.pop() {
        let needed = Some(plant) == centre
            || graph.families_from(plant).iter().any(|&family| {
                !cut.contains(&family)
                    && graph.families()[family]
                        .members
                        .iter()
                        .any(|&member| shown[member])
            });
        if shown[plant] && !needed {
            shown[plant] = false;
            waiting.extend(graph.parents(plant));
        }
    }
}

/// The whole of a plant in one line, as a screen reader says it and a pointer shows it:
/// `B26-014, female, selected; parents A × B`.
pub fn describe_plant(graph: &FamilyGraph, plant: PlantIndex) -> String {
    let data = &graph.plants()[plant];
    let mut text = data.code.clone();
    if let Some(name) = &data.name {
        text.push_str(" '");
        text.push_str(name);
        text.push('\'');
    }
    let mut say = |word: &str| {
        if !word.is_empty() {
            text.push_str(", ");
            text.push_str(word);
        }
    };
    say(data.sex.word());
    if let Some(ploidy) = data.ploidy {
        say(&format!("{ploidy}x"));
    }
    say(&data.stage);
    if data.selected && data.stage != "selected" {
        say("selected");
    }
    if data.dead && data.stage != "dead" {
        say("dead");
    }
    for caption in &data.captions {
        say(caption);
    }
    if let Some(shading) = graph.shading(plant) {
        say(&format!("shaded {:.0} %", shading.clamp(0.0, 1.0) * 100.0));
    }
    if let Some(family) = graph.family_of(plant) {
        text.push_str("; ");
        text.push_str(&describe_parents(graph, family));
    }
    text
}

/// The parents of a family: `parents A × B`, `doubled from A`, `variant of A`.
pub fn describe_parents(graph: &FamilyGraph, family: FamilyIndex) -> String {
    let family = &graph.families()[family];
    let side = |line: Line| {
        let all: Vec<String> = family
            .parents
            .iter()
            .filter(|parentage| parentage.line == line)
            .map(|parentage| describe_source(graph, parentage))
            .collect();
        match all.as_slice() {
            [] => None,
            [one] => Some(one.clone()),
            several => Some(format!("mix of {}", several.join(", "))),
        }
    };
    if let Some(from) = side(Line::Doubled) {
        return format!("doubled from {from}");
    }
    if let Some(of) = side(Line::Variant) {
        return format!("variant of {of}");
    }
    let unknown = || "unknown".to_owned();
    format!(
        "parents {} × {}",
        side(Line::Female).unwrap_or_else(unknown),
        side(Line::Male).unwrap_or_else(unknown)
    )
}

fn describe_source(graph: &FamilyGraph, parentage: &Parentage) -> String {
    let name = match parentage.source {
        Source::Plant(plant) => graph.plants()[plant].code.clone(),
        Source::Loop(plant) => format!("{} (its own descendant)", graph.plants()[plant].code),
        Source::Missing => "not in the records".to_owned(),
        Source::Unknown => "unknown".to_owned(),
        Source::Open => "open pollination".to_owned(),
    };
    match parentage.share {
        Some(share) => format!("{name} {} %", (share + 5) / 10),
        None => name,
    }
}

/// A fold in one line: `B26-01, 48 seedlings; parents A × B`.
pub fn describe_fold(
    graph: &FamilyGraph,
    family: FamilyIndex,
    plants: &[PlantIndex],
    whole: bool,
) -> String {
    format!(
        "{}, {}; {}",
        fold_title(graph, family, plants),
        fold_count(graph, plants, whole),
        describe_parents(graph, family)
    )
}

/// The code of a folded family, or of its first and last sib when the family has none.
pub(super) fn fold_title(
    graph: &FamilyGraph,
    family: FamilyIndex,
    plants: &[PlantIndex],
) -> String {
    let codes = || {
        let code =
            |plant: Option<&PlantIndex>| plant.map_or("", |&plant| &graph.plants()[plant].code);
        format!("{} – {}", code(plants.first()), code(plants.last()))
    };
    graph.families()[family].code.clone().unwrap_or_else(codes)
}

/// How many plants a fold holds, in words.
pub(super) fn fold_count(graph: &FamilyGraph, plants: &[PlantIndex], whole: bool) -> String {
    let all_seedlings = plants
        .iter()
        .all(|&plant| graph.plants()[plant].stage == "seedling");
    match (whole, all_seedlings) {
        (true, true) => format!("{} seedlings", plants.len()),
        (true, false) => format!("{} plants", plants.len()),
        (false, true) => format!("{} more seedlings", plants.len()),
        (false, false) => format!("{} more plants", plants.len()),
    }
}

/// The sexes of folded plants that are known: `3 female, 2 male`; empty when none is.
pub(super) fn fold_sexes(graph: &FamilyGraph, plants: &[PlantIndex]) -> String {
    let count = |sex: Sex| {
        plants
            .iter()
            .filter(|&&plant| graph.plants()[plant].sex == sex)
            .count()
    };
    [Sex::Female, Sex::Male, Sex::Monoecious]
        .into_iter()
        .map(|sex| (count(sex), sex.word()))
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect::<Vec<_>>()
        .join(", ")
}

#[cfg(test)]
mod tests;

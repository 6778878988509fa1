//! The widget: a drawing that can be moved, searched and walked through.
//!
//! Drag moves it, the wheel and pinching zoom, a click picks a plant, a double click puts it in focus and fades the rest.
//! With the keyboard: arrows go to the female parent (with Shift the male), to offspring and to neighbours; Enter puts in
//! focus, Escape ends that, Space picks, `+` and `-` zoom, `0` fits everything, `/` goes to the search.

mod camera;
mod keys;
mod paint;
mod related;
mod toolbar;

use egui::{Context, Id, Key, Modifiers, Rect, Response, Role, Sense, Ui, WidgetInfo, vec2};

use kit::theme;
use kit::worker::{Latest, Worker};
use std::sync::Arc;

use super::{
    graph::{FamilyGraph, PlantIndex, PlantKey},
    layout::{Layout, Sizes},
    scope::{BoxIndex, Content, Extract, Scope, describe_fold, describe_parents, describe_plant},
};
use camera::Camera;
use keys::KeyMove;
use related::Related;

/// Beyond this many boxes in view only the plant at the cursor has an accessible name of its own: a list of thousands
/// read aloud helps no one. The search and the keys still reach every plant.
const MOST_NAMED: usize = 600;
/// Up to this many plants a drawing is laid out within a frame's patience; more are laid out off the window's thread.
const LAID_OUT_AT_ONCE: usize = 400;
/// The room that the keyboard cursor keeps from the edges.
const SIGHT: f32 = 60.0;

/// What the widget remembers between frames.
#[derive(Debug, Default)]
pub struct TreeState {
    /// Which plants are drawn.
    pub scope: Scope,
    focus: Option<PlantKey>,
    cursor: Option<PlantKey>,
    /// The offspring the cursor came up from, so that going down leads back.
    came_from: Vec<PlantKey>,
    search: toolbar::Search,
    camera: Camera,
    /// Where the drawing was shown last.
    area: Option<Rect>,
    laid_out: Worker<(u64, Scope), LaidOut>,
    drawing: Option<Drawing>,
}

/// What the person did in this frame.
#[derive(Debug)]
pub struct TreeResponse {
    /// The plant that was clicked, or picked with Space.
    pub picked: Option<PlantKey>,
    /// The drawing's own response.
    pub response: Response,
}

/// What is drawn and where, of one graph and scope.
#[derive(Debug)]
struct LaidOut {
    graph: FamilyGraph,
    scope: Scope,
    extract: Extract,
    layout: Layout,
}

/// The drawing that is shown. While the next one is being laid out it may be of an earlier graph or scope.
#[derive(Debug)]
struct Drawing {
    laid_out: Latest<LaidOut>,
    /// With the shading of this frame.
    graph: FamilyGraph,
    related: Option<Related>,
}

impl std::ops::Deref for Drawing {
    type Target = LaidOut;

    fn deref(&self) -> &LaidOut {
        &self.laid_out
    }
}

impl TreeState {
    /// The plant in focus; the plants that are neither its ancestors nor its descendants are faded.
    pub fn focus(&self) -> Option<PlantKey> {
        self.focus
    }

    /// The plant at the keyboard cursor.
    pub fn cursor(&self) -> Option<PlantKey> {
        self.cursor
    }

    /// Puts a plant in focus and in the middle.
    pub fn set_focus(&mut self, plant: PlantKey) {
        self.focus = Some(plant);
        self.cursor = Some(plant);
        self.camera.look_for(plant);
        self.forget_related();
    }

    /// Shows all plants alike again.
    pub fn clear_focus(&mut self) {
        self.focus = None;
        self.scope.around = None;
        self.forget_related();
    }

    /// Shows the whole drawing at the next frame.
    pub fn fit(&mut self) {
        self.camera.fit();
    }

    /// What is drawn and where, once it has been shown; for [`super::to_svg`].
    pub fn drawing(&self) -> Option<(&FamilyGraph, &Extract, &Layout)> {
        self.drawing
            .as_ref()
            .map(|drawing| (&drawing.graph, &drawing.extract, &drawing.layout))
    }

    fn forget_related(&mut self) {
        if let Some(drawing) = &mut self.drawing {
            drawing.related = None;
        }
    }

    /// Takes in what was laid out, and has laid out what changed since.
    fn update(&mut self, graph: &FamilyGraph, ctx: &Context) {
        let key = (graph.stamp(), self.scope.clone());
        let little = graph.plants().len() <= LAID_OUT_AT_ONCE;
        let latest = self.laid_out.follow_sized(ctx, key, little, || {
            let (graph, scope) = (graph.clone(), self.scope.clone());
            move |_| {
                let extract = Extract::new(&graph, &scope);
                let layout = Layout::new(&extract, Sizes::fitting(&graph));
                Some(LaidOut {
                    graph,
                    scope,
                    extract,
                    layout,
                })
            }
        });
        let Some(latest) = latest else {
            return;
        };
        let related = self.drawing.take().and_then(|drawing| {
            Arc::ptr_eq(&drawing.laid_out.value, &latest.value)
                .then_some(drawing.related)
                .flatten()
        });
        let of_this_graph = latest.graph.stamp() == graph.stamp();
        let mut drawing = Drawing {
            graph: if of_this_graph { graph } else { &latest.graph }.clone(),
            laid_out: latest,
            related,
        };
        let focus = self.focus.and_then(|key| drawing.graph.index_of(key));
        if drawing.related.is_none() {
            drawing.related =
                focus.map(|plant| Related::to(&drawing.graph, &drawing.extract, plant));
        }
        self.drawing = Some(drawing);
    }
}

/// The widget.
#[derive(Clone, Copy, Debug)]
pub struct FamilyTree<'a> {
    graph: &'a FamilyGraph,
}

impl<'a> FamilyTree<'a> {
    /// A family tree of these plants.
    pub fn new(graph: &'a FamilyGraph) -> Self {
        Self { graph }
    }

    /// Shows the tools, the drawing and the key, in all the room there is.
    pub fn show(self, ui: &mut Ui, state: &mut TreeState) -> TreeResponse {
        let Self { graph } = self;
        toolbar::show(ui, graph, state);
        state.update(graph, ui.ctx());

        let size = ui.available_size().max(vec2(160.0, 120.0));
        let (area, key) = {
            let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
            rect.split_top_bottom_at_y(rect.bottom() - paint::KEY)
        };
        state.area = Some(area);
        let id = ui.scope_id().with("drawing");
        let response = ui.interact(area, id, Sense::click_and_drag());
        let mut picked = None;
        if let Some(drawing) = state.drawing.take() {
            let graph = &drawing.graph;
            state.camera.update(ui, area, &response, graph, &drawing);
            picked = keyboard(ui, area, &response, graph, &drawing, state);
            paint::drawing(ui, area, graph, &drawing, state);
            paint::key(ui, key);
            picked = names(ui, area, &response, graph, &drawing, state).or(picked);
            // A focus set just now is not worked out yet; nothing else would wake an idle window for it.
            if state.focus.is_some() && drawing.related.is_none() || drawing.scope != state.scope {
                ui.request_repaint();
            }
            state.drawing = Some(drawing);
        } else {
            let words = format!("Drawing {} plants…", graph.plants().len());
            let at = Rect::from_center_size(area.center(), vec2(area.width(), 40.0));
            ui.put(at, egui::Label::new(theme::muted(ui, words)));
        }
        TreeResponse { picked, response }
    }
}

/// Gives boxes and junctions in view their accessible names and answers clicks on them.
fn names(
    ui: &Ui,
    area: Rect,
    response: &Response,
    graph: &FamilyGraph,
    drawing: &Drawing,
    state: &mut TreeState,
) -> Option<PlantKey> {
    let LaidOut {
        extract, layout, ..
    } = &**drawing;
    let camera = &state.camera;
    let cursor = cursor_box(graph, extract, state.cursor);
    let in_view: Vec<BoxIndex> = (0..extract.boxes.len())
        .filter(|&index| camera.rect(area, layout.boxes[index]).intersects(area))
        .collect();
    let mut named = in_view.clone();
    if named.len() > MOST_NAMED {
        named.retain(|&index| Some(index) == cursor);
    }
    let mut clicked: Option<(BoxIndex, bool)> = None;
    for index in named {
        let rect = camera.rect(area, layout.boxes[index]).intersect(area);
        let key = first_plant(graph, &extract.boxes[index]);
        // Plants are reached with the arrow keys; Tab passes the drawing as a whole.
        let node = ui.interact(rect, node_id(response, key), Sense::CLICK);
        let label = describe(graph, &extract.boxes[index]);
        let selected =
            matches!(extract.boxes[index], Content::Plant(plant) if graph.plants()[plant].selected);
        node.widget_info(|| WidgetInfo::selected(Role::TreeItem, true, selected, &label));
        if node.double_clicked() {
            clicked = Some((index, true));
        } else if node.clicked() {
            clicked = Some((index, false));
        }
        node.on_hover_text(label);
    }
    // Where there are too many boxes to name, the drawing as a whole answers.
    if in_view.len() > MOST_NAMED
        && let Some(at) = response.interact_pointer_pos()
        && response.clicked()
    {
        let at = camera.to_layout(area, at);
        let hit = in_view
            .iter()
            .copied()
            .find(|&index| layout.boxes[index].contains(at));
        clicked = clicked.or(hit.map(|index| (index, response.double_clicked())));
    }
    let mut turned = None;
    if camera.zoom() >= paint::CODES && in_view.len() <= MOST_NAMED {
        for (place, kin) in layout.families.iter().zip(&extract.families) {
            let rect =
                Rect::from_center_size(camera.to_screen(area, place.stem[0]), vec2(44.0, 24.0));
            let family = &graph.families()[kin.family];
            if !area.contains_rect(rect) {
                continue;
            }
            let node = ui.interact(rect, response.id.with(("family", family.key)), Sense::CLICK);
            let code = family.code.as_deref().unwrap_or("without a code");
            let label = format!(
                "Family {code}, {}; click to fold or unfold",
                describe_parents(graph, kin.family)
            );
            node.widget_info(|| WidgetInfo::labeled(Role::Button, true, &label));
            if node.clicked() {
                turned = Some(family.key);
            }
            node.on_hover_text(label);
        }
    }

    let label = format!(
        "Family tree: {} plants, {} in view",
        graph.plants().len(),
        in_view.len()
    );
    response.widget_info(|| WidgetInfo::labeled(Role::Tree, true, &label));
    if let Some(index) = cursor {
        let key = first_plant(graph, &extract.boxes[index]);
        let node = node_id(response, key);
        if ui.has_accesskit_node(node) {
            ui.accesskit_node_builder(response.id, |tree| {
                tree.set_active_descendant(node.accesskit_id());
            });
        }
    }

    if let Some(family) = turned {
        toggle(&mut state.scope.turned, family);
        response.request_focus();
    }
    let (index, double) = clicked?;
    response.request_focus();
    let key = first_plant(graph, &extract.boxes[index]);
    state.cursor = Some(key);
    state.came_from.clear();
    match extract.boxes[index] {
        Content::Fold { family, .. } => {
            toggle(&mut state.scope.turned, graph.families()[family].key);
            None
        }
        Content::Plant(_) => {
            if double {
                state.set_focus(key);
            }
            Some(key)
        }
    }
}

fn keyboard(
    ui: &Ui,
    area: Rect,
    response: &Response,
    graph: &FamilyGraph,
    drawing: &Drawing,
    state: &mut TreeState,
) -> Option<PlantKey> {
    if !response.has_focus() {
        return None;
    }
    ui.memory_mut(|memory| {
        memory.set_focus_lock_filter(
            response.id,
            egui::EventFilter {
                tab: false,
                horizontal_arrows: true,
                vertical_arrows: true,
                escape: true,
            },
        );
    });
    let LaidOut {
        extract, layout, ..
    } = &**drawing;
    let pressed =
        |modifiers: Modifiers, key: Key| ui.input_mut(|input| input.consume_key(modifiers, key));
    for (modifiers, key, step) in [
        (Modifiers::SHIFT, Key::ArrowUp, KeyMove::MaleParent),
        (Modifiers::NONE, Key::ArrowUp, KeyMove::FemaleParent),
        (Modifiers::NONE, Key::ArrowDown, KeyMove::Offspring),
        (Modifiers::NONE, Key::ArrowLeft, KeyMove::Left),
        (Modifiers::NONE, Key::ArrowRight, KeyMove::Right),
    ] {
        if !pressed(modifiers, key) {
            continue;
        }
        let here = cursor_box(graph, extract, state.cursor);
        let came_from = state
            .came_from
            .last()
            .and_then(|&key| cursor_box(graph, extract, Some(key)));
        let next = match here {
            None => keys::first(layout, state.camera.to_layout(area, area.left_top())),
            Some(here) => keys::step(extract, layout, here, step, came_from),
        };
        if let Some(next) = next {
            match step {
                KeyMove::FemaleParent | KeyMove::MaleParent => state.came_from.extend(state.cursor),
                KeyMove::Offspring => {
                    state.came_from.pop();
                }
                KeyMove::Left | KeyMove::Right => state.came_from.clear(),
            }
            state.cursor = Some(first_plant(graph, &extract.boxes[next]));
            state.camera.reveal(area, layout.boxes[next], SIGHT);
        }
    }
    if pressed(Modifiers::NONE, Key::Escape) {
        state.clear_focus();
    }
    if pressed(Modifiers::NONE, Key::Num0) {
        state.fit();
    }
    if pressed(Modifiers::NONE, Key::Slash) {
        state.search.ask_focus();
        ui.request_repaint();
    }
    for key in [Key::Plus, Key::Equals] {
        if pressed(Modifiers::NONE, key) || pressed(Modifiers::SHIFT, key) {
            state.camera.zoom_by(area, area.center(), camera::STEP);
        }
    }
    if pressed(Modifiers::NONE, Key::Minus) {
        state
            .camera
            .zoom_by(area, area.center(), 1.0 / camera::STEP);
    }
    let here = cursor_box(graph, extract, state.cursor)?;
    let enter = pressed(Modifiers::NONE, Key::Enter);
    let space = pressed(Modifiers::NONE, Key::Space);
    match &extract.boxes[here] {
        Content::Fold { family, .. } => {
            if enter || space {
                toggle(&mut state.scope.turned, graph.families()[*family].key);
            }
            None
        }
        Content::Plant(plant) => {
            let key = graph.plants()[*plant].key;
            if enter {
                state.set_focus(key);
                ui.request_repaint();
            }
            space.then_some(key)
        }
    }
}

fn node_id(response: &Response, plant: PlantKey) -> Id {
    response.id.with(("plant", plant))
}

fn cursor_box(
    graph: &FamilyGraph,
    extract: &Extract,
    cursor: Option<PlantKey>,
) -> Option<BoxIndex> {
    extract.box_of[graph.index_of(cursor?)?]
}

/// A plant by which a box can be found again.
fn first_plant(graph: &FamilyGraph, content: &Content) -> PlantKey {
    let plant: PlantIndex = match content {
        Content::Plant(plant) => *plant,
        Content::Fold { plants, .. } => plants[0],
    };
    graph.plants()[plant].key
}

fn describe(graph: &FamilyGraph, content: &Content) -> String {
    match content {
        Content::Plant(plant) => describe_plant(graph, *plant),
        Content::Fold {
            family,
            plants,
            whole,
        } => describe_fold(graph, *family, plants, *whole),
    }
}

fn toggle<T: Ord>(set: &mut std::collections::BTreeSet<T>, item: T) {
    if !set.remove(&item) {
        set.insert(item);
    }
}

#[cfg(test)]
mod tests;

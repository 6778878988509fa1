//! The row of tools over the drawing: search, view, and what to do with the plant at the cursor.

use egui::{Key, TextEdit, Ui};

use super::{TreeState, cursor_box, toggle};
use crate::{
    code_order,
    graph::{FamilyGraph, PlantIndex, PlantKey},
    scope::Around,
};
use kit::theme;

/// How far 'Only relatives' goes at first.
const GENERATIONS: u32 = 3;
const MOST_GENERATIONS: u32 = 99;

/// The search field and what it found.
#[derive(Debug, Default)]
pub(super) struct Search {
    text: String,
    found: Vec<PlantKey>,
    at: usize,
    focus_wanted: bool,
}

impl Search {
    pub(super) fn ask_focus(&mut self) {
        self.focus_wanted = true;
    }
}

pub(super) fn show(ui: &mut Ui, graph: &FamilyGraph, state: &mut TreeState) {
    ui.horizontal_wrapped(|ui| {
        search(ui, graph, state);
        ui.separator();
        if ui
            .button("Fit")
            .on_hover_text("Show everything (0)")
            .clicked()
        {
            state.camera.fit();
        }
        if let Some(area) = state.area {
            for (text, name, factor) in [
                ("−", "Zoom out", 1.0 / super::camera::STEP),
                ("+", "Zoom in", super::camera::STEP),
            ] {
                let button = ui.button(text).on_hover_text(format!("{name} ({text})"));
                button.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, name));
                if button.clicked() {
                    state.camera.zoom_by(area, area.center(), factor);
                }
            }
        }
        ui.separator();
        plant_tools(ui, graph, state);
    });
}

fn search(ui: &mut Ui, graph: &FamilyGraph, state: &mut TreeState) {
    let label = ui.label("Find by code");
    let field = ui
        .add(TextEdit::singleline(&mut state.search.text).desired_width(110.0))
        .labelled_by(label.id);
    if std::mem::take(&mut state.search.focus_wanted) {
        field.request_focus();
    }
    if field.changed() {
        state.search.found = find(graph, &state.search.text);
        state.search.at = 0;
        go(graph, state);
    }
    let next = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if next && state.search.found.len() > 1 {
        state.search.at = (state.search.at + 1) % state.search.found.len();
        go(graph, state);
    }
    if next {
        // Enter goes from one to the next without the hand leaving the keys.
        field.request_focus();
    }
    let Search {
        text, found, at, ..
    } = &state.search;
    if !text.trim().is_empty() {
        let words = if found.is_empty() {
            "No plant with this code or name".to_owned()
        } else {
            format!("{} of {}", at + 1, found.len())
        };
        ui.label(theme::muted(ui, words));
    }
}

fn go(graph: &FamilyGraph, state: &mut TreeState) {
    let Some(&key) = state.search.found.get(state.search.at) else {
        return;
    };
    let drawn = |state: &TreeState| {
        let extract = state.drawing.as_ref().map(|drawing| &drawing.extract);
        extract.is_some_and(|extract| cursor_box(graph, extract, Some(key)).is_some())
    };
    if !drawn(state) {
        // Whatever keeps it from being drawn is lifted.
        state.scope.around = None;
        state.scope.hidden_above.clear();
    }
    state.cursor = Some(key);
    state.camera.look_for(key);
}

/// The plants whose code or name holds the words, in any case: those whose code is just that first, then by code.
fn find(graph: &FamilyGraph, text: &str) -> Vec<PlantKey> {
    let wanted = text.trim().to_lowercase();
    if wanted.is_empty() {
        return Vec::new();
    }
    let mut found: Vec<(bool, &str, PlantKey)> = graph
        .plants()
        .iter()
        .filter_map(|plant| {
            let code = plant.code.to_lowercase();
            let name = plant.name.as_ref().map(|name| name.to_lowercase());
            let hit = code.contains(&wanted) || name.is_some_and(|name| name.contains(&wanted));
            hit.then_some((code != wanted, plant.code.as_str(), plant.key))
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| code_order(a.1, b.1)));
    found.into_iter().map(|(_, _, key)| key).collect()
}

/// What can be done with the plant at the cursor.
fn plant_tools(ui: &mut Ui, graph: &FamilyGraph, state: &mut TreeState) {
    let here: Option<PlantIndex> = state.cursor.and_then(|key| graph.index_of(key));
    let Some(plant) = here else {
        if state.focus.is_none() {
            ui.label(theme::muted(
                ui,
                "Click a plant, or press an arrow key in the drawing",
            ));
        }
        focus_tools(ui, state);
        return;
    };
    let data = &graph.plants()[plant];
    ui.label(theme::strong(&data.code));
    if state.focus != Some(data.key)
        && ui
            .button("Focus")
            .on_hover_text("Centre it and fade what is not related (Enter)")
            .clicked()
    {
        state.set_focus(data.key);
    }
    if let Some(family) = graph.family_of(plant) {
        let family = &graph.families()[family];
        let hidden = state.scope.hidden_above.contains(&family.key);
        let text = if hidden {
            "Show ancestors"
        } else {
            "Hide ancestors"
        };
        if ui.button(text).clicked() {
            toggle(&mut state.scope.hidden_above, family.key);
        }
        if family.members.len() > 1 {
            let large = family.members.len() >= state.scope.fold_from;
            let folded = large != state.scope.turned.contains(&family.key);
            let text = if folded {
                "Unfold family"
            } else {
                "Fold family"
            };
            if ui.button(text).clicked() {
                toggle(&mut state.scope.turned, family.key);
            }
        }
    }
    focus_tools(ui, state);
}

fn focus_tools(ui: &mut Ui, state: &mut TreeState) {
    let Some(focus) = state.focus else {
        return;
    };
    ui.separator();
    if ui
        .button("Clear focus")
        .on_hover_text("Show all plants alike (Escape)")
        .clicked()
    {
        state.clear_focus();
        return;
    }
    let mut only = state.scope.around.is_some();
    if ui.checkbox(&mut only, "Only relatives").changed() {
        state.scope.around = only.then_some(Around {
            plant: focus,
            ancestors: GENERATIONS,
            descendants: GENERATIONS,
        });
        state.camera.fit();
    }
    if let Some(around) = &mut state.scope.around {
        around.plant = focus;
        for (text, generations) in [
            ("Ancestors", &mut around.ancestors),
            ("Descendants", &mut around.descendants),
        ] {
            let label = ui.label(text);
            let field = egui::DragValue::new(generations)
                .range(0..=MOST_GENERATIONS)
                .speed(0.05);
            if ui.add(field).labelled_by(label.id).changed() {
                state.camera.fit();
            }
        }
    }
}

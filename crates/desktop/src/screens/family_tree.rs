//! The family tree of the project, with the record of the plant that was clicked beside it.

use crate::derived::{Figures, Stamp};
use crate::dialogs::Question;
use crate::screens::explanation::{figure, share};
use crate::view::{Outbox, Request, View};
use domain::date::InWords as _;
use domain::{AnyId, Genotype, Id, Project};
use egui::Ui;
use family_tree::{FamilyGraph, FamilyTree, PlantKey, TreeState, to_svg};
use kit::theme::{muted, space};
use kit::widgets::{detail, detail_with, empty_state, heading, list_and_detail};
use kit::worker::Worker;

mod graph;

/// Up to this many plants the graph is built within a frame's patience.
const BUILT_AT_ONCE: usize = 2_000;

/// What the family tree remembers between frames.
#[derive(Default)]
pub struct State {
    tree: TreeState,
    built: Worker<(u64, Stamp), FamilyGraph>,
    /// What was built last, shaded.
    graph: FamilyGraph,
    /// Boxes are shaded by kinship to the plant chosen.
    shade: bool,
    /// The plant they are shaded for now, and the revision its kinship is of.
    shaded: Option<(Id<Genotype>, u64)>,
    chosen: Option<Id<Genotype>>,
    detail_open: bool,
}

/// Draws the screen.
pub fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    if project.genotypes().is_empty() {
        heading(ui, "Family tree");
        if empty_state(
            ui,
            "Plants and their parents show here as a tree, once there are any.",
            "Add the first plant",
        ) {
            out.ask(Request::Go(crate::view::Screen::Plants));
        }
        return;
    }
    let figures = view.derived.genetics().figures(project, ui.ctx());
    let stamp = (project.revision(), figures.stamp());
    let little = project.genotypes().len() <= BUILT_AT_ONCE;
    let built = state.built.follow_sized(ui.ctx(), stamp, little, || {
        let (snapshot, figures) = (project.clone(), figures.clone());
        move |_| Some(graph::of(&snapshot, &figures))
    });
    if let Some(built) = built
        && !state.graph.is_same(&built)
    {
        state.graph = built.value.as_ref().clone();
        state.shaded = None;
    }
    state.shade_boxes(ui, view);
    let title = state
        .chosen
        .map_or("", |plant| project.code_of(plant))
        .to_owned();
    let mut open = state.detail_open && state.chosen.is_some();
    list_and_detail(
        ui,
        "family tree",
        &mut open,
        &title,
        &mut (&mut *state, &mut *out),
        |ui, (state, out)| tree_ui(ui, view, &figures, state, out),
        |ui, (state, out)| {
            if let Some(plant) = state.chosen.and_then(|id| project.genotypes().get(id)) {
                record_ui(ui, project, &figures, plant, state, out);
            }
        },
    );
    // Closed by its own button; opened by a click in the tree meanwhile.
    if !open
        && !title.is_empty()
        && state
            .chosen
            .is_some_and(|plant| project.code_of(plant) == title)
    {
        state.detail_open = false;
    }
}

impl State {
    /// Shades the boxes by kinship to the plant chosen, once it is known.
    fn shade_boxes(&mut self, ui: &Ui, view: &View<'_>) {
        let to = self.chosen.filter(|_| self.shade);
        let near = to.and_then(|to| view.derived.genetics().near(view.project, to, ui.ctx()));
        let near = near.filter(|near| Some(near.to) == to);
        let wanted = near.as_ref().map(|near| (near.to, near.revision()));
        if wanted != self.shaded {
            self.graph.shade(|key| near.as_ref()?.share(graph::id(key)));
            self.shaded = wanted;
        }
    }
}

fn tree_ui(
    ui: &mut Ui,
    view: &View<'_>,
    figures: &Figures,
    state: &mut State,
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    ui.horizontal_wrapped(|ui| {
        heading(ui, "Family tree");
        ui.add_space(space::M);
        if (ui.button("Save as picture…").clicked()
            || kit::page_keys::acts(ui, egui::Key::P, "save as picture"))
            && let Some((graph, extract, layout)) = state.tree.drawing()
        {
            let svg = to_svg(graph, extract, layout);
            out.ask(Request::Export(
                Question::SaveSvg("family tree.svg".into()),
                svg.into_bytes(),
            ));
        }
        if ui.button("Save in pixels…").clicked()
            && let Some((graph, extract, layout)) = state.tree.drawing()
        {
            let drawing = family_tree::to_drawing(graph, extract, layout);
            match super::chart_file::png(&drawing) {
                Ok(bytes) => out.ask(Request::Export(
                    Question::SavePng("family tree.png".into()),
                    bytes,
                )),
                Err(sentence) => out.say(sentence),
            }
        }
        if ui
            .button("Print over pages…")
            .on_hover_text("A PDF on A4, over as many pages as it takes, to be glued together.")
            .clicked()
            && let Some((graph, extract, layout)) = state.tree.drawing()
        {
            let drawing = family_tree::to_drawing(graph, extract, layout);
            let made = exchange::poster::pdf("Family tree", &drawing, Some(view.clock));
            super::on_paper::write(out, "family tree.pdf".into(), made);
        }
        ui.add_enabled_ui(state.chosen.is_some(), |ui| {
            ui.checkbox(&mut state.shade, "Shade by kinship to the selected plant")
                .on_hover_text("The bar at the left of a box is full for the plant chosen itself and for its clones.")
                .on_disabled_hover_text("Click a plant first.");
        });
        if let Some((plant, _)) = state.shaded {
            let words = format!("Bars: kinship to {}, full for itself.", project.code_of(plant));
            ui.label(muted(ui, words));
        }
        if let Some(of_trait) = figures.of_trait(project) {
            let words = format!("Values: {} (accuracy).", of_trait.name);
            ui.label(muted(ui, words));
        }
    });
    if let Some(key) = FamilyTree::new(&state.graph)
        .show(ui, &mut state.tree)
        .picked
    {
        state.chosen = Some(graph::id(key));
        state.detail_open = true;
    }
}

/// The record of a plant in short, with the way to its page.
fn record_ui(
    ui: &mut Ui,
    project: &Project,
    figures: &Figures,
    plant: &Genotype,
    state: &mut State,
    out: &mut Outbox<'_>,
) {
    if let Some(name) = &plant.name {
        detail(ui, "Name", name);
    }
    let sex = plant.sex.as_ref().map_or_else(
        || "unknown".to_owned(),
        |record| format!("{}, {}", record.sex.word(), record.basis.words()),
    );
    detail(ui, "Sex", &sex);
    detail(ui, "Ploidy", &plant.ploidy.to_string());
    detail(
        ui,
        "Origin",
        &domain::display::origin_words(project, &plant.origin),
    );
    if let Some(kinship) = &figures.kinship
        && let Some(inbreeding) = kinship.inbreeding(plant.id)
    {
        detail_with(ui, "Inbreeding F", |ui| {
            figure(ui, "Inbreeding F", &share(inbreeding), || {
                kinship.explain_inbreeding(project, plant.id)
            });
        });
    }
    if let (Some(values), Some(value)) = (&figures.values, figures.value(plant.id)) {
        detail_with(ui, "Breeding value", |ui| {
            let words = format!(
                "{:.2} (accuracy {:.2})",
                value.breeding.value, value.breeding.accuracy
            );
            figure(ui, "Breeding value", &words, || {
                values.explain(project, plant.id)
            });
        });
    }
    if let Some(stage) = plant.stage.and_then(|stage| project.stages().get(stage)) {
        detail(ui, "Stage", &stage.name);
    }
    if let Some(born) = plant.born {
        detail(ui, "Since", &born.in_words());
    }
    if let Some(selected) = &plant.selected {
        detail(
            ui,
            "Selected",
            &format!("{} {}", selected.date.in_words(), selected.reason),
        );
    }
    if let Some(end) = &plant.end {
        detail(
            ui,
            "End",
            &format!("{} {} {}", end.kind.word(), end.date.in_words(), end.cause),
        );
    }
    for each in project.traits().iter() {
        if let Some(seen) = project.latest_observation(plant.id, each.id) {
            detail(
                ui,
                &each.name,
                &format!("{} ({})", seen.value, kit::dates::day(seen.date)),
            );
        }
    }
    for note in project.notes_on(plant.id) {
        ui.add(
            egui::Label::new(muted(
                ui,
                format!("{}: {}", kit::dates::day(note.date), note.text),
            ))
            .wrap(),
        );
    }
    ui.add_space(space::S);
    if ui.button("Open its page").clicked() {
        out.show(plant.id);
    }
    if ui.button("Focus on it").clicked() {
        state.tree.set_focus(graph::key(plant.id));
    }
}

/// Brings a plant into view, in focus.
pub fn reveal(state: &mut State, _project: &Project, id: AnyId) {
    let Some(plant) = id.typed::<Genotype>() else {
        return;
    };
    state.chosen = Some(plant);
    state.detail_open = true;
    state.tree.set_focus(PlantKey(id.uuid.as_u128()));
}

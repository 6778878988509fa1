//! Which plants stand on the rows: a group of them, and any others by their codes.

use super::{Group, Sheet, State, Wanted};
use crate::screens::code_picker::{CodePicker, find_plants};
use crate::screens::fields::choice;
use crate::view::View;
use domain::Project;
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{form_row, segmented};

pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State, sheet: &mut Sheet) {
    let project = view.project;
    let mut group = sheet.wanted.group;
    form_row(ui, "Group", |ui| {
        if choice(ui, "Group of plants", &mut group, &groups(project)) {
            sheet.wanted = Wanted {
                group,
                by_place: sheet.wanted.by_place,
                ..Wanted::default()
            };
            state.cursor = None;
        }
    });
    form_row(ui, "And", |ui| add_ui(ui, view, state, sheet));
    form_row(ui, "In order of", |ui| {
        let choices = [(false, "code"), (true, "place")];
        segmented(
            ui,
            "Order of the plants",
            &mut sheet.wanted.by_place,
            &choices,
        );
    });
    let (also, without) = (sheet.wanted.also.len(), sheet.wanted.without.len());
    if also > 0 {
        ui.label(muted(ui, format!("{also} added by code")));
    }
    if without > 0 {
        ui.label(muted(ui, format!("{without} left out")));
    }
    let any = sheet.wanted.group != Group::None || also > 0;
    if any && ui.button("Clear the plants").clicked() {
        sheet.wanted = Wanted {
            by_place: sheet.wanted.by_place,
            ..Wanted::default()
        };
    }
}

/// A plant typed by its code stands on a row of its own at the end.
fn add_ui(ui: &mut Ui, view: &View<'_>, state: &mut State, sheet: &mut Sheet) {
    let project = view.project;
    let picked = CodePicker::new("Add a plant by its code")
        .width(170.0_f32.min(ui.available_width() - 8.0))
        .show(ui, "", project.revision(), &mut state.adding, |typed| {
            find_plants(project, typed, |_| true)
        });
    if picked && let Some(plant) = state.adding.take() {
        sheet.wanted.without.retain(|id| *id != plant);
        if !sheet.wanted.also.contains(&plant) {
            sheet.wanted.also.push(plant);
        }
        state.cursor = Some(super::Cursor { plant, column: 0 });
    }
}

fn groups(project: &Project) -> Vec<(Group, String)> {
    let mut groups = vec![
        (Group::None, "none".to_owned()),
        (Group::Living, "all living plants".to_owned()),
        (Group::Founders, "founders and checks".to_owned()),
    ];
    let stages = project.stages_in_order().into_iter();
    groups.extend(stages.map(|stage| (Group::Stage(stage.id), format!("stage {}", stage.name))));
    let families = project
        .crosses()
        .iter()
        .filter(|cross| project.progeny_of(cross.id).next().is_some());
    groups
        .extend(families.map(|cross| (Group::Family(cross.id), format!("family {}", cross.code))));
    groups
}

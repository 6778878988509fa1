//! What can be done to many plants at once, with their number said.

use crate::screens::fields::{choice_row, partial_date};
use crate::view::{Outbox, Request, View};
use domain::{EndKind, Genotype, Id, PartialDate, Stage, actions};
use egui::{TextEdit, Ui};
use kit::theme::{muted, space};
use kit::widgets::{form_row, section_heading};

/// What has been typed about the plants selected.
#[derive(Default)]
pub(super) struct State {
    stage: Option<Id<Stage>>,
    date: Option<PartialDate>,
    reason: String,
    cause: String,
}

/// Draws the actions for these plants.
pub(super) fn show(
    ui: &mut Ui,
    view: &View<'_>,
    state: &mut State,
    plants: &[Id<Genotype>],
    out: &mut Outbox<'_>,
) {
    let project = view.project;
    let number = plants.len();
    let living = plants
        .iter()
        .filter(|id| {
            project
                .genotypes()
                .get(**id)
                .is_some_and(Genotype::is_alive)
        })
        .count();
    let ended = number - living;
    if ended > 0 {
        ui.label(muted(
            ui,
            format!("{living} of them live; {ended} ended already."),
        ));
    }
    if ui.button(format!("Label {number} plants")).clicked() {
        out.ask(Request::Label(
            plants.iter().map(|id| (*id).into()).collect(),
        ));
    }
    ui.add_enabled_ui(view.read_only.is_none(), |ui| {
        section_heading(ui, "Move on");
        let mut stage = state.stage.or_else(|| actions::next_stage(project, plants));
        let stages: Vec<_> = project
            .stages_in_order()
            .into_iter()
            .map(|each| (Some(each.id), each.name.clone()))
            .collect();
        if choice_row(ui, "To stage", &mut stage, &stages) {
            state.stage = stage;
        }
        if let Some(each) = stage.and_then(|stage| project.stages().get(stage))
            && ui
                .button(format!("Move {number} plants to {}", each.name))
                .clicked()
        {
            let edit = actions::move_to_stage(project, plants, each.id);
            out.act_on(ui, "move to stage", &each.name, edit);
            state.stage = None;
        }

        section_heading(ui, "Select");
        let mut date = state.date.unwrap_or(view.today.into());
        if let Some((new, _)) = partial_date(ui, "On", date) {
            state.date = Some(new);
            date = new;
        }
        line(
            ui,
            "Why selected",
            &mut state.reason,
            "what makes them worth keeping",
        );
        if ui.button(format!("Select {number} plants")).clicked() {
            let edit = actions::select(plants, date, state.reason.trim());
            out.act_on(ui, "select", "plants", edit);
        }

        section_heading(ui, "Cull");
        line(
            ui,
            "Cause",
            &mut state.cause,
            "mildew, weak growth, no room",
        );
        ui.label(muted(
            ui,
            format!(
                "Records that {living} living plants were culled on {date}. Their records stay."
            ),
        ));
        ui.add_enabled_ui(living > 0, |ui| {
            if ui.button(format!("Cull {living} plants")).clicked() {
                let cause = state.cause.trim();
                let edit = actions::end_plants(project, plants, EndKind::Culled, date, cause);
                out.act_on(ui, "cull", "plants", edit);
            }
        });
    });
    ui.add_space(space::S);
}

fn line(ui: &mut Ui, name: &str, text: &mut String, hint: &str) {
    form_row(ui, name, |ui| {
        ui.add(TextEdit::singleline(text).hint_text(hint.to_owned()))
            .accessible_name(name)
    });
}

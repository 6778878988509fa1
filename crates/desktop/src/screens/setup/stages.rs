//! The stages of selection, in their order.

use crate::screens::text_field::{text_field, text_field_sized};
use crate::view::{Outbox, View};
use domain::record::observation::StageField;
use domain::{Edit, Genotype, Id, Stage};
use egui::{Role, Ui, WidgetInfo};
use kit::theme::{muted, space};

/// What the page remembers between frames.
#[derive(Default)]
pub(super) struct State;

pub(super) fn show(ui: &mut Ui, view: &View<'_>, _state: &mut State, out: &mut Outbox<'_>) {
    let project = view.project;
    ui.label(muted(
        ui,
        "The steps from potted seedling to named cultivar. You move plants from one to the next, several at a time \
        if you like.",
    ));
    let stages = project.stages_in_order();
    for (nth, stage) in stages.iter().enumerate() {
        kit::drafts::about(ui, stage.id.uuid(), &stage.name, |ui| {
            ui.horizontal_wrapped(|ui| {
                move_button(
                    ui,
                    "Up",
                    nth.checked_sub(1).map(|other| stages[other]),
                    stage,
                    out,
                );
                move_button(ui, "Down", stages.get(nth + 1).copied(), stage, out);
                if let Some((name, ticket)) = text_field_sized(
                    ui,
                    &format!("Name of stage {}", nth + 1),
                    &stage.name,
                    150.0,
                ) {
                    out.submit(ticket, Edit::set(stage.id, StageField::Name(name)));
                }
                if let Some((purpose, ticket)) =
                    text_field(ui, &format!("Purpose of stage {}", nth + 1), &stage.purpose)
                {
                    out.submit(ticket, Edit::set(stage.id, StageField::Purpose(purpose)));
                }
                let plants = project.referring::<Genotype>(stage.id).count();
                ui.label(muted(
                    ui,
                    format!(
                        "{plants} {}",
                        domain::words::plural(plants as u32, "plant", "plants")
                    ),
                ));
                let remove = ui.add_enabled(plants == 0, egui::Button::new("Remove"));
                remove.widget_info(|| {
                    WidgetInfo::labeled(
                        Role::Button,
                        plants == 0,
                        format!("Remove stage {}", stage.name),
                    )
                });
                if remove.clicked() {
                    out.act(ui, "remove", stage.id, Edit::remove(stage.id));
                }
            });
        });
    }
    ui.add_space(space::S);
    if ui.button("New stage").clicked() {
        let rank = stages.last().map_or(1, |last| last.rank + 1);
        let id: Id<Stage> = out.ids.next();
        let edit = Edit::add(Stage {
            id,
            name: format!("Stage {rank}"),
            rank,
            purpose: String::new(),
        });
        out.act_on(ui, "new stage", "stages", edit);
    }
}

/// A button that changes places with a neighbour.
fn move_button(
    ui: &mut Ui,
    word: &str,
    other: Option<&Stage>,
    stage: &Stage,
    out: &mut Outbox<'_>,
) {
    let button = ui.add_enabled(other.is_some(), egui::Button::new(word));
    button.widget_info(|| {
        WidgetInfo::labeled(
            Role::Button,
            other.is_some(),
            format!("{word}: stage {}", stage.name),
        )
    });
    if let Some(other) = other.filter(|_| button.clicked()) {
        let edits = vec![
            Edit::set(stage.id, StageField::Rank(other.rank)),
            Edit::set(other.id, StageField::Rank(stage.rank)),
        ];
        let edit = Edit::all(format!("move stage {}", stage.name), edits);
        out.act(ui, "move", stage.id, edit);
    }
}

//! Why two plants are not offered as a pair: asked of any two.

use crate::screens::code_picker::{CodePicker, find_plants};
use crate::view::View;
use domain::planning::{Parent, why_not};
use domain::{Genotype, Id};
use egui::{Label, Ui};
use kit::theme::{muted, space};

/// What was asked.
#[derive(Default)]
pub(super) struct State {
    female: Option<Id<Genotype>>,
    male: Option<Id<Genotype>>,
}

/// Draws the question and its answer.
pub(super) fn show(ui: &mut Ui, view: &View<'_>, state: &mut State) {
    let project = view.project;
    ui.horizontal_wrapped(|ui| {
        ui.label(muted(ui, "Why not"));
        pick(ui, view, "Female parent asked", &mut state.female);
        ui.label(muted(ui, "with pollen of"));
        pick(ui, view, "Male parent asked", &mut state.male);
    });
    let (Some(female), Some(male)) = (
        state.female.and_then(|id| project.genotypes().get(id)),
        state.male.and_then(|id| project.genotypes().get(id)),
    ) else {
        return;
    };
    let reasons = why_not(
        &Parent::female(project, female, view.today),
        &Parent::male(project, male, view.today),
    );
    if reasons.is_empty() {
        ui.label("Nothing on record rules it out, except perhaps kinship: see the pair.");
    }
    for reason in reasons {
        ui.add(Label::new(reason.sentence(&female.code, &male.code)).wrap());
    }
    ui.add_space(space::S);
}

fn pick(ui: &mut Ui, view: &View<'_>, name: &str, value: &mut Option<Id<Genotype>>) {
    let shown = value.map_or("", |plant| view.project.code_of(plant));
    CodePicker::new(name).width(150.0).may_be_empty().show(
        ui,
        shown,
        view.project.revision(),
        value,
        |typed| find_plants(view.project, typed, |_| true),
    );
}

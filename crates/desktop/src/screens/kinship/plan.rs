//! How a trait is to be evaluated: chosen by the person, suggested from the records.

use crate::screens::fields::choice_row;
use crate::view::View;
use domain::genetics::{Factor, Plan};
use domain::{Id, Project, Trait};
use egui::Ui;
use kit::theme::muted;
use kit::widgets::{form_row, section_heading};

/// The plan in the making.
#[derive(Default)]
pub(super) struct Form {
    plan: Option<Plan>,
    /// The revision the suggestion was read from, while nobody changed it.
    suggested_at: Option<u64>,
}

impl Form {
    /// The plan, of the trait chosen or else the first one with records.
    pub(super) fn plan(&mut self, project: &Project) -> Option<Plan> {
        let gone = |plan: &Plan| !project.traits().contains(plan.of_trait);
        if self.plan.as_ref().is_some_and(gone) {
            self.plan = None;
        }
        let stale = self.suggested_at.is_some_and(|at| at != project.revision());
        if self.plan.is_none() || stale {
            let of_trait = self.plan.as_ref().map(|plan| plan.of_trait);
            self.suggest(project, of_trait.or_else(|| first(project))?);
        }
        self.plan.clone()
    }

    /// Takes over another plan.
    pub(super) fn set(&mut self, plan: Plan) {
        self.plan = Some(plan);
        self.suggested_at = None;
    }

    fn suggest(&mut self, project: &Project, of_trait: Id<Trait>) {
        self.plan = Some(Plan::suggested(project, of_trait));
        self.suggested_at = Some(project.revision());
    }

    /// Draws the form.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View<'_>, plan: &Plan) {
        let project = view.project;
        let traits: Vec<_> = recorded(project)
            .map(|each| (each.id, each.name.clone()))
            .collect();
        let mut of_trait = plan.of_trait;
        if choice_row(ui, "Trait", &mut of_trait, &traits) {
            self.suggest(project, of_trait);
            return;
        }
        let mut changed = plan.clone();
        section_heading(ui, "Correct for");
        ui.horizontal_wrapped(|ui| {
            for factor in Factor::ALL {
                let mut on = changed.fixed.contains(&factor);
                if ui.checkbox(&mut on, factor.word()).changed() {
                    if on {
                        changed.fixed.push(factor);
                        changed.fixed.sort();
                    } else {
                        changed.fixed.retain(|each| *each != factor);
                    }
                }
            }
        });
        section_heading(ui, "Also fit");
        ui.checkbox(&mut changed.effects.clonal, "clonal effect")
            .on_hover_text("What cuttings keep and seed does not pass on. Needs plants growing at several sites.");
        ui.checkbox(&mut changed.effects.permanent, "permanent environment")
            .on_hover_text(
                "What stays with one hill over the years. Needs plants scored more than once.",
            );
        if changed != *plan {
            self.set(changed);
        } else if self.suggested_at.is_none() {
            form_row(ui, "", |ui| {
                if ui.button("As the records suggest").clicked() {
                    self.suggest(project, plan.of_trait);
                }
            });
        } else {
            ui.label(muted(ui, "As the records suggest.").small());
        }
    }
}

/// The traits with records.
pub(super) fn recorded(project: &Project) -> impl Iterator<Item = &Trait> {
    project
        .traits()
        .iter()
        .filter(|each| project.observations_of_trait(each.id).next().is_some())
}

fn first(project: &Project) -> Option<Id<Trait>> {
    recorded(project).next().map(|each| each.id)
}

//! Sprouts become numbered plants.

use super::whole_number;
use crate::theme::{muted, space};
use crate::view::{Outbox, View};
use crate::widgets::{form_row, main_button};
use chrono::NaiveDate;
use domain::{Germination, Id, LotSource, Project, ledger, work};
use egui::Ui;

/// How many sprouts to pot, until it is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PotUpForm {
    run: Id<Germination>,
    sprouts: u32,
}

impl PotUpForm {
    /// A form for the sprouts of this run, all that aren't potted yet to begin with.
    pub fn new(project: &Project, run: Id<Germination>) -> Self {
        let sprouts = project
            .germinations()
            .get(run)
            .map_or(0, |run| ledger::unpotted(project, run));
        Self { run, sprouts }
    }

    /// The run it is about.
    pub const fn run(&self) -> Id<Germination> {
        self.run
    }

    /// Draws the form. True when it is done with: potted, or put away.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        day: NaiveDate,
        out: &mut Outbox<'_>,
    ) -> bool {
        form_row(ui, "Sprouts", |ui| {
            whole_number(ui, "Sprouts to pot", "sprouts", &mut self.sprouts, 2000);
        });
        let codes = next_codes(view.project, self.run, self.sprouts);
        match (codes.first(), codes.last()) {
            (Some(first), Some(last)) if codes.len() > 1 => {
                ui.label(muted(ui, format!("They become {first} to {last}.")))
            }
            (Some(only), _) => ui.label(muted(ui, format!("It becomes {only}."))),
            _ => ui.label(muted(ui, "Give the number of sprouts.")),
        };
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let potted = main_button(ui, "Pot up").clicked() && self.sprouts > 0;
            if potted {
                match work::pot_up(view.project, self.run, self.sprouts, day, out.ids) {
                    Some(edit) => out.edit(edit),
                    None => out.say(
                        "The template of seedling codes can't number them: correct it in Setup.",
                    ),
                }
            }
            potted | ui.button("Put away").clicked()
        })
        .inner
    }
}

/// The codes the next seedlings of a run get.
fn next_codes(project: &Project, run: Id<Germination>, count: u32) -> Vec<String> {
    let lot = project
        .germinations()
        .get(run)
        .and_then(|run| project.chill_boxes().get(run.chill_box))
        .and_then(|chill_box| project.seed_lots().get(chill_box.lot));
    let Some(lot) = lot else { return Vec::new() };
    let family = match &lot.source {
        LotSource::Cross(cross) => project.code_of(*cross),
        _ => &lot.code,
    };
    project
        .settings()
        .seedling_codes
        .next_codes(project, family, count as usize)
}

//! Sprouts become numbered plants.

use super::whole_number;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::{ChillBox, Id, LotSource, Project, actions, ledger};
use egui::Ui;
use kit::theme::{muted, space};
use kit::widgets::{form_row, main_button};

/// How many sprouts to pot, until it is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PotUpForm {
    chill_box: Id<ChillBox>,
    sprouts: u32,
}

impl PotUpForm {
    /// A form for the sprouts of this box, all that aren't potted yet to begin with.
    pub fn new(project: &Project, chill_box: Id<ChillBox>) -> Self {
        let sprouts = project
            .chill_boxes()
            .get(chill_box)
            .map_or(0, |chill_box| ledger::unpotted(project, chill_box));
        Self { chill_box, sprouts }
    }

    /// The box it is about.
    pub const fn chill_box(&self) -> Id<ChillBox> {
        self.chill_box
    }

    /// The button that opens it, where sprouts wait. True when it was clicked.
    pub fn button(&self, ui: &mut Ui) -> bool {
        self.sprouts > 0 && ui.button(format!("Pot up {}…", self.sprouts)).clicked()
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
        let codes = next_codes(view.project, self.chill_box, self.sprouts);
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
                match actions::pot_up(view.project, self.chill_box, self.sprouts, day, out.ids) {
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

/// The codes the next seedlings of a box get.
fn next_codes(project: &Project, chill_box: Id<ChillBox>, count: u32) -> Vec<String> {
    let lot = project
        .chill_boxes()
        .get(chill_box)
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

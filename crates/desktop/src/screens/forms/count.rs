//! A count of what came up in a box.

use super::whole_number;
use crate::view::{Outbox, View};
use chrono::NaiveDate;
use domain::ledger::BoxTally;
use domain::{Count, Edit, Germination, Id};
use egui::{TextEdit, Ui};
use kit::theme::{muted, space};
use kit::widgets::{form_row, main_button};

/// What came up, until it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct CountForm {
    run: Id<Germination>,
    germinated: u32,
    abnormal: u32,
    dead: u32,
    lost: u32,
    remark: String,
}

impl CountForm {
    /// A form for a count in this run.
    pub const fn new(run: Id<Germination>) -> Self {
        Self {
            run,
            germinated: 0,
            abnormal: 0,
            dead: 0,
            lost: 0,
            remark: String::new(),
        }
    }

    /// The run it is about.
    pub const fn run(&self) -> Id<Germination> {
        self.run
    }

    /// Draws the form. True when it is done with: recorded, or put away.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        view: &View<'_>,
        day: NaiveDate,
        out: &mut Outbox<'_>,
    ) -> bool {
        let project = view.project;
        let tally = project
            .germinations()
            .get(self.run)
            .and_then(|run| project.chill_boxes().get(run.chill_box))
            .map(|chill_box| BoxTally::of(project, chill_box))
            .unwrap_or_default();
        ui.label(muted(
            ui,
            format!(
                "New since the last count. {} of {} seeds are left.",
                tally.left(),
                tally.laid
            ),
        ));
        let most = tally.laid;
        form_row(ui, "Up", |ui| {
            whole_number(
                ui,
                "Newly germinated",
                "newly germinated",
                &mut self.germinated,
                most,
            );
        });
        form_row(ui, "Abnormal", |ui| {
            whole_number(ui, "Abnormal", "abnormal", &mut self.abnormal, most);
        });
        form_row(ui, "Dead", |ui| {
            whole_number(ui, "Dead", "dead", &mut self.dead, most);
        });
        form_row(ui, "Sprouts lost", |ui| {
            whole_number(
                ui,
                "Sprouts lost",
                "lost or thinned before potting",
                &mut self.lost,
                most,
            );
        });
        form_row(ui, "Remark", |ui| {
            ui.add(TextEdit::singleline(&mut self.remark).desired_width(220.0))
                .accessible_name("Remark on the count");
        });
        ui.add_space(space::XS);
        ui.horizontal(|ui| {
            let none = self.germinated + self.abnormal + self.dead + self.lost == 0;
            let recorded = main_button(
                ui,
                if none {
                    "Record: nothing new"
                } else {
                    "Record the count"
                },
            )
            .clicked();
            if recorded {
                let id = out.ids.next();
                out.edit(Edit::add(Count {
                    id,
                    run: self.run,
                    date: day,
                    germinated: self.germinated,
                    abnormal: self.abnormal,
                    dead: self.dead,
                    lost: self.lost,
                    by: view.preferences.who.clone(),
                    remark: self.remark.trim().to_owned(),
                }));
            }
            recorded | ui.button("Put away").clicked()
        })
        .inner
    }
}
